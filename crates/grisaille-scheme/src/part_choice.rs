//! Parts of the model that a painter has pointed at: to hide them, or to leave
//! them out of the plan.

use crate::SchemeError;
use crate::scheme::in_range;
use serde::{Deserialize, Serialize};

/// Parts of the model.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct PartChoice {
    /// The base and its underside.
    pub base: bool,
    /// A point, in scene millimetres, on each piece: points survive a new
    /// export of the model, numbers of pieces do not.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub parts: Vec<[f64; 3]>,
}

impl PartChoice {
    /// Whether no part is chosen.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        !self.base && self.parts.is_empty()
    }

    pub(crate) fn check(&self, what: &str) -> Result<(), SchemeError> {
        for x in self.parts.iter().flatten() {
            in_range(&format!("the place of a part that is {what} in mm"), *x, -1e6, 1e6)?;
        }
        Ok(())
    }
}

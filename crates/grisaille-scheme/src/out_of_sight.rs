//! What a painter has put out of sight in the window. It is hidden, not taken
//! away: it is still planned, printed, and casts its shadow.

use crate::SchemeError;
use crate::scheme::in_range;
use serde::{Deserialize, Serialize};

/// What is out of sight.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct OutOfSight {
    /// The base and its underside.
    pub base: bool,
    /// A point, in scene millimetres, on each piece that is hidden: points
    /// survive a new export of the model, numbers of pieces do not.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub parts: Vec<[f64; 3]>,
}

impl OutOfSight {
    /// Whether nothing is hidden.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        !self.base && self.parts.is_empty()
    }

    pub(crate) fn check(&self) -> Result<(), SchemeError> {
        for x in self.parts.iter().flatten() {
            in_range("the place of a part that is out of sight in mm", *x, -1e6, 1e6)?;
        }
        Ok(())
    }
}

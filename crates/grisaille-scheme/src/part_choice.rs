//! Parts of the model that a painter has pointed at: to hide them, or to leave
//! them out of the plan.

use crate::scheme_error::{SchemeError, Under, each, in_range};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Parts of the model.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
#[schemars(rename = "parts")]
pub struct PartChoice {
    /// The base and its underside.
    pub base: bool,
    /// Print supports and their raft, where they are recognised for sure.
    #[serde(skip_serializing_if = "is_false")]
    pub supports: bool,
    /// A point, in scene millimetres, on each piece: points survive a new
    /// export of the model, numbers of pieces do not.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(inner(inner(range(min = -1e6, max = 1e6))))]
    pub parts: Vec<[f64; 3]>,
}

fn is_false(set: &bool) -> bool {
    !*set
}

impl PartChoice {
    /// Whether no part is chosen.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        !self.base && !self.supports && self.parts.is_empty()
    }

    pub(crate) fn check(&self, what: &str) -> Result<(), SchemeError> {
        let what = format!("the place of a part that is {what} in mm");
        each(&self.parts, |at| each(at, |x| in_range(&what, *x, -1e6, 1e6))).under("parts")
    }
}

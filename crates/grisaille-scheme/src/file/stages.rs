//! `[stages]`: what is left out of the order of work.

use crate::colours::Skipped;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The order of work.
#[derive(Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
#[schemars(rename = "stages")]
pub(super) struct StagesFile {
    /// Stages that are left out.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) skip: Vec<Skipped>,
}

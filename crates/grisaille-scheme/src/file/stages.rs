//! `[stages]`: what is left out of the order of work.

use crate::colours::Skipped;
use serde::{Deserialize, Serialize};

/// What is left out.
#[derive(Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct StagesFile {
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) skip: Vec<Skipped>,
}

//! `[emphasis]`: where the painter departs from the light, and `[[emphasis.focus]]`.

use crate::emphasis::Spread;
use serde::{Deserialize, Serialize};

#[derive(Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct EmphasisFile {
    pub(super) figure: f64,
    pub(super) base: f64,
    pub(super) plate_gradient: f64,
    pub(super) gap: f64,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) focus: Vec<FocusFile>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct FocusFile {
    pub(super) at: [f64; 3],
    pub(super) radius: f64,
    pub(super) strength: f64,
    #[serde(default)]
    pub(super) spread: Spread,
}

//! `[brush]`: how fine a brush can follow, and `[[brush.keep]]`.

use serde::{Deserialize, Serialize};

#[derive(Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct BrushFile {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) radius: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) smallest_mm2: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) thinnest_shadow: Option<f64>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) keep: Vec<KeepFile>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct KeepFile {
    pub(super) at: [f64; 3],
    pub(super) radius: f64,
}

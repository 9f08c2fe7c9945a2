//! `[brush]`: how fine a brush can follow, and `[[brush.keep]]`.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How fine a brush can follow: bands and zones are evened out to it.
#[derive(Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
#[schemars(rename = "brush")]
pub(super) struct BrushFile {
    /// The radius of its tip in mm; 0.3 on a figure of 32 mm, in proportion, if
    /// not given. 0 evens out nothing.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0, max = 1000.0))]
    pub(super) radius: Option<f64>,
    /// Areas smaller than so many mm² go to their neighbours; two touches of the
    /// tip if not given. 0 keeps all.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0, max = 1e6))]
    pub(super) smallest_mm2: Option<f64>,
    /// Cast shadows narrower than so many mm are not painted; the tip's width if
    /// not given. 0 keeps all.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0, max = 1000.0))]
    pub(super) thinnest_shadow: Option<f64>,
    /// Where nothing is evened out, whatever the tip.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) keep: Vec<KeepFile>,
}

/// A spot whose finest light and dark is to be painted.
#[derive(Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "keep")]
pub(super) struct KeepFile {
    /// Its middle in mm.
    #[schemars(inner(range(min = -1e6, max = 1e6)), example = [0.0, -6.0, 40.0])]
    pub(super) at: [f64; 3],
    /// Where it ends, in mm.
    #[schemars(range(min = 0.001, max = 1e6), example = 4.0)]
    pub(super) radius: f64,
}

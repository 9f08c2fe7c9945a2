//! `[emphasis]`: where the painter departs from the light, and `[[emphasis.focus]]`.

use crate::emphasis::Spread;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Where the painter departs from the light, to lead the eye. Strengths are shares
/// of the way to the lightest paint, or, below 0, to the darkest.
#[derive(Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
#[schemars(rename = "emphasis")]
pub(super) struct EmphasisFile {
    /// The strength on the whole figure.
    #[schemars(range(min = -1.0, max = 1.0))]
    pub(super) figure: f64,
    /// The strength on the whole base.
    #[schemars(range(min = -1.0, max = 1.0))]
    pub(super) base: f64,
    /// The strength at the ends of flat plates: lighter toward the light.
    #[schemars(range(min = 0.0, max = 1.0))]
    pub(super) plate_gradient: f64,
    /// How deep the dark line is that parts two lights where the form turns.
    #[schemars(range(min = 0.0, max = 1.0))]
    pub(super) gap: f64,
    /// Spots to lead the eye to, such as face and hands.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) focus: Vec<FocusFile>,
}

/// A spot to lead the eye to.
#[derive(Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "focus")]
pub(super) struct FocusFile {
    /// Its middle in mm.
    #[schemars(inner(range(min = -1e6, max = 1e6)), example = [0.0, -6.0, 40.0])]
    pub(super) at: [f64; 3],
    /// Where it ends, in mm.
    #[schemars(range(min = 0.001, max = 1e6), example = 4.0)]
    pub(super) radius: f64,
    /// The strength in its middle; it fades to nothing at the radius.
    #[schemars(range(min = -1.0, max = 1.0), example = 0.35)]
    pub(super) strength: f64,
    /// How the way from its middle is measured.
    #[serde(default)]
    pub(super) spread: Spread,
}

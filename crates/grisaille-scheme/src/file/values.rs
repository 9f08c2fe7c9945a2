//! `[values]` and `[bands]`: from light to value, and where bands are cut.

use crate::scheme::{BandChoice, Scheme, ValueChoice};
use schemars::{JsonSchema, Schema};
use serde::{Deserialize, Serialize};
use serde_json::json;

/// From light to value (L*).
#[derive(Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
#[schemars(rename = "values")]
pub(super) struct ValuesFile {
    /// The L* of the darkest paint: where no light falls.
    #[schemars(range(min = 0.0, max = 100.0))]
    pub(super) darkest: f64,
    /// The L* of the lightest paint: the brightest planned spot; at least 10 more
    /// than the darkest.
    #[schemars(range(min = 0.0, max = 100.0))]
    pub(super) lightest: f64,
    /// Whether a spot close to a lamp only comes near to full light, so that the
    /// rest does not sink into the dark.
    pub(super) lamp_shoulder: bool,
}

/// Where bands are cut: by shares of the figure's surface, or at levels of value.
#[derive(Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "bands", transform = not_both)]
pub(super) struct BandsFile {
    /// Shares of the figure's surface, darkest first, relative to their sum.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(length(min = 3, max = 6), inner(range(min = 0.001, max = 1e6)))]
    pub(super) shares: Option<Vec<f64>>,
    /// The L* at the borders between bands, rising.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(length(min = 2, max = 5), inner(range(min = 0.0, max = 100.0)))]
    pub(super) levels: Option<Vec<f64>>,
}

/// Shares and levels exclude each other.
fn not_both(schema: &mut Schema) {
    schema.insert("not".into(), json!({ "required": ["shares", "levels"] }));
}

impl Default for ValuesFile {
    fn default() -> Self {
        values_file(&Scheme::default().value)
    }
}

impl Default for BandsFile {
    fn default() -> Self {
        bands_file(&Scheme::default().bands)
    }
}

pub(super) fn values_file(value: &ValueChoice) -> ValuesFile {
    let ValueChoice { darkest, lightest, lamp_shoulder } = *value;
    ValuesFile { darkest: darkest.0, lightest: lightest.0, lamp_shoulder }
}

pub(super) fn bands_file(bands: &BandChoice) -> BandsFile {
    match bands {
        BandChoice::Shares(shares) => BandsFile { shares: Some(shares.clone()), levels: None },
        BandChoice::Levels(levels) => BandsFile { shares: None, levels: Some(levels.clone()) },
    }
}

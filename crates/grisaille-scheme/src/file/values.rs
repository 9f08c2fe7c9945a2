//! `[values]` and `[bands]`: from light to value, and where bands are cut.

use crate::scheme::{BandChoice, Scheme, ValueChoice};
use serde::{Deserialize, Serialize};

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct ValuesFile {
    pub(super) darkest: f64,
    pub(super) lightest: f64,
    pub(super) lamp_shoulder: bool,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct BandsFile {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) shares: Option<Vec<f64>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) levels: Option<Vec<f64>>,
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

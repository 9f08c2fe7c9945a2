//! Light that is thrown from one part onto another.

use crate::scheme_error::{SchemeError, Under, in_range};
use serde::{Deserialize, Serialize};

/// One bounce of the planned light between parts. The default is none.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct BounceChoice {
    /// The share of the light on it that the paint throws back, 0 (none: off)
    /// to 0.95.
    pub albedo: f64,
    /// Directions from which each point gathers it.
    pub directions: usize,
}

impl Default for BounceChoice {
    fn default() -> Self {
        Self { albedo: 0.0, directions: 64 }
    }
}

impl BounceChoice {
    /// Whether light bounces at all.
    #[must_use]
    pub fn is_on(&self) -> bool {
        self.albedo > 0.0 && self.directions > 0
    }

    pub(crate) fn check(&self) -> Result<(), SchemeError> {
        in_range("the share of light that the paint throws back", self.albedo, 0.0, 0.95).under("albedo")?;
        in_range("the directions of bounced light", self.directions as f64, 1.0, 65536.0).under("directions")
    }
}

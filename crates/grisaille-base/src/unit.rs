//! Units as distinct types.

use serde::{Deserialize, Serialize};
use std::fmt;

/// A length in millimetres, scene scale: the size of the printed figure.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Millimetres(pub f64);

impl fmt::Display for Millimetres {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.1} mm", self.0)
    }
}

/// How light a tone is: CIE L*, 0 (black) to 100 (perfect white).
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Lightness(pub f64);

impl fmt::Display for Lightness {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "L* {:.0}", self.0)
    }
}

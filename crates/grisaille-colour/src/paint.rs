//! A paint of the user's: its name, what it looks like, how it covers.

use crate::{Curve, Lab, colour_of_curve, curve_of};

/// How a paint covers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Finish {
    /// Hides its ground when thick.
    Opaque,
    /// Stains its ground; its colour is that of one coat over white.
    Transparent,
    /// Holds flakes that shine; its colour changes with the side it is seen from.
    Metallic,
}

impl Finish {
    /// The word for it.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Opaque => "opaque",
            Self::Transparent => "transparent",
            Self::Metallic => "metallic",
        }
    }
}

/// A paint.
#[derive(Clone, Debug, PartialEq)]
pub struct Paint {
    /// Its name in the user's list.
    pub name: String,
    /// What it looks like: thick if opaque, one coat over white if transparent.
    pub colour: Lab,
    /// Its reflectance curve.
    pub curve: Curve,
    /// Whether the curve was measured; if not, it was made from the colour.
    pub measured: bool,
    /// How it covers.
    pub finish: Finish,
    /// How much one part of it counts in a mix, beside a white's 1, where the list
    /// says so; else it is assumed.
    pub strength: Option<f64>,
    /// How much of it there is, in the list's own measure; `None` if not said.
    pub stock: Option<f64>,
}

impl Paint {
    /// An opaque paint of a colour, with a curve made from it.
    #[must_use]
    pub fn of_colour(name: impl Into<String>, colour: Lab) -> Self {
        let curve = curve_of(colour);
        Self { measured: false, colour, ..Self::of_curve(name, curve) }
    }

    /// An opaque paint of a measured curve.
    #[must_use]
    pub fn of_curve(name: impl Into<String>, curve: Curve) -> Self {
        Self {
            name: name.into(),
            colour: colour_of_curve(&curve),
            strength: None,
            curve,
            measured: true,
            finish: Finish::Opaque,
            stock: None,
        }
    }

    /// Whether there is any of it: unless the list says that there is none.
    #[must_use]
    pub fn at_hand(&self) -> bool {
        self.stock != Some(0.0)
    }
}

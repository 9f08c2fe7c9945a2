//! Colours in Oklab and by its lightness, chroma and hue: the space in which a hue
//! is turned, since equal turns look equal there and blues do not go violet.

use crate::{Lab, LinearRgb};
use palette::convert::FromColorUnclamped;
use palette::{LinSrgb, Oklab};

/// L, a and b of Oklab (B. Ottosson, "A perceptual color space for image
/// processing", 2020); white is (1, 0, 0).
#[must_use]
pub fn oklab(colour: LinearRgb) -> [f64; 3] {
    oklab_from_linear([colour.r, colour.g, colour.b].map(f64::from))
}

/// As [`oklab`], of any colour.
#[must_use]
pub fn oklab_of(colour: Lab) -> [f64; 3] {
    oklab_from_linear(colour.to_linear())
}

fn oklab_from_linear([r, g, b]: [f64; 3]) -> [f64; 3] {
    let ok = Oklab::<f64>::from_color_unclamped(LinSrgb::new(r, g, b));
    [ok.l, ok.a, ok.b]
}

/// A colour by Oklab's lightness, chroma and hue.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Oklch {
    /// Lightness, 0 (black) to 1 (white).
    pub l: f64,
    /// Chroma: 0 for a grey, 0.32 for the most vivid colour of sRGB.
    pub chroma: f64,
    /// Hue angle in degrees: 29 is red, 110 yellow, 142 green, 264 blue.
    pub hue: f64,
}

impl From<Lab> for Oklch {
    fn from(colour: Lab) -> Self {
        let [l, a, b] = oklab_of(colour);
        let hue = b.atan2(a).to_degrees();
        Self { l, chroma: a.hypot(b), hue: if hue < 0.0 { hue + 360.0 } else { hue } }
    }
}

impl From<Oklch> for Lab {
    fn from(colour: Oklch) -> Self {
        let (sin, cos) = colour.hue.to_radians().sin_cos();
        let ok = Oklab::<f64>::new(colour.l, colour.chroma * cos, colour.chroma * sin);
        let rgb = LinSrgb::<f64>::from_color_unclamped(ok);
        Self::from_linear([rgb.red, rgb.green, rgb.blue])
    }
}

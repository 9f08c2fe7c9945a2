//! RGB in linear light, and the sRGB transfer curve to and from it.

use crate::lightness::lightness_from_luminance;
use grisaille_base::Lightness;
use palette::encoding::{FromLinear, IntoLinear, Srgb};

/// Linear light (0 to 1) of an sRGB-encoded component (0 to 1).
/// Source: IEC 61966-2-1:1999.
#[must_use]
pub fn linear_from_srgb(encoded: f64) -> f64 {
    Srgb::into_linear(encoded)
}

/// The sRGB-encoded component (0 to 1) of linear light (0 to 1).
/// Source: IEC 61966-2-1:1999.
#[must_use]
pub fn srgb_from_linear(linear: f64) -> f64 {
    Srgb::from_linear(linear)
}

/// A colour in linear light with the primaries and the white of sRGB.
/// Components run from 0 to 1; what lies outside is clamped on output only.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct LinearRgb {
    /// Red, linear light.
    pub r: f32,
    /// Green, linear light.
    pub g: f32,
    /// Blue, linear light.
    pub b: f32,
}

impl LinearRgb {
    /// No light at all.
    pub const BLACK: Self = Self::new(0.0, 0.0, 0.0);
    /// White: 1 in each component.
    pub const WHITE: Self = Self::new(1.0, 1.0, 1.0);

    /// A colour from its three components in linear light.
    #[must_use]
    pub const fn new(r: f32, g: f32, b: f32) -> Self {
        Self { r, g, b }
    }

    /// The neutral grey of a relative luminance Y (0 to 1).
    #[must_use]
    pub fn grey(luminance: f64) -> Self {
        let y = luminance as f32;
        Self::new(y, y, y)
    }

    /// The colour of an 8-bit sRGB triple (IEC 61966-2-1:1999).
    #[must_use]
    pub fn from_srgb8(rgb: [u8; 3]) -> Self {
        let [r, g, b] = rgb.map(|c| -> f32 { Srgb::into_linear(c) });
        Self { r, g, b }
    }

    /// The nearest 8-bit sRGB triple. Components are clamped to 0..1; what is
    /// not a number becomes 0.
    #[must_use]
    pub fn to_srgb8(self) -> [u8; 3] {
        [self.r, self.g, self.b].map(|c| {
            let c = if c.is_nan() { 0.0 } else { c.clamp(0.0, 1.0) };
            Srgb::from_linear(c)
        })
    }

    /// The mix `(1 - t)` of this and `t` of the other, in linear light.
    #[must_use]
    pub fn lerp(self, other: Self, t: f32) -> Self {
        let mix = |a: f32, b: f32| a + (b - a) * t;
        Self::new(mix(self.r, other.r), mix(self.g, other.g), mix(self.b, other.b))
    }

    /// The same colour with each component multiplied by `factor`.
    #[must_use]
    pub fn scaled(self, factor: f32) -> Self {
        Self::new(self.r * factor, self.g * factor, self.b * factor)
    }

    /// Relative luminance Y, from the row of the RGB to XYZ matrix that the
    /// sRGB primaries and D65 (0.3127, 0.3290) give at full precision.
    #[must_use]
    pub fn luminance(self) -> f64 {
        0.212_639_005_9 * f64::from(self.r)
            + 0.715_168_678_8 * f64::from(self.g)
            + 0.072_192_315_4 * f64::from(self.b)
    }

    /// CIE lightness L* of this colour.
    #[must_use]
    pub fn lightness(self) -> Lightness {
        lightness_from_luminance(self.luminance())
    }

    /// Black or white, whichever stands out more on this colour. Its contrast
    /// is never below 4.5 (the worst ground gives the square root of 21).
    #[must_use]
    pub fn ink(self) -> Self {
        let on = |ink| crate::wcag_contrast(self, ink);
        if on(Self::BLACK) >= on(Self::WHITE) { Self::BLACK } else { Self::WHITE }
    }
}

//! The ladder of printed greys: one flat grey for each band, far enough apart
//! to be told from each other on paper and to carry a letter.

use crate::{LinearRgb, luminance_from_lightness, srgb_from_linear};
use grisaille_base::Lightness;

/// L* of the darkest printed grey: any darker and ink fills the paper.
const DARKEST: f64 = 22.0;
/// L* of the lightest printed grey: still seen against white paper.
const LIGHTEST: f64 = 94.0;

/// The lightness that band `step` (0 is the darkest) of `of` bands is printed
/// in: evenly spread from L* 22 to 94, so that six bands stand 14.4 apart.
/// A step past the last is taken as the last; a single band is the middle.
#[must_use]
pub fn printed_lightness(step: usize, of: usize) -> Lightness {
    let last = of.saturating_sub(1);
    if last == 0 {
        return Lightness(0.5 * (DARKEST + LIGHTEST));
    }
    Lightness(DARKEST + (LIGHTEST - DARKEST) * step.min(last) as f64 / last as f64)
}

/// The 8-bit sRGB grey that band `step` (0 is the darkest) of `of` bands is
/// printed in: [`printed_lightness`] to the nearest of 256 greys.
#[must_use]
pub fn printed_grey(step: usize, of: usize) -> u8 {
    let linear = luminance_from_lightness(printed_lightness(step, of));
    (srgb_from_linear(linear) * 255.0).round() as u8
}

/// The 8-bit grey, 0 (black) or 255 (white), for a letter on a printed grey,
/// with a contrast of at least 4.5.
#[must_use]
pub fn ink_on(grey: u8) -> u8 {
    LinearRgb::from_srgb8([grey; 3]).ink().to_srgb8()[0]
}

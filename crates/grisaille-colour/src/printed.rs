//! The ladder of printed greys: one flat grey for each band, far enough apart
//! to be told from each other on paper and to carry a letter.

use crate::{LinearRgb, lightness_from_luminance, luminance_from_lightness, srgb_from_linear};
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

/// The greys of one ladder stand this far apart in L*, so that neighbours are told apart on paper.
const APART: f64 = 8.0;

/// The grey that stands for a colour where there is no colour: the step of a fixed ladder that is nearest in
/// lightness. Its ten steps, from L* 22 to 94, stand 8 apart.
#[must_use]
pub fn printed_in_grey(colour: LinearRgb) -> LinearRgb {
    let steps = ((LIGHTEST - DARKEST) / APART).floor() as usize + 1;
    let lightness = lightness_from_luminance(colour.luminance()).0;
    let step = ((lightness - DARKEST) / (LIGHTEST - DARKEST) * (steps - 1) as f64).round().max(0.0) as usize;
    LinearRgb::from_srgb8([printed_grey(step, steps); 3])
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn greys_for_colours_keep_their_order_and_stand_apart() {
        let of = |rgb: [u8; 3]| {
            lightness_from_luminance(printed_in_grey(LinearRgb::from_srgb8(rgb)).luminance()).0
        };
        let mut greys: Vec<f64> = (0..=255_u8).map(|g| of([g; 3])).collect();
        assert!(greys.windows(2).all(|w| w[0] <= w[1]));
        greys.dedup();
        assert_eq!(greys.len(), 10);
        // Rounded to one of 256 greys each.
        assert!(greys.windows(2).all(|w| w[1] - w[0] > APART - 0.5));
        assert!(of([220, 200, 60]) > of([40, 60, 160]));
    }
}

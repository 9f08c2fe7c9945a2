//! A colour by lightness, chroma and hue.

use crate::{LinearRgb, luminance_from_lightness};
use grisaille_base::Lightness;
use palette::convert::FromColorUnclamped;
use palette::white_point::D65;
use palette::{Lch, LinSrgb};

/// The colour of a lightness, a CIELAB chroma C*ab and hue angle h_ab (degrees)
/// under D65 (CIE 15:2018, 8.2.1). Where sRGB has no such colour, the chroma
/// is lowered until it has: the lightness stays.
#[must_use]
pub fn colour_of(lightness: Lightness, chroma: f64, hue: f64) -> LinearRgb {
    let at = |chroma: f64| {
        let rgb = LinSrgb::<f64>::from_color_unclamped(Lch::<D65, f64>::new(lightness.0, chroma, hue));
        [rgb.red, rgb.green, rgb.blue]
    };
    let fits = |chroma: f64| at(chroma).iter().all(|c| (-1e-9..=1.0 + 1e-9).contains(c));
    if !(chroma > 0.0 && hue.is_finite() && fits(0.0)) {
        return LinearRgb::grey(luminance_from_lightness(lightness));
    }
    let mut high = chroma.min(200.0);
    if !fits(high) {
        let mut low = 0.0;
        for _ in 0..40 {
            let middle = f64::midpoint(low, high);
            if fits(middle) { low = middle } else { high = middle }
        }
        high = low;
    }
    let [r, g, b] = at(high).map(|c| c.clamp(0.0, 1.0) as f32);
    LinearRgb::new(r, g, b)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lightness_is_kept_whatever_the_hue() {
        for l in [0.0, 15.0, 55.0, 95.0, 100.0] {
            for hue in [0.0, 70.0, 200.0, 310.0, f64::NAN] {
                for chroma in [0.0, 20.0, 500.0, f64::NAN] {
                    let made = colour_of(Lightness(l), chroma, hue).lightness().0;
                    assert!((made - l).abs() < 0.05, "{l} {chroma} {hue}: {made}");
                }
            }
        }
    }

    #[test]
    fn primaries_come_back() {
        // sRGB red under D65: L* 53.24, C* 104.55, h 40.0° (IEC 61966-2-1 and
        // CIE 15, worked through; the usual published figures).
        let red = colour_of(Lightness(53.24), 104.4, 40.0);
        assert!((red.r - 1.0).abs() < 0.01 && red.g < 0.01 && red.b < 0.01, "{red:?}");
    }
}

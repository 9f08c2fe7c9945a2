//! CIE lightness L* and relative luminance Y, each from the other.

use grisaille_base::Lightness;

/// Below this luminance L* is a straight line (CIE 15:2018: 216/24389).
const EPSILON: f64 = 216.0 / 24389.0;
/// The slope of that line (CIE 15:2018: 24389/27).
const KAPPA: f64 = 24389.0 / 27.0;

/// Relative luminance Y (0 to 1, perfect white is 1) of a lightness.
///
/// L* outside 0 to 100 is clamped; a value that is not a number gives 0.
/// Source: CIE 15:2018, eq. 8.4 inverted.
#[must_use]
pub fn luminance_from_lightness(lightness: Lightness) -> f64 {
    let l = unit(lightness.0 / 100.0) * 100.0;
    if l > KAPPA * EPSILON { ((l + 16.0) / 116.0).powi(3) } else { l / KAPPA }
}

/// Lightness L* (0 to 100) of a relative luminance Y.
///
/// Y outside 0 to 1 is clamped; a value that is not a number gives 0.
/// Source: CIE 15:2018, eq. 8.4.
#[must_use]
pub fn lightness_from_luminance(luminance: f64) -> Lightness {
    let y = unit(luminance);
    Lightness(if y > EPSILON { 116.0 * y.cbrt() - 16.0 } else { KAPPA * y })
}

/// Clamps to 0..1, with 0 for what is not a number.
fn unit(x: f64) -> f64 {
    if x.is_nan() { 0.0 } else { x.clamp(0.0, 1.0) }
}

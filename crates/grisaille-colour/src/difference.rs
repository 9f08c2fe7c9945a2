//! How far two colours are apart to the eye: CIEDE2000.

use crate::Lab;

/// How far two colours are apart to the eye: ΔE00. About 1 is just seen when
/// they lie side by side.
///
/// Source: ISO/CIE 11664-6, kL = kC = kH = 1, as told step by step (numbers of
/// equations below) by G. Sharma, W. Wu, E. N. Dalal, Color Research &
/// Application 30(1), 2005. Written out here because palette 0.7.7 adds 360° to
/// the mean hue (14) where it must take 360° off, which is off by up to 1.5e-4.
#[must_use]
pub fn difference(one: Lab, other: Lab) -> f64 {
    let seventh = |c: f64| c.powi(7) / (c.powi(7) + 25.0_f64.powi(7));
    let g = 0.5 * (1.0 - seventh(f64::midpoint(one.chroma(), other.chroma())).sqrt()); // (4)
    let (a1, a2) = ((1.0 + g) * one.a, (1.0 + g) * other.a); // (5)
    let (c1, c2) = (a1.hypot(one.b), a2.hypot(other.b)); // (6)
    let (h1, h2) = (hue(a1, one.b), hue(a2, other.b)); // (7)

    let grey = c1 * c2 == 0.0;
    let turn = match h2 - h1 {
        _ if grey => 0.0,
        d if d > 180.0 => d - 360.0,
        d if d < -180.0 => d + 360.0,
        d => d,
    }; // (10)
    let mean_hue = match h1 + h2 {
        sum if grey => sum,
        sum if (h1 - h2).abs() <= 180.0 => 0.5 * sum,
        sum if sum < 360.0 => 0.5 * (sum + 360.0),
        sum => 0.5 * (sum - 360.0),
    }; // (14)
    let (mean_l, mean_c) = (f64::midpoint(one.l, other.l), f64::midpoint(c1, c2)); // (12), (13)

    let cos = |degrees: f64| degrees.to_radians().cos();
    let t = 1.0 - 0.17 * cos(mean_hue - 30.0) + 0.24 * cos(2.0 * mean_hue) + 0.32 * cos(3.0 * mean_hue + 6.0)
        - 0.20 * cos(4.0 * mean_hue - 63.0); // (15)
    let off_grey = (mean_l - 50.0).powi(2);
    let s_l = 1.0 + 0.015 * off_grey / (20.0 + off_grey).sqrt(); // (18)
    let s_c = 1.0 + 0.045 * mean_c; // (19)
    let s_h = 1.0 + 0.015 * mean_c * t; // (20)
    let rotated = 30.0 * (-((mean_hue - 275.0) / 25.0).powi(2)).exp(); // (16)
    let r_t = -2.0 * seventh(mean_c).sqrt() * (2.0 * rotated).to_radians().sin(); // (17), (21)

    let l = (other.l - one.l) / s_l; // (8)
    let c = (c2 - c1) / s_c; // (9)
    let h = 2.0 * (c1 * c2).sqrt() * (0.5 * turn).to_radians().sin() / s_h; // (11)
    (l * l + c * c + h * h + r_t * c * h).max(0.0).sqrt() // (22)
}

/// The hue angle in degrees, 0 up to 360; 0 for a grey.
fn hue(a: f64, b: f64) -> f64 {
    let degrees = b.atan2(a).to_degrees();
    if degrees < 0.0 { degrees + 360.0 } else { degrees }
}

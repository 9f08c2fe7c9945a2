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

/// A bound that [`difference`] never falls below, in a fraction of its time.
///
/// With c = ΔC′/S_C and h = ΔH′/S_H, c² + h² + R_T c h is at least each of
/// (1 − R_T²/4) c², (1 − R_T²/4) h² and (1 − |R_T|/2)(c² + h²); |R_T| is at most
/// 2 sin 60°, and where both colours are yellower than blue (b* > 0) the mean hue is
/// so far from 275° that it is less than 1e-4. ΔH′² = 2 (C₁′C₂′ − a₁′a₂′ − b₁b₂), and T
/// is at most 1.93.
pub(crate) fn at_least(one: Lab, other: Lab) -> f64 {
    let mean_chroma =
        0.5 * ((one.a * one.a + one.b * one.b).sqrt() + (other.a * other.a + other.b * other.b).sqrt());
    let seventh = mean_chroma.powi(7);
    let grows = 1.5 - 0.5 * (seventh / (seventh + 25.0_f64.powi(7))).sqrt();
    let (a1, a2) = (grows * one.a, grows * other.a);
    let (c1, c2) = ((a1 * a1 + one.b * one.b).sqrt(), (a2 * a2 + other.b * other.b).sqrt());
    let mean_c = 0.5 * (c1 + c2);
    let c = ((c2 - c1) / (1.0 + 0.045 * mean_c)).powi(2);
    let turn = 2.0 * (c1 * c2 - a1 * a2 - one.b * other.b);
    let h = turn.max(0.0) / (1.0 + 0.015 * 1.93 * mean_c).powi(2);
    let off_grey = (0.5 * (one.l + other.l) - 50.0).powi(2);
    let l = ((other.l - one.l) / (1.0 + 0.015 * off_grey / (20.0 + off_grey).sqrt())).powi(2);
    let round = match one.b > 0.0 && other.b > 0.0 {
        true => 0.9999 * (c + h),
        false => (0.25 * c.max(h)).max(0.133 * (c + h)),
    };
    // A hair lower, for what is lost in rounding.
    (l + round).sqrt() * (1.0 - 1e-9) - 1e-9
}

/// The hue angle in degrees, 0 up to 360; 0 for a grey.
fn hue(a: f64, b: f64) -> f64 {
    let degrees = b.atan2(a).to_degrees();
    if degrees < 0.0 { degrees + 360.0 } else { degrees }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn the_bound_is_one(
            l in (0.0..100.0, 0.0..100.0),
            chroma in (0.0..130.0, 0.0..130.0),
            hue in (0.0..360.0, -40.0..40.0),
            near in any::<bool>(),
        ) {
            let one = Lab::from_polar(l.0, chroma.0, hue.0);
            let turned = hue.0 + if near { hue.1 } else { 4.5 * hue.1 };
            let other = Lab::from_polar(l.1, chroma.1, turned);
            let (bound, apart) = (at_least(one, other), difference(one, other));
            prop_assert!(bound <= apart, "{one:?} {other:?}: {bound} > {apart}");
            prop_assert!((difference(other, one) - apart).abs() < 1e-9);
            prop_assert!(difference(one, one) == 0.0);
        }
    }
}

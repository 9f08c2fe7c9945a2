//! How a lamp's light falls with distance, and how a painter bends that.

use grisaille_base::Millimetres;

/// How a lamp falls off. [`Falloff::PHYSICAL`] is the inverse square law
/// (Lambert, Photometria, 1760) without an end; painters bend it so that a
/// small lamp carries farther, or ends before it touches what is to stay dark.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Falloff {
    /// p in (r₀/r)ᵖ, 0 or more: 2 is physical, less carries farther beyond r₀,
    /// more dies sooner.
    pub exponent: f64,
    /// L, the distance in mm at which the light ends; infinite for never.
    pub reach: Millimetres,
    /// s, above 0 and up to 1: the share of the reach over which the light
    /// fades to its end. 1 fades all the way from the lamp, small numbers end
    /// it in a narrow rim. Without an end it changes nothing.
    pub softness: f64,
}

impl Default for Falloff {
    fn default() -> Self {
        Self::PHYSICAL
    }
}

impl Falloff {
    /// (r₀/r)², without an end.
    pub const PHYSICAL: Self = Self { exponent: 2.0, reach: Millimetres(f64::INFINITY), softness: 1.0 };

    /// What an open surface that faces the lamp gets at the distance r:
    /// `(r₀/r)ᵖ · f(r)`. It never rises with the distance.
    #[must_use]
    pub fn at(&self, distance: f64, reference: Millimetres) -> f64 {
        (reference.0 / distance).powf(self.exponent) * self.fade(distance)
    }

    /// What the inverse square law is multiplied by at the distance r:
    /// `(r₀/r)ᵖ⁻² · f(r)`; exactly 1 for [`Falloff::PHYSICAL`].
    #[must_use]
    pub fn bend(&self, distance: f64, reference: Millimetres) -> f64 {
        (reference.0 / distance).powf(self.exponent - 2.0) * self.fade(distance)
    }

    /// `f(r) = t²(3 − 2t)` with `t = (L − r)/(s·L)` held between 0 and 1: full
    /// up to (1 − s)·L, nothing from L on, without a kink at either end.
    #[must_use]
    pub fn fade(&self, distance: f64) -> f64 {
        if self.reach.0 == f64::INFINITY {
            return 1.0;
        }
        let t = ((self.reach.0 - distance) / (self.softness * self.reach.0)).clamp(0.0, 1.0);
        t * t * (3.0 - 2.0 * t)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const R0: Millimetres = Millimetres(8.0);

    fn ways() -> impl Iterator<Item = Falloff> {
        [0.0, 1.0, 1.5, 2.0, 3.0, 6.0].into_iter().flat_map(|exponent| {
            [5.0, 25.0, f64::INFINITY].into_iter().flat_map(move |reach| {
                [0.05, 0.5, 1.0].map(|softness| Falloff { exponent, reach: Millimetres(reach), softness })
            })
        })
    }

    #[test]
    fn the_physical_falloff_is_left_alone_to_the_bit() {
        for i in 1..2000 {
            assert_eq!(Falloff::PHYSICAL.bend(0.037 * f64::from(i), R0), 1.0);
        }
    }

    #[test]
    fn light_never_rises_with_distance_and_ends_at_the_reach() {
        for way in ways() {
            let mut last = f64::INFINITY;
            for i in 1..4000 {
                let r = 0.01 * f64::from(i);
                let e = way.at(r, R0);
                assert!(e >= 0.0 && e <= last, "{way:?} at {r}: {e} after {last}");
                assert!((way.bend(r, R0) * (R0.0 / r).powi(2) - e).abs() <= 1e-9 * e, "{way:?} at {r}");
                if r >= way.reach.0 {
                    assert_eq!(e, 0.0, "{way:?} at {r}");
                } else if r <= (1.0 - way.softness) * way.reach.0 {
                    assert_eq!(way.fade(r), 1.0, "{way:?} at {r}");
                }
                last = e;
            }
            if way.reach.0 > R0.0 && way.reach.0.is_infinite() {
                assert_eq!(way.at(R0.0, R0), 1.0);
            }
        }
    }

    #[test]
    fn the_end_has_no_kink() {
        // The slope goes to 0 at both ends of the fade: halving the step
        // there quarters the step in light.
        let way = Falloff { exponent: 2.0, reach: Millimetres(20.0), softness: 0.5 };
        for (end, inward) in [(20.0, -1.0), (10.0, 1.0)] {
            let off = |step: f64| (way.fade(end) - way.fade(end + inward * step)).abs();
            let ratio = off(0.02) / off(0.01);
            assert!((ratio - 4.0).abs() < 0.05, "{ratio}");
        }
    }
}

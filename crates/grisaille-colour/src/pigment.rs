//! What a paint does to light in a mix and in a coat: absorption and scattering.

use crate::{Curve, Finish, Layer, Paint, SAMPLES, absorption_ratio, thick_reflectance, tristimulus};

/// Scattering of one coat of a white, S x. Over black such a coat throws back four
/// fifths, S x/(1 + S x): whites do not cover in one coat. An assumption.
const COAT: f64 = 4.0;

/// Absorption at each sample of a curve and scattering, of one part of a paint;
/// the scattering of a white is 1.
#[derive(Clone, Debug, PartialEq)]
pub struct Pigment {
    absorbs: [f64; SAMPLES],
    scatters: f64,
}

impl Pigment {
    /// The pigment of a paint.
    ///
    /// An opaque paint scatters as its list says (`strength`) or else as
    /// [`usual_strength`] assumes, and absorbs K/S times that. A transparent one does
    /// not scatter; one coat over white takes light twice, on its way in and out, so
    /// that R = exp(−2 K x).
    #[must_use]
    pub fn of(paint: &Paint) -> Self {
        let curve = paint.curve.samples();
        match paint.finish {
            Finish::Transparent => {
                let strength = paint.strength.unwrap_or(1.0);
                Self { absorbs: curve.map(|r| -0.5 * r.ln() / COAT * strength), scatters: 0.0 }
            }
            Finish::Opaque | Finish::Metallic => {
                let scatters = paint.strength.unwrap_or_else(|| usual_strength(&paint.curve));
                Self { absorbs: curve.map(|r| scatters * absorption_ratio(r)), scatters }
            }
        }
    }

    /// The pigment of a mix, per part; `None` without a part above 0, or with one
    /// that is negative or not a number.
    #[must_use]
    pub fn mixed(parts: &[(f64, &Self)]) -> Option<Self> {
        let all: f64 = parts.iter().map(|(part, _)| part).sum();
        if !(parts.iter().all(|(part, _)| *part >= 0.0) && all > 0.0 && all.is_finite()) {
            return None;
        }
        let sum = |of: &dyn Fn(&Self) -> f64| parts.iter().map(|(part, p)| part / all * of(p)).sum();
        Some(Self {
            absorbs: std::array::from_fn(|i| sum(&|p| p.absorbs[i])),
            scatters: sum(&|p| p.scatters),
        })
    }

    /// The curve of a layer so thick that its ground does not show; of a paint that
    /// does not scatter, and so never hides it, one coat over white.
    #[must_use]
    pub fn thick(&self) -> Curve {
        if self.scatters <= 0.0 {
            return self.over(&Curve::WHITE, 1.0);
        }
        Curve::new(self.absorbs.map(|k| thick_reflectance(k / self.scatters)))
    }

    /// The curve of a ground under so many coats of this paint: under part of one for
    /// a glaze, a filter, or a wash where it is drawn thin. One coat is what a brush
    /// lays down of unthinned paint; below 0 counts as none.
    #[must_use]
    pub fn over(&self, ground: &Curve, coats: f64) -> Curve {
        let x = COAT * if coats > 0.0 { coats } else { 0.0 };
        Curve::new(std::array::from_fn(|i| {
            Layer::new(self.absorbs[i] * x, self.scatters * x).over(ground.samples()[i])
        }))
    }

    /// The absorption at each sample, then the scattering.
    pub(crate) fn numbers(&self) -> (&[f64; SAMPLES], f64) {
        (&self.absorbs, self.scatters)
    }
}

/// How strongly a paint scatters, beside a white's 1, where nobody measured it:
/// the square root of the luminance of its curve.
///
/// An assumption, not a law. White and pale paints owe their colour to pigments
/// that scatter, dark ones hardly scatter, so that one part of black beside one of
/// white counts for less than the single constant says, which lets it swallow
/// the white. In the pigments of Curtis et al. (SIGGRAPH 97) S goes with the
/// luminance to the power 1.1 (correlation 0.95 of the logarithms); the single
/// constant is the power 0; this is the middle.
#[must_use]
pub fn usual_strength(curve: &Curve) -> f64 {
    tristimulus(curve)[1].sqrt()
}

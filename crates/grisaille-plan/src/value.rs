//! From exposures to values: the sum of light, and its fit into the paints.

use crate::bounce::{Thrown, add};
use grisaille_base::Lightness;
use grisaille_colour::{lightness_from_luminance, luminance_from_lightness};
use grisaille_light::{Exposure, Kind};
use grisaille_mesh::Part;
use grisaille_scheme::{Scheme, ValueChoice};
use grisaille_sight::Surface;
use rayon::prelude::*;
use std::sync::Arc;

/// How the sum of light becomes a lightness: linear in luminance between the
/// darkest and the lightest paint.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fit {
    /// The luminance where no light falls, 0 to 1.
    pub dark: f64,
    /// The luminance of the brightest planned spot, 0 to 1.
    pub light: f64,
    /// The sum of light at the brightest painted spot of the figure.
    pub brightest: f64,
}

impl Fit {
    /// The lightness of a sum of light. Spots brighter than the figure's
    /// brightest, which only a base can have, are held at the top.
    #[must_use]
    pub fn lightness(&self, sum: f64) -> Lightness {
        let share = if self.brightest > 0.0 { (sum / self.brightest).clamp(0.0, 1.0) } else { 0.0 };
        lightness_from_luminance(self.dark + (self.light - self.dark) * share)
    }

    /// A lightness lifted or dropped by the painter: the share `strength` of
    /// the way up to the lightest paint, or, below 0, down to the darkest; held
    /// between −1 and 1. So it never leaves the span of the paints, and of two
    /// spots equally lifted the lighter stays the lighter.
    #[must_use]
    pub fn lifted(&self, lightness: Lightness, strength: f64) -> Lightness {
        let s = strength.clamp(-1.0, 1.0);
        let end = if s < 0.0 { self.dark } else { self.light };
        Lightness(lightness.0 + s.abs() * (lightness_from_luminance(end).0 - lightness.0))
    }

    /// The lightness of a lamp itself: above every painted spot, half of what
    /// is left to white, so that what it lights never outshines it.
    #[must_use]
    pub fn lamp(&self) -> Lightness {
        Lightness(f64::midpoint(lightness_from_luminance(self.light).0, 100.0))
    }
}

/// The values of all samples.
#[derive(Clone, Debug, PartialEq)]
pub struct Values {
    /// L* of each sample, the painter's emphasis included; at buried ones the
    /// darkest paint, lifted as their surroundings are.
    pub lightness: Vec<f32>,
    /// What each light adds to each sample's sum, light by light.
    pub shares: Vec<Vec<f32>>,
    /// What of these shares has bounced off another part, light by light; `None`
    /// when nothing bounces.
    pub bounced: Option<Arc<Vec<Vec<f32>>>>,
    /// How sums became lightness.
    pub fit: Fit,
    /// How strongly the painter lifts each sample, −1 to 1; `None` for not at all.
    pub strength: Option<Vec<f32>>,
}

impl Values {
    /// The sum of light at a sample.
    #[must_use]
    pub fn sum(&self, sample: usize) -> f64 {
        sum(&self.shares, sample)
    }

    /// The lightness of each sample if the lights added `shares`.
    pub(crate) fn lightness_of(&self, shares: &[Vec<f32>]) -> Vec<f32> {
        lightness(shares, &self.fit, self.strength.as_deref())
    }
}

fn sum(shares: &[Vec<f32>], sample: usize) -> f64 {
    shares.iter().map(|s| f64::from(s[sample])).sum()
}

fn lightness(shares: &[Vec<f32>], fit: &Fit, strength: Option<&[f32]>) -> Vec<f32> {
    (0..shares.first().map_or(0, Vec::len))
        .into_par_iter()
        .map(|i| {
            let plain = fit.lightness(sum(shares, i));
            strength.map_or(plain, |s| fit.lifted(plain, f64::from(s[i]))).0 as f32
        })
        .collect()
}

/// What exposure to one light adds to the sum.
pub(crate) fn share(choice: &ValueChoice, weight: f64, kind: &Kind, exposure: f32) -> f32 {
    let e = f64::from(exposure);
    let e = match kind {
        Kind::Point { .. } if choice.lamp_shoulder => e / (1.0 + e * e).sqrt(),
        _ => e,
    };
    (weight * e) as f32
}

/// What each light adds to each sample's sum as it falls.
pub(crate) fn shares(scheme: &Scheme, exposure: &Exposure) -> Vec<Vec<f32>> {
    exposure
        .lights
        .iter()
        .zip(&scheme.lights)
        .map(|(light, entry)| {
            light.values.par_iter().map(|e| share(&scheme.value, entry.weight, &light.kind, *e)).collect()
        })
        .collect()
}

pub(crate) fn values(
    scheme: &Scheme,
    surface: &Surface,
    part_of_face: &[Part],
    (mut shares, bounced): (Vec<Vec<f32>>, Option<Thrown>),
    strength: Option<Vec<f32>>,
) -> Values {
    for (share, thrown) in shares.iter_mut().zip(bounced.iter().flat_map(|b| b.iter())) {
        add(share, thrown);
    }
    let sum = |i: usize| sum(&shares, i);
    let mut brightest = 0.0_f64;
    for (face, part) in surface.faces.iter().zip(part_of_face) {
        if *part == Part::Figure {
            for s in face {
                // Buried samples get no light, so they cannot be the brightest.
                brightest = brightest.max(sum(*s as usize));
            }
        }
    }
    if brightest == 0.0 {
        // A model that is all base: its own brightest spot will do.
        brightest = (0..surface.samples.len()).map(sum).fold(0.0, f64::max);
    }
    let fit = Fit {
        dark: luminance_from_lightness(scheme.value.darkest),
        light: luminance_from_lightness(scheme.value.lightest),
        brightest,
    };
    let lightness = lightness(&shares, &fit, strength.as_deref());
    Values { lightness, shares, bounced, fit, strength }
}

//! From exposures to values: the sum of light, and its fit into the paints.

use grisaille_base::Lightness;
use grisaille_colour::{lightness_from_luminance, luminance_from_lightness};
use grisaille_light::{Exposure, Kind};
use grisaille_mesh::Part;
use grisaille_scheme::{Scheme, ValueChoice};
use grisaille_sight::Surface;
use rayon::prelude::*;

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
    /// L* of each sample; the darkest paint at buried ones.
    pub lightness: Vec<f32>,
    /// What each light adds to each sample's sum, light by light.
    pub shares: Vec<Vec<f32>>,
    /// How sums became lightness.
    pub fit: Fit,
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

pub(crate) fn values(
    scheme: &Scheme,
    surface: &Surface,
    part_of_face: &[Part],
    exposure: &Exposure,
) -> Values {
    let shares: Vec<Vec<f32>> = exposure
        .lights
        .iter()
        .zip(&scheme.lights)
        .map(|(light, entry)| {
            light.values.par_iter().map(|e| share(&scheme.value, entry.weight, &light.kind, *e)).collect()
        })
        .collect();
    let sum = |i: usize| shares.iter().map(|s| f64::from(s[i])).sum::<f64>();
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
    let lightness =
        (0..surface.samples.len()).into_par_iter().map(|i| fit.lightness(sum(i)).0 as f32).collect();
    Values { lightness, shares, fit }
}

//! The one direction that reveals the most form.
//!
//! Taken from S. Gumhold, "Maximum entropy light source placement", IEEE
//! Visualization 2002: the more evenly a picture's tones are spread, the more
//! it tells, and Shannon's entropy of the tones measures that; so the light
//! stands where the entropy is greatest. T. Malzbender and E. Ordentlich,
//! "Maximum entropy lighting for physical objects" (HPL-2005-68, 2005), find
//! the same by how far pictures can be compressed. Ours to choose were the
//! tones (steps of L* after one coat of the light tone over the dark ground),
//! and the views: what a viewer sees first, each counted once.

use crate::coat::{Tone, Tones, coverage, layered};
use crate::spots::Spots;
use grisaille_base::{Stop, Watch};
use grisaille_colour::lightness_from_luminance;
use grisaille_light::toward;
use grisaille_sight::{Bits, FaceMask, Sight, Source};

/// The main views, as tilt and azimuth in degrees: the front, and between
/// front and side a little from above.
pub(crate) const VIEWS: [[f64; 2]; 3] = [[90.0, 0.0], [70.0, -35.0], [70.0, 35.0]];
/// Steps of L* between the dark and the light tone that are told apart: about
/// half a step of the value scale each.
const STEPS: usize = 16;

/// How much of each view each spot fills: its area times the cosine it is
/// seen under, if it is seen at all; the sum over each view is 1, or 0 where
/// nothing is seen.
///
/// # Errors
/// [`Stop`] when cancelled.
pub(crate) fn seen(spots: &Spots, sight: &dyn Sight, watch: &Watch) -> Result<Vec<Vec<f64>>, Stop> {
    let samples = &spots.surface.samples;
    let mut bits = Bits::new(samples.len());
    VIEWS
        .iter()
        .map(|[tilt, azimuth]| {
            let view = toward(*tilt, *azimuth);
            sight.visible(samples, Source::Direction(view), &FaceMask::All, &mut bits, watch)?;
            let weight = |i: usize| {
                let cosine = if bits.get(i) { samples.normal[i].cast::<f64>().dot(&view) } else { 0.0 };
                cosine * f64::from(spots.share[i])
            };
            let weights: Vec<f64> = (0..samples.len()).map(weight).collect();
            let all: f64 = weights.iter().sum();
            Ok(weights.into_iter().map(|w| if all > 0.0 { w / all } else { 0.0 }).collect())
        })
        .collect()
}

/// How much form spray of this exposure reveals, in bits: the mean over the
/// views of the entropy of the tones.
pub(crate) fn revealed(seen: &[Vec<f64>], exposure: &[f32], tones: &Tones, passes: f64) -> f64 {
    let (dark, light) = (tones.reflectance(Tone::Dark), tones.reflectance(Tone::Light));
    let tone = |e: f32| {
        let y = layered(dark, light, coverage(passes, f64::from(e)));
        // Counted from the dark tone, so that no border between steps falls on it.
        (lightness_from_luminance(y).0 - tones.dark.0) / (tones.light.0 - tones.dark.0) * STEPS as f64
    };
    let places: Vec<f64> = exposure.iter().map(|e| tone(*e)).collect();
    let views = seen.iter().map(|weights| entropy(places.iter().copied().zip(weights.iter().copied())));
    views.sum::<f64>() / seen.len().max(1) as f64
}

/// Shannon's entropy in bits of places on a scale, each with its weight, told
/// apart by whole steps. Weights need not sum to 1.
fn entropy(places: impl Iterator<Item = (f64, f64)>) -> f64 {
    let mut share = [0.0_f64; STEPS];
    for (at, weight) in places {
        share[(at.max(0.0) as usize).min(STEPS - 1)] += weight;
    }
    let all: f64 = share.iter().sum();
    let bits = share.iter().filter(|s| **s > 0.0).map(|s| -s / all * (s / all).log2());
    if all > 0.0 { bits.sum::<f64>().max(0.0) } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn entropy_is_that_of_shannon() {
        // Four tones of equal weight: 2 bits; one tone: none; 1/2, 1/4, 1/4:
        // 1.5 bits (C. E. Shannon, "A mathematical theory of communication", 1948).
        let of = |list: &[(f64, f64)]| entropy(list.iter().copied());
        assert!((of(&[(0.0, 1.0), (3.0, 1.0), (9.0, 1.0), (15.5, 1.0)]) - 2.0).abs() < 1e-12);
        assert_eq!(of(&[(7.0, 3.0), (7.0, 1.0)]), 0.0);
        assert!((of(&[(1.0, 2.0), (2.0, 1.0), (5.0, 1.0)]) - 1.5).abs() < 1e-12);
        assert_eq!((of(&[]), of(&[(5.0, 0.0)])), (0.0, 0.0));
    }
}

//! Kept spots: where bands and zones follow the light as finely as it falls,
//! as on hair, chain or the tooth of the print.

use grisaille_base::{Code, Finding, Place};
use grisaille_scheme::KeptSpot;
use grisaille_sight::Surface;
use nalgebra::Point3;

/// How strongly each sample is kept, 0 to 1; empty where nothing is.
#[derive(Debug, Default)]
pub(crate) struct Kept(Vec<f32>);

impl Kept {
    /// Wholly within a spot's radius, and less and less over `fade_mm` beyond
    /// it, so that no line shows where the spot ends. A spot that touches
    /// nothing is told.
    pub(crate) fn of(spots: &[KeptSpot], surface: &Surface, fade_mm: f64) -> (Self, Vec<Finding>) {
        let samples = &surface.samples;
        let mut findings = Vec::new();
        if spots.is_empty() {
            return (Self::default(), findings);
        }
        let mut weights = vec![0.0_f32; samples.len()];
        for spot in spots {
            let at = Point3::from(spot.at);
            let mut touched = false;
            for (i, weight) in weights.iter_mut().enumerate().filter(|(i, _)| !samples.buried.get(*i)) {
                let beyond = (samples.position[i].cast::<f64>() - at).norm() - spot.radius.0;
                touched |= beyond <= 0.0;
                let own = if beyond <= 0.0 { 1.0 } else { (1.0 - beyond / fade_mm).max(0.0) };
                *weight = weight.max(own as f32);
            }
            if !touched {
                findings.push(
                    Finding::new(
                        Code::KeepReachesNothing,
                        1,
                        "a spot to be kept as fine as it is touches no part of the model: check its place and its radius",
                    )
                    .at(Place::Point(spot.at.map(|x| x as f32))),
                );
            }
        }
        (Self(weights), findings)
    }

    /// A field that was evened out, brought back to what it was where it is kept.
    pub(crate) fn brought_back(&self, evened: Vec<f32>, before: &[f32]) -> Vec<f32> {
        let mut out = evened;
        for ((out, before), weight) in out.iter_mut().zip(before).zip(&self.0) {
            // Without this a kept spot would differ in the last bits.
            *out = if *weight >= 1.0 { *before } else { *out + weight * (before - *out) };
        }
        out
    }

    /// Whether a sample lies in a spot.
    pub(crate) fn holds(&self, sample: usize) -> bool {
        self.0.get(sample).is_some_and(|w| *w >= 1.0)
    }
}

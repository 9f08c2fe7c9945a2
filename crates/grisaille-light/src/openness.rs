//! Openness: how much of its own hemisphere a point sees within a reach.

use crate::directions::sphere_points;
use grisaille_base::{Millimetres, Stop, Watch};
use grisaille_sight::{FaceMask, Surface, TreeSight};

/// How far openness looks, and how finely.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OpennessSettings {
    /// Nothing farther than this hides anything; infinite for the whole model.
    pub reach: Millimetres,
    /// Directions over a hemisphere.
    pub directions: usize,
}

/// The cosine-weighted visible share of the hemisphere over each sample's own
/// normal, looking no farther than the reach: from 0 to 1, low in recesses, 1
/// on anything convex and wherever nothing lies within the reach. Buried
/// samples get 0. It knows no up and no light.
///
/// Σ n·l · visible / Σ n·l over fixed directions, even over the whole sphere, of
/// which each sample takes its own half. What is hidden is wrong by at most
/// 2·N^(−3/4) with N directions on the forms in docs/exposure.md.
///
/// # Errors
/// [`Stop`] when cancelled.
pub fn openness(
    surface: &Surface,
    sight: &TreeSight,
    settings: &OpennessSettings,
    watch: &Watch,
) -> Result<Vec<f32>, Stop> {
    let samples = &surface.samples;
    let directions = sphere_points(2 * settings.directions.max(1));
    sight.around(samples, &directions, settings.reach, &FaceMask::All, watch, |i, open| {
        let normal = samples.normal[i].cast::<f64>();
        let (mut seen, mut all) = (0.0, 0.0);
        for &(k, open) in open {
            let weight = normal.dot(&directions[k as usize]);
            all += weight;
            if open {
                seen += weight;
            }
        }
        // A sample whose few directions all face away sees nothing in its way.
        if all > 0.0 { (seen / all) as f32 } else { 1.0 }
    })
}

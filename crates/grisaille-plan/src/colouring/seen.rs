//! How much of each spot the main views show.

use grisaille_base::{LightId, Stop, Watch};
use grisaille_light::{Cache, ExposureSettings, Kind, Light, exposure};
use grisaille_sight::{FaceMask, Occluders, Surface, SweepSight};
use std::sync::Arc;

/// The main views: degrees round the figure from the front, and how much each counts.
/// A figure is looked at from the front and from either side of it, held up again now
/// and then and turned (common practice; the weights are ours).
const VIEWS: [(f64, f64); 6] =
    [(0.0, 1.0), (45.0, 0.7), (-45.0, 0.7), (110.0, 0.3), (-110.0, 0.3), (180.0, 0.3)];
/// How far above level the eye stands, degrees.
const EYE: f64 = 20.0;

/// For each sample how large the main views show the surface there, 0 (in none) to 1 (face on
/// in all): the cosine to the eye where nothing is in between, by the weights of the views.
///
/// # Errors
/// [`Stop`] when cancelled.
pub fn seen(surface: &Surface, mesh: &grisaille_mesh::Mesh, watch: &Watch) -> Result<Vec<f32>, Stop> {
    let sight = SweepSight::new(Arc::new(Occluders::of(mesh)), watch);
    let lights: Vec<Light> = VIEWS
        .iter()
        .zip(0_u32..)
        .map(|((azimuth, _), id)| Light {
            id: LightId(id),
            name: format!("view-{id}"),
            kind: Kind::Zenithal { tilt: 90.0 - EYE, azimuth: *azimuth, radius: 0.0 },
            mask: FaceMask::All,
        })
        .collect();
    let settings = ExposureSettings { ambient_directions: 1, ring_directions: 1, soft_directions: 1 };
    let found = exposure(surface, &sight, &lights, &settings, &mut Cache::default(), watch)?;
    let all: f64 = VIEWS.iter().map(|v| v.1).sum();
    let mut seen = vec![0.0; surface.samples.len()];
    for (light, (_, weight)) in found.lights.iter().zip(VIEWS) {
        for (seen, e) in seen.iter_mut().zip(light.values.iter()) {
            *seen += e * (weight / all) as f32;
        }
    }
    Ok(seen)
}

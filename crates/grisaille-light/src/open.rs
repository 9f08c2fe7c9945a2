//! What an open surface would get: exposure without anything in between.

use crate::closed_form::sphere_light_open;
use crate::directions::cap;
use crate::exposure::ExposureSettings;
use crate::falloff::Falloff;
use crate::light::{Kind, toward};
use grisaille_base::{Millimetres, Stop, Watch};
use grisaille_sight::Surface;
use nalgebra::{Point3, Vector3};

/// The exposure that each sample would have if nothing stood in the way of the
/// light; 0 where it is turned away. What is missing to it is cast shadow.
/// `None` for the ring and for ambient light, which come from too many sides
/// for a shadow with an edge.
///
/// # Errors
/// [`Stop`] when cancelled.
pub fn open_exposure(
    surface: &Surface,
    kind: &Kind,
    settings: &ExposureSettings,
    watch: &Watch,
) -> Result<Option<Vec<f32>>, Stop> {
    let samples = &surface.samples;
    let each = |of: &(dyn Fn(Point3<f64>, Vector3<f64>) -> f64 + Sync)| {
        watch
            .map(samples.len(), |i| of(samples.position[i].cast(), samples.normal[i].cast()) as f32)
            .map(Some)
    };
    match *kind {
        Kind::Zenithal { tilt, azimuth, radius } => {
            let axis = toward(tilt, azimuth);
            let directions = cap(axis, radius, settings.soft_directions);
            let facing: f64 = directions.iter().map(|d| axis.dot(d).max(0.0)).sum();
            each(&|_, n| directions.iter().map(|d| n.dot(d).max(0.0)).sum::<f64>() / facing)
        }
        Kind::Point { at, reference, radius, falloff, .. } => {
            each(&|p, n| lamp_open(at, reference, radius, falloff, p, n))
        }
        Kind::Ring | Kind::Ambient { .. } => Ok(None),
    }
}

/// What a lamp gives an open surface with the normal `normal` at `position`.
pub(crate) fn lamp_open(
    at: Point3<f64>,
    reference: Millimetres,
    radius: Millimetres,
    falloff: Falloff,
    position: Point3<f64>,
    normal: Vector3<f64>,
) -> f64 {
    let to = at - position;
    let distance = to.norm();
    let cosine = if distance > 0.0 { normal.dot(&to) / distance } else { 0.0 };
    let physical = sphere_light_open(cosine, distance, radius.0, reference.0);
    if physical > 0.0 {
        // A sample inside the glass is treated as lying on it; and however
        // near and steep, the light is a number that f32 can hold.
        (physical * falloff.bend(distance.max(radius.0), reference)).min(f64::from(f32::MAX))
    } else {
        0.0
    }
}

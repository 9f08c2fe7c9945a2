//! Spray from one direction: what arrives through the cone in which a hand
//! moves the can.

use crate::directions::cap;
use crate::light::toward;
use grisaille_base::{Stop, Watch};
use grisaille_sight::{Bits, FaceMask, Sight, Source, Surface};
use rayon::prelude::*;
use std::sync::Arc;

/// The axis of a spray.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SprayAxis {
    /// Degrees from straight above; beyond 90 it comes from below.
    pub tilt: f64,
    /// Degrees round the figure, from the front toward +X (the viewer's right).
    pub azimuth: f64,
}

/// Spray that was computed before: nothing is computed twice for an unchanged
/// direction on an unchanged surface.
#[derive(Debug, Default)]
pub struct SprayCache {
    entries: Vec<(Key, Arc<Vec<f32>>)>,
}

/// The surface's fingerprint, the axis, and the cone's radius and directions.
type Key = (u64, SprayAxis, (f64, usize));

/// The exposure of all samples to spray from each axis: paint that flies
/// straight arrives as a distant light does, so each is that of a
/// [`crate::Kind::Zenithal`] of the same tilt, azimuth and radius (degrees), from
/// `directions` directions in its cap. One list of values ≥ 0 for each axis.
///
/// What is in `kept` is not computed again, and all of this surface stays
/// there; what belongs to another surface goes.
///
/// # Errors
/// [`Stop`] when cancelled; `kept` is then as it was.
pub fn spray_exposure(
    surface: &Surface,
    sight: &dyn Sight,
    axes: &[SprayAxis],
    (radius, directions): (f64, usize),
    kept: &mut SprayCache,
    watch: &Watch,
) -> Result<Vec<Arc<Vec<f32>>>, Stop> {
    let keys: Vec<Key> = axes.iter().map(|axis| (surface.fingerprint, *axis, (radius, directions))).collect();
    let held = |key: &Key, kept: &SprayCache| {
        kept.entries.iter().find(|(k, _)| k == key).map(|(_, v)| Arc::clone(v))
    };
    let missing = keys.iter().filter(|key| held(key, kept).is_none()).count() as u64;
    let span = watch.span("spray", missing * directions.max(1) as u64);
    let mut bits = Bits::new(surface.samples.len());
    let mut made: Vec<(Key, Arc<Vec<f32>>)> = Vec::new();
    let mut result = Vec::with_capacity(axes.len());
    for (key, axis) in keys.iter().zip(axes) {
        let known =
            held(key, kept).or_else(|| made.iter().find(|(k, _)| k == key).map(|(_, v)| Arc::clone(v)));
        let values = match known {
            Some(values) => values,
            None => {
                let axis = toward(axis.tilt, axis.azimuth);
                let directions = cap(axis, radius, directions);
                let open: f64 = directions.iter().map(|d| axis.dot(d).max(0.0)).sum();
                let mut seen = vec![0.0_f64; surface.samples.len()];
                for direction in &directions {
                    sight.visible(
                        &surface.samples,
                        Source::Direction(*direction),
                        &FaceMask::All,
                        &mut bits,
                        watch,
                    )?;
                    watch.run(|| {
                        seen.par_iter_mut().with_min_len(4096).enumerate().for_each(|(i, seen)| {
                            if bits.get(i) {
                                *seen += surface.samples.normal[i].cast::<f64>().dot(direction);
                            }
                        });
                    });
                    span.advance(1);
                }
                let values = Arc::new(seen.into_iter().map(|s| (s / open) as f32).collect::<Vec<f32>>());
                made.push((*key, Arc::clone(&values)));
                values
            }
        };
        result.push(values);
    }
    span.count("directions", missing * directions.max(1) as u64);
    kept.entries.retain(|(k, _)| k.0 == surface.fingerprint);
    kept.entries.extend(made);
    Ok(result)
}

//! Exposure of every sample to every light.

use crate::closed_form::{ambient_open, ring_open};
use crate::directions::{cap, ring, sphere_points, upper_hemisphere};
use crate::light::{Kind, Light, Sky, toward};
use crate::open::lamp_open;
use grisaille_base::{LightId, Span, Stop, Watch};
use grisaille_sight::{Bits, FaceMask, Sight, Source, Surface};
use nalgebra::{Unit, Vector3};
use rayon::prelude::*;
use std::sync::Arc;

/// How finely the sky and the lamps are sampled.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ExposureSettings {
    /// Directions over the upper hemisphere for ambient light.
    pub ambient_directions: usize,
    /// Directions round the ring.
    pub ring_directions: usize,
    /// Directions within the cap of a zenithal light that has a radius, and
    /// points on a lamp that has one.
    pub soft_directions: usize,
}

impl Default for ExposureSettings {
    fn default() -> Self {
        Self { ambient_directions: 256, ring_directions: 48, soft_directions: 64 }
    }
}

/// The exposure of all samples to one light.
#[derive(Clone, Debug, PartialEq)]
pub struct LightExposure {
    /// Which light.
    pub id: LightId,
    /// Its name.
    pub name: String,
    /// Its kind.
    pub kind: Kind,
    /// One number ≥ 0 for each sample, linear in light.
    pub values: Arc<Vec<f32>>,
}

/// The exposure of all samples to all lights.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Exposure {
    /// In the order in which the lights were given.
    pub lights: Vec<LightExposure>,
}

impl Exposure {
    /// One light's exposure.
    #[must_use]
    pub fn of(&self, id: LightId) -> Option<&LightExposure> {
        self.lights.iter().find(|l| l.id == id)
    }
}

/// What was computed before and still holds: nothing is computed twice for an
/// unchanged light on an unchanged surface.
#[derive(Debug, Default)]
pub struct Cache {
    entries: Vec<(Key, Arc<Vec<f32>>)>,
}

#[derive(Clone, Debug, PartialEq)]
struct Key {
    surface: u64,
    kind: Kind,
    mask: FaceMask,
    settings: ExposureSettings,
}

/// Computes the exposure to each light; lights found in `kept` are taken from
/// there, and `kept` afterwards holds these lights and no others.
///
/// # Errors
/// [`Stop`] when cancelled; `kept` is then as it was.
pub fn exposure(
    surface: &Surface,
    sight: &dyn Sight,
    lights: &[Light],
    settings: &ExposureSettings,
    kept: &mut Cache,
    watch: &Watch,
) -> Result<Exposure, Stop> {
    let mut entries = Vec::with_capacity(lights.len());
    let mut result = Exposure::default();
    for light in lights {
        let key = Key {
            surface: surface.fingerprint,
            kind: light.kind,
            mask: light.mask.clone(),
            settings: *settings,
        };
        let values = match kept.entries.iter().find(|(k, _)| *k == key) {
            Some((_, values)) => Arc::clone(values),
            None => Arc::new(one_light(surface, sight, light, settings, watch)?),
        };
        entries.push((key, Arc::clone(&values)));
        result.lights.push(LightExposure {
            id: light.id,
            name: light.name.clone(),
            kind: light.kind,
            values,
        });
    }
    kept.entries = entries;
    Ok(result)
}

fn one_light(
    surface: &Surface,
    sight: &dyn Sight,
    light: &Light,
    settings: &ExposureSettings,
    watch: &Watch,
) -> Result<Vec<f32>, Stop> {
    let sum = |phase, sky: Sky, directions: &[Unit<Vector3<f64>>]| {
        let sources: Vec<Source> = directions.iter().map(|d| Source::Direction(*d)).collect();
        gather(surface, sight, phase, &sources, &light.mask, watch, |k, i| {
            surface.samples.normal[i].cast::<f64>().dot(&directions[k]) * sky.brightness(directions[k].z)
        })
    };
    let up = |i: usize| f64::from(surface.samples.normal[i].z);
    match light.kind {
        Kind::Zenithal { tilt, azimuth, radius } => {
            let axis = toward(tilt, azimuth);
            let directions = cap(axis, radius, settings.soft_directions);
            let open: f64 = directions.iter().map(|d| axis.dot(d).max(0.0)).sum();
            let (seen, _) = sum("zenithal", Sky::Uniform, &directions)?;
            Ok(seen.into_par_iter().map(|s| (s / open) as f32).collect())
        }
        Kind::Ring => {
            let (seen, all) = sum("ring", Sky::Uniform, &ring(settings.ring_directions.max(1)))?;
            Ok(share(&seen, &all, |i| ring_open(up(i))))
        }
        Kind::Ambient { sky } => {
            let (seen, all) = sum("ambient", sky, &upper_hemisphere(settings.ambient_directions.max(1)))?;
            Ok(share(&seen, &all, |i| ambient_open(up(i), sky)))
        }
        Kind::Point { at, reference, radius, clear, falloff } => {
            let points: Vec<(Source, Vector3<f64>)> = if radius.0 > 0.0 {
                sphere_points(settings.soft_directions.max(1))
                    .into_iter()
                    .map(|m| {
                        let at = at + m.into_inner() * radius.0;
                        (Source::Point { at, clear: (clear.0 - radius.0).max(0.0) }, m.into_inner())
                    })
                    .collect()
            } else {
                vec![(Source::Point { at, clear: clear.0 }, Vector3::zeros())]
            };
            let sources: Vec<Source> = points.iter().map(|(s, _)| *s).collect();
            let normals: Vec<Vector3<f64>> = points.iter().map(|(_, m)| *m).collect();
            let position = |i: usize| surface.samples.position[i];
            let normal = |i: usize| surface.samples.normal[i].cast::<f64>();
            let (seen, all) = gather(surface, sight, "lamps", &sources, &light.mask, watch, |k, i| {
                let to = sources[k].toward(position(i));
                if radius.0 <= 0.0 {
                    return 1.0;
                }
                // A patch of the glass gives by both cosines over the square
                // of the distance; the two vectors are not unit, hence the fourth power.
                (-normals[k].dot(&to)).max(0.0) * normal(i).dot(&to) / to.norm_squared().powi(2)
            })?;
            Ok(share(&seen, &all, |i| {
                lamp_open(at, reference, radius, falloff, position(i).cast(), normal(i))
            }))
        }
    }
}

/// The closed form of the open surface times the share of the weight that is seen.
fn share(seen: &[f64], all: &[f64], open: impl Fn(usize) -> f64 + Sync) -> Vec<f32> {
    (0..seen.len())
        .into_par_iter()
        .map(|i| if all[i] > 0.0 { (open(i) * seen[i] / all[i]) as f32 } else { 0.0 })
        .collect()
}

/// Sums, for each sample, the weights of the sources that it sees and of all
/// that it is turned toward.
fn gather(
    surface: &Surface,
    sight: &dyn Sight,
    phase: &'static str,
    sources: &[Source],
    mask: &FaceMask,
    watch: &Watch,
    weight: impl Fn(usize, usize) -> f64 + Sync,
) -> Result<(Vec<f64>, Vec<f64>), Stop> {
    let samples = &surface.samples;
    let span: Span<'_> = watch.span(phase, sources.len() as u64);
    let mut seen = vec![0.0; samples.len()];
    let mut all = vec![0.0; samples.len()];
    let mut bits = Bits::new(samples.len());
    let mut pairs = 0;
    for (k, source) in sources.iter().enumerate() {
        sight.visible(samples, *source, mask, &mut bits, watch)?;
        // Each sample adds up its own sources in their order, so the sum does
        // not depend on how the samples are dealt out.
        pairs += watch.run(|| {
            seen.par_iter_mut()
                .zip(all.par_iter_mut())
                .with_min_len(4096)
                .enumerate()
                .map(|(i, (seen, all))| {
                    if !source.faces(samples, i) {
                        return 0_u64;
                    }
                    let w = weight(k, i);
                    *all += w;
                    if bits.get(i) {
                        *seen += w;
                    }
                    1
                })
                .sum::<u64>()
        });
        span.advance(1);
    }
    span.count("samples", samples.len() as u64);
    span.count("directions", sources.len() as u64);
    span.count("pairs", pairs);
    Ok((seen, all))
}

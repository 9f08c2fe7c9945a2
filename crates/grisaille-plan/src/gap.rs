//! A dark line between two lights where the form turns: without it warm and
//! cold run into each other, and neither reads as light.

use crate::neighbours::Neighbours;
use crate::value::share;
use grisaille_base::{Stop, Watch};
use grisaille_light::{Exposure, ExposureSettings, Kind, Light, open_exposure, toward};
use grisaille_scheme::{LightEntry, ValueChoice};
use grisaille_sight::Surface;
use nalgebra::Vector3;
use rayon::prelude::*;

/// Two lights meet where the weaker adds at least this part of what the
/// stronger adds; fully where both add the same.
const MEET: f64 = 0.5;
/// A form that turns as a ball of this many brush tip radii or a smaller one
/// does gets the whole gap: 3.6 mm on a 32 mm figure, a head and all limbs.
/// Common practice, no published source.
const ROUND: f64 = 12.0;
/// Normals are evened out over so many brush tip radii first: folds and grain
/// that the brush goes over in one stroke do not turn the form.
const GRAIN: f64 = 3.0;

/// A light that comes from somewhere, with what it adds to each sample's sum,
/// and would add if nothing stood in between.
struct Coming<'a> {
    kind: &'a Kind,
    open: Vec<f32>,
    arrives: Vec<f32>,
}

impl Coming<'_> {
    /// The direction toward the light.
    fn toward(&self, surface: &Surface, i: usize) -> Vector3<f64> {
        match *self.kind {
            Kind::Zenithal { tilt, azimuth, .. } => toward(tilt, azimuth).into_inner(),
            Kind::Point { at, .. } => {
                let way = at - surface.samples.position[i].cast::<f64>();
                way.try_normalize(0.0).unwrap_or_else(Vector3::zeros)
            }
            Kind::Ring | Kind::Ambient { .. } => Vector3::zeros(),
        }
    }
}

/// How deep the gap is on each sample, 0 to 1: the product of
///
/// - how evenly the two strongest lights that come from somewhere (zenithal,
///   lamps) meet, as they would if nothing stood in between, so that the rim of
///   a cast shadow is no gap: from 0 where the weaker adds half of what the
///   stronger does, smoothly to 1 where both add the same;
/// - what share of each arrives;
/// - how strongly the form turns from the one to the other: the curvature of
///   the surface along the difference of the two directions, times twelve tip
///   radii, 0 on plates and in hollows, at most 1. It is the least-squares
///   slope of the normal, evened out over three tip radii, over the way to the
///   sample's neighbours, so a sharp crease, where nothing turns gradually, has
///   none.
///
/// Evened out over the brush tip of `radius_mm`.
pub(crate) fn light_gap(
    surface: &Surface,
    neighbours: &Neighbours,
    (lights, entries, exposure): (&[Light], &[LightEntry], &Exposure),
    (value, settings): (&ValueChoice, &ExposureSettings),
    radius_mm: f64,
    watch: &Watch,
) -> Result<Vec<f32>, Stop> {
    let mut coming = Vec::new();
    for ((light, entry), known) in lights.iter().zip(entries).zip(&exposure.lights) {
        if !matches!(light.kind, Kind::Zenithal { .. } | Kind::Point { .. }) || entry.weight <= 0.0 {
            continue;
        }
        let Some(open) = open_exposure(surface, &light.kind, settings, watch)? else { continue };
        let arrives =
            known.values.iter().zip(&open).map(|(e, o)| if *o > 0.0 { (e / o).min(1.0) } else { 0.0 });
        let arrives = arrives.collect();
        let open = open.iter().map(|e| share(value, entry.weight, &light.kind, *e)).collect();
        coming.push(Coming { kind: &light.kind, open, arrives });
    }
    let normals = evened_normals(surface, neighbours, GRAIN * radius_mm, watch)?;
    let depth: Vec<f32> = (0..surface.samples.len())
        .into_par_iter()
        .map(|i| {
            if neighbours.area(i) <= 0.0 {
                return 0.0;
            }
            let mut by_strength: Vec<&Coming<'_>> = coming.iter().collect();
            by_strength.sort_by(|a, b| b.open[i].total_cmp(&a.open[i]));
            let [one, two, ..] = by_strength.as_slice() else { return 0.0 };
            let met = meeting(f64::from(one.open[i]), f64::from(two.open[i]));
            let both = f64::from(one.arrives[i] * two.arrives[i]);
            if met * both <= 0.0 {
                return 0.0;
            }
            let apart = one.toward(surface, i) - two.toward(surface, i);
            let turns =
                (turning(surface, neighbours, &normals, i, apart) * ROUND * radius_mm).clamp(0.0, 1.0);
            (met * both * turns) as f32
        })
        .collect();
    watch.check()?;
    Ok(neighbours.smoothed(&depth, radius_mm, watch)?.into_iter().map(|d| d.clamp(0.0, 1.0)).collect())
}

/// How evenly two lights meet, 0 to 1, the stronger first.
fn meeting(stronger: f64, weaker: f64) -> f64 {
    if stronger <= 0.0 {
        return 0.0;
    }
    let t = ((weaker / stronger - MEET) / (1.0 - MEET)).clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}

/// Unit normals evened out along the surface.
fn evened_normals(
    surface: &Surface,
    neighbours: &Neighbours,
    radius_mm: f64,
    watch: &Watch,
) -> Result<Vec<Vector3<f64>>, Stop> {
    let normal = &surface.samples.normal;
    let mut evened = vec![Vector3::zeros(); normal.len()];
    for axis in 0..3 {
        let along: Vec<f32> = normal.iter().map(|n| n[axis]).collect();
        for (to, v) in evened.iter_mut().zip(neighbours.smoothed(&along, radius_mm, watch)?) {
            to[axis] = f64::from(v);
        }
    }
    // Where they cancel each other out, the sample's own.
    Ok(evened
        .into_iter()
        .zip(normal)
        .map(|(e, own)| e.try_normalize(1e-3).unwrap_or_else(|| own.cast()))
        .collect())
}

/// The curvature at a sample along a direction, in 1/mm: above 0 where the
/// form bulges.
fn turning(
    surface: &Surface,
    neighbours: &Neighbours,
    normals: &[Vector3<f64>],
    i: usize,
    along: Vector3<f64>,
) -> f64 {
    let samples = &surface.samples;
    let (p, n) = (samples.position[i].cast::<f64>(), normals[i]);
    let along = along - n * n.dot(&along);
    let (mut both, mut way) = (0.0, 0.0);
    for j in neighbours.beside(i).iter().map(|j| *j as usize) {
        let step = (samples.position[j].cast::<f64>() - p).dot(&along);
        both += step * (normals[j] - n).dot(&along);
        way += step * step;
    }
    if way > 0.0 { both / way } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::neighbours::tests::surface_of;
    use grisaille_bodies::{icosphere, scaled};

    #[test]
    fn lights_meet_where_they_add_alike() {
        assert_eq!((meeting(1.0, 1.0), meeting(1.0, 0.5), meeting(0.0, 0.0)), (1.0, 0.0, 0.0));
        assert!((meeting(2.0, 1.5) - 0.5).abs() < 1e-12);
    }

    #[test]
    fn a_ball_turns_by_one_over_its_radius_and_a_hollow_the_other_way() {
        let watch = Watch::quiet();
        for radius in [2.0_f64, 5.0] {
            let surface = surface_of(&scaled(icosphere(4), radius), &watch);
            let neighbours = Neighbours::of(&surface);
            // Evening out leaves the normals of a ball as they are.
            let normals = evened_normals(&surface, &neighbours, 0.1 * radius, &watch).unwrap();
            for (sign, normals) in [(1.0, normals.clone()), (-1.0, normals.iter().map(|n| -n).collect())] {
                for i in (0..surface.samples.len()).step_by(97) {
                    let found = turning(&surface, &neighbours, &normals, i, Vector3::new(0.3, -0.8, 0.5));
                    assert!((found * sign * radius - 1.0).abs() < 0.05, "{found}, {sign}/{radius}");
                }
            }
        }
    }
}

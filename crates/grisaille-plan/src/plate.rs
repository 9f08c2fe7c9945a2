//! Flat plates: one value all over reads as unpainted, so painters lay a
//! gradient over them.

use crate::neighbours::Neighbours;
use grisaille_base::{Stop, Watch};
use grisaille_light::{Kind, Light, toward};
use grisaille_mesh::Part;
use grisaille_scheme::LightEntry;
use grisaille_sight::Surface;
use nalgebra::Vector3;

/// How far a plate's faces may be turned against its samples, in degrees.
const FLAT: f64 = 0.1;
/// How far a plate's samples may be turned against its first, in degrees.
const STRAIGHT: f64 = 0.5;
/// A plate is at least so many brush tips (radii) long and wide.
const LEAST: f64 = 8.0;
/// A plate that is turned farther from the light than by this cosine lies in
/// its own shadow and has no end toward the light.
const AWAY: f64 = -0.35;

/// On each sample of a large flat plate where it lies between the plate's two
/// ends, −1 at the end away from the light to 1 at the end toward it; 0 on all
/// else, with a soft edge where no crease parts them.
///
/// A plate is a connected flat area, at least eight brush tip radii long and
/// wide, on which distant light is even. The light's direction is the sum of
/// those of the distant lights, each by its weight; ring and ambient light
/// come from above. A plate that faces it squarely, such as a level one under
/// light from straight above, has no end toward it and is lighter toward the
/// viewer in front (common practice; no published source).
pub(crate) fn plate_gradient(
    surface: &Surface,
    part_of_face: &[Part],
    neighbours: &Neighbours,
    (lights, entries): (&[Light], &[LightEntry]),
    radius_mm: f64,
    watch: &Watch,
) -> Result<Vec<f32>, Stop> {
    let sum: Vector3<f64> = lights
        .iter()
        .zip(entries)
        .map(|(light, entry)| match light.kind {
            Kind::Zenithal { tilt, azimuth, .. } => toward(tilt, azimuth).into_inner() * entry.weight,
            Kind::Ring | Kind::Ambient { .. } => Vector3::z() * entry.weight,
            Kind::Point { .. } => Vector3::zeros(),
        })
        .sum();
    let light = sum.try_normalize(1e-9).unwrap_or_else(Vector3::z);
    let flat = flat_samples(surface, part_of_face);
    let normal = |i: usize| surface.samples.normal[i].cast::<f64>();
    let mut out = vec![0.0_f32; flat.len()];
    let mut taken = vec![false; flat.len()];
    for first in 0..flat.len() {
        if !flat[first] || taken[first] || neighbours.area(first) <= 0.0 {
            continue;
        }
        watch.check()?;
        let mut plate = vec![first];
        taken[first] = true;
        let mut at = 0;
        while at < plate.len() {
            for next in neighbours.beside(plate[at]).iter().map(|s| *s as usize) {
                let straight = normal(next).dot(&normal(first)) >= STRAIGHT.to_radians().cos();
                if flat[next] && !taken[next] && straight {
                    taken[next] = true;
                    plate.push(next);
                }
            }
            at += 1;
        }
        if normal(first).dot(&light) > AWAY {
            grade(surface, neighbours, &plate, light, LEAST * radius_mm, &mut out);
        }
    }
    neighbours.smoothed(&out, radius_mm, watch)
}

/// Samples of painted faces that all lie in one plane there.
fn flat_samples(surface: &Surface, part_of_face: &[Part]) -> Vec<bool> {
    let mut flat = vec![true; surface.samples.len()];
    for (f, face) in surface.faces.iter().enumerate() {
        let [a, b, c] = face.map(|s| surface.samples.position[s as usize].cast::<f64>());
        let sides = [b - a, c - b, a - c].map(|s| s.norm_squared());
        let across = (b - a).cross(&(c - a));
        // The normal of a needle is mostly rounding.
        let needle = across.norm() <= 1e-3 * sides.into_iter().fold(0.0, f64::max);
        let normal = across.try_normalize(0.0);
        for s in face.iter().map(|s| *s as usize) {
            let own = surface.samples.normal[s].cast::<f64>();
            let turned = normal.is_some_and(|n| n.dot(&own) < FLAT.to_radians().cos());
            if !part_of_face[f].is_painted() || (turned && !needle) {
                flat[s] = false;
            }
        }
    }
    flat
}

/// Lays the gradient over one plate, if it is large enough.
fn grade(
    surface: &Surface,
    neighbours: &Neighbours,
    plate: &[usize],
    light: Vector3<f64>,
    least: f64,
    out: &mut [f32],
) {
    let Some(first) = plate.first() else { return };
    let normal = surface.samples.normal[*first].cast::<f64>();
    let in_plane = |v: Vector3<f64>| (v - normal * normal.dot(&v)).try_normalize(0.05);
    let front = -Vector3::y();
    let Some(way) = in_plane(light).or_else(|| in_plane(front)).or_else(|| in_plane(Vector3::z())) else {
        return;
    };
    let side = normal.cross(&way);
    let flat = |i: usize| {
        let p = surface.samples.position[i].cast::<f64>().coords;
        (p.dot(&way), p.dot(&side))
    };
    let spots: Vec<((f64, f64), f64)> = plate.iter().map(|i| (flat(*i), neighbours.area(*i))).collect();
    if width(&spots) < least {
        return;
    }
    let along = |i: usize| flat(i).0;
    let (low, high) = plate
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), i| (low.min(along(*i)), high.max(along(*i))));
    if high <= low {
        return;
    }
    for i in plate {
        out[*i] = (2.0 * (along(*i) - low) / (high - low) - 1.0) as f32;
    }
}

/// The width of the rectangle that has the second moments of a flat area, given
/// as places with their areas: √(12 λ) of the smaller principal variance λ.
fn width(spots: &[((f64, f64), f64)]) -> f64 {
    let mean = |of: &dyn Fn((f64, f64)) -> f64| {
        let (sum, all) = spots.iter().fold((0.0, 0.0), |(s, a), (p, area)| (s + of(*p) * area, a + area));
        if all > 0.0 { sum / all } else { 0.0 }
    };
    let middle = (mean(&|p| p.0), mean(&|p| p.1));
    let xx = mean(&|p| (p.0 - middle.0).powi(2));
    let yy = mean(&|p| (p.1 - middle.1).powi(2));
    let xy = mean(&|p| (p.0 - middle.0) * (p.1 - middle.1));
    let smaller = 0.5 * (xx + yy) - (0.5 * (xx - yy)).hypot(xy);
    (12.0 * smaller.max(0.0)).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_width_of_a_rectangle_is_found_however_it_lies() {
        for degrees in [0.0_f64, 17.0, 45.0, 90.0] {
            let (s, c) = degrees.to_radians().sin_cos();
            // 12 by 2 in squares of a tenth.
            let spots: Vec<_> = (0..120 * 20)
                .map(|k| {
                    let (x, y) = (0.1 * (f64::from(k / 20) + 0.5) + 40.0, 0.1 * (f64::from(k % 20) + 0.5));
                    ((x * c - y * s, x * s + y * c), 0.01)
                })
                .collect();
            let found = width(&spots);
            assert!((found - 2.0).abs() < 0.01, "{degrees}: {found}");
        }
    }
}

//! The painter's own light and dark: how strongly each spot is lifted.

use crate::gap::light_gap;
use crate::island::each_beside;
use crate::neighbours::Neighbours;
use crate::plan::settings_of;
use crate::plate::plate_gradient;
use grisaille_base::{Code, Finding, Place, Stop, Watch};
use grisaille_light::{Exposure, Light};
use grisaille_mesh::Part;
use grisaille_scheme::{Emphasis, FocalPoint, Scheme, Spread};
use grisaille_sight::Surface;
use nalgebra::Point3;
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// How much longer the way along the surface may be than straight through
/// space before it counts: over the nose and into the eye is still the face.
const DETOUR: f64 = 1.5;

/// The strength on each sample, −1 to 1; `None` when there is no emphasis.
///
/// Focal points, the lift of the part and of the region (`lifts`), the gradient on plates and the gap
/// between lights are added. `radius_mm` is that of the brush tip.
pub(crate) fn strengths(
    scheme: &Scheme,
    (surface, part_of_face, neighbours): (&Surface, &[Part], &Neighbours),
    (lights, exposure): (&[Light], &Exposure),
    lifts: Option<&[f32]>,
    radius_mm: f64,
    watch: &Watch,
) -> Result<(Option<Vec<f32>>, Vec<Finding>), Stop> {
    let choice = &scheme.emphasis;
    let mut findings = Vec::new();
    if *choice == Emphasis::default() && lifts.is_none() {
        return Ok((None, findings));
    }
    let mut sum = parts(choice, surface, part_of_face);
    for (sum, lift) in sum.iter_mut().zip(lifts.unwrap_or_default()) {
        *sum += lift;
    }
    for focus in &choice.focus {
        let near = match focus.spread {
            Spread::Space => through_space(surface, focus),
            Spread::Surface => along_surface(surface, neighbours, focus, watch)?,
        };
        if near.iter().all(|w| *w == 0.0) {
            findings.push(
                Finding::new(
                    Code::FocusReachesNothing,
                    1,
                    "a focal point touches no part of the model: check its place and its radius",
                )
                .at(Place::Point(focus.at.map(|x| x as f32))),
            );
        }
        for (sum, w) in sum.iter_mut().zip(near) {
            *sum += (focus.strength * w) as f32;
        }
    }
    if choice.plate_gradient > 0.0 {
        let lights = (lights, scheme.lights.as_slice());
        let gradient = plate_gradient(surface, part_of_face, neighbours, lights, radius_mm, watch)?;
        for (sum, g) in sum.iter_mut().zip(gradient) {
            *sum += choice.plate_gradient as f32 * g;
        }
    }
    if choice.gap > 0.0 {
        let lights = (lights, scheme.lights.as_slice(), exposure);
        let how = (&scheme.value, &settings_of(scheme));
        let gap = light_gap(surface, neighbours, lights, how, radius_mm, watch)?;
        for (sum, g) in sum.iter_mut().zip(gap) {
            *sum -= choice.gap as f32 * g;
        }
    }
    Ok((Some(sum.into_iter().map(|s| s.clamp(-1.0, 1.0)).collect()), findings))
}

/// The lift of each sample's part; where parts meet it is the figure's.
fn parts(choice: &Emphasis, surface: &Surface, part_of_face: &[Part]) -> Vec<f32> {
    let mut lift = vec![0.0; surface.samples.len()];
    for part in [Part::Base, Part::Figure] {
        let strength = if part == Part::Figure { choice.figure } else { choice.base } as f32;
        for (face, _) in surface.faces.iter().zip(part_of_face).filter(|(_, p)| **p == part) {
            for s in face {
                lift[*s as usize] = strength;
            }
        }
    }
    lift
}

/// How strongly a focal point is felt at a share t of its radius: (1 − t²)²,
/// 1 in the middle, 0 from the radius on, without a kink at either.
fn felt(t: f64) -> f64 {
    if t < 1.0 { (1.0 - t * t).powi(2) } else { 0.0 }
}

fn through_space(surface: &Surface, focus: &FocalPoint) -> Vec<f64> {
    let at = Point3::from(focus.at);
    let samples = &surface.samples;
    (0..samples.len())
        .map(|i| {
            let far = (samples.position[i].cast::<f64>() - at).norm();
            if samples.buried.get(i) { 0.0 } else { felt(far / focus.radius.0) }
        })
        .collect()
}

/// As through space, but not farther than the way along the surface from the
/// open sample nearest to the middle allows: that way counts for its length
/// over [`DETOUR`] where that is more. It follows the edges of faces (E. W.
/// Dijkstra, Numerische Mathematik 1, 1959) and goes over creases.
fn along_surface(
    surface: &Surface,
    neighbours: &Neighbours,
    focus: &FocalPoint,
    watch: &Watch,
) -> Result<Vec<f64>, Stop> {
    let samples = &surface.samples;
    let at = Point3::from(focus.at);
    let place = |i: usize| samples.position[i].cast::<f64>();
    let straight = |i: usize| (place(i) - at).norm();
    let mut out = vec![0.0; samples.len()];
    let nearest = (0..samples.len())
        .filter(|i| neighbours.area(*i) > 0.0)
        .min_by(|a, b| straight(*a).total_cmp(&straight(*b)));
    let Some(start) = nearest else { return Ok(out) };
    let mut done = vec![false; samples.len()];
    // Bits of numbers that are not negative order as the numbers do.
    let mut open = BinaryHeap::from([Reverse((straight(start).to_bits(), start))]);
    let mut steps = 0_u32;
    while let Some(Reverse((bits, i))) = open.pop() {
        steps = steps.wrapping_add(1);
        if steps.is_multiple_of(4096) {
            watch.check()?;
        }
        let way = f64::from_bits(bits);
        if std::mem::replace(&mut done[i], true) || way / DETOUR >= focus.radius.0 {
            continue;
        }
        out[i] = felt(straight(i).max(way / DETOUR) / focus.radius.0);
        each_beside(neighbours, i, |next| {
            if !done[next] && neighbours.area(next) > 0.0 {
                open.push(Reverse(((way + (place(next) - place(i)).norm()).to_bits(), next)));
            }
        });
    }
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::neighbours::tests::surface_of;
    use grisaille_base::Millimetres;
    use grisaille_bodies::{icosphere, moved, scaled};

    #[test]
    fn a_focal_point_falls_off_smoothly_and_ends_at_its_radius() {
        let mut last = 1.0;
        for i in 0..=200 {
            let w = felt(0.01 * f64::from(i));
            assert!(w <= last && (0.0..=1.0).contains(&w));
            assert_eq!(w == 0.0, i >= 100);
            last = w;
        }
        assert_eq!(felt(0.0), 1.0);
    }

    #[test]
    fn along_the_surface_a_face_is_lifted_without_the_helmet() {
        // A head of 8 mm, and the knob of a helmet half a millimetre before its face.
        let mut soup = scaled(icosphere(4), 4.0);
        soup.extend(moved(scaled(icosphere(3), 2.0), [0.0, -6.5, 0.0]));
        let surface = surface_of(&soup, &Watch::quiet());
        let neighbours = Neighbours::of(&surface);
        let mut focus = FocalPoint {
            at: [0.0, -4.0, 0.0],
            radius: Millimetres(3.0),
            strength: 1.0,
            spread: Spread::Space,
        };
        let touched = |w: &[f64]| -> [usize; 2] {
            let of_head = |i: usize| surface.samples.position[i].y > -4.2;
            [true, false].map(|head| (0..w.len()).filter(|i| w[*i] > 0.0 && of_head(*i) == head).count())
        };
        let space = through_space(&surface, &focus);
        assert!(touched(&space).iter().all(|n| *n > 20), "{:?}", touched(&space));
        focus.spread = Spread::Surface;
        let along = along_surface(&surface, &neighbours, &focus, &Watch::quiet()).unwrap();
        assert_eq!(touched(&along), [touched(&space)[0], 0]);
        // Where the surface leads straight there, it is the same as through space.
        for (a, b) in along.iter().zip(&space).filter(|(a, _)| **a > 0.0) {
            assert!((a - b).abs() < 1e-9);
        }
    }
}

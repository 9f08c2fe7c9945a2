//! Picking: what of the surface lies under the pointer, and what is to be
//! said about it.

use crate::camera::Line;
use grisaille_base::{LightId, Lightness, PieceId};
use grisaille_colour::{luminance_from_lightness, munsell_value};
use grisaille_mesh::Part;
use grisaille_plan::{Draft, Ground, Plan, open_corners};
use grisaille_sight::FaceMask;
use nalgebra::{Point3, Vector3};

/// Finds spots of the surface.
pub struct Picker {
    ground: Ground,
    /// Where the faces of each mesh face begin in `children`.
    first: Vec<u32>,
    children: Vec<u32>,
}

/// A spot of the surface.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spot {
    /// Scene millimetres.
    pub point: Point3<f64>,
    /// Unit normal, outward.
    pub normal: Vector3<f64>,
    /// The face of the divided surface.
    pub face: usize,
    /// How much each of its corners counts here: 0 to 1, together 1.
    pub weights: [f32; 3],
    /// The piece.
    pub piece: PieceId,
    /// The part.
    pub part: Part,
}

impl Picker {
    /// Makes ready to find spots.
    #[must_use]
    pub fn new(ground: Ground) -> Self {
        let sources = &ground.surface.source_face;
        let mut first = vec![0_u32; ground.mesh.faces().len() + 1];
        for source in sources {
            first[source.index() + 1] += 1;
        }
        for i in 1..first.len() {
            first[i] += first[i - 1];
        }
        let mut next = first.clone();
        let mut children = vec![0_u32; sources.len()];
        for (f, source) in sources.iter().enumerate() {
            let place = &mut next[source.index()];
            children[*place as usize] = f as u32;
            *place += 1;
        }
        Self { ground, first, children }
    }

    /// What the picker looks at.
    #[must_use]
    pub fn ground(&self) -> &Ground {
        &self.ground
    }

    /// The first spot on a line of sight that is not hidden.
    #[must_use]
    pub fn spot(&self, line: Line, mask: &FaceMask) -> Option<Spot> {
        let met = self.ground.tree.nearest(line.origin, line.direction, mask, false)?;
        let point = line.origin + line.direction * met.distance;
        let surface = &self.ground.surface;
        let of = met.face.index();
        let children = self.children.get(self.first[of] as usize..self.first[of + 1] as usize)?;
        // Of the pieces into which the face was divided, the one that holds
        // the point best: rounding may leave it a hair outside of all.
        let (face, weights) = children
            .iter()
            .map(|f| {
                let corners = surface.faces[*f as usize].map(|s| surface.samples.position[s as usize].cast());
                (*f as usize, weights(point, corners))
            })
            .max_by(|a, b| least(a.1).total_cmp(&least(b.1)))?;
        let weights = within(weights);
        let normal = surface.faces[face]
            .iter()
            .zip(weights)
            .map(|(s, w)| surface.samples.normal[*s as usize].cast::<f64>() * f64::from(w))
            .sum::<Vector3<f64>>();
        Some(Spot {
            point,
            normal: normal.try_normalize(1e-9).unwrap_or(-line.direction),
            face,
            weights,
            piece: surface.piece[face],
            part: self.ground.part_of_face[face],
        })
    }
}

fn least(weights: [f64; 3]) -> f64 {
    weights.into_iter().fold(f64::INFINITY, f64::min)
}

/// Barycentric weights of a point in a triangle's plane.
fn weights(point: Point3<f64>, [a, b, c]: [Point3<f64>; 3]) -> [f64; 3] {
    let normal = (b - a).cross(&(c - a));
    let area = normal.norm_squared();
    if area <= 0.0 {
        return [f64::NEG_INFINITY; 3];
    }
    let share = |p: Point3<f64>, q: Point3<f64>| (q - p).cross(&(point - p)).dot(&normal) / area;
    [share(b, c), share(c, a), share(a, b)]
}

fn within(weights: [f64; 3]) -> [f32; 3] {
    let held = weights.map(|w| if w.is_finite() { w.clamp(0.0, 1.0) } else { 0.0 });
    let sum: f64 = held.iter().sum();
    if sum > 0.0 { held.map(|w| (w / sum) as f32) } else { [1.0, 0.0, 0.0] }
}

/// What is known about a spot.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// How much of each light arrives, in the scheme's order.
    pub lights: Vec<(LightId, f32)>,
    /// The planned value.
    pub lightness: Lightness,
    /// The same on the ten-step value scale.
    pub step: f64,
    /// The band, counted from 0 for the darkest.
    pub band: usize,
}

/// Reads a spot off a draft, and off the plan where there is one.
#[must_use]
pub fn reading(spot: &Spot, ground: &Ground, draft: &Draft, plan: Option<&Plan>) -> Reading {
    let mix = |values: &[f32]| {
        let corners = open_corners(&ground.surface, spot.face, values).unwrap_or([0.0; 3]);
        (0..3).map(|i| corners[i] * spot.weights[i]).sum::<f32>()
    };
    let lightness = Lightness(f64::from(mix(plan.map_or(&draft.lightness, |p| &p.values.lightness))));
    let band = match plan {
        Some(plan) => usize::from(plan.band_at(spot.face, spot.weights)),
        None => {
            let band = draft.borders.iter().filter(|b| lightness.0 >= **b).count();
            if spot.part == Part::Figure { band } else { band.min(draft.borders.len().saturating_sub(1)) }
        }
    };
    Reading {
        lights: draft.lights.iter().map(|l| (l.id, mix(&l.exposure))).collect(),
        lightness,
        step: munsell_value(luminance_from_lightness(lightness)),
        band,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::camera::Camera;
    use crate::side::Side;
    use crate::test_scene::{ground_of, products_of, scheme};
    use grisaille_base::Watch;
    use grisaille_bodies::{cuboid, icosphere, scaled};
    use grisaille_plan::draft;

    const SIZE: [f64; 2] = [500.0, 500.0];

    #[test]
    fn a_spot_lies_on_the_surface_with_its_normal_and_weights() {
        let ground = ground_of(&scaled(icosphere(4), 10.0), 0.8);
        let picker = Picker::new(ground.clone());
        let mut found = 0;
        for side in Side::ALL {
            let camera = Camera::fit(&ground.mesh.bounds(), side, SIZE);
            for i in 0..100 {
                let at = [f64::from(i % 10) * 50.0 + 3.0, f64::from(i / 10) * 50.0 + 7.0];
                let line = camera.line(at, SIZE);
                let spot = picker.spot(line, &FaceMask::All);
                // Closed form: a line meets a ball if it passes its centre by less than the radius.
                let miss = line.origin.coords.cross(&line.direction).norm();
                assert!(spot.is_some() || miss > 9.9, "{side:?} {at:?}");
                let Some(spot) = spot else { continue };
                found += 1;
                assert!((spot.point.coords.norm() - 10.0).abs() < 0.05);
                assert!(spot.normal.dot(&spot.point.coords.normalize()) > 0.99);
                assert!(spot.point.coords.dot(&line.direction) < 0.0, "the near side");
                let face = ground.surface.faces[spot.face];
                let mixed: Vector3<f64> = (0..3)
                    .map(|k| {
                        ground.surface.samples.position[face[k] as usize].coords.cast::<f64>()
                            * f64::from(spot.weights[k])
                    })
                    .sum();
                assert!((mixed - spot.point.coords).norm() < 1e-4, "{mixed} {}", spot.point);
            }
        }
        assert!(found > 200);
    }

    #[test]
    fn a_reading_is_what_the_light_says() {
        let soup = cuboid([-5.0, -5.0, 0.0], [5.0, 5.0, 10.0]);
        let mut products = products_of(&soup);
        let scheme = scheme(1.0);
        let made = draft(&scheme, None, &mut products, &Watch::quiet()).unwrap();
        let picker = Picker::new(ground_of(&soup, 1.0));
        let camera = Camera::fit(&picker.ground().mesh.bounds(), Side::Above, SIZE);
        let spot = picker.spot(camera.line([250.0, 250.0], SIZE), &FaceMask::All).unwrap();
        let top = reading(&spot, picker.ground(), &made, None);
        // An open level top gets all of each light (closed form), so the lightest value.
        assert!(top.lights.iter().all(|(_, e)| (e - 1.0).abs() < 1e-4), "{top:?}");
        assert!((top.lightness.0 - 95.0).abs() < 0.01);
        // ASTM D1535: L* 95 is about value 9.5.
        assert!((top.step - 9.5).abs() < 0.1, "{}", top.step);
        let camera = Camera::fit(&picker.ground().mesh.bounds(), Side::Front, SIZE);
        let spot = picker.spot(camera.line([250.0, 250.0], SIZE), &FaceMask::All).unwrap();
        let side = reading(&spot, picker.ground(), &made, None);
        assert!(side.lights[0].1.abs() < 1e-5 && side.lightness < top.lightness && side.band < top.band + 1);
        assert!(picker.spot(camera.line([1.0, 1.0], SIZE), &FaceMask::All).is_none());
    }
}

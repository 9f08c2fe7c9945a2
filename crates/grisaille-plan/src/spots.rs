//! Spots: a few thousand samples that stand for the figure, each for the same
//! area, so that many directions can be tried in a moment.

use grisaille_mesh::Part;
use grisaille_sight::{Samples, Surface};

/// How many areas the figure is cut into.
const SPOTS: usize = 4096;

/// Spots of a surface.
pub(crate) struct Spots {
    /// The samples, rising.
    pub(crate) sample: Vec<u32>,
    /// The share of the figure for which each stands; the sum is 1.
    pub(crate) share: Vec<f32>,
    /// A surface of these samples alone, without faces.
    pub(crate) surface: Surface,
}

impl Spots {
    /// Of the figure's painted and open surface, or of the base's where there
    /// is no figure. The samples stand in an order of neighbours, so that one
    /// step of equal area along them leads from place to place evenly.
    pub(crate) fn of(surface: &Surface, part_of_face: &[Part]) -> Self {
        let area = [&[Part::Figure][..], &[Part::Base]]
            .into_iter()
            .map(|parts| area_of(surface, part_of_face, parts))
            .find(|area| area.iter().any(|a| *a > 0.0))
            .unwrap_or_default();
        let all: f64 = area.iter().sum();
        let step = all / SPOTS as f64;
        let (mut sample, mut share) = (Vec::new(), Vec::new());
        let (mut passed, mut marks) = (0.0, 0_usize);
        for (i, a) in area.iter().enumerate() {
            passed += a;
            // Marks stand in the middle of the steps.
            let reached = ((passed / step + 0.5).floor() as usize).min(SPOTS);
            if reached > marks {
                sample.push(i as u32);
                share.push((reached - marks) as f32 / SPOTS as f32);
                marks = reached;
            }
        }
        let of = |i: &u32| *i as usize;
        let samples = Samples::new(
            sample.iter().map(|i| surface.samples.position[of(i)]).collect(),
            sample.iter().map(|i| surface.samples.normal[of(i)]).collect(),
            sample.iter().map(|i| surface.samples.origin[of(i)]).collect(),
            surface.samples.offset,
        );
        let surface = Surface {
            faces: Vec::new(),
            source_face: Vec::new(),
            piece: Vec::new(),
            samples,
            longest_edge: surface.longest_edge,
            // Another name than the whole surface's.
            fingerprint: surface.fingerprint ^ 0x5b07_5b07_5b07_5b07,
        };
        Self { sample, share, surface }
    }

    /// How many there are; 0 when nothing is painted.
    pub(crate) fn len(&self) -> usize {
        self.sample.len()
    }

    /// A field at the spots.
    pub(crate) fn pick(&self, field: &[f32]) -> Vec<f32> {
        self.sample.iter().map(|i| field[*i as usize]).collect()
    }
}

/// The area in mm² of these parts for which each sample stands; 0 where buried.
fn area_of(surface: &Surface, part_of_face: &[Part], parts: &[Part]) -> Vec<f64> {
    let mut area = vec![0.0; surface.samples.len()];
    for (f, face) in surface.faces.iter().enumerate() {
        if parts.contains(&part_of_face[f]) {
            let third = surface.face_area(f) / 3.0;
            for s in face.iter().filter(|s| !surface.samples.buried.get(**s as usize)) {
                area[*s as usize] += third;
            }
        }
    }
    area
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::neighbours::tests::{fine_cube, surface_of};
    use grisaille_base::Watch;

    #[test]
    fn equal_spots_stand_for_the_whole() {
        for n in [3, 40] {
            let surface = surface_of(&fine_cube(n), &Watch::quiet());
            let spots = Spots::of(&surface, &vec![Part::Figure; surface.faces.len()]);
            let all: f32 = spots.share.iter().sum();
            assert!((all - 1.0).abs() < 1e-5, "{all}");
            // Each of a cube's sides has a sixth of its surface, to one step
            // for each stretch of samples that a side is cut into.
            let up = spots.surface.samples.normal.iter().zip(&spots.share).filter(|(n, _)| n.z > 0.9);
            let top: f32 = up.map(|(_, s)| s).sum();
            assert!((top - 1.0 / 6.0).abs() < 0.01, "{n}: {top}");
        }
        let surface = surface_of(&fine_cube(3), &Watch::quiet());
        assert_eq!(Spots::of(&surface, &vec![Part::Underside; surface.faces.len()]).len(), 0);
    }
}

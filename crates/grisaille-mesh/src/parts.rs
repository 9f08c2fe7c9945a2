//! Base and underside, recognised from the shape so that they do not take
//! the figure's highlights.

use crate::mesh::{Bounds, Mesh, face_cross};
use crate::section::section;
use crate::sets::{find, unite};
use crate::supports::Supports;
use serde::Serialize;

/// What a face belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Part {
    /// The figure itself.
    Figure,
    /// The base that it stands on: painted, but never brightest.
    Base,
    /// Faces that the model stands on: not painted.
    Underside,
    /// Print supports and their raft: not painted, since they are cut off.
    Support,
}

impl Part {
    /// Whether a brush ever comes there.
    #[must_use]
    pub fn is_painted(self) -> bool {
        matches!(self, Self::Figure | Self::Base)
    }
}

/// The part of every face of a mesh.
#[derive(Clone, Debug, PartialEq)]
pub struct Parts {
    /// One for each face.
    pub of_face: Vec<Part>,
    /// The height of the base's top above the lowest point in mm, if a base was
    /// found: of its ground, where rocks or plants stand on it.
    pub base_top_mm: Option<f64>,
    /// The print supports that were looked past, or that are not sure enough for that.
    pub supports: Option<Supports>,
}

/// Slices the lowest third of the model is looked at in.
const SLICES: usize = 100;
/// Slices over which a bevelled rim or uneven ground may spread: 3 % of the height.
const STEP: usize = 9;

/// Recognises base and underside. Print supports that are sure are looked past, as if
/// they were cut off.
///
/// The underside is what faces down within 1 % of the height above the lowest
/// point. There is a base only if most of the underside's width is one patch:
/// a figure on its own two feet has none. It is looked for in two ways: a
/// piece of its own that carries the underside, spans more than half of the
/// model's footprint and less than a third of its height; or, in a fused
/// model, a plate: going up through the lowest third, the area of the level
/// cross-section falls from near its greatest to less than six tenths of it
/// within 3 % of the height, and never comes near it again. A bust narrows
/// too slowly for that, a body on feet widens again.
#[must_use]
pub fn parts(mesh: &Mesh, supports: Option<Supports>) -> Parts {
    let Some(sure) = supports.as_ref().filter(|s| s.is_sure()) else {
        return Parts { supports, ..parts_of(mesh, mesh.bounds(), &|_| false) };
    };
    let support = &sure.of_face;
    let own = mesh.faces().iter().zip(support).filter(|(_, s)| !**s).flat_map(|(f, _)| f);
    let bounds = Bounds::of(own.map(|v| &mesh.positions()[*v as usize]));
    let away = |f: usize| support[f];
    let mut parts = parts_of(mesh, bounds, &away);
    for (part, _) in parts.of_face.iter_mut().zip(support).filter(|(_, s)| **s) {
        *part = Part::Support;
    }
    Parts { supports, ..parts }
}

/// The parts of what is not `away`, which lies in a box.
fn parts_of(mesh: &Mesh, bounds: Bounds, away: &dyn Fn(usize) -> bool) -> Parts {
    let floor = f64::from(bounds.low[2]);
    let [width, depth, height] = bounds.extents();
    let mut of_face = vec![Part::Figure; mesh.faces().len()];
    let mut under_area = 0.0;
    let mut under_piece = vec![0.0; mesh.pieces().len()];
    for (f, &face) in mesh.faces().iter().enumerate() {
        let cross = face_cross(mesh.positions(), face);
        let top = top_of(mesh, face);
        if away(f) {
            continue;
        }
        if cross.z <= -0.7 * cross.norm() && top - floor <= 0.01 * height && cross.norm() > 0.0 {
            of_face[f] = Part::Underside;
            under_area -= 0.5 * cross.z;
            under_piece[mesh.piece_of_face()[f].index()] -= 0.5 * cross.z;
        }
    }
    let none = |of_face| Parts { of_face, base_top_mm: None, supports: None };
    // A hollow base stands on its rim alone: a twentieth is enough.
    if under_area < 0.05 * width * depth || height <= 0.0 || !one_patch(mesh, &of_face) {
        return none(of_face);
    }
    if let Some(piece) = base_piece(mesh, bounds, &under_piece) {
        let own = |f: usize| mesh.piece_of_face()[f].index() == piece && !away(f);
        for (f, part) in of_face.iter_mut().enumerate() {
            if *part == Part::Figure && own(f) {
                *part = Part::Base;
            }
        }
        let highest = f64::from(mesh.pieces()[piece].bounds.high[2]);
        let top = plate_top(mesh, floor, height, own).unwrap_or(highest);
        return Parts { of_face, base_top_mm: Some(top - floor), supports: None };
    }
    let Some(top) = plate_top(mesh, floor, height, |f| !away(f)) else {
        return none(of_face);
    };
    // A hair of tolerance keeps the base's own flat top with the base.
    let limit = top + 0.002 * height;
    for (part, &face) in of_face.iter_mut().zip(mesh.faces()) {
        if *part == Part::Figure && top_of(mesh, face) <= limit {
            *part = Part::Base;
        }
    }
    Parts { of_face, base_top_mm: Some(top - floor), supports: None }
}

/// Whether one connected patch of the underside spans at least four tenths of
/// the box round all of it.
fn one_patch(mesh: &Mesh, of_face: &[Part]) -> bool {
    let mut parent: Vec<u32> = (0..mesh.positions().len() as u32).collect();
    let under = || mesh.faces().iter().zip(of_face).filter(|(_, p)| **p == Part::Underside).map(|(f, _)| f);
    for face in under() {
        unite(&mut parent, face[0], face[1]);
        unite(&mut parent, face[0], face[2]);
    }
    let mut boxes = std::collections::BTreeMap::new();
    let mut all = Bounds::NOTHING;
    for v in under().flatten() {
        let p = &mesh.positions()[*v as usize];
        all.add(p);
        boxes.entry(find(&mut parent, *v)).or_insert(Bounds::NOTHING).add(p);
    }
    let flat = |b: &Bounds| b.extents()[0] * b.extents()[1];
    boxes.values().any(|b| flat(b) >= 0.4 * flat(&all))
}

fn top_of(mesh: &Mesh, face: [u32; 3]) -> f64 {
    face.iter().map(|&v| f64::from(mesh.positions()[v as usize].z)).fold(f64::NEG_INFINITY, f64::max)
}

/// The piece that is a base by itself, if one is.
fn base_piece(mesh: &Mesh, bounds: Bounds, under: &[f64]) -> Option<usize> {
    let all = bounds.extents();
    let base = (0..mesh.pieces().len()).max_by(|&a, &b| under[a].total_cmp(&under[b]).then(b.cmp(&a)))?;
    let own = mesh.pieces()[base].bounds.extents();
    let is_base = mesh.pieces().len() > 1 && own[2] < all[2] / 3.0 && own[0] * own[1] > 0.5 * all[0] * all[1];
    is_base.then_some(base)
}

/// The height at which the cross-section of some faces suddenly gets smaller.
fn plate_top(mesh: &Mesh, floor: f64, height: f64, of: impl Fn(usize) -> bool) -> Option<f64> {
    let slice = height / 3.0 / SLICES as f64;
    let areas = section_areas(mesh, floor, slice, &of);
    let mut greatest = 0.0_f64;
    let from = (0..SLICES - STEP).find(|&s| {
        greatest = greatest.max(areas[s]);
        let beyond = areas[s + STEP..].iter().fold(0.0_f64, |m, a| m.max(*a));
        greatest > 0.0
            && areas[s] >= 0.85 * greatest
            && areas[s + STEP] < 0.6 * greatest
            && beyond < 0.8 * greatest
    })?;
    let to = (from + 1..=from + STEP).find(|&s| areas[s] < 0.6 * greatest)?;
    // The top lies between the middles of two slices; faces that lie level
    // there give its exact height.
    let (low, high) = (floor + (to as f64 - 0.5) * slice, floor + (to as f64 + 0.5) * slice);
    let level = (0..mesh.faces().len())
        .filter(|f| of(*f))
        .map(|f| mesh.faces()[f])
        .filter(|&f| {
            let cross = face_cross(mesh.positions(), f);
            cross.z > 0.9 * cross.norm()
        })
        .map(|f| top_of(mesh, f))
        .filter(|z| (low..=high).contains(z))
        .fold(f64::NEG_INFINITY, f64::max);
    Some(if level.is_finite() { level } else { high })
}

/// The area of the level cross-section through the middle of each slice, in
/// mm²; what several pieces share counts several times.
fn section_areas(mesh: &Mesh, floor: f64, slice: f64, of: impl Fn(usize) -> bool) -> [f64; SLICES] {
    let mut areas = [0.0; SLICES];
    let [x, y, _] = mesh.bounds().centre();
    for (f, &face) in mesh.faces().iter().enumerate().filter(|(f, _)| of(*f)) {
        let corners = face.map(|v| mesh.positions()[v as usize].cast::<f64>());
        let low = corners.iter().map(|p| p.z).fold(f64::INFINITY, f64::min) - floor;
        let high = corners.iter().map(|p| p.z).fold(f64::NEG_INFINITY, f64::max) - floor;
        let outward = face_cross(mesh.positions(), mesh.faces()[f]);
        let first = ((low / slice - 0.5).max(0.0) as usize).min(SLICES);
        let last = ((high / slice) as usize + 1).min(SLICES);
        for (s, area) in areas.iter_mut().enumerate().take(last).skip(first) {
            let z = floor + (s as f64 + 0.5) * slice;
            if let Some(section) = section(&corners, &outward, z, [x, y]) {
                *area += section.area;
            }
        }
    }
    areas
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{ReadSettings, read};
    use grisaille_base::Watch;

    type Soup = Vec<[[f64; 3]; 3]>;

    /// A solid of revolution about an upright axis: radii at heights, in order,
    /// closed by discs at both ends.
    fn turned(profile: &[(f64, f64)], at: [f64; 2]) -> Soup {
        let n = 48;
        let ring = |(r, z): (f64, f64), i: usize| {
            let (s, c) = (std::f64::consts::TAU * (i % n) as f64 / n as f64).sin_cos();
            [at[0] + r * c, at[1] + r * s, z]
        };
        let mut soup = Soup::new();
        for i in 0..n {
            for w in profile.windows(2) {
                let (a, b, c, d) = (ring(w[0], i), ring(w[0], i + 1), ring(w[1], i + 1), ring(w[1], i));
                soup.extend([[a, b, c], [a, c, d]]);
            }
            let (first, last) = (profile[0], profile[profile.len() - 1]);
            soup.push([[at[0], at[1], first.1], ring(first, i + 1), ring(first, i)]);
            soup.push([[at[0], at[1], last.1], ring(last, i), ring(last, i + 1)]);
        }
        soup
    }

    fn parts_of(soup: &Soup) -> (Mesh, Parts) {
        let (mesh, _) =
            read(&grisaille_bodies::stl(soup), &ReadSettings::default(), &Watch::quiet()).unwrap();
        let parts = parts(&mesh, None);
        (mesh, parts)
    }

    fn top(soup: &Soup) -> Option<f64> {
        parts_of(soup).1.base_top_mm
    }

    fn is_about(top: Option<f64>, z: f64) -> bool {
        top.is_some_and(|t| (t - z).abs() < 0.15)
    }

    #[test]
    fn a_plate_under_a_figure_is_a_base_fused_or_not() {
        // Fused, with a straight rim, a bevelled rim, a wide robe, and a
        // shield that reaches over the rim higher up.
        let straight = turned(&[(12.5, 0.0), (12.5, 3.0), (3.0, 3.0), (2.5, 30.0)], [0.0; 2]);
        let bevelled = turned(&[(12.5, 0.0), (11.6, 2.6), (11.0, 3.0), (3.0, 3.0), (2.5, 30.0)], [0.0; 2]);
        let robe = turned(&[(12.5, 0.0), (12.5, 3.0), (9.0, 3.0), (6.0, 30.0)], [0.0; 2]);
        let shield = turned(&[(12.5, 0.0), (12.5, 3.0), (3.0, 3.0), (3.0, 13.0), (14.0, 14.0)], [0.0; 2]);
        for (i, soup) in [straight, bevelled, robe, shield].iter().enumerate() {
            assert!(is_about(top(soup), 3.0), "{i}: {:?}", top(soup));
        }
        let mut apart = turned(&[(12.5, 0.0), (12.5, 3.0)], [0.0; 2]);
        apart.extend(turned(&[(3.0, 2.9), (2.5, 30.0)], [0.0; 2]));
        let (mesh, parts) = parts_of(&apart);
        assert!(is_about(parts.base_top_mm, 3.0));
        for (face, part) in mesh.faces().iter().zip(&parts.of_face) {
            // The figure's own underside, sunk into the base, is still the figure.
            let figure = top_of(&mesh, *face) > 3.01
                || face.iter().all(|v| {
                    let p = mesh.positions()[*v as usize];
                    p.z > 2.8 && p.x.hypot(p.y) < 3.1
                });
            assert_eq!(*part == Part::Figure, figure);
        }
    }

    #[test]
    fn rocks_and_print_supports_do_not_lift_the_base() {
        // A base of its own piece with a tall rock on it: its ground counts.
        let mut scenic = turned(&[(12.5, 0.0), (12.5, 3.0), (4.0, 3.4), (2.0, 9.0)], [0.0; 2]);
        scenic.extend(turned(&[(2.0, 8.0), (2.5, 35.0)], [0.5, 0.0]));
        assert!(is_about(top(&scenic), 3.1), "{:?}", top(&scenic));
        // Thin supports that stand beside the base.
        let mut held = turned(&[(12.5, 0.0), (12.5, 3.0), (3.0, 3.0), (2.5, 30.0)], [0.0; 2]);
        for x in [-14.5, 14.5] {
            held.extend(turned(&[(0.5, 0.0), (0.4, 20.0)], [x, 3.0]));
        }
        assert!(is_about(top(&held), 3.0), "{:?}", top(&held));
        // Hollow underneath.
        let hollow = turned(
            &[(0.1, 2.0), (11.5, 2.0), (11.5, 0.0), (12.5, 0.0), (12.5, 3.0), (3.0, 3.0), (2.5, 30.0)],
            [0.0; 2],
        );
        assert!(is_about(top(&hollow), 3.0), "{:?}", top(&hollow));
    }

    #[test]
    fn what_has_no_base_is_all_figure() {
        let bust =
            turned(&[(9.0, 0.0), (10.0, 4.0), (7.0, 10.0), (4.0, 13.0), (6.0, 20.0), (3.0, 30.0)], [0.0; 2]);
        let ball = turned(&[(0.5, 0.0), (6.0, 2.0), (9.0, 9.0), (6.0, 16.0), (0.5, 18.0)], [0.0; 2]);
        let column = turned(&[(5.0, 0.0), (5.0, 30.0)], [0.0; 2]);
        // Two boots under a body.
        let mut feet = turned(&[(2.5, 0.0), (2.5, 2.0), (1.5, 2.2), (1.5, 12.0)], [-4.0, 0.0]);
        feet.extend(turned(&[(2.5, 0.0), (2.5, 2.0), (1.5, 2.2), (1.5, 12.0)], [4.0, 0.0]));
        feet.extend(turned(&[(5.5, 11.0), (4.0, 30.0)], [0.0; 2]));
        // One broad foot under a body that is wider still.
        let goblet =
            turned(&[(6.0, 0.0), (6.0, 1.0), (1.5, 1.5), (1.5, 6.0), (8.0, 9.0), (8.0, 30.0)], [0.0; 2]);
        for (i, soup) in [bust, ball, column, feet, goblet].iter().enumerate() {
            let (_, parts) = parts_of(soup);
            assert_eq!(parts.base_top_mm, None, "{i}");
            assert!(!parts.of_face.contains(&Part::Base), "{i}");
        }
    }
}

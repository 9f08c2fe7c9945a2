//! Which way a figure stood before it was tilted for printing, told by the flat underside
//! of its base.

use crate::mesh::{Bounds, Mesh, face_cross};
use crate::supports::Supports;
use nalgebra::Vector3;
use std::collections::BTreeMap;

/// A tilt, and how to undo it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Upright {
    /// The direction in the file that would point down: a unit vector, to be given as
    /// [`crate::ReadSettings::down`].
    pub down: [f64; 3],
    /// By how much it is tilted, in degrees.
    pub degrees: f64,
    /// The flat area that it would stand on, in mm².
    pub area_mm2: f64,
    /// How sure it is that this is the base: 0 to 1.
    pub confidence: f64,
}

/// Bins of directions along each side of the map of all of them.
const BINS: f64 = 48.0;
/// Flat sides that are looked at, the largest.
const SIDES: usize = 24;
/// What counts as one plane: this share of the diagonal.
const FLAT: f64 = 0.004;
/// Its faces may differ from it by this cosine: 4°.
const ALIKE: f64 = 0.9976;
/// Less of a tilt is none, in degrees.
const LEAST: f64 = 1.0;
/// More of a tilt is none for printing, in degrees.
const MOST: f64 = 80.0;
/// Less sure than this is not said.
const SURE: f64 = 0.55;
/// A base is at least this share of the diagonal's square. The rim of a hollow one, 2 mm
/// wide, is 0.05 of a figure of 45 mm.
const BASE: f64 = 0.02;

/// What may reach beyond a base, as a share of the surface: stumps of supports, the point of a
/// sword.
const BEYOND: f64 = 0.03;

/// Looks for the side that the figure stood on: flat, large, and with all but a little of the figure on
/// one side of it. Nothing where there is none, or it points down already. Sure print
/// supports are looked past.
#[must_use]
pub fn upright(mesh: &Mesh, supports: Option<&Supports>) -> Option<Upright> {
    let support = supports.filter(|s| s.is_sure()).map(|s| &s.of_face);
    let own: Vec<[u32; 3]> =
        (0..mesh.faces().len()).filter(|f| support.is_none_or(|s| !s[*f])).map(|f| mesh.faces()[f]).collect();
    let diagonal = Bounds::of(own.iter().flatten().map(|v| &mesh.positions()[*v as usize])).diagonal();
    let sides = sides(mesh, &own);
    let down = -Vector3::z();
    let found: Vec<(Vector3<f64>, f64)> = sides
        .into_iter()
        .filter(|n| n.dot(&down) > MOST.to_radians().cos())
        .filter_map(|n| stood_on(mesh, &own, n, FLAT * diagonal))
        .collect();
    let (best, area) = found.iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
    let degrees = best.dot(&down).clamp(-1.0, 1.0).acos().to_degrees();
    // What stands on a side nearly as large as the largest stands well.
    let stands = found.iter().any(|(n, a)| n.dot(&down) > LEAST.to_radians().cos() && *a > 0.4 * area);
    let share = area / (diagonal * diagonal);
    if degrees < LEAST || stands || share < BASE {
        return None;
    }
    let others = found.iter().filter(|(n, _)| n.dot(best) < ALIKE).map(|f| f.1).fold(0.0, f64::max);
    // Twice as large as any other flat side is as good as it gets.
    let confidence = (share / (1.5 * BASE)).min(1.0) * (1.5 - others / area).clamp(0.0, 1.0);
    (confidence >= SURE).then_some(Upright { down: (*best).into(), degrees, area_mm2: *area, confidence })
}

/// The directions that most of the surface faces, as unit vectors, those of the largest area first.
fn sides(mesh: &Mesh, faces: &[[u32; 3]]) -> Vec<Vector3<f64>> {
    let mut bins: BTreeMap<[i32; 2], Vector3<f64>> = BTreeMap::new();
    for face in faces {
        let cross = 0.5 * face_cross(mesh.positions(), *face);
        let sum = cross.x.abs() + cross.y.abs() + cross.z.abs();
        if sum > 0.0 {
            *bins.entry(bin(cross / sum)).or_insert_with(Vector3::zeros) += cross;
        }
    }
    let mut sides: Vec<Vector3<f64>> = bins.into_values().collect();
    sides.sort_by(|a, b| b.norm().total_cmp(&a.norm()));
    sides.truncate(SIDES);
    sides.into_iter().filter_map(|n| n.try_normalize(0.0)).collect()
}

/// Directions unfolded from an octahedron onto a square (Meyer et al., Computer Graphics Forum
/// 29(4), 2010).
fn bin(n: Vector3<f64>) -> [i32; 2] {
    let flat = if n.z >= 0.0 {
        [n.x, n.y]
    } else {
        [(1.0 - n.y.abs()).copysign(n.x), (1.0 - n.x.abs()).copysign(n.y)]
    };
    flat.map(|x| (0.5 * (x + 1.0) * BINS).floor() as i32)
}

/// The plane that a figure would stand on if it stood on this side: its outward normal, and
/// the area that lies in it.
fn stood_on(mesh: &Mesh, faces: &[[u32; 3]], side: Vector3<f64>, flat: f64) -> Option<(Vector3<f64>, f64)> {
    let mut normal = side;
    let mut area = 0.0;
    // From the middle of a bin to the plane itself; a wide tolerance first.
    for (wide, alike) in [(4.0, 0.985), (2.0, ALIKE), (1.0, ALIKE), (1.0, ALIKE)] {
        let width = wide * flat;
        let out = |v: u32| mesh.positions()[v as usize].cast::<f64>().coords.dot(&normal);
        // What looks that way, from the outermost.
        let mut alike: Vec<(f64, Vector3<f64>)> = faces
            .iter()
            .filter_map(|face| {
                let cross = 0.5 * face_cross(mesh.positions(), *face);
                let depth = face.iter().map(|v| out(*v)).fold(f64::INFINITY, f64::min);
                (cross.dot(&normal) > alike * cross.norm()).then_some((depth, cross))
            })
            .collect();
        alike.sort_by(|a, b| b.0.total_cmp(&a.0));
        let depth = outermost(&alike, width)?;
        let (mut all, mut beyond) = (0.0, 0.0);
        for face in faces {
            let own = 0.5 * face_cross(mesh.positions(), *face).norm();
            all += own;
            beyond += if face.iter().any(|v| out(*v) > depth + 2.0 * width) { own } else { 0.0 };
        }
        if beyond > BEYOND * all {
            return None;
        }
        let lies = alike.iter().filter(|a| a.0 >= depth && a.0 <= depth + width);
        let sum = lies.map(|a| a.1).sum::<Vector3<f64>>();
        area = sum.norm();
        normal = sum.try_normalize(0.0)?;
    }
    Some((normal, area))
}

/// How deep the outermost plane lies of which there is much: areas by how far out they lie, from
/// the outermost. The roof of a hollow base may be larger than its rim.
fn outermost(alike: &[(f64, Vector3<f64>)], width: f64) -> Option<f64> {
    let mut planes: Vec<(f64, f64)> = Vec::with_capacity(alike.len());
    let (mut from, mut within) = (0, 0.0);
    for (depth, cross) in alike {
        within += cross.norm();
        while alike[from].0 - depth > width {
            within -= alike[from].1.norm();
            from += 1;
        }
        planes.push((*depth, within));
    }
    let most = planes.iter().map(|p| p.1).fold(0.0, f64::max);
    let first = planes.iter().position(|p| p.1 >= 0.25 * most)?;
    // And as much of it as the tolerance holds.
    let last = planes[first..].iter().take_while(|p| planes[first].0 - p.0 <= 0.5 * width).last()?;
    Some(last.0)
}

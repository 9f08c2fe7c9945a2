//! Edges split until none is longer than the sample spacing.
//!
//! Between rounds of splitting, coplanar pairs are flipped toward Delaunay
//! again: halving alone would keep the sharp corners of a long thin triangle.
//! Every edge is split by its own two ends alone, so all faces on it agree and
//! no seam opens, whatever number of faces meet there.

use crate::flip::{Planes, flip_toward_delaunay};
use grisaille_base::{Stop, Watch};
use grisaille_mesh::face_cross;
use nalgebra::{Point3, Vector3};
use rayon::prelude::*;

/// A triangle list under refinement.
pub(crate) struct Refined {
    pub(crate) positions: Vec<Point3<f32>>,
    pub(crate) faces: Vec<[u32; 3]>,
    /// The face before splitting that each face lies in.
    pub(crate) source: Vec<u32>,
    /// The longest edge left in mm.
    pub(crate) longest: f64,
    /// Whether the cap stopped the work before `spacing` was reached.
    pub(crate) capped: bool,
}

/// Splits longest edges first, so that a cap leaves an even surface.
/// `flatness` in mm is how far apart two planes may be that count as one.
pub(crate) fn split(
    positions: Vec<Point3<f32>>,
    faces: Vec<[u32; 3]>,
    spacing: f64,
    flatness: f64,
    cap: usize,
    watch: &Watch,
) -> Result<Refined, Stop> {
    let source = (0..faces.len() as u32).collect();
    let normal: Vec<Option<Vector3<f64>>> =
        faces.iter().map(|f| face_cross(&positions, *f).try_normalize(0.0)).collect();
    let mut r = Refined { positions, faces, source, longest: 0.0, capped: false };
    // Outlines and creases first: once they carry their points, flipping finds
    // a better net for the plane between them than halving its first diagonals.
    let mut outlines_only = true;
    loop {
        watch.check()?;
        let planes = Planes { source: &r.source, normal: &normal, flatness };
        // Edges far shorter than the spacing gain nothing from a flip.
        let inside = flip_toward_delaunay(&r.positions, &mut r.faces, spacing / 4.0, &planes, watch)?;
        let ends = |half: usize| {
            let face = r.faces[half / 3];
            ordered(face[half % 3], face[(half % 3 + 1) % 3])
        };
        let measured: Vec<(f64, (u32, u32))> = (0..inside.len())
            .into_par_iter()
            .filter(|half| !(outlines_only && inside[*half]))
            .map(|half| (length(&r.positions, ends(half).0, ends(half).1), ends(half)))
            .filter(|(length, _)| *length > spacing)
            .collect();
        if measured.is_empty() {
            if !outlines_only {
                r.longest = (0..inside.len())
                    .into_par_iter()
                    .map(|half| length(&r.positions, ends(half).0, ends(half).1))
                    .reduce(|| 0.0, f64::max);
                return Ok(r);
            }
            outlines_only = false;
            continue;
        }
        r.longest = measured.iter().map(|(length, _)| *length).fold(0.0, f64::max);
        // Edges above half the longest go in this round; a hair is taken off
        // so that rounding cannot leave the round without work.
        let limit = spacing.max(0.5 * r.longest * (1.0 - 1e-6));
        let mut marked: Vec<(u32, u32)> =
            measured.into_iter().filter(|(length, _)| *length > limit).map(|(_, ends)| ends).collect();
        marked.par_sort_unstable();
        marked.dedup();
        if r.positions.len() + marked.len() > cap.min(u32::MAX as usize / 8) {
            r.capped = true;
            return Ok(r);
        }
        let first = r.positions.len() as u32;
        let middles: Vec<Point3<f32>> = marked.par_iter().map(|&(a, b)| middle(&r.positions, a, b)).collect();
        r.positions.extend(middles);
        let middle_of = |a: u32, b: u32| marked.binary_search(&ordered(a, b)).ok().map(|i| first + i as u32);
        let parts: Vec<Parts> = r.faces.par_iter().map(|f| cut(&r.positions, *f, &middle_of)).collect();
        let mut faces = Vec::with_capacity(r.faces.len() + 2 * marked.len());
        let mut source = Vec::with_capacity(faces.capacity());
        for (parts, from) in parts.iter().zip(&r.source) {
            faces.extend_from_slice(&parts.faces[..parts.count]);
            source.extend(std::iter::repeat_n(*from, parts.count));
        }
        r.faces = faces;
        r.source = source;
    }
}

fn ordered(a: u32, b: u32) -> (u32, u32) {
    (a.min(b), a.max(b))
}

fn length(positions: &[Point3<f32>], a: u32, b: u32) -> f64 {
    (positions[a as usize].cast::<f64>() - positions[b as usize].cast::<f64>()).norm()
}

fn middle(positions: &[Point3<f32>], a: u32, b: u32) -> Point3<f32> {
    nalgebra::center(&positions[a as usize].cast::<f64>(), &positions[b as usize].cast::<f64>()).cast()
}

/// One to four triangles.
struct Parts {
    faces: [[u32; 3]; 4],
    count: usize,
}

fn cut(positions: &[Point3<f32>], f: [u32; 3], middle_of: &impl Fn(u32, u32) -> Option<u32>) -> Parts {
    let m = [0, 1, 2].map(|c| middle_of(f[c], f[(c + 1) % 3]));
    let parts = |list: &[[u32; 3]]| {
        let mut faces = [[0; 3]; 4];
        faces[..list.len()].copy_from_slice(list);
        Parts { faces, count: list.len() }
    };
    // Turned so that the pattern is always met the same way.
    for c in 0..3 {
        let [a, b, d] = [0, 1, 2].map(|i| f[(c + i) % 3]);
        match [0, 1, 2].map(|i| m[(c + i) % 3]) {
            [Some(ab), Some(bd), Some(da)] => {
                return parts(&[[a, ab, da], [ab, b, bd], [da, bd, d], [ab, bd, da]]);
            }
            [Some(ab), None, None] => return parts(&[[a, ab, d], [ab, b, d]]),
            [Some(ab), Some(bd), None] => {
                // The rest is a quadrilateral; its shorter diagonal is taken.
                return if length(positions, ab, d) <= length(positions, a, bd) {
                    parts(&[[ab, b, bd], [a, ab, d], [ab, bd, d]])
                } else {
                    parts(&[[ab, b, bd], [a, ab, bd], [a, bd, d]])
                };
            }
            _ => {}
        }
    }
    parts(&[f])
}

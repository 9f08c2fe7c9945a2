//! Edges split until none is longer than the sample spacing.
//!
//! Every edge is split by its own two ends alone, so all faces on it agree and
//! no seam opens, whatever number of faces meet there.

use grisaille_base::{Stop, Watch};
use nalgebra::Point3;
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
pub(crate) fn split(
    positions: Vec<Point3<f32>>,
    faces: Vec<[u32; 3]>,
    spacing: f64,
    cap: usize,
    watch: &Watch,
) -> Result<Refined, Stop> {
    let source = (0..faces.len() as u32).collect();
    let mut r = Refined { positions, faces, source, longest: 0.0, capped: false };
    loop {
        watch.check()?;
        r.longest = r
            .faces
            .par_iter()
            .map(|f| (0..3).map(|c| length(&r.positions, f[c], f[(c + 1) % 3])).fold(0.0, f64::max))
            .reduce(|| 0.0, f64::max);
        if r.longest <= spacing {
            return Ok(r);
        }
        // Edges above half the longest go in this round; a hair is taken off
        // so that rounding cannot leave the round without work.
        let limit = spacing.max(0.5 * r.longest * (1.0 - 1e-6));
        let mut marked: Vec<(u32, u32)> = r
            .faces
            .par_iter()
            .flat_map_iter(|f| (0..3).map(move |c| ordered(f[c], f[(c + 1) % 3])))
            .filter(|&(a, b)| length(&r.positions, a, b) > limit)
            .collect();
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

//! Zero-area faces, dissolved by flipping their long edge.
//!
//! Dropping such a face would open a seam: its middle corner lies on the long
//! edge of its neighbour, where nothing would hold it any more.

use crate::edge::{NO_TWIN, twins};
use crate::mesh::is_flat;
use grisaille_base::PieceId;
use nalgebra::Point3;

/// How many faces were dissolved and how many could not be.
pub(crate) struct Dissolved {
    pub(crate) dissolved: u64,
    pub(crate) kept: u64,
    /// A corner of the first one met.
    pub(crate) place: Option<[f32; 3]>,
}

/// Dissolves in place. The outline and the shape stay as they are; the number
/// of faces shrinks only at open edges.
pub(crate) fn dissolve(
    positions: &[Point3<f32>],
    faces: &mut Vec<[u32; 3]>,
    piece_of_face: &mut Vec<PieceId>,
) -> Dissolved {
    let mut result = Dissolved { dissolved: 0, kept: 0, place: None };
    // Rows of zero-area faces lean on each other, so a few rounds are needed;
    // each round dissolves at least one face or is the last.
    loop {
        let flat: Vec<usize> = (0..faces.len()).filter(|&f| is_flat(positions, faces[f])).collect();
        if let Some(&f) = flat.first() {
            result.place.get_or_insert(positions[faces[f][0] as usize].into());
        }
        result.kept = flat.len() as u64;
        if flat.is_empty() {
            return result;
        }
        let before = faces.len();
        let turned = round(positions, faces, &flat);
        let mut at = 0;
        piece_of_face.retain(|_| {
            at += 1;
            faces[at - 1][0] != u32::MAX
        });
        faces.retain(|f| f[0] != u32::MAX);
        let progress = turned + (before - faces.len()) as u64;
        result.dissolved += progress;
        if progress == 0 {
            return result;
        }
    }
}

/// One round: each zero-area face at most once, each neighbour at most once.
/// A face to be removed is marked with `u32::MAX`. Returns the flips made.
fn round(positions: &[Point3<f32>], faces: &mut [[u32; 3]], flat: &[usize]) -> u64 {
    let twin = twins(faces);
    let mut touched = vec![false; faces.len()];
    let mut flips = 0;
    for &f in flat {
        let long = longest_edge(positions, faces[f]);
        let half = 3 * f + long;
        if touched[f] {
            continue;
        }
        if twin[half] == NO_TWIN {
            // An open or many-faced edge: an open one can simply go.
            if twin_is_open(faces, half) {
                faces[f] = [u32::MAX; 3];
                touched[f] = true;
            }
            continue;
        }
        let g = twin[half] as usize / 3;
        if touched[g] || g == f {
            continue;
        }
        let a = faces[f][long];
        let b = faces[f][(long + 1) % 3];
        let c = faces[f][(long + 2) % 3];
        let d = faces[g][(twin[half] as usize % 3 + 2) % 3];
        // The neighbour is flat too and folded onto the same corner, or the new
        // edge is there already: flipping would tie a knot.
        if c == d || has_edge(faces, &twin, c, d, f) {
            continue;
        }
        let (one, two) = ([a, d, c], [d, b, c]);
        let flat = |face: [u32; 3]| u8::from(is_flat(positions, face));
        // Fewer flat faces after than before, so the rounds come to an end. A
        // needle whose two far corners nearly coincide stays: no flip mends it.
        if flat(one) + flat(two) >= flat(faces[f]) + flat(faces[g]) {
            continue;
        }
        faces[f] = one;
        faces[g] = two;
        touched[f] = true;
        touched[g] = true;
        flips += 1;
    }
    flips
}

fn longest_edge(positions: &[Point3<f32>], f: [u32; 3]) -> usize {
    let length = |c: usize| {
        (positions[f[(c + 1) % 3] as usize].cast::<f64>() - positions[f[c] as usize].cast::<f64>())
            .norm_squared()
    };
    (0..3).max_by(|&x, &y| length(x).total_cmp(&length(y))).unwrap_or(0)
}

fn twin_is_open(faces: &[[u32; 3]], half: usize) -> bool {
    let (a, b) = (faces[half / 3][half % 3], faces[half / 3][(half % 3 + 1) % 3]);
    // Rare, so a plain look through all faces will do.
    faces.iter().filter(|f| f[0] != u32::MAX && f.contains(&a) && f.contains(&b)).count() == 1
}

/// Whether an edge between `c` and `d` exists, walking round `c` from face `f`.
fn has_edge(faces: &[[u32; 3]], twin: &[u32], c: u32, d: u32, f: usize) -> bool {
    let mut at = f;
    for _ in 0..1024 {
        let Some(corner) = faces[at].iter().position(|&v| v == c) else { return true };
        if faces[at].contains(&d) {
            return true;
        }
        let next = twin[3 * at + corner];
        if next == NO_TWIN {
            return false;
        }
        at = next as usize / 3;
        if at == f {
            return false;
        }
    }
    true
}

//! Edges: which half-edges lie on the same pair of vertices.
//!
//! Half-edge `3·f + c` runs from corner `c` of face `f` to the next corner.

use rayon::prelude::*;

/// Marks a half-edge without exactly one opposite partner.
pub const NO_TWIN: u32 = u32::MAX;

/// One undirected edge with all half-edges on it.
pub(crate) struct Edges {
    /// Half-edges, grouped by edge; `(lower vertex, higher vertex, half-edge · 2 + forward)`.
    sorted: Vec<(u32, u32, u32)>,
}

/// A half-edge of a group: its index and whether it runs from the lower vertex.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct Half {
    pub(crate) index: u32,
    pub(crate) forward: bool,
}

impl Half {
    pub(crate) fn face(self) -> usize {
        self.index as usize / 3
    }
}

/// Groups the half-edges of `faces`.
pub(crate) fn edges(faces: &[[u32; 3]]) -> Edges {
    let mut sorted: Vec<(u32, u32, u32)> = faces
        .par_iter()
        .enumerate()
        .flat_map_iter(|(f, v)| {
            (0..3).map(move |c| {
                let (a, b) = (v[c], v[(c + 1) % 3]);
                let half = (3 * f + c) as u32;
                if a < b { (a, b, half << 1 | 1) } else { (b, a, half << 1) }
            })
        })
        .collect();
    sorted.par_sort_unstable();
    Edges { sorted }
}

impl Edges {
    /// Every edge's half-edges, edges in order of their vertices.
    pub(crate) fn groups(
        &self,
    ) -> impl Iterator<Item = impl ExactSizeIterator<Item = Half> + Clone + '_> + '_ {
        self.sorted.chunk_by(|x, y| (x.0, x.1) == (y.0, y.1)).map(|group| {
            group.iter().map(|&(_, _, packed)| Half { index: packed >> 1, forward: packed & 1 == 1 })
        })
    }
}

/// For each half-edge its opposite partner, or [`NO_TWIN`] at an open edge,
/// at an edge of more than two faces, and where two faces disagree in winding.
/// Length 3 × faces.
#[must_use]
pub fn twins(faces: &[[u32; 3]]) -> Vec<u32> {
    let mut twin = vec![NO_TWIN; 3 * faces.len()];
    for mut group in edges(faces).groups() {
        if group.len() == 2
            && let (Some(a), Some(b)) = (group.next(), group.next())
            && a.forward != b.forward
        {
            twin[a.index as usize] = b.index;
            twin[b.index as usize] = a.index;
        }
    }
    twin
}

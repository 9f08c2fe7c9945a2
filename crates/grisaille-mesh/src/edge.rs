//! Edges: which half-edges lie on the same pair of vertices.
//!
//! Half-edge `3·f + c` runs from corner `c` of face `f` to the next corner.

use crate::deal::dealt;
use rayon::prelude::*;

/// Marks a half-edge without exactly one opposite partner.
pub const NO_TWIN: u32 = u32::MAX;

/// How many vertices are sorted out at a time.
const STRETCH: usize = 4096;

/// All half-edges, grouped by edge.
pub(crate) struct Edges {
    /// Where in `halves` those begin whose lower vertex it is; one more at the end.
    begin: Vec<u32>,
    /// `(higher vertex, half-edge · 2 + forward)`, in order at each lower vertex.
    halves: Vec<(u32, u32)>,
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

/// Groups the half-edges of `faces`: dealt out to their lower vertices, then
/// each of those few put in order, which takes time in proportion to the faces.
pub(crate) fn edges(faces: &[[u32; 3]]) -> Edges {
    let vertices = faces.par_iter().flatten_iter().max().map_or(0, |v| *v as usize + 1);
    let (begin, mut halves) = dealt(faces, vertices, (0, 0), |f, v| {
        [0, 1, 2].map(|c| {
            let (a, b) = (v[c], v[(c + 1) % 3]);
            let half = (3 * f + c) as u32;
            if a < b { (a, (b, half << 1 | 1)) } else { (b, (a, half << 1)) }
        })
    });
    // A stretch of vertices at a time, side by side.
    let mut stretches = Vec::new();
    let mut rest = halves.as_mut_slice();
    for first in (0..vertices).step_by(STRETCH) {
        let ends = &begin[first..=(first + STRETCH).min(vertices)];
        let (own, others) = rest.split_at_mut((ends[ends.len() - 1] - ends[0]) as usize);
        stretches.push((ends, own));
        rest = others;
    }
    stretches.into_par_iter().for_each(|(ends, own)| {
        for vertex in ends.windows(2) {
            let [from, to] = [vertex[0], vertex[1]].map(|at| (at - ends[0]) as usize);
            own[from..to].sort_unstable();
        }
    });
    Edges { begin, halves }
}

impl Edges {
    /// Every edge's half-edges, edges in order of their vertices.
    pub(crate) fn groups(
        &self,
    ) -> impl Iterator<Item = impl ExactSizeIterator<Item = Half> + Clone + '_> + '_ {
        self.begin.windows(2).flat_map(|ends| {
            self.halves[ends[0] as usize..ends[1] as usize].chunk_by(|x, y| x.0 == y.0).map(|group| {
                group.iter().map(|&(_, packed)| Half { index: packed >> 1, forward: packed & 1 == 1 })
            })
        })
    }
}

/// For each half-edge its opposite partner, or [`NO_TWIN`] at an open edge,
/// at an edge of more than two faces, and where two faces disagree in winding.
/// Length 3 × faces.
#[must_use]
pub fn twins(faces: &[[u32; 3]]) -> Vec<u32> {
    twins_of(faces, &edges(faces))
}

/// What [`twins`] gives, of edges that are known already.
pub(crate) fn twins_of(faces: &[[u32; 3]], edges: &Edges) -> Vec<u32> {
    let mut twin = vec![NO_TWIN; 3 * faces.len()];
    for mut group in edges.groups() {
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

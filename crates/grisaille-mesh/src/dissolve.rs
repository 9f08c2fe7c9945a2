//! Zero-area faces, dissolved by flipping their long edge.
//!
//! Dropping such a face would open a seam: its middle corner lies on the long
//! edge of its neighbour, where nothing would hold it any more.

use crate::edge::{Edges, NO_TWIN, twins_of};
use crate::mesh::is_flat;
use nalgebra::Point3;
use std::collections::VecDeque;

/// How many faces were dissolved and how many could not be.
pub(crate) struct Dissolved {
    pub(crate) dissolved: u64,
    pub(crate) kept: u64,
    /// A corner of the first one met.
    pub(crate) place: Option<[f32; 3]>,
    /// Of each face that there was, whether it is gone; its row is left as it was.
    pub(crate) gone: Vec<bool>,
}

/// The faces while they are being changed: a face's three half-edges always
/// name those across from them.
struct Net<'a> {
    positions: &'a [Point3<f32>],
    faces: &'a mut [[u32; 3]],
    mark_of_face: &'a mut [u32],
    /// Across each half-edge; [`NO_TWIN`] where there is none or more than one.
    twin: Vec<u32>,
    /// Half-edges that no other face meets.
    open: Vec<bool>,
    gone: Vec<bool>,
}

/// Dissolves in place. The outline and the shape stay as they are; the number
/// of faces shrinks only at open edges.
///
/// Rows of such faces lean on each other: one that cannot be dissolved yet is
/// looked at again when a face beside it has changed. Every flip leaves fewer
/// of them than before, so this ends.
pub(crate) fn dissolve(
    positions: &[Point3<f32>],
    faces: &mut [[u32; 3]],
    mark_of_face: &mut [u32],
    edges: &Edges,
) -> Dissolved {
    let flat: Vec<u32> = (0..faces.len() as u32).filter(|&f| is_flat(positions, faces[f as usize])).collect();
    let place = flat.first().map(|&f| positions[faces[f as usize][0] as usize].into());
    let mut open = vec![false; 3 * faces.len()];
    for mut group in edges.groups() {
        if group.len() == 1
            && let Some(half) = group.next()
        {
            open[half.index as usize] = true;
        }
    }
    let twin = twins_of(faces, edges);
    let gone = vec![false; faces.len()];
    let mut net = Net { positions, faces, mark_of_face, twin, open, gone };
    let mut waiting: VecDeque<u32> = flat.iter().copied().collect();
    let mut is_waiting = vec![false; net.faces.len()];
    for f in &flat {
        is_waiting[*f as usize] = true;
    }
    let mut dissolved = 0;
    while let Some(f) = waiting.pop_front() {
        let f = f as usize;
        is_waiting[f] = false;
        if net.gone[f] || !is_flat(positions, net.faces[f]) {
            continue;
        }
        let Some(changed) = net.dissolve_one(f) else { continue };
        dissolved += 1;
        for g in changed {
            let again = !net.gone[g] && !is_waiting[g] && is_flat(positions, net.faces[g]);
            if again {
                is_waiting[g] = true;
                waiting.push_back(g as u32);
            }
        }
    }
    let kept = (0..net.faces.len()).filter(|&f| !net.gone[f] && is_flat(positions, net.faces[f])).count();
    Dissolved { dissolved, kept: kept as u64, place, gone: net.gone }
}

impl Net<'_> {
    /// Dissolves a face, if that can be done now. Gives the faces whose
    /// neighbourhood has changed.
    fn dissolve_one(&mut self, f: usize) -> Option<Vec<usize>> {
        let long = self.longest_edge(f);
        let half = 3 * f + long;
        if self.open[half] {
            // Nothing hangs on it: it can simply go.
            self.gone[f] = true;
            let mut changed = Vec::new();
            for side in 3 * f..3 * f + 3 {
                let across = self.twin[side];
                if across != NO_TWIN {
                    self.twin[across as usize] = NO_TWIN;
                    self.open[across as usize] = true;
                    changed.push(across as usize / 3);
                }
            }
            return Some(changed);
        }
        let across = self.twin[half];
        if across == NO_TWIN {
            return None;
        }
        let (g, side) = (across as usize / 3, across as usize % 3);
        let [a, b, c] = [0, 1, 2].map(|i| self.faces[f][(long + i) % 3]);
        let d = self.faces[g][(side + 2) % 3];
        // The neighbour is flat too and folded onto the same corner, or the new
        // edge is there already: flipping would tie a knot.
        if g == f || c == d || self.has_edge(c, d, f) {
            return None;
        }
        let (one, two) = ([a, d, c], [d, b, c]);
        let flat = |face: [u32; 3]| u8::from(is_flat(self.positions, face));
        // A needle whose two far corners nearly coincide stays: no flip mends it.
        if flat(one) + flat(two) >= flat(self.faces[f]) + flat(self.faces[g]) {
            return None;
        }
        // f was a→b→c, g was b→a→d.
        let [bc, ca] = [1, 2].map(|i| 3 * f + (long + i) % 3);
        let [ad, db] = [1, 2].map(|i| 3 * g + (side + i) % 3);
        let outer = [bc, ca, ad, db].map(|h| (self.twin[h], self.open[h]));
        self.faces[f] = one;
        self.faces[g] = two;
        // Both are parts of what the neighbour was.
        if let Some(&mark) = self.mark_of_face.get(g) {
            self.mark_of_face[f] = mark;
        }
        // f is now a→d, d→c, c→a; g is d→b, b→c, c→d.
        let places = [3 * g + 1, 3 * f + 2, 3 * f, 3 * g];
        for (place, (twin, open)) in places.into_iter().zip(outer) {
            self.twin[place] = twin;
            self.open[place] = open;
        }
        // None of the four lies across from another, as a, b, c and d are different.
        for place in places {
            let partner = self.twin[place];
            if partner != NO_TWIN {
                self.twin[partner as usize] = place as u32;
            }
        }
        for (x, y) in [(3 * f + 1, 3 * g + 2), (3 * g + 2, 3 * f + 1)] {
            self.twin[x] = y as u32;
            self.open[x] = false;
        }
        let mut changed = vec![f, g];
        changed.extend(
            places.into_iter().map(|h| self.twin[h]).filter(|t| *t != NO_TWIN).map(|t| t as usize / 3),
        );
        Some(changed)
    }

    fn longest_edge(&self, f: usize) -> usize {
        let f = self.faces[f];
        let length = |c: usize| {
            (self.positions[f[(c + 1) % 3] as usize].cast::<f64>()
                - self.positions[f[c] as usize].cast::<f64>())
            .norm_squared()
        };
        (0..3).max_by(|&x, &y| length(x).total_cmp(&length(y))).unwrap_or(0)
    }

    /// Whether an edge between `c` and `d` exists, walking round `c` from face `f`.
    fn has_edge(&self, c: u32, d: u32, f: usize) -> bool {
        let mut at = f;
        for _ in 0..1024 {
            let Some(corner) = self.faces[at].iter().position(|&v| v == c) else { return true };
            if self.faces[at].contains(&d) {
                return true;
            }
            let next = self.twin[3 * at + corner];
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
}

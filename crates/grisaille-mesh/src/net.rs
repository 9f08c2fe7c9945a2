//! Faces with their neighbours, and the two moves on them: flip an edge, split an edge.
//!
//! Half-edge `3·f + c` runs from corner `c` of face `f` to the next corner.

use crate::edge::{NO_TWIN, twins};

/// A triangle net that knows its neighbours.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Net {
    /// Faces as indices of vertices.
    pub faces: Vec<[u32; 3]>,
    /// For each face the face before refining that it lies in.
    pub source: Vec<u32>,
    /// For each half-edge its partner, or [`NO_TWIN`].
    pub twin: Vec<u32>,
}

impl Net {
    /// The net of some faces; `source` has a number for each.
    #[must_use]
    pub fn new(faces: Vec<[u32; 3]>, source: Vec<u32>) -> Self {
        let twin = twins(&faces);
        Self { faces, source, twin }
    }

    /// The vertex where a half-edge begins.
    #[must_use]
    pub fn from(&self, h: u32) -> u32 {
        self.faces[h as usize / 3][h as usize % 3]
    }

    /// The vertex opposite to a half-edge.
    #[must_use]
    pub fn apex(&self, h: u32) -> u32 {
        self.from(prev(h))
    }

    /// The partner of a half-edge, if it has exactly one.
    #[must_use]
    pub fn across(&self, h: u32) -> Option<u32> {
        Some(self.twin[h as usize]).filter(|t| *t != NO_TWIN)
    }

    /// Whether an edge between the start of `half` and vertex `d` exists already.
    #[must_use]
    pub fn joined(&self, half: u32, d: u32) -> bool {
        // Once round the vertex; both ways, since an open edge ends a walk.
        let walk = |step: fn(&Self, u32) -> Option<u32>| {
            let mut h = half;
            for _ in 0..4096 {
                if self.faces[h as usize / 3].contains(&d) {
                    return Some(true);
                }
                match step(self, h) {
                    Some(next) if next == half => return Some(false),
                    Some(next) => h = next,
                    None => return None,
                }
            }
            // A fan too large to walk: better no flip than a knot.
            Some(true)
        };
        walk(|net, h| net.across(prev(h))).or_else(|| walk(|net, h| net.across(h).map(next))).unwrap_or(false)
    }

    /// Turns an edge to join the two corners opposite to it. The four outer
    /// half-edges of the pair are `3f`, `3f + 1`, `3g`, `3g + 1` afterwards.
    pub fn flip(&mut self, half: u32, other: u32) {
        let (a, b) = (self.from(half), self.from(other));
        let (c, d) = (self.apex(half), self.apex(other));
        let outer = [prev(half), next(other), prev(other), next(half)].map(|h| self.twin[h as usize]);
        let (f, g) = (half / 3, other / 3);
        self.faces[f as usize] = [c, a, d];
        self.faces[g as usize] = [d, b, c];
        for (h, across) in [3 * f, 3 * f + 1, 3 * g, 3 * g + 1].into_iter().zip(outer) {
            self.pair(h, across);
        }
        self.pair(3 * f + 2, 3 * g + 2);
    }

    /// Splits an edge at vertex `m`; gives the four faces round it.
    pub fn split(&mut self, half: u32, other: u32, m: u32) -> [u32; 4] {
        let (a, b) = (self.from(half), self.from(other));
        let (c, d) = (self.apex(half), self.apex(other));
        let outer = [prev(half), next(half), prev(other), next(other)].map(|h| self.twin[h as usize]);
        let (f, g) = (half / 3, other / 3);
        let (f2, g2) = (self.faces.len() as u32, self.faces.len() as u32 + 1);
        self.faces[f as usize] = [c, a, m];
        self.faces[g as usize] = [d, b, m];
        self.faces.extend([[b, c, m], [a, d, m]]);
        self.source.extend([self.source[f as usize], self.source[g as usize]]);
        self.twin.resize(3 * self.faces.len(), NO_TWIN);
        let [ca, bc, db, ad] = outer;
        self.pair(3 * f, ca);
        self.pair(3 * f2, bc);
        self.pair(3 * g, db);
        self.pair(3 * g2, ad);
        self.pair(3 * f + 1, 3 * g2 + 2);
        self.pair(3 * f + 2, 3 * f2 + 1);
        self.pair(3 * g + 1, 3 * f2 + 2);
        self.pair(3 * g + 2, 3 * g2 + 1);
        [f, g, f2, g2]
    }

    fn pair(&mut self, h: u32, across: u32) {
        self.twin[h as usize] = across;
        if across != NO_TWIN {
            self.twin[across as usize] = h;
        }
    }
}

/// The half-edge after `h` in its face.
#[must_use]
pub fn next(h: u32) -> u32 {
    if h % 3 == 2 { h - 2 } else { h + 1 }
}

/// The half-edge before `h` in its face.
#[must_use]
pub fn prev(h: u32) -> u32 {
    if h.is_multiple_of(3) { h + 2 } else { h - 1 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn splits_and_flips_keep_neighbours_in_step() {
        // A tetrahedron: closed, so every half-edge must keep its partner.
        let mut net = Net::new(vec![[0, 1, 2], [0, 2, 3], [0, 3, 1], [1, 3, 2]], vec![0, 1, 2, 3]);
        for m in 4..40 {
            let half = (7 * m) % (3 * net.faces.len() as u32);
            let other = net.across(half).unwrap();
            for f in net.split(half, other, m) {
                assert!(net.faces[f as usize].contains(&m));
            }
            let half = (11 * m) % (3 * net.faces.len() as u32);
            let other = net.across(half).unwrap();
            let (c, d) = (net.apex(half), net.apex(other));
            if c != d && !net.joined(prev(half), d) {
                net.flip(half, other);
            }
            assert_eq!(net.twin, twins(&net.faces));
            assert_eq!(net.source.len(), net.faces.len());
        }
    }
}

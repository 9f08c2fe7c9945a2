//! The surface as it is drawn: which faces, a coarser set for while it moves,
//! and what is hidden.

use grisaille_base::PieceId;
use grisaille_mesh::{Mesh, Part};
use grisaille_plan::{Ground, part_at};
use grisaille_scheme::PartChoice;
use grisaille_sight::{Bits, FaceMask};
use std::collections::{BTreeSet, HashMap};

/// Faces above which turning the figure draws the coarser set.
pub(crate) const COARSE_ABOVE: usize = 300_000;
/// Cells along the longest side of the figure that the coarser set is laid over.
const CELLS: f32 = 160.0;

/// What the painter has put out of sight. It is hidden, not taken away: it
/// still casts its shadow.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Hidden {
    /// Whole pieces.
    pub pieces: BTreeSet<PieceId>,
    /// The base and its underside.
    pub base: bool,
    /// Print supports and their raft.
    pub supports: bool,
}

impl Hidden {
    /// What a scheme puts out of sight of a surface.
    #[must_use]
    pub(crate) fn of(choice: &PartChoice, mesh: &Mesh) -> Self {
        let pieces = choice.parts.iter().filter_map(|p| part_at((*p).into(), mesh)).collect();
        Self { pieces, base: choice.base, supports: choice.supports }
    }

    /// Whether nothing is hidden.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.pieces.is_empty() && !self.base && !self.supports
    }

    fn hides(&self, ground: &Ground, face: usize) -> bool {
        let part = ground.part_of_face[face];
        (self.base && matches!(part, Part::Base | Part::Underside))
            || (self.supports && part == Part::Support)
            || self.pieces.contains(&ground.surface.piece[face])
    }

    /// The faces of the mesh that a pick passes through.
    #[must_use]
    pub fn mask(&self, ground: &Ground) -> FaceMask {
        if self.is_empty() {
            return FaceMask::All;
        }
        let mut open = Bits::new(ground.mesh.faces().len());
        for (f, source) in ground.surface.source_face.iter().enumerate() {
            if self.hides(ground, f) {
                open.set(source.index(), true);
            }
        }
        FaceMask::Except(open)
    }
}

/// Corners of the faces to draw, three by three, as indices of samples.
#[must_use]
pub(crate) fn corners(ground: &Ground, hidden: &Hidden) -> Vec<u32> {
    let surface = &ground.surface;
    let shown = |f: &usize| surface.open_corners(*f) > 0 && !hidden.hides(ground, *f);
    (0..surface.faces.len()).filter(shown).flat_map(|f| surface.faces[f]).collect()
}

/// Fewer faces of nearly the same shape, over the same samples: samples of one
/// cell that face alike are drawn as one (vertex clustering; Rossignac and
/// Borrel, Multi-resolution 3D approximations, 1993).
#[must_use]
pub(crate) fn coarse(ground: &Ground, corners: &[u32]) -> Vec<u32> {
    let samples = &ground.surface.samples;
    let bounds = ground.mesh.bounds();
    let cell = bounds.extents().into_iter().fold(1e-6, f64::max) as f32 / CELLS;
    let mut first: HashMap<u64, u32> = HashMap::new();
    let mut of_sample = vec![u32::MAX; samples.len()];
    for &s in corners {
        let i = s as usize;
        if of_sample[i] != u32::MAX {
            continue;
        }
        let (p, n) = (samples.position[i], samples.normal[i]);
        let at = |k: usize| (((p[k] - bounds.low[k]) / cell).max(0.0) as u64).min(1023);
        let octant = u64::from(n.x > 0.0) | u64::from(n.y > 0.0) << 1 | u64::from(n.z > 0.0) << 2;
        let key = at(0) | at(1) << 10 | at(2) << 20 | octant << 30;
        of_sample[i] = *first.entry(key).or_insert(s);
    }
    let mut seen = std::collections::HashSet::new();
    let mut out = Vec::new();
    for face in corners.chunks_exact(3) {
        let mut face = [face[0], face[1], face[2]].map(|s| of_sample[s as usize]);
        if face[0] == face[1] || face[1] == face[2] || face[2] == face[0] {
            continue;
        }
        // The same way round, the least corner first.
        let least = (0..3).min_by_key(|k| face[*k]).unwrap_or(0);
        face.rotate_left(least);
        if seen.insert(face) {
            out.extend(face);
        }
    }
    out
}

/// Buried samples at the rim of what is seen, each with an open one of the same
/// face: they are drawn with the mean of these, so that no dark seam creeps onto
/// the open side.
#[must_use]
pub(crate) fn rims(ground: &Ground) -> Vec<(u32, u32)> {
    let surface = &ground.surface;
    let buried = |s: u32| surface.samples.buried.get(s as usize);
    let mut pairs = Vec::new();
    for face in &surface.faces {
        for &b in face.iter().filter(|s| buried(**s)) {
            pairs.extend(face.iter().filter(|s| !buried(**s)).map(|o| (b, *o)));
        }
    }
    pairs.sort_unstable();
    pairs.dedup();
    pairs
}

/// Fills a field in at the rims.
pub(crate) fn fill_rims(values: &mut [f32], rims: &[(u32, u32)]) {
    for group in rims.chunk_by(|a, b| a.0 == b.0) {
        let sum: f32 = group.iter().map(|(_, open)| values[*open as usize]).sum();
        if let Some((buried, _)) = group.first() {
            values[*buried as usize] = sum / group.len() as f32;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::test_scene::ground_of;
    use grisaille_bodies::{cuboid, icosphere, moved, scaled};

    #[test]
    fn what_is_hidden_is_neither_drawn_nor_picked() {
        let mut soup = moved(scaled(icosphere(2), 6.0), [0.0, 0.0, 8.0]);
        soup.extend(cuboid([-10.0, -10.0, 0.0], [10.0, 10.0, 3.0]));
        let ground = ground_of(&soup, 1.0);
        let all = corners(&ground, &Hidden::default());
        assert_eq!(Hidden::default().mask(&ground), FaceMask::All);
        let base = Hidden { base: true, ..Hidden::default() };
        let without = corners(&ground, &base);
        assert!(without.len() < all.len() && !without.is_empty());
        let low = |s: &u32| ground.surface.samples.position[*s as usize].z;
        assert!(without.iter().map(low).fold(f32::INFINITY, f32::min) > 1.9);
        let FaceMask::Except(open) = base.mask(&ground) else { panic!("a mask") };
        assert!(open.count() >= 12);
        let both = Hidden { pieces: (0..2).map(PieceId).collect(), base: false, supports: false };
        assert!(corners(&ground, &both).is_empty());
    }

    #[test]
    fn the_coarser_set_keeps_the_shape() {
        let ground = ground_of(&scaled(icosphere(5), 10.0), 0.1);
        let fine = corners(&ground, &Hidden::default());
        let few = coarse(&ground, &fine);
        assert!(few.len() * 2 < fine.len(), "{} of {}", few.len(), fine.len());
        let area = |corners: &[u32]| -> f64 {
            let at = |s: u32| ground.surface.samples.position[s as usize].cast::<f64>();
            corners
                .chunks_exact(3)
                .map(|f| 0.5 * (at(f[1]) - at(f[0])).cross(&(at(f[2]) - at(f[0]))).norm())
                .sum()
        };
        assert!((area(&few) / area(&fine) - 1.0).abs() < 0.05, "{} {}", area(&few), area(&fine));
    }

    #[test]
    fn rims_take_the_mean_of_their_open_neighbours() {
        let mut values = vec![0.0, 4.0, 8.0, 1.0];
        fill_rims(&mut values, &[(0, 1), (0, 2), (3, 2)]);
        assert_eq!(values, [6.0, 4.0, 8.0, 8.0]);
        let mut two = scaled(icosphere(3), 5.0);
        two.extend(moved(scaled(icosphere(3), 5.0), [6.0, 0.0, 0.0]));
        let ground = ground_of(&two, 0.5);
        let rims = rims(&ground);
        assert!(!rims.is_empty());
        for (b, o) in rims {
            assert!(
                ground.surface.samples.buried.get(b as usize)
                    && !ground.surface.samples.buried.get(o as usize)
            );
        }
    }
}

//! Broad lots in the coarse look, face by face and cell by cell.
//!
//! Models mix large faces with small ones. One depth for the whole box about
//! eight large ones would put thousands of small samples in doubt that lie
//! beside or before them; the plane of each says over each cell how near to the
//! light it really reaches.

#![expect(
    clippy::needless_range_loop,
    reason = "lanes side by side are rows of numbers at the same index: written so, they become vectors"
)]

use super::block::{FaceBlock, LOT};
use super::coarse::{Coarse, LotCells};
use super::lanes::{U, more};
use super::leaf::Question;
use super::ready::{area_margin, bring, way};

/// Lots that reach into more cells than this are broad: for fewer, looking
/// closely costs more than it spares.
pub(super) const BROAD: u32 = 100;

/// Notes how near to the light the faces of a lot reach. Whether it could: a
/// lot of faces that a point light sees only in part is left to the caller.
#[inline(always)]
pub(super) fn mark_broad(
    q: &Question<'_>,
    block: &FaceBlock,
    lot: usize,
    origin: [f64; 3],
    high: &mut Coarse,
) -> bool {
    let (way, slack) = way(q, block, origin);
    let (at, cut) = bring(q, block, lot, &way);
    if cut.contains(&true) {
        return false;
    }
    for l in 0..LOT {
        let corners =
            [[at[0][l], at[1][l], at[2][l]], [at[3][l], at[4][l], at[5][l]], [at[6][l], at[7][l], at[8][l]]];
        mark_face(corners, slack, block.open, high);
    }
    true
}

/// Notes how near to the light a face reaches, unless it surely is turned to it
/// and belongs to a closed piece. `slack` is what was rounded away of its
/// corners before, across and along the light, in u.
///
/// Every point of the face with its true corners is one of the face with the
/// rounded corners, moved by no more than the corners were. So what is moved
/// by that is added on all sides, and what is left is `f64`'s to get right.
#[inline(always)]
fn mark_face(corners: [[f32; 3]; 3], slack: [f32; 2], open: bool, high: &mut Coarse) {
    let size = |k: usize| corners.iter().fold(0.0_f32, |m, p| more(m, p[k].abs()));
    let most = slack[0] + more(size(0), size(1));
    let off = f64::from(8.0 * U * most);
    let off_depth = f64::from(8.0 * U * (slack[1] + size(2)));
    let [a, b, c] = corners.map(|p| p.map(f64::from));
    let [ab, ac] = [[b[0] - a[0], b[1] - a[1], b[2] - a[2]], [c[0] - a[0], c[1] - a[1], c[2] - a[2]]];
    let area = ab[0] * ac[1] - ab[1] * ac[0];
    let low = [0, 1].map(|k| a[k].min(b[k]).min(c[k]) - off);
    let far = [0, 1].map(|k| a[k].max(b[k]).max(c[k]) + off);
    let wide = (far[0] - low[0]) + (far[1] - low[1]);
    if !open && area > f64::from(area_margin(most, wide as f32)) {
        return;
    }
    let top = a[2].max(b[2]).max(c[2]) + off_depth;
    // Edge-on there is no depth by place.
    let slope = if area.abs() > 1e-9 * wide * wide {
        [(ab[2] * ac[1] - ab[1] * ac[2]) / area, (ab[0] * ac[2] - ab[2] * ac[0]) / area]
    } else {
        [0.0; 2]
    };
    let flat = slope == [0.0; 2];
    // The depth at the corner of a cell of rows where the plane is nearest to
    // the light; from cell to cell it grows evenly.
    let corner = if slope[0] > 0.0 { 1 } else { 0 };
    let step = slope[0] * high.width(0);
    let depth = a[2] + off_depth + off * (slope[0].abs() + slope[1].abs());
    let rows = [high.index(1, low[1]), high.index(1, far[1])];
    for j in rows[0]..=rows[1] {
        let band = high.border(1, j);
        let band = [band[0].max(low[1]) - off, band[1].min(far[1]) + off];
        let Some(across) = across(&[a, b, c], band) else { continue };
        let (first, last) = (high.index(0, across[0] - off), high.index(0, across[1] + off));
        if flat {
            high.raise(j, first, last, top as f32, 0.0, top as f32);
            continue;
        }
        let x = high.border(0, first)[corner];
        let y = if slope[1] > 0.0 { band[1] } else { band[0] };
        let z = depth + slope[0] * (x - a[0]) + slope[1] * (y - a[1]);
        high.raise(j, first, last, z as f32, step as f32, top as f32);
    }
}

/// The least and the greatest x of a triangle between two heights.
#[inline(always)]
fn across(corners: &[[f64; 3]; 3], band: [f64; 2]) -> Option<[f64; 2]> {
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for k in 0..3 {
        let (p, r) = (corners[k], corners[(k + 1) % 3]);
        if p[1] >= band[0] && p[1] <= band[1] {
            low = low.min(p[0]);
            high = high.max(p[0]);
        }
        for y in band {
            if (p[1] < y) != (r[1] < y) {
                let x = p[0] + (r[0] - p[0]) * ((y - p[1]) / (r[1] - p[1]));
                low = low.min(x);
                high = high.max(x);
            }
        }
    }
    (low <= high).then_some([low, high])
}

/// Into how many cells a lot reaches.
#[inline(always)]
pub(super) fn reach(cells: &LotCells, lot: usize) -> u32 {
    let [i0, i1, j0, j1] = [0, 1, 2, 3].map(|k| cells[k][lot]);
    (i1 - i0 + 1) * (j1 - j0 + 1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// Over every point of a face the grid says a depth no lower than the
        /// point's own, wherever the face lies, slivers and edges-on included;
        /// and nowhere a greater one than the face's top.
        #[test]
        fn no_point_of_a_face_stands_over_its_cell(
            corners in prop::array::uniform3(prop::array::uniform3(-3.0_f32..3.0)),
            flat in prop::array::uniform3(prop::sample::select(vec![0.0_f32, 1e-6, 1e-3, 1.0])),
            shift in prop::array::uniform3(-50.0_f32..50.0),
            points in prop::collection::vec((0.0_f64..1.0, 0.0_f64..1.0), 64),
            cells in 1_usize..4000,
        ) {
            let corners = corners.map(|p| [0, 1, 2].map(|k| p[k] * flat[k] + shift[k]));
            let around = [0, 1].map(|k| [shift[k] - 2.0, shift[k] + 2.0]);
            let low = around.map(|r| r[0]);
            let high = around.map(|r| r[1]);
            let mut grid = Coarse::over(low, high, cells, f32::NEG_INFINITY);
            mark_face(corners, [0.0; 2], true, &mut grid);
            for (s, t) in points {
                let (s, t) = if s + t > 1.0 { (1.0 - s, 1.0 - t) } else { (s, t) };
                let at = [0, 1, 2].map(|k| {
                    let [a, b, c] = corners.map(|p| f64::from(p[k]));
                    a + s * (b - a) + t * (c - a)
                });
                if (0..2).any(|k| at[k] < f64::from(low[k]) || at[k] > f64::from(high[k])) {
                    continue;
                }
                let depth = grid.depth(grid.index(0, at[0]), grid.index(1, at[1]));
                prop_assert!(f64::from(depth) >= at[2], "{at:?} {depth}");
            }
            let top = corners.iter().fold(f32::NEG_INFINITY, |m, p| more(m, p[2]));
            for (i, j) in (0..10).flat_map(|i| (0..10).map(move |j| (i, j))) {
                let place = [i, j].map(|n| f64::from(n) / 9.0);
                let index = |k: usize| grid.index(k, f64::from(low[k]) + 4.0 * place[k]);
                prop_assert!(grid.depth(index(0), index(1)) <= top + 1e-4);
            }
        }
    }

    /// Cell by cell it is the plane's own depth, not the face's top everywhere.
    #[test]
    fn a_slope_falls_away() {
        let mut grid = Coarse::over([0.0; 2], [10.0; 2], 10_000, f32::NEG_INFINITY);
        // z = x over a right-angled triangle of 10 × 10.
        mark_face([[0.0; 3], [10.0, 0.0, 10.0], [0.0, 10.0, 0.0]], [0.0; 2], true, &mut grid);
        let depth = |x: f64, y: f64| f64::from(grid.depth(grid.index(0, x), grid.index(1, y)));
        for x in [1.0, 3.0, 5.0, 7.0] {
            // A cell is 0.1 wide, and is half a cell and a little more to each side.
            let over = depth(x, 1.0) - x;
            assert!((0.0..0.12).contains(&over), "{over}");
        }
        assert_eq!(depth(8.0, 8.0), f64::NEG_INFINITY);
    }
}

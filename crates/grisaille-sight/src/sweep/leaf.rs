//! One tile of the light's view: its samples in a grid, every face that may
//! shade them swept over it.
//!
//! Coordinates are `f32` from the tile's middle: under a distant light turned in
//! `f32` from the middle of a block, which costs a little margin, else taken in
//! `f64` and only then rounded. Every comparison has a margin that covers this rounding
//! and that of the comparison itself (bounds below, u = 2⁻²⁴); what falls
//! within the margin is decided by the exact test. So the answer is the exact
//! test's answer, whatever the width of the vectors.

#![expect(
    clippy::needless_range_loop,
    reason = "lanes side by side are rows of numbers at the same index: written so, they become vectors"
)]

use super::axes::{Axes, Extent};
use super::block::{BLOCK, FaceBlock, LOT, LOTS};
use super::cut::sweep_cut;
use super::grid::{COARSE, Cells, Found, Grid, LANES, gather, sort};
use super::lanes::{U, bits, eight, less, more};
use super::ready::{Common, GROUP, Kept, Ready, UNSURE, bring, prepare, sift, way};
use crate::engine::Source;
use crate::occluder::{FaceMask, Occluders};
use crate::surface::Samples;
use nalgebra::Point3;

/// How often a tile looks for what is shaded by now.
const LOOKS: usize = 6;
/// The lanes' own numbers.
const LANE: [f32; LANES] = [0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0];

/// What all tiles of one question share.
#[derive(Clone, Copy)]
pub(crate) struct Question<'a> {
    pub(crate) axes: Axes,
    pub(crate) source: Source,
    pub(crate) samples: &'a Samples,
    pub(crate) occluders: &'a Occluders,
    pub(crate) blocks: &'a [FaceBlock],
    pub(crate) mask: &'a FaceMask,
    /// Within this distance of a point light's centre nothing blocks.
    pub(crate) clear: f64,
    /// No sample's origin is farther than this from its position.
    pub(crate) off_position: f32,
}

impl Question<'_> {
    /// A face's corners, exactly.
    pub(super) fn corners(&self, face: u32) -> [Point3<f64>; 3] {
        self.occluders.faces[face as usize].map(|v| self.occluders.positions[v as usize].cast())
    }
}

/// Where a face stands to the clear ball round a point light.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Clear {
    /// Wholly outside: it blocks as any other.
    Outside,
    /// Wholly inside: it blocks nothing.
    Inside,
    /// It may reach in and out: only the exact test knows.
    Across,
}

/// A tile's memory, used again for the next.
#[derive(Default)]
pub(crate) struct Scratch {
    found: Found,
    cells: Cells,
    kept: Kept,
    /// One word of bits for each patch of the tile: the samples that see the light.
    seen: Vec<u64>,
}

impl Scratch {
    /// The tile's patches, each with the bits of its samples that see the light.
    pub(crate) fn answer(&self) -> impl Iterator<Item = (u32, u64)> {
        self.cells.patch.iter().copied().zip(self.seen.iter().copied())
    }
}

/// Sets in `scratch`'s answer the bits of the samples of `patches` that lie in the
/// tile and see the light past the faces of `blocks`. Of a patch the bits of the
/// samples are given that are asked about, of a block those of its lots.
#[inline(always)]
pub(crate) fn leaf(
    q: &Question<'_>,
    tile: &Extent,
    patches: impl Iterator<Item = (u32, u64)>,
    blocks: impl ExactSizeIterator<Item = (u32, u64)>,
    middle: [f64; 3],
    scratch: &mut Scratch,
) {
    let Scratch { found, cells, kept, seen } = scratch;
    seen.clear();
    kept.count = 0;
    let Some(grid) = gather(q, tile, patches, middle, found, &mut cells.patch) else { return };
    seen.resize(cells.patch.len(), 0);
    sort(&grid, found, cells);
    let every = blocks.len() / LOOKS + 8;
    for (k, (block, lots)) in blocks.enumerate() {
        // Under a closed surface most is shaded soon, and what lies between is
        // then over nothing that matters.
        if k % every == every - 1 {
            cells.forget_shaded();
        }
        sweep_block(q, &q.blocks[block as usize], lots, middle, &grid, cells, kept);
    }
    sweep_kept(q, &grid, cells, kept);
    for (k, slot) in cells.slot.iter().enumerate() {
        let lit = !(cells.shade[k / 64] >> (k % 64)) & 1;
        seen[(slot / 64) as usize] |= lit << (slot % 64);
    }
}

#[inline(always)]
fn sweep_block(
    q: &Question<'_>,
    block: &FaceBlock,
    lots: u64,
    middle: [f64; 3],
    grid: &Grid,
    cells: &mut Cells,
    kept: &mut Kept,
) {
    let (way, slack) = way(q, block, middle);
    for lot in bits(lots_over(q, block, lots, middle, grid, &cells.lowest)) {
        let (at, cut) = bring(q, block, lot, &way);
        let faces = block.face.as_chunks::<LOT>().0.get(lot).unwrap_or(&[0; LOT]);
        sift(&at, Common { faces, open: block.open, slack }, grid, &cells.lowest, &cut, kept);
        if kept.count >= GROUP {
            sweep_kept(q, grid, cells, kept);
        }
        for k in (0..LOT).filter(|k| cut[*k]) {
            sweep_cut(q, block, lot * LOT + k, middle, grid, cells);
        }
    }
}

/// Those lots of a block that reach into the tile, and that have a sample lower
/// than their top in a coarse cell that they reach into.
#[inline(always)]
fn lots_over(
    q: &Question<'_>,
    block: &FaceBlock,
    lots: u64,
    middle: [f64; 3],
    grid: &Grid,
    farthest: &[f32],
) -> u64 {
    let extents = block.lots.extents(&q.axes, block.middle, middle);
    let pad = 8.0 * U * grid.reach;
    let lowest = grid.deepest - 8.0 * U * grid.deep;
    let mut over = [false; LOTS];
    for lot in 0..LOTS {
        let x = less(grid.high[0] - extents.low[0][lot], extents.high[0][lot] - grid.low[0]);
        let y = less(grid.high[1] - extents.low[1][lot], extents.high[1][lot] - grid.low[1]);
        over[lot] = (less(x, y) >= -pad) & (extents.high[2][lot] >= lowest);
    }
    let mut cells = [[0; LOTS]; 4];
    for lot in 0..LOTS {
        cells[0][lot] = grid.along(0, extents.low[0][lot] - pad) >> COARSE[0];
        cells[1][lot] = grid.along(0, extents.high[0][lot] + pad) >> COARSE[0];
        cells[2][lot] = grid.along(1, extents.low[1][lot] - pad) >> COARSE[1];
        cells[3][lot] = grid.along(1, extents.high[1][lot] + pad) >> COARSE[1];
    }
    let mut found = 0;
    for lot in bits(lots & u64::from(eight(over))) {
        let [i0, i1, j0, j1] = [cells[0][lot], cells[1][lot], cells[2][lot], cells[3][lot]];
        let top = extents.high[2][lot] + 8.0 * U * grid.deep;
        let any = (j0..=j1).any(|j| {
            let row = (j * grid.coarse) as usize;
            farthest
                .get(row + i0 as usize..=row + i1 as usize)
                .is_none_or(|row| row.iter().any(|lowest| *lowest <= top))
        });
        found |= u64::from(any) << lot;
    }
    found
}

/// Sweeps the first group of faces that are kept, and passes on to the next.
#[inline(always)]
fn sweep_kept(q: &Question<'_>, grid: &Grid, cells: &mut Cells, kept: &mut Kept) {
    if kept.count == 0 {
        return;
    }
    let mut ready = Ready::NOTHING;
    prepare(kept, grid, &mut ready);
    sweep_group(q, kept, &ready, grid, cells);
    kept.pass();
}

/// Sweeps the faces of a group that is ready.
#[inline(always)]
pub(super) fn sweep_group(q: &Question<'_>, kept: &Kept, ready: &Ready, grid: &Grid, cells: &mut Cells) {
    for l in 0..kept.count.min(GROUP) {
        sweep_face(q, kept.face[l], kept.cells[l], ready, l, grid, cells);
    }
}

/// Sweeps one face of a group over the samples in its cells.
#[inline(always)]
fn sweep_face(
    q: &Question<'_>,
    face: u32,
    [i0, i1, j0, j1]: [u32; 4],
    ready: &Ready,
    l: usize,
    grid: &Grid,
    cells: &mut Cells,
) {
    if !q.mask.blocks(face as usize) {
        return;
    }
    let mut plane_off = ready.plane_off[l];
    if q.clear > 0.0 {
        match clear_of(q, face) {
            Clear::Outside => {}
            Clear::Inside => return,
            Clear::Across => plane_off = UNSURE,
        }
    }
    let side = [0, 1, 2].map(|e| [0, 1, 2].map(|k| ready.side[e][k][l]));
    let plane = [0, 1, 2].map(|k| ready.plane[k][l]);
    let level = ready.level[l] - plane_off;
    let (side_off, plane_off) = (2.0 * ready.side_off[l], 2.0 * plane_off);
    let mut doubt = [-1.0_f32; LANES];
    // Of one length, so that it is compared once; the rows are longer than
    // there are samples by a vector.
    let padded = cells.x.len();
    let (xs, ys, zs) = (&cells.x[..padded], &cells.y[..padded], &cells.z[..padded]);
    let shade = &mut cells.shade;
    for j in j0..=j1 {
        let row = (j * grid.cells[0]) as usize;
        let mut from = cells.start[row + i0 as usize] as usize;
        let mut to = cells.start[row + i1 as usize + 1] as usize;
        if to > from + LANES {
            // Many samples in the row: only those under the face's slice of it.
            let (first, last) = slice(&side, side_off, grid, j, i0, i1);
            from = cells.start[row + first as usize] as usize;
            to = cells.start[row + last as usize + 1] as usize;
        }
        let mut k = from;
        while k < to {
            let (Some(x), Some(y), Some(z)) = (lanes(xs, k), lanes(ys, k), lanes(zs, k)) else { break };
            let left = (to - k) as f32;
            let mut hit = [false; LANES];
            for n in 0..LANES {
                // Both forms stand lowered by their margin.
                let s0 = side[0][0] * x[n] + side[0][1] * y[n] + side[0][2];
                let s1 = side[1][0] * x[n] + side[1][1] * y[n] + side[1][2];
                let s2 = side[2][0] * x[n] + side[2][1] * y[n] + side[2][2];
                let inside = less(less(s0, s1), s2);
                let below = plane[0] * x[n] + plane[1] * y[n] + plane[2] * z[n] + level;
                let sure = less(inside, below);
                let maybe = less(inside + side_off, below + plane_off);
                // Lanes past the row's end belong to other cells.
                let here = LANE[n] < left;
                hit[n] = here & (sure > 0.0);
                doubt[n] = if here { more(doubt[n], less(maybe, -sure)) } else { doubt[n] };
            }
            // Words, and not a number for each sample: vectors that overlap
            // by a part would wait for each other's stores. So would two words
            // written as one, hence the second alone and seldom.
            let bits = u64::from(eight(hit));
            let (word, at) = (k / 64, k % 64);
            if let Some(one) = shade.get_mut(word) {
                *one |= bits << at;
            }
            if at > 64 - LANES
                && let Some(two) = shade.get_mut(word + 1)
            {
                *two |= bits >> (64 - at);
            }
            k += LANES;
        }
    }
    if doubt.iter().fold(-1.0_f32, |m, d| more(m, *d)) >= 0.0 {
        settle(q, face, [i0, i1, j0, j1], ready, l, plane_off, grid, cells);
    }
}

/// The cells of row `j`, between `i0` and `i1`, that a face can reach into:
/// each side of it leaves of the row what lies beyond the outer of the two
/// places where the side crosses the row's borders.
#[inline(never)]
fn slice(side: &[[f32; 3]; 3], side_off: f32, grid: &Grid, j: u32, i0: u32, i1: u32) -> (u32, u32) {
    // A thousandth of a row wider, for the rounding of what stands in it; the
    // last row also holds all that lies further, to the last sample.
    let border = |k: f32| grid.low[1] + (j as f32 + k) * grid.size[1];
    let (one, two) = (border(-0.501), if j + 1 == grid.cells[1] { grid.high[1] } else { border(0.501) });
    let far = more(one.abs(), two.abs());
    let (mut low, mut high) = (f32::NEG_INFINITY, f32::INFINITY);
    for [m, n, c] in side {
        let per = 1.0 / m;
        let (u, v) = (-(n * one + c + side_off) * per, -(n * two + c + side_off) * per);
        let pad = 8.0 * U * ((c.abs() + n.abs() * far) * per).abs();
        // A side along the row has no place to cross; NaN compares as neither.
        if *m > 0.0 && pad < UNSURE {
            low = more(low, less(u, v) - pad);
        } else if *m < 0.0 && pad < UNSURE {
            high = less(high, more(u, v) + pad);
        }
    }
    let first = grid.along(0, low).clamp(i0, i1);
    let last = grid.along(0, high).clamp(first, i1);
    (first, last)
}

#[inline(always)]
fn lanes(of: &[f32], k: usize) -> Option<&[f32; LANES]> {
    of.get(k..k + LANES)?.first_chunk()
}

/// Decides by the exact test what the margins left open.
#[cold]
#[inline(never)]
#[expect(clippy::too_many_arguments, reason = "the cold half of `sweep_face`, with what that has at hand")]
fn settle(
    q: &Question<'_>,
    face: u32,
    [i0, i1, j0, j1]: [u32; 4],
    ready: &Ready,
    l: usize,
    plane_off: f32,
    grid: &Grid,
    cells: &mut Cells,
) {
    for j in j0..=j1 {
        let row = (j * grid.cells[0]) as usize;
        let range = cells.start[row + i0 as usize]..cells.start[row + i1 as usize + 1];
        for k in range.start as usize..range.end as usize {
            let (x, y, z) = (cells.x[k], cells.y[k], cells.z[k]);
            let outside = (0..3).any(|e| {
                let [m, n, c] = [0, 1, 2].map(|k| ready.side[e][k][l]);
                m * x + n * y + c < -2.0 * ready.side_off[l]
            });
            let [p, q_y, r] = [0, 1, 2].map(|k| ready.plane[k][l]);
            let over = p * x + q_y * y + r * z + ready.level[l] < -plane_off;
            if outside || over || cells.shade[k / 64] >> (k % 64) & 1 == 1 {
                continue;
            }
            let slot = cells.slot[k] as usize;
            let sample = cells.patch[slot / BLOCK] as usize * BLOCK + slot % BLOCK;
            if q.occluders.blocks(face as usize, &q.source.ray(q.samples.origin[sample]), true) {
                cells.shade[k / 64] |= 1 << (k % 64);
            }
        }
    }
}

/// How a face stands to the clear ball.
fn clear_of(q: &Question<'_>, face: u32) -> Clear {
    let Source::Point { centre, .. } = q.source else { return Clear::Outside };
    let corners = q.corners(face);
    let distance = corners.map(|p| (p - centre).norm());
    let longest = (0..3).map(|c| (corners[c] - corners[(c + 1) % 3]).norm()).fold(0.0, f64::max);
    let (near, far) = distance.iter().fold((f64::INFINITY, 0.0_f64), |(n, f), d| (n.min(*d), f.max(*d)));
    if far < q.clear * (1.0 - 1e-9) {
        Clear::Inside
    } else if near - longest > q.clear * (1.0 + 1e-9) {
        Clear::Outside
    } else {
        Clear::Across
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The grid has a most of rows; the last one then holds all that lies
    /// further, and a face far into it keeps all of its cells.
    #[test]
    fn the_last_row_reaches_to_the_last_sample() {
        let grid = Grid {
            low: [0.0; 2],
            high: [4.0, 100.0],
            deepest: 0.0,
            reach: 100.0,
            deep: 0.0,
            per: [1.0; 2],
            size: [1.0; 2],
            cells: [4, 10],
            last: [3.0, 9.0],
            coarse: 1,
        };
        let face = [[0.0_f32, 50.0], [3.9, 50.5], [2.0, 53.0]];
        let side = [0, 1, 2].map(|k| {
            let (p, r) = (face[k], face[(k + 1) % 3]);
            let (m, n) = (p[1] - r[1], r[0] - p[0]);
            [m, n, -(m * p[0] + n * p[1])]
        });
        assert_eq!(slice(&side, 0.0, &grid, 9, 0, 3), (0, 3));
    }
}

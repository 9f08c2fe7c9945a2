//! One tile's samples dealt into a grid of small cells.

#![expect(
    clippy::needless_range_loop,
    reason = "lanes side by side are rows of numbers at the same index: written so, they become vectors"
)]

use super::axes::Extent;
use super::block::BLOCK;
use super::lanes::{bits, cell, less, more};
use super::leaf::Question;
use super::place::place;

/// Samples that are tested side by side.
pub(super) const LANES: usize = 8;
/// Samples in a cell of the grid, on average.
const PER_CELL: f32 = 0.5;
/// How much taller than wide cells are: a face then covers fewer rows, and
/// more of a vector in each.
const TALL: f32 = 3.0;
/// Cells of the grid along the sides of a coarse cell, as powers of two.
pub(super) const COARSE: [u32; 2] = [2, 1];

/// The grid over a tile's samples, in coordinates from the tile's middle.
#[derive(Clone, Copy)]
pub(super) struct Grid {
    pub(super) low: [f32; 2],
    pub(super) high: [f32; 2],
    /// The farthest sample's z.
    pub(super) deepest: f32,
    /// The greatest size of any coordinate of a sample.
    pub(super) reach: f32,
    pub(super) deep: f32,
    /// Cells in a unit of length, and a cell's size.
    pub(super) per: [f32; 2],
    pub(super) size: [f32; 2],
    pub(super) cells: [u32; 2],
    pub(super) last: [f32; 2],
    pub(super) coarse: u32,
}

impl Grid {
    /// The cell along one axis.
    #[inline(always)]
    pub(super) fn along(&self, k: usize, v: f32) -> u32 {
        cell(v, self.low[k], self.per[k], self.last[k])
    }
}

/// Samples cell by cell and row by row.
#[derive(Default)]
pub(super) struct Cells {
    pub(super) x: Vec<f32>,
    pub(super) y: Vec<f32>,
    pub(super) z: Vec<f32>,
    /// Where in the tile's patches each comes from.
    pub(super) slot: Vec<u32>,
    /// One bit for each: whether it is shaded.
    pub(super) shade: Vec<u64>,
    /// Where each cell begins.
    pub(super) start: Vec<u32>,
    /// The farthest sample from the light in each coarse cell.
    pub(super) lowest: Vec<f32>,
    /// Which coarse cell each sample lies in.
    within: Vec<u32>,
    /// The patches of the tile.
    pub(super) patch: Vec<u32>,
}

/// Samples as they come: place from the tile's middle, and slot.
#[derive(Default)]
pub(super) struct Found {
    at: [Vec<f32>; 3],
    pub(super) slot: Vec<u32>,
    cell: Vec<u32>,
    coarse: Vec<u32>,
}

/// Collects the tile's samples of `patches` (each with the bits of the samples
/// that are asked about). Lists the patches in `listed`.
#[inline(always)]
pub(super) fn gather(
    q: &Question<'_>,
    tile: &Extent,
    patches: impl Iterator<Item = (u32, u64)>,
    middle: [f64; 3],
    found: &mut Found,
    listed: &mut Vec<u32>,
) -> Option<Grid> {
    let Found { at, slot, .. } = found;
    at.iter_mut().for_each(Vec::clear);
    slot.clear();
    listed.clear();
    let mut slack = [0.0_f32; 2];
    for (index, word) in patches {
        let base = (listed.len() * BLOCK) as u32;
        listed.push(index);
        let placed = place(q, index as usize, word);
        let shift = [0, 1, 2].map(|k| (placed.base[k] - middle[k]) as f32);
        slack = [more(slack[0], placed.slack[0]), more(slack[1], placed.slack[1])];
        for k in bits(placed.word) {
            let from = [0, 1, 2].map(|axis| placed.at[axis][k]);
            let x = f64::from(from[0]) + placed.base[0];
            let y = f64::from(from[1]) + placed.base[1];
            if x >= tile.low[0] && x < tile.high[0] && y >= tile.low[1] && y < tile.high[1] {
                for axis in 0..3 {
                    at[axis].push(from[axis] + shift[axis]);
                }
                slot.push(base + k as u32);
            }
        }
    }
    if slot.is_empty() {
        return None;
    }
    let range = |row: &[f32]| {
        row.iter().fold((f32::INFINITY, f32::NEG_INFINITY), |(low, high), v| (less(low, *v), more(high, *v)))
    };
    let [x, y, z] = [range(&at[0]), range(&at[1]), range(&at[2])];
    let (width, height) = (x.1 - x.0, y.1 - y.0);
    // No more cells than `wanted`, even where the tile is a line.
    let wanted = slot.len() as f32 / PER_CELL;
    let size = (width * height / (wanted * TALL)).sqrt().max(width / wanted).max(height / (wanted * TALL));
    let size = [size.max(f32::MIN_POSITIVE), (TALL * size).max(f32::MIN_POSITIVE)];
    let count = |k: usize, extent: f32| ((extent / size[k]) as u32 + 1).min(1 << 12);
    let cells = [count(0, width), count(1, height)];
    Some(Grid {
        low: [x.0, y.0],
        high: [x.1, y.1],
        deepest: z.0,
        reach: [x.0, x.1, y.0, y.1].iter().fold(0.0, |m, v| v.abs().max(m)) + slack[0],
        deep: z.0.abs().max(z.1.abs()) + slack[1],
        per: size.map(|s| 1.0 / s),
        size,
        cells,
        last: cells.map(|n| (n - 1) as f32),
        coarse: (cells[0] >> COARSE[0]) + 1,
    })
}

/// Deals the samples out to the cells (a counting sort).
#[inline(always)]
pub(super) fn sort(grid: &Grid, found: &mut Found, cells: &mut Cells) {
    let Cells { x, y, z, slot, shade, start, lowest, within, .. } = cells;
    let Found { at: found, slot: found_slot, cell, coarse } = found;
    let n = found_slot.len();
    let cells = (grid.cells[0] * grid.cells[1]) as usize;
    start.clear();
    start.resize(cells + 2, 0);
    lowest.clear();
    lowest.resize((grid.coarse * ((grid.cells[1] >> COARSE[1]) + 1)) as usize, f32::INFINITY);
    cell.clear();
    coarse.clear();
    for k in 0..n {
        let (i, j) = (grid.along(0, found[0][k]), grid.along(1, found[1][k]));
        let c = j * grid.cells[0] + i;
        cell.push(c);
        start[c as usize + 2] += 1;
        let c = (j >> COARSE[1]) * grid.coarse + (i >> COARSE[0]);
        coarse.push(c);
        let lowest = &mut lowest[c as usize];
        *lowest = less(*lowest, found[2][k]);
    }
    for c in 2..start.len() {
        start[c] += start[c - 1];
    }
    // Eight more than there are: a vector may reach past the last sample.
    for row in [&mut *x, &mut *y, &mut *z] {
        row.clear();
        row.resize(n + LANES, 0.0);
    }
    shade.clear();
    shade.resize(n / BLOCK + 2, 0);
    slot.clear();
    slot.resize(n, 0);
    within.clear();
    within.resize(n, 0);
    for k in 0..n {
        let at = &mut start[cell[k] as usize + 1];
        let to = *at as usize;
        *at += 1;
        x[to] = found[0][k];
        y[to] = found[1][k];
        z[to] = found[2][k];
        slot[to] = found_slot[k];
        within[to] = coarse[k];
    }
}

impl Cells {
    /// Forgets the samples that are shaded by now: faces over nothing else
    /// need not be looked at.
    #[inline(always)]
    pub(super) fn forget_shaded(&mut self) {
        self.lowest.fill(f32::INFINITY);
        let n = self.slot.len();
        for (w, word) in self.shade.iter().enumerate() {
            for k in bits(!word) {
                let k = w * BLOCK + k;
                if k < n {
                    let lowest = &mut self.lowest[self.within[k] as usize];
                    *lowest = less(*lowest, self.z[k]);
                }
            }
        }
    }
}

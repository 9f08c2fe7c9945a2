//! A coarse look from the light, which leaves most faces and samples out
//! before any is touched.
//!
//! Each cell of a grid over the view holds the depth of the farthest sample
//! that may lie in it. A lot of faces that lies farther than that in all its
//! cells shades nothing. Another such grid holds the depth of the nearest face:
//! a lot of samples above which there is none sees the light as a whole.

#![expect(
    clippy::needless_range_loop,
    reason = "lanes side by side are rows of numbers at the same index: written so, they become vectors"
)]

use super::block::LOTS;
use super::lanes::{U, cell, less, more};
use super::lots::Extents;

/// A grid over the view.
#[derive(Clone)]
pub(crate) struct Coarse {
    low: [f32; 2],
    per: [f32; 2],
    last: [f32; 2],
    columns: usize,
    depth: Vec<f32>,
}

/// The first and the last cell of each lot, along x and y.
pub(crate) type LotCells = [[u32; LOTS]; 4];

impl Coarse {
    /// A grid of about `wanted` cells over a part of the view, each cell at `start`.
    pub(crate) fn over(low: [f32; 2], high: [f32; 2], wanted: usize, start: f32) -> Self {
        let size = [0, 1].map(|k| (high[k] - low[k]).max(f32::MIN_POSITIVE));
        let wanted = wanted.max(1) as f32;
        let cell = (size[0] * size[1] / wanted).sqrt().max(size[0].max(size[1]) / wanted);
        let cells = [0, 1].map(|k| ((size[k] / cell) as usize + 1).min(4096));
        Self {
            low,
            per: [0, 1].map(|k| (cells[k] - 1) as f32 / size[k]),
            last: cells.map(|n| (n - 1) as f32),
            columns: cells[0],
            depth: vec![start; cells[0] * cells[1]],
        }
    }

    /// The same grid with every cell at `start`.
    pub(crate) fn again(&self, start: f32) -> Self {
        Self { depth: vec![start; self.depth.len()], ..*self }
    }

    /// Of two such grids, the depth that `pick` takes of each cell's two.
    pub(crate) fn merged(mut self, other: &Self, pick: impl Fn(f32, f32) -> f32) -> Self {
        for (depth, theirs) in self.depth.iter_mut().zip(&other.depth) {
            *depth = pick(*depth, *theirs);
        }
        self
    }

    /// The cells that the lots reach into.
    #[inline(always)]
    pub(crate) fn cells(&self, extents: &Extents) -> LotCells {
        let mut cells = [[0; LOTS]; 4];
        for k in 0..2 {
            for lot in 0..LOTS {
                cells[2 * k][lot] = cell(extents.low[k][lot], self.low[k], self.per[k], self.last[k]);
                cells[2 * k + 1][lot] = cell(extents.high[k][lot], self.low[k], self.per[k], self.last[k]);
            }
        }
        cells
    }

    /// The cell along one axis, held to the grid.
    #[inline(always)]
    pub(crate) fn index(&self, k: usize, v: f64) -> u32 {
        cell(v as f32, self.low[k], self.per[k], self.last[k])
    }

    /// Between where a cell's own places lie along one axis, a little wider than it.
    #[inline(always)]
    pub(crate) fn border(&self, k: usize, cell: u32) -> [f64; 2] {
        let (low, per) = (f64::from(self.low[k]), f64::from(self.per[k]));
        [-0.51, 0.51].map(|half| low + (f64::from(cell) + half) / per)
    }

    /// The depth of a cell.
    #[cfg(test)]
    pub(crate) fn depth(&self, i: u32, j: u32) -> f32 {
        self.depth[j as usize * self.columns + i as usize]
    }

    /// How wide cells are along one axis.
    #[inline(always)]
    pub(crate) fn width(&self, k: usize) -> f64 {
        1.0 / f64::from(self.per[k])
    }

    /// No less in the cells of a row than a depth that begins with `from` and
    /// grows by `step`, and nowhere is more than `top`.
    #[inline(always)]
    pub(crate) fn raise(&mut self, j: u32, first: u32, last: u32, from: f32, step: f32, top: f32) {
        let row = j as usize * self.columns;
        let Some(cells) = self.depth.get_mut(row + first as usize..=row + last as usize) else { return };
        let count = cells.len() as f32;
        // Each place is rounded three times.
        let off = 4.0 * U * (from.abs() + count * step.abs());
        let (from, top) = (from + off, top + 4.0 * U * top.abs());
        for (i, depth) in cells.iter_mut().enumerate() {
            *depth = more(*depth, less(from + step * i as u32 as f32, top));
        }
    }

    /// Changes the depth of every cell that a lot reaches into.
    #[inline(always)]
    pub(crate) fn mark(&mut self, cells: &LotCells, lot: usize, change: impl Fn(f32) -> f32) {
        let [i0, i1, j0, j1] = [0, 1, 2, 3].map(|k| cells[k][lot] as usize);
        for j in j0..=j1 {
            if let Some(row) = self.depth.get_mut(j * self.columns + i0..=j * self.columns + i1) {
                for depth in row {
                    *depth = change(*depth);
                }
            }
        }
    }

    /// Whether any cell that a lot reaches into answers yes.
    #[inline(always)]
    pub(crate) fn any(&self, cells: &LotCells, lot: usize, yes: impl Fn(f32) -> bool) -> bool {
        let [i0, i1, j0, j1] = [0, 1, 2, 3].map(|k| cells[k][lot] as usize);
        (j0..=j1).any(|j| {
            self.depth
                .get(j * self.columns + i0..=j * self.columns + i1)
                .is_some_and(|row| row.iter().any(|d| yes(*d)))
        })
    }
}

//! A coarse look from the light, which leaves most blocks out before any face
//! is touched.
//!
//! Each cell of a coarse grid over the view holds the depth of the farthest
//! sample that may lie in it. A block of faces that lies farther than that in
//! all its cells shades nothing; a patch of samples above which no block is
//! left sees the light as a whole.

use super::axes::Extent;

/// A grid over the view.
pub(crate) struct Coarse {
    low: [f64; 2],
    per: [f64; 2],
    cells: [usize; 2],
    depth: Vec<f64>,
}

impl Coarse {
    /// A grid of about `wanted` cells over some extents, each cell at `start`.
    pub(crate) fn over<'a>(extents: impl Iterator<Item = &'a Extent>, wanted: usize, start: f64) -> Self {
        let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        for extent in extents {
            for k in 0..2 {
                low[k] = low[k].min(extent.low[k]);
                high[k] = high[k].max(extent.high[k]);
            }
        }
        let size = [0, 1].map(|k| (high[k] - low[k]).max(f64::MIN_POSITIVE));
        let cell = (size[0] * size[1] / wanted as f64).sqrt().max(size[0].max(size[1]) / wanted as f64);
        let cells = [0, 1].map(|k| ((size[k] / cell) as usize + 1).min(4096));
        let per = [0, 1].map(|k| cells[k] as f64 / size[k]);
        Self { low, per, cells, depth: vec![start; cells[0] * cells[1]] }
    }

    /// The same grid with every cell at `start`.
    pub(crate) fn again(&self, start: f64) -> Self {
        Self { depth: vec![start; self.depth.len()], ..*self }
    }

    fn range(&self, k: usize, extent: &Extent) -> std::ops::Range<usize> {
        let cell = |v: f64| (((v - self.low[k]) * self.per[k]) as usize).min(self.cells[k] - 1);
        cell(extent.low[k])..cell(extent.high[k]) + 1
    }

    /// Changes the depth of every cell that an extent reaches into.
    #[inline]
    pub(crate) fn mark(&mut self, extent: &Extent, change: impl Fn(f64) -> f64) {
        let columns = self.range(0, extent);
        for row in self.range(1, extent) {
            for depth in &mut self.depth[row * self.cells[0]..][columns.clone()] {
                *depth = change(*depth);
            }
        }
    }

    /// Whether any cell that an extent reaches into answers yes.
    #[inline]
    pub(crate) fn any(&self, extent: &Extent, yes: impl Fn(f64) -> bool) -> bool {
        let columns = self.range(0, extent);
        self.range(1, extent)
            .any(|row| self.depth[row * self.cells[0]..][columns.clone()].iter().any(|d| yes(*d)))
    }
}

//! Areas of a picture: an integer for each sub-sample that says which band,
//! zone or region is seen there.

use crate::{Hit, ItemBuffer};
use grisaille_base::{Stop, Watch};
use rayon::prelude::*;
use std::collections::BTreeSet;

/// A label for each sub-sample of a picture, or [`Areas::NONE`].
pub struct Areas {
    width: usize,
    height: usize,
    supersample: usize,
    labels: Vec<u16>,
}

impl Areas {
    /// No label: paper, or a place that `label` left out.
    pub const NONE: u16 = u16::MAX;

    /// Asks `label` for each sub-sample that shows the surface.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub fn of(
        items: &ItemBuffer,
        label: impl Fn(&Hit) -> Option<u16> + Sync,
        watch: &Watch,
    ) -> Result<Self, Stop> {
        let columns = items.columns();
        let mut labels = vec![Self::NONE; columns * items.rows()];
        watch.run(|| {
            labels.par_chunks_mut(columns).enumerate().try_for_each(|(row, cells)| {
                watch.check()?;
                let mut kept = None;
                for (column, cell) in cells.iter_mut().enumerate() {
                    if let Some(l) = items.hit_near(column, row, &mut kept).and_then(|hit| label(&hit)) {
                        *cell = l;
                    }
                }
                Ok(())
            })
        })?;
        Ok(Self {
            width: items.frame().width() as usize,
            height: items.frame().height() as usize,
            supersample: items.supersample() as usize,
            labels,
        })
    }

    /// Areas of one sub-sample a pixel, labels given row by row from the top.
    #[cfg(test)]
    pub(crate) fn of_labels(width: usize, height: usize, labels: Vec<u16>) -> Self {
        Self { width, height, supersample: 1, labels }
    }

    /// Width in pixels.
    #[must_use]
    pub fn width(&self) -> usize {
        self.width
    }

    /// Height in pixels.
    #[must_use]
    pub fn height(&self) -> usize {
        self.height
    }

    /// Sub-samples along one side of a pixel.
    #[must_use]
    pub fn supersample(&self) -> usize {
        self.supersample
    }

    /// The labels, rows of sub-samples from the top.
    #[must_use]
    pub fn labels(&self) -> &[u16] {
        &self.labels
    }

    /// Every label that occurs, but for [`Areas::NONE`].
    pub(crate) fn distinct(&self) -> BTreeSet<u16> {
        let runs = self.labels.chunk_by(|a, b| a == b);
        runs.map(|run| run[0]).filter(|label| *label != Self::NONE).collect()
    }

    /// One label for each pixel: the one with the most sub-samples, the lower
    /// one in a tie.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub fn per_pixel(&self, watch: &Watch) -> Result<Vec<u16>, Stop> {
        let (n, columns) = (self.supersample, self.width * self.supersample);
        let mut pixels = vec![Self::NONE; self.width * self.height];
        watch.run(|| {
            pixels.par_chunks_mut(self.width).enumerate().try_for_each(|(y, out)| {
                watch.check()?;
                let mut found = Vec::with_capacity(n * n);
                for (x, pixel) in out.iter_mut().enumerate() {
                    found.clear();
                    for row in y * n..(y + 1) * n {
                        found.extend_from_slice(&self.labels[row * columns + x * n..][..n]);
                    }
                    *pixel = most(&mut found);
                }
                Ok(())
            })
        })?;
        Ok(pixels)
    }

    /// For one pixel, the share (0 to 1) of sub-samples whose label passes.
    pub(crate) fn share(&self, x: usize, y: usize, passes: impl Fn(u16) -> bool) -> f32 {
        let (n, columns) = (self.supersample, self.width * self.supersample);
        let cells = (y * n..(y + 1) * n).flat_map(|row| &self.labels[row * columns + x * n..][..n]);
        cells.filter(|l| passes(**l)).count() as f32 / (n * n) as f32
    }
}

/// The label that occurs most, the lower one in a tie.
fn most(labels: &mut [u16]) -> u16 {
    labels.sort_unstable();
    let mut best = (0, Areas::NONE);
    for run in labels.chunk_by(|a, b| a == b) {
        if run.len() > best.0 {
            best = (run.len(), run[0]);
        }
    }
    best.1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_most_frequent_label_wins_and_the_lower_one_in_a_tie() {
        assert_eq!(most(&mut [7, 2, 7, 2]), 2);
        assert_eq!(most(&mut [7, Areas::NONE, 7, 2]), 7);
        assert_eq!(most(&mut [Areas::NONE; 4]), Areas::NONE);
    }
}

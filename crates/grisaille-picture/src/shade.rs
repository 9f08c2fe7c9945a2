//! From an item buffer to a picture: a colour for each sub-sample, averaged
//! in linear light.

use crate::item::Kept;
use crate::{Areas, Hit, Image, ItemBuffer};
use grisaille_base::{Stop, Watch};
use grisaille_colour::LinearRgb;
use rayon::prelude::*;
use std::collections::BTreeMap;

impl ItemBuffer {
    /// Paints the picture: `paper` where nothing is seen, and what `colour`
    /// answers for each sub-sample that shows the surface. Colours that are
    /// not finite count as black.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub fn shade(
        &self,
        paper: LinearRgb,
        colour: impl Fn(&Hit) -> LinearRgb + Sync,
        watch: &Watch,
    ) -> Result<Image, Stop> {
        self.painted(paper, |column, row, kept| Some(colour(&self.hit_near(column, row, kept)?)), watch)
    }

    /// The same where it is known what area each sub-sample belongs to: `flat` gives the colour of an area, and where it
    /// has none `colour` answers as in [`ItemBuffer::shade`].
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub(crate) fn shade_areas(
        &self,
        (paper, areas): (LinearRgb, &Areas),
        flat: impl Fn(u16) -> Option<LinearRgb>,
        colour: impl Fn(&Hit) -> LinearRgb + Sync,
        watch: &Watch,
    ) -> Result<Image, Stop> {
        let columns = self.columns();
        let labels = areas.labels();
        let fills: BTreeMap<u16, LinearRgb> =
            areas.distinct().into_iter().filter_map(|label| Some((label, flat(label)?))).collect();
        let at = |column: usize, row: usize, kept: &mut Option<Kept>| match labels[row * columns + column] {
            Areas::NONE => None,
            label => match fills.get(&label) {
                Some(flat) => Some(*flat),
                None => Some(colour(&self.hit_near(column, row, kept)?)),
            },
        };
        self.painted(paper, at, watch)
    }

    /// Paints the picture from the colour of each sub-sample, `None` where it shows paper.
    fn painted(
        &self,
        paper: LinearRgb,
        colour: impl Fn(usize, usize, &mut Option<Kept>) -> Option<LinearRgb> + Sync,
        watch: &Watch,
    ) -> Result<Image, Stop> {
        let n = self.supersample() as usize;
        let width = self.frame().width() as usize;
        let mut image = Image::new(self.frame().width(), self.frame().height(), paper);
        let share = 1.0 / (n * n) as f32;
        watch.run(|| {
            image.rgb_mut().par_chunks_mut(width * 3).enumerate().try_for_each(|(y, row)| {
                watch.check()?;
                let mut kept = None;
                for (x, pixel) in row.chunks_exact_mut(3).enumerate() {
                    let mut sum = LinearRgb::BLACK;
                    let mut seen = false;
                    for at in 0..n * n {
                        let own = colour(x * n + at % n, y * n + at / n, &mut kept);
                        seen |= own.is_some();
                        let c = own.map_or(paper, finite);
                        sum = LinearRgb::new(sum.r + c.r, sum.g + c.g, sum.b + c.b);
                    }
                    if seen {
                        pixel.copy_from_slice(&sum.scaled(share).to_srgb8());
                    }
                }
                Ok(())
            })
        })?;
        Ok(image)
    }
}

/// The colour with components that can be averaged.
fn finite(c: LinearRgb) -> LinearRgb {
    let tame = |v: f32| if v.is_nan() { 0.0 } else { v.clamp(0.0, 1.0) };
    LinearRgb::new(tame(c.r), tame(c.g), tame(c.b))
}

//! From an item buffer to a picture: a colour for each sub-sample, averaged
//! in linear light.

use crate::{Hit, Image, ItemBuffer};
use grisaille_base::{Stop, Watch};
use grisaille_colour::LinearRgb;
use rayon::prelude::*;

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
                        let hit = self.hit_near(x * n + at % n, y * n + at / n, &mut kept);
                        seen |= hit.is_some();
                        let c = hit.map_or(paper, |h| finite(colour(&h)));
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

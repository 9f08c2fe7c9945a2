//! Drawn lines over a picture, and the borders between areas.

use crate::image::mix_stored;
use crate::{Areas, Image};
use grisaille_base::{Stop, Watch};
use grisaille_colour::LinearRgb;
use rayon::prelude::*;

/// How a line is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LineStyle {
    /// Width in pixels.
    pub width_px: f32,
    /// Colour of the line.
    pub ink: LinearRgb,
    /// How much of what is under the line it covers, 0 to 1.
    pub strength: f32,
}

impl LineStyle {
    /// A line of `width_mm` on paper that is printed at `pixels_per_mm`.
    /// 0.12 mm looks like a fine pen.
    #[must_use]
    pub fn on_paper(width_mm: f64, pixels_per_mm: f64, ink: LinearRgb, strength: f32) -> Self {
        Self { width_px: (width_mm * pixels_per_mm) as f32, ink, strength }
    }

    /// Half the width in pixels, held to what can be drawn.
    fn half(self) -> f32 {
        if self.width_px.is_nan() { 0.0 } else { self.width_px.clamp(0.0, 64.0) * 0.5 }
    }
}

impl Areas {
    /// Draws a line wherever two labelled areas meet. The outer rim, where a
    /// label meets paper, gets none: that is the outline's.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub fn borders(&self, image: &mut Image, style: LineStyle, watch: &Watch) -> Result<(), Stop> {
        let labels = self.labels();
        let n = self.supersample();
        let edge = |cell: usize, step: usize, _: usize, _: usize| {
            let (one, two) = (labels[cell], labels[cell + step]);
            one != two && one != Self::NONE && two != Self::NONE
        };
        draw_edges(image, n, (self.width() * n, self.height() * n), edge, style, watch)
    }
}

/// Draws a line through every place between two neighbouring sub-samples for
/// which `edge(cell, step, at, of)` holds.
///
/// Each pixel takes ink by its distance to the nearest such place, so the
/// result does not depend on the order of drawing.
pub(crate) fn draw_edges(
    image: &mut Image,
    n: usize,
    (columns, rows): (usize, usize),
    edge: impl Fn(usize, usize, usize, usize) -> bool + Sync,
    style: LineStyle,
    watch: &Watch,
) -> Result<(), Stop> {
    let (width, height) = (columns / n, rows / n);
    if image.width() as usize != width || image.height() as usize != height {
        return Ok(());
    }
    // Places on edges in pixels, one list for each row of pixels.
    let scale = 1.0 / n as f32;
    let places: Vec<Vec<[f32; 2]>> = watch.run(|| {
        (0..height)
            .into_par_iter()
            .map(|y| {
                watch.check()?;
                let mut found = Vec::new();
                for row in y * n..(y + 1) * n {
                    for column in 0..columns {
                        let cell = row * columns + column;
                        if column + 1 < columns && edge(cell, 1, column, columns) {
                            found.push([(column + 1) as f32 * scale, (row as f32 + 0.5) * scale]);
                        }
                        if row + 1 < rows && edge(cell, columns, row, rows) {
                            found.push([(column as f32 + 0.5) * scale, (row + 1) as f32 * scale]);
                        }
                    }
                }
                Ok(found)
            })
            .collect::<Result<_, Stop>>()
    })?;
    let half = style.half();
    let reach = half + 0.5;
    let around = reach.ceil() as usize + 1;
    let strength = if style.strength.is_nan() { 0.0 } else { style.strength.clamp(0.0, 1.0) };
    watch.run(|| {
        image.rgb_mut().par_chunks_mut(width * 3).enumerate().try_for_each_init(
            || vec![f32::INFINITY; width],
            |nearest, (y, pixels)| {
                watch.check()?;
                nearest.fill(f32::INFINITY);
                let mut any = false;
                let centre = y as f32 + 0.5;
                for [px, py] in places[y.saturating_sub(around)..height.min(y + around + 1)].iter().flatten()
                {
                    let dy = py - centre;
                    if dy.abs() >= reach {
                        continue;
                    }
                    any = true;
                    let from = (px - reach - 0.5).ceil().max(0.0) as usize;
                    let to = ((px + reach - 0.5).floor().max(0.0) as usize).min(width - 1);
                    for (x, stored) in nearest.iter_mut().enumerate().take(to + 1).skip(from) {
                        let dx = px - (x as f32 + 0.5);
                        *stored = stored.min(dx * dx + dy * dy);
                    }
                }
                if any {
                    for (pixel, squared) in pixels.chunks_exact_mut(3).zip(nearest.iter()) {
                        if squared.is_finite() {
                            // A line thinner than a pixel is drawn paler, not dotted.
                            let cover = (reach - squared.sqrt()).clamp(0.0, (2.0 * half).min(1.0));
                            mix_stored(pixel, style.ink, cover * strength);
                        }
                    }
                }
                Ok(())
            },
        )
    })
}

//! The outline: the rim of what is seen, and the edges where one part stands
//! before another.

use crate::line::draw_edges;
use crate::{Image, ItemBuffer, LineStyle};
use grisaille_base::{Stop, Watch};
use rayon::prelude::*;

/// An edge toward the next sub-sample to the right.
const RIGHT: u8 = 1;
/// An edge toward the next sub-sample below.
const DOWN: u8 = 2;
/// One of the two is an edge beyond doubt.
const SURE: u8 = 4;
/// Already followed.
const SEEN: u8 = 8;

impl ItemBuffer {
    /// Draws the outline of what is seen, and the edges where one part stands
    /// before the part behind it.
    ///
    /// An edge begins where the step in depth is at least `depth_jump_mm` and
    /// is followed on while it is at least half of that, so that an edge with
    /// an uneven step is one line and not a row of dashes; runs shorter than
    /// four pixels are left out. (Two thresholds: J. Canny, "A Computational
    /// Approach to Edge Detection", IEEE PAMI 8(6), 1986, section VI.)
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub fn outline(
        &self,
        image: &mut Image,
        depth_jump_mm: f32,
        style: LineStyle,
        watch: &Watch,
    ) -> Result<(), Stop> {
        let (columns, rows) = (self.columns(), self.rows());
        let mut marks = self.marks(depth_jump_mm.max(0.0), watch)?;
        let least = 4 * self.supersample() as usize;
        let mut open: Vec<usize> = Vec::new();
        let mut run = Vec::new();
        let mut kept = vec![0_u8; marks.len()];
        for start in 0..marks.len() {
            if start.is_multiple_of(1 << 16) {
                watch.check()?;
            }
            if marks[start] & (SURE | SEEN) != SURE {
                continue;
            }
            marks[start] |= SEEN;
            open.push(start);
            run.clear();
            while let Some(at) = open.pop() {
                run.push(at);
                let (x, y) = (at % columns, at / columns);
                for row in y.saturating_sub(1)..(y + 2).min(rows) {
                    for column in x.saturating_sub(1)..(x + 2).min(columns) {
                        let next = row * columns + column;
                        if marks[next] & (RIGHT | DOWN) != 0 && marks[next] & SEEN == 0 {
                            marks[next] |= SEEN;
                            open.push(next);
                        }
                    }
                }
            }
            if run.len() >= least {
                for at in &run {
                    kept[*at] = marks[*at] & (RIGHT | DOWN);
                }
            }
        }
        let edge = |cell: usize, step: usize, _: usize, _: usize| {
            kept[cell] & if step == columns { DOWN } else { RIGHT } != 0
        };
        draw_edges(image, self.supersample() as usize, (columns, rows), edge, style, watch)
    }

    /// For each sub-sample whether an edge runs to its right or below it.
    fn marks(&self, jump: f32, watch: &Watch) -> Result<Vec<u8>, Stop> {
        let (columns, rows, depths) = (self.columns(), self.rows(), self.depths());
        // Along a row or a column: `step` cells on, `at` of `of` in that line.
        let edge = |cell: usize, step: usize, at: usize, of: usize, jump: f32| {
            let (one, two) = (depths[cell], depths[cell + step]);
            match (one.is_finite(), two.is_finite()) {
                (false, false) => false,
                (true, true) => {
                    if (two - one).abs() <= jump {
                        return false;
                    }
                    // A steep slope is no edge: what counts is how far each
                    // side lies from where the other side's slope leads.
                    let before = if at > 0 { depths[cell - step] } else { one };
                    let after = if at + 2 < of { depths[cell + 2 * step] } else { two };
                    let slope = |d: f32| if d.is_finite() { d } else { 0.0 };
                    let from_one = two - one - slope(one - before);
                    let from_two = two - one - slope(after - two);
                    from_one.abs().min(from_two.abs()) > jump
                        && (from_one > 0.0) == (two > one)
                        && (from_two > 0.0) == (two > one)
                }
                _ => true,
            }
        };
        let mut marks = vec![0_u8; columns * rows];
        watch.run(|| {
            marks.par_chunks_mut(columns).enumerate().try_for_each(|(row, marks)| {
                watch.check()?;
                for (column, mark) in marks.iter_mut().enumerate() {
                    let cell = row * columns + column;
                    for (way, step, at, of) in [(RIGHT, 1, column, columns), (DOWN, columns, row, rows)] {
                        if at + 1 < of && edge(cell, step, at, of, 0.5 * jump) {
                            *mark |= way;
                            if edge(cell, step, at, of, jump) {
                                *mark |= SURE;
                            }
                        }
                    }
                }
                Ok(())
            })
        })?;
        Ok(marks)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Frame, View};
    use grisaille_colour::LinearRgb;
    use nalgebra::Point3;

    /// A level step, seen from the front: a near plate below z = 5, behind it
    /// a wall that is `behind(x)` mm farther off.
    fn step(behind: impl Fn(usize) -> f32) -> Vec<bool> {
        let mut points = Vec::new();
        let mut faces = Vec::new();
        let mut quad = |corners: [[f32; 3]; 4]| {
            let first = points.len() as u32;
            points.extend(corners.map(Point3::from));
            faces.extend([[first, first + 1, first + 2], [first, first + 2, first + 3]]);
        };
        quad([[0.0, 0.0, 0.0], [20.0, 0.0, 0.0], [20.0, 0.0, 5.0], [0.0, 0.0, 5.0]]);
        for x in 0..20 {
            let (l, r) = (x as f32, x as f32 + 1.0);
            let (a, b) = (behind(x), behind(x + 1));
            quad([[l, a, 4.0], [r, b, 4.0], [r, b, 10.0], [l, a, 10.0]]);
        }
        let watch = Watch::quiet();
        let frame = Frame::new(View::front(), 0.1, 200, 100, Point3::new(10.0, 0.0, 5.0));
        let items = ItemBuffer::draw(&points, &faces, |_| true, &frame, 2, &watch).unwrap();
        let mut image = Image::new(200, 100, LinearRgb::WHITE);
        let style = LineStyle { width_px: 2.0, ink: LinearRgb::BLACK, strength: 1.0 };
        items.outline(&mut image, 1.0, style, &watch).unwrap();
        // Along the step, away from the picture's own rim.
        (5..195).map(|x| image.pixel(x, 50).unwrap()[0] < 128).collect()
    }

    #[test]
    fn a_step_of_uneven_depth_is_one_line_and_not_dashes() {
        let uneven = step(|x| if x % 4 < 2 { 1.2 } else { 0.7 });
        assert!(uneven.iter().all(|dark| *dark), "{uneven:?}");
        assert!(step(|_| 0.7).iter().all(|dark| !dark));
        // It ends where the step has gone, and does not come back dashed.
        let fading = step(|x| 1.3 - 0.1 * x as f32);
        assert_eq!(fading.windows(2).filter(|w| w[0] != w[1]).count(), 1, "{fading:?}");
    }
}

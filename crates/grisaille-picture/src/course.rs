//! Lines in space, drawn where they are seen.

use crate::{Image, ItemBuffer};
use grisaille_colour::LinearRgb;
use nalgebra::Point3;

/// How a line in space is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CourseStyle {
    /// Its width in pixels.
    pub width_px: f32,
    /// Its colour.
    pub ink: LinearRgb,
    /// How far behind what is seen it may lie, in mm: lines are evened out, and
    /// leave the surface a little.
    pub behind_mm: f64,
}

impl ItemBuffer {
    /// Draws a line through points in mm over a picture of this view, leaving out what is
    /// hidden. Points that are not finite part it.
    pub fn course(&self, image: &mut Image, points: &[Point3<f32>], closed: bool, style: CourseStyle) {
        let ends = points
            .iter()
            .zip(points.iter().skip(1))
            .chain(closed.then_some(()).and_then(|()| points.last().zip(points.first())));
        for (a, b) in ends {
            let [p, q] = [a, b].map(|p| self.frame().project(*p));
            let length = (q[0] - p[0]).hypot(q[1] - p[1]);
            if !length.is_finite() || length > 1e5 {
                continue;
            }
            // In steps of about a pixel, each drawn a little too long, so that no gap is left.
            let steps = length.ceil().max(1.0);
            let at = |s: f64| [0, 1, 2].map(|k| p[k] + (q[k] - p[k]) * s);
            let mut begun: Option<f64> = None;
            for k in 0..=steps as usize {
                let s = k as f64 / steps;
                let seen = k < steps as usize && self.seen(at((k as f64 + 0.5) / steps), style.behind_mm);
                match (seen, begun) {
                    (true, None) => begun = Some(s),
                    (false, Some(from)) => {
                        let over = 0.4 * f64::from(style.width_px) / length.max(1e-9);
                        let [a, b] = [at(from - over), at(s + over)].map(|p| [p[0] as f32, p[1] as f32]);
                        image.stroke(a, b, style.width_px, style.ink);
                        begun = None;
                    }
                    _ => {}
                }
            }
        }
    }

    /// Draws a filled round spot at a point in mm, if it is seen.
    pub fn spot(&self, image: &mut Image, point: Point3<f32>, style: CourseStyle) {
        let p = self.frame().project(point);
        if !self.seen(p, style.behind_mm) {
            return;
        }
        let radius = 0.5 * f64::from(style.width_px);
        let reach = radius.ceil() as i64 + 1;
        let (x, y) = (p[0].floor() as i64, p[1].floor() as i64);
        for v in y - reach..=y + reach {
            for u in x - reach..=x + reach {
                let far = (u as f64 + 0.5 - p[0]).hypot(v as f64 + 0.5 - p[1]);
                let share = (radius + 0.5 - far).clamp(0.0, 1.0);
                if share > 0.0 {
                    image.mix_light(u, v, style.ink, share as f32);
                }
            }
        }
    }

    /// Whether a point in mm is seen, or lies no more than so many mm behind what is.
    #[must_use]
    pub fn shows(&self, point: Point3<f32>, behind_mm: f64) -> bool {
        self.seen(self.frame().project(point), behind_mm)
    }

    /// Whether a place on the picture (pixels and depth in mm) is not hidden.
    fn seen(&self, place: [f64; 3], behind_mm: f64) -> bool {
        let n = f64::from(self.supersample());
        let (column, row) = ((place[0] * n).floor(), (place[1] * n).floor());
        if !(column >= 0.0 && row >= 0.0 && column < self.columns() as f64 && row < self.rows() as f64) {
            return false;
        }
        let nearest = self.depths()[row as usize * self.columns() + column as usize];
        place[2] + behind_mm >= f64::from(nearest)
    }
}

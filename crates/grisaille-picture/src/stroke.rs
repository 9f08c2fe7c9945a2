//! A straight, anti-aliased stroke on a picture.

use crate::Image;
use grisaille_colour::LinearRgb;

impl Image {
    /// Draws a straight stroke from `a` to `b` (pixels, x then y), `width_px`
    /// wide with flat ends. What leaves the picture is cut off; a stroke that
    /// is not finite is not drawn.
    pub fn stroke(&mut self, a: [f32; 2], b: [f32; 2], width_px: f32, ink: LinearRgb) {
        if !(a.iter().chain(&b).all(|v| v.is_finite()) && width_px.is_finite()) {
            return;
        }
        let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
        let length = dx.hypot(dy);
        if length <= 0.0 {
            return;
        }
        let (dx, dy) = (dx / length, dy / length);
        let half = 0.5 * width_px.max(0.0);
        let bounds = |p: f32, q: f32, size: u32| {
            let from = (p.min(q) - half - 1.0).floor().max(0.0) as i64;
            (from, (p.max(q) + half + 1.0).ceil().min(size as f32) as i64)
        };
        let (left, right) = bounds(a[0], b[0], self.width());
        let (top, bottom) = bounds(a[1], b[1], self.height());
        for y in top..bottom {
            for x in left..right {
                let (px, py) = (x as f32 + 0.5 - a[0], y as f32 + 0.5 - a[1]);
                let (along, across) = (px * dx + py * dy, (px * dy - py * dx).abs());
                // How much of a pixel-wide window lies within the stroke.
                let inside =
                    |v: f32, low: f32, high: f32| ((v + 0.5).min(high) - (v - 0.5).max(low)).clamp(0.0, 1.0);
                let share = inside(along, 0.0, length) * inside(across, -half, half);
                if share > 0.0 {
                    self.mix_light(x, y, ink, share);
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stroke_on_whole_pixels_is_crisp() {
        let mut image = Image::new(10, 10, LinearRgb::WHITE);
        image.stroke([2.0, 5.0], [8.0, 5.0], 2.0, LinearRgb::BLACK);
        let dark = image.rgb().chunks(3).filter(|p| *p == [0, 0, 0]).count();
        let white = image.rgb().chunks(3).filter(|p| *p == [255, 255, 255]).count();
        assert_eq!((dark, white), (12, 88));
    }

    #[test]
    fn senseless_strokes_are_not_drawn() {
        let mut image = Image::new(5, 5, LinearRgb::WHITE);
        let blank = image.clone();
        image.stroke([1.0, 1.0], [1.0, 1.0], 3.0, LinearRgb::BLACK);
        image.stroke([f32::NAN, 1.0], [4.0, 1.0], 3.0, LinearRgb::BLACK);
        image.stroke([1e30, 1.0], [2e30, 1.0], 3.0, LinearRgb::BLACK);
        image.stroke([0.0, 1.0], [5.0, 1.0], f32::INFINITY, LinearRgb::BLACK);
        assert_eq!(image, blank);
    }
}

//! A frame: which part of the scene a picture shows, and at what scale.

use crate::View;
use nalgebra::{Point3, Vector3};

/// The rectangle of a picture laid over the scene, true to scale. Width and
/// height are 1 to [`Frame::MAX_SIDE`] pixels and hold no more than
/// [`Frame::MAX_PIXELS`] pixels; all numbers are finite.
#[derive(Clone, Debug, PartialEq)]
pub struct Frame {
    view: View,
    mm_per_pixel: f64,
    width: u32,
    height: u32,
    centre: Point3<f64>,
}

impl Frame {
    /// The longest side of a picture in pixels.
    pub const MAX_SIDE: u32 = 8192;
    /// The most pixels of a picture: a page of A4 at 300 dots an inch and a third more.
    pub const MAX_PIXELS: u64 = 12_000_000;
    /// The scale used where none, or no sensible one, is asked for: 300 dots an inch.
    pub const DEFAULT_PIXELS_PER_MM: f64 = 300.0 / 25.4;

    /// A frame of `width` x `height` pixels around the scene point `centre`.
    ///
    /// Sizes are clamped to the caps, the height last; a scale that is not a
    /// positive finite number becomes the default, a centre that is not
    /// finite the origin.
    #[must_use]
    pub fn new(view: View, mm_per_pixel: f64, width: u32, height: u32, centre: Point3<f64>) -> Self {
        let width = width.clamp(1, Self::MAX_SIDE);
        let tallest = (Self::MAX_PIXELS / u64::from(width)).min(u64::from(Self::MAX_SIDE)) as u32;
        let sensible = mm_per_pixel.is_finite() && mm_per_pixel > 1e-300;
        Self {
            view,
            mm_per_pixel: if sensible { mm_per_pixel } else { 1.0 / Self::DEFAULT_PIXELS_PER_MM },
            width,
            height: height.clamp(1, tallest),
            centre: if centre.coords.iter().all(|c| c.is_finite()) { centre } else { Point3::origin() },
        }
    }

    /// The frame that just holds all `points` (mm) and a margin around them.
    ///
    /// The scale is `pixels_per_mm` unless the picture would pass the caps:
    /// then it is drawn smaller, and [`Frame::mm_per_pixel`] says how much.
    /// Points that are not finite are left out; without points the frame is
    /// the margin around the origin.
    #[must_use]
    pub fn fit(points: &[Point3<f32>], view: View, pixels_per_mm: f64, margin_mm: f64) -> Self {
        let mut low = Vector3::repeat(f64::INFINITY);
        let mut high = Vector3::repeat(f64::NEG_INFINITY);
        for p in points.iter().filter(|p| p.coords.iter().all(|c| c.is_finite())) {
            let v: Vector3<f64> = p.coords.cast();
            let seen = Vector3::new(v.dot(&view.right()), v.dot(&view.up()), v.dot(&view.toward()));
            low = low.inf(&seen);
            high = high.sup(&seen);
        }
        if low.x > high.x {
            (low, high) = (Vector3::zeros(), Vector3::zeros());
        }
        let middle = (low + high) * 0.5;
        let centre = Point3::from(view.right() * middle.x + view.up() * middle.y + view.toward() * middle.z);
        let margin = if margin_mm.is_finite() { margin_mm.max(0.0) } else { 0.0 };
        let (wide, tall) = (high.x - low.x + 2.0 * margin, high.y - low.y + 2.0 * margin);
        let sensible = pixels_per_mm.is_finite() && pixels_per_mm > 0.0;
        let asked = if sensible { pixels_per_mm } else { Self::DEFAULT_PIXELS_PER_MM };
        // One pixel less than the caps, since sides are rounded up.
        let side = f64::from(Self::MAX_SIDE - 1);
        let mut scale = asked.min(side / wide.max(tall).max(1e-30));
        let pixels = (wide * scale + 1.0) * (tall * scale + 1.0);
        if pixels > Self::MAX_PIXELS as f64 {
            scale *= (Self::MAX_PIXELS as f64 / pixels).sqrt();
        }
        let pixels = |mm: f64| (mm * scale).ceil().clamp(1.0, side + 1.0) as u32;
        Self::new(view, 1.0 / scale, pixels(wide), pixels(tall), centre)
    }

    /// The direction of looking.
    #[must_use]
    pub fn view(&self) -> &View {
        &self.view
    }

    /// Millimetres of the scene for one pixel.
    #[must_use]
    pub fn mm_per_pixel(&self) -> f64 {
        self.mm_per_pixel
    }

    /// Width in pixels.
    #[must_use]
    pub fn width(&self) -> u32 {
        self.width
    }

    /// Height in pixels.
    #[must_use]
    pub fn height(&self) -> u32 {
        self.height
    }

    /// The scene point (mm) in the middle of the picture.
    #[must_use]
    pub fn centre(&self) -> Point3<f64> {
        self.centre
    }

    /// Where a scene point (mm) falls: pixels to the right of the left edge,
    /// pixels below the upper edge, and millimetres in front of the centre
    /// (more is nearer to the viewer).
    #[must_use]
    pub fn project(&self, point: Point3<f32>) -> [f64; 3] {
        let from_centre = point.coords.cast::<f64>() - self.centre.coords;
        [
            f64::from(self.width) * 0.5 + from_centre.dot(&self.view.right()) / self.mm_per_pixel,
            f64::from(self.height) * 0.5 - from_centre.dot(&self.view.up()) / self.mm_per_pixel,
            from_centre.dot(&self.view.toward()),
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn corners(size: f32) -> Vec<Point3<f32>> {
        (0..8).map(|i| Point3::new(i & 1, i >> 1 & 1, i >> 2 & 1).cast::<f32>() * size).collect()
    }

    #[test]
    fn a_box_is_fitted_true_to_scale() {
        let frame = Frame::fit(&corners(30.0), View::front(), 10.0, 2.0);
        assert_eq!((frame.width(), frame.height()), (340, 340));
        assert_eq!(frame.mm_per_pixel(), 0.1);
        let [x, y, depth] = frame.project(Point3::new(0.0, 0.0, 30.0));
        assert!((x - 20.0).abs() < 1e-9 && (y - 20.0).abs() < 1e-9 && (depth - 15.0).abs() < 1e-9);
    }

    #[test]
    fn no_model_makes_a_picture_past_the_caps() {
        let line = vec![Point3::new(0.0, 0.0, 0.0), Point3::new(f32::MAX, 0.0, 0.0)];
        let nan = vec![Point3::new(f32::NAN, 0.0, 0.0)];
        for points in
            [corners(f32::MAX), corners(-f32::MAX), corners(1e-38), corners(5000.0), line, nan, vec![]]
        {
            for scale in [0.0, -1.0, f64::NAN, f64::INFINITY, 1e-200, 1e300, 12.0] {
                for margin in [0.0, f64::NAN, f64::INFINITY, -3.0, 2.0, 1e300] {
                    for view in View::all() {
                        let f = Frame::fit(&points, view, scale, margin);
                        assert!((1..=Frame::MAX_SIDE).contains(&f.width()));
                        assert!((1..=Frame::MAX_SIDE).contains(&f.height()));
                        assert!(u64::from(f.width()) * u64::from(f.height()) <= Frame::MAX_PIXELS);
                        assert!(f.mm_per_pixel() > 0.0 && f.mm_per_pixel().is_finite());
                        assert!(f.centre().coords.iter().all(|c| c.is_finite()));
                    }
                }
            }
        }
    }

    #[test]
    fn a_capped_frame_still_holds_the_whole_box() {
        let points = corners(900.0);
        let f = Frame::fit(&points, View::three_quarter(), 50.0, 1.0);
        for p in points {
            let [x, y, _] = f.project(p);
            assert!(x >= 0.0 && x <= f64::from(f.width()) && y >= 0.0 && y <= f64::from(f.height()));
        }
    }
}

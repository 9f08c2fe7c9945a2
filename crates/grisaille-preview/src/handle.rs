//! Where a light is taken hold of, and what dragging does to it.

use crate::camera::Camera;
use grisaille_light::toward;
use nalgebra::{Point3, Vector3};

/// An axis of the scene.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Axis {
    /// Toward the viewer's right, seen from the front.
    X,
    /// Toward the back.
    Y,
    /// Up.
    Z,
}

impl Axis {
    /// The three axes.
    pub const ALL: [Self; 3] = [Self::X, Self::Y, Self::Z];

    /// Its unit vector.
    #[must_use]
    pub fn vector(self) -> Vector3<f64> {
        match self {
            Self::X => Vector3::x(),
            Self::Y => Vector3::y(),
            Self::Z => Vector3::z(),
        }
    }

    /// What its coordinate is called.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::X => "Right",
            Self::Y => "Back",
            Self::Z => "Up",
        }
    }
}

/// How high above the surface a lamp is put when it is placed with a click: an
/// eighth of the figure's height.
#[must_use]
pub fn placing_height(figure_height: f64) -> f64 {
    figure_height.max(0.0) / 8.0
}

/// The place at a height above a spot of the surface.
#[must_use]
pub fn above(point: Point3<f64>, normal: Vector3<f64>, height: f64) -> Point3<f64> {
    point + normal.try_normalize(1e-12).unwrap_or_else(Vector3::zeros) * height
}

/// A lamp moved across the line of sight by some points of the screen.
#[must_use]
pub fn across(at: Point3<f64>, by: [f64; 2], camera: &Camera) -> Point3<f64> {
    let view = camera.view();
    at + (view.right() * by[0] - view.up() * by[1]) * camera.mm_per_point()
}

/// A lamp moved along an axis so that it keeps up with the hand. An axis that
/// points nearly at the viewer moves it nearer as the hand pulls down.
#[must_use]
pub fn along(at: Point3<f64>, axis: Axis, by: [f64; 2], camera: &Camera) -> Point3<f64> {
    let view = camera.view();
    let vector = axis.vector();
    let seen = [vector.dot(&view.right()), -vector.dot(&view.up())];
    let length = seen[0].hypot(seen[1]);
    let points = if length > 0.15 {
        (by[0] * seen[0] + by[1] * seen[1]) / (length * length)
    } else {
        by[1] * vector.dot(&view.toward()).signum()
    };
    at + vector * (points * camera.mm_per_point())
}

/// The place of a zenithal light on its dome, seen from above with the front
/// at the foot: right and down, 0 in the middle to 1 at the rim, where the light
/// comes level.
#[must_use]
pub fn on_dome(tilt: f64, azimuth: f64) -> [f64; 2] {
    let (sin, cos) = azimuth.to_radians().sin_cos();
    let r = (tilt / 90.0).clamp(0.0, 1.0);
    [r * sin, r * cos]
}

/// Tilt and azimuth, in whole degrees, of a place on the dome; places beyond
/// the rim are taken to it.
#[must_use]
pub fn from_dome(place: [f64; 2]) -> [f64; 2] {
    let r = place[0].hypot(place[1]);
    if !r.is_finite() || r < 1e-9 {
        return [0.0, 0.0];
    }
    let tilt = (r.min(1.0) * 90.0).round();
    let azimuth = place[0].atan2(place[1]).to_degrees().round();
    [tilt, if tilt == 0.0 { 0.0 } else { azimuth }]
}

/// Where a distant light is drawn: outside the figure, in the direction from
/// which it comes.
#[must_use]
pub(crate) fn far_handle(tilt: f64, azimuth: f64, middle: Point3<f64>, diagonal: f64) -> Point3<f64> {
    middle + toward(tilt, azimuth).into_inner() * (0.58 * diagonal)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::side::Side;
    use grisaille_mesh::Bounds;

    const SIZE: [f64; 2] = [640.0, 480.0];

    fn cameras() -> Vec<Camera> {
        let bounds = Bounds { low: [-10.0, -8.0, 0.0], high: [10.0, 8.0, 54.0] };
        Side::ALL.iter().map(|s| Camera::fit(&bounds, *s, SIZE)).collect()
    }

    #[test]
    fn a_lamp_dragged_across_follows_the_pointer() {
        let at = Point3::new(3.0, -12.0, 40.0);
        for camera in cameras() {
            let before = camera.project(at, SIZE);
            let after = camera.project(across(at, [17.0, -9.0], &camera), SIZE);
            assert!((after[0] - before[0] - 17.0).abs() < 1e-9 && (after[1] - before[1] + 9.0).abs() < 1e-9);
            assert!((after[2] - before[2]).abs() < 1e-9, "its depth stays");
        }
    }

    #[test]
    fn a_lamp_on_an_axis_stays_on_it_and_keeps_up_with_the_hand() {
        let at = Point3::new(3.0, -12.0, 40.0);
        for camera in cameras() {
            for axis in Axis::ALL {
                let end = along(at, axis, [20.0, -15.0], &camera);
                assert!((end - at).cross(&axis.vector()).norm() < 1e-9);
                let (a, b) = (camera.project(at, SIZE), camera.project(end, SIZE));
                let moved = [b[0] - a[0], b[1] - a[1]];
                // What the hand does beside the axis changes nothing: the rest
                // of its way stands at a right angle to the lamp's.
                let rest = [20.0 - moved[0], -15.0 - moved[1]];
                let seen = moved[0].hypot(moved[1]);
                if seen > 1.0 {
                    assert!((rest[0] * moved[0] + rest[1] * moved[1]).abs() < 1e-6 * seen, "{axis:?}");
                }
            }
        }
        // Seen from the front the depth axis is moved by pulling down: nearer.
        let front = cameras()[0];
        assert!(along(at, Axis::Y, [0.0, 10.0], &front).y < at.y);
    }

    #[test]
    fn the_dome_and_its_light_agree() {
        for tilt in [0.0, 15.0, 45.0, 90.0] {
            for azimuth in [-170.0, -90.0, 0.0, 20.0, 135.0, 180.0] {
                let [t, a] = from_dome(on_dome(tilt, azimuth));
                assert_eq!(t, tilt);
                if tilt > 0.0 {
                    assert_eq!(a, azimuth);
                }
            }
        }
        // Front is at the foot, the viewer's right on the right.
        assert!(on_dome(45.0, 0.0)[1] > 0.4 && on_dome(45.0, 90.0)[0] > 0.4);
        assert_eq!(from_dome([3.0, 0.0]), [90.0, 90.0]);
        assert_eq!(from_dome([f64::NAN, 0.0]), [0.0, 0.0]);
    }

    #[test]
    fn a_placed_lamp_stands_off_the_surface() {
        let lamp = above(Point3::new(1.0, 2.0, 3.0), Vector3::new(0.0, -2.0, 0.0), 5.0);
        assert_eq!(lamp, Point3::new(1.0, -3.0, 3.0));
        assert_eq!(above(lamp, Vector3::zeros(), 5.0), lamp);
        assert_eq!(placing_height(54.0), 6.75);
    }
}

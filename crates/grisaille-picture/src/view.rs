//! A view: the direction from which a figure is looked at, straight on and
//! without perspective, so that lengths can be measured on paper.
//!
//! The scene is right-handed with +Z up, and a figure faces -Y. Left and
//! right are the *viewer's*: stand before the figure's face and look at it;
//! [`View::left_side`] is what you see after walking round it to your left, so it
//! shows the figure's own right side.
//!
//! ```text
//!            back  (+Y)
//!              |
//!  left (-X) --o-- right (+X)       seen from above
//!              |
//!           front  (-Y)
//! ```

use nalgebra::Vector3;
use std::borrow::Cow;

/// A direction of looking, with the directions that are right and up on the
/// picture. The three unit vectors are right-handed: right x up = toward.
#[derive(Clone, Debug, PartialEq)]
pub struct View {
    words: Cow<'static, str>,
    right: Vector3<f64>,
    up: Vector3<f64>,
    toward: Vector3<f64>,
}

impl View {
    /// From the front, looking from -Y toward +Y.
    #[must_use]
    pub fn front() -> Self {
        Self::named("From the front", 0.0, 0.0)
    }

    /// From behind, looking from +Y toward -Y.
    #[must_use]
    pub fn back() -> Self {
        Self::named("From behind", 180.0, 0.0)
    }

    /// From the viewer's left (-X): the figure's own right side.
    #[must_use]
    pub fn left_side() -> Self {
        Self::named("From your left", -90.0, 0.0)
    }

    /// From the viewer's right (+X): the figure's own left side.
    #[must_use]
    pub fn right_side() -> Self {
        Self::named("From your right", 90.0, 0.0)
    }

    /// Straight down from above; the figure's front is at the foot of the picture.
    #[must_use]
    pub fn above() -> Self {
        Self::named("From above", 0.0, 90.0)
    }

    /// Straight up from below, as if the figure were tipped onto its back: its front is at the
    /// top of the picture.
    #[must_use]
    pub fn below() -> Self {
        Self::named("From below", 0.0, -90.0)
    }

    /// Three-quarter view: 35° round to the viewer's left and 20° above.
    #[must_use]
    pub fn three_quarter() -> Self {
        Self::named("Three-quarter view", -35.0, 20.0)
    }

    /// The six named views: front, back, left, right, above, three-quarter.
    #[must_use]
    pub fn all() -> [Self; 6] {
        [
            Self::front(),
            Self::back(),
            Self::left_side(),
            Self::right_side(),
            Self::above(),
            Self::three_quarter(),
        ]
    }

    /// A view from any side, in degrees.
    ///
    /// `azimuth` 0 is the front and turns toward the viewer's right (+X);
    /// `elevation` 0 is level, 90 straight from above, -90 from below, and is
    /// clamped to that. An angle that is not a finite number counts as 0.
    #[must_use]
    pub fn from_angles(azimuth: f64, elevation: f64) -> Self {
        let azimuth = if azimuth.is_finite() { azimuth % 360.0 } else { 0.0 };
        let elevation = if elevation.is_finite() { elevation.clamp(-90.0, 90.0) } else { 0.0 };
        let (sin_a, cos_a) = sin_cos_degrees(azimuth);
        let (sin_e, cos_e) = sin_cos_degrees(elevation);
        let toward = Vector3::new(sin_a * cos_e, -cos_a * cos_e, sin_e);
        let right = Vector3::new(cos_a, sin_a, 0.0);
        let side = match azimuth.round() {
            a if a.abs() < 0.5 => "front".to_owned(),
            a if a < 0.0 => format!("{:.0}° to your left", -a),
            a => format!("{a:.0}° to your right"),
        };
        let words = match elevation.round() {
            e if e.abs() < 0.5 => format!("View from {side}"),
            e if e < 0.0 => format!("View from {side}, {:.0}° below", -e),
            e => format!("View from {side}, {e:.0}° above"),
        };
        Self { words: Cow::Owned(words), right, up: toward.cross(&right), toward }
    }

    fn named(words: &'static str, azimuth: f64, elevation: f64) -> Self {
        Self { words: Cow::Borrowed(words), ..Self::from_angles(azimuth, elevation) }
    }

    /// The view in a painter's words, such as "From the front".
    #[must_use]
    pub fn words(&self) -> &str {
        &self.words
    }

    /// The scene direction that points right on the picture (unit length).
    #[must_use]
    pub fn right(&self) -> Vector3<f64> {
        self.right
    }

    /// The scene direction that points up on the picture (unit length).
    #[must_use]
    pub fn up(&self) -> Vector3<f64> {
        self.up
    }

    /// The scene direction that points toward the viewer (unit length).
    #[must_use]
    pub fn toward(&self) -> Vector3<f64> {
        self.toward
    }
}

/// Sine and cosine of degrees, exact at the quarter turns so that the level
/// views have no stray 1e-17.
fn sin_cos_degrees(degrees: f64) -> (f64, f64) {
    match degrees {
        0.0 => (0.0, 1.0),
        90.0 | -270.0 => (1.0, 0.0),
        -90.0 | 270.0 => (-1.0, 0.0),
        180.0 | -180.0 => (0.0, -1.0),
        d => d.to_radians().sin_cos(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_view_is_right_handed_and_of_unit_length() {
        let odd = [(12.0, 34.0), (-400.0, -90.0), (f64::NAN, f64::INFINITY), (1e300, 89.0)];
        for view in View::all().into_iter().chain(odd.map(|(a, e)| View::from_angles(a, e))) {
            assert!((view.right().cross(&view.up()) - view.toward()).norm() < 1e-12, "{view:?}");
            for v in [view.right(), view.up(), view.toward()] {
                assert!((v.norm() - 1.0).abs() < 1e-12, "{view:?}");
            }
        }
    }

    #[test]
    fn named_views_look_from_where_they_say() {
        let (x, y, z) = (Vector3::x(), Vector3::y(), Vector3::z());
        for (view, toward, right, up) in [
            (View::front(), -y, x, z),
            (View::back(), y, -x, z),
            (View::left_side(), -x, -y, z),
            (View::right_side(), x, y, z),
            (View::above(), z, x, y),
            (View::below(), -z, x, -y),
        ] {
            assert_eq!((view.toward(), view.right(), view.up()), (toward, right, up), "{}", view.words());
        }
        let t = View::three_quarter().toward();
        assert!(t.x < 0.0 && t.y < 0.0 && t.z > 0.0);
        assert!((t.z.asin().to_degrees() - 20.0).abs() < 1e-9);
        assert!(((-t.x).atan2(-t.y).to_degrees() - 35.0).abs() < 1e-9);
    }

    #[test]
    fn free_angles_are_put_into_words() {
        assert_eq!(View::from_angles(40.0, -10.0).words(), "View from 40° to your right, 10° below");
        assert_eq!(View::from_angles(0.0, 0.0).words(), "View from front");
    }
}

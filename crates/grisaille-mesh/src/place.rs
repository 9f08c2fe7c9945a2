//! How a file's axes and numbers become scene millimetres.

use crate::layers::Printed;
use crate::soup::Point;
use nalgebra::{Rotation3, Vector3};
use serde::{Deserialize, Serialize};

/// The axis of the file that points up.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum UpAxis {
    /// +Z up, the print convention.
    #[default]
    Z,
    /// +Y up, as sculpting programs often write.
    Y,
}

/// The unit of the file's numbers. STL does not carry one.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Unit {
    /// Millimetres, the print convention.
    #[default]
    Mm,
    /// Inches of 25.4 mm.
    Inch,
    /// Metres.
    M,
}

impl Unit {
    /// Millimetres in one unit.
    #[must_use]
    pub fn millimetres(self) -> f64 {
        match self {
            Self::Mm => 1.0,
            Self::Inch => 25.4,
            Self::M => 1000.0,
        }
    }
}

/// What the user knows of the file and the file does not say.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct ReadSettings {
    /// Which axis of the file points up.
    pub up: UpAxis,
    /// The direction of the file, after `up`, that is turned to point down, as
    /// [`crate::upright`] finds it, of any length; all 0 leaves the model as it is. Finite.
    pub down: [f64; 3],
    /// The unit of the file's numbers; not used when `height` is given.
    pub unit: Unit,
    /// The height of the printed model's box in millimetres, base included;
    /// scales the model to it. Positive and finite.
    pub height: Option<f64>,
    /// Degrees that the model is turned about the upright axis through the middle of
    /// its box, counterclockwise as seen from above. Finite.
    pub turn: f64,
    /// How far it is moved, after scaling and turning, in millimetres.
    pub at: [f64; 3],
    /// Points are one only where they are equal bit for bit, as the file has its pieces; else also at open edges where
    /// they are equal but for rounding.
    pub exact: bool,
    /// How it was printed, in level layers as the model stands in the file after `up`, if that is known.
    pub printed: Option<Printed>,
}

/// Turns and scales a file's points in place. Turning is a permutation of
/// coordinates, so it is exact; scaling rounds each coordinate once. Says whether
/// any number was reckoned anew.
pub(crate) fn scene_from_file(points: &mut [Point], settings: &ReadSettings) -> bool {
    if settings.up == UpAxis::Y {
        // A quarter turn about +X: file +Y becomes +Z, file +Z (front) becomes −Y.
        for corner in points.iter_mut() {
            *corner = [corner[0], -corner[2], corner[1]];
        }
    }
    let stood = stand(points, settings.down);
    let scale = match settings.height {
        Some(height) => {
            let mut low = f64::INFINITY;
            let mut high = f64::NEG_INFINITY;
            for corner in points.iter() {
                low = low.min(f64::from(corner[2]));
                high = high.max(f64::from(corner[2]));
            }
            if high > low { height / (high - low) } else { 1.0 }
        }
        None => settings.unit.millimetres(),
    };
    if scale != 1.0 {
        for x in points.iter_mut().flatten() {
            *x = (f64::from(*x) * scale) as f32;
        }
    }
    if settings.turn != 0.0 || settings.at != [0.0; 3] {
        set_down(points, settings.turn, settings.at);
        return true;
    }
    stood || scale != 1.0
}

/// Turns points the shortest way that makes a direction point down; whether there is one. Each
/// coordinate is rounded once.
fn stand(points: &mut [Point], down: [f64; 3]) -> bool {
    let Some(turn) = upward(down) else { return false };
    for corner in points.iter_mut() {
        *corner = (turn * Vector3::from(corner.map(f64::from))).cast::<f32>().into();
    }
    true
}

/// The shortest turn that makes a direction point down, if there is one.
fn upward(down: [f64; 3]) -> Option<Rotation3<f64>> {
    // Straight up turns over sideways.
    Vector3::from(down).try_normalize(0.0).map(|d| {
        Rotation3::rotation_between(&d, &-Vector3::z())
            .unwrap_or_else(|| Rotation3::from_axis_angle(&Vector3::y_axis(), std::f64::consts::PI))
    })
}

/// Where the way up of the print leads once the model stands in the scene: a unit vector.
pub(crate) fn printed_up(settings: &ReadSettings) -> [f64; 3] {
    let stood = upward(settings.down).map_or_else(Vector3::z, |turn| turn * Vector3::z());
    (Rotation3::from_axis_angle(&Vector3::z_axis(), settings.turn.to_radians()) * stood).into()
}

/// Turns points about the upright axis through the middle of its box and moves it.
/// Each coordinate is rounded once; quarter turns are exact but for that.
fn set_down(points: &mut [Point], turn: f64, at: [f64; 3]) {
    let middle = [0, 1].map(|axis| {
        let of = points.iter().map(|corner| f64::from(corner[axis]));
        let (low, high) = of.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), x| (l.min(x), h.max(x)));
        0.5 * (low + high)
    });
    let (sin, cos) = match turn.rem_euclid(360.0) {
        0.0 => (0.0, 1.0),
        90.0 => (1.0, 0.0),
        180.0 => (0.0, -1.0),
        270.0 => (-1.0, 0.0),
        turn => turn.to_radians().sin_cos(),
    };
    for corner in points.iter_mut() {
        let [x, y] = [0, 1].map(|axis| f64::from(corner[axis]) - middle[axis]);
        let turned = [middle[0] + cos * x - sin * y, middle[1] + sin * x + cos * y, f64::from(corner[2])];
        *corner = [0, 1, 2].map(|axis| (turned[axis] + at[axis]) as f32);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The box of some points.
    fn bounds(soup: &[Point]) -> [[f32; 2]; 3] {
        [0, 1, 2].map(|axis| {
            let of = || soup.iter().map(|corner| corner[axis]);
            [of().fold(f32::INFINITY, f32::min), of().fold(f32::NEG_INFINITY, f32::max)]
        })
    }

    #[test]
    fn a_box_is_turned_on_the_spot_and_moved() {
        let soup: Vec<Point> = grisaille_bodies::cuboid([10.0, 0.0, 1.0], [14.0, 2.0, 9.0])
            .into_iter()
            .flatten()
            .map(|corner| corner.map(|x| x as f32))
            .collect();
        let placed = |turn, at| {
            let mut soup = soup.clone();
            scene_from_file(&mut soup, &ReadSettings { turn, at, ..ReadSettings::default() });
            soup
        };
        assert_eq!(bounds(&placed(0.0, [1.0, -2.0, 3.0])), [[11.0, 15.0], [-2.0, 0.0], [4.0, 12.0]]);
        for quarter in [90.0, -90.0, 270.0] {
            assert_eq!(bounds(&placed(quarter, [0.0; 3])), [[11.0, 13.0], [-1.0, 3.0], [1.0, 9.0]]);
        }
        assert_eq!(placed(360.0, [0.0; 3]), soup);
        // A rectangle a by b turned by t fills a |cos t| + b |sin t| by a |sin t| + b |cos t|.
        for turn in [10.0_f64, 45.0, 130.0, -77.0] {
            let (sin, cos) = turn.to_radians().sin_cos();
            let [x, y, _] = bounds(&placed(turn, [0.0; 3])).map(|[low, high]| f64::from(high - low));
            assert!((x - 4.0 * cos.abs() - 2.0 * sin.abs()).abs() < 1e-5, "{turn}: {x}");
            assert!((y - 4.0 * sin.abs() - 2.0 * cos.abs()).abs() < 1e-5, "{turn}: {y}");
        }
        // Counterclockwise from above: what points to the right points to the back then.
        let [ex, ey] = [placed(30.0, [0.0; 3])[0], soup[0]].map(|c| [c[0] - 12.0, c[1] - 1.0]);
        let angle = |v: [f32; 2]| v[1].atan2(v[0]).to_degrees();
        assert!(((angle(ex) - angle(ey)).rem_euclid(360.0) - 30.0).abs() < 1e-3);
    }
}

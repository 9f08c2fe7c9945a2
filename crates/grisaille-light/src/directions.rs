//! Fixed low-discrepancy sets of directions: nothing is random.
//!
//! All are spherical Fibonacci sets (points at equal steps of height, turned
//! by the golden angle; Keinert et al., ACM TOG 34(6), 2015), which cover a
//! band of the sphere evenly at any count. Of seven sets tried on the forms of
//! known exposure none was clearly nearer (the table in docs/exposure.md).

use nalgebra::{Unit, Vector3};
use std::f64::consts::TAU;

/// (√5 − 1)/2: a turn by this share of the circle never repeats.
const GOLDEN: f64 = 0.618_033_988_749_894_9;

fn on_band(count: usize, low: f64, high: f64) -> impl Iterator<Item = Unit<Vector3<f64>>> {
    (0..count).map(move |i| {
        let z = low + (high - low) * (i as f64 + 0.5) / count as f64;
        let (s, c) = (TAU * (i as f64 * GOLDEN).fract()).sin_cos();
        let r = (1.0 - z * z).max(0.0).sqrt();
        Unit::new_normalize(Vector3::new(r * c, r * s, z))
    })
}

/// `count` directions over the upper hemisphere, each for the same solid angle.
#[must_use]
pub fn upper_hemisphere(count: usize) -> Vec<Unit<Vector3<f64>>> {
    on_band(count, 0.0, 1.0).collect()
}

/// `count` directions on the ring 45° from above, the first from the front.
#[must_use]
pub fn ring(count: usize) -> Vec<Unit<Vector3<f64>>> {
    (0..count).map(|i| crate::light::toward(45.0, 360.0 * i as f64 / count as f64)).collect()
}

/// `count` directions within `radius_degrees` of an axis, each for the same
/// solid angle; the axis alone when the radius is 0.
#[must_use]
pub fn cap(axis: Unit<Vector3<f64>>, radius_degrees: f64, count: usize) -> Vec<Unit<Vector3<f64>>> {
    if radius_degrees <= 0.0 || count == 0 {
        return vec![axis];
    }
    let z_from_axis = nalgebra::Rotation3::rotation_between(&Vector3::z(), &axis)
        // Opposite vectors: any half turn will do.
        .unwrap_or_else(|| nalgebra::Rotation3::from_axis_angle(&Vector3::x_axis(), TAU / 2.0));
    on_band(count, radius_degrees.min(180.0).to_radians().cos(), 1.0)
        .map(|d| Unit::new_normalize(z_from_axis * d.into_inner()))
        .collect()
}

/// `count` unit vectors over the whole sphere, each for the same solid angle.
#[must_use]
pub fn sphere_points(count: usize) -> Vec<Unit<Vector3<f64>>> {
    on_band(count, -1.0, 1.0).collect()
}

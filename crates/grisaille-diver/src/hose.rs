//! The air hose: ribbed, from the back of the helmet down to the sea bed.

use crate::curve::{Beside, Curve};
use crate::distance::extruded;
use crate::meshing::Solid;
use crate::pose::{HELMET, chest};
use crate::reef::ground;
use fast_surface_nets::glam::Vec3;
use std::f32::consts::TAU;

const RADIUS: f32 = 1.05;

/// The hose as one solid.
pub(crate) fn hose() -> Solid {
    let frame = chest();
    let out = Vec3::new(-0.42, 0.85, 0.12).normalize_or(Vec3::Y);
    let mut points: Vec<Vec3> = [7.0, 9.2, 11.2].iter().map(|&r| frame.scene(HELMET + out * r)).collect();
    points[2].z -= 1.0;
    points.extend([
        Vec3::new(-6.6, 11.4, 40.0),
        Vec3::new(-7.6, 10.6, 33.5),
        Vec3::new(-7.2, 9.4, 26.0),
        Vec3::new(-8.0, 9.0, 18.0),
        Vec3::new(-9.8, 8.8, 10.5),
    ]);
    for (x, y, lift) in
        [(-11.2, 7.4, 2.4), (-12.4, 4.4, 0.8), (-12.6, 0.6, 0.6), (-11.4, -2.6, 0.4), (-9.6, -4.6, -1.6)]
    {
        points.push(Vec3::new(x, y, ground(x, y) + lift));
    }
    let curve = Curve::through(&points, 0.4);
    let bounds = curve.bounds(RADIUS + 0.6);
    let end = curve.length;
    Solid::new(bounds, move |p| curve.swept(p, RADIUS + 0.5, |b| ribbed(b, end)))
}

fn ribbed(b: Beside, end: f32) -> f32 {
    let rib = 0.12 * (TAU * b.at / 1.5).cos();
    // A coupling by the helmet and one half way down.
    let nut = |at: f32| extruded(b.off - RADIUS - 0.4, b.at - at, 0.8, 0.04);
    (b.off - RADIUS - rib).min(nut(1.6)).min(nut(end * 0.45))
}

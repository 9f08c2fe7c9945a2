//! Made-up bodies by the signed distances of their parts.

use crate::fused::Part;
use nalgebra::{Point3, Vector3};

/// The box that holds them.
pub(crate) const ROOM: [[f64; 3]; 2] = [[-19.0, -14.0, -1.0], [15.0, 14.0, 37.0]];

/// A ball, squashed by `flat` along z.
pub(crate) fn ball(at: [f64; 3], radius: f64, flat: f64) -> Part {
    Box::new(move |p| {
        let d = p - Point3::from(at);
        let scaled = Vector3::new(d.x, d.y, d.z / flat);
        (scaled.norm() - radius) * flat.min(1.0)
    })
}

/// A rod with round ends.
pub(crate) fn rod(a: [f64; 3], b: [f64; 3], radius: f64) -> Part {
    let (a, b) = (Point3::from(a), Point3::from(b));
    Box::new(move |p| {
        let t = ((p - a).dot(&(b - a)) / (b - a).norm_squared()).clamp(0.0, 1.0);
        (p - (a + (b - a) * t)).norm() - radius
    })
}

/// A rod with round ends whose radius changes from `radii[0]` to `radii[1]`.
pub(crate) fn taper(a: [f64; 3], b: [f64; 3], radii: [f64; 2]) -> Part {
    let (a, b) = (Point3::from(a), Point3::from(b));
    Box::new(move |p| {
        let t = ((p - a).dot(&(b - a)) / (b - a).norm_squared()).clamp(0.0, 1.0);
        (p - (a + (b - a) * t)).norm() - (radii[0] + (radii[1] - radii[0]) * t)
    })
}

/// An upright disc with a sharp rim.
pub(crate) fn disc(at: [f64; 3], radius: f64, half: f64) -> Part {
    Box::new(move |p| {
        let d = p - Point3::from(at);
        let (x, z) = (d.x.hypot(d.y) - radius, d.z.abs() - half);
        x.max(z).min(0.0) + x.max(0.0).hypot(z.max(0.0))
    })
}

/// A box with sharp edges, turned about z.
pub(crate) fn block(at: [f64; 3], half: [f64; 3], turned: f64) -> Part {
    Box::new(move |p| {
        let d = p - Point3::from(at);
        let (s, c) = turned.sin_cos();
        let q = Vector3::new(c * d.x + s * d.y, c * d.y - s * d.x, d.z).abs() - Vector3::from(half);
        q.max().min(0.0) + q.sup(&Vector3::zeros()).norm()
    })
}

/// A standing figure on a base: base, legs, trunk, head, arms, a pack and a
/// shield. Every join is creased by 20° or more.
pub(crate) fn figure() -> Vec<Part> {
    vec![
        disc([0.0, 0.0, 1.5], 12.0, 1.5),
        rod([-3.0, 0.0, 2.0], [-2.2, 0.0, 15.0], 2.0),
        rod([3.0, 0.0, 2.0], [2.2, 0.0, 15.0], 2.0),
        ball([0.0, 0.0, 21.0], 5.0, 1.5),
        ball([0.0, 0.0, 31.0], 3.5, 1.0),
        rod([-5.0, 0.0, 25.0], [-8.5, -5.0, 17.0], 1.5),
        rod([5.0, 0.0, 25.0], [8.5, -4.0, 19.0], 1.5),
        block([0.0, 5.2, 22.0], [3.0, 2.0, 4.0], 0.0),
        ball([9.0, -6.0, 19.0], 3.0, 1.0),
    ]
}

/// A beast: a long trunk of two balls that meet in a shallow crease, four legs,
/// neck and head in one line, a tail.
pub(crate) fn beast() -> Vec<Part> {
    vec![
        ball([-5.0, 0.0, 12.0], 5.5, 1.0),
        ball([3.5, 0.0, 12.5], 4.6, 1.0),
        rod([-6.0, -3.0, 10.0], [-6.0, -4.0, 1.5], 1.5),
        rod([-6.0, 3.0, 10.0], [-6.0, 4.0, 1.5], 1.5),
        rod([4.0, -3.0, 10.0], [4.0, -3.5, 1.5], 1.4),
        rod([4.0, 3.0, 10.0], [4.0, 3.5, 1.5], 1.4),
        ball([9.0, 0.0, 17.5], 3.6, 1.0),
        rod([-10.0, 0.0, 14.0], [-16.0, 0.0, 19.0], 1.0),
    ]
}

/// A foot, a taper, a spindle and a taper in a row, which meet at two necks in
/// shallow creases of 23°, that of the slopes (1 : 5 on either side).
pub(crate) fn vase() -> Vec<Part> {
    let rising = taper([0.0, 0.0, 10.0], [0.0, 0.0, 18.0], [3.0, 4.6]);
    let falling = taper([0.0, 0.0, 18.0], [0.0, 0.0, 26.0], [4.6, 3.0]);
    vec![
        disc([0.0, 0.0, 1.0], 8.0, 1.0),
        taper([0.0, 0.0, 2.0], [0.0, 0.0, 10.0], [4.6, 3.0]),
        Box::new(move |p| rising(p).min(falling(p))),
        taper([0.0, 0.0, 26.0], [0.0, 0.0, 32.0], [3.0, 4.2]),
    ]
}

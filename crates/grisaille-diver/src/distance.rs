//! Signed distances to simple solids, and ways to join them: negative inside,
//! millimetres.
//!
//! Distances may fall short of the true one but exceed it by little, which is
//! what the skipping of empty blocks in the meshing relies on. The closed
//! forms are the usual ones of constructive solid geometry.

use fast_surface_nets::glam::{Vec2, Vec3};

/// A ball.
pub(crate) fn ball(p: Vec3, centre: Vec3, radius: f32) -> f32 {
    p.distance(centre) - radius
}

/// An ellipsoid with its axes along x, y and z; first-order distance.
pub(crate) fn ellipsoid(p: Vec3, centre: Vec3, radii: Vec3) -> f32 {
    let q = p - centre;
    let k0 = (q / radii).length();
    let k1 = (q / (radii * radii)).length();
    if k1 < 1e-6 { -radii.min_element() } else { k0 * (k0 - 1.0) / k1 }
}

/// A rod with round ends whose radius goes from `ra` at `a` to `rb` at `b`.
pub(crate) fn rod(p: Vec3, a: Vec3, b: Vec3, ra: f32, rb: f32) -> f32 {
    let along = b - a;
    let t = ((p - a).dot(along) / along.length_squared()).clamp(0.0, 1.0);
    p.distance(a + along * t) - (ra + (rb - ra) * t)
}

/// Rods of changing radius through a row of points.
pub(crate) fn rods(p: Vec3, through: &[(Vec3, f32)]) -> f32 {
    through.windows(2).fold(f32::MAX, |d, w| d.min(rod(p, w[0].0, w[1].0, w[0].1, w[1].1)))
}

/// A box about the origin with half sizes `half`, its edges rounded by
/// `round` (the rounding stays inside the half sizes).
pub(crate) fn block(p: Vec3, half: Vec3, round: f32) -> f32 {
    let q = p.abs() - (half - Vec3::splat(round));
    q.max(Vec3::ZERO).length() + q.max_element().min(0.0) - round
}

/// A solid with the flat profile `outline` (distance in the plane), running
/// along `along` from `-half` to `half`, its edges rounded by `round`.
pub(crate) fn extruded(outline: f32, along: f32, half: f32, round: f32) -> f32 {
    let q = Vec2::new(outline + round, along.abs() - half + round);
    q.max(Vec2::ZERO).length() + q.max_element().min(0.0) - round
}

/// A disc or drum about the z axis.
pub(crate) fn drum(p: Vec3, radius: f32, half: f32, round: f32) -> f32 {
    extruded(p.truncate().length() - radius, p.z, half, round)
}

/// A flat ring about the z axis: mean radius, half width outward, half height.
pub(crate) fn ring(p: Vec3, radius: f32, half_width: f32, half: f32, round: f32) -> f32 {
    extruded((p.truncate().length() - radius).abs() - half_width, p.z, half, round)
}

/// A torus about the z axis.
pub(crate) fn torus(p: Vec3, radius: f32, thickness: f32) -> f32 {
    Vec2::new(p.truncate().length() - radius, p.z).length() - thickness
}

/// Union with a fillet of about `k` mm.
pub(crate) fn blend(a: f32, b: f32, k: f32) -> f32 {
    let h = (k - (a - b).abs()).max(0.0) / k;
    a.min(b) - h * h * k * 0.25
}

/// What is in both, with the edge softened over `k` mm.
pub(crate) fn common(a: f32, b: f32, k: f32) -> f32 {
    -blend(-a, -b, k)
}

/// `a` without `b`, with the edge softened over `k` mm.
pub(crate) fn carve(a: f32, b: f32, k: f32) -> f32 {
    common(a, -b, k)
}

/// 0 at and below `from`, 1 at and above `to`, smooth between; `from` may be
/// the larger.
pub(crate) fn ramp(from: f32, to: f32, x: f32) -> f32 {
    let t = ((x - from) / (to - from)).clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}

/// A bell of height 1 about `centre`, near 0 beyond twice `width`.
pub(crate) fn bell(x: f32, centre: f32, width: f32) -> f32 {
    let t = (x - centre) / width;
    (-t * t).exp()
}

/// Cloth folds along a phase in turns: broad round ridges with narrow
/// valleys, from −1 to 1.
pub(crate) fn folds(turns: f32) -> f32 {
    let s = (std::f32::consts::PI * turns).sin().abs();
    2.0 * s.sqrt().min(s * 1.6) - 1.0
}

/// Strands of hair or knit along a phase in turns: like folds, but rounder,
/// from −1 to 1.
pub(crate) fn strands(turns: f32) -> f32 {
    let s = (std::f32::consts::PI * turns).sin();
    2.0 * (s * s + 0.02).sqrt() - 1.0
}

/// Repeats a plane `count` times round the origin: the point turned into the
/// sector about the x axis.
pub(crate) fn sector(p: Vec2, count: f32) -> Vec2 {
    let step = std::f32::consts::TAU / count;
    let angle = p.y.atan2(p.x);
    let turned = angle - step * (angle / step).round();
    Vec2::new(turned.cos(), turned.sin()) * p.length()
}

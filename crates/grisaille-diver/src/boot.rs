//! The weighted boots: lead soles, brass toe caps, straps, and metal eaten
//! by salt water.

use crate::distance::{ball, bell, blend, block, carve, common, ellipsoid, extruded, ramp, ring, rod};
use crate::meshing::Solid;
use crate::noise::{noise, pits};
use crate::pose::Leg;
use fast_surface_nets::glam::Vec3;

/// Heroic scale: boots a little larger than life.
const SIZE: f32 = 1.1;

/// The boot of `leg` as one solid.
pub(crate) fn boot(leg: &Leg, seed: u32) -> Solid {
    let foot = leg.foot();
    let bounds = foot.bounds(Vec3::new(-3.8, -8.0, -0.6), Vec3::new(3.8, 4.3, 7.2));
    Solid::new(bounds, move |p| {
        let q = foot.local(p);
        let d = SIZE * upright(q / SIZE);
        if d.abs() > 0.9 {
            return d;
        }
        // Corrosion: a crust all over, pits deepest low down on the metal.
        let crust = 0.05 * noise(p * 0.9, seed) + 0.025 * noise(p * 1.9, seed + 1);
        let eaten = 0.17 * ramp(0.1, -0.3, pits(p, 1.5, 0.5, seed + 2)) * ramp(6.0, 2.0, q.z);
        d - crust + eaten
    })
}

fn upright(q: Vec3) -> f32 {
    let flat = Vec3::new(q.x, q.y, 0.0);
    let outline =
        |toe: f32, heel: f32| rod(flat, Vec3::new(0.1, -4.1, 0.0), Vec3::new(0.0, 1.2, 0.0), toe, heel);
    // The sole is of two lead plates.
    let sole = extruded(outline(2.5, 2.15), q.z - 0.45, 0.75, 0.04);
    let welt = extruded(outline(2.3, 1.95), q.z - 1.4, 0.4, 0.04);
    let toe = ellipsoid(q, Vec3::new(0.1, -3.4, 1.4), Vec3::new(2.15, 3.0, 1.75));
    let instep = rod(q, Vec3::new(0.0, -2.4, 2.0), Vec3::new(0.0, 0.2, 3.2), 1.75, 2.1);
    let shaft = rod(q, Vec3::new(0.0, 0.3, 1.8), Vec3::new(0.0, 0.35, 5.2), 2.15, 2.5);
    let upper = blend(blend(toe, instep, 1.0), shaft, 0.8);
    // Leather wrinkles over the ankle.
    let wrinkle = 0.12 * bell(q.z - 0.35 * q.y, 3.6, 0.28) + 0.12 * bell(q.z - 0.35 * q.y, 4.5, 0.28);
    let upper = common(upper + wrinkle, q.z - 5.7, 0.4);
    let upper = common(upper, 0.6 - q.z, 0.06);
    // The toe cap stands proud of the leather, with a bead along its edge.
    let edge = q.y + 4.0 + 0.12 * q.x * q.x;
    let cap = common(upper - 0.32, edge, 0.06);
    let bead = (upper - 0.25).hypot(edge) - 0.32;
    let straps = strap(q, upper, -2.2, 0.45, 1.95).min(strap(q, upper, 0.15, 0.1, 2.5));
    let collar = ring(q - Vec3::new(0.0, 0.35, 5.5), 1.6, 1.4, 0.45, 0.04);
    let mut d = sole.min(welt).min(upper).min(cap).min(common(bead, 1.2 - q.z, 0.06)).min(straps).min(collar);
    for (x, y) in [(1.0, -5.9), (-0.8, -5.95), (2.15, -3.6), (-1.95, -3.6), (2.0, -1.4), (-1.95, -1.4)] {
        d = d.min(ball(q, Vec3::new(x, y, 1.35), 0.34));
    }
    d
}

/// A strap across the instep, with a buckle on either side, `out` mm from
/// the middle.
fn strap(q: Vec3, upper: f32, at: f32, lean: f32, out: f32) -> f32 {
    let across = (q.y - at - lean * (q.z - 3.0)) * 0.9;
    let band = common(upper - 0.3, across.abs() - 0.55, 0.06);
    let band = common(band, 1.2 - q.z, 0.06);
    let side = Vec3::new(q.x.abs() - out, across, q.z - 2.3);
    let frame = block(side, Vec3::new(0.4, 0.85, 0.7), 0.04);
    let window = block(side - Vec3::new(0.4, 0.0, 0.0), Vec3::new(0.25, 0.5, 0.35), 0.04);
    band.min(carve(frame, window, 0.06))
}

//! The weight belt: strap, buckle, lead blocks, a pouch and a sheathed knife.

use crate::distance::{ball, block, carve, common, drum, extruded, rod};
use crate::meshing::Solid;
use crate::pose::{BELT, Frame, bearing, leaving};
use crate::suit::trunk;
use fast_surface_nets::glam::{Vec2, Vec3};

/// A frame on the belt at `angle` from the front, facing outward along −y.
fn on_belt(angle: f32, height: f32) -> Frame {
    let out = bearing(angle);
    let middle = Vec3::new(0.0, 0.5, height);
    let at = leaving(trunk, middle, out.extend(0.0), 9.0);
    Frame::turned(at, angle)
}

/// The belt with all it carries, as one solid.
pub(crate) fn belt() -> Solid {
    let blocks: Vec<Frame> = [-32.0, 30.0, 128.0, 180.0, -128.0].iter().map(|&a| on_belt(a, BELT)).collect();
    let buckle = on_belt(0.0, BELT);
    let pouch = on_belt(-72.0, BELT - 1.6);
    let knife = on_belt(88.0, BELT - 2.6);
    Solid::new([Vec3::new(-9.5, -7.5, 17.0), Vec3::new(9.5, 8.0, 29.5)], move |p| {
        let strap = common(trunk(p) - 0.7, (p.z - BELT).abs() - 0.95, 0.06);
        let mut d = strap;
        for b in &blocks {
            let q = b.local(p);
            let lead = block(q - Vec3::new(0.0, -0.75, 0.0), Vec3::new(1.25, 0.85, 1.45), 0.35);
            let groove = block(q - Vec3::new(0.0, -1.6, 0.0), Vec3::new(0.75, 0.25, 0.95), 0.04);
            d = d.min(carve(lead, groove, 0.06));
        }
        d.min(buckle_at(buckle.local(p))).min(pouch_at(pouch.local(p))).min(knife_at(knife.local(p)))
    })
}

fn buckle_at(q: Vec3) -> f32 {
    let q = q - Vec3::new(0.0, -0.85, 0.0);
    let plate = block(q, Vec3::new(1.5, 0.4, 1.35), 0.04);
    let window = block(q - Vec3::new(0.0, -0.45, 0.0), Vec3::new(0.95, 0.4, 0.8), 0.04);
    let pin = rod(q, Vec3::new(0.2, -0.3, -1.0), Vec3::new(0.2, -0.3, 1.0), 0.22, 0.22);
    carve(plate, window, 0.06).min(pin)
}

fn pouch_at(q: Vec3) -> f32 {
    let sag = Vec3::new(0.0, 0.0, -0.08 * q.x * q.x);
    let body = block(q - Vec3::new(0.0, -1.0, -0.5), Vec3::new(1.9, 1.5, 2.1), 0.7);
    // The flap lies over the upper half and is cut round at its corners.
    let outline = Vec2::new((q.x.abs() - 1.5).max(0.0), (0.2 - q.z - sag.z).max(0.0)).length() - 0.55;
    let flap = extruded(outline, q.y + 1.1, 1.75, 0.04).max(q.z - 1.9);
    let stud = ball(q, Vec3::new(0.0, -2.85, -0.05), 0.42);
    body.min(flap).min(stud)
}

fn knife_at(q: Vec3) -> f32 {
    // Hung a little forward so that it clears the thigh.
    let q = Vec3::new(q.x + 0.16 * q.z, q.y + 0.95 - 0.1 * q.z, q.z);
    let sheath =
        rod(Vec3::new(q.x, q.y * 1.7, q.z), Vec3::new(0.0, 0.0, 0.6), Vec3::new(0.0, 0.0, -4.6), 1.0, 0.6)
            * 0.62;
    let tip = ball(q, Vec3::new(0.0, 0.0, -5.2), 0.45);
    let mouth = block(q - Vec3::new(0.0, 0.0, 0.9), Vec3::new(1.15, 0.75, 0.4), 0.04);
    let guard = block(q - Vec3::new(0.0, 0.0, 1.6), Vec3::new(1.5, 0.45, 0.25), 0.04);
    let handle = rod(q, Vec3::new(0.0, 0.0, 1.6), Vec3::new(0.0, 0.0, 3.4), 0.42, 0.6);
    let pommel = drum(q - Vec3::new(0.0, 0.0, 3.9), 0.72, 0.3, 0.04);
    sheath.min(tip).min(mouth).min(guard).min(handle).min(pommel)
}

//! The copper helmet: bowl, ports with grilles, neck ring, and the front
//! port swung open on its hinge.

use crate::distance::{ball, blend, block, carve, common, drum, ring, rod, sector, torus};
use crate::meshing::Solid;
use crate::pose::{Frame, HELMET, HELMET_RADIUS, chest};
use fast_surface_nets::glam::{Vec2, Vec3};

/// Inner radius of the open front port, mm.
const PORT: f32 = 4.25;

/// A port's frame: z out of the helmet, x level where it can be.
fn port(out: Vec3, level: Vec3, lift: f32) -> Frame {
    Frame::aimed(HELMET + out.normalize_or(Vec3::Z) * lift, out, level)
}

/// The helmet as one solid; its top is cut at `top` mm.
pub(crate) fn helmet(top: f32) -> Solid {
    let frame = chest();
    let front = port(Vec3::NEG_Y, Vec3::X, 0.0);
    let right = port(Vec3::new(-1.0, -0.06, 0.04), Vec3::Y, 6.3);
    let left = port(Vec3::new(1.0, -0.06, 0.04), Vec3::NEG_Y, 6.3);
    let upper = port(Vec3::new(0.0, -0.3, 1.0), Vec3::X, 6.45);
    let hose = port(Vec3::new(-0.42, 0.85, 0.12), Vec3::X, 6.5);
    let exhaust = port(Vec3::new(0.62, 0.72, -0.2), Vec3::X, 6.5);
    // The door hangs on the diver's left of the front port, swung wide open.
    let hinge = HELMET + Vec3::new(PORT + 1.35, -6.2, 0.0);
    let swing = 152.0_f32.to_radians();
    let across = Vec3::new(-swing.cos(), -swing.sin(), 0.0);
    let door = Frame::aimed(hinge + across * (PORT + 1.0), Vec3::new(across.y, -across.x, 0.0), across);
    let bounds = frame.bounds(Vec3::new(-8.6, -12.8, 38.8), Vec3::new(17.5, 9.5, 54.6));
    Solid::new(bounds, move |scene| {
        let p = frame.local(scene);
        let q = p - HELMET;
        let bowl = blend(
            q.length() - HELMET_RADIUS,
            rod(p, Vec3::new(0.0, -0.1, 40.6), HELMET - Vec3::Z * 2.0, 5.1, 5.6),
            1.2,
        );
        let bowl = common(bowl, 39.8 - p.z, 0.06);
        // A raised seam runs over the crown from front to back.
        let seam = torus(Vec3::new(q.y, q.z, q.x), HELMET_RADIUS - 0.1, 0.32);
        let mut d = blend(bowl, seam, 0.3);
        d = d.min(neck_ring(p));
        d = blend(d, front_frame(front.local(p)), 0.12);
        d = blend(d, small_port(right.local(p), 2.75), 0.1);
        d = blend(d, small_port(left.local(p), 2.75), 0.1);
        d = blend(d, small_port(upper.local(p), 2.15), 0.1);
        d = blend(d, elbow(hose.local(p)), 0.4);
        d = blend(d, valve(exhaust.local(p)), 0.4);
        d = carve(d, hollow(front.local(p), q), 0.06);
        d = d.min(hinge_at(p - hinge)).min(door_at(door.local(p)));
        common(d, scene.z - top, 0.05)
    })
}

/// What is taken out so that the face looks through the front port.
fn hollow(f: Vec3, q: Vec3) -> f32 {
    let opening = drum(f - Vec3::new(0.0, 0.0, 7.0), PORT, 6.0, 0.04);
    let room = ball(q, Vec3::new(0.0, -0.3, 0.0), HELMET_RADIUS - 1.15);
    // Behind the ears the head fills the room, so that it need not be cut.
    opening.min(common(room, q.y - 0.4, 0.06))
}

fn front_frame(f: Vec3) -> f32 {
    let body = ring(f - Vec3::new(0.0, 0.0, 5.3), PORT + 0.45, 0.75, 1.25, 0.04);
    let s = sector(f.truncate(), 10.0);
    let bolt = ball(Vec3::new(s.x, s.y, f.z), Vec3::new(PORT + 0.62, 0.0, 6.5), 0.48);
    body.min(bolt)
}

/// A glazed port with a rim, a grille of bars and bolts; z is out.
fn small_port(f: Vec3, radius: f32) -> f32 {
    let flange = ring(f, radius + 0.05, 0.85, 0.55, 0.04);
    let rim = ring(f - Vec3::new(0.0, 0.0, 0.7), radius - 0.15, 0.4, 0.45, 0.04);
    let glass = drum(f - Vec3::new(0.0, 0.0, -1.6), radius, 1.75, 0.04);
    let s = sector(f.truncate(), 8.0);
    let bolt = ball(Vec3::new(s.x, s.y, f.z), Vec3::new(radius + 0.55, 0.0, 0.55), 0.36);
    let mut grille = f32::MAX;
    for i in -1..=1 {
        let at = i as f32 * radius * 0.52;
        let half = (radius * radius - at * at).max(0.0).sqrt();
        let bar = |a: Vec2, b: Vec2| rod(f, a.extend(0.95), b.extend(0.95), 0.27, 0.27);
        grille = grille.min(bar(Vec2::new(at, -half), Vec2::new(at, half)));
        if i == 0 {
            grille = grille.min(bar(Vec2::new(-half, at), Vec2::new(half, at)));
        }
    }
    flange.min(rim).min(glass).min(bolt).min(grille)
}

fn neck_ring(p: Vec3) -> f32 {
    let q = p - Vec3::new(0.0, -0.1, 40.5);
    let low = ring(q, 2.9, 3.0, 0.65, 0.04);
    let high = ring(q - Vec3::new(0.0, 0.0, 1.0), 2.8, 2.8, 0.5, 0.04);
    let s = sector(q.truncate(), 12.0);
    let lug = block(Vec3::new(s.x, s.y, q.z) - Vec3::new(5.85, 0.0, 0.15), Vec3::new(0.55, 0.5, 0.8), 0.04);
    low.min(high).min(lug)
}

/// Where the air hose comes in.
fn elbow(f: Vec3) -> f32 {
    let stem = drum(f - Vec3::new(0.0, 0.0, 0.4), 1.25, 1.4, 0.04);
    let nut = drum(f - Vec3::new(0.0, 0.0, 1.2), 1.6, 0.45, 0.04);
    stem.min(nut)
}

fn valve(f: Vec3) -> f32 {
    let stem = drum(f - Vec3::new(0.0, 0.0, 0.3), 0.9, 1.2, 0.04);
    let wheel = ring(f - Vec3::new(0.0, 0.0, 1.3), 0.75, 0.6, 0.35, 0.04);
    stem.min(wheel)
}

fn hinge_at(q: Vec3) -> f32 {
    let knuckle = rod(q, Vec3::new(0.0, 0.0, -1.3), Vec3::new(0.0, 0.0, 1.3), 0.5, 0.5);
    let leaf = block(q - Vec3::new(-0.4, 0.7, 0.0), Vec3::new(0.7, 0.6, 1.0), 0.04);
    knuckle.min(leaf)
}

/// The open front window; z along its axis, x from the hinge outward.
fn door_at(f: Vec3) -> f32 {
    let radius = PORT - 0.35;
    let rim = ring(f, radius - 0.1, 0.6, 0.85, 0.04);
    let glass = drum(f, radius, 0.2, 0.04);
    let bars =
        block(f, Vec3::new(0.42, radius, 0.75), 0.04).min(block(f, Vec3::new(radius, 0.42, 0.75), 0.04));
    let arm = block(f - Vec3::new(-radius - 0.7, 0.0, 0.0), Vec3::new(1.0, 0.9, 0.4), 0.04);
    let lug = block(f - Vec3::new(radius + 0.6, 0.0, 0.0), Vec3::new(0.7, 0.5, 0.4), 0.04);
    rim.min(glass).min(bars).min(arm).min(lug)
}

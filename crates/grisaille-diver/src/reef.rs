//! The base: a round plate with rippled sand, rocks, corals, a starfish and
//! a shell, all one solid with a flat underside at z = 0.

use crate::distance::{
    ball, bell, blend, block, common, drum, ellipsoid, folds, ramp, rod, rods, sector, strands,
};
use crate::meshing::Solid;
use crate::noise::{noise, pits, rough};
use crate::pose::{LEFT_LEG, RIGHT_LEG};
use fast_surface_nets::glam::{Vec2, Vec3};
use std::f32::consts::TAU;

/// Radius of the base plate, mm.
const RADIUS: f32 = 15.0;

/// Height of the sand at a place, mm; rocks and corals stand above it.
pub(crate) fn ground(x: f32, y: f32) -> f32 {
    let p = Vec3::new(x, y, 0.0);
    let swell = 0.5 * noise(p * 0.13, 301) + 0.22 * noise(p * 0.3, 302);
    // Ripples wander across the current and fade out in patches.
    let wander = 0.9 * noise(p * 0.16, 303);
    let ripple = folds((0.42 * x + 0.9 * y) / 2.1 + wander);
    let patch = 0.14 + 0.14 * ramp(-0.5, 0.4, noise(p * 0.14 + Vec3::X * 9.0, 304));
    let open = 3.3 + swell + patch * ripple;
    // The boot has pressed the sand flat under it and heaped it round it.
    let foot = RIGHT_LEG.foot();
    let q = foot.local(p.with_z(RIGHT_LEG.sole.z));
    let print = rod(q, Vec3::new(0.1, -4.1, 0.0), Vec3::new(0.0, 1.2, 0.0), 2.3, 2.0);
    let pressed = ramp(2.2, 0.3, print);
    open + (RIGHT_LEG.sole.z + 0.1 + 0.45 * bell(print, 0.8, 0.6) - open) * pressed
}

/// The base as one solid.
pub(crate) fn reef() -> Solid {
    let branches = staghorn();
    let low = Vec3::new(-RADIUS - 0.3, -RADIUS - 0.3, 0.0);
    let high = Vec3::new(RADIUS + 0.3, RADIUS + 0.3, 17.5);
    Solid::new([low, high], move |p| {
        let flat = p.truncate().length();
        let plate = drum(p - Vec3::new(0.0, 0.0, 0.3), RADIUS, 1.5, 0.0);
        // Only near the sand is its exact height worth computing.
        let sand = if (p.z - 3.4).abs() > 2.5 {
            p.z - 3.4 - 1.1 * (p.z - 3.4).signum()
        } else {
            (p.z - ground(p.x, p.y)) * 0.8
        };
        let rim = flat - (RADIUS - 1.0);
        let rim = if rim.abs() < 1.5 { rim + 0.35 * rough(p * 0.45, 310) } else { rim };
        let bed = common(common(sand, rim, 0.5), 0.5 - p.z, 0.2);
        let mut d = plate.min(bed);
        d = blend(d, rocks(p), 0.5);
        for (from, to, ra, rb) in &branches {
            let branch = rod(p, *from, *to, *ra, *rb);
            let branch = if branch < 0.8 { branch - 0.09 * noise(p * 2.2, 330) } else { branch };
            d = blend(d, branch, 0.3);
        }
        d = d.min(brain(p)).min(tubes(p));
        d = blend(d, starfish(p), 0.15);
        d = d.min(shell(p));
        d.max(-p.z)
    })
}

/// A boulder: an ellipsoid cut by noise into facets and hollows.
fn boulder(p: Vec3, centre: Vec3, radii: Vec3, seed: u32) -> f32 {
    let d = ellipsoid(p, centre, radii);
    if d.abs() > 2.0 {
        return d;
    }
    let broken = 0.75 * rough(p * 0.33, seed) + 0.16 * noise(p * 1.5, seed + 5);
    (d - broken) * 0.85
}

fn rocks(p: Vec3) -> f32 {
    let step = LEFT_LEG.sole.z;
    let under = Vec3::new(LEFT_LEG.sole.x + 0.5, LEFT_LEG.sole.y - 1.6, 2.6);
    let ledge = boulder(p, under, Vec3::new(5.3, 6.2, 5.0), 320);
    let ledge = common(ledge, p.z - step - 0.08, 0.5);
    let mut d = ledge;
    for (centre, radii, seed) in [
        (Vec3::new(7.6, 6.8, 3.0), Vec3::new(4.6, 4.2, 4.2), 321),
        (Vec3::new(0.8, 10.6, 2.6), Vec3::new(3.2, 2.4, 2.8), 323),
        (Vec3::new(-6.2, 10.2, 2.6), Vec3::new(2.2, 1.9, 2.0), 324),
        (Vec3::new(11.6, -3.2, 2.6), Vec3::new(1.8, 2.0, 2.2), 325),
    ] {
        d = blend(d, boulder(p, centre, radii, seed), 0.4);
    }
    if d.abs() < 0.8 {
        d = common(d, -pits(p, 2.6, 0.55, 327), 0.25);
    }
    // Nothing leaves the plate.
    common(d, p.truncate().length() - (RADIUS - 0.35), 0.5)
}

/// A branching coral on the rock behind the diver's left leg.
fn staghorn() -> Vec<(Vec3, Vec3, f32, f32)> {
    let root = Vec3::new(8.6, 7.0, 5.4);
    let mut all = Vec::new();
    for (lean, turn, length) in [(0.2, 0.3, 3.9), (0.62, 2.2, 3.6), (0.55, 4.4, 3.4), (0.75, 5.6, 2.9)] {
        grow(&mut all, root, lean, turn, length, 0.78, 2);
    }
    all
}

fn grow(
    all: &mut Vec<(Vec3, Vec3, f32, f32)>,
    from: Vec3,
    lean: f32,
    turn: f32,
    length: f32,
    r: f32,
    left: u32,
) {
    let dir = Vec3::new(lean.sin() * turn.cos(), lean.sin() * turn.sin(), lean.cos());
    let to = from + dir * length;
    all.push((from, to, r, r * 0.8));
    if left == 0 {
        return;
    }
    grow(all, to, (lean - 0.32).abs(), turn + 0.7, length * 0.68, r * 0.8, left - 1);
    grow(all, to, (lean + 0.42).min(1.0), turn - 0.6, length * 0.62, r * 0.78, left - 1);
}

/// A dome of coral with winding furrows, where the lamp shines on it.
fn brain(p: Vec3) -> f32 {
    let centre = Vec3::new(-9.6, -6.2, 4.6);
    let d = ellipsoid(p, centre, Vec3::new(2.75, 2.6, 2.1));
    if d.abs() > 1.0 {
        return d;
    }
    let wind = noise(p * 0.5, 340) + 0.25 * noise(p * 0.9, 341);
    d - 0.26 * strands(1.15 * wind)
}

/// A cluster of open tubes at the back.
fn tubes(p: Vec3) -> f32 {
    let mut d = f32::MAX;
    for (x, y, top, r) in
        [(-1.2, 10.6, 8.6, 0.95), (0.7, 11.4, 10.4, 1.1), (2.4, 10.6, 7.4, 0.9), (0.5, 9.6, 6.4, 0.75)]
    {
        let lean = Vec3::new(0.12 * (p.z - 4.0), 0.05 * (p.z - 4.0), 0.0);
        let q = p - Vec3::new(x, y, 0.0) - lean * (x - 0.5).signum();
        let wall = drum(q - Vec3::new(0.0, 0.0, 0.5 * top), r + 0.06 * (q.z - 4.0), 0.5 * top - 0.5, 0.3);
        let bore = rod(q, Vec3::new(0.0, 0.0, top), Vec3::new(0.0, 0.0, top - 2.0), r * 0.66, r * 0.45);
        d = d.min(common(wall, -bore, 0.15) * 0.92);
    }
    d
}

fn starfish(p: Vec3) -> f32 {
    let (x, y) = (-2.4, -11.2);
    let q = p - Vec3::new(x, y, ground(x, y) + 0.1);
    if q.length() > 5.5 {
        return q.length() - 4.1;
    }
    let (s, c) = 0.3_f32.sin_cos();
    let flat = Vec2::new(q.x * c - q.y * s, q.x * s + q.y * c);
    let arm = sector(flat, 5.0);
    let at = Vec3::new(arm.x, arm.y, q.z);
    let d = rods(
        at,
        &[(Vec3::new(0.0, 0.0, 0.5), 1.1), (Vec3::new(1.7, 0.0, 0.4), 0.8), (Vec3::new(3.5, 0.0, 0.2), 0.42)],
    );
    // A row of knobs along the middle of each arm.
    d - 0.14 * (TAU * arm.x / 1.15).cos() * bell(arm.y, 0.0, 0.4)
}

/// A scallop lying half open side up on the sand.
fn shell(p: Vec3) -> f32 {
    let (x, y) = (-7.0, -11.0);
    let centre = Vec3::new(x, y, ground(x, y) + 0.1);
    let q = p - centre;
    if q.length() > 4.0 {
        return q.length() - 3.0;
    }
    let angle = q.x.atan2(-(q.y - 1.5));
    let ribs = 0.28 * (angle * 9.0).cos() * ramp(0.3, 1.6, q.truncate().length());
    let dome = ellipsoid(q, Vec3::new(0.0, 0.0, 0.0), Vec3::new(2.3, 2.1, 1.4));
    let hinge = block(q - Vec3::new(0.0, 1.95, 0.25), Vec3::new(1.1, 0.5, 0.5), 0.15);
    (dome - ribs).min(hinge).min(ball(q, Vec3::new(0.0, 1.4, 0.4), 0.45))
}

//! The head behind the open port: knitted cap, brow, eyes, nose, cheeks,
//! moustache and beard.
//!
//! Built upright facing −y, the left half mirrored from the right, with one
//! eyebrow a little higher so that the face is not a mask.

use crate::distance::{ball, bell, blend, carve, ellipsoid, ramp, rod, rods, strands};
use crate::meshing::Solid;
use crate::noise::noise;
use crate::pose::head as head_frame;
use fast_surface_nets::glam::Vec3;

/// Tip of the nose in the head's frame, mm.
pub(crate) const NOSE: Vec3 = Vec3::new(0.0, -5.05, -0.75);

const fn v(x: f32, y: f32, z: f32) -> Vec3 {
    Vec3::new(x, y, z)
}

/// The head as one solid.
pub(crate) fn head() -> Solid {
    let frame = head_frame();
    let bounds = frame.bounds(v(-4.4, -6.2, -5.9), v(4.4, 2.4, 5.2));
    Solid::new(bounds, move |scene| {
        let p = frame.local(scene);
        let far = ellipsoid(p, v(0.0, -0.6, -0.4), v(4.0, 5.0, 5.6));
        if far > 1.0 {
            return far;
        }
        let m = v(p.x.abs(), p.y, p.z);
        let skin = face(p, m);
        let hair = beard(p, m).min(moustache(p, m));
        let all = blend(skin, hair, 0.12).min(brows(p)).min(cap(p));
        // The back of the head is inside the helmet's wall.
        all.max(p.y - 2.2)
    })
}

fn face(p: Vec3, m: Vec3) -> f32 {
    let skull = ellipsoid(p, v(0.0, 0.2, 0.9), v(3.15, 3.7, 3.5));
    let front = ellipsoid(p, v(0.0, -0.5, -1.0), v(2.75, 3.15, 3.6));
    let mut d = blend(skull, front, 0.8);
    // Chin and jaw.
    d = blend(d, ball(p, v(0.0, -2.75, -3.7), 1.0), 0.8);
    // Cheekbones.
    d = blend(d, ellipsoid(m, v(1.85, -2.35, -0.75), v(1.0, 0.95, 0.72)), 0.55);
    // Brow ridge, heaviest over the inner eye.
    d = blend(
        d,
        rods(m, &[(v(0.0, -3.45, 0.95), 0.42), (v(1.2, -3.4, 1.12), 0.5), (v(2.2, -2.55, 0.85), 0.42)]),
        0.35,
    );
    // Sockets, then the eyes set into them.
    d = carve(d, ellipsoid(m, v(1.22, -3.78, 0.2), v(0.95, 0.72, 0.66)), 0.35);
    let eye = ball(m, v(1.2, -2.78, 0.22), 0.78);
    // The pupil is a shallow pit: it takes the dark wash that makes it look.
    let gaze = v(1.2 - 0.08 * p.x.signum(), -3.6, 0.24);
    let eye = carve(eye, ball(m, gaze, 0.25), 0.05);
    d = d.min(eye);
    let upper = [
        (v(0.5, -3.15, 0.3), 0.17),
        (v(1.05, -3.36, 0.76), 0.25),
        (v(1.65, -3.13, 0.6), 0.23),
        (v(2.0, -2.7, 0.2), 0.17),
    ];
    let lower = [
        (v(0.52, -3.12, 0.16), 0.16),
        (v(1.1, -3.26, -0.36), 0.2),
        (v(1.6, -3.04, -0.24), 0.18),
        (v(2.0, -2.65, 0.18), 0.16),
    ];
    d = blend(d, rods(m, &upper), 0.1);
    d = blend(d, rods(m, &lower), 0.14);
    // Bags under the eyes and the furrow from the wings of the nose.
    d = carve(d, rods(m, &[(v(0.65, -3.3, -0.42), 0.1), (v(1.3, -3.25, -0.62), 0.1)]), 0.2);
    d = blend(d, nose(p, m), 0.22);
    d = carve(
        d,
        rods(m, &[(v(0.72, -3.85, -0.95), 0.12), (v(1.25, -3.5, -1.5), 0.16), (v(1.6, -3.1, -2.2), 0.14)]),
        0.25,
    );
    // Two frown lines and the creases of the forehead.
    d = carve(d, rod(m, v(0.22, -3.95, 0.85), v(0.3, -3.75, 1.45), 0.09, 0.06), 0.12);
    d += 0.07 * bell(p.z, 1.75, 0.12) * ramp(2.0, 1.2, m.x);
    // Ears, mostly under the cap.
    d = blend(d, ellipsoid(m, v(3.1, 0.1, -0.3), v(0.4, 0.7, 1.1)), 0.2);
    mouth(p, m, d)
}

fn nose(p: Vec3, m: Vec3) -> f32 {
    let bridge =
        rods(p, &[(v(0.0, -3.55, 0.8), 0.34), (v(0.0, -4.15, 0.1), 0.4), (v(0.0, -4.5, -0.65), 0.52)]);
    let tip = ball(p, NOSE + v(0.0, 0.56, 0.0), 0.56);
    let wing = ellipsoid(m, v(0.5, -4.0, -0.95), v(0.36, 0.5, 0.34));
    let all = blend(blend(bridge, tip, 0.25), wing, 0.18);
    carve(all, ball(m, v(0.28, -4.35, -1.28), 0.17), 0.1)
}

fn mouth(p: Vec3, m: Vec3, skin: f32) -> f32 {
    let lip =
        rods(m, &[(v(0.0, -3.62, -2.45), 0.27), (v(0.55, -3.5, -2.42), 0.24), (v(1.0, -3.2, -2.3), 0.12)]);
    let gap =
        rods(m, &[(v(0.0, -3.98, -2.1), 0.13), (v(0.6, -3.85, -2.1), 0.13), (v(1.1, -3.35, -2.2), 0.1)]);
    let under = ellipsoid(p, v(0.0, -3.95, -2.98), v(0.8, 0.35, 0.2));
    let d = blend(skin, lip, 0.12);
    carve(carve(d, under, 0.2), gap, 0.1)
}

fn moustache(p: Vec3, m: Vec3) -> f32 {
    let line = [
        (v(0.05, -4.1, -1.55), 0.34),
        (v(0.7, -4.02, -1.72), 0.46),
        (v(1.35, -3.62, -2.05), 0.42),
        (v(1.8, -3.15, -2.65), 0.3),
        (v(2.0, -2.95, -3.2), 0.14),
    ];
    let hairs = strands(1.15 * m.x + 2.4 * (p.z + 1.6) + 0.3 * noise(p * 1.3, 7));
    let parted = 0.12 * bell(p.x, 0.0, 0.14);
    rods(m, &line) - 0.09 * hairs + parted
}

fn beard(p: Vec3, m: Vec3) -> f32 {
    let jaw = rods(
        m,
        &[
            (v(2.85, -0.5, -0.9), 0.35),
            (v(2.6, -1.2, -2.3), 0.7),
            (v(1.7, -2.5, -3.5), 0.95),
            (v(0.0, -3.15, -4.05), 1.15),
        ],
    );
    let chin = ellipsoid(p, v(0.0, -3.0, -4.1), v(1.45, 1.15, 1.2));
    let d = blend(jaw, chin, 0.5);
    // Locks run from cheek to chin and meet in the middle.
    let flow = 1.55 * m.x - 0.5 * p.z - 0.35 * p.y + 0.55 * noise(p * 0.8, 9);
    d - 0.15 * strands(flow) - 0.05 * strands(2.3 * flow + 0.4)
}

fn brows(p: Vec3) -> f32 {
    let lift = 0.14 * ramp(-0.5, 0.5, p.x);
    let m = v(p.x.abs(), p.y, p.z - lift);
    let line = [
        (v(0.48, -3.95, 1.08), 0.22),
        (v(1.15, -3.88, 1.42), 0.27),
        (v(1.9, -3.22, 1.36), 0.2),
        (v(2.3, -2.7, 1.02), 0.1),
    ];
    rods(m, &line) - 0.04 * strands(2.4 * m.x + 1.2 * p.z)
}

/// A knitted cap with a rolled edge.
fn cap(p: Vec3) -> f32 {
    let crown = ellipsoid(p, v(0.0, 0.2, 1.5), v(3.4, 3.95, 3.4));
    let tilted = p.z - 2.35 - 0.12 * p.y.min(0.0).abs();
    let crown = crown.max(-tilted);
    let angle = p.y.atan2(p.x);
    let ribs = 0.07 * strands(angle * 6.5);
    let skull = ellipsoid(p, v(0.0, 0.2, 1.0), v(3.22, 3.78, 3.6));
    let roll = fast_surface_nets::glam::Vec2::new(skull, (tilted - 0.1) * 0.85).length() - 0.5;
    crown.min(roll - ribs)
}

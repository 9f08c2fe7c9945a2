//! The gloves: heavy fists closed on what they hold, with flared cuffs.

use crate::distance::{ball, blend, block, ring, rod, rods};
use crate::meshing::Solid;
use crate::pose::Arm;
use fast_surface_nets::glam::Vec3;

/// The glove at the end of `arm`, as one solid.
pub(crate) fn glove(arm: &'static Arm) -> Solid {
    let hand = arm.hand();
    let wrist = -arm.grip.distance(arm.wrist);
    let low = Vec3::new(-3.6, -3.2, wrist - 2.8);
    Solid::new(hand.bounds(low, Vec3::new(3.6, 3.4, 3.0)), move |p| {
        let q = hand.local(p);
        // The thumb on +x.
        let q = Vec3::new(-q.x * arm.side, q.y, q.z);
        blend(fist(q), cuff(q, wrist), 0.25)
    })
}

/// A right fist about a bar along x: back of the hand −y, palm +y.
fn fist(q: Vec3) -> f32 {
    let palm = block(q - Vec3::new(0.0, -0.95, -1.25), Vec3::new(2.25, 1.0, 1.75), 0.85);
    let heel = rod(q, Vec3::new(0.0, -0.35, -3.2), Vec3::new(0.1, -0.75, -1.6), 1.35, 1.6);
    let mut d = blend(palm, heel, 0.8);
    let mut fingers = f32::MAX;
    for (i, (thick, reach)) in [(1.0, 1.0), (1.06, 1.1), (1.02, 1.05), (0.9, 0.88)].iter().enumerate() {
        let x = 1.68 - 1.12 * i as f32;
        let line = [
            (Vec3::new(x, -1.5, 0.25), 0.66 * thick),
            (Vec3::new(x * 0.98, -0.75, 1.6 * reach), 0.6 * thick),
            (Vec3::new(x * 0.96, 0.85, 1.5 * reach), 0.58 * thick),
            (Vec3::new(x * 0.94, 1.35, 0.3), 0.53 * thick),
            (Vec3::new(x * 0.94, 0.7, -0.5), 0.45 * thick),
        ];
        let mut finger = rods(q, &line);
        // Creases across the joints.
        for joint in [1, 2] {
            finger = blend(finger, ball(q, line[joint].0, line[joint].1 + 0.07), 0.2);
        }
        // The knuckle stands up from the back of the hand.
        finger = blend(finger, ball(q, line[0].0 + Vec3::new(0.0, -0.2, -0.05), 0.62 * thick), 0.25);
        fingers = fingers.min(finger);
    }
    d = blend(d, fingers, 0.22);
    let thumb = rods(
        q,
        &[
            (Vec3::new(1.6, -0.3, -2.1), 0.8),
            (Vec3::new(2.5, 0.75, -0.9), 0.76),
            (Vec3::new(2.0, 1.85, 0.25), 0.66),
            (Vec3::new(0.9, 2.15, 0.85), 0.52),
        ],
    );
    blend(d, thumb, 0.2)
}

fn cuff(q: Vec3, wrist: f32) -> f32 {
    let sleeve = rod(q, Vec3::new(0.0, -0.2, wrist + 0.6), Vec3::new(0.0, 0.0, wrist - 1.3), 1.6, 2.1);
    let sleeve = sleeve.max(wrist - 1.5 - q.z);
    let edge = ring(q - Vec3::new(0.0, 0.0, wrist - 1.35), 1.3, 1.05, 0.42, 0.3);
    let strap = ring(q - Vec3::new(0.0, -0.2, wrist + 0.55), 1.0, 0.95, 0.32, 0.2);
    sleeve.min(edge).min(strap)
}

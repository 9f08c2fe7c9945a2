//! The hand lamp: a caged lantern on a bail, shining all round and down.

use crate::curve::Curve;
use crate::distance::{ball, common, drum, ring, rod, rods, sector, torus};
use crate::meshing::Solid;
use crate::pose::{Frame, RIGHT_ARM};
use fast_surface_nets::glam::Vec3;

/// Middle of the light below the fist's grip, mm: in the open cage, just
/// under the tip of the glass.
pub(crate) const LIGHT_BELOW_GRIP: f32 = 8.2;

/// Upright under the grip, x along the bail.
pub(crate) fn frame() -> Frame {
    Frame::aimed(RIGHT_ARM.grip, Vec3::Z, RIGHT_ARM.hand().x)
}

/// The lamp as one solid.
pub(crate) fn lamp() -> Solid {
    let frame = frame();
    let bail = Curve::through(
        &[
            Vec3::new(-2.1, 0.0, -4.0),
            Vec3::new(-3.2, 0.0, -3.3),
            Vec3::new(-3.35, 0.0, -1.2),
            Vec3::new(-2.4, 0.0, 0.0),
            Vec3::new(0.0, 0.0, 0.15),
            Vec3::new(2.4, 0.0, 0.0),
            Vec3::new(3.35, 0.0, -1.2),
            Vec3::new(3.2, 0.0, -3.3),
            Vec3::new(2.1, 0.0, -4.0),
        ],
        0.4,
    );
    let bounds = frame.bounds(Vec3::new(-4.0, -3.3, -12.2), Vec3::new(4.0, 3.3, 1.0));
    Solid::new(bounds, move |scene| {
        let p = frame.local(scene);
        let wire = bail.swept(p, 0.4, |b| b.off - 0.38);
        let grip = rod(p, Vec3::new(-1.8, 0.0, 0.1), Vec3::new(1.8, 0.0, 0.1), 0.55, 0.55);
        wire.min(grip).min(body(p))
    })
}

fn body(p: Vec3) -> f32 {
    let up = |z: f32| p - Vec3::new(0.0, 0.0, z);
    let housing = common(ball(p, Vec3::new(0.0, 0.0, -4.9), 2.15), -4.9 - p.z, 0.06);
    let chimney = drum(up(-2.6), 0.9, 0.5, 0.04);
    let brim = ring(up(-4.75), 1.2, 1.15, 0.4, 0.04);
    let tip = -LIGHT_BELOW_GRIP + 0.38 + 0.42;
    let glass = rod(p, Vec3::new(0.0, 0.0, -4.9), Vec3::new(0.0, 0.0, tip), 1.5, 0.42);
    // Six bars bow outward to a hoop; the cage is open underneath, so that
    // the lamp lights the sea bed.
    let s = sector(p.truncate(), 6.0);
    let cage = rods(
        Vec3::new(s.x, s.y, p.z),
        &[
            (Vec3::new(2.0, 0.0, -4.9), 0.3),
            (Vec3::new(2.3, 0.0, -7.2), 0.3),
            (Vec3::new(2.1, 0.0, -9.2), 0.3),
            (Vec3::new(1.3, 0.0, -10.7), 0.3),
        ],
    );
    let hoops = torus(up(-6.6), 2.25, 0.3).min(torus(up(-9.1), 2.1, 0.3)).min(torus(up(-10.7), 1.35, 0.36));
    housing.min(chimney).min(brim).min(glass).min(cage).min(hoops)
}

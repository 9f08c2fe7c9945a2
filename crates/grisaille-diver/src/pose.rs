//! The pose: where the joints are, and frames that turn with a part.
//!
//! The diver has just stepped up on a rock with the left foot; the weight is
//! still on the right leg. The right hand lifts the lamp, the left gathers
//! the line. "Right" and "left" are the diver's: the right hand is at −X.

use fast_surface_nets::glam::{Vec2, Vec3};

/// A turned and moved set of axes. Inside it a part is built as if it stood
/// upright, facing −y.
#[derive(Clone, Copy)]
pub(crate) struct Frame {
    pub(crate) origin: Vec3,
    pub(crate) x: Vec3,
    pub(crate) y: Vec3,
    pub(crate) z: Vec3,
}

impl Frame {
    /// Upright at `origin`, turned about z by `degrees`, counter-clockwise
    /// from above.
    pub(crate) fn turned(origin: Vec3, degrees: f32) -> Self {
        let (s, c) = degrees.to_radians().sin_cos();
        Self { origin, x: Vec3::new(c, s, 0.0), y: Vec3::new(-s, c, 0.0), z: Vec3::Z }
    }

    /// With the z axis along `z` and the x axis as near `x` as can be.
    pub(crate) fn aimed(origin: Vec3, z: Vec3, x: Vec3) -> Self {
        let z = z.normalize_or(Vec3::Z);
        let x = (x - z * x.dot(z)).normalize_or(z.any_orthonormal_vector());
        Self { origin, x, y: z.cross(x), z }
    }

    /// A place of the scene as seen from this frame.
    pub(crate) fn local(&self, p: Vec3) -> Vec3 {
        let q = p - self.origin;
        Vec3::new(q.dot(self.x), q.dot(self.y), q.dot(self.z))
    }

    /// A place of this frame in the scene.
    pub(crate) fn scene(&self, p: Vec3) -> Vec3 {
        self.origin + self.x * p.x + self.y * p.y + self.z * p.z
    }

    /// The box in the scene that holds this frame's box `low` to `high`.
    pub(crate) fn bounds(&self, low: Vec3, high: Vec3) -> [Vec3; 2] {
        (0..8).fold([Vec3::MAX, Vec3::MIN], |[a, b], i| {
            let pick = |bit: u32, l: f32, h: f32| if i >> bit & 1 == 0 { l } else { h };
            let p =
                self.scene(Vec3::new(pick(0, low.x, high.x), pick(1, low.y, high.y), pick(2, low.z, high.z)));
            [a.min(p), b.max(p)]
        })
    }
}

/// The chest, the breastplate and the helmet bolted to it.
pub(crate) fn chest() -> Frame {
    Frame::turned(Vec3::new(-0.2, -0.5, 0.0), -10.0)
}

/// The head, which turns inside the helmet toward the lamp. Origin between
/// the eyes' heights at the middle of the skull.
pub(crate) fn head() -> Frame {
    let middle = chest().scene(Vec3::new(0.0, -1.6, 46.55));
    Frame::turned(middle, -15.0)
}

/// Middle of the helmet in the chest's frame, and its radius.
pub(crate) const HELMET: Vec3 = Vec3::new(0.0, -0.2, 46.4);
/// Radius of the helmet's bowl, mm.
pub(crate) const HELMET_RADIUS: f32 = 6.9;
/// Height of the belt's middle, mm.
pub(crate) const BELT: f32 = 26.0;

/// Joints of one leg.
pub(crate) struct Leg {
    pub(crate) hip: Vec3,
    pub(crate) knee: Vec3,
    pub(crate) ankle: Vec3,
    /// Under the ankle on the sole, toe along the frame's −y.
    pub(crate) sole: Vec3,
    /// Turn of the foot, degrees.
    pub(crate) turn: f32,
}

/// The leg that carries the weight.
pub(crate) const RIGHT_LEG: Leg = Leg {
    hip: Vec3::new(-2.9, 0.9, 23.6),
    knee: Vec3::new(-4.4, 0.2, 14.9),
    ankle: Vec3::new(-5.0, 2.1, 9.2),
    sole: Vec3::new(-5.1, 2.2, 3.4),
    turn: -24.0,
};

/// The leg that has stepped up on the rock.
pub(crate) const LEFT_LEG: Leg = Leg {
    hip: Vec3::new(2.9, 0.1, 23.6),
    knee: Vec3::new(5.1, -4.9, 17.3),
    ankle: Vec3::new(5.35, -4.3, 12.2),
    sole: Vec3::new(5.4, -4.4, 6.5),
    turn: 12.0,
};

/// Joints of one arm.
pub(crate) struct Arm {
    pub(crate) shoulder: Vec3,
    pub(crate) elbow: Vec3,
    pub(crate) wrist: Vec3,
    /// Middle of what the fist holds.
    pub(crate) grip: Vec3,
    /// 1 for the right hand, −1 for the left: the side the thumb is on.
    pub(crate) side: f32,
}

/// The arm that lifts the lamp: well forward, so that it shines into the helmet.
pub(crate) const RIGHT_ARM: Arm = Arm {
    shoulder: Vec3::new(-7.5, 0.6, 35.2),
    elbow: Vec3::new(-10.4, -6.4, 35.4),
    wrist: Vec3::new(-10.8, -12.0, 41.0),
    grip: Vec3::new(-10.8, -14.4, 43.1),
    side: 1.0,
};

/// The arm that gathers the line.
pub(crate) const LEFT_ARM: Arm = Arm {
    shoulder: Vec3::new(7.4, -0.7, 35.2),
    elbow: Vec3::new(11.4, 1.8, 29.6),
    wrist: Vec3::new(10.5, -4.0, 26.6),
    grip: Vec3::new(10.0, -6.7, 25.6),
    side: -1.0,
};

impl Arm {
    /// The hand: z along the forearm, x along what it grips (toward the
    /// thumb's side), y out of the back of the hand or into the palm.
    pub(crate) fn hand(&self) -> Frame {
        let along = self.grip - self.wrist;
        let across = along.cross(Vec3::Z);
        Frame::aimed(self.grip, along, across)
    }
}

impl Leg {
    /// The boot: z up, toe along −y.
    pub(crate) fn foot(&self) -> Frame {
        Frame::turned(self.sole, self.turn)
    }
}

/// Where the ray from `from` along `toward` leaves a solid: the last place
/// within `reach` mm where `distance` changes sign.
pub(crate) fn leaving(distance: impl Fn(Vec3) -> f32, from: Vec3, toward: Vec3, reach: f32) -> Vec3 {
    let dir = toward.normalize_or(Vec3::X);
    let steps = 64;
    let inside = |t: f32| distance(from + dir * t) < 0.0;
    let at = |i: i32| reach * i as f32 / steps as f32;
    let last = (0..=steps).rev().find(|&i| inside(at(i))).unwrap_or(0);
    let (mut a, mut b) = (at(last), at(last + 1));
    for _ in 0..20 {
        let m = 0.5 * (a + b);
        if inside(m) { a = m } else { b = m }
    }
    from + dir * a
}

/// The direction at `angle` degrees round z, 0 at the front (−Y), growing
/// toward +X.
pub(crate) fn bearing(angle: f32) -> Vec2 {
    let (s, c) = angle.to_radians().sin_cos();
    Vec2::new(s, -c)
}

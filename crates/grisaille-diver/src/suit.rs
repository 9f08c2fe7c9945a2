//! The canvas suit: torso, arms and legs, with the folds that heavy cloth
//! throws at knees, elbows, crotch and waist.

use crate::distance::{bell, blend, ellipsoid, folds, ramp, rod};
use crate::meshing::Solid;
use crate::noise::noise;
use crate::pose::{Arm, BELT, LEFT_ARM, LEFT_LEG, Leg, RIGHT_ARM, RIGHT_LEG};
use fast_surface_nets::glam::Vec3;

/// A stretch of limb: two ends with radii, and where it folds.
struct Limb {
    a: Vec3,
    b: Vec3,
    ra: f32,
    rb: f32,
    /// Toward the inside of the bend, where folds gather.
    inner: Vec3,
    /// Depth of the folds at either end, mm.
    fold_a: f32,
    fold_b: f32,
    /// How far folds run along from either end, mm.
    run_a: f32,
    run_b: f32,
    /// Distance from fold to fold, mm.
    spacing: f32,
    /// How much the folds slant, turns from inner to outer side.
    slant: f32,
    seed: u32,
}

impl Limb {
    fn distance(&self, p: Vec3) -> f32 {
        let plain = rod(p, self.a, self.b, self.ra, self.rb);
        if plain.abs() > 1.5 {
            return plain;
        }
        let along = self.b - self.a;
        let length = along.length();
        let dir = along / length;
        let q = p - self.a;
        let s = q.dot(dir);
        let out = (q - dir * s).normalize_or(self.inner);
        let inner = (self.inner - dir * self.inner.dot(dir)).normalize_or(out);
        let facing = out.dot(inner);
        let turn = out.dot(dir.cross(inner));
        let wander = 0.8 * noise(p * 0.26, self.seed) + 0.16 * noise(p * 0.8, self.seed + 1);
        let phase = s / self.spacing + self.slant * turn + 0.35 * facing + wander;
        let near = self.fold_a * bell(s, 0.0, self.run_a) + self.fold_b * bell(s, length, self.run_b);
        // Folds come and go round the limb; the outer side is the smoother.
        let patch = 0.75 + 0.6 * noise(p * 0.24, self.seed + 3);
        let weight = near * (0.5 + 0.5 * facing) * patch;
        let sag = 0.22 * noise(p * 0.33, self.seed + 2);
        plain - weight * folds(phase) - sag
    }
}

fn leg(leg: &Leg, seed: u32) -> [Limb; 2] {
    let back = Vec3::new(0.0, 1.0, 0.0);
    [
        Limb {
            a: leg.hip,
            b: leg.knee,
            ra: 3.35,
            rb: 2.75,
            inner: Vec3::new(-leg.hip.x * 0.35, -0.8, 0.0),
            fold_a: 0.62,
            fold_b: 0.5,
            run_a: 3.4,
            run_b: 2.2,
            spacing: 2.2,
            slant: 1.0 * leg.hip.x.signum(),
            seed,
        },
        Limb {
            a: leg.knee,
            b: leg.ankle,
            ra: 2.65,
            rb: 2.2,
            inner: back,
            fold_a: 0.6,
            fold_b: 0.8,
            run_a: 2.4,
            run_b: 3.0,
            spacing: 1.9,
            slant: -0.55 * leg.hip.x.signum(),
            seed: seed + 10,
        },
    ]
}

fn arm(arm: &Arm, seed: u32) -> [Limb; 2] {
    let bend = (arm.shoulder + arm.wrist) * 0.5 - arm.elbow;
    let mid = arm.elbow + (arm.wrist - arm.elbow) * 0.92;
    [
        Limb {
            a: arm.shoulder,
            b: arm.elbow,
            ra: 3.0,
            rb: 2.3,
            inner: bend,
            fold_a: 0.4,
            fold_b: 0.62,
            run_a: 2.2,
            run_b: 2.8,
            spacing: 1.8,
            slant: 0.6,
            seed,
        },
        Limb {
            a: arm.elbow,
            b: mid,
            ra: 2.2,
            rb: 1.75,
            inner: bend,
            fold_a: 0.6,
            fold_b: 0.45,
            run_a: 2.2,
            run_b: 2.0,
            spacing: 1.6,
            slant: -0.5,
            seed: seed + 10,
        },
    ]
}

/// The trunk without folds: what belt and pouch lie on.
pub(crate) fn trunk(p: Vec3) -> f32 {
    let seat = ellipsoid(p, Vec3::new(0.0, 0.7, 24.6), Vec3::new(5.5, 4.4, 4.3));
    let chest = ellipsoid(p, Vec3::new(-0.1, 0.1, 31.0), Vec3::new(5.7, 4.5, 6.6));
    blend(seat, chest, 1.6)
}

fn trunk_with_folds(p: Vec3) -> f32 {
    let plain = trunk(p);
    if plain.abs() > 1.6 {
        return plain;
    }
    // Cloth is drawn in by the belt and bulges over it.
    let cinch =
        0.35 * bell(p.z, BELT, 0.9) - 0.45 * bell(p.z, BELT + 2.2, 1.3) - 0.2 * bell(p.z, BELT - 2.0, 1.2);
    let angle = p.y.atan2(p.x);
    let wander = noise(p * 0.35, 41);
    // Gathers run up and down from the belt, and slant toward the raised arm.
    let gathers = folds(angle * 2.9 + 0.22 * (p.z - BELT) + 0.9 * wander);
    let depth = 0.3 * ramp(5.5, 0.8, (p.z - BELT).abs()) + 0.08;
    plain + cinch - depth * gathers
}

/// The suit as one solid.
pub(crate) fn suit() -> Solid {
    let right_leg = leg(&RIGHT_LEG, 100);
    let left_leg = leg(&LEFT_LEG, 140);
    let right_arm = arm(&RIGHT_ARM, 180);
    let left_arm = arm(&LEFT_ARM, 220);
    let low = Vec3::new(-16.6, -13.0, 5.0);
    let high = Vec3::new(15.0, 6.8, 42.0);
    Solid::new([low, high], move |p| {
        let limb = |l: &[Limb; 2], k: f32| blend(l[0].distance(p), l[1].distance(p), k);
        let legs = blend(limb(&right_leg, 0.9), limb(&left_leg, 0.9), 0.5);
        let arms = limb(&right_arm, 0.7).min(limb(&left_arm, 0.7));
        let body = blend(trunk_with_folds(p), legs, 1.2);
        blend(body, arms, 1.3)
    })
}

//! The lifeline: three twisted strands, from the belt through the left fist,
//! gathered there in loops, and down to the sea bed.

use crate::curve::{Beside, Curve};
use crate::meshing::Solid;
use crate::pose::LEFT_ARM;
use crate::reef::ground;
use fast_surface_nets::glam::Vec3;
use std::f32::consts::TAU;

/// Radius of one strand, and how far its middle is from the rope's, mm.
const STRAND: f32 = 0.42;
const OFFSET: f32 = 0.4;
/// Length in which a strand goes once round, mm.
const LAY: f32 = 3.6;

/// The rope as one solid.
pub(crate) fn rope() -> Solid {
    let curve = Curve::through(&course(), 0.35);
    let bounds = curve.bounds(STRAND + OFFSET + 0.1);
    Solid::new(bounds, move |p| curve.swept(p, STRAND + OFFSET, twisted))
}

fn twisted(b: Beside) -> f32 {
    let third = TAU / 3.0;
    let turned = b.angle - TAU * b.at / LAY;
    let within = turned - third * (turned / third).round();
    let (s, c) = within.sin_cos();
    let strand = (b.off * c - OFFSET).hypot(b.off * s) - STRAND;
    (0.9 * strand).min(b.off - 0.35)
}

fn course() -> Vec<Vec3> {
    let hand = LEFT_ARM.hand();
    let grip = LEFT_ARM.grip;
    let out = Vec3::new(hand.x.y, -hand.x.x, 0.0).normalize_or(Vec3::Y);
    let mut points = vec![Vec3::new(2.6, -4.6, 26.2), Vec3::new(4.6, -5.9, 25.0), Vec3::new(6.6, -6.9, 24.6)];
    let turns = 3;
    let in_turn = 12;
    for i in 0..=turns * in_turn {
        let turn = i as f32 / in_turn as f32;
        let angle = TAU * turn;
        let (width, drop) = (2.5 + 0.45 * turn, 8.2 + 1.1 * turn);
        let lane = (turn - 1.5) * (0.35 + 0.55 * (1.0 - angle.cos()) * 0.5);
        let across = hand.x * (-width * angle.sin());
        let down = Vec3::Z * (-0.5 * drop * (1.0 - angle.cos()));
        points.push(grip + across + down + out * lane);
    }
    points.push(Vec3::new(12.6, -6.9, 23.2));
    points.push(Vec3::new(13.3, -6.4, 17.0));
    points.push(Vec3::new(13.0, -5.0, 10.0));
    for (x, y, lift) in [
        (12.6, -3.8, 1.6),
        (11.9, -1.6, 0.5),
        (9.6, 1.4, 0.4),
        (5.6, 3.4, 0.4),
        (2.2, 1.4, 0.4),
        (1.6, -2.0, 0.4),
    ] {
        points.push(Vec3::new(x, y, ground(x, y) + lift));
    }
    points
}

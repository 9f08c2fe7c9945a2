//! Seeded noise without state: the same number for the same point, always.

use fast_surface_nets::glam::{IVec3, Vec3};

/// A number from 0 to 1 for a lattice point.
fn hash(at: IVec3, seed: u32) -> f32 {
    let mut h = (at.x as u32).wrapping_mul(0x8da6_b343)
        ^ (at.y as u32).wrapping_mul(0xd816_3841)
        ^ (at.z as u32).wrapping_mul(0xcb1a_b31f)
        ^ seed.wrapping_mul(0x9e37_79b9);
    h ^= h >> 15;
    h = h.wrapping_mul(0x2c1b_3c6d);
    h ^= h >> 12;
    h = h.wrapping_mul(0x297a_2d39);
    h ^= h >> 15;
    (h >> 8) as f32 / 16_777_216.0
}

/// Smooth noise from −1 to 1 with features about 1 unit across.
pub(crate) fn noise(p: Vec3, seed: u32) -> f32 {
    let cell = p.floor();
    let f = p - cell;
    let s = f * f * (Vec3::splat(3.0) - 2.0 * f);
    let c = cell.as_ivec3();
    let at = |x: i32, y: i32, z: i32| hash(c + IVec3::new(x, y, z), seed);
    let along = |y: i32, z: i32| at(0, y, z) + (at(1, y, z) - at(0, y, z)) * s.x;
    let low = along(0, 0) + (along(1, 0) - along(0, 0)) * s.y;
    let high = along(0, 1) + (along(1, 1) - along(0, 1)) * s.y;
    2.0 * (low + (high - low) * s.z) - 1.0
}

/// Noise of three sizes, each half as strong and about half as large.
pub(crate) fn rough(p: Vec3, seed: u32) -> f32 {
    (noise(p, seed) + 0.5 * noise(p * 2.03, seed + 1) + 0.25 * noise(p * 4.09, seed + 2)) / 1.75
}

/// How far `p` is from the nearest of a scatter of pits, one for each cell
/// of `spacing`, negative inside; a share of the cells has none.
pub(crate) fn pits(p: Vec3, spacing: f32, radius: f32, seed: u32) -> f32 {
    let q = p / spacing;
    let base = (q - Vec3::splat(0.5)).floor().as_ivec3();
    let mut nearest = f32::MAX;
    for i in 0..8 {
        let cell = base + IVec3::new(i & 1, (i >> 1) & 1, (i >> 2) & 1);
        if hash(cell, seed + 3) < 0.35 {
            continue;
        }
        let jitter = Vec3::new(hash(cell, seed), hash(cell, seed + 1), hash(cell, seed + 2));
        let centre = cell.as_vec3() + Vec3::splat(0.25) + jitter * 0.5;
        let size = radius * (0.5 + 0.5 * hash(cell, seed + 4));
        nearest = nearest.min((q - centre).length() * spacing - size);
    }
    nearest
}

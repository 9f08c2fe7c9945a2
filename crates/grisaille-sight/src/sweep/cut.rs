//! Faces that a point light sees neither wholly before it nor wholly behind.

use super::axes::Axes;
use super::block::{FaceBlock, LOT};
use super::grid::{Cells, Grid};
use super::leaf::{Question, sweep_group};
use super::ready::{Common, GROUP, Kept, Ready, UNSURE, prepare, sift};
use nalgebra::Vector3;

/// Sweeps a face that reaches behind the light or far out of the cube side's
/// quarter: it is cut to the quarter first, and what is left falls apart into
/// triangles. Their new edges are within the rounding of `f64` of the face's
/// plane, which the margins cover; doubts are settled with the face itself.
#[cold]
#[inline(never)]
pub(super) fn sweep_cut(
    q: &Question<'_>,
    block: &FaceBlock,
    k: usize,
    middle: [f64; 3],
    grid: &Grid,
    cells: &mut Cells,
) {
    let Axes::Cube { at, across, away, sign } = q.axes else { return };
    let face = q.corners(block.face[k]).map(|p| {
        let q = p - at;
        Vector3::new(q[across[0]], q[across[1]], q[away] * sign)
    });
    // In these left-handed axes a face that is turned to the light has a
    // positive determinant.
    let side = face[0].dot(&face[1].cross(&face[2]));
    let size = face.iter().map(Vector3::norm).fold(0.0, f64::max);
    if !block.open && side > 1e-12 * size.powi(3) {
        return;
    }
    let mut polygon = face.to_vec();
    // A little wider than the quarter, so that no sample in it is lost.
    for plane in [[1.0, 0.0], [-1.0, 0.0], [0.0, 1.0], [0.0, -1.0]] {
        let height = |p: &Vector3<f64>| p.z * (1.0 + 1e-6) + plane[0] * p.x + plane[1] * p.y;
        let mut kept = Vec::with_capacity(polygon.len() + 1);
        for (i, p) in polygon.iter().enumerate() {
            let next = &polygon[(i + 1) % polygon.len()];
            let (h, h_next) = (height(p), height(next));
            if h >= 0.0 {
                kept.push(*p);
            }
            if (h >= 0.0) != (h_next >= 0.0) {
                kept.push(p + (next - p) * (h / (h - h_next)));
            }
        }
        polygon = kept;
        if polygon.len() < 3 {
            return;
        }
    }
    let nearest = polygon.iter().map(|p| p.z).fold(f64::INFINITY, f64::min);
    // As near as this to the light itself, `f64` does not place it well enough.
    let certain = nearest > 1e-6 * size;
    let placed: Vec<[f32; 3]> = polygon
        .iter()
        .map(|p| {
            let z = 1.0 / p.z.max(1e-9 * size).max(f64::MIN_POSITIVE);
            let limit = |v: f64| v.clamp(-1.1, 1.1);
            [
                (limit(p.x * z) - middle[0]) as f32,
                (limit(p.y * z) - middle[1]) as f32,
                (z.min(1e30) - middle[2]) as f32,
            ]
        })
        .collect();
    // The triangles that are left, as a group of their own.
    let mut at = [[0.0; LOT]; 9];
    let count = placed.len() - 2;
    for l in 0..count {
        for (c, p) in [placed[0], placed[l + 1], placed[l + 2]].into_iter().enumerate() {
            for axis in 0..3 {
                at[3 * c + axis][l] = p[axis];
            }
        }
    }
    let mut beyond = [true; LOT];
    beyond[..count].fill(false);
    let mut kept = Kept::default();
    let common = Common { faces: &[block.face[k]; LOT], open: block.open, slack: [0.0; 2] };
    sift(&at, common, grid, &cells.lowest, &beyond, &mut kept);
    let mut ready = Ready::NOTHING;
    prepare(&kept, grid, &mut ready);
    if !certain {
        ready.plane_off = [UNSURE; GROUP];
    }
    sweep_group(q, &kept, &ready, grid, cells);
}

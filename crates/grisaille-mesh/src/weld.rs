//! Welding and canonical order.
//!
//! Vertices are sorted along a Morton curve (Morton, 1966: bits of the three
//! coordinates interleaved) with ties settled by the coordinates themselves,
//! so that the order depends on the set of points alone, and neighbours in
//! space are mostly neighbours in memory. Faces are turned to begin with their
//! lowest vertex and sorted.

use crate::mesh::Bounds;
use crate::stl::Triangle;
use nalgebra::Point3;
use rayon::prelude::*;

/// A welded soup.
pub(crate) struct Welded {
    pub(crate) positions: Vec<Point3<f32>>,
    pub(crate) faces: Vec<[u32; 3]>,
    /// Facets two of whose corners are the same point.
    pub(crate) collapsed: u64,
}

/// Welds bit-equal corners. All coordinates must be finite.
pub(crate) fn weld(soup: &[Triangle]) -> Welded {
    let mut bounds = Bounds::NOTHING;
    for corner in soup.iter().flatten() {
        bounds.add(&Point3::from(*corner));
    }
    let low = bounds.low;
    // One step for all axes, so that the curve's cells are cubes.
    let size = bounds.extents().into_iter().fold(0.0, f64::max);
    let step = if size > 0.0 { f64::from((1 << 21) - 1) / size } else { 0.0 };
    let key = |p: [f32; 3]| {
        let cell = |i: usize| ((f64::from(p[i]) - f64::from(low[i])) * step) as u64;
        spread(cell(0)) | spread(cell(1)) << 1 | spread(cell(2)) << 2
    };
    let mut corners: Vec<(u64, [u32; 3], u32)> = soup
        .par_iter()
        .enumerate()
        .flat_map_iter(|(f, t)| {
            t.iter().enumerate().map(move |(c, p)| {
                // Adding +0 turns −0 into +0 and changes nothing else.
                let p = p.map(|x| x + 0.0);
                (key(p), p.map(ordered_bits), (3 * f + c) as u32)
            })
        })
        .collect();
    corners.par_sort_unstable();
    let mut positions = Vec::new();
    let mut vertex_of_corner = vec![0_u32; corners.len()];
    let mut last = None;
    for &(_, bits, corner) in &corners {
        if last != Some(bits) {
            positions.push(Point3::from(bits.map(from_ordered_bits)));
            last = Some(bits);
        }
        vertex_of_corner[corner as usize] = positions.len() as u32 - 1;
    }
    drop(corners);
    let all = vertex_of_corner.len() / 3;
    let faces: Vec<[u32; 3]> = vertex_of_corner
        .chunks_exact(3)
        .map(|c| [c[0], c[1], c[2]])
        .filter(|c| c[0] != c[1] && c[1] != c[2] && c[2] != c[0])
        .map(lowest_first)
        .collect();
    let collapsed = (all - faces.len()) as u64;
    let mut welded = Welded { positions, faces, collapsed };
    welded.faces.par_sort_unstable();
    drop_unused(&mut welded.positions, &mut welded.faces);
    welded
}

/// The same face, turned to begin with its lowest vertex.
pub(crate) fn lowest_first(f: [u32; 3]) -> [u32; 3] {
    if f[1] < f[0] && f[1] < f[2] {
        [f[1], f[2], f[0]]
    } else if f[2] < f[0] && f[2] < f[1] {
        [f[2], f[0], f[1]]
    } else {
        f
    }
}

/// Removes vertices that no face uses; keeps the order of the others.
pub(crate) fn drop_unused(positions: &mut Vec<Point3<f32>>, faces: &mut [[u32; 3]]) {
    let mut new_of_old = vec![u32::MAX; positions.len()];
    for &v in faces.iter().flatten() {
        new_of_old[v as usize] = 0;
    }
    let mut next = 0;
    for (old, new) in new_of_old.iter_mut().enumerate() {
        if *new == 0 {
            positions[next as usize] = positions[old];
            *new = next;
            next += 1;
        }
    }
    positions.truncate(next as usize);
    for v in faces.iter_mut().flatten() {
        *v = new_of_old[*v as usize];
    }
}

/// Spreads the low 21 bits so that two zero bits stand between any two.
fn spread(x: u64) -> u64 {
    let mut x = x & 0x1f_ffff;
    x = (x | x << 32) & 0x001f_0000_0000_ffff;
    x = (x | x << 16) & 0x001f_0000_ff00_00ff;
    x = (x | x << 8) & 0x100f_00f0_0f00_f00f;
    x = (x | x << 4) & 0x10c3_0c30_c30c_30c3;
    (x | x << 2) & 0x1249_2492_4924_9249
}

/// Bits that sort as the floats do.
fn ordered_bits(x: f32) -> u32 {
    let bits = x.to_bits();
    if bits >> 31 == 1 { !bits } else { bits | 1 << 31 }
}

fn from_ordered_bits(bits: u32) -> f32 {
    f32::from_bits(if bits >> 31 == 1 { bits & !(1 << 31) } else { !bits })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn minus_zero_welds_with_zero_and_order_does_not_matter() {
        let a = [[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]];
        let b = [[-0.0, 0.0, 0.0], [0.0, 1.0, -0.0], [-1.0, 0.0, 0.0]];
        let one = weld(&[a, b]);
        let two = weld(&[[b[1], b[2], b[0]], a]);
        assert_eq!(one.positions.len(), 4);
        assert_eq!(one.faces, two.faces);
        assert_eq!(one.positions, two.positions);
    }

    #[test]
    fn ordered_bits_come_back() {
        for x in [0.0, 1.5, -1.5, f32::MIN, f32::MAX, f32::MIN_POSITIVE / 8.0] {
            assert_eq!(from_ordered_bits(ordered_bits(x)), x);
        }
        assert!(ordered_bits(-2.0) < ordered_bits(-1.0) && ordered_bits(-1.0) < ordered_bits(0.0));
    }
}

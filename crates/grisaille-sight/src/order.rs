//! An order in which neighbours in space stand together, those that face alike side by side.

use nalgebra::{Point3, Vector3};
use rayon::prelude::*;

/// Bits of the curve along each axis: 2048 steps over the model, so that even
/// in a model of many millions of faces a step holds few.
const BITS: u32 = 11;
/// The last bits that count less than the octant does: the cells within which
/// it parts things are 256 over the model, a fifth of a millimetre on a 50 mm figure.
const FINER: u32 = 3;

/// The order of things along a Hilbert curve through the box from `low` to
/// `high`; inside a cell of it by the octant of their normal, and those of one
/// octant along a finer curve. Equal keys stay in the order in which they came.
/// A block of neighbours in this order is small, and most lots in it turn
/// toward a light or away from it as a whole.
///
/// `class` (0 or 1) parts the things before anything else.
pub(crate) fn order(
    len: usize,
    low: [f32; 3],
    high: [f32; 3],
    thing: impl Fn(usize) -> (Point3<f32>, Vector3<f32>, bool) + Sync,
) -> Vec<u32> {
    let longest = (0..3).map(|k| high[k] - low[k]).fold(f32::MIN_POSITIVE, f32::max);
    let scale = (1 << BITS) as f32 / longest;
    let last = (1 << BITS) - 1;
    let mut keys: Vec<(u64, u32)> = (0..len)
        .into_par_iter()
        .map(|i| {
            let (p, n, class) = thing(i);
            let cell = [0, 1, 2].map(|k| (((p[k] - low[k]) * scale) as u32).min(last));
            let octant = u32::from(n.x < 0.0) | u32::from(n.y < 0.0) << 1 | u32::from(n.z < 0.0) << 2;
            let place = u64::from(class) << (3 * BITS) | hilbert(cell, BITS);
            let (coarse, fine) = (place >> (3 * FINER), place & ((1 << (3 * FINER)) - 1));
            let key = (coarse << 3 | u64::from(octant)) << (3 * FINER) | fine;
            (key, i as u32)
        })
        .collect();
    keys.par_sort_unstable();
    keys.into_par_iter().map(|k| k.1).collect()
}

/// The place of a cell, `bits` to each axis, along Hilbert's curve (J. Skilling,
/// "Programming the Hilbert curve", AIP Conference Proceedings 707, 2004).
fn hilbert(mut x: [u32; 3], bits: u32) -> u64 {
    let mut q = 1 << (bits - 1);
    while q > 1 {
        let p = q - 1;
        for k in 0..3 {
            if x[k] & q != 0 {
                x[0] ^= p;
            } else {
                let t = (x[0] ^ x[k]) & p;
                x[0] ^= t;
                x[k] ^= t;
            }
        }
        q >>= 1;
    }
    x[1] ^= x[0];
    x[2] ^= x[1];
    let mut t = 0;
    let mut q = 1 << (bits - 1);
    while q > 1 {
        if x[2] & q != 0 {
            t ^= q - 1;
        }
        q >>= 1;
    }
    let x = x.map(|v| v ^ t);
    (0..bits)
        .rev()
        .fold(0, |key, b| key << 3 | u64::from((x[0] >> b & 1) << 2 | (x[1] >> b & 1) << 1 | x[2] >> b & 1))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The defining property: the curve visits every cell once, and each step
    /// leads to a neighbour.
    #[test]
    fn the_curve_steps_from_neighbour_to_neighbour() {
        for bits in 1..=7 {
            let n = 1 << bits;
            let mut cells = vec![[u32::MAX; 3]; n * n * n];
            for x in 0..n as u32 {
                for y in 0..n as u32 {
                    for z in 0..n as u32 {
                        cells[hilbert([x, y, z], bits) as usize] = [x, y, z];
                    }
                }
            }
            for pair in cells.windows(2) {
                let step: u32 = (0..3).map(|k| pair[0][k].abs_diff(pair[1][k])).sum();
                assert_eq!(step, 1, "{pair:?}");
            }
        }
    }

    /// Cell by cell, then octant by octant, then along the finer curve.
    #[test]
    fn octants_part_a_cell_and_no_more() {
        // Points along x within one cell of 256 and into the next, each with a
        // normal up and one down.
        let points: Vec<_> = (0..12).flat_map(|i| [(i, 1.0), (i, -1.0)]).collect();
        let size = 2048.0;
        let thing = |k: usize| {
            let (i, up): (i32, f32) = points[k];
            (Point3::new(i as f32 + 0.5, 0.5, 0.5), Vector3::new(0.3, 0.3, up), false)
        };
        let order = order(points.len(), [0.0; 3], [size; 3], thing);
        let (first, rest) = order.split_at(16);
        let ups: Vec<bool> = first.iter().map(|k| points[*k as usize].1 > 0.0).collect();
        assert_eq!(ups, [[true; 8], [false; 8]].concat());
        assert!(first.iter().all(|k| points[*k as usize].0 < 8));
        assert!(rest.iter().all(|k| points[*k as usize].0 >= 8));
    }
}

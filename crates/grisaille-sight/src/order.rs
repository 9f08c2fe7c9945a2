//! An order in which neighbours in space stand together, those that face alike side by side.

use nalgebra::{Point3, Vector3};
use rayon::prelude::*;

/// Bits of the curve along each axis: 256 steps over the model, a fifth of a
/// millimetre on a 50 mm figure, which holds a handful of samples.
const BITS: u32 = 8;

/// The order of things along a Hilbert curve through the box from `low` to
/// `high`, and inside a cell of it by the octant of their normal: equal keys
/// stay in the order in which they came. A block of neighbours in this order is
/// small, and most lots in it turn toward a light or away from it as a whole.
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
    let mut keys: Vec<u64> = (0..len)
        .into_par_iter()
        .map(|i| {
            let (p, n, class) = thing(i);
            let cell = [0, 1, 2].map(|k| (((p[k] - low[k]) * scale) as u32).min(last));
            let octant = u32::from(n.x < 0.0) | u32::from(n.y < 0.0) << 1 | u32::from(n.z < 0.0) << 2;
            let key = (u32::from(class) << (3 * BITS) | hilbert(cell)) << 3 | octant;
            u64::from(key) << 32 | i as u64
        })
        .collect();
    keys.par_sort_unstable();
    keys.into_par_iter().map(|k| k as u32).collect()
}

/// The place of a cell along Hilbert's curve (J. Skilling, "Programming the
/// Hilbert curve", AIP Conference Proceedings 707, 2004).
fn hilbert(mut x: [u32; 3]) -> u32 {
    let mut q = 1 << (BITS - 1);
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
    let mut q = 1 << (BITS - 1);
    while q > 1 {
        if x[2] & q != 0 {
            t ^= q - 1;
        }
        q >>= 1;
    }
    let x = x.map(|v| v ^ t);
    (0..BITS).rev().fold(0, |key, b| key << 3 | (x[0] >> b & 1) << 2 | (x[1] >> b & 1) << 1 | x[2] >> b & 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The defining property: the curve visits every cell once, and each step
    /// leads to a neighbour.
    #[test]
    fn the_curve_steps_from_neighbour_to_neighbour() {
        let n = 1 << BITS;
        let mut cells = vec![[u32::MAX; 3]; n * n * n];
        for x in 0..n as u32 {
            for y in 0..n as u32 {
                for z in 0..n as u32 {
                    cells[hilbert([x, y, z]) as usize] = [x, y, z];
                }
            }
        }
        for pair in cells.windows(2) {
            let step: u32 = (0..3).map(|k| pair[0][k].abs_diff(pair[1][k])).sum();
            assert_eq!(step, 1, "{pair:?}");
        }
    }
}

//! Where the samples of a patch are in the light's own axes, and which of them
//! are asked about at all.

#![expect(
    clippy::needless_range_loop,
    reason = "lanes side by side are rows of numbers at the same index: written so, they become vectors"
)]

use super::axes::{Axes, Extent};
use super::block::{BLOCK, LOT, LOTS, Patch};
use super::lanes::{U, bits, eight, less, more};
use super::leaf::Question;
use super::lots::Extents;
use crate::engine::Source;
use nalgebra::Vector3;

/// Blocks and patches are turned from their own middle in `f32`: what that
/// adds to the rounding of a coordinate, in u times the block's radius (three
/// products, their sum, and the rounding of the axes: 4 · √3).
pub(super) const SLACK: f32 = 4.0;
/// A block or patch that reaches nearer to a point light than this times its
/// radius is placed exactly, corner by corner.
pub(super) const NEAR: f64 = 4.0;

/// The samples of a patch in the light's axes, at `base` + `at`: the same for
/// every tile to the last bit, so that each sample lies in exactly one.
pub(super) struct Placed {
    pub(super) base: [f64; 3],
    pub(super) at: [[f32; BLOCK]; 3],
    /// What is rounded away across and along the light, in u.
    pub(super) slack: [f32; 2],
    /// The samples that these axes see.
    pub(super) word: u64,
}

/// Places the samples of `word`.
#[inline(always)]
pub(super) fn place(q: &Question<'_>, index: usize, word: u64) -> Placed {
    let patch = &q.samples.patches()[index];
    match q.axes {
        Axes::Parallel { across, toward } if !patch.wide => {
            let mut placed =
                Placed { base: [0.0; 3], at: [[0.0; BLOCK]; 3], slack: [SLACK * patch.radius; 2], word };
            for (axis, row) in [across[0], across[1], toward].iter().enumerate() {
                placed.base[axis] = row.dot(&Vector3::from(patch.middle));
                turn(&row.cast(), &patch.origin[0], &patch.origin[1], &patch.origin[2], &mut placed.at[axis]);
            }
            placed
        }
        Axes::Cube { at, across, away, sign } if !patch.wide => {
            let base = [0, 1, 2].map(|k| patch.middle[k] - at[k]);
            let radius = f64::from(patch.radius);
            let near = base[away] * sign - radius;
            if near < NEAR * radius {
                return place_exactly(q, index, word);
            }
            perspective(patch, base, across, away, sign, near, word)
        }
        _ => place_exactly(q, index, word),
    }
}

#[inline(always)]
fn perspective(
    patch: &Patch,
    base: [f64; 3],
    across: [usize; 2],
    away: usize,
    sign: f64,
    near: f64,
    word: u64,
) -> Placed {
    let middle = {
        let z = 1.0 / (base[away] * sign);
        [base[across[0]] * z, base[across[1]] * z, z]
    };
    let radius = f64::from(patch.radius);
    // A coordinate is off by the rounding of the offset from the middle, seen
    // from as near as the patch comes; x and y lie within 1 in this quarter.
    let slack = [(2.0 * radius / near) as f32, (radius / (near * near)) as f32];
    let mut placed = Placed { base: middle, at: [[0.0; BLOCK]; 3], slack, word: 0 };
    let [i, j] = across;
    let mut seen = [false; BLOCK];
    for k in 0..BLOCK {
        let depth = base[away] + f64::from(patch.origin[away][k]);
        let (p, q) = (base[i] + f64::from(patch.origin[i][k]), base[j] + f64::from(patch.origin[j][k]));
        let (most, a, b) = (depth.abs(), p.abs(), q.abs());
        // The first of the greatest components, as in `Axes::place`.
        let first = if i < away { a < most } else { a <= most };
        let second = if j < away { b < most } else { b <= most };
        seen[k] = first & second & (depth * sign > 0.0);
        let z = 1.0 / (depth * sign);
        placed.at[0][k] = (p * z - middle[0]) as f32;
        placed.at[1][k] = (q * z - middle[1]) as f32;
        placed.at[2][k] = (z - middle[2]) as f32;
    }
    placed.word = word & packed(&seen);
    placed
}

/// The same sample by sample, in `f64`.
#[cold]
#[inline(never)]
fn place_exactly(q: &Question<'_>, index: usize, word: u64) -> Placed {
    let mut placed = Placed { base: [0.0; 3], at: [[0.0; BLOCK]; 3], slack: [0.0; 2], word: 0 };
    let at = |k: usize| q.axes.place(q.samples.origin[index * BLOCK + k].cast());
    // From a sample of its own: the rounding is then by the patch's size.
    let Some(base) = bits(word).find_map(at) else { return placed };
    placed.base = base;
    for k in bits(word) {
        let Some(at) = at(k) else { continue };
        placed.word |= 1 << k;
        for axis in 0..3 {
            placed.at[axis][k] = (at[axis] - base[axis]) as f32;
            let slack = &mut placed.slack[usize::from(axis == 2)];
            *slack = more(*slack, placed.at[axis][k].abs());
        }
    }
    placed
}

/// One component of turned vectors.
#[inline(always)]
pub(super) fn turn<const N: usize>(
    row: &Vector3<f32>,
    x: &[f32; N],
    y: &[f32; N],
    z: &[f32; N],
    out: &mut [f32; N],
) {
    for k in 0..N {
        out[k] = row.x * x[k] + row.y * y[k] + row.z * z[k];
    }
}

/// The samples of a patch that these axes see, that are open and turned to the
/// light, one bit each; their extent; and that of each lot, from `origin`.
#[inline(always)]
pub(super) fn measure(q: &Question<'_>, index: usize, origin: [f64; 3]) -> Option<(u64, Extent, Extents)> {
    // Five of a point light's six views do not see a patch at all.
    if matches!(q.axes, Axes::Cube { .. }) {
        q.axes.extent(&q.samples.patches()[index].hull)?;
    }
    let word = turned(q, index);
    if word == 0 {
        return None;
    }
    let placed = place(q, index, word);
    let word = placed.word;
    if word == 0 {
        return None;
    }
    let mut extent = Extent { low: [f64::INFINITY; 3], high: [f64::NEG_INFINITY; 3] };
    let mut lots = Extents::NOTHING;
    let mut on = [false; BLOCK];
    for (k, on) in on.iter_mut().enumerate() {
        *on = word >> k & 1 == 1;
    }
    for axis in 0..3 {
        let (rows, _) = placed.at[axis].as_chunks::<LOT>();
        let (flags, _) = on.as_chunks::<LOT>();
        let (mut all_low, mut all_high) = (f32::INFINITY, f32::NEG_INFINITY);
        let slack = placed.slack[usize::from(axis == 2)];
        let shift = (placed.base[axis] - origin[axis]) as f32;
        for (lot, (row, on)) in rows.iter().zip(flags).enumerate() {
            let (mut low, mut high) = ([0.0; LOT], [0.0; LOT]);
            for k in 0..LOT {
                low[k] = if on[k] { row[k] } else { f32::INFINITY };
                high[k] = if on[k] { row[k] } else { f32::NEG_INFINITY };
            }
            let (low, high) = (halved(low, less), halved(high, more));
            all_low = less(all_low, low);
            all_high = more(all_high, high);
            // Wide enough to hold where the samples are, not only where they were
            // rounded to.
            let off = 4.0 * U * (slack + more(low.abs(), high.abs()) + shift.abs());
            lots.low[axis][lot] = low + shift - off;
            lots.high[axis][lot] = high + shift + off;
        }
        let slack = f64::from(4.0 * U * (slack + more(all_high.abs(), all_low.abs())));
        extent.low[axis] = f64::from(all_low) + placed.base[axis] - slack;
        extent.high[axis] = f64::from(all_high) + placed.base[axis] + slack;
    }
    for lot in 0..LOTS {
        // Infinite less infinite is not a number.
        if word >> (lot * LOT) & 0xff == 0 {
            for axis in 0..3 {
                lots.low[axis][lot] = f32::INFINITY;
                lots.high[axis][lot] = f32::NEG_INFINITY;
            }
        }
    }
    Some((word, extent.widened(), lots))
}

/// The least or the greatest of eight, by halves.
#[inline(always)]
fn halved(v: [f32; LOT], pick: impl Fn(f32, f32) -> f32) -> f32 {
    let four = [0, 1, 2, 3].map(|k| pick(v[k], v[k + 4]));
    pick(pick(four[0], four[2]), pick(four[1], four[3]))
}

/// The samples of a patch that are open and turned to the light, one bit each.
#[inline(always)]
fn turned(q: &Question<'_>, index: usize) -> u64 {
    let patch = &q.samples.patches()[index];
    let mut sure = [false; BLOCK];
    let mut doubt = [false; BLOCK];
    match q.source {
        Source::Direction(l) => {
            let l = l.cast::<f32>();
            for k in 0..BLOCK {
                let n = [patch.normal[0][k], patch.normal[1][k], patch.normal[2][k]];
                let cosine = n[0] * l.x + n[1] * l.y + n[2] * l.z;
                // Three products of numbers below 1 and their sum: 6u at most.
                sure[k] = cosine > 8.0 * U;
                doubt[k] = cosine.abs() <= 8.0 * U;
            }
        }
        Source::Point { at, .. } => {
            // A lamp is faced from the position, and the patch holds origins:
            // these lie a little off it.
            let base = [0, 1, 2].map(|k| (at[k] - patch.middle[k]) as f32);
            let far = base[0].abs() + base[1].abs() + base[2].abs() + 3.0 * patch.radius;
            let off = q.off_position + 8.0 * U * far;
            for k in 0..BLOCK {
                let mut height = 0.0;
                for axis in 0..3 {
                    height += patch.normal[axis][k] * (base[axis] - patch.origin[axis][k]);
                }
                sure[k] = height > off;
                doubt[k] = height.abs() <= off;
            }
        }
    }
    let mut turned = packed(&sure);
    for k in bits(packed(&doubt)) {
        let i = index * BLOCK + k;
        if i < q.samples.len() && q.source.faces(q.samples, i) {
            turned |= 1 << k;
        }
    }
    turned & !q.samples.buried.words()[index]
}

#[inline(always)]
fn packed(of: &[bool; BLOCK]) -> u64 {
    let (bytes, _) = of.as_chunks();
    bytes.iter().enumerate().fold(0, |word, (k, b)| word | u64::from(eight(*b)) << (8 * k))
}

//! One tile of the light's view: its samples in a grid, every face that may
//! shade them swept over it.
//!
//! Coordinates are `f32` from the tile's middle: under a distant light turned in
//! `f32` from the middle of a block, which costs a little margin, else taken in
//! `f64` and only then rounded. Every comparison has a margin that covers this rounding
//! and that of the comparison itself (bounds below, u = 2⁻²⁴); what falls
//! within the margin is decided by the exact test. So the answer is the exact
//! test's answer, whatever the width of the vectors.

#![expect(
    clippy::needless_range_loop,
    reason = "lanes side by side are rows of numbers at the same index: written so, they become vectors"
)]

use super::axes::{Axes, Extent};
use super::block::{BLOCK, FaceBlock};
use crate::engine::Source;
use crate::occluder::{FaceMask, Occluders};
use crate::surface::Samples;
use nalgebra::{Point3, Vector3};

/// Samples that are tested side by side.
const LANES: usize = 8;
/// Faces that are brought into the light's axes side by side.
const GROUP: usize = 16;
/// The unit roundoff of `f32`.
const U: f32 = f32::EPSILON / 2.0;
/// Blocks and patches are turned from their own middle in `f32`: what that
/// adds to the rounding of a coordinate, in u times the block's radius (three
/// products, their sum, and the rounding of the axes: 4 · √3).
const SLACK: f32 = 4.0;
/// A margin within which everything lies.
const UNSURE: f32 = 1e30;
/// The lanes' own numbers.
const LANE: [f32; LANES] = [0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0];
/// Samples in a cell of the grid, on average.
const PER_CELL: f32 = 1.0;
/// How much taller than wide cells are: a face then covers fewer rows, and
/// more of a vector in each.
const TALL: f32 = 2.0;
/// Cells of the grid along the sides of a coarse cell, as powers of two.
const COARSE: [u32; 2] = [3, 1];

/// The lesser of two numbers, as one instruction; NaN is of no concern here.
#[inline(always)]
fn less(a: f32, b: f32) -> f32 {
    if a < b { a } else { b }
}

/// The greater of two numbers, likewise.
#[inline(always)]
fn more(a: f32, b: f32) -> f32 {
    if a > b { a } else { b }
}

/// What all tiles of one question share.
#[derive(Clone, Copy)]
pub(crate) struct Question<'a> {
    pub(crate) axes: Axes,
    pub(crate) source: Source,
    pub(crate) samples: &'a Samples,
    pub(crate) occluders: &'a Occluders,
    pub(crate) blocks: &'a [FaceBlock],
    pub(crate) mask: &'a FaceMask,
    /// Within this distance of a point light's centre nothing blocks.
    pub(crate) clear: f64,
}

/// Where a face stands to the clear ball round a point light.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Clear {
    /// Wholly outside: it blocks as any other.
    Outside,
    /// Wholly inside: it blocks nothing.
    Inside,
    /// It may reach in and out: only the exact test knows.
    Across,
}

/// A tile's memory, used again for the next.
#[derive(Default)]
pub(crate) struct Scratch {
    /// Of each sample, as it comes: place from the tile's middle, and slot.
    found: [Vec<f32>; 3],
    found_slot: Vec<u32>,
    cell: Vec<u32>,
    /// The same, cell by cell and row by row.
    x: Vec<f32>,
    y: Vec<f32>,
    z: Vec<f32>,
    slot: Vec<u32>,
    /// One bit for each: whether it is shaded.
    shade: Vec<u64>,
    start: Vec<u32>,
    /// The farthest sample from the light in each coarse cell.
    lowest: Vec<f32>,
    /// One word of bits for each patch of the tile: the samples that see the light.
    pub(crate) seen: Vec<u64>,
    /// Which patches these are.
    pub(crate) patch: Vec<u32>,
}

/// The grid over a tile's samples, in coordinates from the tile's middle.
#[derive(Clone, Copy)]
struct Grid {
    low: [f32; 2],
    high: [f32; 2],
    /// The farthest sample's z.
    deepest: f32,
    /// The greatest size of any coordinate of a sample.
    reach: f32,
    deep: f32,
    /// Cells in a unit of length, and a cell's size.
    per: [f32; 2],
    size: [f32; 2],
    cells: [u32; 2],
    last: [f32; 2],
    coarse: u32,
}

impl Grid {
    /// The cell along one axis. Monotone in `v`, rounding included: a sample
    /// between two others is never in a cell outside theirs. The number is
    /// rounded, to the nearest, into the lowest bits of a float, since a cast
    /// would not be done side by side.
    #[inline(always)]
    fn along(&self, k: usize, v: f32) -> u32 {
        let cell = less(more((v - self.low[k]) * self.per[k], 0.0), self.last[k]);
        (cell + 8_388_608.0).to_bits() & 0x7f_ffff
    }
}

/// Sets in `scratch.seen` the bits of the samples of `patches` that lie in the
/// tile, are turned to the light and see it past the faces of `blocks`.
#[inline(always)]
pub(crate) fn leaf(
    q: &Question<'_>,
    tile: &Extent,
    patches: impl Iterator<Item = (u32, u64)>,
    blocks: impl Iterator<Item = u32> + Clone,
    middle: [f64; 3],
    scratch: &mut Scratch,
) {
    let Some(grid) = gather(q, tile, patches, middle, scratch) else { return };
    if blocks.clone().next().is_some() {
        sort(&grid, scratch);
        for block in blocks {
            sweep_block(q, &q.blocks[block as usize], middle, &grid, scratch);
        }
        let seen = &mut scratch.seen;
        for (k, slot) in scratch.slot.iter().enumerate() {
            let lit = !(scratch.shade[k / 64] >> (k % 64)) & 1;
            seen[(slot / 64) as usize] |= lit << (slot % 64);
        }
    } else {
        let seen = &mut scratch.seen;
        for slot in &scratch.found_slot {
            seen[(slot / 64) as usize] |= 1 << (slot % 64);
        }
    }
}

/// Collects the tile's samples that are turned to the light.
#[inline(always)]
fn gather(
    q: &Question<'_>,
    tile: &Extent,
    patches: impl Iterator<Item = (u32, u64)>,
    middle: [f64; 3],
    scratch: &mut Scratch,
) -> Option<Grid> {
    let Scratch { found, found_slot, seen, patch: listed, .. } = scratch;
    found.iter_mut().for_each(Vec::clear);
    found_slot.clear();
    seen.clear();
    listed.clear();
    let mut slack = 0.0_f32;
    for (index, turned) in patches {
        let base = (seen.len() * BLOCK) as u32;
        seen.push(0);
        listed.push(index);
        let mut left = turned;
        let mut next = || {
            let k = left.trailing_zeros() as usize;
            left &= left.wrapping_sub(1);
            (k < BLOCK).then_some(k)
        };
        let within =
            |x: f64, y: f64| x >= tile.low[0] && x < tile.high[0] && y >= tile.low[1] && y < tile.high[1];
        if let Some(place) = place(q, index as usize) {
            slack = more(slack, place.slack);
            let shift = [0, 1, 2].map(|k| (place.base[k] - middle[k]) as f32);
            while let Some(k) = next() {
                let at = [place.at[0][k], place.at[1][k], place.at[2][k]];
                if within(f64::from(at[0]) + place.base[0], f64::from(at[1]) + place.base[1]) {
                    for axis in 0..3 {
                        found[axis].push(at[axis] + shift[axis]);
                    }
                    found_slot.push(base + k as u32);
                }
            }
        } else {
            while let Some(k) = next() {
                let p = q.samples.origin[index as usize * BLOCK + k].cast();
                let Some(at) = q.axes.place(p) else { continue };
                if within(at[0], at[1]) {
                    for axis in 0..3 {
                        found[axis].push((at[axis] - middle[axis]) as f32);
                    }
                    found_slot.push(base + k as u32);
                }
            }
        }
    }
    if found_slot.is_empty() {
        return None;
    }
    let range = |row: &[f32]| {
        row.iter().fold((f32::INFINITY, f32::NEG_INFINITY), |(low, high), v| (less(low, *v), more(high, *v)))
    };
    let [x, y, z] = [range(&found[0]), range(&found[1]), range(&found[2])];
    let (width, height) = (x.1 - x.0, y.1 - y.0);
    // No more cells than `wanted`, even where the tile is a line.
    let wanted = found_slot.len() as f32 / PER_CELL;
    let size = (width * height / (wanted * TALL)).sqrt().max(width / wanted).max(height / (wanted * TALL));
    let size = [size.max(f32::MIN_POSITIVE), (TALL * size).max(f32::MIN_POSITIVE)];
    let count = |k: usize, extent: f32| ((extent / size[k]) as u32 + 1).min(1 << 12);
    let cells = [count(0, width), count(1, height)];
    Some(Grid {
        low: [x.0, y.0],
        high: [x.1, y.1],
        deepest: z.0,
        reach: [x.0, x.1, y.0, y.1].iter().fold(0.0, |m, v| v.abs().max(m)) + slack,
        deep: z.0.abs().max(z.1.abs()) + slack,
        per: size.map(|s| 1.0 / s),
        size,
        cells,
        last: cells.map(|n| (n - 1) as f32),
        coarse: (cells[0] >> COARSE[0]) + 1,
    })
}

/// The samples of a patch that these axes see, that are open and turned to
/// the light, one bit each, and the extent of these.
#[inline(always)]
pub(crate) fn measure(q: &Question<'_>, index: usize) -> Option<(u64, Extent)> {
    let word = turned(q, index);
    if word == 0 {
        return None;
    }
    let mut extent = Extent { low: [f64::INFINITY; 3], high: [f64::NEG_INFINITY; 3] };
    let Some(place) = place(q, index) else {
        return measure_exactly(q, index, word);
    };
    let mut on = [false; BLOCK];
    for (k, on) in on.iter_mut().enumerate() {
        *on = word >> k & 1 == 1;
    }
    for axis in 0..3 {
        let (mut low, mut high) = ([f32::INFINITY; 16], [f32::NEG_INFINITY; 16]);
        for (at, on) in place.at[axis].chunks_exact(16).zip(on.chunks_exact(16)) {
            for l in 0..16 {
                low[l] = if on[l] { less(low[l], at[l]) } else { low[l] };
                high[l] = if on[l] { more(high[l], at[l]) } else { high[l] };
            }
        }
        let low = low.iter().fold(f32::INFINITY, |m, v| less(m, *v));
        let high = high.iter().fold(f32::NEG_INFINITY, |m, v| more(m, *v));
        // Wide enough to hold where the samples are, not only where they were
        // rounded to.
        let slack = f64::from(4.0 * U * (place.slack + more(high.abs(), low.abs())));
        extent.low[axis] = f64::from(low) + place.base[axis] - slack;
        extent.high[axis] = f64::from(high) + place.base[axis] + slack;
    }
    Some((word, extent))
}

/// The same sample by sample, in `f64`.
#[inline(never)]
fn measure_exactly(q: &Question<'_>, index: usize, word: u64) -> Option<(u64, Extent)> {
    let mut seen = 0;
    let mut extent = Extent { low: [f64::INFINITY; 3], high: [f64::NEG_INFINITY; 3] };
    for k in (0..BLOCK).filter(|k| word >> k & 1 == 1) {
        let Some(at) = q.axes.place(q.samples.origin[index * BLOCK + k].cast()) else { continue };
        seen |= 1 << k;
        for axis in 0..3 {
            extent.low[axis] = extent.low[axis].min(at[axis]);
            extent.high[axis] = extent.high[axis].max(at[axis]);
        }
    }
    (seen != 0).then(|| (seen, extent.widened()))
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
        Source::Point { .. } => doubt = [true; BLOCK],
    }
    let mut bits = word(&sure);
    let mut left = word(&doubt);
    while left != 0 {
        let k = left.trailing_zeros() as usize;
        left &= left - 1;
        let i = index * BLOCK + k;
        if i < q.samples.len() && q.source.faces(q.samples, i) {
            bits |= 1 << k;
        }
    }
    bits & !q.samples.buried.words()[index]
}

#[inline(always)]
fn word(of: &[bool; BLOCK]) -> u64 {
    let (bytes, _) = of.as_chunks();
    bytes.iter().enumerate().fold(0, |word, (k, b)| word | u64::from(eight(*b)) << (8 * k))
}

/// Where the samples of a patch are in the light's axes: at `base` + `at`.
struct Placed {
    base: [f64; 3],
    at: [[f32; BLOCK]; 3],
    /// What is rounded away, in u.
    slack: f32,
}

/// The places of a small patch under a distant light, the same for every tile
/// to the last bit; `None` for those that must be placed one by one in `f64`.
#[inline(always)]
fn place(q: &Question<'_>, index: usize) -> Option<Placed> {
    let patch = &q.samples.patches()[index];
    let rows = q.axes.rows().filter(|_| !patch.wide)?;
    let mut placed = Placed { base: [0.0; 3], at: [[0.0; BLOCK]; 3], slack: SLACK * patch.radius };
    for (axis, row) in rows.iter().enumerate() {
        placed.base[axis] = row.dot(&Vector3::from(patch.middle));
        turn(&row.cast(), &patch.origin[0], &patch.origin[1], &patch.origin[2], &mut placed.at[axis]);
    }
    Some(placed)
}

/// One component of turned vectors.
#[inline(always)]
fn turn<const N: usize>(row: &Vector3<f32>, x: &[f32; N], y: &[f32; N], z: &[f32; N], out: &mut [f32; N]) {
    for k in 0..N {
        out[k] = row.x * x[k] + row.y * y[k] + row.z * z[k];
    }
}

/// Deals the samples out to the cells (a counting sort).
#[inline(always)]
fn sort(grid: &Grid, scratch: &mut Scratch) {
    let Scratch { found, found_slot, cell, x, y, z, slot, shade, start, lowest, .. } = scratch;
    let n = found_slot.len();
    let cells = (grid.cells[0] * grid.cells[1]) as usize;
    start.clear();
    start.resize(cells + 2, 0);
    lowest.clear();
    lowest.resize((grid.coarse * ((grid.cells[1] >> COARSE[1]) + 1)) as usize, f32::INFINITY);
    cell.clear();
    for k in 0..n {
        let (i, j) = (grid.along(0, found[0][k]), grid.along(1, found[1][k]));
        let c = j * grid.cells[0] + i;
        cell.push(c);
        start[c as usize + 2] += 1;
        let coarse = &mut lowest[((j >> COARSE[1]) * grid.coarse + (i >> COARSE[0])) as usize];
        *coarse = coarse.min(found[2][k]);
    }
    for c in 2..start.len() {
        start[c] += start[c - 1];
    }
    // Eight more than there are: a vector may reach past the last sample.
    for row in [&mut *x, &mut *y, &mut *z] {
        row.clear();
        row.resize(n + LANES, 0.0);
    }
    shade.clear();
    shade.resize(n / 64 + 2, 0);
    slot.clear();
    slot.resize(n, 0);
    for k in 0..n {
        let at = &mut start[cell[k] as usize + 1];
        let to = *at as usize;
        *at += 1;
        x[to] = found[0][k];
        y[to] = found[1][k];
        z[to] = found[2][k];
        slot[to] = found_slot[k];
    }
}

/// Faces of a group, ready to be laid over the cells: a row for each number.
struct Ready {
    /// The three sides' forms m·x + n·y + c, at least 0 inside, each lowered
    /// by the margin `side_off`.
    side: [[[f32; GROUP]; 3]; 3],
    side_off: [f32; GROUP],
    /// The plane's form p·x + q·y + r·z + level, at least 0 on the far side.
    plane: [[f32; GROUP]; 3],
    level: [f32; GROUP],
    plane_off: [f32; GROUP],
}

impl Ready {
    const NOTHING: Self = Self {
        side: [[[0.0; GROUP]; 3]; 3],
        side_off: [0.0; GROUP],
        plane: [[0.0; GROUP]; 3],
        level: [0.0; GROUP],
        plane_off: [0.0; GROUP],
    };
}

/// The faces of a block that may shade a sample of the tile, side by side.
struct Kept {
    count: usize,
    /// Which of the block's faces.
    index: [usize; BLOCK],
    /// Their corners in the light's axes, nine rows.
    at: [[f32; BLOCK]; 9],
    /// The first and last cell along x and y.
    cells: [[u32; 4]; BLOCK],
}

#[inline(always)]
fn sweep_block(q: &Question<'_>, block: &FaceBlock, middle: [f64; 3], grid: &Grid, scratch: &mut Scratch) {
    let slack = if q.axes.rows().is_some() { SLACK * block.radius } else { 0.0 };
    let mut kept = Kept { count: 0, index: [0; BLOCK], at: [[0.0; BLOCK]; 9], cells: [[0; 4]; BLOCK] };
    for first in (0..BLOCK).step_by(GROUP) {
        let mut at = [[0.0_f32; GROUP]; 9];
        let mut cut = [false; GROUP];
        if let Some(rows) = q.axes.rows() {
            for (axis, row) in rows.iter().enumerate() {
                let base = (row.dot(&Vector3::from(block.middle)) - middle[axis]) as f32;
                let row: Vector3<f32> = row.cast();
                for c in 0..3 {
                    let [x, y, z] = [0, 1, 2].map(|k| sixteen(&block.corners[3 * c + k], first));
                    turn(&row, x, y, z, &mut at[3 * c + axis]);
                    for v in &mut at[3 * c + axis] {
                        *v += base;
                    }
                }
            }
        } else {
            cut = perspective(q, block, first, middle, &mut at);
        }
        sift(&at, first, block.open, slack, grid, &scratch.lowest, &cut, &mut kept);
        for l in 0..GROUP {
            if cut[l] {
                sweep_cut(q, block, first + l, middle, grid, scratch);
            }
        }
    }
    for first in (0..kept.count).step_by(GROUP) {
        let mut ready = Ready::NOTHING;
        let [ax, ay, az, bx, by, bz, cx, cy, cz] = &kept.at;
        let rows = [ax, ay, az, bx, by, bz, cx, cy, cz].map(|row| sixteen(row, first));
        prepare(rows, block.open, slack, grid, &mut ready);
        for l in 0..GROUP.min(kept.count - first) {
            sweep_face(q, block, kept.index[first + l], kept.cells[first + l], &ready, l, grid, scratch);
        }
    }
}

/// Keeps of a group the faces that turn away from the light (or may), reach
/// into the tile, and have a sample lower than their top in a coarse cell that
/// they reach into. Faces that are `cut` are left out: they are dealt with alone.
#[inline(always)]
#[expect(clippy::too_many_arguments, reason = "one place calls it, from the middle of its loop")]
fn sift(
    at: &[[f32; GROUP]; 9],
    first: usize,
    open: bool,
    slack: f32,
    grid: &Grid,
    lowest: &[f32],
    cut: &[bool; GROUP],
    kept: &mut Kept,
) {
    let [ax, ay, az, bx, by, bz, cx, cy, cz] = at;
    let mut keep = [0.0_f32; GROUP];
    let mut top = [0.0_f32; GROUP];
    let mut cells = [[0; GROUP]; 4];
    for l in 0..GROUP {
        let low_x = less(less(ax[l], bx[l]), cx[l]);
        let high_x = more(more(ax[l], bx[l]), cx[l]);
        let low_y = less(less(ay[l], by[l]), cy[l]);
        let high_y = more(more(ay[l], by[l]), cy[l]);
        let high_z = more(more(az[l], bz[l]), cz[l]);
        let most = slack + more(more(more(-low_x, high_x), more(-low_y, high_y)), grid.reach);
        let pad = 8.0 * U * most;
        top[l] = high_z + 8.0 * U * (slack + more(high_z.abs(), grid.deep));
        let area = (bx[l] - ax[l]) * (cy[l] - ay[l]) - (by[l] - ay[l]) * (cx[l] - ax[l]);
        let wide = (high_x - low_x) + (high_y - low_y);
        // One number, at least 0 where the face must be looked at.
        let x = less(grid.high[0] - (low_x - pad), high_x + pad - grid.low[0]);
        let y = less(grid.high[1] - (low_y - pad), high_y + pad - grid.low[1]);
        let turned = if open { 0.0 } else { area_margin(most, wide) - area };
        keep[l] = less(less(less(x, y), top[l] - grid.deepest), turned);
        cells[0][l] = grid.along(0, low_x - pad);
        cells[1][l] = grid.along(0, high_x + pad);
        cells[2][l] = grid.along(1, low_y - pad);
        cells[3][l] = grid.along(1, high_y + pad);
    }
    for l in 0..GROUP {
        if keep[l] < 0.0 || cut[l] {
            continue;
        }
        let [i0, i1, j0, j1] = [0, 1, 2, 3].map(|k| cells[k][l]);
        let mut lower = false;
        for j in j0 >> COARSE[1]..=j1 >> COARSE[1] {
            for i in i0 >> COARSE[0]..=i1 >> COARSE[0] {
                lower |= lowest[(j * grid.coarse + i) as usize] <= top[l];
            }
        }
        if lower {
            let to = kept.count.min(BLOCK - 1);
            kept.index[to] = first + l;
            kept.cells[to] = [i0, i1, j0, j1];
            for (row, from) in kept.at.iter_mut().zip(at) {
                row[to] = from[l];
            }
            kept.count = to + 1;
        }
    }
}

#[inline(always)]
fn sixteen(of: &[f32; BLOCK], first: usize) -> &[f32; GROUP] {
    of[first..].first_chunk().unwrap_or(&[0.0; GROUP])
}

/// The corners of a group as a point light sees them, and which of its faces
/// reach behind the light or far out of the cube side's quarter.
#[inline(never)]
fn perspective(
    q: &Question<'_>,
    block: &FaceBlock,
    first: usize,
    middle: [f64; 3],
    out: &mut [[f32; GROUP]; 9],
) -> [bool; GROUP] {
    let mut cut = [false; GROUP];
    let Axes::Cube { at: light, across, away, sign } = q.axes else { return cut };
    for lane in 0..GROUP {
        for (c, corner) in corners(q, block, first + lane).into_iter().enumerate() {
            let q = corner - light;
            let depth = q[away] * sign;
            let (x, y) = (q[across[0]], q[across[1]]);
            cut[lane] |= depth * 16.0 < x.abs().max(y.abs()).max(f64::MIN_POSITIVE);
            let z = 1.0 / depth;
            out[3 * c][lane] = (x * z - middle[0]) as f32;
            out[3 * c + 1][lane] = (y * z - middle[1]) as f32;
            out[3 * c + 2][lane] = (z - middle[2]) as f32;
        }
    }
    cut
}

/// How far twice the area of a face `wide` across may be off, when its
/// coordinates are off by 2u·most: each enters times the other side's length;
/// products and sums add three roundings.
#[inline(always)]
fn area_margin(most: f32, wide: f32) -> f32 {
    U * wide * (16.0 * most + 4.0 * wide)
}

/// Makes faces ready. `slack` is the part of the error that comes from the
/// block's own size.
#[inline(always)]
fn prepare(at: [&[f32; GROUP]; 9], open: bool, slack: f32, grid: &Grid, ready: &mut Ready) {
    let [ax, ay, az, bx, by, bz, cx, cy, cz] = at;
    for l in 0..GROUP {
        let low_x = less(less(ax[l], bx[l]), cx[l]);
        let high_x = more(more(ax[l], bx[l]), cx[l]);
        let low_y = less(less(ay[l], by[l]), cy[l]);
        let high_y = more(more(ay[l], by[l]), cy[l]);
        let high_z = more(more(az[l], bz[l]), cz[l]);
        let low_z = less(less(az[l], bz[l]), cz[l]);
        let most = slack + more(more(more(-low_x, high_x), more(-low_y, high_y)), grid.reach);
        let deep = slack + more(more(-low_z, high_z), grid.deep);
        let area = (bx[l] - ax[l]) * (cy[l] - ay[l]) - (by[l] - ay[l]) * (cx[l] - ax[l]);
        let wide = (high_x - low_x) + (high_y - low_y);
        let area_off = area_margin(most, wide);
        // Faces are taken counter-clockwise. Closed ones that may block run
        // the other way, as do half of the open ones.
        let swap = !open || area < 0.0;
        let pick = |one: f32, two: f32| if swap { two } else { one };
        let (bx, cx) = (pick(bx[l], cx[l]), pick(cx[l], bx[l]));
        let (by, cy) = (pick(by[l], cy[l]), pick(cy[l], by[l]));
        let (bz, cz) = (pick(bz[l], cz[l]), pick(cz[l], bz[l]));
        let (ax, ay, az) = (ax[l], ay[l], az[l]);
        let area = pick(area, -area);
        // A form rounds as if the sample and the corners stood 2u·most beside
        // their places, and its own evaluation adds 6u·most times the side's
        // length. So a sample that is taken for inside lies inside or within
        // 4u·most of it, and one that lies inside is within `wide` of every
        // corner: three ends, each off by 1.5 · 2u·most, times `wide`.
        let side_off = 24.0 * U * most * wide;
        ready.side_off[l] = side_off;
        let (abx, aby, abz) = (bx - ax, by - ay, bz - az);
        let (acx, acy, acz) = (cx - ax, cy - ay, cz - az);
        let (bcx, bcy) = (cx - bx, cy - by);
        ready.side[0][0][l] = -aby;
        ready.side[0][1][l] = abx;
        ready.side[0][2][l] = aby * ax - abx * ay - side_off;
        ready.side[1][0][l] = -bcy;
        ready.side[1][1][l] = bcx;
        ready.side[1][2][l] = bcy * bx - bcx * by - side_off;
        ready.side[2][0][l] = acy;
        ready.side[2][1][l] = -acx;
        ready.side[2][2][l] = acx * ay - acy * ax - side_off;
        let nx = aby * acz - abz * acy;
        let ny = abz * acx - abx * acz;
        ready.plane[0][l] = -nx;
        ready.plane[1][l] = -ny;
        ready.plane[2][l] = -area;
        ready.level[l] = nx * ax + ny * ay + area * az;
        let tall = more(abz.abs(), acz.abs());
        // Where the sample lies inside the edges, heights are off by 2u·deep
        // on both sides, and by the slope times what x and y are off; the
        // form's own evaluation rounds its terms (area·deep and slope·most)
        // five times on either side; the normal is off by at most a few u of
        // wide·tall, which enters times the width, and by 8u of its area, which
        // enters times the height between sample and face, 2·deep.
        let off =
            U * (40.0 * area.abs() * deep + 24.0 * (nx.abs() + ny.abs()) * most + 32.0 * wide * wide * tall);
        // Edge-on, it is not known which way a face runs: nothing is certain.
        ready.plane_off[l] = if area <= 2.0 * area_off { UNSURE } else { off };
    }
}

/// Sweeps one face of a group over the samples in its cells.
#[inline(always)]
#[expect(clippy::too_many_arguments, reason = "the innermost loop's own state")]
fn sweep_face(
    q: &Question<'_>,
    block: &FaceBlock,
    index: usize,
    cells: [u32; 4],
    ready: &Ready,
    l: usize,
    grid: &Grid,
    scratch: &mut Scratch,
) {
    let [i0, i1, j0, j1] = cells;
    let face = block.face[index];
    if !q.mask.blocks(face as usize) {
        return;
    }
    let mut plane_off = ready.plane_off[l];
    if q.clear > 0.0 {
        match clear_of(q, block, index) {
            Clear::Outside => {}
            Clear::Inside => return,
            Clear::Across => plane_off = UNSURE,
        }
    }
    let side = [0, 1, 2].map(|e| [0, 1, 2].map(|k| ready.side[e][k][l]));
    let plane = [0, 1, 2].map(|k| ready.plane[k][l]);
    let level = ready.level[l] - plane_off;
    let (side_off, plane_off) = (2.0 * ready.side_off[l], 2.0 * plane_off);
    let mut doubt = [-1.0_f32; LANES];
    // Of one length, so that it is compared once; the rows are longer than
    // there are samples by a vector.
    let padded = scratch.x.len();
    let (xs, ys, zs) = (&scratch.x[..padded], &scratch.y[..padded], &scratch.z[..padded]);
    let shade = &mut scratch.shade;
    for j in j0..=j1 {
        let row = (j * grid.cells[0]) as usize;
        let mut from = scratch.start[row + i0 as usize] as usize;
        let mut to = scratch.start[row + i1 as usize + 1] as usize;
        if to > from + LANES {
            // Many samples in the row: only those under the face's slice of it.
            let (first, last) = slice(&side, side_off, grid, j, i0, i1);
            from = scratch.start[row + first as usize] as usize;
            to = scratch.start[row + last as usize + 1] as usize;
        }
        let mut k = from;
        while k < to {
            let (Some(x), Some(y), Some(z)) = (lanes(xs, k), lanes(ys, k), lanes(zs, k)) else { break };
            let left = (to - k) as f32;
            let mut hit = [false; LANES];
            for n in 0..LANES {
                // Both forms stand lowered by their margin.
                let s0 = side[0][0] * x[n] + side[0][1] * y[n] + side[0][2];
                let s1 = side[1][0] * x[n] + side[1][1] * y[n] + side[1][2];
                let s2 = side[2][0] * x[n] + side[2][1] * y[n] + side[2][2];
                let inside = less(less(s0, s1), s2);
                let below = plane[0] * x[n] + plane[1] * y[n] + plane[2] * z[n] + level;
                let sure = less(inside, below);
                let maybe = less(inside + side_off, below + plane_off);
                // Lanes past the row's end belong to other cells.
                let here = LANE[n] < left;
                hit[n] = here & (sure > 0.0);
                doubt[n] = if here { more(doubt[n], less(maybe, -sure)) } else { doubt[n] };
            }
            // Words, and not a number for each sample: vectors that overlap
            // by a part would wait for each other's stores.
            let bits = u128::from(eight(hit)) << (k % 64);
            if let Some([one, two]) = shade.get_mut(k / 64..k / 64 + 2) {
                *one |= bits as u64;
                *two |= (bits >> 64) as u64;
            }
            k += LANES;
        }
    }
    if doubt.iter().fold(-1.0_f32, |m, d| more(m, *d)) >= 0.0 {
        settle(q, face, cells, ready, l, plane_off, grid, scratch);
    }
}

/// Eight truths as bits, the first lowest. The product moves byte k, which is
/// 0 or 1, to bit 56 + k.
#[inline(always)]
fn eight(of: [bool; LANES]) -> u8 {
    (u64::from_le_bytes(of.map(u8::from)).wrapping_mul(0x0102_0408_1020_4080) >> 56) as u8
}

/// The cells of row `j`, between `i0` and `i1`, that a face can reach into:
/// each side of it leaves of the row what lies beyond the outer of the two
/// places where the side crosses the row's borders.
#[inline(never)]
fn slice(side: &[[f32; 3]; 3], side_off: f32, grid: &Grid, j: u32, i0: u32, i1: u32) -> (u32, u32) {
    // A thousandth of a row wider, for the rounding of what stands in it; the
    // last row also holds all that lies further, to the last sample.
    let border = |k: f32| grid.low[1] + (j as f32 + k) * grid.size[1];
    let (one, two) = (border(-0.501), if j + 1 == grid.cells[1] { grid.high[1] } else { border(0.501) });
    let far = more(one.abs(), two.abs());
    let (mut low, mut high) = (f32::NEG_INFINITY, f32::INFINITY);
    for [m, n, c] in side {
        let per = 1.0 / m;
        let (u, v) = (-(n * one + c + side_off) * per, -(n * two + c + side_off) * per);
        let pad = 8.0 * U * ((c.abs() + n.abs() * far) * per).abs();
        // A side along the row has no place to cross; NaN compares as neither.
        if *m > 0.0 && pad < UNSURE {
            low = more(low, less(u, v) - pad);
        } else if *m < 0.0 && pad < UNSURE {
            high = less(high, more(u, v) + pad);
        }
    }
    let first = grid.along(0, low).clamp(i0, i1);
    let last = grid.along(0, high).clamp(first, i1);
    (first, last)
}

#[inline(always)]
fn lanes(of: &[f32], k: usize) -> Option<&[f32; LANES]> {
    of.get(k..k + LANES)?.first_chunk()
}

/// Decides by the exact test what the margins left open.
#[cold]
#[inline(never)]
#[expect(clippy::too_many_arguments, reason = "the cold half of `sweep_face`, with what that has at hand")]
fn settle(
    q: &Question<'_>,
    face: u32,
    [i0, i1, j0, j1]: [u32; 4],
    ready: &Ready,
    l: usize,
    plane_off: f32,
    grid: &Grid,
    scratch: &mut Scratch,
) {
    for j in j0..=j1 {
        let row = (j * grid.cells[0]) as usize;
        let range = scratch.start[row + i0 as usize]..scratch.start[row + i1 as usize + 1];
        for k in range.start as usize..range.end as usize {
            let (x, y, z) = (scratch.x[k], scratch.y[k], scratch.z[k]);
            let outside = (0..3).any(|e| {
                let [m, n, c] = [0, 1, 2].map(|k| ready.side[e][k][l]);
                m * x + n * y + c < -2.0 * ready.side_off[l]
            });
            let [p, q_y, r] = [0, 1, 2].map(|k| ready.plane[k][l]);
            let over = p * x + q_y * y + r * z + ready.level[l] < -plane_off;
            if outside || over || scratch.shade[k / 64] >> (k % 64) & 1 == 1 {
                continue;
            }
            let slot = scratch.slot[k] as usize;
            let sample = scratch.patch[slot / BLOCK] as usize * BLOCK + slot % BLOCK;
            if q.occluders.blocks(face as usize, &q.source.ray(q.samples.origin[sample]), true) {
                scratch.shade[k / 64] |= 1 << (k % 64);
            }
        }
    }
}

/// Sweeps a face that reaches behind the light or far out of the cube side's
/// quarter: it is cut to the quarter first, and what is left falls apart into
/// triangles. Their new edges are within the rounding of `f64` of the face's
/// plane, which the margins cover; doubts are settled with the face itself.
#[cold]
#[inline(never)]
fn sweep_cut(
    q: &Question<'_>,
    block: &FaceBlock,
    k: usize,
    middle: [f64; 3],
    grid: &Grid,
    scratch: &mut Scratch,
) {
    let Axes::Cube { at, across, away, sign } = q.axes else { return };
    let face = corners(q, block, k).map(|p| {
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
    let mut at = [[0.0; GROUP]; 9];
    let count = placed.len() - 2;
    for l in 0..count {
        for (c, p) in [placed[0], placed[l + 1], placed[l + 2]].into_iter().enumerate() {
            for axis in 0..3 {
                at[3 * c + axis][l] = p[axis];
            }
        }
    }
    let mut kept = Kept { count: 0, index: [k; BLOCK], at: [[0.0; BLOCK]; 9], cells: [[0; 4]; BLOCK] };
    let mut beyond = [true; GROUP];
    beyond[..count].fill(false);
    sift(&at, 0, block.open, 0.0, grid, &scratch.lowest, &beyond, &mut kept);
    let mut ready = Ready::NOTHING;
    prepare(kept.at.each_ref().map(|row| sixteen(row, 0)), block.open, 0.0, grid, &mut ready);
    if !certain {
        ready.plane_off = [UNSURE; GROUP];
    }
    for l in 0..kept.count {
        sweep_face(q, block, k, kept.cells[l], &ready, l, grid, scratch);
    }
}

/// A face's corners, exactly.
fn corners(q: &Question<'_>, block: &FaceBlock, k: usize) -> [Point3<f64>; 3] {
    q.occluders.faces[block.face[k] as usize].map(|v| q.occluders.positions[v as usize].cast())
}

/// How a face stands to the clear ball.
fn clear_of(q: &Question<'_>, block: &FaceBlock, k: usize) -> Clear {
    let Source::Point { centre, .. } = q.source else { return Clear::Outside };
    let corners = corners(q, block, k);
    let distance = corners.map(|p| (p - centre).norm());
    let longest = (0..3).map(|c| (corners[c] - corners[(c + 1) % 3]).norm()).fold(0.0, f64::max);
    let (near, far) = distance.iter().fold((f64::INFINITY, 0.0_f64), |(n, f), d| (n.min(*d), f.max(*d)));
    if far < q.clear * (1.0 - 1e-9) {
        Clear::Inside
    } else if near - longest > q.clear * (1.0 + 1e-9) {
        Clear::Outside
    } else {
        Clear::Across
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The grid has a most of rows; the last one then holds all that lies
    /// further, and a face far into it keeps all of its cells.
    #[test]
    fn the_last_row_reaches_to_the_last_sample() {
        let grid = Grid {
            low: [0.0; 2],
            high: [4.0, 100.0],
            deepest: 0.0,
            reach: 100.0,
            deep: 0.0,
            per: [1.0; 2],
            size: [1.0; 2],
            cells: [4, 10],
            last: [3.0, 9.0],
            coarse: 1,
        };
        let face = [[0.0_f32, 50.0], [3.9, 50.5], [2.0, 53.0]];
        let side = [0, 1, 2].map(|k| {
            let (p, r) = (face[k], face[(k + 1) % 3]);
            let (m, n) = (p[1] - r[1], r[0] - p[0]);
            [m, n, -(m * p[0] + n * p[1])]
        });
        assert_eq!(slice(&side, 0.0, &grid, 9, 0, 3), (0, 3));
    }
}

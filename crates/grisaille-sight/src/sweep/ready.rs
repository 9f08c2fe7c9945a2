//! Faces brought into the light's axes, sifted, and made ready to be laid
//! over the cells, side by side.

#![expect(
    clippy::needless_range_loop,
    reason = "lanes side by side are rows of numbers at the same index: written so, they become vectors"
)]

use super::axes::Axes;
use super::block::{FaceBlock, LOT};
use super::grid::{COARSE, Grid};
use super::lanes::{U, less, more};
use super::leaf::Question;
use super::place::{NEAR, SLACK, turn};
use nalgebra::{Matrix, Vector3};

/// Faces that are made ready side by side.
pub(super) const GROUP: usize = 16;
/// A margin within which everything lies.
pub(super) const UNSURE: f32 = 1e30;

/// How a block's corners come into the light's axes.
#[derive(Clone, Copy)]
pub(super) enum Way {
    /// Turned in `f32` from the block's middle.
    Turned { rows: [Vector3<f32>; 3], base: [f32; 3] },
    /// As a point light sees them, in `f64` from the block's middle: that,
    /// from the light, and the tile's middle.
    Seen { across: [usize; 2], away: usize, sign: f64, base: [f64; 3], middle: [f64; 3] },
    /// Corner by corner, from where they are exactly.
    Exact { middle: [f64; 3] },
}

/// The way for a block, and what is rounded away across and along the light, in u.
#[inline(always)]
pub(super) fn way(q: &Question<'_>, block: &FaceBlock, middle: [f64; 3]) -> (Way, [f32; 2]) {
    match q.axes {
        Axes::Parallel { across, toward } => {
            let rows = [across[0], across[1], toward];
            let base = [0, 1, 2].map(|k| (rows[k].dot(&Vector3::from(block.middle)) - middle[k]) as f32);
            (Way::Turned { rows: rows.map(Matrix::cast), base }, [SLACK * block.radius; 2])
        }
        Axes::Cube { at, across, away, sign } => {
            let base = [0, 1, 2].map(|k| block.middle[k] - at[k]);
            let radius = f64::from(block.radius);
            let near = base[away] * sign - radius;
            // From here on, no corner is as far aside as a face that must be cut.
            let aside = base[across[0]].abs().max(base[across[1]].abs()) + radius;
            if near < NEAR * radius || aside > 8.0 * near {
                return (Way::Exact { middle }, [0.0; 2]);
            }
            // As for the samples of a patch; x and y lie within 8.
            let slack = [(9.0 * radius / near) as f32, (radius / (near * near)) as f32];
            (Way::Seen { across, away, sign, base, middle }, slack)
        }
    }
}

/// The corners of a lot in the light's axes, nine rows, and which of its faces
/// reach behind the light or far out of the cube side's quarter.
#[inline(always)]
pub(super) fn bring(
    q: &Question<'_>,
    block: &FaceBlock,
    lot: usize,
    way: &Way,
) -> ([[f32; LOT]; 9], [bool; LOT]) {
    let mut at = [[0.0_f32; LOT]; 9];
    let row =
        |r: usize| -> &[f32; LOT] { block.corners[r].as_chunks::<LOT>().0.get(lot).unwrap_or(&[0.0; LOT]) };
    match way {
        Way::Turned { rows, base } => {
            for c in 0..3 {
                let [x, y, z] = [0, 1, 2].map(|k| row(3 * c + k));
                for axis in 0..3 {
                    let out = &mut at[3 * c + axis];
                    turn(&rows[axis], x, y, z, out);
                    for v in out {
                        *v += base[axis];
                    }
                }
            }
        }
        Way::Seen { across, away, sign, base, middle } => {
            for c in 0..3 {
                let [p, r, depth] = [across[0], across[1], *away].map(|k| (base[k], row(3 * c + k)));
                for l in 0..LOT {
                    let z = 1.0 / ((depth.0 + f64::from(depth.1[l])) * sign);
                    at[3 * c][l] = ((p.0 + f64::from(p.1[l])) * z - middle[0]) as f32;
                    at[3 * c + 1][l] = ((r.0 + f64::from(r.1[l])) * z - middle[1]) as f32;
                    at[3 * c + 2][l] = (z - middle[2]) as f32;
                }
            }
        }
        Way::Exact { middle } => return exactly(q, block, lot, *middle),
    }
    (at, [false; LOT])
}

#[cold]
#[inline(never)]
fn exactly(
    q: &Question<'_>,
    block: &FaceBlock,
    lot: usize,
    middle: [f64; 3],
) -> ([[f32; LOT]; 9], [bool; LOT]) {
    let mut out = [[0.0_f32; LOT]; 9];
    let mut cut = [false; LOT];
    let Axes::Cube { at: light, across, away, sign } = q.axes else { return (out, cut) };
    for lane in 0..LOT {
        for (c, corner) in q.corners(block.face[lot * LOT + lane]).into_iter().enumerate() {
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
    (out, cut)
}

/// Faces that may shade a sample of the tile, from any block, waiting until
/// there are enough of them to be made ready side by side.
pub(super) struct Kept {
    pub(super) count: usize,
    /// Which faces of the mesh.
    pub(super) face: [u32; ROOM],
    /// Their corners in the light's axes, nine rows.
    at: [[f32; ROOM]; 9],
    /// The first and last cell along x and y.
    pub(super) cells: [[u32; 4]; ROOM],
    /// What is rounded away of their coordinates across and along the light, in u.
    slack: [[f32; ROOM]; 2],
    /// 1 for faces that block from both sides.
    open: [f32; ROOM],
}

/// Room for a group and all but one of the next, and for a lot on top.
const ROOM: usize = GROUP + LOT;

impl Default for Kept {
    fn default() -> Self {
        Self {
            count: 0,
            face: [0; ROOM],
            at: [[0.0; ROOM]; 9],
            cells: [[0; 4]; ROOM],
            slack: [[0.0; ROOM]; 2],
            open: [0.0; ROOM],
        }
    }
}

impl Kept {
    /// Leaves out the first group.
    #[inline(always)]
    pub(super) fn pass(&mut self) {
        let left = self.count.saturating_sub(GROUP);
        for k in 0..left {
            let from = GROUP + k;
            self.face[k] = self.face[from];
            self.cells[k] = self.cells[from];
            self.open[k] = self.open[from];
            for row in self.at.iter_mut().chain(&mut self.slack) {
                row[k] = row[from];
            }
        }
        self.count = left;
    }
}

/// What a lot's faces have in common.
#[derive(Clone, Copy)]
pub(super) struct Common<'a> {
    pub(super) faces: &'a [u32; LOT],
    pub(super) open: bool,
    pub(super) slack: [f32; 2],
}

/// Keeps of a lot the faces that turn away from the light (or may), reach
/// into the tile, and have a sample lower than their top in a coarse cell that
/// they reach into. Faces that are `cut` are left out: they are dealt with alone.
#[inline(always)]
pub(super) fn sift(
    at: &[[f32; LOT]; 9],
    common: Common<'_>,
    grid: &Grid,
    lowest: &[f32],
    cut: &[bool; LOT],
    kept: &mut Kept,
) {
    let Common { faces, open, slack } = common;
    let [ax, ay, az, bx, by, bz, cx, cy, cz] = at;
    let mut keep = [0.0_f32; LOT];
    let mut top = [0.0_f32; LOT];
    let mut cells = [[0; LOT]; 4];
    for l in 0..LOT {
        let low_x = less(less(ax[l], bx[l]), cx[l]);
        let high_x = more(more(ax[l], bx[l]), cx[l]);
        let low_y = less(less(ay[l], by[l]), cy[l]);
        let high_y = more(more(ay[l], by[l]), cy[l]);
        let high_z = more(more(az[l], bz[l]), cz[l]);
        let most = slack[0] + more(more(more(-low_x, high_x), more(-low_y, high_y)), grid.reach);
        let pad = 8.0 * U * most;
        top[l] = high_z + 8.0 * U * (slack[1] + more(high_z.abs(), grid.deep));
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
    for l in 0..LOT {
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
            let to = kept.count.min(ROOM - 1);
            kept.face[to] = faces[l];
            kept.cells[to] = [i0, i1, j0, j1];
            kept.slack[0][to] = slack[0];
            kept.slack[1][to] = slack[1];
            kept.open[to] = if open { 1.0 } else { 0.0 };
            for (row, from) in kept.at.iter_mut().zip(at) {
                row[to] = from[l];
            }
            kept.count = to + 1;
        }
    }
}

/// Faces of a group, ready to be laid over the cells: a row for each number.
pub(super) struct Ready {
    /// The three sides' forms m·x + n·y + c, at least 0 inside, each lowered
    /// by the margin `side_off`.
    pub(super) side: [[[f32; GROUP]; 3]; 3],
    pub(super) side_off: [f32; GROUP],
    /// The plane's form p·x + q·y + r·z + level, at least 0 on the far side.
    pub(super) plane: [[f32; GROUP]; 3],
    pub(super) level: [f32; GROUP],
    pub(super) plane_off: [f32; GROUP],
}

impl Ready {
    pub(super) const NOTHING: Self = Self {
        side: [[[0.0; GROUP]; 3]; 3],
        side_off: [0.0; GROUP],
        plane: [[0.0; GROUP]; 3],
        level: [0.0; GROUP],
        plane_off: [0.0; GROUP],
    };
}

/// How far twice the area of a face `wide` across may be off, when its
/// coordinates are off by 2u·most: each enters times the other side's length;
/// products and sums add three roundings.
#[inline(always)]
pub(super) fn area_margin(most: f32, wide: f32) -> f32 {
    U * wide * (16.0 * most + 4.0 * wide)
}

/// Makes the first group of what is kept ready.
#[inline(always)]
pub(super) fn prepare(kept: &Kept, grid: &Grid, ready: &mut Ready) {
    let [ax, ay, az, bx, by, bz, cx, cy, cz] = &kept.at;
    let [slack, slack_along] = &kept.slack;
    for l in 0..GROUP {
        let low_x = less(less(ax[l], bx[l]), cx[l]);
        let high_x = more(more(ax[l], bx[l]), cx[l]);
        let low_y = less(less(ay[l], by[l]), cy[l]);
        let high_y = more(more(ay[l], by[l]), cy[l]);
        let high_z = more(more(az[l], bz[l]), cz[l]);
        let low_z = less(less(az[l], bz[l]), cz[l]);
        let most = slack[l] + more(more(more(-low_x, high_x), more(-low_y, high_y)), grid.reach);
        let deep = slack_along[l] + more(more(-low_z, high_z), grid.deep);
        let area = (bx[l] - ax[l]) * (cy[l] - ay[l]) - (by[l] - ay[l]) * (cx[l] - ax[l]);
        let wide = (high_x - low_x) + (high_y - low_y);
        let area_off = area_margin(most, wide);
        // Faces are taken counter-clockwise. Closed ones that may block run
        // the other way, as do half of the open ones.
        let swap = kept.open[l] == 0.0 || area < 0.0;
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

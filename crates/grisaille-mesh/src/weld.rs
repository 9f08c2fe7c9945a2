//! Welding and canonical order.
//!
//! Vertices stand along a Morton curve (Morton, 1966: bits of the three
//! coordinates interleaved) with ties settled by the coordinates themselves,
//! so that the order depends on the set of points alone, and neighbours in
//! space are mostly neighbours in memory. Faces are turned to begin with their
//! lowest vertex and sorted.
//!
//! The curve's first bits cut space into cells. Points are dealt out to them, a
//! stretch of the file at a time, and each cell is welded and sorted by
//! itself, small enough for a core's own cache. (Sorting all corners at once took
//! two and a half times as long.)

use crate::deal::dealt;
use crate::mesh::Bounds;
use crate::soup::{Point, Soup};
use nalgebra::Point3;
use rayon::prelude::*;
use std::sync::atomic::{AtomicU32, Ordering};

/// A welded soup.
pub(crate) struct Welded {
    pub(crate) positions: Vec<Point3<f32>>,
    pub(crate) faces: Vec<[u32; 3]>,
    /// Of each face, where the file marks any.
    pub(crate) mark_of_face: Vec<u32>,
    /// Facets two of whose corners are the same point.
    pub(crate) collapsed: u64,
}

/// Bits of the curve that name a cell: sixteen cells along each axis, or one
/// cell for all of a small file.
const CELL_BITS: u32 = 12;
/// Points of a small file.
const SMALL: usize = 1 << 12;
/// Four bits spread so that two zero bits stand between any two.
const FIRST: [u16; 16] = {
    let mut table = [0; 16];
    let mut i = 0;
    while i < 16 {
        let bits = i as u16;
        table[i] = bits & 1 | (bits & 2) << 2 | (bits & 4) << 4 | (bits & 8) << 6;
        i += 1;
    }
    table
};
/// Points of one stretch.
const STRETCH: usize = 1 << 16;

/// The curve through a box.
struct Curve {
    low: [f64; 3],
    step: f64,
    /// Bits that name a cell.
    cell_bits: u32,
}

impl Curve {
    fn through(points: &[Point]) -> Self {
        let bounds = points
            .par_chunks(STRETCH)
            .map(|points| {
                let mut bounds = Bounds::NOTHING;
                for p in points {
                    bounds.add(&Point3::from(*p));
                }
                bounds
            })
            .reduce(|| Bounds::NOTHING, |a, b| a.and(&b));
        // One step for all axes, so that the curve's cells are cubes.
        let size = bounds.extents().into_iter().fold(0.0, f64::max);
        let step = if size > 0.0 { f64::from((1 << 21) - 1) / size } else { 0.0 };
        let cell_bits = if points.len() > SMALL { CELL_BITS } else { 0 };
        Self { low: bounds.low.map(f64::from), step, cell_bits }
    }

    /// How many cells there are.
    fn cells(&self) -> usize {
        1 << self.cell_bits
    }

    /// The cell of a point: the first bits of its key.
    fn cell(&self, p: Point) -> u16 {
        if self.cell_bits == 0 {
            return 0;
        }
        let near = |i: usize| ((f64::from(p[i]) - self.low[i]) * self.step) as u32 >> (21 - CELL_BITS / 3);
        FIRST[near(0) as usize & 15] | FIRST[near(1) as usize & 15] << 1 | FIRST[near(2) as usize & 15] << 2
    }

    /// How far along the curve a point stands.
    fn key(&self, p: Point) -> u64 {
        let cell = |i: usize| ((f64::from(p[i]) - self.low[i]) * self.step) as u64;
        spread(cell(0)) | spread(cell(1)) << 1 | spread(cell(2)) << 2
    }
}

/// Points of a stretch of the file in the order of their cells.
struct Dealt {
    points: Vec<(Point, u32)>,
    /// Where each cell begins; one more at the end.
    begin: Vec<u32>,
}

impl Dealt {
    /// The points of one cell.
    fn cell(&self, cell: usize) -> &[(Point, u32)] {
        &self.points[self.begin[cell] as usize..self.begin[cell + 1] as usize]
    }
}

fn deal(points: &[Point], first: usize, curve: &Curve) -> Dealt {
    // Adding +0 turns −0 into +0 and changes nothing else.
    let point = |p: &Point| p.map(|x| x + 0.0);
    let cells: Vec<u16> = points.iter().map(|p| curve.cell(point(p))).collect();
    let mut begin = vec![0_u32; curve.cells() + 1];
    for &cell in &cells {
        begin[usize::from(cell) + 1] += 1;
    }
    for cell in 0..curve.cells() {
        begin[cell + 1] += begin[cell];
    }
    let mut filled = begin.clone();
    let mut dealt = vec![([0.0; 3], 0); points.len()];
    for (i, (p, cell)) in points.iter().zip(cells).enumerate() {
        let at = &mut filled[usize::from(cell)];
        dealt[*at as usize] = (point(p), (first + i) as u32);
        *at += 1;
    }
    Dealt { points: dealt, begin }
}

/// The different points of one cell, in order, and of each point in it the rank
/// among them.
fn weld_cell(cell: usize, dealt: &[Dealt], curve: &Curve) -> (Vec<Point>, Vec<u32>) {
    const EMPTY: u32 = u32::MAX;
    let parts = || dealt.iter().flat_map(|d| d.cell(cell));
    let count: usize = dealt.iter().map(|d| (d.begin[cell + 1] - d.begin[cell]) as usize).sum();
    if count == 0 {
        return (Vec::new(), Vec::new());
    }
    let bits = (2 * count).next_power_of_two().trailing_zeros();
    let mut table = vec![EMPTY; 1 << bits];
    let mut found: Vec<Point> = Vec::new();
    let mut number = Vec::with_capacity(count);
    for (p, _) in parts() {
        let [x, y, z] = p.map(|x| u64::from(x.to_bits()));
        // Odd constants near multiples of the golden ratio; any others would serve.
        let mixed = (x ^ y << 32).wrapping_mul(0x9e37_79b9_7f4a_7c15).rotate_left(29)
            ^ z.wrapping_mul(0xc2b2_ae3d_27d4_eb4f);
        let mut at = (mixed.wrapping_mul(0x9e37_79b9_7f4a_7c15) >> (64 - bits)) as usize;
        loop {
            let there = table[at];
            if there == EMPTY {
                table[at] = found.len() as u32;
                number.push(found.len() as u32);
                found.push(*p);
                break;
            }
            if found[there as usize] == *p {
                number.push(there);
                break;
            }
            at = (at + 1) & (table.len() - 1);
        }
    }
    let mut order: Vec<(u64, [u32; 3], u32)> =
        found.iter().enumerate().map(|(n, p)| (curve.key(*p), p.map(ordered_bits), n as u32)).collect();
    if order.len() > STRETCH {
        order.par_sort_unstable();
    } else {
        order.sort_unstable();
    }
    let mut rank = vec![0_u32; order.len()];
    for (r, (.., n)) in order.iter().enumerate() {
        rank[*n as usize] = r as u32;
    }
    for n in &mut number {
        *n = rank[*n as usize];
    }
    (order.into_iter().map(|(.., n)| found[n as usize]).collect(), number)
}

/// Welds bit-equal points. All coordinates must be finite, all points used.
pub(crate) fn weld(soup: Soup) -> Welded {
    let Soup { points, faces, mark_of_face, .. } = soup;
    let curve = Curve::through(&points);
    let dealt: Vec<Dealt> =
        points.par_chunks(STRETCH).enumerate().map(|(n, points)| deal(points, n * STRETCH, &curve)).collect();
    let corners_only = faces.is_none();
    let count = points.len();
    drop(points);
    let cells: Vec<(Vec<Point>, Vec<u32>)> =
        (0..curve.cells()).into_par_iter().map(|cell| weld_cell(cell, &dealt, &curve)).collect();
    let mut vertices = 0;
    let begin: Vec<u32> = cells
        .iter()
        .map(|(points, _)| {
            vertices += points.len();
            (vertices - points.len()) as u32
        })
        .collect();
    // Written to from many cells at once, each place by one of them.
    let vertex_of_point: Vec<AtomicU32> = (0..count).map(|_| AtomicU32::new(0)).collect();
    cells.par_iter().enumerate().for_each(|(cell, (_, ranks))| {
        for ((_, point), rank) in dealt.iter().flat_map(|d| d.cell(cell)).zip(ranks) {
            vertex_of_point[*point as usize].store(begin[cell] + rank, Ordering::Relaxed);
        }
    });
    drop(dealt);
    let mut positions = Vec::with_capacity(vertices);
    for (points, _) in cells {
        positions.extend(points.into_iter().map(Point3::from));
    }
    let vertex = |point: u32| vertex_of_point[point as usize].load(Ordering::Relaxed);
    let all: Vec<[u32; 3]> = if corners_only {
        (0..count as u32 / 3)
            .into_par_iter()
            .map(|f| lowest_first([3 * f, 3 * f + 1, 3 * f + 2].map(vertex)))
            .collect()
    } else {
        faces.unwrap_or_default().into_par_iter().map(|f| lowest_first(f.map(vertex))).collect()
    };
    drop(vertex_of_point);
    let sound = |f: &[u32; 3]| f[0] != f[1] && f[1] != f[2] && f[2] != f[0];
    let before = all.len();
    let (mut faces, mark_of_face) = if mark_of_face.is_empty() {
        let mut all = all;
        if !all.par_iter().all(sound) {
            all.retain(sound);
        }
        (sorted(all, vertices), Vec::new())
    } else {
        let marked = all.into_iter().zip(mark_of_face).filter(|(f, _)| sound(f));
        in_order(marked, vertices)
    };
    let collapsed = (before - faces.len()) as u64;
    if collapsed > 0 {
        drop_unused(&mut positions, &mut faces);
    }
    Welded { positions, faces, mark_of_face, collapsed }
}

/// Faces, each beginning with its lowest vertex, in order, with something of each.
pub(crate) fn in_order(
    both: impl Iterator<Item = ([u32; 3], u32)>,
    vertices: usize,
) -> (Vec<[u32; 3]>, Vec<u32>) {
    let rows = sorted(both.map(|([a, b, c], m)| [a, b, c, m]).collect(), vertices);
    rows.into_iter().map(|[a, b, c, m]| ([a, b, c], m)).unzip()
}

/// Rows in order: dealt out by their first number, which is below `firsts`, then
/// each of those few put in order.
fn sorted<const N: usize>(rows: Vec<[u32; N]>, firsts: usize) -> Vec<[u32; N]> {
    let (_, mut out) = dealt(&rows, firsts, [0; N], |_, row| [(row[0], *row)]);
    drop(rows);
    // Each run of one first number lies within one part.
    out.par_chunk_by_mut(|a, b| a[0] >> 8 == b[0] >> 8).for_each(<[[u32; N]]>::sort_unstable);
    out
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
pub(crate) fn drop_unused<P: Copy>(positions: &mut Vec<P>, faces: &mut [[u32; 3]]) {
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

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::collections::BTreeSet;

    fn welded(triangles: &[[Point; 3]]) -> Welded {
        weld(Soup::of_triangles(triangles.concat()))
    }

    #[test]
    fn minus_zero_welds_with_zero_and_order_does_not_matter() {
        let a = [[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]];
        let b = [[-0.0, 0.0, 0.0], [0.0, 1.0, -0.0], [-1.0, 0.0, 0.0]];
        let one = welded(&[a, b]);
        let two = welded(&[[b[1], b[2], b[0]], a]);
        assert_eq!(one.positions.len(), 4);
        assert_eq!(one.faces, two.faces);
        assert_eq!(one.positions, two.positions);
    }

    #[test]
    fn ordered_bits_sort_as_the_floats_do() {
        let floats = [f32::MIN, -2.0, -1.0, 0.0, f32::MIN_POSITIVE / 8.0, 1.5, f32::MAX];
        assert!(floats.windows(2).all(|w| ordered_bits(w[0]) < ordered_bits(w[1])));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(256))]

        // Against a plain sort of all points along the curve, with far outliers
        // that press the others into one cell.
        #[test]
        fn cells_give_what_one_sort_gives(
            grid in prop::collection::vec(prop::array::uniform3(-9_i8..9), 3..200),
            far in prop::option::of(1e3_f32..1e30),
        ) {
            let mut points: Vec<Point> = grid.iter().map(|p| p.map(|x| f32::from(x) * 0.37)).collect();
            points.extend(far.map(|x| [x, 0.0, -x]));
            points.truncate(points.len() / 3 * 3);
            // Few points, but cells as for many.
            let curve = Curve { cell_bits: CELL_BITS, ..Curve::through(&points) };
            let plain: BTreeSet<_> = points.iter().map(|p| p.map(|x| x + 0.0)).map(|p| (curve.key(p), p.map(ordered_bits))).collect();
            let soup = Soup::of_triangles(points.clone());
            let dealt = [deal(&points, 0, &curve)];
            let mut got = Vec::new();
            for cell in 0..curve.cells() {
                got.extend(weld_cell(cell, &dealt, &curve).0.into_iter().map(|p| (curve.key(p), p.map(ordered_bits))));
            }
            prop_assert_eq!(got, plain.into_iter().collect::<Vec<_>>());
            // Every face has its own corners still.
            let mut want: Vec<[[u32; 3]; 3]> = points.chunks_exact(3).map(|t| {
                let mut t = [t[0], t[1], t[2]].map(|p| p.map(|x| (x + 0.0).to_bits()));
                t.sort_unstable();
                t
            }).filter(|t| t[0] != t[1] && t[1] != t[2]).collect();
            let all = weld(soup);
            let mut have: Vec<[[u32; 3]; 3]> = all.faces.iter().map(|f| {
                let mut t = f.map(|v| <[f32; 3]>::from(all.positions[v as usize]).map(f32::to_bits));
                t.sort_unstable();
                t
            }).collect();
            want.sort_unstable();
            have.sort_unstable();
            prop_assert_eq!(want, have);
        }
    }
}

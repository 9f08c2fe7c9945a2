//! The item buffer: for each small part of a pixel, which face is nearest
//! there, and how near.
//!
//! Corners are snapped to a grid of 1/1024 of a sub-sample and edges are
//! decided in whole numbers, so neighbouring triangles share a border without
//! a pinhole and without a doubly drawn sample, and the result depends on
//! nothing but the triangles: not on threads, nor on the order of faces.

use crate::Frame;
use grisaille_base::{FaceId, Stop, Watch};
use nalgebra::Point3;
use rayon::prelude::*;

/// Fixed-point units in one sub-sample.
const UNIT: i64 = 1024;
/// Corners within this many units are decided in 64 bits: their differences
/// stay below 2^30 and an edge function below 2^62.
const NEAR: i64 = 1 << 29;
/// Corners are held within this many units: a step of one sub-sample along an
/// edge then fits into 64 bits, and 128 bits never overflow.
const FAR: f64 = (1_u64 << 50) as f64;
/// Rows of pixels that one task draws.
const STRIP: usize = 16;

/// A corner on the picture: sub-samples in fixed point, and depth in mm.
#[derive(Clone, Copy, Debug)]
struct Corner {
    x: i64,
    y: i64,
    depth: f64,
}

/// Faces nearest to the viewer, for `supersample` x `supersample` sub-samples
/// of every pixel of a [`Frame`].
///
/// Guarantees: a stored face has three finite corners and an area on the
/// picture; equal depths go to the lower face id.
pub struct ItemBuffer {
    frame: Frame,
    supersample: u32,
    columns: usize,
    rows: usize,
    faces: Vec<u32>,
    depths: Vec<f32>,
    corners: Vec<Option<Corner>>,
    corner_ids: Vec<[u32; 3]>,
}

/// A place on the surface that is seen at one sub-sample.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hit {
    /// The face.
    pub face: FaceId,
    /// The face's three corners, as indices into the positions.
    pub corners: [u32; 3],
    /// How much each corner counts here: 0 to 1, together 1.
    pub barycentric: [f32; 3],
    /// The face is seen from behind: an open model, or one inside out.
    pub backside: bool,
}

impl Hit {
    /// The mean of a number per vertex, weighed for this place. A corner that
    /// the slice lacks counts as 0.
    #[must_use]
    pub fn mix(&self, per_vertex: &[f32]) -> f32 {
        let at = |k: usize| per_vertex.get(self.corners[k] as usize).copied().unwrap_or(0.0);
        at(0) * self.barycentric[0] + at(1) * self.barycentric[1] + at(2) * self.barycentric[2]
    }

    /// The mean of a vector per vertex, such as normals, weighed for this
    /// place and not made unit length. A missing corner counts as zero.
    #[must_use]
    pub fn mix_vectors(&self, per_vertex: &[nalgebra::Vector3<f32>]) -> nalgebra::Vector3<f32> {
        let at = |k: usize| per_vertex.get(self.corners[k] as usize).copied().unwrap_or_default();
        at(0) * self.barycentric[0] + at(1) * self.barycentric[1] + at(2) * self.barycentric[2]
    }
}

impl ItemBuffer {
    /// No face at this sub-sample.
    pub const NOTHING: u32 = u32::MAX;
    /// The most sub-samples along one side of a pixel.
    pub const MAX_SUPERSAMPLE: u32 = 4;

    /// Finds the nearest face for each sub-sample.
    ///
    /// `positions` are in mm, `faces` index them, and only faces that `keep`
    /// admits are drawn. `supersample` (2 or 3 is usual) is clamped to 1..=4.
    /// Left out quietly: faces that name a missing or non-finite vertex, that
    /// have no area, or that are seen exactly edge-on. Backsides are drawn.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub fn draw(
        positions: &[Point3<f32>],
        faces: &[[u32; 3]],
        keep: impl Fn(FaceId) -> bool + Sync,
        frame: &Frame,
        supersample: u32,
        watch: &Watch,
    ) -> Result<Self, Stop> {
        let n = supersample.clamp(1, Self::MAX_SUPERSAMPLE);
        let (columns, rows) = ((frame.width() * n) as usize, (frame.height() * n) as usize);
        let strip_rows = STRIP * n as usize;
        let strips = rows.div_ceil(strip_rows);
        let span = watch.span("picture", strips as u64);
        span.count("faces", faces.len() as u64);
        watch.check()?;

        let corners: Vec<Option<Corner>> = watch.map(positions.len(), |i| corner(frame, n, positions[i]))?;
        // The rows that each face can touch; empty for a face that is not drawn.
        let spans: Vec<(u32, u32)> = watch.map(faces.len(), |i| {
            let [a, b, c] = match corners_of(&corners, faces[i]) {
                Some(abc) if keep(FaceId(i as u32)) => abc,
                _ => return (1, 0),
            };
            let low = first_sample(a.y.min(b.y).min(c.y));
            let high = last_sample(a.y.max(b.y).max(c.y)).min(rows as i64 - 1);
            if low <= high { (low as u32, high as u32) } else { (1, 0) }
        })?;
        let mut of_strip: Vec<Vec<u32>> = vec![Vec::new(); strips];
        for (i, &(low, high)) in spans.iter().enumerate() {
            if i % 65536 == 0 {
                watch.check()?;
            }
            if low <= high {
                for strip in &mut of_strip[low as usize / strip_rows..=high as usize / strip_rows] {
                    strip.push(i as u32);
                }
            }
        }
        watch.check()?;

        let mut nearest = vec![Self::NOTHING; columns * rows];
        let mut depths = vec![f32::NEG_INFINITY; columns * rows];
        watch.run(|| {
            nearest
                .par_chunks_mut(strip_rows * columns)
                .zip(depths.par_chunks_mut(strip_rows * columns))
                .zip(of_strip.par_iter())
                .enumerate()
                .try_for_each(|(s, ((nearest, depths), list))| {
                    let mut strip = Strip { first_row: (s * strip_rows) as i64, columns, nearest, depths };
                    for (k, &face) in list.iter().enumerate() {
                        if k % 128 == 0 {
                            watch.check()?;
                        }
                        if let Some(abc) = corners_of(&corners, faces[face as usize]) {
                            strip.triangle(face, abc, watch)?;
                        }
                    }
                    span.advance(1);
                    Ok(())
                })
        })?;
        Ok(Self {
            frame: frame.clone(),
            supersample: n,
            columns,
            rows,
            faces: nearest,
            depths,
            corners,
            corner_ids: faces.to_vec(),
        })
    }

    /// The frame that was drawn.
    #[must_use]
    pub fn frame(&self) -> &Frame {
        &self.frame
    }

    /// Sub-samples along one side of a pixel.
    #[must_use]
    pub fn supersample(&self) -> u32 {
        self.supersample
    }

    /// Sub-samples in one row of the picture.
    #[must_use]
    pub fn columns(&self) -> usize {
        self.columns
    }

    /// Rows of sub-samples.
    #[must_use]
    pub fn rows(&self) -> usize {
        self.rows
    }

    /// The face id for each sub-sample, rows from the top, or
    /// [`ItemBuffer::NOTHING`].
    #[must_use]
    pub fn face_ids(&self) -> &[u32] {
        &self.faces
    }

    /// Millimetres in front of the frame's centre for each sub-sample; minus
    /// infinity where there is nothing.
    #[must_use]
    pub fn depths(&self) -> &[f32] {
        &self.depths
    }

    /// What is seen at sub-sample `column`, `row`; `None` for paper.
    #[must_use]
    pub fn hit(&self, column: usize, row: usize) -> Option<Hit> {
        self.hit_near(column, row, &mut None)
    }

    /// As [`ItemBuffer::hit`], but keeps the face found last: most neighbours
    /// show the same one, and fetching its corners is the slow part.
    pub(crate) fn hit_near(&self, column: usize, row: usize, kept: &mut Option<Kept>) -> Option<Hit> {
        if column >= self.columns || row >= self.rows {
            return None;
        }
        let face = self.faces[row * self.columns + column];
        if face == Self::NOTHING {
            return None;
        }
        if kept.as_ref().is_none_or(|k| k.face != face) {
            let ids = self.corner_ids[face as usize];
            *kept = corners_of(&self.corners, ids).map(|abc| Kept::new(face, ids, abc));
        }
        let k = kept.as_ref()?;
        let (x, y) = (column as i64 * UNIT + UNIT / 2, row as i64 * UNIT + UNIT / 2);
        let [wa, wb, wc] = if k.near { weights::<i64>(&k.abc, x, y) } else { weights::<i128>(&k.abc, x, y) };
        let weight = |w: f64| (w * k.share).clamp(0.0, 1.0) as f32;
        let barycentric = [weight(wa), weight(wb), weight(wc)];
        // Rows run down the picture, so a face wound to the viewer is negative.
        Some(Hit { face: FaceId(face), corners: k.ids, barycentric, backside: k.share > 0.0 })
    }
}

/// A face that was looked up, ready for its next sub-sample.
pub(crate) struct Kept {
    face: u32,
    ids: [u32; 3],
    near: bool,
    abc: [Corner; 3],
    /// One over twice the signed area.
    share: f64,
}

impl Kept {
    fn new(face: u32, ids: [u32; 3], abc: [Corner; 3]) -> Self {
        let near = near(&abc);
        let at = abc[0];
        let [area, ..] =
            if near { weights::<i64>(&abc, at.x, at.y) } else { weights::<i128>(&abc, at.x, at.y) };
        Self { face, ids, near, abc, share: 1.0 / area }
    }
}

/// Twice the areas opposite to the three corners, signed.
fn weights<W: Whole>(abc: &[Corner; 3], x: i64, y: i64) -> [f64; 3] {
    let [a, b, c] = *abc;
    [W::edge(b, c, x, y).float(), W::edge(c, a, x, y).float(), W::edge(a, b, x, y).float()]
}

/// Whether edge functions of this face fit into 64 bits.
fn near(abc: &[Corner; 3]) -> bool {
    abc.iter().all(|c| c.x.abs() <= NEAR && c.y.abs() <= NEAR)
}

/// Projects a vertex to fixed point; `None` when it is not finite.
fn corner(frame: &Frame, n: u32, point: Point3<f32>) -> Option<Corner> {
    let [x, y, depth] = frame.project(point);
    if !(x.is_finite() && y.is_finite() && depth.is_finite()) {
        return None;
    }
    let fixed = |v: f64| (v * f64::from(n) * UNIT as f64).round().clamp(-FAR, FAR) as i64;
    // Depth is stored in 32 bits and must stay finite there.
    Some(Corner { x: fixed(x), y: fixed(y), depth: depth.clamp(-1e38, 1e38) })
}

/// The corners of a face, if all are there.
fn corners_of(corners: &[Option<Corner>], ids: [u32; 3]) -> Option<[Corner; 3]> {
    let at = |id: u32| corners.get(id as usize).copied().flatten();
    Some([at(ids[0])?, at(ids[1])?, at(ids[2])?])
}

/// The first sub-sample whose centre is at or past `v` units.
fn first_sample(v: i64) -> i64 {
    (v - UNIT / 2 + UNIT - 1).div_euclid(UNIT).max(0)
}

/// The last sub-sample whose centre is at or before `v` units.
fn last_sample(v: i64) -> i64 {
    (v - UNIT / 2).div_euclid(UNIT)
}

/// A whole number wide enough for edge functions: i64 near the picture, i128
/// where corners lie far outside it.
trait Whole: Copy + PartialOrd + std::ops::Add<Output = Self> {
    fn edge(a: Corner, b: Corner, x: i64, y: i64) -> Self;
    fn of(v: i64) -> Self;
    fn float(self) -> f64;
}

macro_rules! whole {
    ($t:ty) => {
        impl Whole for $t {
            fn edge(a: Corner, b: Corner, x: i64, y: i64) -> Self {
                let wide = |v: i64| v as $t;
                wide(b.x - a.x) * wide(y - a.y) - wide(b.y - a.y) * wide(x - a.x)
            }
            fn of(v: i64) -> Self {
                v as $t
            }
            fn float(self) -> f64 {
                self as f64
            }
        }
    };
}
whole!(i64);
whole!(i128);

/// Some rows of the buffer, drawn by one task.
struct Strip<'a> {
    first_row: i64,
    columns: usize,
    nearest: &'a mut [u32],
    depths: &'a mut [f32],
}

impl Strip<'_> {
    fn triangle(&mut self, face: u32, abc: [Corner; 3], watch: &Watch) -> Result<(), Stop> {
        if near(&abc) { self.fill::<i64>(face, abc, watch) } else { self.fill::<i128>(face, abc, watch) }
    }

    fn fill<W: Whole>(&mut self, face: u32, abc: [Corner; 3], watch: &Watch) -> Result<(), Stop> {
        let [a, mut b, mut c] = abc;
        let zero = W::of(0);
        let mut area = W::edge(a, b, c.x, c.y);
        if area < zero {
            (b, c) = (c, b);
            area = W::edge(a, b, c.x, c.y);
        }
        if area <= zero {
            return Ok(());
        }
        let rows = (self.nearest.len() / self.columns) as i64;
        let left = first_sample(a.x.min(b.x).min(c.x));
        let right = last_sample(a.x.max(b.x).max(c.x)).min(self.columns as i64 - 1);
        let top = first_sample(a.y.min(b.y).min(c.y)).max(self.first_row);
        let bottom = last_sample(a.y.max(b.y).max(c.y)).min(self.first_row + rows - 1);
        if left > right || top > bottom {
            return Ok(());
        }
        // A sample exactly on an edge belongs to the one face for which the
        // edge runs up, or level to the right: -1 on the other side.
        let bias = |p: Corner, q: Corner| W::of(if q.y < p.y || (q.y == p.y && q.x > p.x) { 0 } else { -1 });
        let centre = |sample: i64| sample * UNIT + UNIT / 2;
        let (x0, y0) = (centre(left), centre(top));
        let start = |p: Corner, q: Corner| W::edge(p, q, x0, y0) + bias(p, q);
        let right_step = |p: Corner, q: Corner| W::of((p.y - q.y) * UNIT);
        let down_step = |p: Corner, q: Corner| W::of((q.x - p.x) * UNIT);
        let mut row_w = [start(b, c), start(c, a), start(a, b)];
        let across = [right_step(b, c), right_step(c, a), right_step(a, b)];
        let down = [down_step(b, c), down_step(c, a), down_step(a, b)];
        let share = 1.0 / area.float();
        let (to_b, to_c) = ((b.depth - a.depth) * share, (c.depth - a.depth) * share);
        let wide = right - left > 512;
        for row in top..=bottom {
            if wide && row % 16 == 0 {
                watch.check()?;
            }
            let base = (row - self.first_row) as usize * self.columns;
            let mut w = row_w;
            let cells = base + left as usize..=base + right as usize;
            let (nearest, depths) = (&mut self.nearest[cells.clone()], &mut self.depths[cells]);
            for (id, stored) in nearest.iter_mut().zip(depths) {
                if w[0] >= zero && w[1] >= zero && w[2] >= zero {
                    // The bias of one unit is nothing beside the area.
                    let depth = (a.depth + w[1].float() * to_b + w[2].float() * to_c) as f32;
                    if depth > *stored || (depth == *stored && face < *id) {
                        *stored = depth;
                        *id = face;
                    }
                }
                w = [w[0] + across[0], w[1] + across[1], w[2] + across[2]];
            }
            row_w = [row_w[0] + down[0], row_w[1] + down[1], row_w[2] + down[2]];
        }
        Ok(())
    }
}

//! What hides what: which parts of straight lines are seen before a mesh, reckoned and not sampled.
//!
//! Seen straight on, a triangle hides the part of a line that lies within its outline and behind its plane. Along the
//! line both are linear, so the part is an interval, and what is seen is what no triangle's interval covers. Triangles
//! are found by cells of the picture. (Hidden lines in object space go back to L. G. Roberts, 1963, and A. Appel, 1967,
//! from memory; the cells are common practice.)

use crate::Frame;
use grisaille_base::{FaceId, Stop, Watch};
use nalgebra::Point3;

/// A triangle whose area on the picture is less than this share of its longest side squared is seen edge-on and hides
/// nothing.
const EDGE_ON: f64 = 1e-10;
/// What lies outside an outline by no more than this share of its size counts as within: a line that runs along the
/// border of two triangles is hidden by both.
const ON_THE_LINE: f64 = 1e-9;
/// The most cells along one side.
const MOST_CELLS: f64 = 4096.0;

/// The triangles of a mesh, seen in a frame, ready to be asked what they hide.
pub struct Screen {
    frame: Frame,
    /// Pixels across and down, and mm toward the viewer; of points that are not finite, nothing.
    corners: Vec<Option<[f64; 3]>>,
    faces: Vec<[u32; 3]>,
    grid: Grid,
    /// For each cell, row by row, where its faces begin in `listed`.
    begin: Vec<u32>,
    listed: Vec<u32>,
    /// What lies behind by no more than this is not hidden.
    touch: f64,
}

/// Square cells over a picture.
#[derive(Clone, Copy)]
struct Grid {
    size: f64,
    columns: usize,
    rows: usize,
}

impl Screen {
    /// Lays the faces that `keep` admits over the cells of a frame. Left out quietly: faces that name a missing or
    /// non-finite vertex, and those seen edge-on.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub fn new(
        positions: &[Point3<f32>],
        faces: &[[u32; 3]],
        keep: impl Fn(FaceId) -> bool + Sync + Send,
        frame: &Frame,
        watch: &Watch,
    ) -> Result<Self, Stop> {
        let corners: Vec<Option<[f64; 3]>> = watch.map(positions.len(), |i| {
            let place = frame.project(positions[i]);
            place.iter().all(|x| x.is_finite()).then_some(place)
        })?;
        let (width, height) = (f64::from(frame.width()), f64::from(frame.height()));
        // About two faces a cell.
        let size = (2.0 * width * height / faces.len().max(1) as f64).sqrt();
        let size = size.max(width.max(height) / MOST_CELLS).max(1.0);
        let grid = Grid {
            size,
            columns: (width / size).ceil().max(1.0) as usize,
            rows: (height / size).ceil().max(1.0) as usize,
        };
        let cells_of = |f: usize| -> Vec<u32> {
            let Some(abc) = corners_of(&corners, faces[f]) else { return Vec::new() };
            if !keep(FaceId(f as u32)) || Triangle::of(abc).is_none() {
                return Vec::new();
            }
            let mut cells = Vec::new();
            grid.each(&[[0, 1], [1, 2], [2, 0]].map(|[i, j]| [abc[i], abc[j]]), |cell| {
                cells.push(cell as u32);
            });
            cells
        };
        let of_face: Vec<Vec<u32>> = watch.map(faces.len(), cells_of)?;
        let mut begin = vec![0_u32; grid.columns * grid.rows + 1];
        for cell in of_face.iter().flatten() {
            begin[*cell as usize + 1] += 1;
        }
        watch.check()?;
        for i in 1..begin.len() {
            begin[i] += begin[i - 1];
        }
        let mut next = begin.clone();
        let mut listed = vec![0_u32; begin[begin.len() - 1] as usize];
        for (f, cells) in of_face.iter().enumerate() {
            if f % 65536 == 0 {
                watch.check()?;
            }
            for cell in cells {
                let at = &mut next[*cell as usize];
                listed[*at as usize] = f as u32;
                *at += 1;
            }
        }
        let deep = corners.iter().flatten().map(|c| c[2]);
        let (near, far) = deep.fold((f64::NEG_INFINITY, f64::INFINITY), |(n, f), z| (n.max(z), f.min(z)));
        let across = frame.mm_per_pixel() * width.hypot(height);
        let touch = 2e-5 * across.max(if near > far { near - far } else { 0.0 });
        Ok(Self { frame: frame.clone(), corners, faces: faces.to_vec(), grid, begin, listed, touch })
    }

    /// The frame.
    #[must_use]
    pub fn frame(&self) -> &Frame {
        &self.frame
    }

    /// Where a vertex lies: pixels across, pixels down, mm toward the viewer.
    #[must_use]
    pub fn corner(&self, vertex: u32) -> Option<[f64; 3]> {
        self.corners.get(vertex as usize).copied().flatten()
    }

    /// The faces that were laid over the picture, edge-on ones included.
    #[must_use]
    pub fn faces(&self) -> &[[u32; 3]] {
        &self.faces
    }

    /// The parts of a straight line that are seen, each from and to a share 0 to 1 of its way, in order. Its ends are
    /// pixels across and down and mm toward the viewer, as [`Frame::project`] gives them; it may lie `behind_mm` behind
    /// what it is on (a two hundred thousandth part of the picture's size always).
    #[must_use]
    pub fn seen(&self, ends: [[f64; 3]; 2], behind_mm: f64) -> Vec<[f64; 2]> {
        if ends.iter().flatten().any(|x| !x.is_finite()) {
            return Vec::new();
        }
        let mut near: Vec<u32> = Vec::new();
        self.grid.each(&[ends], |cell| {
            near.extend(&self.listed[self.begin[cell] as usize..self.begin[cell + 1] as usize]);
        });
        near.sort_unstable();
        near.dedup();
        let behind = self.touch.max(behind_mm);
        let mut hidden: Vec<[f64; 2]> = Vec::new();
        for f in near {
            let abc = corners_of(&self.corners, self.faces[f as usize]);
            hidden.extend(abc.and_then(Triangle::of).and_then(|t| t.hides(ends, behind)));
        }
        hidden.sort_by(|a, b| a[0].total_cmp(&b[0]));
        let (mut seen, mut from) = (Vec::new(), 0.0);
        for [a, b] in hidden {
            if a > from {
                seen.push([from, a]);
            }
            from = b.max(from);
        }
        if from < 1.0 {
            seen.push([from, 1.0]);
        }
        seen
    }
}

fn corners_of(corners: &[Option<[f64; 3]>], face: [u32; 3]) -> Option<[[f64; 3]; 3]> {
    let at = |v: u32| corners.get(v as usize).copied().flatten();
    Some([at(face[0])?, at(face[1])?, at(face[2])?])
}

impl Grid {
    /// Every cell that a convex shape touches, given by the straight lines round it. What is outside the picture
    /// belongs to the cells at its rim.
    fn each(&self, sides: &[[[f64; 3]; 2]], mut hear: impl FnMut(usize)) {
        let held = |x: f64, most: usize| (x / self.size).floor().clamp(0.0, most as f64 - 1.0) as usize;
        let all = || sides.iter().flatten();
        let top = all().map(|p| p[1]).fold(f64::INFINITY, f64::min);
        let bottom = all().map(|p| p[1]).fold(f64::NEG_INFINITY, f64::max);
        let (first, last) = (held(top, self.rows), held(bottom, self.rows));
        for row in first..=last {
            // The strip of this row, a hair wider; the outer ones reach as far as there is anything.
            let low = if row == first { f64::NEG_INFINITY } else { row as f64 * self.size - 1e-6 };
            let high = if row == last { f64::INFINITY } else { (row + 1) as f64 * self.size + 1e-6 };
            let (mut left, mut right) = (f64::INFINITY, f64::NEG_INFINITY);
            for [p, q] in sides {
                let (p, q) = if p[1] <= q[1] { (p, q) } else { (q, p) };
                if q[1] < low || p[1] > high {
                    continue;
                }
                for y in [p[1].max(low), q[1].min(high)] {
                    let t = if q[1] > p[1] { ((y - p[1]) / (q[1] - p[1])).clamp(0.0, 1.0) } else { 0.0 };
                    let x = p[0] + t * (q[0] - p[0]);
                    (left, right) = (left.min(x), right.max(x));
                    if q[1] <= p[1] {
                        (left, right) = (left.min(q[0]), right.max(q[0]));
                    }
                }
            }
            if left <= right {
                for column in held(left - 1e-6, self.columns)..=held(right + 1e-6, self.columns) {
                    hear(row * self.columns + column);
                }
            }
        }
    }
}

/// A triangle on the picture that is not seen edge-on.
struct Triangle {
    abc: [[f64; 3]; 3],
    /// Twice its area, signed.
    area: f64,
    /// The longest side squared.
    size: f64,
}

impl Triangle {
    fn of(abc: [[f64; 3]; 3]) -> Option<Self> {
        let area = cross(abc[0], abc[1], abc[2]);
        let side = |i: usize, j: usize| (abc[i][0] - abc[j][0]).powi(2) + (abc[i][1] - abc[j][1]).powi(2);
        let size = side(0, 1).max(side(1, 2)).max(side(2, 0));
        (area.abs() > EDGE_ON * size).then_some(Self { abc, area, size })
    }

    /// The part of a line that it hides, if any.
    fn hides(&self, ends: [[f64; 3]; 2], behind: f64) -> Option<[f64; 2]> {
        let nearest = self.abc.iter().map(|c| c[2]).fold(f64::NEG_INFINITY, f64::max);
        let farthest = self.abc.iter().map(|c| c[2]).fold(f64::INFINITY, f64::min);
        if nearest <= ends[0][2].min(ends[1][2]) + behind {
            return None;
        }
        let (mut from, mut to) = (0.0_f64, 1.0_f64);
        // How much each corner counts at the two ends of the line.
        let weights = ends.map(|p| {
            [[1, 2], [2, 0], [0, 1]].map(|[i, j]: [usize; 2]| cross(self.abc[i], self.abc[j], p) / self.area)
        });
        let within = -ON_THE_LINE * self.size / self.area.abs();
        let mut cut = |a: f64, b: f64| {
            // The part where a value that runs from a to b is not negative.
            match (a >= 0.0, b >= 0.0) {
                (true, true) => {}
                (false, false) => to = -1.0,
                (true, false) => to = to.min(a / (a - b)),
                (false, true) => from = from.max(a / (a - b)),
            }
        };
        for (one, other) in weights[0].iter().zip(&weights[1]) {
            cut(one - within, other - within);
        }
        if from >= to {
            return None;
        }
        let over = |t: f64| {
            let at = |k: usize| weights[0][k] + t * (weights[1][k] - weights[0][k]);
            let depth: f64 = (0..3).map(|k| at(k) * self.abc[k][2]).sum();
            depth.clamp(farthest, nearest) - (ends[0][2] + t * (ends[1][2] - ends[0][2])) - behind
        };
        let (a, b) = (over(from), over(to));
        match (a > 0.0, b > 0.0) {
            (true, true) => Some([from, to]),
            (false, false) => None,
            (true, false) => Some([from, from + (to - from) * a / (a - b)]),
            (false, true) => Some([from + (to - from) * a / (a - b), to]),
        }
    }
}

/// Twice the signed area of three places on the picture.
fn cross(a: [f64; 3], b: [f64; 3], c: [f64; 3]) -> f64 {
    (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
}

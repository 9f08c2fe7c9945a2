//! Coplanar pairs of triangles flipped toward Delaunay.
//!
//! A plate of two long triangles, or a fan of slivers over a flat cap, would
//! be split into more slivers. Flipping first (Lawson, 1977) makes well-shaped
//! triangles without moving a single point of the surface.

use grisaille_base::{Stop, Watch};
use grisaille_mesh::{NO_TWIN, twins};
use nalgebra::{Point3, Vector3};
use rayon::prelude::*;

/// Which plane each face lies in, known from the faces before refining: the
/// normal of a sliver cut from a large face would be mostly rounding.
pub(crate) struct Planes<'a> {
    /// For each face the face before refining that it lies in.
    pub(crate) source: &'a [u32],
    /// The unit normal of each face before refining; `None` without area.
    pub(crate) normal: &'a [Option<Vector3<f64>>],
    /// How far in mm a corner may lie off a plane that still holds it.
    pub(crate) flatness: f64,
}

impl Planes<'_> {
    /// Whether faces `f` and `g` with the common edge `a`–`b` and the other
    /// corners `c` and `d` lie in one plane.
    fn one(&self, f: u32, g: u32, [a, b, c, d]: [Point3<f64>; 4]) -> bool {
        let (f, g) = (self.source[f as usize] as usize, self.source[g as usize] as usize);
        if f == g {
            return true;
        }
        let (Some(of_f), Some(of_g)) = (self.normal[f], self.normal[g]) else { return false };
        let off = |p: Point3<f64>, n: Vector3<f64>| (p - a).dot(&n).abs().min((p - b).dot(&n).abs());
        of_f.dot(&of_g) > 0.0 && off(d, of_f) <= self.flatness && off(c, of_g) <= self.flatness
    }
}

/// Flips edges longer than `longer_than` mm whose two faces lie in one plane,
/// until each is locally Delaunay. Gives for each half-edge whether its edge
/// lies inside a plane, between two faces of it.
pub(crate) fn flip_toward_delaunay(
    positions: &[Point3<f32>],
    faces: &mut [[u32; 3]],
    longer_than: f64,
    planes: &Planes<'_>,
    watch: &Watch,
) -> Result<Vec<bool>, Stop> {
    let mut twin = twins(faces);
    let mut queue: Vec<u32> = (0..twin.len() as u32).rev().filter(|&h| twin[h as usize] > h).collect();
    // Lawson's flips end by themselves; the bound is for rounding alone.
    let mut left = 16 * queue.len() as u64;
    while let Some(half) = queue.pop() {
        left = left.saturating_sub(1);
        if left == 0 {
            break;
        }
        if left.is_multiple_of(8192) {
            watch.check()?;
        }
        let other = twin[half as usize];
        if other == NO_TWIN || !wants_flip(positions, faces, half, other, longer_than, planes) {
            continue;
        }
        let (c, d) = (apex(faces, half), apex(faces, other));
        if c == d || joined(faces, &twin, prev(half), d) {
            continue;
        }
        flip(faces, &mut twin, half, other);
        let (f, g) = (3 * (half / 3), 3 * (other / 3));
        queue.extend([f, f + 1, g, g + 1]);
    }
    let inside = |half: u32| {
        let other = twin[half as usize];
        other != NO_TWIN && planes.one(half / 3, other / 3, corners(positions, faces, half, other))
    };
    Ok((0..twin.len() as u32).into_par_iter().map(inside).collect())
}

/// The ends of an edge and the apex on either side of it.
fn corners(positions: &[Point3<f32>], faces: &[[u32; 3]], half: u32, other: u32) -> [Point3<f64>; 4] {
    [from(faces, half), from(faces, other), apex(faces, half), apex(faces, other)]
        .map(|v| positions[v as usize].cast::<f64>())
}

fn next(h: u32) -> u32 {
    if h % 3 == 2 { h - 2 } else { h + 1 }
}

fn prev(h: u32) -> u32 {
    if h.is_multiple_of(3) { h + 2 } else { h - 1 }
}

fn from(faces: &[[u32; 3]], h: u32) -> u32 {
    faces[h as usize / 3][h as usize % 3]
}

fn apex(faces: &[[u32; 3]], h: u32) -> u32 {
    from(faces, prev(h))
}

fn wants_flip(
    positions: &[Point3<f32>],
    faces: &[[u32; 3]],
    half: u32,
    other: u32,
    longer_than: f64,
    planes: &Planes<'_>,
) -> bool {
    let [a, b, c, d] = corners(positions, faces, half, other);
    let long = (b - a).norm_squared() > longer_than * longer_than;
    if !long || !planes.one(half / 3, other / 3, [a, b, c, d]) {
        return false;
    }
    // Angles at c and d sum to more than 180° where sin(c + d) < 0.
    let (ca, cb, da, db) = (a - c, b - c, a - d, b - d);
    let sine = ca.cross(&cb).norm() * da.dot(&db) + ca.dot(&cb) * da.cross(&db).norm();
    sine < -1e-9 * ca.norm() * cb.norm() * da.norm() * db.norm()
}

/// Whether an edge from the start of `half` to `d` exists already.
fn joined(faces: &[[u32; 3]], twin: &[u32], half: u32, d: u32) -> bool {
    // Once round the vertex; both ways, since an open edge ends a walk.
    let mut h = half;
    for _ in 0..4096 {
        if faces[h as usize / 3].contains(&d) {
            return true;
        }
        let across = twin[prev(h) as usize];
        if across == NO_TWIN {
            break;
        }
        h = across;
        if h == half {
            return false;
        }
    }
    let mut h = half;
    for _ in 0..4096 {
        if faces[h as usize / 3].contains(&d) {
            return true;
        }
        let across = twin[h as usize];
        if across == NO_TWIN {
            return false;
        }
        h = next(across);
        if h == half {
            return false;
        }
    }
    true
}

fn flip(faces: &mut [[u32; 3]], twin: &mut [u32], half: u32, other: u32) {
    let (a, b) = (from(faces, half), from(faces, other));
    let (c, d) = (apex(faces, half), apex(faces, other));
    let outer = [prev(half), next(other), prev(other), next(half)].map(|h| twin[h as usize]);
    let (f, g) = (half / 3, other / 3);
    faces[f as usize] = [c, a, d];
    faces[g as usize] = [d, b, c];
    for (h, across) in [3 * f, 3 * f + 1, 3 * g, 3 * g + 1].into_iter().zip(outer) {
        twin[h as usize] = across;
        if across != NO_TWIN {
            twin[across as usize] = h;
        }
    }
    twin[3 * f as usize + 2] = 3 * g + 2;
    twin[3 * g as usize + 2] = 3 * f + 2;
}

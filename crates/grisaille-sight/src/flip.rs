//! Coplanar pairs of triangles flipped toward Delaunay.
//!
//! A plate of two long triangles, or a fan of slivers over a flat cap, would
//! be split into more slivers. Flipping (Lawson, 1977) makes well-shaped
//! triangles without moving a single point of the surface.

use grisaille_base::{Stop, Watch};
use grisaille_mesh::{Net, face_cross, prev};
use nalgebra::{Point3, Vector3};
use rayon::prelude::*;

/// Which faces lie in one plane, known from the faces before refining: the
/// normal of a sliver cut from a large face would be mostly rounding.
pub(crate) struct Planes {
    /// The unit normal of each face before refining; `None` where the face is
    /// too thin to have one, or to be cut into anything but slivers.
    pub(crate) normal: Vec<Option<Vector3<f64>>>,
    /// How far in mm a corner may lie off a plane that still holds it.
    pub(crate) flatness: f64,
    /// What the file says of each face before refining, if anything: where that changes the
    /// border stays.
    pub(crate) marks: Vec<u32>,
    /// Edges up to this length in mm are left as they are.
    pub(crate) longer_than: f64,
}

impl Planes {
    /// The planes of some faces.
    pub(crate) fn of(
        (faces, marks): (&[[u32; 3]], &[u32]),
        positions: &[Point3<f32>],
        flatness: f64,
        longer_than: f64,
    ) -> Self {
        let normal = |f: &[u32; 3]| {
            let cross = face_cross(positions, *f);
            let at = |c: usize| positions[f[c % 3] as usize].cast::<f64>();
            let longest = (0..3).map(|c| (at(c + 1) - at(c)).norm()).fold(0.0, f64::max);
            // Two hundred roundings high: across less than that, the points of
            // opposite edges are not surely in order any more.
            if cross.norm() <= 256.0 * flatness * longest { None } else { cross.try_normalize(0.0) }
        };
        let marks = marks.to_vec();
        Self { normal: faces.iter().map(normal).collect(), flatness, marks, longer_than }
    }

    /// Whether an edge lies inside a plane, between two faces of it.
    pub(crate) fn inside(&self, net: &Net, positions: &[Point3<f32>], half: u32) -> bool {
        net.across(half).is_some_and(|other| self.one(net, half, other, corners(net, positions, half, other)))
    }

    fn one(&self, net: &Net, half: u32, other: u32, [a, b, c, d]: [Point3<f64>; 4]) -> bool {
        let (f, g) = (net.source[half as usize / 3] as usize, net.source[other as usize / 3] as usize);
        let (Some(of_f), Some(of_g)) = (self.normal[f], self.normal[g]) else { return false };
        if f == g {
            return true;
        }
        if self.marks.get(f) != self.marks.get(g) {
            return false;
        }
        let off = |p: Point3<f64>, n: Vector3<f64>| (p - a).dot(&n).abs().min((p - b).dot(&n).abs());
        of_f.dot(&of_g) > 0.0 && off(d, of_f) <= self.flatness && off(c, of_g) <= self.flatness
    }

    fn wants_flip(&self, net: &Net, positions: &[Point3<f32>], half: u32, other: u32) -> bool {
        let [a, b, c, d] = corners(net, positions, half, other);
        let long = (b - a).norm_squared() > self.longer_than * self.longer_than;
        if !long || !self.one(net, half, other, [a, b, c, d]) {
            return false;
        }
        // Angles at c and d sum to more than 180° where sin(c + d) < 0.
        let (ca, cb, da, db) = (a - c, b - c, a - d, b - d);
        let sine = ca.cross(&cb).norm() * da.dot(&db) + ca.dot(&cb) * da.cross(&db).norm();
        sine < -1e-9 * ca.norm() * cb.norm() * da.norm() * db.norm()
    }
}

/// The ends of an edge and the apex on either side of it.
fn corners(net: &Net, positions: &[Point3<f32>], half: u32, other: u32) -> [Point3<f64>; 4] {
    [net.from(half), net.from(other), net.apex(half), net.apex(other)]
        .map(|v| positions[v as usize].cast::<f64>())
}

/// Flips edges until each is locally Delaunay or no edge of a plane.
pub(crate) fn flip_all(
    net: &mut Net,
    positions: &[Point3<f32>],
    planes: &Planes,
    watch: &Watch,
) -> Result<(), Stop> {
    // Most edges are fine as they are: those that are not are found in parallel.
    let mut queue: Vec<u32> = (0..net.twin.len() as u32)
        .into_par_iter()
        .filter(|&h| {
            net.across(h).is_some_and(|other| other > h && planes.wants_flip(net, positions, h, other))
        })
        .collect();
    queue.reverse();
    settle(net, positions, planes, &mut queue, &mut Vec::new(), watch)
}

/// Flips the edges in `queue` and whatever that unsettles; the faces of every
/// flip are added to `touched`.
pub(crate) fn settle(
    net: &mut Net,
    positions: &[Point3<f32>],
    planes: &Planes,
    queue: &mut Vec<u32>,
    touched: &mut Vec<u32>,
    watch: &Watch,
) -> Result<(), Stop> {
    // Lawson's flips end by themselves; the bound is for rounding alone.
    let mut left = 16 * net.twin.len() as u64;
    while let Some(half) = queue.pop() {
        left -= 1;
        if left == 0 {
            queue.clear();
            return Ok(());
        }
        if left.is_multiple_of(8192) {
            watch.check()?;
        }
        let Some(other) = net.across(half) else { continue };
        if !planes.wants_flip(net, positions, half, other) {
            continue;
        }
        let (c, d) = (net.apex(half), net.apex(other));
        if c == d || net.joined(prev(half), d) {
            continue;
        }
        net.flip(half, other);
        let (f, g) = (half / 3, other / 3);
        queue.extend([3 * f, 3 * f + 1, 3 * g, 3 * g + 1]);
        touched.extend([f, g]);
    }
    Ok(())
}

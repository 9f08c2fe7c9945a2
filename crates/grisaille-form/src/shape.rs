//! The surface as one net: welded vertices, faces, neighbours, normals.

use grisaille_mesh::{NO_TWIN, face_cross, twins};
use grisaille_sight::Surface;
use nalgebra::{Point3, Vector3};
use rayon::prelude::*;

/// A triangle net that knows its neighbours. Half-edge `3·f + c` runs from
/// corner `c` of face `f` to the next corner.
#[derive(Clone, Debug, PartialEq)]
pub struct Shape {
    positions: Vec<Point3<f32>>,
    faces: Vec<[u32; 3]>,
    twins: Vec<u32>,
    normals: Vec<Vector3<f32>>,
    areas: Vec<f32>,
    /// Faces that noise has turned over, in their order, and the normal of what is round them.
    folded: Vec<(u32, Vector3<f32>)>,
}

impl Shape {
    /// A net of vertices in mm and faces that share them. Every index must be
    /// less than the number of positions.
    #[must_use]
    pub fn new(positions: Vec<Point3<f32>>, faces: Vec<[u32; 3]>) -> Self {
        let (normals, areas): (Vec<_>, Vec<_>) = faces
            .par_iter()
            .map(|&face| {
                let cross = face_cross(&positions, face);
                let length = cross.norm();
                let normal = if length > 0.0 { (cross / length).cast::<f32>() } else { Vector3::zeros() };
                (normal, 0.5 * length as f32)
            })
            .unzip();
        let twins = twins(&faces);
        let folded = folded(&twins, &normals, &areas);
        Self { positions, faces, twins, normals, areas, folded }
    }

    /// The refined surface, its faces in the same order. Samples of one place
    /// and one piece become one vertex, numbered by the first of them.
    #[must_use]
    pub fn of(surface: &Surface) -> Self {
        let count = surface.samples.len();
        let mut piece = vec![u32::MAX; count];
        for (face, of) in surface.faces.iter().zip(&surface.piece) {
            for &s in face {
                piece[s as usize] = of.0;
            }
        }
        let place = |s: u32| {
            // Plus zero, since −0 and +0 are one place.
            let p = surface.samples.position[s as usize];
            (piece[s as usize], [p.x, p.y, p.z].map(|x| (x + 0.0).to_bits()))
        };
        let mut order: Vec<u32> = (0..count as u32).collect();
        order.par_sort_unstable_by_key(|&s| (place(s), s));
        let mut first: Vec<u32> = (0..count as u32).collect();
        for group in order.chunk_by(|&a, &b| place(a) == place(b)) {
            for &s in group {
                first[s as usize] = group[0];
            }
        }
        let mut vertex = vec![0; count];
        let mut positions = Vec::new();
        for s in 0..count {
            if first[s] as usize == s {
                vertex[s] = positions.len() as u32;
                positions.push(surface.samples.position[s]);
            } else {
                // The first of a place has been numbered before.
                vertex[s] = vertex[first[s] as usize];
            }
        }
        let faces = surface.faces.par_iter().map(|face| face.map(|s| vertex[s as usize])).collect();
        Self::new(positions, faces)
    }

    /// The vertices in mm.
    #[must_use]
    pub fn positions(&self) -> &[Point3<f32>] {
        &self.positions
    }

    /// Faces as indices of vertices, counter-clockwise from outside.
    #[must_use]
    pub fn faces(&self) -> &[[u32; 3]] {
        &self.faces
    }

    /// A unit normal for each face; zero where a face has no area.
    #[must_use]
    pub fn normals(&self) -> &[Vector3<f32>] {
        &self.normals
    }

    /// The area of each face in mm².
    #[must_use]
    pub fn areas(&self) -> &[f32] {
        &self.areas
    }

    /// The partner of a half-edge; none at an open edge, where more than two
    /// faces meet, and where two faces disagree in winding.
    #[must_use]
    pub fn across(&self, half: u32) -> Option<u32> {
        Some(self.twins[half as usize]).filter(|twin| *twin != NO_TWIN)
    }

    /// The two vertices of a half-edge, in its direction.
    #[must_use]
    pub fn ends(&self, half: u32) -> [u32; 2] {
        let face = self.faces[half as usize / 3];
        let corner = half as usize % 3;
        [face[corner], face[(corner + 1) % 3]]
    }

    /// A face's normal, or if it is folded that of what is round it.
    fn lying(&self, face: u32) -> Vector3<f32> {
        match self.folded.binary_search_by_key(&face, |(folded, _)| *folded) {
            Ok(at) => self.folded[at].1,
            Err(_) => self.normals[face as usize],
        }
    }

    /// How far the surface turns across a half-edge in radians, from −π to π:
    /// positive over a convex edge, negative in a recess, 0 where it is flat
    /// and where the half-edge has no partner. A small face that noise has turned
    /// over counts as lying like its neighbours.
    #[must_use]
    pub fn turn(&self, half: u32) -> f64 {
        let Some(other) = self.across(half) else { return 0.0 };
        let [m, n] = [half, other].map(|h| self.lying(h / 3).cast::<f64>());
        let [a, b] = self.ends(half).map(|v| self.positions[v as usize].cast::<f64>());
        let along = b - a;
        let length = along.norm();
        // Plus zero, so that a sheet folded flat onto itself turns by +π seen from either side.
        if length > 0.0 { (m.cross(&n).dot(&along) / length + 0.0).atan2(m.dot(&n)) } else { 0.0 }
    }
}

/// Faces that lie on their backs: the surface turns by more than a right angle
/// over each of three edges to larger neighbours, which agree with each other.
/// Where a scan's noise is as large as its triangles that is an accident of a
/// thin triangle, and its turns by about ±π, whose signs mean nothing, would
/// outweigh all the true bending round it.
fn folded(twins: &[u32], normals: &[Vector3<f32>], areas: &[f32]) -> Vec<(u32, Vector3<f32>)> {
    let face = |f: usize| {
        let mut sum = Vector3::zeros();
        let mut around = 0.0;
        for twin in &twins[3 * f..3 * f + 3] {
            if *twin == NO_TWIN {
                return None;
            }
            let other = *twin as usize / 3;
            if normals[other].dot(&normals[f]) > 0.0 {
                return None;
            }
            sum += normals[other] * areas[other];
            around += areas[other];
        }
        let agree = sum.norm() > 0.7 * around;
        (agree && areas[f] < around / 6.0).then(|| (f as u32, sum.normalize()))
    };
    (0..normals.len()).into_par_iter().filter_map(face).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A fold of two triangles along x, the second turned up by an angle.
    fn fold(turned: f64) -> Shape {
        let (sin, cos) = turned.sin_cos();
        let points = [[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, -1.0, 0.0], [1.0, cos, sin]];
        let positions = points.map(|p| Point3::from(p.map(|x| x as f32))).to_vec();
        Shape::new(positions, vec![[1, 0, 2], [0, 1, 3]])
    }

    #[test]
    fn a_recess_turns_backwards_and_an_edge_forwards() {
        for degrees in [-170.0_f64, -90.0, -10.0, 0.0, 10.0, 90.0, 170.0] {
            let shape = fold(degrees.to_radians());
            for half in 0..6 {
                let want = if shape.across(half).is_some() { -degrees.to_radians() } else { 0.0 };
                assert!((shape.turn(half) - want).abs() < 1e-6, "{degrees} {half}: {}", shape.turn(half));
            }
            assert_eq!((0..6).filter(|h| shape.across(*h).is_some()).count(), 2);
        }
    }
}

//! Corner normals by crease angle: a vertex once for each smoothing group.

use crate::edge::{NO_TWIN, twins};
use crate::mesh::face_cross;
use crate::net::next;
use crate::sets::{find, unite};
use nalgebra::{Point3, Vector3};

/// Every corner's sample, and each sample's vertex and normal.
#[derive(Clone, Debug, PartialEq)]
pub struct Corners {
    /// For each face the samples at its three corners.
    pub faces: Vec<[u32; 3]>,
    /// The vertex of each sample. Samples stand in order of their vertices.
    pub vertex: Vec<u32>,
    /// The unit normal of each sample.
    pub normal: Vec<Vector3<f32>>,
}

/// Splits vertices where an edge is sharper than `crease_degrees`, so that a
/// cube's corner has three normals and a sphere's vertex one.
///
/// A normal is the mean of its faces' normals weighted by the angle at the
/// corner (Thürmer and Wüthrich, J. Graphics Tools 3(1):43–46, 1998), which
/// does not depend on how the surface is cut into triangles.
#[must_use]
pub fn corners(positions: &[Point3<f32>], faces: &[[u32; 3]], crease_degrees: f64) -> Corners {
    let smooth = crease_degrees.to_radians().cos();
    let twin = twins(faces);
    let normals: Vec<Option<Vector3<f64>>> =
        faces.iter().map(|&f| face_cross(positions, f).try_normalize(0.0)).collect();
    let mut parent: Vec<u32> = (0..3 * faces.len() as u32).collect();
    for (half, &other) in twin.iter().enumerate() {
        if other == NO_TWIN || (other as usize) < half {
            continue;
        }
        let joined = match (normals[half / 3], normals[other as usize / 3]) {
            (Some(a), Some(b)) => a.dot(&b) >= smooth,
            // A face without area has no direction of its own and parts nothing.
            _ => true,
        };
        if joined {
            unite(&mut parent, half as u32, next(other));
            unite(&mut parent, next(half as u32), other);
        }
    }
    number(positions, faces, &normals, &mut parent)
}

fn number(
    positions: &[Point3<f32>],
    faces: &[[u32; 3]],
    normals: &[Option<Vector3<f64>>],
    parent: &mut [u32],
) -> Corners {
    let mut roots: Vec<(u32, u32)> = (0..parent.len() as u32)
        .filter(|&c| parent[c as usize] == c)
        .map(|c| (faces[c as usize / 3][c as usize % 3], c))
        .collect();
    roots.sort_unstable();
    let mut sample_of_root = vec![0_u32; parent.len()];
    for (sample, &(_, root)) in roots.iter().enumerate() {
        sample_of_root[root as usize] = sample as u32;
    }
    let mut sums = vec![Vector3::<f64>::zeros(); roots.len()];
    let mut sample_faces = vec![[0_u32; 3]; faces.len()];
    for f in 0..faces.len() {
        for (c, sample_slot) in sample_faces[f].iter_mut().enumerate() {
            let root = find(parent, (3 * f + c) as u32);
            let sample = sample_of_root[root as usize];
            *sample_slot = sample;
            if let Some(normal) = normals[f] {
                sums[sample as usize] += normal * angle(positions, faces[f], c);
            }
        }
    }
    let normal = sums
        .iter()
        .zip(&roots)
        .map(|(sum, &(_, root))| {
            // Normals that cancel out (a folded sheet) fall back to one face's own.
            let own = normals[root as usize / 3].unwrap_or_else(Vector3::z);
            sum.try_normalize(1e-12).unwrap_or(own).cast::<f32>()
        })
        .collect();
    Corners { faces: sample_faces, vertex: roots.into_iter().map(|(v, _)| v).collect(), normal }
}

/// The angle of a face at one of its corners.
fn angle(positions: &[Point3<f32>], face: [u32; 3], corner: usize) -> f64 {
    let at = |c: usize| positions[face[(corner + c) % 3] as usize].cast::<f64>();
    let (a, b) = (at(1) - at(0), at(2) - at(0));
    a.cross(&b).norm().atan2(a.dot(&b))
}

//! Samples that lie inside a closed piece.

use crate::bits::Bits;
use crate::engine::TreeSight;
use crate::occluder::{FaceMask, Ray};
use crate::surface::Samples;
use crate::winding::WindingTree;
use grisaille_base::{PieceId, Stop, Watch};
use grisaille_mesh::Mesh;
use nalgebra::{Point3, Vector3};
use rayon::prelude::*;
use std::sync::OnceLock;

/// Finds them. A sample from which one ray leaves the scene without meeting
/// any face lies inside nothing: that is a proof, cheap, and true of nearly
/// all. For the others the winding number of all closed pieces about the
/// sample's origin decides; the own piece counts 0 there, since the origin
/// lies outside of it, unless it overlaps itself. The walls of cavities are
/// buried as a whole.
pub(crate) fn buried(
    mesh: &Mesh,
    samples: &Samples,
    faces: &[[u32; 3]],
    piece: &[PieceId],
    sight: &TreeSight,
    watch: &Watch,
) -> Result<Bits, Stop> {
    let mut out = Bits::new(samples.len());
    if !mesh.pieces().iter().any(|p| p.closed) {
        return Ok(out);
    }
    let mut cavity = Bits::new(samples.len());
    for (face, piece) in faces.iter().zip(piece) {
        if mesh.pieces()[piece.index()].cavity {
            for s in face {
                cavity.set(*s as usize, true);
            }
        }
    }
    let tree = OnceLock::new();
    let inside = |i: usize| {
        cavity.get(i)
            || (!escapes(sight, samples, i)
                && tree.get_or_init(|| closed_pieces(mesh)).winding(samples.origin[i].cast()) > 0.5)
    };
    out.words_mut().par_chunks_mut(16).enumerate().try_for_each(|(chunk, words)| {
        watch.check()?;
        for (w, word) in words.iter_mut().enumerate() {
            let first = (chunk * 16 + w) * 64;
            for i in first..(first + 64).min(samples.len()) {
                *word |= u64::from(inside(i)) << (i - first);
            }
        }
        Ok(())
    })?;
    Ok(out)
}

fn closed_pieces(mesh: &Mesh) -> WindingTree {
    WindingTree::new(
        mesh.faces()
            .iter()
            .zip(mesh.piece_of_face())
            .filter(|(_, p)| mesh.pieces()[p.index()].closed)
            .map(|(f, _)| f.map(|v| mesh.positions()[v as usize].cast()))
            .collect(),
    )
}

/// Tries a few directions, the normal first, then a ring leaning out from it.
fn escapes(sight: &TreeSight, samples: &Samples, i: usize) -> bool {
    let normal = samples.normal[i].cast::<f64>();
    let origin: Point3<f64> = samples.origin[i].cast();
    let aside = if normal.x.abs() < 0.7 { Vector3::x() } else { Vector3::y() };
    let one = normal.cross(&aside).normalize();
    let two = normal.cross(&one);
    let ring = (0..5).map(|k| {
        let turn = f64::from(k) * std::f64::consts::TAU / 5.0;
        normal + 1.2 * (one * turn.cos() + two * turn.sin())
    });
    std::iter::once(normal).chain(ring).any(|direction| {
        let ray = Ray { origin, direction, near: 0.0, far: f64::INFINITY };
        !sight.blocked(&ray, &FaceMask::All, false)
    })
}

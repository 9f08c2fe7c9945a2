//! Samples that lie inside a closed piece.

use crate::bits::Bits;
use crate::engine::TreeSight;
use crate::occluder::{FaceMask, Ray};
use crate::surface::Samples;
use crate::winding::WindingTree;
use grisaille_base::{PieceId, Stop, Watch};
use grisaille_mesh::{Mesh, find, unite};
use nalgebra::Point3;
use rayon::prelude::*;

/// Finds them, and beside them those from which a ray along the normal leaves the scene.
///
/// A sample from which one ray leaves the scene without meeting any face lies
/// inside nothing: that is a proof, cheap, and true of nearly all. How often
/// closed pieces go round a point does not change on a way that crosses no
/// face: so what of the others hangs together by such ways, from origin to
/// origin of the same face, is answered at once. It is free if any of it
/// touches a free sample in that way; else the winding number of all closed
/// pieces about one origin decides. The own piece counts 0 there, since the
/// origin lies outside of it, unless it overlaps itself. The walls of cavities
/// are buried as a whole.
pub(crate) fn buried(
    mesh: &Mesh,
    samples: &Samples,
    faces: &[[u32; 3]],
    piece: &[PieceId],
    sight: &TreeSight,
    watch: &Watch,
) -> Result<(Bits, Bits), Stop> {
    let mut out = Bits::new(samples.len());
    let mut free = Bits::new(samples.len());
    if !mesh.pieces().iter().any(|p| p.shut) {
        return Ok((out, free));
    }
    free.words_mut().par_chunks_mut(16).enumerate().try_for_each(|(chunk, words)| {
        watch.check()?;
        for (w, word) in words.iter_mut().enumerate() {
            let first = (chunk * 16 + w) * 64;
            for i in first..(first + 64).min(samples.len()) {
                *word |= u64::from(escapes(sight, samples, i)) << (i - first);
            }
        }
        Ok(())
    })?;
    let open = |i: u32| !free.get(i as usize);
    let ways: Vec<[u32; 2]> = faces
        .par_iter()
        .flat_map_iter(|[a, b, c]| [[*a, *b], [*b, *c], [*c, *a]])
        // Of an edge's two faces one asks. Where the surface ends or turns over
        // it may be none or both: a way less, or one twice, changes no answer.
        .filter(|[a, b]| a < b && (open(*a) || open(*b)))
        .collect();
    watch.check()?;
    let clear: Vec<[u32; 2]> = ways
        .par_chunks(1024)
        .map(|ways| {
            watch.check()?;
            Ok(ways.iter().copied().filter(|way| is_clear(sight, samples, *way)).collect::<Vec<_>>())
        })
        .collect::<Result<Vec<_>, Stop>>()?
        .concat();
    let group = groups(samples.len(), &clear);
    watch.check()?;
    let mut of_group: Vec<Option<bool>> = vec![None; samples.len()];
    for i in (0..samples.len()).filter(|i| free.get(*i)) {
        of_group[group[i] as usize] = Some(false);
    }
    let heads: Vec<u32> = (0..samples.len() as u32)
        .filter(|i| group[*i as usize] == *i && of_group[*i as usize].is_none())
        .collect();
    if !heads.is_empty() {
        let tree = closed_pieces(mesh);
        let inside = heads.par_chunks(64).map(|heads| {
            watch.check()?;
            let winds = |i: u32| tree.winding(samples.origin[i as usize].cast()) > 0.5;
            Ok(heads.iter().map(|i| winds(*i)).collect::<Vec<_>>())
        });
        let inside = inside.collect::<Result<Vec<_>, Stop>>()?.concat();
        for (head, inside) in heads.iter().zip(inside) {
            of_group[*head as usize] = Some(inside);
        }
    }
    for i in 0..samples.len() {
        out.set(i, of_group[group[i] as usize] == Some(true));
    }
    for (face, piece) in faces.iter().zip(piece) {
        if mesh.pieces()[piece.index()].cavity {
            for s in face {
                out.set(*s as usize, true);
            }
        }
    }
    Ok((out, free))
}

/// Whether the straight way between two origins crosses no face.
fn is_clear(sight: &TreeSight, samples: &Samples, [a, b]: [u32; 2]) -> bool {
    let [origin, end] = [a, b].map(|i| samples.origin[i as usize].cast::<f64>());
    let direction = end - origin;
    // To the end itself: what is crossed there is met on no other way.
    let far = 1.0_f64.next_up();
    !sight.blocked(&Ray { origin, direction, near: -f64::EPSILON, far }, &FaceMask::All, false)
}

/// The group of each of `count` items, some of which are linked: the least
/// item that it hangs together with.
fn groups(count: usize, links: &[[u32; 2]]) -> Vec<u32> {
    let mut parent: Vec<u32> = (0..count as u32).collect();
    for [a, b] in links {
        unite(&mut parent, *a, *b);
    }
    (0..count as u32).map(|i| find(&mut parent, i)).collect()
}

fn closed_pieces(mesh: &Mesh) -> WindingTree {
    WindingTree::new(mesh.shut_faces().map(|(_, corners)| corners.map(Point3::cast)).collect())
}

/// Along the normal.
fn escapes(sight: &TreeSight, samples: &Samples, i: usize) -> bool {
    let ray = Ray {
        origin: samples.origin[i].cast(),
        direction: samples.normal[i].cast(),
        near: 0.0,
        far: f64::INFINITY,
    };
    !sight.blocked(&ray, &FaceMask::All, false)
}

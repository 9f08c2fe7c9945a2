//! A mesh of fewer triangles for sheets of paper: finer than a print can hold, coarser than the file.

use crate::flip::smoothed;
use crate::mesh::{Mesh, face_cross};
use crate::place::ReadSettings;
use crate::read::build;
use crate::soup::Soup;
use grisaille_base::{Code, Finding, Stop, Watch};
use meshopt::{SimplifyOptions, simplify_with_attributes_and_locks_decoder};
use nalgebra::Vector3;
use std::sync::Arc;

/// The collapses' own measure of their error is a mean over faces; with half of what is allowed no spot has been
/// found farther off.
const SAFE: f64 = 0.5;
/// A normal that would turn counts as if the surface moved: so many mm for a turn by a radian. Light falls by normals.
const OF_NORMALS: f32 = 1.0;
/// Faces are thinned in so many shares, whatever the threads.
const SHARES: usize = 4;

/// A mesh whose surface lies within `within` mm of another's, with no fewer than `enough` triangles: edges are
/// collapsed where that changes surface and normals least (Garland and Heckbert, Surface simplification using quadric
/// error metrics, SIGGRAPH 1997), by meshoptimizer, and slivers laid into the form. What the file marks keeps its borders, and so do open edges. Nothing where no
/// fifth could be spared.
///
/// # Errors
/// [`Stop`] when cancelled.
pub fn thinned(
    mesh: &Arc<Mesh>,
    within: f64,
    enough: usize,
    watch: &Watch,
) -> Result<Option<(Mesh, Finding)>, Stop> {
    let before = mesh.faces().len();
    let span = watch.span("thin", before as u64);
    let own = Arc::clone(mesh);
    let soup = watch.leave(move |watch| collapsed(&own, within, enough, watch))??;
    let after = soup.len();
    if after == 0 || 5 * after > 4 * before {
        span.advance(before as u64);
        return Ok(None);
    }
    watch.check()?;
    // It is as clean as what it comes from; what little is found on the way concerns nobody.
    let built = build(soup, Vec::new(), &ReadSettings::default(), &span, before as u64, watch);
    watch.check()?;
    let hint = format!(
        "the {before} triangles were thinned to {after} that lie within {within:.2} mm of them, finer than a print can \
         hold: sheets are ready sooner, files that are exported keep all"
    );
    let layers = mesh.layers().to_vec();
    Ok(built.ok().map(|(mesh, _)| (Mesh { layers, ..mesh }, Finding::new(Code::Thinned, 1, hint))))
}

/// The triangles that are left, marked as they were.
fn collapsed(mesh: &Mesh, within: f64, enough: usize, watch: &Watch) -> Result<Soup, Stop> {
    let positions: Vec<[f32; 3]> = mesh.positions().iter().map(|p| (*p).into()).collect();
    let marks = mesh.marks();
    // What is marked alike is thinned by itself, its border held, so that parts still meet; and so is each share of the
    // faces, so that all cores have work: the fine seam between them does no harm.
    let mut groups = vec![Vec::new(); marks.len().max(1)];
    for (f, face) in mesh.faces().iter().enumerate() {
        groups[mesh.mark_of_face().get(f).map_or(0, |mark| *mark as usize)].extend(face);
    }
    let shares: Vec<(u32, &[u32])> = (0_u32..)
        .zip(&groups)
        .flat_map(|(mark, corners)| {
            let each = (corners.len() / 3).div_ceil(SHARES).max(1) * 3;
            corners.chunks(each).map(move |share| (mark, share))
        })
        .collect();
    let all = mesh.faces().len().max(1);
    let options = SimplifyOptions::LockBorder
        | SimplifyOptions::ErrorAbsolute
        | SimplifyOptions::Sparse
        | SimplifyOptions::RegularizeLight;
    let normals = normals(mesh);
    let free = vec![false; positions.len()];
    let left = watch.map(shares.len(), |i| {
        let corners = shares[i].1;
        let target = (enough as f64 * corners.len() as f64 / all as f64) as usize / 3 * 3;
        let left = simplify_with_attributes_and_locks_decoder(
            corners,
            &positions,
            normals.as_flattened(),
            &[OF_NORMALS; 3],
            size_of::<[f32; 3]>(),
            &free,
            target,
            (SAFE * within) as f32,
            options,
            None,
        );
        let mut faces: Vec<[u32; 3]> = left.chunks_exact(3).map(|f| [f[0], f[1], f[2]]).collect();
        smoothed(mesh.positions(), &mut faces, within);
        faces
    })?;
    let (mut faces, mut mark_of_face) = (Vec::new(), Vec::new());
    for ((mark, _), left) in shares.iter().zip(&left) {
        faces.extend(left);
        if !marks.is_empty() {
            mark_of_face.resize(faces.len(), *mark);
        }
    }
    let mut soup = Soup {
        points: positions,
        faces: Some(faces),
        mark_of_face,
        marks: marks.to_vec(),
        millimetres: true,
        often_y_up: false,
    };
    soup.drop_unused_points();
    Ok(soup)
}

/// A unit normal for each vertex, the mean of its faces by their areas; zero where it has none.
fn normals(mesh: &Mesh) -> Vec<[f32; 3]> {
    let mut sums = vec![Vector3::<f64>::zeros(); mesh.positions().len()];
    for face in mesh.faces() {
        let cross = face_cross(mesh.positions(), *face);
        for v in face {
            sums[*v as usize] += cross;
        }
    }
    sums.into_iter().map(|n| n.try_normalize(0.0).unwrap_or_default().cast::<f32>().into()).collect()
}

//! Several models as one scene, and a scene without some of its faces.

use crate::layers::Layers;
use crate::mesh::Mesh;
use crate::place::ReadSettings;
use crate::read::{ReadError, build};
use crate::soup::{Mark, Soup};
use grisaille_base::{Finding, Watch};
use std::collections::HashMap;

/// One mesh of several, each where it stands: as if their triangles had been
/// in one file, so that light passes from one to another and what one pushes
/// into another is buried. Findings are those of the joining alone.
///
/// # Errors
/// [`ReadError`] when there are no meshes, too many triangles, or the work was
/// cancelled.
pub fn join(meshes: &[Mesh], watch: &Watch) -> Result<(Mesh, Vec<Finding>), ReadError> {
    reread(
        meshes,
        meshes.iter().enumerate().flat_map(|(m, mesh)| (0..mesh.faces().len()).map(move |f| (m, f))),
        watch,
    )
}

/// For each face of a scene the model that it comes from, by its corners: the
/// first that has the same triangle. Faces that mending has made anew, which
/// is rare since models are mended before they are joined, go with the face
/// before them.
#[must_use]
pub fn model_of_face(scene: &Mesh, models: &[Mesh]) -> Vec<u32> {
    let key = |mesh: &Mesh, face: [u32; 3]| {
        let mut corners =
            face.map(|v| mesh.positions()[v as usize].coords.map(|x| (x + 0.0).to_bits()).into());
        corners.sort_unstable();
        corners as [[u32; 3]; 3]
    };
    let mut of: HashMap<[[u32; 3]; 3], u32> = HashMap::new();
    for (m, model) in models.iter().enumerate() {
        for &face in model.faces() {
            of.entry(key(model, face)).or_insert(m as u32);
        }
    }
    let mut last = 0;
    let name = |&face: &[u32; 3]| {
        last = of.get(&key(scene, face)).copied().unwrap_or(last);
        last
    };
    scene.faces().iter().map(name).collect()
}

/// A mesh without some of its faces, as if they had never been in the file:
/// pieces, whether they are closed, and the box are those of the rest.
/// `away` says of each face whether it goes.
///
/// # Errors
/// [`ReadError`] when nothing is left, or the work was cancelled.
pub fn without(mesh: &Mesh, away: &[bool], watch: &Watch) -> Result<(Mesh, Vec<Finding>), ReadError> {
    let rest = (0..mesh.faces().len()).zip(away).filter(|(_, away)| !**away);
    reread(std::slice::from_ref(mesh), rest.map(|(f, _)| (0, f)), watch)
}

/// Triangles of meshes, each the place of a mesh and of its face, built as those
/// of one file are. What the files said of them stays with them.
fn reread(
    meshes: &[Mesh],
    triangles: impl Iterator<Item = (usize, usize)> + Clone,
    watch: &Watch,
) -> Result<(Mesh, Vec<Finding>), ReadError> {
    /// Triangles between two questions whether to stop.
    const STRETCH: u32 = 1 << 16;
    let count = triangles.clone().count() as u64;
    if count > u64::from(u32::MAX / 6) {
        return Err(ReadError::TooMany { triangles: count });
    }
    let mut soup = Soup::of_triangles(Vec::with_capacity(3 * count as usize));
    // The first mark is that of faces of which no file says anything.
    soup.marks.push(Mark::default());
    let mut first_mark = Vec::with_capacity(meshes.len());
    for mesh in meshes {
        first_mark.push(soup.marks.len() as u32);
        soup.marks.extend_from_slice(mesh.marks());
    }
    let marked = soup.marks.len() > 1;
    for (n, (m, f)) in (0_u32..).zip(triangles) {
        let mesh = &meshes[m];
        soup.points.extend(mesh.faces()[f].map(|v| <[f32; 3]>::from(mesh.positions()[v as usize])));
        if marked {
            soup.mark_of_face.push(mesh.mark_of_face().get(f).map_or(0, |mark| first_mark[m] + mark));
        }
        if n % STRETCH == 0 {
            watch.check()?;
        }
    }
    if count == 0 {
        return Err(ReadError::NoTriangles);
    }
    let layers: Vec<Layers> = meshes.iter().flat_map(Mesh::layers).copied().collect();
    watch.leave(move |watch| {
        let span = watch.span("read", count);
        let (mut mesh, findings) = build(soup, Vec::new(), &ReadSettings::default(), &span, count, watch)?;
        mesh.layers = layers;
        Ok((mesh, findings))
    })?
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::read::read;

    #[test]
    fn two_cubes_apart_are_two_pieces_of_one_scene() {
        let cube = |x: f64| {
            let bytes = grisaille_bodies::stl(&grisaille_bodies::cuboid([x, 0.0, 0.0], [x + 2.0, 2.0, 2.0]));
            read(&bytes, &ReadSettings::default(), &Watch::quiet()).unwrap().0
        };
        let (scene, _) = join(&[cube(0.0), cube(10.0)], &Watch::quiet()).unwrap();
        assert_eq!((scene.pieces().len(), scene.faces().len()), (2, 24));
        assert_eq!(scene.bounds().extents(), [12.0, 2.0, 2.0]);
        assert!((scene.volume_mm3() - 16.0).abs() < 1e-9);
        assert_eq!(join(&[], &Watch::quiet()), Err(ReadError::NoTriangles));
        let right: Vec<bool> =
            scene.faces().iter().map(|f| scene.positions()[f[0] as usize].x > 5.0).collect();
        let models = [cube(0.0), cube(10.0)];
        for (f, m) in model_of_face(&scene, &models).into_iter().enumerate() {
            assert_eq!(m == 1, scene.positions()[scene.faces()[f][0] as usize].x > 5.0);
        }
        assert_eq!(without(&scene, &right, &Watch::quiet()).unwrap().0, cube(0.0));
        assert_eq!(without(&scene, &[true; 24], &Watch::quiet()), Err(ReadError::NoTriangles));
    }
}

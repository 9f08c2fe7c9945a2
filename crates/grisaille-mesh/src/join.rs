//! Several models as one scene.

use crate::mesh::Mesh;
use crate::place::ReadSettings;
use crate::read::{ReadError, read};
use grisaille_base::{Finding, Watch};

/// One mesh of several, each where it stands: as if their triangles had been
/// in one file, so that light passes from one to another and what one pushes
/// into another is buried. Findings are those of the joining alone.
///
/// # Errors
/// [`ReadError`] when there are no meshes, too many triangles, or the work was
/// cancelled.
pub fn join(meshes: &[Mesh], watch: &Watch) -> Result<(Mesh, Vec<Finding>), ReadError> {
    let count: u64 = meshes.iter().map(|m| m.faces().len() as u64).sum();
    if count > u64::from(u32::MAX / 6) {
        return Err(ReadError::TooMany { triangles: count });
    }
    let mut bytes = Vec::with_capacity(84 + 50 * count as usize);
    bytes.resize(80, 0);
    bytes.extend((count as u32).to_le_bytes());
    for mesh in meshes {
        for face in mesh.faces() {
            bytes.extend([0; 12]);
            for x in face.iter().flat_map(|v| mesh.positions()[*v as usize].iter()) {
                bytes.extend(x.to_le_bytes());
            }
            bytes.extend([0; 2]);
        }
        watch.check()?;
    }
    if count == 0 {
        return Err(ReadError::NoTriangles);
    }
    read(&bytes, &ReadSettings::default(), watch)
}

#[cfg(test)]
mod tests {
    use super::*;

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
    }
}

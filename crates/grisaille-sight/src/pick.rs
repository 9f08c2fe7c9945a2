//! Picking: the first face that a line of sight meets.

use crate::engine::TreeSight;
use crate::occluder::FaceMask;
use grisaille_base::FaceId;
use nalgebra::{Point3, Vector3};
use parry3d::math::Vector;
use parry3d::partitioning::{BvhNode, TraversalAction};

/// Where a line of sight first meets a face of the mesh as it was read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Met {
    /// The face.
    pub face: FaceId,
    /// How far along, in lengths of the direction.
    pub distance: f64,
    /// The point in scene millimetres.
    pub point: Point3<f64>,
}

impl TreeSight {
    /// The first face, of those that `mask` does not leave out, that the line
    /// from `origin` along `direction` meets from either side; of faces equally
    /// near the one with the lowest number.
    #[must_use]
    pub fn first(&self, origin: Point3<f64>, direction: Vector3<f64>, mask: &FaceMask) -> Option<Met> {
        let mut best: Option<(f64, u32)> = None;
        let inverse = direction.map(|d| 1.0 / if d.abs() < 1e-30 { 1e-30_f64.copysign(d) } else { d });
        self.tree().traverse(|node| {
            let nearest = best.map_or(f64::INFINITY, |b| b.0);
            if !entry(node, origin, inverse).is_some_and(|near| near <= nearest) {
                return TraversalAction::Prune;
            }
            if let Some(f) = node.leaf_data()
                && mask.blocks(f as usize)
                && let Some(distance) = self.occluders().meets(f as usize, origin, direction)
                && best.is_none_or(|b| (distance, f) < b)
            {
                best = Some((distance, f));
            }
            TraversalAction::Continue
        });
        let (distance, face) = best?;
        Some(Met { face: FaceId(face), distance, point: origin + direction * distance })
    }
}

/// Where a line enters a node's box, in lengths of its direction; `None` where
/// it passes by or the box lies behind.
fn entry(node: &BvhNode, origin: Point3<f64>, inverse: Vector3<f64>) -> Option<f64> {
    let of = |v: Vector| Vector3::new(f64::from(v.x), f64::from(v.y), f64::from(v.z));
    let one = (of(node.mins()) - origin.coords).component_mul(&inverse);
    let two = (of(node.maxs()) - origin.coords).component_mul(&inverse);
    let near = one.inf(&two).max().max(0.0);
    let far = one.sup(&two).min();
    (near <= far).then_some(near)
}

#[cfg(test)]
mod tests {
    use crate::{FaceMask, Occluders, TreeSight};
    use grisaille_base::Watch;
    use grisaille_mesh::{ReadSettings, face_cross, read};
    use nalgebra::{Point3, Vector3};
    use std::sync::Arc;

    #[test]
    fn the_first_face_is_that_of_trying_them_all() {
        let mut soup = grisaille_bodies::icosphere(3);
        soup.extend(grisaille_bodies::moved(grisaille_bodies::cube(), [0.7, 0.2, 0.4]));
        let (mesh, _) =
            read(&grisaille_bodies::stl(&soup), &ReadSettings::default(), &Watch::quiet()).unwrap();
        let tree = TreeSight::new(Arc::new(Occluders::of(&mesh)), &Watch::quiet());
        let mut met = 0;
        for i in 0..400 {
            // Lines on a lattice that meets corners, edges and misses alike.
            let (u, v) = (f64::from(i % 20) / 8.0 - 1.2, f64::from(i / 20) / 8.0 - 1.2);
            let origin = Point3::new(5.0, u, v);
            let direction = Vector3::new(-1.0, 0.02 * v, 0.0);
            let slow = (0..mesh.faces().len())
                .filter_map(|f| {
                    // Signed volumes (Möller and Trumbore, J. Graphics Tools 2(1), 1997).
                    let [a, b, c] = mesh.faces()[f].map(|k| mesh.positions()[k as usize].cast::<f64>());
                    let (e1, e2) = (b - a, c - a);
                    let p = direction.cross(&e2);
                    let det = e1.dot(&p);
                    let s = origin - a;
                    let bary = [s.dot(&p) / det, direction.dot(&s.cross(&e1)) / det];
                    let t = e2.dot(&s.cross(&e1)) / det;
                    (det != 0.0
                        && bary[0] >= -1e-9
                        && bary[1] >= -1e-9
                        && bary[0] + bary[1] <= 1.0 + 1e-9
                        && t > 0.0)
                        .then_some(t)
                })
                .fold(f64::INFINITY, f64::min);
            match tree.first(origin, direction, &FaceMask::All) {
                Some(hit) => {
                    met += 1;
                    assert!((hit.distance - slow).abs() < 1e-6, "{i}: {hit:?}, {slow}");
                    let normal = face_cross(mesh.positions(), mesh.faces()[hit.face.index()]);
                    let corner = mesh.positions()[mesh.faces()[hit.face.index()][0] as usize].cast::<f64>();
                    assert!((hit.point - corner).dot(&normal).abs() < 1e-6 * normal.norm(), "{i}");
                }
                None => assert!(slow.is_infinite(), "{i}: {slow}"),
            }
        }
        assert!(met > 100, "{met}");
    }
}

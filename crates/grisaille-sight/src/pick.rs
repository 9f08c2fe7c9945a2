//! What a single ray meets first on the mesh, exactly: for picks.

use crate::engine::TreeSight;
use crate::occluder::{Crossing, FaceMask, Ray};
use grisaille_base::FaceId;
use nalgebra::{Point3, Vector3};
use parry3d::math::Vector;
use parry3d::partitioning::{BvhNode, TraversalAction};

/// Where a ray first meets a face of the mesh as it was read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pick {
    /// The face.
    pub face: FaceId,
    /// How far from the origin, in lengths of the direction.
    pub distance: f64,
    /// Whether the ray comes from outside.
    pub front: bool,
}

impl TreeSight {
    /// The first face, of those that `mask` does not leave out, that the ray
    /// from `origin` along `direction` meets; of faces equally near the one with
    /// the lowest number. With `entering`, closed pieces are met only where the
    /// ray enters them, else from either side.
    #[must_use]
    pub fn nearest(
        &self,
        origin: Point3<f64>,
        direction: Vector3<f64>,
        mask: &FaceMask,
        entering: bool,
    ) -> Option<Pick> {
        let ray = Ray { origin, direction, near: 0.0, far: f64::INFINITY };
        let mut best: Option<Pick> = None;
        let inverse = direction.map(|d| 1.0 / if d.abs() < 1e-30 { 1e-30_f64.copysign(d) } else { d });
        self.tree().traverse(|node| {
            let nearest = best.map_or(f64::INFINITY, |b| b.distance);
            if !entry(node, origin, inverse).is_some_and(|near| near <= nearest) {
                return TraversalAction::Prune;
            }
            if let Some(f) = node.leaf_data()
                && mask.blocks(f as usize)
                && let Some(Crossing { distance, front }) =
                    self.occluders().crossing(f as usize, &ray, entering)
                && best.is_none_or(|b| (distance, FaceId(f)) < (b.distance, b.face))
            {
                best = Some(Pick { face: FaceId(f), distance, front });
            }
            TraversalAction::Continue
        });
        best
    }
}

/// Where a line enters a node's box, in lengths of its direction; `None` where
/// it passes by or the box lies behind. In `f64`, as an eye may stand far off.
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
            match tree.nearest(origin, direction, &FaceMask::All, false) {
                Some(hit) => {
                    met += 1;
                    assert!((hit.distance - slow).abs() < 1e-6, "{i}: {hit:?}, {slow}");
                    let normal = face_cross(mesh.positions(), mesh.faces()[hit.face.index()]);
                    let corner = mesh.positions()[mesh.faces()[hit.face.index()][0] as usize].cast::<f64>();
                    assert!(
                        (origin + direction * hit.distance - corner).dot(&normal).abs()
                            < 1e-6 * normal.norm(),
                        "{i}"
                    );
                }
                None => assert!(slow.is_infinite(), "{i}: {slow}"),
            }
        }
        assert!(met > 100, "{met}");
    }
}

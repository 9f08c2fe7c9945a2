//! Which faces let a light through: the pieces that the painter pointed at.

use grisaille_base::PieceId;
use grisaille_mesh::Mesh;
use grisaille_sight::{Bits, FaceMask};
use nalgebra::{Point3, Vector3};

/// The mask that leaves out every piece that one of the points, in scene
/// millimetres, lies on. A point counts for the piece whose surface is nearest
/// to it, so that it still means the same glass after a model was read again.
pub(crate) fn through(points: &[[f64; 3]], mesh: &Mesh) -> FaceMask {
    if points.is_empty() {
        return FaceMask::All;
    }
    let pieces: Vec<PieceId> = points.iter().filter_map(|p| piece_at(Point3::from(*p), mesh)).collect();
    let mut open = Bits::new(mesh.faces().len());
    for (f, piece) in mesh.piece_of_face().iter().enumerate() {
        if pieces.contains(piece) {
            open.set(f, true);
        }
    }
    FaceMask::Except(open)
}

/// The piece whose surface is nearest to a point in scene millimetres, the
/// first of equals; `None` of a mesh without faces.
#[must_use]
pub fn piece_at(point: Point3<f64>, mesh: &Mesh) -> Option<PieceId> {
    nearest(point, mesh).map(|(_, piece)| piece)
}

/// The piece that a point in scene millimetres lies on: [`piece_at`], but none
/// where all are further off than a new export could have moved them, 2 % of
/// the box's diagonal, since the one that was pointed at is gone then.
#[must_use]
pub fn part_at(point: Point3<f64>, mesh: &Mesh) -> Option<PieceId> {
    let far = 0.02 * mesh.bounds().diagonal();
    nearest(point, mesh).filter(|(squared, _)| *squared <= far * far).map(|(_, piece)| piece)
}

/// The piece nearest to a point and its squared distance.
fn nearest(point: Point3<f64>, mesh: &Mesh) -> Option<(f64, PieceId)> {
    let distance = |f: usize| {
        let [a, b, c] = mesh.faces()[f].map(|v| mesh.positions()[v as usize].cast::<f64>() - point);
        squared_distance(a, b, c)
    };
    (0..mesh.faces().len()).map(|f| (distance(f), mesh.piece_of_face()[f])).min_by(|a, b| a.0.total_cmp(&b.0))
}

/// The squared distance of the origin from a triangle: from its plane where
/// the foot of the perpendicular lies within it, else from its nearest edge.
fn squared_distance(a: Vector3<f64>, b: Vector3<f64>, c: Vector3<f64>) -> f64 {
    let normal = (b - a).cross(&(c - a));
    let inside = [(a, b), (b, c), (c, a)].iter().all(|(p, q)| (q - p).cross(&-p).dot(&normal) >= 0.0);
    let area = normal.norm_squared();
    if inside && area > 0.0 {
        return normal.dot(&a).powi(2) / area;
    }
    let edge = |p: Vector3<f64>, q: Vector3<f64>| {
        let along = q - p;
        let length = along.norm_squared();
        let t = if length > 0.0 { (-p.dot(&along) / length).clamp(0.0, 1.0) } else { 0.0 };
        (p + along * t).norm_squared()
    };
    edge(a, b).min(edge(b, c)).min(edge(c, a))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_distance_from_a_triangle_is_that_of_a_fine_search() {
        let corners = [[0.0, 0.0, 0.0], [4.0, 1.0, 0.5], [1.0, 3.0, -0.5]].map(Vector3::from);
        for point in [[1.5, 1.2, 2.0], [-2.0, -1.0, 0.3], [6.0, 3.0, 1.0], [0.0, 3.0, -4.0], [1.0, 0.0, 0.0]]
        {
            let p = Vector3::from(point);
            let mut nearest = f64::INFINITY;
            let n = 400;
            for i in 0..=n {
                for j in 0..=n - i {
                    let (s, t) = (f64::from(i) / f64::from(n), f64::from(j) / f64::from(n));
                    let at = corners[0] * (1.0 - s - t) + corners[1] * s + corners[2] * t;
                    nearest = nearest.min((at - p).norm());
                }
            }
            let [a, b, c] = corners.map(|v| v - p);
            let d = squared_distance(a, b, c).sqrt();
            assert!(d <= nearest + 1e-12 && nearest - d < 0.02, "{point:?}: {d}, {nearest}");
        }
    }
}

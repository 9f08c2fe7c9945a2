//! Whether points lie in a solid or close to its surface.

use crate::inside::{Grid, turns_round};
use crate::mesh::Mesh;
use grisaille_base::PieceId;
use nalgebra::Point3;

/// Of each point, which belongs to a piece, whether it lies within `reach` mm of a face of
/// another piece, if `near` names the face, or within closed ones that `inside` names for
/// the point of this number.
pub(super) fn touching(
    mesh: &Mesh,
    points: &[(Point3<f64>, PieceId)],
    reach: f64,
    inside: impl Fn(usize, PieceId) -> bool,
    near: impl Fn(usize) -> bool,
) -> Vec<bool> {
    let places: Vec<Point3<f64>> = points.iter().map(|p| p.0).collect();
    let other = |n: usize, piece: PieceId| piece != points[n].1;
    let turns = turns_round(mesh.shut_faces(), &places, |n, piece| other(n, piece) && inside(n, piece));
    let mut touches: Vec<bool> = turns.into_iter().map(|t| t != 0).collect();
    let grid = Grid::over(&places);
    for (f, face) in mesh.faces.iter().enumerate() {
        let corners = face.map(|v| mesh.positions[v as usize].cast::<f64>());
        for n in grid.within(&corners, reach) {
            if !touches[n]
                && other(n, mesh.piece_of_face[f])
                && near(f)
                && distance(places[n], corners) <= reach
            {
                touches[n] = true;
            }
        }
    }
    touches
}

/// From a point to a triangle.
fn distance(p: Point3<f64>, corners: [Point3<f64>; 3]) -> f64 {
    let [a, b, c] = corners;
    let normal = (b - a).cross(&(c - a));
    let sides = [(a, b), (b, c), (c, a)];
    if normal.norm() > 0.0 && sides.iter().all(|(a, b)| (b - a).cross(&(p - a)).dot(&normal) >= 0.0) {
        return (p - a).dot(&normal).abs() / normal.norm();
    }
    let to_side = |(a, b): (Point3<f64>, Point3<f64>)| {
        let along = b - a;
        let t = ((p - a).dot(&along) / along.norm_squared().max(f64::MIN_POSITIVE)).clamp(0.0, 1.0);
        (a + along * t - p).norm()
    };
    sides.into_iter().map(to_side).fold(f64::INFINITY, f64::min)
}

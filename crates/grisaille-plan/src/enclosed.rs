//! Whether a point lies inside the model, for one point at a time: a tree over
//! the faces takes longer to build than all of them take to look at, and at 1.6
//! million faces 200 MB.

use grisaille_mesh::{Mesh, solid_angle};
use nalgebra::Point3;
use rayon::prelude::*;
use std::f64::consts::PI;

/// Faces are summed in stretches of this many, whatever the threads.
const STRETCH: usize = 8192;

/// Whether the pieces that are closed, but for small holes, go round a point in scene millimetres: their
/// winding number about it, 1 inside and 0 outside, is nearer to 1.
pub(crate) fn enclosed(mesh: &Mesh, point: Point3<f64>) -> bool {
    let near: Vec<bool> = mesh.pieces().iter().map(|p| p.shut && p.bounds.holds(point.into())).collect();
    if !near.contains(&true) {
        return false;
    }
    // A closed piece whose box does not hold the point does not go round it.
    let faces = mesh.faces().par_chunks(STRETCH).zip(mesh.piece_of_face().par_chunks(STRETCH));
    let parts: Vec<f64> = faces
        .map(|(faces, pieces)| {
            let own = faces.iter().zip(pieces).filter(|(_, p)| near[p.index()]);
            own.map(|(f, _)| solid_angle(point, f.map(|v| mesh.positions()[v as usize].cast()))).sum()
        })
        .collect();
    let lids = mesh.lids().iter().filter(|l| near[l.piece.index()]);
    let lids: f64 = lids.map(|l| solid_angle(point, l.corners.map(Point3::cast))).sum();
    parts.iter().sum::<f64>() + lids > 0.5 * 4.0 * PI
}

#[cfg(test)]
mod tests {
    use super::*;
    use grisaille_base::Watch;
    use grisaille_bodies::{cuboid, icosphere, moved, scaled, stl};
    use grisaille_mesh::{ReadSettings, read};

    #[test]
    fn a_ball_with_small_holes_goes_round_what_the_whole_one_does() {
        let ball = scaled(icosphere(4), 10.0);
        let rest: Vec<_> = (0..ball.len()).filter(|f| f % 1500 != 7).map(|f| ball[f]).collect();
        let of = |soup: &[_]| read(&stl(soup), &ReadSettings::default(), &Watch::quiet()).unwrap().0;
        let (whole, holed) = (of(&ball), of(&rest));
        assert_eq!((rest.len(), holed.pieces()[0].closed), (ball.len() - 4, false));
        for k in 0..200 {
            let (turn, far) = (f64::from(k) * 0.7, f64::from(k) * 0.06);
            let at = Point3::new(far * turn.cos(), 0.4 * far, far * turn.sin());
            assert_eq!(enclosed(&holed, at), enclosed(&whole, at), "{far}");
        }
    }

    #[test]
    fn a_point_is_inside_a_ball_if_it_is_nearer_than_the_radius() {
        let mut soup = moved(scaled(icosphere(4), 10.0), [3.0, 0.0, 0.0]);
        soup.extend(cuboid([30.0, -1.0, -1.0], [32.0, 1.0, 1.0]));
        let (mesh, _) = read(&stl(&soup), &ReadSettings::default(), &Watch::quiet()).unwrap();
        // Closed form; 4 times divided, the ball's faces lie within 0.03 of it.
        for k in 0..200 {
            let (turn, far) = (f64::from(k) * 0.7, f64::from(k) * 0.06);
            let at = Point3::new(3.0 + far * turn.cos(), far * turn.sin(), 0.0);
            if (far - 10.0).abs() > 0.05 {
                assert_eq!(enclosed(&mesh, at), far < 10.0, "{far}");
            }
        }
        assert!(enclosed(&mesh, Point3::new(31.0, 0.0, 0.0)));
        assert!(!enclosed(&mesh, Point3::new(25.0, 0.0, 0.0)));
    }
}

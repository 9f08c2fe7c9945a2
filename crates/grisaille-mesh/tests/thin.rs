//! Thinning: how far the surface moves, what stays, what is left alone.

use grisaille_base::{Code, Stop, Watch};
use grisaille_bodies::{cuboid, icosphere, moved, stl};
use grisaille_mesh::{Mesh, ReadSettings, face_cross, read, thinned};
use nalgebra::{Point3, Vector3};
use std::sync::Arc;

fn loaded(bytes: &[u8]) -> Arc<Mesh> {
    Arc::new(read(bytes, &ReadSettings::default(), &Watch::quiet()).expect("a sound file").0)
}

/// How far a ball's corners and the middles of its faces lie from its radius at most.
fn off(mesh: &Mesh, radius: f64, centre: [f64; 3]) -> f64 {
    let centre = Point3::from(centre);
    let far = |p: Point3<f64>| ((p - centre).norm() - radius).abs();
    let faces = mesh.faces().iter().map(|f| {
        let corners = f.map(|v| mesh.positions()[v as usize].cast::<f64>());
        let middle = corners.iter().fold(Vector3::zeros(), |sum, p| sum + p.coords) / 3.0;
        corners.into_iter().chain([Point3::from(middle)]).map(far).fold(0.0, f64::max)
    });
    faces.fold(0.0, f64::max)
}

/// The share of a ball's area, of faces that look more than so many degrees away from the way out.
fn askew(mesh: &Mesh, degrees: f64) -> f64 {
    let mut sums = [0.0; 2];
    for f in mesh.faces() {
        let out = f.iter().map(|v| mesh.positions()[*v as usize].coords.cast::<f64>()).sum::<Vector3<f64>>();
        let cross = face_cross(mesh.positions(), *f);
        sums[usize::from(cross.angle(&out).to_degrees() > degrees)] += cross.norm();
    }
    sums[1] / (sums[0] + sums[1])
}

#[test]
fn a_fine_ball_stays_a_ball_within_what_is_allowed() {
    let soup: Vec<_> = icosphere(7).into_iter().map(|t| t.map(|p| p.map(|x| 10.0 * x))).collect();
    let ball = loaded(&stl(&soup));
    let fine = off(&ball, 10.0, [0.0; 3]);
    for within in [0.03, 0.05] {
        let (thin, told) = thinned(&ball, within, 0, &Watch::quiet()).expect("runs").expect("can be spared");
        let off = off(&thin, 10.0, [0.0; 3]);
        println!("{within}: {} of {}, {off:.4} mm off", thin.faces().len(), ball.faces().len());
        assert!(off <= within + fine, "{within}: {off}");
        assert!(2 * thin.faces().len() < ball.faces().len());
        assert_eq!(told.code, Code::Thinned);
        assert!(thin.pieces().len() == 1 && thin.pieces()[0].closed);
        // No sliver that could be seen stands up from the form.
        let askew = [5.0, 15.0].map(|degrees| askew(&thin, degrees));
        println!("   askew: {askew:?}");
        assert!(askew[0] < 1e-3 && askew[1] < 1e-6, "{within}: {askew:?}");
        assert!((thin.volume_mm3() / ball.volume_mm3() - 1.0).abs() < 3.0 * within / 10.0);
    }
    // No fewer than enough.
    let (thin, _) = thinned(&ball, 1.0, 100_000, &Watch::quiet()).expect("runs").expect("can be spared");
    assert!(thin.faces().len() >= 99_000, "{}", thin.faces().len());
}

#[test]
fn pieces_stay_apart_and_what_has_nothing_to_spare_is_left_alone() {
    let mut soup: Vec<_> = icosphere(6).into_iter().map(|t| t.map(|p| p.map(|x| 5.0 * x))).collect();
    soup.extend(moved(cuboid([0.0; 3], [4.0, 4.0, 4.0]), [10.0, 0.0, 0.0]));
    let two = loaded(&stl(&soup));
    let (thin, _) = thinned(&two, 0.1, 0, &Watch::quiet()).expect("runs").expect("can be spared");
    assert_eq!(thin.pieces().len(), 2);
    assert!(thin.pieces().iter().all(|p| p.closed));
    assert_eq!(thin.bounds().high[0], 14.0);
    let cube = loaded(&stl(&cuboid([0.0; 3], [4.0, 4.0, 4.0])));
    assert_eq!(thinned(&cube, 0.01, 0, &Watch::quiet()), Ok(None));
}

#[test]
fn it_gives_the_same_each_time_and_stops_when_asked() {
    let soup: Vec<_> = icosphere(6).into_iter().map(|t| t.map(|p| p.map(|x| 5.0 * x))).collect();
    let ball = loaded(&stl(&soup));
    let once = |threads| {
        let watch = Watch::with_threads(threads).expect("threads");
        thinned(&ball, 0.1, 0, &watch).expect("runs").expect("can be spared").0
    };
    assert_eq!(once(1), once(3));
    let watch = Watch::quiet().stopping_after(0);
    assert_eq!(thinned(&ball, 0.1, 0, &watch), Err(Stop));
}

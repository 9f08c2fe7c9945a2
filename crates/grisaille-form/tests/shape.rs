//! The welded net: closed bodies close, whatever their creases.

use grisaille_base::Watch;
use grisaille_bodies::{cube, icosphere, stl};
use grisaille_form::Shape;
use grisaille_mesh::{ReadSettings, read};
use grisaille_sight::{Occluders, SurfaceSettings, TreeSight, surface};
use std::sync::Arc;

fn shape(soup: &[grisaille_bodies::Triangle]) -> Shape {
    let watch = Watch::quiet();
    let (mesh, _) = read(&stl(soup), &ReadSettings::default(), &watch).expect("a body reads");
    let sight = TreeSight::new(Arc::new(Occluders::of(&mesh)), &watch);
    let settings = SurfaceSettings::for_mesh(&mesh);
    Shape::of(&surface(&mesh, &settings, &sight, &watch).expect("nobody cancels").0)
}

#[test]
fn a_closed_body_has_no_open_edge_and_two_more_corners_and_faces_than_edges() {
    // Euler's polyhedron formula; a cube's samples are parted at its creases.
    for soup in [cube(), icosphere(3)] {
        let shape = shape(&soup);
        let halves = 3 * shape.faces().len() as u32;
        assert!((0..halves).all(|h| shape.across(h).is_some()));
        let edges = halves as usize / 2;
        assert_eq!(shape.positions().len() + shape.faces().len(), edges + 2);
    }
}

#[test]
fn bends_along_the_edges_of_a_cube_sum_to_its_mean_curvature() {
    // Half the sum of length times bend is 3πa for a cube of side a (Steiner's
    // formula for convex bodies; Schneider, Convex Bodies, 2014, section 4.2).
    let shape = shape(&cube());
    let sum: f64 = (0..3 * shape.faces().len() as u32)
        .map(|h| {
            let [a, b] = shape.ends(h).map(|v| shape.positions()[v as usize].cast::<f64>());
            0.25 * (b - a).norm() * shape.turn(h)
        })
        .sum();
    assert!((sum - 3.0 * std::f64::consts::PI).abs() < 1e-4, "{sum}");
}

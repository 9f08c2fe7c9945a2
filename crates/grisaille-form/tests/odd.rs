//! Every public function over made-up meshes that no sculptor meant: open, degenerate,
//! not manifold, inside out, far too small and far too large.

mod every;

use every::{curved, every};
use grisaille_base::{Millimetres, Watch};
use grisaille_bodies::{Triangle, cube, cuboid, inside_out, moved, scaled, sheet, stl};
use grisaille_form::{Shape, angle_defects};
use grisaille_mesh::{ReadSettings, read};
use nalgebra::Point3;
use proptest::prelude::*;

/// Reads a soup and calls everything, or is told in words why there is nothing to call.
fn answered(name: &str, soup: &[Triangle], coarser: f64) {
    let watch = Watch::quiet();
    match read(&stl(soup), &ReadSettings::default(), &watch) {
        Ok((mesh, _)) => every(name, &mesh, coarser, &watch),
        Err(why) => assert!(!why.to_string().is_empty(), "{name}"),
    }
}

/// A band of `steps` squares that turns by `halves` half turns on its way round.
fn band(steps: usize, halves: f64) -> Vec<Triangle> {
    let at = |i: usize, side: f64| {
        let round = i as f64 / steps as f64 * std::f64::consts::TAU;
        let (s, c) = (0.5 * halves * round).sin_cos();
        let out = 10.0 + 2.0 * side * c;
        [out * round.cos(), out * round.sin(), 2.0 * side * s]
    };
    let square = |i: usize| {
        let (next, last) = (i + 1, i + 1 == steps);
        // After an odd number of half turns the two sides have changed places.
        let flip = if last && halves % 2.0 == 1.0 { -1.0 } else { 1.0 };
        let next = if last { 0 } else { next };
        let [a, b, c, d] = [at(i, -1.0), at(i, 1.0), at(next, -flip), at(next, flip)];
        [[a, c, b], [b, c, d]]
    };
    (0..steps).flat_map(square).collect()
}

#[test]
fn bad_meshes_get_an_answer_or_are_refused_in_words() {
    let fan = |count: usize| -> Vec<Triangle> {
        let leaf = |i: usize| {
            let (s, c) = (i as f64 / count as f64 * std::f64::consts::TAU).sin_cos();
            [[0.0, 0.0, 0.0], [0.0, 0.0, 9.0], [8.0 * c, 8.0 * s, 4.0]]
        };
        (0..count).map(leaf).collect()
    };
    let needles = |thin: f64| -> Vec<Triangle> {
        (0..40)
            .map(|i| f64::from(i) * thin)
            .map(|y| [[0.0, y, 0.0], [12.0, y, 0.0], [12.0, y + thin, 0.0]])
            .collect()
    };
    let of = |soups: &[Vec<Triangle>]| soups.concat();
    let tetrahedron: Vec<Triangle> = {
        let [a, b, c, d] = [[0.0; 3], [6.0, 0.0, 0.0], [0.0, 6.0, 0.0], [0.0, 0.0, 6.0]];
        vec![[a, c, b], [a, b, d], [b, c, d], [a, d, c]]
    };
    let block = cuboid([-4.0, -3.0, 0.0], [4.0, 3.0, 9.0]);
    let flat_twice =
        of(&[sheet([0.0, 0.0], [6.0, 6.0], 1.0), inside_out(sheet([0.0, 0.0], [6.0, 6.0], 1.0))]);
    for (name, soup) in [
        ("nothing", vec![]),
        ("one triangle", vec![[[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]]]),
        ("a triangle without area", vec![[[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [2.0, 0.0, 0.0]]]),
        ("a triangle without size", vec![[[1.0, 1.0, 1.0]; 3]]),
        ("no number", vec![[[0.0, f64::NAN, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]]]),
        ("beyond all numbers", vec![[[0.0, 1e38, 0.0], [1e38, 0.0, 0.0], [-1e38, 0.0, 1e38]]]),
        ("an open block", block[2..].to_vec()),
        ("a block inside out", inside_out(block.clone())),
        ("a block twice", of(&[block.clone(), block.clone()])),
        ("a block in a block", of(&[block.clone(), scaled(block.clone(), 0.5)])),
        ("a cavity", of(&[block.clone(), inside_out(moved(cube(), [0.0, 0.0, 4.0]))])),
        ("blocks at one corner", of(&[block.clone(), moved(block.clone(), [8.0, 6.0, 9.0])])),
        ("blocks at one edge", of(&[block.clone(), moved(block.clone(), [8.0, 6.0, 0.0])])),
        ("tetrahedra back to back", of(&[tetrahedron.clone(), inside_out(tetrahedron.clone())])),
        ("eleven leaves at one edge", fan(11)),
        ("two sheets in one place", flat_twice),
        ("a thin plate", cuboid([0.0; 3], [20.0, 20.0, 1e-4])),
        ("a hair", cuboid([0.0; 3], [1e-3, 1e-3, 30.0])),
        ("needles", needles(1e-3)),
        ("needles thinner than numbers", needles(1e-9)),
        ("a band with one side", band(40, 1.0)),
        ("a band with three half turns", band(60, 3.0)),
        (
            "a blunt and an acute fan",
            vec![
                [[0.0, 0.0, 0.0], [10.0, 0.0, 0.0], [5.0, 1e-3, 0.0]],
                [[10.0, 0.0, 0.0], [0.0, 0.0, 0.0], [5.0, -1e-3, 1.0]],
            ],
        ),
        ("far from the origin", moved(block.clone(), [1e6, -1e6, 1e6])),
        ("far too small", scaled(block.clone(), 1e-9)),
        ("smaller than numbers", scaled(block.clone(), 1e-40)),
        ("far too large", scaled(block.clone(), 1e9)),
        ("a flat figure", cuboid([0.0; 3], [20.0, 10.0, 0.0])),
    ] {
        println!("{name}");
        answered(name, &soup, 4.0);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 16, failure_persistence: None, ..ProptestConfig::default() })]

    /// Corners on a coarse grid, so that edges and faces coincide, cross and fold on each other.
    #[test]
    fn soups_on_a_grid_get_an_answer(
        corners in proptest::collection::vec([[0..4_i8, 0..4_i8, 0..4_i8], [0..4_i8, 0..4_i8, 0..4_i8], [0..4_i8, 0..4_i8, 0..4_i8]], 1..30),
        size in proptest::sample::select(vec![1e-3, 3.0, 1e4]),
    ) {
        let soup: Vec<Triangle> = corners.iter().map(|t| t.map(|p| p.map(|x| f64::from(x) * size))).collect();
        answered("a soup on a grid", &soup, 8.0);
    }

    /// A net that no file is read to: any faces over any finite corners.
    #[test]
    fn any_net_has_finite_curvature(
        corners in proptest::collection::vec([-3.0..3.0_f32, -3.0..3.0_f32, -3.0..3.0_f32], 3..12),
        faces in proptest::collection::vec([0..1000_u32, 0..1000_u32, 0..1000_u32], 0..40),
        radius in proptest::sample::select(vec![0.0, 1e-6, 0.1, 2.0, 1e3, f64::MAX]),
    ) {
        let count = corners.len() as u32;
        let positions = corners.into_iter().map(Point3::from).collect();
        let shape = Shape::new(positions, faces.into_iter().map(|f| f.map(|v| v % count)).collect());
        let watch = Watch::quiet();
        curved("any net", &shape, Millimetres(radius), &watch);
        let defects = angle_defects(&shape, &watch).expect("nobody cancels");
        prop_assert!(defects.iter().all(|d| d.is_finite()));
    }
}

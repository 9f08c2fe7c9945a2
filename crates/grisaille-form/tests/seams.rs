//! Lines where pieces are pushed into each other without being joined.

use grisaille_base::{Millimetres, Watch};
use grisaille_bodies::{Triangle, cuboid, icosphere, moved, scaled, stl};
use grisaille_form::{Line, LineSettings, Shape, curvature, recesses, seams};
use grisaille_mesh::{ReadSettings, read};
use grisaille_sight::{Occluders, SurfaceSettings, TreeSight, surface};
use std::f64::consts::PI;
use std::sync::Arc;

/// The seams of a soup for a brush of 0.5 mm, and its recesses in one net.
fn of(soup: &[Triangle], watch: &Watch) -> Option<[Vec<Line>; 2]> {
    let quiet = Watch::quiet();
    let (mesh, _) = read(&stl(soup), &ReadSettings::default(), &quiet).expect("a body reads");
    let sight = TreeSight::new(Arc::new(Occluders::of(&mesh)), &quiet);
    let settings = SurfaceSettings { spacing: Millimetres(0.3), ..SurfaceSettings::for_mesh(&mesh) };
    let (surface, _) = surface(&mesh, &settings, &sight, &quiet).expect("nobody cancels");
    let shape = Shape::of(&surface);
    let settings = LineSettings::for_brush(Millimetres(0.5));
    let curved = curvature(&shape, settings.radius(), &quiet).expect("nobody cancels");
    let seams = seams(&surface, &shape, &curved, &settings, watch).ok()?;
    Some([seams, recesses(&shape, &curved, &settings, &quiet).expect("nobody cancels")])
}

fn ball(radius: f64, at: [f64; 3]) -> Vec<Triangle> {
    moved(scaled(icosphere(5), radius), at)
}

#[test]
fn two_balls_meet_in_a_circle() {
    // Radius 5, centres 6 apart: a circle of radius 4, over which the surface turns by 2 · asin(3/5).
    let soup = [ball(5.0, [0.0; 3]), ball(5.0, [0.0, 0.0, 6.0])].concat();
    let [found, recesses] = of(&soup, &Watch::quiet()).expect("nobody cancels");
    assert!(recesses.is_empty(), "each ball alone has no line");
    assert_eq!(found.len(), 1);
    let line = &found[0];
    assert!(line.closed);
    assert!((line.length / (8.0 * PI) - 1.0).abs() < 0.01, "{}", line.length);
    assert!((line.turn - 2.0 * 0.6_f64.asin().to_degrees()).abs() < 1.0, "{}", line.turn);
    for p in &line.points {
        let off = (p.x.hypot(p.y) - 4.0).abs().max((p.z - 3.0).abs());
        assert!(off < 0.03, "{p:?}");
    }
    // One side lies on either ball.
    let beside = |k: usize| line.beside.iter().map(move |b| b[k]);
    assert!(beside(0).zip(beside(1)).all(|(a, b)| a != b));
}

#[test]
fn a_post_in_a_block_has_a_line_round_its_foot_alone() {
    // The post reaches 1 mm into the block: what is inside has no line, nor has its top.
    let soup =
        [cuboid([-5.0, -5.0, -4.0], [5.0, 5.0, 0.0]), cuboid([-1.5, -1.5, -1.0], [1.5, 1.5, 6.0])].concat();
    let [found, _] = of(&soup, &Watch::quiet()).expect("nobody cancels");
    let length: f64 = found.iter().map(|l| l.length).sum();
    assert!((length - 12.0).abs() < 0.5, "{length}");
    for line in &found {
        assert!((line.turn - 90.0).abs() < 10.0, "{}", line.turn);
        for p in &line.points {
            assert!(p.z.abs() < 1e-4 && (p.x.abs().max(p.y.abs()) - 1.5).abs() < 1e-4, "{p:?}");
        }
    }
    // A second block laid over half of it hides that half.
    let over = cuboid([-3.0, 0.0, -1.0], [3.0, 3.0, 2.0]);
    let [found, _] = of(&[soup, over].concat(), &Watch::quiet()).expect("nobody cancels");
    let on_foot = |p: &&nalgebra::Point3<f32>| p.z.abs() < 1e-4 && p.x.abs() < 1.6 && p.y.abs() < 1.6;
    assert!(found.iter().flat_map(|l| &l.points).filter(on_foot).all(|p| p.y < 0.3));
    assert!(found.iter().flat_map(|l| &l.points).filter(on_foot).count() > 10);
}

#[test]
fn what_touches_or_is_one_piece_or_lies_apart_has_no_seam() {
    let block = cuboid([-3.0, -3.0, -2.0], [3.0, 3.0, 0.0]);
    for soup in [
        block.clone(),
        [block.clone(), ball(1.0, [0.0, 0.0, 5.0])].concat(),
        // Flush on each other, and the same block twice.
        [block.clone(), cuboid([-1.0, -1.0, 0.0], [1.0, 1.0, 2.0])].concat(),
        [block.clone(), block.clone()].concat(),
    ] {
        let [found, _] = of(&soup, &Watch::quiet()).expect("nobody cancels");
        assert!(found.is_empty(), "{found:?}");
    }
}

#[test]
fn the_same_seams_with_one_thread_and_three_and_none_when_cancelled() {
    let soup = [ball(3.0, [0.0; 3]), ball(3.0, [2.0, 0.5, 3.0]), ball(2.0, [-2.0, 1.0, 2.0])].concat();
    let [one, three] = [1, 3].map(|t| of(&soup, &Watch::with_threads(t).expect("threads")));
    assert!(one.as_ref().is_some_and(|[seams, _]| seams.len() >= 3));
    assert_eq!(one, three);
    for asks in [0, 1, 10, 100] {
        assert!(of(&soup, &Watch::quiet().stopping_after(asks)).is_none(), "{asks}");
    }
}

//! The sweeping engine gives the answers of the exact test, bit for bit.

use grisaille_base::{Millimetres, Stop, Watch};
use grisaille_bodies::{Triangle, cuboid, icosphere, moved, scaled, sheet, stl, turned};
use grisaille_mesh::{ReadSettings, read};
use grisaille_sight::{
    Bits, BruteForce, FaceMask, Occluders, Sight, Source, Surface, SurfaceSettings, SweepSight, TreeSight,
    Width, surface,
};
use nalgebra::{Point3, Unit, Vector3};
use proptest::prelude::*;
use std::sync::Arc;

struct Scene {
    occluders: Arc<Occluders>,
    surface: Surface,
    sweep: SweepSight,
    tree: TreeSight,
}

fn scene(soup: &[Triangle], refine: bool) -> Scene {
    let watch = Watch::quiet();
    let (mesh, _) = read(&stl(soup), &ReadSettings::default(), &watch).expect("a sound model");
    let occluders = Arc::new(Occluders::of(&mesh));
    let tree = TreeSight::new(Arc::clone(&occluders), &watch);
    let settings = SurfaceSettings { refine, ..SurfaceSettings::for_mesh(&mesh) };
    let (surface, _) = surface(&mesh, &settings, &tree, &watch).expect("nobody cancels");
    let sweep = SweepSight::new(Arc::clone(&occluders), &watch);
    Scene { occluders, surface, sweep, tree }
}

/// The bits of an engine as a list, so that a difference can be read.
fn seen(sight: &dyn Sight, scene: &Scene, source: Source, mask: &FaceMask) -> Vec<usize> {
    let samples = &scene.surface.samples;
    let mut bits = Bits::new(samples.len());
    sight.visible(samples, source, mask, &mut bits, &Watch::quiet()).expect("nobody cancels");
    (0..samples.len()).filter(|i| bits.get(*i)).collect()
}

fn same(scene: &Scene, source: Source, mask: &FaceMask) {
    let exact = seen(&BruteForce(&scene.occluders), scene, source, mask);
    assert_eq!(seen(&scene.sweep, scene, source, mask), exact, "the sweep, {source:?}");
    assert_eq!(seen(&scene.tree, scene, source, mask), exact, "the tree, {source:?}");
}

/// A figure's troubles in small: pieces that overlap, a thin sheet open on
/// both sides, a wall, a large plate of two triangles below.
fn clutter(scale: f64, degrees: f64) -> Vec<Triangle> {
    let mut soup = scaled(icosphere(3), 3.0);
    soup.extend(moved(scaled(icosphere(2), 1.5), [2.5, 0.5, 1.0]));
    soup.extend(moved(turned(sheet([-2.0, -2.0], [2.0, 2.0], 0.0), [0.3, 1.0, 0.2], 40.0), [0.0, -1.0, 4.5]));
    soup.extend(cuboid([-6.0, -6.0, -4.0], [6.0, 6.0, -3.5]));
    soup.extend(cuboid([4.0, -5.0, -4.0], [4.4, 5.0, 3.0]));
    scaled(turned(soup, [1.0, 2.0, 0.5], degrees), scale)
}

fn unit(v: [f64; 3]) -> Unit<Vector3<f64>> {
    Unit::new_normalize(Vector3::from(v))
}

#[test]
fn along_the_axes_where_faces_stand_edge_on() {
    let scene = scene(&clutter(1.0, 0.0), true);
    for axis in 0..3 {
        for sign in [-1.0, 1.0] {
            let mut l = [0.0; 3];
            l[axis] = sign;
            same(&scene, Source::Direction(unit(l)), &FaceMask::All);
        }
    }
}

#[test]
fn faces_that_let_light_through() {
    let scene = scene(&clutter(1.0, 0.0), false);
    let mut open = Bits::new(scene.occluders.len());
    for f in (0..open.len()).step_by(3) {
        open.set(f, true);
    }
    let mask = FaceMask::Except(open);
    same(&scene, Source::Direction(unit([0.2, -0.4, 1.0])), &mask);
    same(&scene, Source::point(Point3::new(1.0, -5.0, 6.0)), &mask);
}

/// A light on a corner, on an edge, in a face's plane, in the middle of a
/// solid, and far away.
#[test]
fn lights_in_awkward_places() {
    let scene = scene(&clutter(1.0, 0.0), false);
    for at in [
        [6.0, 6.0, -3.5],
        [4.4, 0.0, 3.0],
        [0.0, 0.0, -3.5],
        [0.0, 0.0, 0.0],
        [5.0, -5.5, -3.5],
        [1e4, -2e4, 3e4],
    ] {
        for clear in [0.0, 2.0, 7.0] {
            let centre: Point3<f64> = at.into();
            // The light in the ball's middle, and on its far side.
            for at in [centre, centre + Vector3::new(0.6, 0.0, -0.8) * clear] {
                same(&scene, Source::Point { at, centre, clear }, &FaceMask::All);
            }
        }
    }
}

/// So many samples that the view falls into many tiles, and patches reach over
/// their borders; too many for brute force, so the tree answers for it.
#[test]
fn many_tiles_give_what_the_tree_gives() {
    let watch = Watch::quiet();
    let (mesh, _) = read(&stl(&clutter(1.0, 25.0)), &ReadSettings::default(), &watch).expect("a sound model");
    let occluders = Arc::new(Occluders::of(&mesh));
    let tree = TreeSight::new(Arc::clone(&occluders), &watch);
    let settings = SurfaceSettings { spacing: Millimetres(0.1), ..SurfaceSettings::for_mesh(&mesh) };
    let (surface, _) = surface(&mesh, &settings, &tree, &watch).expect("nobody cancels");
    assert!(surface.samples.len() > 40_000, "{}", surface.samples.len());
    let sweep = SweepSight::new(Arc::clone(&occluders), &watch);
    let scene = Scene { occluders, surface, sweep, tree };
    for source in [
        Source::Direction(unit([0.3, -0.5, 0.9])),
        Source::Direction(unit([0.0, 0.0, 1.0])),
        Source::Direction(unit([-1.0, 0.02, 0.05])),
        Source::point(Point3::new(3.0, -4.0, 3.0)),
        Source::Point { at: Point3::new(3.9, 1.0, 2.0), centre: Point3::new(3.9, 1.0, 2.0), clear: 1.0 },
    ] {
        let swept = seen(&scene.sweep, &scene, source, &FaceMask::All);
        assert!(swept.len() > 5_000, "{source:?}");
        assert!(swept == seen(&scene.tree, &scene, source, &FaceMask::All), "{source:?}");
    }
}

/// Sources that cast long shadows, for the tests of what must not change a bit.
fn slanted() -> [Source; 3] {
    [
        Source::Direction(unit([0.3, 0.2, 0.9])),
        Source::Direction(unit([-1.0, 0.02, 0.05])),
        Source::point(Point3::new(0.0, -6.0, 5.0)),
    ]
}

/// One thread, two and five, and one run after another.
#[test]
fn the_same_bits_with_any_number_of_threads() {
    let scene = scene(&clutter(1.0, 70.0), true);
    let samples = &scene.surface.samples;
    for source in slanted() {
        let bits = [1, 2, 2, 5].map(|threads| {
            let watch = Watch::with_threads(threads).expect("threads");
            let mut bits = Bits::new(samples.len());
            scene.sweep.visible(samples, source, &FaceMask::All, &mut bits, &watch).expect("nobody cancels");
            bits
        });
        assert!(bits.iter().all(|b| *b == bits[0]), "{source:?}");
    }
}

/// Every width that this machine has, against the tree, which asks ray by ray.
#[test]
fn the_same_bits_with_any_width_of_vectors() {
    let mut scene = scene(&clutter(1.0, 25.0), true);
    let exact = slanted().map(|source| seen(&scene.tree, &scene, source, &FaceMask::All));
    let mut tried = Vec::new();
    for width in Width::ALL {
        let Some(sweep) = SweepSight::new(Arc::clone(&scene.occluders), &Watch::quiet()).with_width(width)
        else {
            continue;
        };
        scene.sweep = sweep;
        tried.push(width);
        for (source, exact) in slanted().into_iter().zip(&exact) {
            assert!(seen(&scene.sweep, &scene, source, &FaceMask::All) == *exact, "{width:?}, {source:?}");
        }
    }
    println!("{} samples, {tried:?}", scene.surface.samples.len());
    assert!(tried.contains(&Width::Plain));
}

#[test]
fn a_cancel_ends_the_sweep() {
    let scene = scene(&clutter(1.0, 0.0), false);
    let watch = Watch::quiet();
    watch.cancel_handle().store(true, std::sync::atomic::Ordering::Relaxed);
    let mut bits = Bits::new(scene.surface.samples.len());
    let source = Source::Direction(unit([0.0, 0.0, 1.0]));
    let ended = scene.sweep.visible(&scene.surface.samples, source, &FaceMask::All, &mut bits, &watch);
    assert_eq!(ended, Err(Stop));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn directions(l in prop::array::uniform3(-1.0..1.0_f64), turn in 0.0..360.0_f64, exponent in -3..=3_i32) {
        prop_assume!(l.iter().any(|x| x.abs() > 0.1));
        same(&scene(&clutter(10.0_f64.powi(exponent), turn), false), Source::Direction(unit(l)), &FaceMask::All);
    }

    #[test]
    fn points(
        at in prop::array::uniform3(-8.0..8.0_f64),
        clear in prop::sample::select(vec![0.0, 0.5, 3.0]),
        // Within the ball, its surface included.
        aside in prop::sample::select(vec![[0.0; 3], [0.6, 0.0, 0.8], [0.0, -0.8, 0.6], [0.3, 0.4, -0.2]]),
        turn in 0.0..360.0_f64,
        exponent in -3..=3_i32,
    ) {
        let scale = 10.0_f64.powi(exponent);
        let centre = Point3::from(at) * scale;
        let at = centre + Vector3::from(aside) * clear * scale;
        let source = Source::Point { at, centre, clear: clear * scale };
        same(&scene(&clutter(scale, turn), false), source, &FaceMask::All);
    }
}

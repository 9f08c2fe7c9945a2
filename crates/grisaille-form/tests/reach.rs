//! Where a brush reaches, against bodies where it can be worked out by hand.

use grisaille_base::{Millimetres, RegionId, Stop, Watch};
use grisaille_bodies::{Triangle, cuboid, cup, icosphere, scaled, stl};
use grisaille_form::{BrushShape, Reach, before_gluing, reach, reach_by_region};
use grisaille_mesh::{Mesh, ReadSettings, model_of_face, read};
use grisaille_sight::{Occluders, Surface, SurfaceSettings, TreeSight, surface};
use std::sync::Arc;

fn divided(soup: &[Triangle], spacing: f64) -> (Mesh, Surface) {
    let watch = Watch::quiet();
    let (mesh, _) = read(&stl(soup), &ReadSettings::default(), &watch).expect("a body reads");
    let sight = TreeSight::new(Arc::new(Occluders::of(&mesh)), &watch);
    let how = SurfaceSettings { spacing: Millimetres(spacing), ..SurfaceSettings::for_mesh(&mesh) };
    let (surface, _) = surface(&mesh, &how, &sight, &watch).expect("nobody cancels");
    (mesh, surface)
}

fn reached(soup: &[Triangle], brush: &BrushShape) -> (Surface, Reach) {
    let (mesh, surface) = divided(soup, 0.4);
    let reach = reach(&mesh, &surface, brush, 0.0, &Watch::quiet()).expect("nobody cancels");
    (surface, reach)
}

/// A needle of 0.05 mm that widens by 1 mm of radius for each `slope` mm.
fn cone(slope: f64) -> BrushShape {
    BrushShape::new(&[[0.0, 0.05], [slope * 4.0, 4.05]]).expect("a brush")
}

#[test]
fn a_brush_is_as_wide_as_it_is_drawn() {
    let brush = BrushShape::new(&[[0.0, 0.1], [6.0, 1.0], [11.0, 0.8], [12.0, 1.5]]).expect("a brush");
    for (radius, height) in [(0.0, 0.0), (0.1, 0.0), (0.55, 3.0), (1.0, 6.0), (1.25, 11.5), (1.5, 12.0)] {
        assert!((brush.height_at(radius) - height).abs() < 1e-12, "{radius}: {}", brush.height_at(radius));
    }
    assert_eq!((brush.height_at(1.51), brush.widest()), (f64::INFINITY, 1.5));
    for wrong in [&[][..], &[[0.0, -1.0]], &[[0.0, f64::NAN]], &[[1.0, 0.1], [0.0, 0.2]]] {
        assert_eq!(BrushShape::new(wrong), None);
    }
}

#[test]
fn a_ball_is_reached_all_round_but_where_the_hand_holds_it() {
    let (surface, reach) = reached(&scaled(icosphere(4), 8.0), &BrushShape::detail());
    for s in 0..surface.samples.len() {
        let up = surface.samples.normal[s].z;
        // A side within 20° of the normal is there down to the lowest sides, 30° below the horizon.
        if up > -0.5 {
            assert!(reach.reaches(s), "{:?}", surface.samples.position[s]);
            let side = reach.from(s).expect("a side");
            assert!(surface.samples.normal[s].cast::<f64>().dot(&side) > 0.94);
        }
    }
}

/// A block with a trench along y, `w` wide and `d` deep, its floor at z = 0,
/// that runs out at both ends 20 mm from the middle.
fn trench(w: f64, d: f64) -> Vec<Triangle> {
    let wall = |from: f64, to: f64| cuboid([from, -20.0, -2.0], [to, 20.0, d]);
    let mut soup = cuboid([-0.5 * w - 1.0, -20.0, -3.0], [0.5 * w + 1.0, 20.0, 0.0]);
    soup.extend(wall(-0.5 * w - 2.0, -0.5 * w));
    soup.extend(wall(0.5 * w, 0.5 * w + 2.0));
    soup
}

#[test]
fn the_floor_of_a_trench_is_reached_if_the_brush_fits_between_its_walls() {
    // A cone that is as wide as the trench at the height h stands upright on
    // its floor down to the depth h: tilted along the trench its hair is longer
    // below the rim, tilted across it it is wider.
    for (width, depth) in [(2.0, 4.0), (3.0, 6.0)] {
        for (share, fits) in [(1.35, true), (0.75, false)] {
            let slope = share * depth / (0.5 * width - 0.05);
            let (surface, reach) = reached(&trench(width, depth), &cone(slope));
            let middle: Vec<usize> = (0..surface.samples.len())
                .filter(|&s| {
                    let p = surface.samples.position[s];
                    let floor = surface.samples.normal[s].z > 0.99 && p.z.abs() < 1e-3;
                    floor && f64::from(p.x).abs() < 0.1 * width && p.y.abs() < 4.0
                })
                .collect();
            assert!(middle.len() > 3, "{}", middle.len());
            let share = middle.iter().filter(|s| reach.reaches(**s)).count() as f64 / middle.len() as f64;
            assert_eq!(share, f64::from(u8::from(fits)), "width {width}, depth {depth}, fits {fits}");
        }
    }
}

#[test]
fn between_two_plates_only_the_rim_is_reached() {
    // Two square plates of 20 mm, 1 mm apart: the brush comes from the side
    // and is 1 mm thick where its radius is 0.5, at 0.45 · slope above the tip.
    let mut soup = cuboid([-10.0, -10.0, 0.0], [10.0, 10.0, 2.0]);
    soup.extend(cuboid([-10.0, -10.0, 3.0], [10.0, 10.0, 5.0]));
    let (surface, reach) = reached(&soup, &BrushShape::detail());
    let (mut inner, mut all) = (0, 0);
    for s in 0..surface.samples.len() {
        let p = surface.samples.position[s];
        let gap = (p.z - 2.0).abs() < 1e-3 && surface.samples.normal[s].z > 0.99;
        if gap && p.x.abs().max(p.y.abs()) < 5.0 {
            all += 1;
            inner += u32::from(reach.reaches(s));
        }
        // The top of the upper plate lies open.
        assert!((p.z - 5.0).abs() > 1e-3 || surface.samples.normal[s].z < 0.99 || reach.reaches(s));
    }
    assert!(all > 100 && inner == 0, "{inner} of {all}");
}

#[test]
fn the_same_bits_whatever_the_threads_and_a_stop_is_heeded() {
    let (mesh, surface) = divided(&trench(2.0, 4.0), 0.8);
    let on = |threads| {
        let watch = Watch::with_threads(threads).expect("threads");
        reach(&mesh, &surface, &BrushShape::detail(), 0.5, &watch).expect("nobody cancels")
    };
    assert!(on(1) == on(3));
    let watch = Watch::quiet();
    watch.cancel_handle().store(true, std::sync::atomic::Ordering::Relaxed);
    assert_eq!(reach(&mesh, &surface, &BrushShape::detail(), 0.5, &watch), Err(Stop));
}

#[test]
fn the_inside_of_a_box_closes_up_under_its_lid_and_where_they_touch_is_a_joint() {
    let cup = cup();
    // A twentieth of a mm apart, as two prints lie on each other.
    let lid = cuboid([-6.0, -6.0, 8.05], [6.0, 6.0, 10.0]);
    let watch = Watch::quiet();
    let models = [&cup, &lid].map(|soup| divided(soup, 0.4).0);
    let (scene, surface) = divided(&[cup.clone(), lid.clone()].concat(), 0.4);
    let of = model_of_face(&scene, &models);
    let tree = TreeSight::new(Arc::new(Occluders::of(&scene)), &watch);
    let brush = BrushShape::detail();
    let together = reach(&scene, &surface, &brush, 0.5, &watch).expect("nobody cancels");
    let found =
        before_gluing((&surface, &tree), &together, (&models, &of), &brush, &watch).expect("nobody cancels");
    let rows = &found.models;
    // What closes up is the inside of the cup and the lid over it, none of it outside.
    let inside = |s: usize| {
        let p = surface.samples.position[s];
        p.x.abs() < 4.01 && p.y.abs() < 4.01 && p.z > 1.9 && p.z < 8.1
    };
    let closing: Vec<usize> = (0..surface.samples.len()).filter(|s| found.closes.get(*s)).collect();
    assert!(closing.len() > 1000 && closing.iter().all(|s| inside(*s)));
    let about = |is: f64, wanted: f64| assert!((is - wanted).abs() < 0.08 * wanted, "{is} of {wanted} mm²");
    // Of the cup four walls of 8 × 6 and a floor of 8 × 8, less a little in its
    // corners, where no tip comes; of the lid what lies over the opening.
    about(rows[0].closes_mm2 + rows[0].never_mm2, 4.0 * 48.0 + 64.0);
    assert!(rows[0].never_mm2 < 0.1 * rows[0].closes_mm2, "{:?}", rows[0]);
    about(rows[1].closes_mm2, 64.0);
    about(rows[0].joint_mm2, 144.0 - 64.0);
    about(rows[1].joint_mm2, 144.0 - 64.0);
    let [x, y, z] = rows[1].place.expect("a place");
    assert!(x.hypot(y) < 1.0 && (z - 8.05).abs() < 1e-3);
}

#[test]
fn each_region_is_told_what_of_it_is_reached_and_from_where() {
    // A trench so narrow that the brush stays out: its floor is a region, so are the tops of the walls,
    // and all else.
    let (surface, reach) = reached(&trench(1.0, 8.0), &cone(2.0));
    let region = |f: &[u32; 3]| {
        let at = |k: usize| f.iter().map(|s| surface.samples.position[*s as usize][k]).sum::<f32>() / 3.0;
        let inner = at(0).abs() < 0.5 && at(1).abs() < 12.0;
        RegionId(match at(2) {
            z if inner && z.abs() < 1e-4 => 0,
            z if z > 7.999 => 1,
            _ => 2,
        })
    };
    let of_face: Vec<RegionId> = surface.faces.iter().map(region).collect();
    let found = reach_by_region(&surface, &of_face, &reach);
    assert_eq!(found.iter().map(|r| r.region.0).collect::<Vec<u16>>(), [0, 1, 2]);
    let [floor, tops, _] = &found[..] else { panic!("three regions") };
    // 24 mm², less the corners that lie in the walls.
    assert!(floor.area_mm2 > 20.0 && floor.area_mm2 < 24.5, "{floor:?}");
    assert!(floor.out_of_reach_mm2 > 0.95 * floor.area_mm2, "{floor:?}");
    let place = floor.place.expect("a place");
    assert!(place.z.abs() < 1e-4 && place.y.abs() < 2.0, "{place:?}");
    assert!((tops.area_mm2 / 160.0 - 1.0).abs() < 0.01 && tops.out_of_reach_mm2 == 0.0, "{tops:?}");
    assert!(tops.place.is_none() && tops.best_side.is_some_and(|s| s.z > 0.94), "{tops:?}");
    // Samples without a face's region count nowhere.
    assert!(reach_by_region(&surface, &[], &reach).is_empty());
}

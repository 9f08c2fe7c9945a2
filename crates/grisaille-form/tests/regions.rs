//! Regions against bodies whose parts are known, and against what cannot be.

mod fused;
mod parts;

use fused::{Part, border, fused, matched, of_soup, overlap, region, seeds};
use grisaille_base::{Millimetres, Stop, Watch};
use grisaille_bodies::{Triangle, cuboid, sheet};
use grisaille_form::{Anchor, Division, Edit, Ground, GroundSettings, Region, Regions, Source};
use grisaille_mesh::{ReadSettings, read};
use grisaille_sight::{Occluders, SurfaceSettings, TreeSight, surface};
use nalgebra::{Point3, Vector3};
use parts::{ROOM, ball, beast, figure, vase};
use std::fmt::Write as _;
use std::sync::Arc;

#[test]
fn the_level_of_the_true_count_recovers_fused_parts() {
    let watch = Watch::quiet();
    type Body = fn() -> Vec<Part>;
    let bodies: [(&str, Body); 3] = [("figure", figure), ("beast", beast), ("vase", vase)];
    for (name, parts) in bodies {
        for (cell, noise) in [(0.3, 0.0), (0.22, 0.0), (0.3, 0.02)] {
            let body = fused(&parts(), ROOM, (cell, noise), &watch);
            let regions = body.ground.level(parts().len(), &watch).expect("nobody cancels");
            let found = overlap(&body, &regions);
            let shape = body.ground.shape();
            let longer = border(shape, region(&regions)) / border(shape, |f| body.truth[f]);
            println!("{name} {cell} {noise}: {found:.3}, border {longer:.3}");
            assert!(found >= 0.7, "{name} {cell} {noise}: {found}");
            assert!(longer <= 1.2, "{name} {cell} {noise}: border {longer} times the true one");
        }
    }
}

#[test]
fn one_seed_in_each_part_recovers_the_parts_wherever_it_is() {
    let watch = Watch::quiet();
    type Body = fn() -> Vec<Part>;
    let bodies: [(&str, Body); 3] = [("figure", figure), ("beast", beast), ("vase", vase)];
    for (name, parts) in bodies {
        for (cell, noise) in [(0.3, 0.0), (0.3, 0.02)] {
            let body = fused(&parts(), ROOM, (cell, noise), &watch);
            for random in [None, Some(0), Some(1), Some(2)] {
                let seeds = seeds(&body, &parts(), random);
                let regions = body.ground.grow(&seeds, &[], None, &watch).expect("nobody cancels");
                let found = overlap(&body, &regions);
                let shape = body.ground.shape();
                let longer = border(shape, region(&regions)) / border(shape, |f| body.truth[f]);
                println!("{name} {cell} {noise} {random:?}: {found:.3}, border {longer:.3}");
                assert!(found >= 0.9, "{name} {cell} {noise} {random:?}: {found}");
                assert!(
                    longer <= 1.2,
                    "{name} {cell} {noise} {random:?}: border {longer} times the true one"
                );
            }
        }
    }
}

#[test]
fn the_best_matching_is_that_of_all_that_are_tried() {
    let mut state = 3_u32;
    for columns in [4_usize, 5, 6] {
        let mut next = || {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            f64::from(state >> 8) / f64::from(1_u32 << 24)
        };
        let gain: Vec<Vec<f64>> = (0..4).map(|_| (0..columns).map(|_| next().max(0.3)).collect()).collect();
        let mut best = 0.0_f64;
        for all in 0..columns.pow(4) {
            let of = [
                all % columns,
                all / columns % columns,
                all / columns.pow(2) % columns,
                all / columns.pow(3),
            ];
            if (0..4).all(|a| (0..a).all(|b| of[a] != of[b])) {
                best = best.max((0..4).map(|row| gain[row][of[row]]).sum());
            }
        }
        assert!((matched(&gain) - best).abs() < 1e-12, "{columns}: {} {best}", matched(&gain));
    }
}

/// The circle in which two balls meet is known: radius 4 for balls of radius 5
/// whose middles lie 6 mm apart (Pythagoras).
#[test]
fn a_border_is_hardly_longer_than_the_circle_in_which_two_balls_meet() {
    let watch = Watch::quiet();
    let parts = vec![ball([-3.0, 0.0, 8.0], 5.0, 1.0), ball([3.0, 0.0, 8.0], 5.0, 1.0)];
    for cell in [0.5, 0.3, 0.2] {
        let body = fused(&parts, ROOM, (cell, 0.0), &watch);
        let regions = body.ground.level(2, &watch).expect("nobody cancels");
        let longer = border(body.ground.shape(), region(&regions)) / (std::f64::consts::TAU * 4.0);
        println!("two balls {cell}: {longer:.3}");
        assert!((0.9..=1.2).contains(&longer), "{cell}: {longer}");
    }
}

#[test]
fn regions_are_numbered_by_size_whole_and_the_same_on_any_number_of_threads() {
    let one = Watch::with_threads(1).expect("one thread");
    let body = fused(&figure(), ROOM, (0.4, 0.0), &one);
    let many = Watch::with_threads(5).expect("five threads");
    let again = fused(&figure(), ROOM, (0.4, 0.0), &many);
    for count in [1, 2, 9, 40] {
        let regions = body.ground.level(count, &one).expect("nobody cancels");
        assert_eq!(regions, again.ground.level(count, &many).expect("nobody cancels"));
        assert_eq!(regions.of_face.len(), body.surface.faces.len());
        assert!(regions.regions.len() <= count && regions.regions.len() + 3 > count, "{count}");
        assert!(regions.regions.windows(2).all(|w| w[0].area_mm2 >= w[1].area_mm2 - 0.01));
        // What two regions say of their border is one thing.
        for (i, r) in regions.regions.iter().enumerate() {
            for n in &r.neighbours {
                let back = &regions.regions[n.region.index()].neighbours;
                assert!(back.iter().any(|b| b.region.index() == i && b.border_mm == n.border_mm));
            }
        }
        let named: std::collections::BTreeSet<&str> =
            regions.regions.iter().map(|r| r.name.as_str()).collect();
        assert_eq!(named.len(), regions.regions.len());
    }
    let whole = body.ground.level(1, &one).expect("nobody cancels");
    let parts = grisaille_mesh::parts(&body.mesh, None);
    let under: f64 = (0..body.surface.faces.len())
        .filter(|f| parts.of_face[body.surface.source_face[*f].index()] == grisaille_mesh::Part::Underside)
        .map(|f| body.surface.face_area(f))
        .sum();
    assert!((whole.regions[0].area_mm2 + under - body.mesh.area_mm2()).abs() < 0.01);
}

#[test]
fn unsound_surfaces_get_a_best_answer() {
    // A heap of loose triangles, an open sheet, three sheets at one edge, a
    // needle without area, and a single triangle.
    let loose: Vec<Triangle> = (0..700)
        .map(|i| {
            let at = |k: i32| f64::from(i * 37 % (101 + k)) * 0.3;
            [[at(0), at(1), at(2)], [at(0) + 1.0, at(1), at(2)], [at(0), at(1) + 1.0, at(2) + 0.5]]
        })
        .collect();
    let mut three = sheet([0.0, 0.0], [5.0, 5.0], 0.0);
    three.extend(sheet([-5.0, 0.0], [0.0, 5.0], 0.0));
    three.push([[0.0, 0.0, 0.0], [0.0, 5.0, 0.0], [0.0, 2.5, 4.0]]);
    let mut needle = sheet([0.0, 0.0], [5.0, 5.0], 0.0);
    needle.push([[0.0, 0.0, 0.0], [2.5, 0.0, 0.0], [5.0, 0.0, 0.0]]);
    let single = vec![[[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]]];
    let watch = Watch::quiet();
    for (i, soup) in [loose, sheet([0.0, 0.0], [9.0, 9.0], 1.0), three, needle, single].iter().enumerate() {
        let body = of_soup(soup, &[], &watch);
        for count in [1, 3, 100_000] {
            let regions = body.ground.level(count, &watch).expect("nobody cancels");
            assert!((1..=count).contains(&regions.regions.len()), "{i} {count}");
            assert!(regions.of_face.iter().all(|r| r.index() < regions.regions.len()));
            assert!(regions.regions.iter().all(|r| r.area_mm2.is_finite()));
        }
        assert_eq!(body.ground.by_piece().regions.len(), body.mesh.pieces().len(), "{i}");
    }
}

#[test]
fn the_work_stops_wherever_it_is_asked_to() {
    let quiet = Watch::quiet();
    let body = fused(&figure(), ROOM, (0.6, 0.0), &quiet);
    let make = |watch: &Watch| {
        let settings = GroundSettings::for_mesh(&body.mesh);
        Ground::of(&body.surface, &body.mesh, &settings, watch)?.level(9, watch)
    };
    let counted = Watch::with_threads(1).expect("a thread").stopping_after(u64::MAX);
    let whole = make(&counted).expect("nobody cancels");
    let asks = u64::MAX - counted.asks_left().expect("it is counted");
    for share in 0..20 {
        let watch = Watch::with_threads(1).expect("a thread").stopping_after(asks * share / 20);
        assert_eq!(make(&watch), Err(Stop), "{share}");
    }
    assert_eq!(make(&quiet), Ok(whole));
}

fn at(point: [f32; 3]) -> Anchor {
    Anchor { point: point.into(), normal: None }
}

/// The region at a point of the figure.
fn named<'r>(body: &fused::Fused, regions: &'r Regions, point: [f32; 3]) -> &'r Region {
    let face = body.ground.face_at(&at(point)).expect("a face");
    &regions.regions[regions.of_face[face].index()]
}

#[test]
fn edits_are_plain_data_and_taking_the_last_away_undoes_it() {
    let watch = Watch::quiet();
    let body = fused(&figure(), ROOM, (0.4, 0.0), &watch);
    let (head, trunk, pack, base) = ([0.0, -3.5, 31.0], [0.0, -5.0, 21.0], [0.0, 7.2, 22.0], [9.0, 0.0, 3.0]);
    let edits = [
        Edit::Rename(at(head), "helmet".into()),
        Edit::Merge(vec![at(head), at(trunk)]),
        Edit::Lock(at(pack)),
        Edit::Merge(vec![at(pack), at(base)]),
        Edit::Recolour(at(base), [1, 2, 3]),
        Edit::Rename(at(base), "helmet".into()),
        Edit::Split(vec![at(trunk), at(head)]),
        Edit::Grow("all".into(), vec![at(trunk)]),
        Edit::Unlock(at(pack)),
        Edit::Grow("pack".into(), vec![at(pack)]),
    ];
    let divided = |steps: usize| {
        let division = Division { source: Source::Level(9), edits: edits[..steps].to_vec() };
        body.ground.divide(&division, &watch).expect("nobody cancels")
    };
    let counts: Vec<usize> = (0..=edits.len()).map(|n| divided(n).regions.len()).collect();
    assert_eq!(counts, [9, 9, 8, 8, 8, 8, 8, 9, 2, 2, 1]);
    assert_eq!(named(&body, &divided(1), head).name, "helmet");
    // The merged region keeps the first one's name, its area is that of both.
    let (before, after) = (divided(1), divided(2));
    let sum = named(&body, &before, head).area_mm2 + named(&body, &before, trunk).area_mm2;
    let whole = named(&body, &after, trunk);
    assert!(whole.name == "helmet" && (whole.area_mm2 - sum).abs() < 1e-6);
    // What is locked takes in nothing and is taken in by nothing.
    assert!(named(&body, &divided(4), pack).locked);
    assert_eq!(divided(4).of_face, divided(3).of_face);
    assert_eq!(named(&body, &divided(5), base).swatch, [1, 2, 3]);
    // Two regions of one name would be one to the painter.
    assert_eq!(named(&body, &divided(6), base).name, "helmet 2");
    // A split gives the two back, where they were.
    let split = divided(7);
    assert_eq!(named(&body, &split, trunk).name, "helmet");
    assert!(overlap(&body, &split) > 0.95, "{}", overlap(&body, &split));
    assert!(named(&body, &split, pack).locked && !named(&body, &split, head).locked);
    assert_eq!(named(&body, &split, base).name, "helmet 2");
    // One seed takes all but what is locked.
    let grown = divided(8);
    let kept = named(&body, &grown, pack);
    assert!((kept.area_mm2 - named(&body, &divided(0), pack).area_mm2).abs() < 1e-6);
    assert_eq!(named(&body, &grown, head).name, "all");
    // Two grown in a row meet.
    let both = Division {
        source: Source::Pieces,
        edits: vec![
            Edit::Grow("a".into(), vec![at(head)]),
            Edit::Grow("b".into(), vec![at(base), at(trunk)]),
        ],
    };
    let both = body.ground.divide(&both, &watch).expect("nobody cancels");
    assert_eq!((both.regions[0].name.as_str(), both.regions[1].name.as_str()), ("b", "a"));
    // What a step leaves alone keeps its swatch.
    for step in 1..=7 {
        let (before, after) = (divided(step - 1), divided(step));
        let alone = before.regions.iter().filter(|r| named(&body, &after, r.place).area_mm2 == r.area_mm2);
        let kept = alone.clone().filter(|r| r.recoloured || named(&body, &after, r.place).swatch == r.swatch);
        let new = alone.clone().filter(|r| named(&body, &after, r.place).recoloured != r.recoloured);
        assert_eq!(kept.count() + new.count(), alone.count(), "{step}");
    }
    // Points without sense do no harm.
    let odd = [f32::NAN, f32::INFINITY, 1e30];
    for edit in [
        Edit::Merge(vec![at(odd)]),
        Edit::Split(vec![]),
        Edit::Merge(vec![]),
        Edit::Grow("x".into(), vec![at(odd)]),
    ] {
        let division = Division { source: Source::Level(9), edits: vec![edit] };
        assert_eq!(
            body.ground.divide(&division, &watch).expect("nobody cancels").of_face,
            divided(0).of_face
        );
    }
}

#[test]
fn a_seed_stays_on_its_side_of_a_thin_sheet_and_survives_a_finer_model() {
    let watch = Watch::quiet();
    let coarse = fused(&figure(), ROOM, (0.45, 0.0), &watch);
    let fine = fused(&figure(), ROOM, (0.25, 0.0), &watch);
    let seeds = seeds(&coarse, &figure(), None);
    let regions = fine.ground.grow(&seeds, &[], None, &watch).expect("nobody cancels");
    assert!(overlap(&fine, &regions) >= 0.9, "{}", overlap(&fine, &regions));
    let plate = of_soup(&cuboid([-8.0, 0.0, 0.0], [8.0, 0.1, 16.0]), &[], &watch);
    for side in [-1.0, 1.0] {
        let anchor = Anchor { point: [3.0, 0.05, 7.0].into(), normal: Some([0.0, side, 0.0].into()) };
        let face = plate.ground.face_at(&anchor).expect("a face");
        assert!(plate.ground.shape().normals()[face].y * side > 0.9);
    }
}

/// A sheet of squares, 2 mm each, dark and light in turn: one plane, in which triangles could be
/// divided any way at all.
fn squares() -> (String, impl Fn(&Point3<f32>) -> &'static str) {
    const SIDE: usize = 8;
    let mut text = String::new();
    for i in 0..=SIDE {
        for j in 0..=SIDE {
            let _ = writeln!(text, "v {} {} 0", 2 * i, 2 * j);
        }
    }
    for dark in [true, false] {
        text += if dark { "g dark\n" } else { "g  light \n" };
        for (i, j) in (0..SIDE)
            .flat_map(|i| (0..SIDE).map(move |j| (i, j)))
            .filter(|(i, j)| (i + j) % 2 == usize::from(dark))
        {
            let at = |i: usize, j: usize| 1 + i * (SIDE + 1) + j;
            let _ = writeln!(text, "f {} {} {} {}", at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1));
        }
    }
    let of = |p: &Point3<f32>| {
        if ((p.x / 2.0) as usize + (p.y / 2.0) as usize) % 2 == 1 { "dark" } else { "light" }
    };
    (text, of)
}

#[test]
fn parts_that_the_file_names_are_regions_with_the_borders_of_the_file() {
    let watch = Watch::quiet();
    let (text, of) = squares();
    let (mesh, _) = read(text.as_bytes(), &ReadSettings::default(), &watch).expect("an OBJ");
    let sight = TreeSight::new(Arc::new(Occluders::of(&mesh)), &watch);
    let settings = SurfaceSettings { spacing: Millimetres(0.35), ..SurfaceSettings::for_mesh(&mesh) };
    let (surface, _) = surface(&mesh, &settings, &sight, &watch).expect("nobody cancels");
    let ground =
        Ground::of(&surface, &mesh, &GroundSettings::for_mesh(&mesh), &watch).expect("nobody cancels");
    let division = Division { source: Source::File, edits: Vec::new() };
    let regions = ground.divide(&division, &watch).expect("nobody cancels");
    let mut names: Vec<&str> = regions.regions.iter().map(|r| r.name.as_str()).collect();
    names.sort_unstable();
    assert_eq!(names, ["dark", "light"]);
    assert!(surface.faces.len() > 5000);
    for (face, region) in surface.faces.iter().zip(&regions.of_face) {
        let sum =
            face.iter().fold(Vector3::zeros(), |sum, s| sum + surface.samples.position[*s as usize].coords);
        assert_eq!(regions.regions[region.index()].name, of(&Point3::from(sum / 3.0)));
    }
    // 32 squares of 4 mm² each.
    assert!(regions.regions.iter().all(|r| (r.area_mm2 - 128.0).abs() < 1e-3));
}

#[test]
fn a_file_that_tells_no_parts_apart_is_divided_by_shape() {
    let watch = Watch::quiet();
    let body = of_soup(&cuboid([0.0; 3], [9.0, 9.0, 9.0]), &[], &watch);
    assert!(body.ground.by_file().is_none());
    let by = |source| body.ground.divide(&Division { source, edits: Vec::new() }, &watch);
    assert_eq!(by(Source::File), by(Source::Shape));
}

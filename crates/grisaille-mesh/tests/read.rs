//! Reading from bytes to a clean mesh.

use grisaille_base::{Code, Place, Stop, Watch};
use grisaille_bodies::{Triangle, cube, cuboid, icosphere, inside_out, moved, scaled, sheet, stl};
use grisaille_mesh::{Mesh, Part, ReadError, ReadSettings, Unit, UpAxis, corners, parts, read, solid_angle};
use nalgebra::Point3;
use proptest::prelude::*;

fn load(soup: &[Triangle]) -> (Mesh, Vec<Code>) {
    let (mesh, findings) =
        read(&stl(soup), &ReadSettings::default(), &Watch::quiet()).expect("a sound model");
    // Most bodies here are a millimetre or two: their size is looked at in a test of its own.
    (mesh, findings.into_iter().map(|f| f.code).filter(|c| *c != Code::ImplausibleSize).collect())
}

#[test]
fn a_cube_is_one_closed_piece_with_its_volume_and_area() {
    let (mesh, findings) = load(&cuboid([1.0, 2.0, 3.0], [3.0, 5.0, 4.0]));
    assert!(findings.is_empty());
    assert_eq!((mesh.positions().len(), mesh.faces().len(), mesh.pieces().len()), (8, 12, 1));
    assert!(mesh.pieces()[0].closed);
    assert!((mesh.volume_mm3() - 6.0).abs() < 1e-6);
    assert!((mesh.area_mm2() - 22.0).abs() < 1e-6);
}

#[test]
fn sphere_volume_and_area_approach_their_closed_forms() {
    // 4π/3 and 4π; an inscribed mesh errs by the square of its edge length,
    // so each split must cut the error to about a quarter.
    let mut last = [f64::INFINITY; 2];
    for level in 2..5 {
        let (mesh, _) = load(&icosphere(level));
        let errors = [
            (mesh.volume_mm3() - 4.0 / 3.0 * std::f64::consts::PI).abs(),
            (mesh.area_mm2() - 4.0 * std::f64::consts::PI).abs(),
        ];
        assert!((0..2).all(|i| errors[i] < 0.3 * last[i]), "level {level}: {errors:?}");
        last = errors;
    }
}

#[test]
fn order_in_the_file_does_not_matter() {
    let soup = icosphere(3);
    let mut shuffled = soup.clone();
    shuffled.reverse();
    shuffled.rotate_left(77);
    for (i, t) in shuffled.iter_mut().enumerate() {
        t.rotate_left(i % 3);
    }
    assert_eq!(load(&soup).0, load(&shuffled).0);
}

#[test]
fn inside_out_and_half_turned_bodies_are_turned_outward() {
    let (mesh, findings) = load(&inside_out(cube()));
    assert!(mesh.volume_mm3() > 0.99);
    assert_eq!(findings, [Code::InsideOutPieces]);

    let mut soup = icosphere(2);
    for t in soup.iter_mut().step_by(3) {
        t.swap(0, 1);
    }
    let (mesh, findings) = load(&soup);
    assert!(mesh.pieces()[0].closed && mesh.volume_mm3() > 3.9);
    assert!(findings.contains(&Code::TurnedFaces));
    let counts = mesh.counts();
    assert!(counts.inconsistent_edges > 0 && counts.boundary_edges == 0);
}

#[test]
fn a_cavity_stays_wound_into_the_cavity() {
    let mut soup = cuboid([-2.0; 3], [2.0; 3]);
    soup.extend(inside_out(cube()));
    let (mesh, findings) = load(&soup);
    assert!(findings.is_empty());
    assert!((mesh.volume_mm3() - 63.0).abs() < 1e-4);
    assert!(mesh.pieces()[1].cavity);
    // The same box beside the big one is simply inside out.
    let mut soup = cuboid([-2.0; 3], [2.0; 3]);
    soup.extend(moved(inside_out(cube()), [5.0, 0.0, 0.0]));
    let (mesh, findings) = load(&soup);
    assert_eq!(findings, [Code::InsideOutPieces]);
    assert!((mesh.volume_mm3() - 65.0).abs() < 1e-4);
}

#[test]
fn zero_area_faces_are_dissolved_without_opening_a_seam() {
    // The cube's top edge from (-.5,.5,.5) to (.5,.5,.5) is met on one side by
    // a point in its middle: a T-joint filled with a zero-area face.
    let mut soup = cube();
    let top = |t: &Triangle| t.iter().all(|p| p[2] == 0.5);
    let (a, b, m) = ([-0.5, 0.5, 0.5], [0.5, 0.5, 0.5], [0.125, 0.5, 0.5]);
    let split = soup.iter().position(|t| top(t) && t.contains(&a) && t.contains(&b)).unwrap();
    let t = soup.remove(split);
    for (from, to) in [(a, m), (b, m)] {
        soup.push(t.map(|p| if p == from { to } else { p }));
    }
    // Between the split top and the whole side face.
    soup.push([b, a, m]);
    let (mesh, findings) = load(&soup);
    assert_eq!(mesh.counts().zero_area_faces, 1);
    assert_eq!(findings, [Code::ZeroAreaFaces]);
    assert_eq!(mesh.faces().len(), 14);
    assert!(mesh.pieces()[0].closed);
    assert!((mesh.volume_mm3() - 1.0).abs() < 1e-6 && (mesh.area_mm2() - 6.0).abs() < 1e-6);
}

#[test]
fn pieces_are_numbered_from_large_to_small() {
    let mut soup = moved(cube(), [4.0, 0.0, 0.0]);
    soup.extend(cuboid([-2.0; 3], [2.0; 3]));
    let (mesh, _) = load(&soup);
    assert_eq!(mesh.pieces().len(), 2);
    assert!(mesh.pieces()[0].area_mm2 > mesh.pieces()[1].area_mm2);
}

#[test]
fn two_cubes_touching_along_an_edge_are_closed() {
    let mut soup = cube();
    soup.extend(moved(cube(), [1.0, 1.0, 0.0]));
    let (mesh, findings) = load(&soup);
    assert_eq!((mesh.counts().non_manifold_edges, mesh.pieces().len()), (1, 1));
    assert!(mesh.pieces()[0].closed && (mesh.volume_mm3() - 2.0).abs() < 1e-6);
    assert_eq!(findings, [Code::NonManifoldEdges]);
}

#[test]
fn corners_split_at_creases_only() {
    let (cube, _) = load(&cube());
    let c = corners(cube.positions(), cube.faces(), 40.0);
    assert_eq!(c.vertex.len(), 24);
    assert!(c.normal.iter().all(|n| n.iter().filter(|x| x.abs() == 1.0).count() == 1));
    let (ball, _) = load(&icosphere(3));
    let c = corners(ball.positions(), ball.faces(), 40.0);
    assert_eq!(c.vertex.len(), ball.positions().len());
    for (n, &v) in c.normal.iter().zip(&c.vertex) {
        assert!(n.dot(&ball.positions()[v as usize].coords) > 0.9995);
    }
}

#[test]
fn up_axis_and_height_are_heeded() {
    let settings = ReadSettings { up: UpAxis::Y, height: Some(32.0), ..Default::default() };
    let bytes = stl(&cuboid([0.0; 3], [1.0, 4.0, 2.0]));
    let (mesh, _) = read(&bytes, &settings, &Watch::quiet()).unwrap();
    let size = mesh.bounds().extents();
    assert_eq!(size.map(|x| (x * 1000.0).round()), [8000.0, 16000.0, 32000.0]);
    // File front (+Z) looks to scene front (−Y).
    assert!(mesh.bounds().low[1] < -15.9);
    let bad = ReadSettings { height: Some(-1.0), ..Default::default() };
    assert!(matches!(read(&bytes, &bad, &Watch::quiet()), Err(ReadError::Setting(_))));
}

#[test]
fn base_and_underside_are_told_from_the_figure() {
    // A fused figure: a post on a plate, as one surface.
    let mut soup = cuboid([-12.0, -12.0, 0.0], [12.0, 12.0, 3.0]);
    soup.extend(cuboid([-3.0, -3.0, 2.0], [3.0, 3.0, 35.0]));
    let (mesh, _) = load(&soup);
    let found = parts(&mesh, None);
    assert_eq!(found.base_top_mm.map(|t| (t * 100.0).round()), Some(300.0));
    let area = |part| found.of_face.iter().filter(|p| **p == part).count();
    assert_eq!((area(Part::Underside), area(Part::Base), area(Part::Figure)), (2, 10, 12));
    // A ball stands on a point: neither base nor underside.
    let (ball, _) = load(&icosphere(4));
    assert_eq!(parts(&ball, None).base_top_mm, None);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    #[test]
    fn damaged_files_never_panic(level in 0_u32..2, cut in 0_usize..4000, flips in prop::collection::vec((0_usize..4000, 0_u8..8), 0..20)) {
        let mut bytes = stl(&icosphere(level));
        for (at, bit) in flips {
            let at = at % bytes.len();
            bytes[at] ^= 1 << bit;
        }
        bytes.truncate(cut.max(1));
        if let Ok((mesh, _)) = read(&bytes, &ReadSettings::default(), &Watch::quiet()) {
            prop_assert!(mesh.positions().iter().all(|p| p.iter().all(|x| x.is_finite())));
            let _ = parts(&mesh, None);
            let c = corners(mesh.positions(), mesh.faces(), 40.0);
            prop_assert!(c.normal.iter().all(|n| (n.norm() - 1.0).abs() < 1e-3));
        }
    }

    #[test]
    fn text_noise_never_panics(noise in "(solid|facet|normal|outer loop|vertex|endloop|endfacet|endsolid|[-+.e0-9]{1,6}|[ \n]){0,80}") {
        let text = format!("solid {noise}");
        let _ = read(text.as_bytes(), &ReadSettings::default(), &Watch::quiet());
    }
}

#[test]
fn a_size_that_no_miniature_has_is_told_after_unit_and_height() {
    // A figure 1.8 high, as one written in metres is.
    let bytes = stl(&cuboid([0.0; 3], [0.6, 0.4, 1.8]));
    let said = |bytes: &[u8], settings: ReadSettings| {
        let (_, findings) = read(bytes, &settings, &Watch::quiet()).expect("a sound model");
        findings.into_iter().find(|f| f.code == Code::ImplausibleSize).map(|f| f.hint)
    };
    let small = said(&bytes, ReadSettings::default()).expect("1.8 mm is no miniature");
    assert!(small.contains("1.80 mm, is very small") && small.contains("unit") && small.contains("height"));
    let with = |unit, height| ReadSettings { unit, height, ..ReadSettings::default() };
    assert_eq!(said(&bytes, with(Unit::Inch, None)), None);
    let large = said(&bytes, with(Unit::M, None)).expect("1800 mm is no miniature");
    assert!(large.contains("very large"));
    assert_eq!(said(&bytes, with(Unit::Mm, Some(32.0))), None);
    assert!(said(&bytes, with(Unit::Mm, Some(2.0))).is_some());
    // The bounds themselves are plausible, and a flat thing is as large as it is wide.
    for (largest, told) in [(4.99, true), (5.0, false), (1000.0, false), (1001.0, true)] {
        let plate = stl(&cuboid([0.0; 3], [largest, 0.5, 0.25]));
        assert_eq!(said(&plate, ReadSettings::default()).is_some(), told, "{largest}");
    }
}

#[test]
fn a_read_cancelled_anywhere_gives_nothing() {
    let bytes = stl(&icosphere(5));
    let counted = Watch::quiet().stopping_after(u64::MAX);
    assert!(read(&bytes, &ReadSettings::default(), &counted).is_ok());
    let asked = u64::MAX - counted.asks_left().expect("a count");
    assert!(asked > 5, "{asked}");
    for asks in 0..asked {
        let got = read(&bytes, &ReadSettings::default(), &Watch::quiet().stopping_after(asks));
        assert_eq!(got, Err(ReadError::Stop(Stop)), "after {asks} of {asked}");
    }
}

/// A ball of 20 mm whose upper half was moved by `gap` mm, and the number of edges of its seam.
fn split_ball(gap: f64) -> (Vec<Triangle>, usize) {
    let ball = scaled(icosphere(3), 10.0);
    let upper = |t: &Triangle| t.iter().map(|p| p[2]).sum::<f64>() > 0.0;
    let (one, two): (Vec<Triangle>, Vec<Triangle>) = ball.into_iter().partition(upper);
    let seam = load(&one).0.counts().boundary_edges as usize;
    ([moved(one, [gap, -gap, gap]), two].concat(), seam)
}

#[test]
fn nearly_equal_points_are_welded_where_that_closes_edges() {
    let (soup, seam) = split_ball(5e-4);
    let (mesh, findings) = load(&soup);
    assert_eq!(findings, [Code::NearPoints]);
    assert_eq!((mesh.pieces().len(), mesh.pieces()[0].closed), (1, true));
    // Counted as it was, mended as it is.
    assert_eq!(mesh.counts().boundary_edges as usize, 2 * seam);
    let (whole, _) = load(&split_ball(0.0).0);
    assert!((mesh.volume_mm3() / whole.volume_mm3() - 1.0).abs() < 1e-3);
    assert_eq!(mesh.faces().len(), whole.faces().len());
    // Order in the file changes nothing, and what is farther apart stays so.
    let reversed: Vec<Triangle> = soup.into_iter().rev().collect();
    assert_eq!(load(&reversed).0, mesh);
    let (apart, findings) = load(&split_ball(0.02).0);
    assert_eq!((findings, apart.pieces().len()), (vec![Code::OpenEdges], 2));
}

#[test]
fn thin_walls_and_fine_detail_do_not_fall_together() {
    // A plate of 50 mm thinner than the tolerance of 6 µm, closed: none of its edges is open.
    let plate = cuboid([0.0; 3], [50.0, 30.0, 0.004]);
    let (mesh, findings) = load(&plate);
    assert!(findings.is_empty() && mesh.volume_mm3() > 5.9);
    // Two sheets with open rims, 0.02 mm apart; steps of 3 µm at a rim: they stay.
    let sheets = [sheet([0.0; 2], [50.0; 2], 0.0), sheet([0.0; 2], [50.0; 2], 0.02)];
    assert_eq!(load(&sheets.concat()).0.pieces().len(), 2);
    let mut fine: Vec<Triangle> = vec![[[0.0; 3], [50.0, 0.0, 0.0], [0.0, 50.0, 0.0]]];
    fine.extend((0..20).map(|i| {
        let x = f64::from(i) * 0.003;
        [[x, 0.0, 0.0], [x + 0.003, 0.0, 0.0], [x, -0.003, 1.0]]
    }));
    // Whatever is closed between them, none of them goes.
    assert_eq!(load(&fine).0.faces().len(), 21);
}

/// A ball without the faces at some of its places.
fn holed(level: u32, holes: &[usize]) -> Vec<Triangle> {
    let ball = icosphere(level);
    (0..ball.len()).filter(|f| !holes.contains(f)).map(|f| ball[f]).collect()
}

#[test]
fn small_holes_count_as_closed_inside_and_out_and_are_told() {
    let whole = scaled(icosphere(4), 10.0);
    let few = [3, 700, 701, 2000, 4711];
    let open = scaled(holed(4, &few), 10.0);
    for soup in [open.clone(), inside_out(open.clone())] {
        let (mesh, findings) = read(&stl(&soup), &ReadSettings::default(), &Watch::quiet()).unwrap();
        let piece = mesh.pieces()[0];
        assert!(!piece.closed && piece.shut);
        // What is shown, measured and written has the holes still.
        assert_eq!((mesh.faces().len(), piece.volume_mm3), (whole.len() - few.len(), 0.0));
        let holes = findings.iter().find(|f| f.code == Code::SmallHoles).expect("they are told");
        assert_eq!(holes.count, 5, "{findings:?}");
        let Some(Place::Point(at)) = holes.place else { panic!("they have a place") };
        assert!((at.iter().map(|x| x * x).sum::<f32>().sqrt() - 10.0).abs() < 1e-3);
        // Wound outward: face and lids together go once round the middle.
        let turns: f64 = mesh
            .shut_faces()
            .map(|(_, corners)| solid_angle(Point3::new(1.0, 0.5, -2.0), corners.map(Point3::cast)))
            .sum();
        assert!((turns / (4.0 * std::f64::consts::PI) - 1.0).abs() < 1e-6, "{turns}");
    }
    // A hollow whose own wall has a hole, within a skin that has holes.
    let mut hollow = open;
    hollow.extend(inside_out(scaled(holed(4, &[99]), 8.0)));
    let (mesh, _) = read(&stl(&hollow), &ReadSettings::default(), &Watch::quiet()).unwrap();
    let cavities: Vec<bool> = mesh.pieces().iter().map(|p| p.cavity).collect();
    assert_eq!(cavities, [false, true]);
}

#[test]
fn a_mouth_is_no_small_hole() {
    // An open cup, a ball without a tenth of it, a sheet, and two faces of a cube.
    let ball = icosphere(4);
    let cap: Vec<Triangle> = ball.iter().filter(|t| t[0][2] < 0.8).copied().collect();
    for soup in [scaled(cap, 10.0), sheet([0.0; 2], [9.0; 2], 1.0), cube()[..10].to_vec()] {
        let (mesh, findings) = read(&stl(&soup), &ReadSettings::default(), &Watch::quiet()).unwrap();
        assert!(mesh.lids().is_empty() && !mesh.pieces()[0].shut);
        let codes: Vec<Code> = findings.iter().map(|f| f.code).collect();
        assert!(codes.contains(&Code::OpenEdges) && !codes.contains(&Code::SmallHoles));
    }
}

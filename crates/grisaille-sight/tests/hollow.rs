//! Hollow prints: inner walls are neither painted nor lit, whether drain holes join them to
//! the outside or not, and whichever way they are wound.

use grisaille_base::{Code, Finding, Watch};
use grisaille_bodies::distance::{self, Distance, all, ball, based, but, disc, figure, inner, posed, rod};
use grisaille_bodies::{Triangle, inside_out, stl};
use grisaille_mesh::{ReadSettings, read};
use grisaille_sight::{Occluders, Surface, SurfaceSettings, TreeSight, surface};
use nalgebra::Point3;
use std::sync::Arc;

const BOX: [[f64; 3]; 2] = [[-16.0, -16.0, -0.6], [16.0, 16.0, 42.0]];

fn triangles(of: &Distance) -> Vec<Triangle> {
    distance::surface(of, BOX, 0.25)
}

fn surfaced(soup: &[Triangle]) -> (Surface, Vec<Finding>) {
    let watch = Watch::quiet();
    let (mesh, _) = read(&stl(soup), &ReadSettings::default(), &watch).expect("a sound model");
    let sight = TreeSight::new(Arc::new(Occluders::of(&mesh)), &watch);
    let settings = SurfaceSettings { refine: false, ..SurfaceSettings::for_mesh(&mesh) };
    surface(&mesh, &settings, &sight, &watch).expect("nobody cancels")
}

/// The share of what `of` says that is buried, by area.
fn buried(surface: &Surface, of: impl Fn(Point3<f64>) -> bool) -> f64 {
    let (mut all, mut away) = (0.0, 0.0);
    for (f, face) in surface.faces.iter().enumerate() {
        let sum = face.map(|s| surface.samples.position[s as usize].cast::<f64>().coords);
        if of(Point3::from((sum[0] + sum[1] + sum[2]) / 3.0)) {
            all += surface.face_area(f);
            away += surface.face_area(f) * (3 - surface.open_corners(f)) as f64 / 3.0;
        }
    }
    away / all
}

fn hollows(findings: &[Finding]) -> u64 {
    findings.iter().filter(|f| f.code == Code::HollowPrint).map(|f| f.count).sum()
}

#[test]
fn walls_behind_drain_holes_are_neither_painted_nor_lit() {
    let body = posed(&figure(), [0.0, 0.0], 0.0);
    let pit = inner(&body, 1.4);
    // One hole through the back, and two through back and seat.
    let back = rod([0.0, 2.0, 16.0], [0.0, 9.0, 16.0], [1.1, 1.1]);
    let seat = rod([0.0, 1.0, 11.0], [0.0, 6.0, 7.0], [0.9, 0.9]);
    for (name, holes) in [("one", vec![back.clone()]), ("two", vec![back, seat])] {
        let holes = all(holes);
        let print = but(&but(&body, &pit), &holes);
        let (surface, findings) = surfaced(&triangles(&print));
        // The tubes themselves are neither the one nor the other.
        let tube = |p: Point3<f64>| holes(p) < 0.4;
        let wall = buried(&surface, |p| pit(p).abs() < 0.2 && !tube(p));
        let skin = buried(&surface, |p| body(p).abs() < 0.2 && !tube(p));
        println!(
            "{name}: {:.2} % of the wall, {:.3} % of the skin buried; {findings:?}",
            100.0 * wall,
            100.0 * skin
        );
        assert!(wall > 0.98 && skin < 0.002, "{name}");
        assert!(hollows(&findings) >= 1);
    }
}

#[test]
fn closed_hollows_are_buried_whichever_way_they_are_wound() {
    let body = posed(&figure(), [0.0, 0.0], 0.0);
    let pit = inner(&body, 1.4);
    let (skin, hollow) = (triangles(&body), triangles(&pit));
    for (name, soup) in [
        ("cavity", [skin.clone(), inside_out(hollow.clone())].concat()),
        ("nested", [skin.clone(), hollow.clone()].concat()),
        ("inside out", [inside_out(skin), hollow].concat()),
    ] {
        let (surface, findings) = surfaced(&soup);
        let wall = buried(&surface, |p| pit(p).abs() < 0.2);
        let skin = buried(&surface, |p| body(p).abs() < 0.2);
        println!(
            "{name}: {:.2} % of the wall, {:.3} % of the skin buried; {findings:?}",
            100.0 * wall,
            100.0 * skin
        );
        assert!(wall > 0.999 && skin < 0.001, "{name}");
    }
}

#[test]
fn what_is_deep_but_open_is_painted() {
    // A cloak over nothing, a cup, a cave with a wide mouth.
    let cloak = but(
        &rod([0.0, 0.0, 0.0], [0.0, 0.0, 24.0], [11.0, 3.0]),
        &all(vec![
            rod([0.0, 0.0, -1.0], [0.0, 0.0, 22.0], [10.0, 2.0]),
            disc([0.0, 0.0], 16.0, [-13.0, 0.0]),
        ]),
    );
    let cup = but(&disc([0.0, 0.0], 6.0, [0.0, 12.0]), &disc([0.0, 0.0], 5.0, [1.0, 13.0]));
    let cave = but(
        &ball([0.0, 0.0, 12.0], 12.0),
        &all(vec![ball([0.0, -2.0, 11.0], 7.0), rod([0.0, -6.0, 11.0], [0.0, -14.0, 11.0], [4.5, 4.5])]),
    );
    for (name, body) in
        [("cloak", cloak), ("cup", cup), ("cave", cave), ("figure", figure()), ("based", based())]
    {
        let (surface, findings) = surfaced(&triangles(&body));
        let away = buried(&surface, |_| true);
        println!("{name}: {:.3} % buried", 100.0 * away);
        assert!(hollows(&findings) == 0 && away < 0.002, "{name}: {findings:?}");
    }
}

//! Bodies cut into the layers of a print: the steps are no lines where the layer height is told, and what is deeper
//! than a layer, or climbs, still is one.

use grisaille_base::{Millimetres, Watch};
use grisaille_bodies::{Triangle, stl};
use grisaille_form::{Line, LineSettings, Shape, curvature, edges, recesses, without_grain};
use grisaille_mesh::{Bounds, Layers, Mesh, Printed, ReadSettings, read};
use grisaille_sight::{Occluders, SurfaceSettings, TreeSight, surface};
use nalgebra::Point3;
use std::f64::consts::TAU;
use std::sync::Arc;

/// The brush in mm, as for a figure of 32 mm.
const BRUSH: f64 = 0.3;

/// A body of rotation cut into layers: the radius at the middle of each holds all through it, as a slicer has it.
fn turned(radius: impl Fn(f64) -> f64, [low, high]: [f64; 2], layer: f64) -> Vec<Triangle> {
    const SIDES: usize = 120;
    let ring = |r: f64, z: f64| -> Vec<[f64; 3]> {
        let at = |k: usize| (TAU * k as f64 / SIDES as f64).sin_cos();
        (0..SIDES).map(at).map(|(sin, cos)| [r * cos, r * sin, z]).collect()
    };
    let mut rings = vec![vec![[0.0, 0.0, low]; SIDES]];
    for k in 0..((high - low) / layer).round() as u32 {
        let z = low + layer * f64::from(k);
        let r = radius(z + 0.5 * layer);
        rings.extend([ring(r, z), ring(r, z + layer)]);
    }
    rings.push(vec![[0.0, 0.0, high]; SIDES]);
    let mut soup = Vec::new();
    for pair in rings.windows(2) {
        for i in 0..SIDES {
            let k = (i + 1) % SIDES;
            let (a, b, c, d) = (pair[0][i], pair[0][k], pair[1][k], pair[1][i]);
            soup.extend(
                [[a, b, c], [a, c, d]].into_iter().filter(|t| t[0] != t[1] && t[1] != t[2] && t[2] != t[0]),
            );
        }
    }
    soup
}

/// A ramp of 20° cut into layers, 10 mm wide, with a groove of `wide` mm, `deep` layers below it: down the slope, or
/// level across it.
fn ramp(layer: f64, wide: f64, deep: i32, level: bool) -> Vec<Triangle> {
    let tread = layer / 20.0_f64.to_radians().tan();
    let count = (9.0 / tread) as i32;
    let (x, z) = (|k: i32| tread * f64::from(k), |k: i32| layer * f64::from(k));
    let mut soup = Vec::new();
    let mut quad = |a, b, c, d| soup.extend([[a, b, c], [a, c, d]]);
    let strip = [-5.0, -0.5 * wide, 0.5 * wide, 5.0];
    if level {
        // One profile drawn out: the middle treads lie lower.
        let half = (0.5 * wide / tread).round().max(1.0) as i32;
        let low = |k: i32| if (k - count / 2).abs() <= half { k - deep } else { k };
        for k in 0..count {
            quad(
                [x(k), -5.0, z(low(k))],
                [x(k + 1), -5.0, z(low(k))],
                [x(k + 1), 5.0, z(low(k))],
                [x(k), 5.0, z(low(k))],
            );
            let (a, b) = (z(low(k)), z(low(k + 1)));
            quad([x(k + 1), -5.0, a], [x(k + 1), -5.0, b], [x(k + 1), 5.0, b], [x(k + 1), 5.0, a]);
        }
        return soup;
    }
    for k in 0..count {
        for (y, down) in strip.windows(2).zip([0, deep, 0]) {
            let h = z(k - down);
            quad([x(k), y[0], h], [x(k + 1), y[0], h], [x(k + 1), y[1], h], [x(k), y[1], h]);
            let (h, up) = (z(k - down), z(k + 1 - down));
            if k + 1 < count {
                quad([x(k + 1), y[0], h], [x(k + 1), y[0], up], [x(k + 1), y[1], up], [x(k + 1), y[1], h]);
            }
        }
    }
    // The walls meet every corner of the stairs beside them.
    for (y, turned) in [(strip[1], false), (strip[2], true)] {
        for k in 0..count {
            let at = |k: i32, h: i32| [x(k), y, z(h)];
            let [a, b, c] = [at(k, k - deep), at(k + 1, k - deep), at(k + 1, k + 1 - deep)];
            let [d, e, f] = [at(k + 1, k), at(k, k), at(k, k - 1)];
            for [p, q, r] in [[a, b, c], [a, c, f], [f, c, d], [f, d, e]] {
                // The left wall looks to +Y, into the groove.
                soup.push(if turned { [p, q, r] } else { [p, r, q] });
            }
        }
    }
    soup
}

fn divided(soup: &[Triangle]) -> (Mesh, Shape) {
    divided_to(soup, BRUSH / 1.5)
}

fn divided_to(soup: &[Triangle], spacing: f64) -> (Mesh, Shape) {
    let watch = Watch::quiet();
    let (mesh, _) = read(&stl(soup), &ReadSettings::default(), &watch).expect("a body reads");
    let sight = TreeSight::new(Arc::new(Occluders::of(&mesh)), &watch);
    let settings = SurfaceSettings { spacing: Millimetres(spacing), ..SurfaceSettings::for_mesh(&mesh) };
    let shape = Shape::of(&surface(&mesh, &settings, &sight, &watch).expect("nobody cancels").0);
    (mesh, shape)
}

/// Recesses and edges of a body, with what printing it is told of left out.
fn lines(soup: &[Triangle], printed: Option<Printed>) -> [Vec<Line>; 2] {
    let watch = Watch::quiet();
    let (mesh, shape) = divided(soup);
    let settings = LineSettings::for_brush(Millimetres(BRUSH));
    let settings = printed.map_or(settings, |p| settings.in_layers(Millimetres(p.layer)));
    let curved = curvature(&shape, settings.radius(), &watch).expect("nobody cancels");
    [recesses, edges].map(|find| {
        let mut found = find(&shape, &curved, &settings, &watch).expect("nobody cancels");
        if let Some(printed) = printed {
            let layers = Layers { printed, up: [0.0, 0.0, 1.0], bounds: mesh.bounds() };
            without_grain(&mut found, &shape, &layers);
        }
        found
    })
}

fn length(lines: &[Line]) -> f64 {
    lines.iter().map(|l| l.length).sum()
}

fn told(name: &str, soup: &[Triangle], layer: f64) -> [[Vec<Line>; 2]; 2] {
    let printed = Printed { layer, scars: false };
    let both = [lines(soup, None), lines(soup, Some(printed))];
    for (told, found) in ["not told", "told"].iter().zip(&both) {
        let [recesses, edges] = found.each_ref().map(|l| (l.len(), length(l)));
        println!(
            "{name}, layers of {layer} mm, {told}: recesses {recesses:.1?}, edges {edges:.1?} (number, mm)"
        );
    }
    both
}

/// Lengths of recesses and edges in mm, not told and told.
fn lengths(both: &[[Vec<Line>; 2]; 2]) -> [[f64; 2]; 2] {
    both.each_ref().map(|found| found.each_ref().map(|lines| length(lines)))
}

fn close(found: f64, want: f64) -> bool {
    (found / want - 1.0).abs() < 0.06
}

// Round bodies have no line but the rims where they are cut off above and below.
#[test]
fn steps_of_layers_are_no_lines_once_they_are_told() {
    for layer in [0.05_f64, 0.1, 0.2, 0.28] {
        let high = |mm: f64| layer * (mm / layer).round();
        let (top, tip) = (high(5.0), high(5.0));
        let ball = turned(|z| (36.0 - z * z).max(0.04).sqrt(), [-top, top], layer);
        let cone = turned(|z| 7.0 - 1.2 * z, [0.0, tip], layer);
        // Of the outermost layers; the cone's upper rim is a mm wide and, to 0.2 mm, no deeper than a step.
        let rim = |r: f64| TAU * r;
        let of_ball = 2.0 * rim((36.0 - (top - 0.5 * layer).powi(2)).sqrt());
        let of_cone = [rim(7.0 - 0.6 * layer), rim(7.0 - 1.2 * (tip - 0.5 * layer))];
        let [_, [recess, edge]] = lengths(&told("ball", &ball, layer));
        assert!(recess == 0.0 && close(edge, of_ball), "{recess} {edge} {of_ball}");
        let [_, [recess, edge]] = lengths(&told("cone", &cone, layer));
        assert!(recess == 0.0 && (close(edge, of_cone[0] + of_cone[1]) || close(edge, of_cone[0])), "{edge}");
        if layer > 0.25 {
            // Not told, steps as thick as this are lines without number.
            for soup in [ball, cone] {
                let lines = lines(&soup, None);
                assert!(
                    lines.iter().all(|l| length(l) > 80.0) && lines.iter().map(Vec::len).sum::<usize>() > 70
                );
            }
        }
    }
}

#[test]
fn grooves_deeper_than_a_layer_are_found_among_the_steps() {
    for layer in [0.05_f64, 0.1, 0.2, 0.28] {
        let deep = (0.8 / layer).round() as i32;
        for (name, level) in [("groove down the slope", false), ("groove across", true)] {
            let both = told(name, &ramp(layer, 0.8, deep, level), layer);
            let [plain, known] = lengths(&both);
            // Two feet and two rims, 10 mm each; 3 mm in all may be off at the ends.
            assert!(known.iter().all(|l| (l - 20.0).abs() < 3.0), "{name} {layer}: {known:?}");
            assert!(both[1].iter().all(|l| l.len() == 2), "{name} {layer}");
            assert!(layer < 0.15 || plain.iter().all(|l| *l > 100.0), "{name} {layer}: {plain:?}");
            // One as deep as a layer is grain to most of its length.
            let [plain, known] = lengths(&told("one layer deep", &ramp(layer, 0.8, 1, level), layer));
            let [plain, known] = [plain, known].map(|l| l[0] + l[1]);
            assert!(layer < 0.15 || known < 0.15 * plain, "{name} {layer}: {plain} {known}");
        }
    }
}

/// A level sheet with round pimples 1 mm across and 0.3 mm high at some places, that looks up or down.
fn pimpled(places: &[[f32; 2]], down: bool) -> Shape {
    let at = |x: f64, y: f64| [x, y, 0.0];
    let quad = [at(-5.0, -5.0), at(5.0, -5.0), at(5.0, 5.0), at(-5.0, 5.0)];
    let soup = [[quad[0], quad[1], quad[2]], [quad[0], quad[2], quad[3]]];
    let (_, sheet) = divided_to(&soup, 0.1);
    let sign = if down { -1.0 } else { 1.0 };
    let high = |p: &Point3<f32>| {
        let near = places.iter().map(|[x, y]| (p.x - x).hypot(p.y - y)).fold(f32::INFINITY, f32::min);
        if near < 0.5 { 0.3 } else { 0.0 }
    };
    let positions = sheet.positions().iter().map(|p| Point3::new(p.x, p.y, sign * high(p))).collect();
    let faces = sheet.faces().iter().map(|[a, b, c]| if down { [*a, *c, *b] } else { [*a, *b, *c] });
    Shape::new(positions, faces.collect())
}

#[test]
fn scars_of_supports_stand_in_patches_below() {
    let watch = Watch::quiet();
    let patch = [[-2.0, -2.0], [0.0, -2.0], [2.0, -2.0], [-1.0, 0.0], [1.0, 0.0], [0.0, 2.0]];
    let count = |shape: &Shape, scars: bool| {
        let settings = LineSettings::for_brush(Millimetres(BRUSH)).in_layers(Millimetres(0.05));
        let curved = curvature(shape, settings.radius(), &watch).expect("nobody cancels");
        let bounds = Bounds { low: [-6.0; 3], high: [6.0; 3] };
        let layers = Layers { printed: Printed { layer: 0.05, scars }, up: [0.0, 0.0, 1.0], bounds };
        [recesses, edges].map(|find| {
            let mut found = find(shape, &curved, &settings, &watch).expect("nobody cancels");
            without_grain(&mut found, shape, &layers);
            found.len()
        })
    };
    let below = pimpled(&patch, true);
    let plain = count(&below, false);
    println!("pimples below: {plain:?}, told {:?}", count(&below, true));
    assert!(plain[0] + plain[1] >= 6, "{plain:?}");
    assert_eq!(count(&below, true), [0, 0]);
    // Rivets above, and two alone below, are form.
    let above = pimpled(&patch, false);
    assert_eq!(count(&above, true), count(&above, false));
    let two = pimpled(&patch[..2], true);
    assert_eq!(count(&two, true), count(&two, false));
    assert!(count(&two, true).iter().sum::<usize>() >= 2);
}

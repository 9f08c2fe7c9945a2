//! Regions of bodies cut into the layers of a print: its steps part nothing once they are told, and what is
//! several layers high still does.

#[allow(dead_code, reason = "shared with the tests of regions, which use all of it")]
mod fused;

use fused::{Fused, areas, overlap};
use grisaille_base::{Millimetres, Stop, Watch};
use grisaille_bodies::{Triangle, stl};
use grisaille_form::{Division, Ground, GroundSettings, Regions, Shape, Source};
use grisaille_mesh::{Printed, ReadSettings, read};
use grisaille_sight::{Occluders, SurfaceSettings, TreeSight, surface};
use nalgebra::Point3;
use std::f64::consts::TAU;
use std::sync::Arc;

/// A round body: its radius in mm at a height over its foot, within 0 and how high it is.
struct Round<'a> {
    radius: &'a dyn Fn(f64) -> f64,
    high: f64,
    /// How far it leans towards +X, in radians.
    leans: f64,
}

impl Round<'_> {
    /// Height along the axis and distance from it.
    fn within(&self, p: [f64; 3]) -> [f64; 2] {
        let (sin, cos) = self.leans.sin_cos();
        let along = p[0] * sin + p[2] * cos;
        [along, (p[0] * cos - p[2] * sin).hypot(p[1])]
    }

    fn holds(&self, p: [f64; 3]) -> bool {
        let [along, off] = self.within(p);
        (-10.0..self.high).contains(&along) && off < (self.radius)(along.max(0.0))
    }

    /// The ring at a height of the scene, about the axis: what a body's outline has there.
    fn ring(&self, z: f64) -> Vec<[f64; 2]> {
        const SIDES: usize = 120;
        let x = z * self.leans.tan();
        let out = |k: usize| {
            let (sin, cos) = (TAU * k as f64 / SIDES as f64).sin_cos();
            let at = |r: f64| [x + r * cos, r * sin, z];
            // The first way out, then closer.
            let first = (1..400).map(|n| 0.05 * f64::from(n)).find(|r| !self.holds(at(*r))).unwrap_or(20.0);
            let mut span = [first - 0.05, first];
            for _ in 0..30 {
                let middle = 0.5 * (span[0] + span[1]);
                span[usize::from(!self.holds(at(middle)))] = middle;
            }
            let [x, y, _] = at(span[0].max(1e-3));
            [x, y]
        };
        (0..SIDES).map(out).collect()
    }

    /// The body cut into layers: the outline in the middle of each holds all through it, as a slicer has it.
    /// Or without steps, from outline to outline.
    fn cut(&self, layer: f64, stepped: bool) -> Vec<Triangle> {
        let count = (self.high * self.leans.cos() / layer).floor() as u32;
        let level = |ring: Vec<[f64; 2]>, z: f64| -> Vec<[f64; 3]> {
            ring.into_iter().map(|[x, y]| [x, y, z]).collect()
        };
        let point = |z: f64| vec![[z * self.leans.tan(), 0.0, z]; 120];
        let mut rings = vec![point(0.0)];
        for k in 0..count {
            let z = layer * f64::from(k);
            if stepped {
                let ring = self.ring(z + 0.5 * layer);
                rings.extend([level(ring.clone(), z), level(ring, z + layer)]);
            } else {
                rings.push(level(self.ring(z), z));
            }
        }
        rings.push(point(layer * f64::from(count)));
        let mut soup = Vec::new();
        for pair in rings.windows(2) {
            for i in 0..pair[0].len() {
                let k = (i + 1) % pair[0].len();
                let (a, b, c, d) = (pair[0][i], pair[0][k], pair[1][k], pair[1][i]);
                soup.extend(
                    [[a, b, c], [a, c, d]]
                        .into_iter()
                        .filter(|t| t[0] != t[1] && t[1] != t[2] && t[2] != t[0]),
                );
            }
        }
        soup
    }
}

/// A body with the part of each place, and its regions, printed in layers or said to be nothing.
fn regions(soup: &[Triangle], layer: Option<f64>, part: &dyn Fn([f64; 3]) -> usize) -> (Fused, Regions) {
    let watch = Watch::quiet();
    let printed = layer.map(|layer| Printed { layer, scars: false });
    let settings = ReadSettings { printed, ..ReadSettings::default() };
    let (mesh, _) = read(&stl(soup), &settings, &watch).expect("a body reads");
    let sight = TreeSight::new(Arc::new(Occluders::of(&mesh)), &watch);
    let settings = SurfaceSettings { spacing: Millimetres(0.2), ..SurfaceSettings::for_mesh(&mesh) };
    let (surface, _) = surface(&mesh, &settings, &sight, &watch).expect("nobody cancels");
    let settings = GroundSettings { patch: Millimetres(0.45) };
    let ground = Ground::of(&surface, &mesh, &settings, &watch).expect("nobody cancels");
    let division = Division { source: Source::Shape, edits: Vec::new() };
    let regions = ground.divide(&division, &watch).expect("nobody cancels");
    let shape = ground.shape();
    let truth = shape.faces().iter().map(|f| part(middle(shape, f))).collect();
    (Fused { mesh, surface, ground, truth }, regions)
}

fn middle(shape: &Shape, face: &[u32; 3]) -> [f64; 3] {
    Point3::from(fused::middle(shape, face).coords).into()
}

/// A pawn: a plate, a cone and a ball.
fn pawn(z: f64) -> f64 {
    match z {
        z if z < 3.0 => 9.0,
        z if z < 20.0 => 7.0 - 0.26 * (z - 3.0),
        z => (25.0 - (z - 24.0).powi(2)).max(2.25).sqrt(),
    }
}

/// What of a pawn lies at a height along its axis.
fn part_of_pawn(z: f64) -> usize {
    usize::from(z > 3.15) + usize::from(z > 20.0)
}

/// Three drums that taper, one on another; between them ledges of 1.25 mm.
fn drums(z: f64) -> f64 {
    9.0 - 2.0 * (z / 5.0).floor() - 0.15 * (z % 5.0)
}

/// Steps 1.12 mm high and as deep.
fn ledges(z: f64) -> f64 {
    9.0 - 1.12 * (z / 1.12).floor()
}

fn show(what: &str, regions: &Regions) -> usize {
    let areas: Vec<f64> = regions.regions.iter().map(|r| r.area_mm2.round()).collect();
    println!("{what}: {} regions, mm² {areas:?}", areas.len());
    areas.len()
}

/// How well the level of `count` regions recovers the parts.
fn recovered(body: &Fused, count: usize) -> f64 {
    overlap(body, &body.ground.level(count, &Watch::quiet()).expect("nobody cancels"))
}

// Steps of 0.28 mm made many regions of bodies without parts, told or not.
#[test]
fn steps_of_layers_part_nothing_once_they_are_told() {
    let ball = |z: f64| (36.0 - (z - 5.0).powi(2)).max(0.01).sqrt();
    let cone = |z: f64| 7.0 - 1.2 * z;
    for (name, radius, high) in [("ball", &ball as &dyn Fn(f64) -> f64, 10.0), ("cone", &cone, 5.0)] {
        let body = Round { radius, high, leans: 0.0 };
        for layer in [0.1, 0.2, 0.28] {
            let soup = body.cut(layer, true);
            let [plain, told] = [None, Some(layer)].map(|layer| regions(&soup, layer, &|_| 0).1);
            let plain = show(&format!("{name}, layers of {layer} mm, not told"), &plain);
            assert_eq!(show(&format!("{name}, layers of {layer} mm, told"), &told), 1);
            assert!(layer < 0.25 || plain > 1, "{name}: {plain}");
        }
    }
}

#[test]
fn parts_are_found_through_the_steps_of_layers() {
    for leans in [0.0, 0.35] {
        let body = Round { radius: &pawn, high: 28.6, leans };
        let part = |p: [f64; 3]| part_of_pawn(body.within(p)[0]);
        for layer in [0.1, 0.2, 0.28] {
            let soup = body.cut(layer, true);
            let [(_, plain), (told_body, told)] =
                [None, Some(layer)].map(|layer| regions(&soup, layer, &part));
            let name = format!("pawn leaning by {leans}, layers of {layer} mm");
            let plain = show(&format!("{name}, not told"), &plain);
            let count = show(&format!("{name}, told"), &told);
            let (found, level) = (overlap(&told_body, &told), recovered(&told_body, 3));
            println!("{name}: recovered {found:.3}, as three regions {level:.3}");
            // The ledge round the plate may be a region of its own, and the sole.
            assert!(
                (3..=5).contains(&count) && found > 0.9 && level > 0.97,
                "{name}: {count} {found} {level}"
            );
            assert!(layer < 0.25 || plain > count, "{name}: {plain} {count}");
        }
    }
}

#[test]
fn steps_of_several_layers_part_as_they_do_untold() {
    for layer in [0.1, 0.2, 0.28] {
        let body = Round { radius: &drums, high: 15.0, leans: 0.0 };
        let soup = body.cut(layer, true);
        // The flanks of the three, away from the ledges, which may be regions of their own.
        let flank = |p: [f64; 3]| if (1.0..4.0).contains(&(p[2] % 5.0)) { (p[2] / 5.0) as usize } else { 3 };
        let (told, found) = regions(&soup, Some(layer), &flank);
        let count = show(&format!("drums, layers of {layer} mm, told"), &found);
        let (areas, _) = areas(told.ground.shape());
        let mut share = vec![[0.0; 4]; count];
        for ((own, region), flank) in areas.iter().zip(&found.of_face).zip(&told.truth) {
            share[region.index()][*flank] += own;
        }
        let mut best = Vec::new();
        for flank in 0..3 {
            let all: f64 = share.iter().map(|of| of[flank]).sum();
            let most =
                (0..count).max_by(|a, b| share[*a][flank].total_cmp(&share[*b][flank])).expect("a region");
            println!("drums: {:.3} of a flank in region {most}", share[most][flank] / all);
            assert!(share[most][flank] > 0.97 * all && !best.contains(&most), "{layer}: {flank}");
            best.push(most);
        }
        let soup = Round { radius: &ledges, high: 6.72, leans: 0.0 }.cut(layer, true);
        let [plain, told] = [None, Some(layer)].map(|layer| regions(&soup, layer, &|_| 0).1);
        assert!(show("ledges", &told) >= 6 && plain == told, "{layer}");
    }
}

#[test]
fn smooth_bodies_have_the_same_regions_told_or_not() {
    let (sin, cos) = 0.35_f64.sin_cos();
    for (name, radius, high) in [("pawn", pawn as fn(f64) -> f64, 28.6), ("drums", drums, 15.0)] {
        let upright = Round { radius: &radius, high, leans: 0.0 }.cut(0.28, false);
        let turn = |[x, y, z]: [f64; 3]| [x * cos + z * sin, y, z * cos - x * sin];
        let leaning = upright.iter().map(|t| t.map(turn)).collect();
        for soup in [upright, leaning] {
            let [plain, told] = [None, Some(0.28)].map(|layer| regions(&soup, layer, &|_| 0).1);
            assert!(show(name, &plain) >= 3 && plain == told, "{name}");
        }
    }
}

#[test]
fn looking_for_steps_stops_wherever_it_is_asked_to() {
    let cone = |z: f64| 7.0 - 1.2 * z;
    let soup = Round { radius: &cone, high: 5.0, leans: 0.0 }.cut(0.28, true);
    let (body, found) = regions(&soup, Some(0.28), &|_| 0);
    let make = |watch: &Watch| {
        let settings = GroundSettings { patch: Millimetres(0.45) };
        let division = Division { source: Source::Shape, edits: Vec::new() };
        Ground::of(&body.surface, &body.mesh, &settings, watch)?.divide(&division, watch)
    };
    let counted = Watch::with_threads(1).expect("a thread").stopping_after(u64::MAX);
    assert_eq!(make(&counted).as_ref(), Ok(&found), "one thread and many");
    let asks = u64::MAX - counted.asks_left().expect("it is counted");
    for share in 0..20 {
        let watch = Watch::with_threads(1).expect("a thread").stopping_after(asks * share / 20);
        assert_eq!(make(&watch), Err(Stop), "{share}");
    }
}

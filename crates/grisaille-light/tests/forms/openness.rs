//! Openness beside bodies that hide a known part of a point's own hemisphere,
//! turned any way, for it knows no up.

use crate::{Place, bound, occluders, receivers, size};
use grisaille_base::{Millimetres, Watch};
use grisaille_bodies::{Triangle, forms, icosphere, scaled, sheet, turned};
use grisaille_light::{OpennessSettings, openness};
use grisaille_sight::TreeSight;
use nalgebra::{Point3, Rotation3, Unit, Vector3};
use std::collections::BTreeMap;
use std::f64::consts::{FRAC_PI_2, PI, TAU};

/// Any way but along an axis.
const AXIS: [f64; 3] = [0.48, 0.6, 0.64];
const DEGREES: f64 = 77.0;

fn open_by(soup: &[Triangle], places: &[Place], reach: f64, count: usize, watch: &Watch) -> Vec<f64> {
    let tree = TreeSight::new(occluders(soup), watch);
    let settings = OpennessSettings { reach: Millimetres(reach), directions: count };
    let values = openness(&receivers(places, size(soup)), &tree, &settings, watch);
    values.expect("nobody cancels").into_iter().map(f64::from).collect()
}

fn open(soup: &[Triangle], places: &[Place], reach: f64, count: usize) -> Vec<f64> {
    open_by(soup, places, reach, count, &Watch::quiet())
}

fn away(place: Place) -> Place {
    let turn = Rotation3::from_axis_angle(&Unit::new_normalize(Vector3::from(AXIS)), DEGREES.to_radians());
    (turn * place.0, turn * place.1)
}

#[test]
fn beside_each_form_openness_is_what_the_form_leaves() {
    // Howell's configuration factors, as for the sky; a tilted receiver also
    // looks below the horizon, where nothing stands: (1 − cos t)/2 more.
    let mut worst: BTreeMap<(&str, usize), f64> = BTreeMap::new();
    for form in forms() {
        let loose = form.name.starts_with("tilted") || form.name.starts_with("steep");
        let place = |r: &grisaille_bodies::Receiver| away((r.position.into(), r.normal.into()));
        let places: Vec<Place> = form.receivers.iter().map(place).collect();
        let soup = turned(form.soup.clone(), AXIS, DEGREES);
        for count in [64, 256, 1024] {
            let values = open(&soup, &places, f64::INFINITY, count);
            for (value, r) in values.iter().zip(&form.receivers) {
                let left = r.sky + if loose { 0.5 * (1.0 - r.normal[2]) } else { 0.0 };
                let entry = worst.entry((form.name, count)).or_default();
                *entry = entry.max((value - left).abs());
            }
        }
    }
    assert_eq!(worst.len(), 33, "eleven forms at three counts");
    for ((name, count), error) in &worst {
        println!("{name}, {count} directions: {error:.5}, allowed {:.5}", bound(*count));
        assert!(*error <= bound(*count), "{name}, {count} directions: {error}");
    }
}

/// The lower half of a sphere, open above.
fn bowl(radius: f64) -> Vec<Triangle> {
    let (round, down) = (240, 60);
    let at = |i: usize, j: usize| {
        let (sa, ca) = (TAU * (i % round) as f64 / round as f64).sin_cos();
        let (sb, cb) = (FRAC_PI_2 * j as f64 / down as f64).sin_cos();
        [radius * sb * ca, radius * sb * sa, -radius * cb]
    };
    let mut soup = Vec::new();
    for i in 0..round {
        soup.push([at(i, 0), at(i + 1, 1), at(i, 1)]);
        for j in 1..down {
            soup.push([at(i, j), at(i + 1, j), at(i + 1, j + 1)]);
            soup.push([at(i, j), at(i + 1, j + 1), at(i, j + 1)]);
        }
    }
    soup
}

#[test]
fn everywhere_in_a_bowl_half_is_open() {
    // Within a sphere each part of it hides its share of the whole sphere,
    // wherever the point is on it (Siegel and Howell, inside of a sphere; from
    // memory): cos·cos/(π r²) is 1/(4πR²) there. So half a sphere hides half,
    // and within the reach ρ, a cap of π ρ², it hides ρ²/(4R²).
    let radius = 3.0;
    let soup = turned(bowl(radius), AXIS, DEGREES);
    let place = |k: usize, from_bottom: f64| -> Place {
        let (sa, ca) = (0.7 + 2.4 * k as f64).sin_cos();
        let (sb, cb) = from_bottom.to_radians().sin_cos();
        let out = Vector3::new(sb * ca, sb * sa, -cb);
        // Within the chords that stand for the arcs.
        away((Point3::from(out * radius * 0.9995), -out))
    };
    let spread: Vec<Place> =
        [0.0, 10.0, 30.0, 50.0, 70.0].iter().enumerate().map(|(k, b)| place(k, *b)).collect();
    let bottom: Vec<Place> = (0..4).map(|k| place(k, 3.0 * k as f64)).collect();
    for count in [64, 256, 1024] {
        for value in open(&soup, &spread, f64::INFINITY, count) {
            assert!((value - 0.5).abs() <= bound(count), "{count}: {value}");
        }
        for reach in [1.0, 2.0, 3.0] {
            let left = 1.0 - (reach / (2.0 * radius)).powi(2);
            for value in open(&soup, &bottom, reach, count) {
                assert!((value - left).abs() <= bound(count), "reach {reach}, {count}: {value} {left}");
            }
        }
    }
}

#[test]
fn a_wall_hides_what_of_it_lies_within_the_reach() {
    // Beside an endless wall, b away, the reach ρ cuts a cap of half-angle α,
    // cos α = b/ρ, about the way to it, half of it above the plane. The factor of
    // a sphere seen so, its centre on the horizon (Howell): (α − sin α cos α)/π.
    let b = 0.5;
    let wall = vec![
        [[b, -20.0, 0.0], [b, 20.0, 0.0], [b, 20.0, 20.0]],
        [[b, -20.0, 0.0], [b, 20.0, 20.0], [b, -20.0, 20.0]],
    ];
    let soup = turned(wall, AXIS, DEGREES);
    let places: Vec<Place> =
        (0..5).map(|k| away((Point3::new(0.0, f64::from(k), 0.0), Vector3::z()))).collect();
    for reach in [0.3, 0.49, 0.6, 1.0, 3.0] {
        let alpha = (b / reach).min(1.0).acos();
        let expected = 1.0 - (alpha - alpha.sin() * alpha.cos()) / PI;
        for count in [64, 256, 1024] {
            for value in open(&soup, &places, reach, count) {
                assert!((value - expected).abs() <= bound(count), "reach {reach}, {count}: {value}");
                if reach < b {
                    assert_eq!(value, 1.0, "reach {reach} ends before the wall");
                }
            }
        }
    }
}

#[test]
fn what_is_convex_is_open_at_any_size_and_the_reach_is_a_length() {
    for scale in [1e-3, 1.0, 1e3] {
        let ball = scaled(icosphere(3), scale);
        let places: Vec<Place> = ball.iter().map(|t| (Point3::from(t[0]), Vector3::from(t[0]))).collect();
        for value in open(&ball, &places, f64::INFINITY, 32) {
            assert_eq!(value, 1.0, "× {scale}");
        }
        // A lid half a unit over the ground: hidden from a reach of half a unit on.
        let lid = scaled(sheet([-50.0, -50.0], [50.0, 50.0], 0.5), scale);
        let place: [Place; 1] = [(Point3::origin(), Vector3::z())];
        assert_eq!(open(&lid, &place, 0.49 * scale, 64), [1.0]);
        let value = open(&lid, &place, scale, 1024)[0];
        // Within 60° of straight up: sin² 60° of it is hidden.
        assert!((value - 0.25).abs() <= bound(1024), "× {scale}: {value}");
    }
}

#[test]
fn any_number_of_threads_gives_the_same_bits() {
    let soup = turned(bowl(3.0), AXIS, DEGREES);
    let places: Vec<Place> = (0..700)
        .map(|k| {
            let (s, c) = (2.4 * f64::from(k)).sin_cos();
            let r = 0.1 * f64::from(k).sqrt();
            away((Point3::new(r * c, r * s, -0.2), Vector3::new(0.1 * s, 0.1 * c, 1.0)))
        })
        .collect();
    let [one, two, five] =
        [1, 2, 5].map(|n| open_by(&soup, &places, 2.0, 64, &Watch::with_threads(n).expect("threads")));
    assert!(one == two && two == five);
    assert!(one.iter().any(|v| *v < 0.9) && one.iter().all(|v| *v <= 1.0));
}

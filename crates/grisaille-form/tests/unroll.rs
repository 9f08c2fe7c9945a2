//! Patches laid flat, against surfaces of which every length is known.

use grisaille_base::{Stop, Watch};
use grisaille_form::{PatchSettings, Shape, Unrolled, unroll};
use nalgebra::{Point3, Vector3};
use std::collections::HashMap;
use std::f64::consts::{FRAC_PI_2, PI, TAU};

/// A net over a rectangle of two parameters, `across` by `down` cells, seen from outside with the first to the right
/// and the second up; round where the first goes once round. The last way of cutting cells alternates.
fn net(across: u32, down: u32, round: bool, at: impl Fn(f64, f64) -> [f64; 3]) -> Shape {
    let columns = if round { across } else { across + 1 };
    let mut points = Vec::new();
    for j in 0..=down {
        for i in 0..columns {
            let p = at(f64::from(i) / f64::from(across), f64::from(j) / f64::from(down));
            points.push(Point3::from(p.map(|x| x as f32)));
        }
    }
    let mut faces = Vec::new();
    for j in 0..down {
        for i in 0..across {
            let v = |di: u32, dj: u32| (j + dj) * columns + (i + di) % columns;
            let [a, b, c, d] = [v(0, 0), v(1, 0), v(1, 1), v(0, 1)];
            if (i + j) % 2 == 0 {
                faces.extend([[a, b, c], [a, c, d]]);
            } else {
                faces.extend([[a, b, d], [b, c, d]]);
            }
        }
    }
    Shape::new(points, faces)
}

/// An upright pole of radius 2 and height 6, its front at −Y.
fn pole() -> Shape {
    net(96, 24, true, |u, v| {
        let turn = TAU * u - FRAC_PI_2;
        [2.0 * turn.cos(), 2.0 * turn.sin(), 6.0 * v]
    })
}

fn face_near(shape: &Shape, at: [f64; 3]) -> u32 {
    let far = |f: u32| {
        let corners = shape.faces()[f as usize].map(|v| shape.positions()[v as usize].cast::<f64>().coords);
        (corners.iter().sum::<Vector3<f64>>() / 3.0 - Vector3::from(at)).norm()
    };
    (0..shape.faces().len() as u32).min_by(|a, b| far(*a).total_cmp(&far(*b))).expect("a face")
}

fn laid(shape: &Shape, at: [f64; 3], radius: f64) -> Unrolled {
    let settings = PatchSettings { radius, crease: 0.9, own: &|_| true };
    let from = face_near(shape, at);
    unroll(shape, from, &settings, Vector3::z(), &Watch::quiet()).expect("nobody cancels").expect("a patch")
}

/// A disc: one rim through every edge that has a face on one side only, and Euler's number 1.
fn assert_disc(patch: &Unrolled) {
    let mut edges: HashMap<[u32; 2], u32> = HashMap::new();
    for face in &patch.faces {
        for c in 0..3 {
            let (a, b) = (face[c], face[(c + 1) % 3]);
            *edges.entry([a.min(b), a.max(b)]).or_default() += 1;
        }
    }
    assert!(edges.values().all(|n| *n <= 2));
    let open = edges.values().filter(|n| **n == 1).count();
    assert_eq!(patch.rim().len(), open);
    assert_eq!(patch.points.len() + patch.faces.len(), edges.len() + 1);
}

fn spans(patch: &Unrolled) -> [f64; 4] {
    let of = |k: usize| patch.points.iter().map(move |p| p[k]);
    let low = |k| of(k).fold(f64::INFINITY, f64::min);
    let high = |k| of(k).fold(f64::NEG_INFINITY, f64::max);
    [low(0), high(0), low(1), high(1)]
}

#[test]
fn what_can_be_unrolled_keeps_every_length() {
    let pole = pole();
    for radius in [1.0, 3.0, 20.0] {
        let patch = laid(&pole, [0.0, -2.0, 3.0], radius);
        assert_disc(&patch);
        let stretch = patch.stretch;
        assert!(stretch.folded == 0 && stretch.longer < 1e-3 && stretch.shorter > -1e-3, "{stretch:?}");
    }
    // Once round: as wide as its facets are long together, 2 · 96 · 2 · sin(π/96), less where the rim is not straight.
    let patch = laid(&pole, [0.0, -2.0, 3.0], 20.0);
    let [left, right, low, high] = spans(&patch);
    let round = 2.0 * 96.0 * 2.0 * (PI / 96.0).sin();
    assert!((high - low - 6.0).abs() < 0.01, "{low} {high}");
    assert!(patch.faces.len() == pole.faces().len() && (round..round + 0.5).contains(&(right - left)));
    // Up stays up, and right is right as seen from outside: +X at the front.
    for (p, v) in patch.points.iter().zip(&patch.vertices) {
        let at = pole.positions()[*v as usize];
        if p[0].abs() < 2.5 {
            assert!(
                (p[1] - f64::from(at.z) - patch.points[0][1]
                    + f64::from(pole.positions()[patch.vertices[0] as usize].z))
                .abs()
                    < 0.02
            );
            assert!((p[0] - 2.0 * f64::from(at.x).atan2(-f64::from(at.y))).abs() < 0.1);
        }
    }
    // A cone opens to a sector: slant lengths and the arc at its foot stay.
    let cone = net(96, 32, true, |u, v| {
        let (turn, r) = (TAU * u - FRAC_PI_2, 3.0 - 2.5 * v);
        [r * turn.cos(), r * turn.sin(), 4.0 * v]
    });
    let stretch = laid(&cone, [0.0, -3.0, 0.1], 30.0).stretch;
    assert!(stretch.folded == 0 && stretch.longer < 2e-3 && stretch.shorter > -2e-3, "{stretch:?}");
}

#[test]
fn a_cap_of_a_ball_is_stretched_no_more_than_its_map_from_the_pole() {
    // Laid flat with true distances from its middle (azimuthal equidistant), a cap of angle θ is stretched by
    // θ / sin θ at its rim (J. P. Snyder, Map Projections, USGS Professional Paper 1395, 1987, chapter 25). As rigid as
    // possible shares the error between both ways, so that it must be better.
    let ball = net(96, 64, true, |u, v| {
        let (turn, tilt) = (TAU * u - FRAC_PI_2, PI * (0.01 + 0.98 * v));
        [5.0 * tilt.sin() * turn.cos(), 5.0 * tilt.sin() * turn.sin(), -5.0 * tilt.cos()]
    });
    let mut before = 0.0;
    for radius in [1.0, 2.5, 4.0, 6.0] {
        let patch = laid(&ball, [0.0, -5.0, 0.0], radius);
        assert_disc(&patch);
        let theta: f64 = radius / 5.0;
        let stretch = patch.stretch;
        let worst = theta / theta.sin() - 1.0;
        assert!(
            stretch.folded == 0 && stretch.longer < worst && -stretch.shorter < worst,
            "{radius}: {stretch:?}, {worst}"
        );
        // A ball cannot be laid flat: it grows with the square of the radius.
        assert!(stretch.mean > 1.5 * before, "{radius}: {stretch:?}");
        before = stretch.mean;
    }
}

#[test]
fn a_patch_ends_at_creases_and_at_what_is_not_its_own() {
    // A roof: two planes that meet at a right angle along x = 0.
    let roof = net(40, 20, false, |u, v| {
        let x = 10.0 * u - 5.0;
        [x, -(x.abs()), 5.0 * v]
    });
    let roof = Shape::new(roof.positions().to_vec(), roof.faces().to_vec());
    let half = laid(&roof, [-2.0, -2.0, 2.5], 50.0);
    assert!(half.vertices.iter().all(|v| roof.positions()[*v as usize].x <= 1e-6));
    assert_eq!(half.faces.len(), roof.faces().len() / 2);
    let all = PatchSettings { radius: 50.0, crease: 2.0, own: &|_| true };
    let from = face_near(&roof, [-2.0, -2.0, 2.5]);
    let whole = unroll(&roof, from, &all, Vector3::z(), &Watch::quiet()).expect("runs").expect("a patch");
    assert_eq!(whole.faces.len(), roof.faces().len());
    assert!(whole.stretch.longer < 1e-4, "a roof folds flat: {:?}", whole.stretch);
    let odd = PatchSettings { radius: 50.0, crease: 2.0, own: &|f| f % 2 == from % 2 };
    let few = unroll(&roof, from, &odd, Vector3::z(), &Watch::quiet()).expect("runs").expect("a patch");
    assert!(few.source.iter().all(|f| f % 2 == from % 2) && few.faces.len() < roof.faces().len() / 2);
}

#[test]
fn odd_nets_give_a_disc_or_nothing() {
    // A closed ball, a face without area, a spot that does not exist.
    let ball = net(24, 12, true, |u, v| {
        let (turn, tilt) = (TAU * u, PI * v);
        [tilt.sin() * turn.cos(), tilt.sin() * turn.sin(), -tilt.cos()]
    });
    let patch = laid(&ball, [0.0, -1.0, 0.0], 100.0);
    assert_disc(&patch);
    assert!(patch.points.iter().all(|p| p.iter().all(|x| x.is_finite())));
    let flat = Shape::new(vec![Point3::origin(); 3], vec![[0, 1, 2]]);
    let settings = PatchSettings { radius: 1.0, crease: 1.0, own: &|_| true };
    let watch = Watch::quiet();
    assert_eq!(unroll(&flat, 0, &settings, Vector3::z(), &watch), Ok(None));
    assert_eq!(unroll(&flat, 7, &settings, Vector3::z(), &watch), Ok(None));
    // Up may point straight at the face.
    let floor = net(4, 4, false, |u, v| [4.0 * u, 4.0 * v, 0.0]);
    let patch = unroll(&floor, 0, &settings, Vector3::z(), &watch).expect("runs").expect("a patch");
    assert!(patch.points.iter().all(|p| p.iter().all(|x| x.is_finite())));
}

#[test]
fn it_stops_when_asked() {
    let pole = pole();
    let settings = PatchSettings { radius: 20.0, crease: 0.9, own: &|_| true };
    for n in [0, 10, 1000] {
        let watch = Watch::quiet().stopping_after(n);
        assert_eq!(unroll(&pole, 0, &settings, Vector3::z(), &watch), Err(Stop), "{n}");
    }
}

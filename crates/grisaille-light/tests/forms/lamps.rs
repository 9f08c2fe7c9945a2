//! Lamps with a glass: half set, partly set, and the soft edge of a shadow.

use crate::{Place, bound, lit};
use grisaille_base::Millimetres;
use grisaille_bodies::{disc, icosphere, moved, scaled, sheet};
use grisaille_light::{Falloff, Kind, sphere_light_open};
use nalgebra::{Point3, Vector3};
use std::f64::consts::{FRAC_PI_2, TAU};

/// A lamp that gives a surface facing it at one radius of distance 1.
fn lamp(at: Point3<f64>, radius: f64) -> Kind {
    let millimetres = Millimetres(radius);
    Kind::Point {
        at,
        reference: millimetres,
        radius: millimetres,
        clear: Millimetres(0.0),
        falloff: Falloff::PHYSICAL,
    }
}

#[test]
fn a_lamp_is_its_view_factor_also_partly_below_the_surface_s_own_horizon() {
    // Howell, element to sphere, all above the element's plane and partly
    // below it; H is the distance over the radius. The values by quadrature.
    for (h, degrees, factor) in [
        (2.0, 30.0, 0.216_506_350_9),
        (2.0, 60.0_f64, 0.125),
        (2.0, 75.0, 0.070_410_427_0),
        (2.0, 90.0, 0.028_834_442_8),
        (2.0, 100.0, 0.011_283_772_0),
        (1.5, 90.0, 0.074_110_073_1),
        (1.2, 80.0, 0.231_688_139_7),
        (3.0, 95.0, 0.004_053_742_2),
    ] {
        let (s, c) = degrees.to_radians().sin_cos();
        let place: Place = (Point3::origin(), Vector3::z());
        let kind = lamp(Point3::new(h * s, 0.0, h * c), 1.0);
        // A plate far below, for there is no scene without a model.
        let plate = sheet([-1.0, -1.0], [1.0, 1.0], -9.0);
        for count in [16, 256] {
            let value = lit(&plate, &[place], kind, count)[0];
            assert!((value - factor).abs() < 1e-7, "H {h}, {degrees}°, {count} points: {value}");
        }
    }
}

#[test]
fn a_lamp_half_set_behind_the_ground_gives_half() {
    // By symmetry: an upright element on the edge of level ground, facing a
    // lamp whose centre stands at ground level, sees its upper half.
    let ground = sheet([0.0, -50.0], [50.0, 50.0], 0.0);
    let place: Place = (Point3::new(0.0, 0.0, 1e-4), Vector3::x());
    for h in [2.0, 4.0] {
        for count in [64, 256, 1024] {
            let value = lit(&ground, &[place], lamp(Point3::new(h, 0.0, 0.0), 1.0), count)[0];
            let share = value * h * h;
            println!("H {h}, {count} points: {share:.5}");
            assert!((share - 0.5).abs() <= bound(count), "H {h}, {count} points: {share}");
        }
    }
}

#[test]
fn a_lamp_partly_set_behind_the_ground_gives_what_stands_above_it() {
    // Against a fine sum over the cone of directions in which the lamp stands;
    // the ground takes those that go down. The element is upright and faces it.
    let ground = sheet([0.0, -50.0], [50.0, 50.0], 0.0);
    let place: Place = (Point3::new(0.0, 0.0, 1e-4), Vector3::x());
    let (distance, n) = (3.0, 600);
    for height in [-0.7_f64, -0.3, 0.2, 0.6] {
        let to = Vector3::new((distance * distance - height * height).sqrt(), 0.0, height) / distance;
        let other = to.cross(&Vector3::y());
        let low = (1.0 - distance.powi(-2)).sqrt();
        let (mut above, mut all) = (0.0, 0.0);
        for i in 0..n {
            let c = low + (1.0 - low) * (f64::from(i) + 0.5) / f64::from(n);
            let s = (1.0 - c * c).sqrt();
            for j in 0..n {
                let (sa, ca) = (TAU * (f64::from(j) + 0.5) / f64::from(n)).sin_cos();
                let d = to * c + (Vector3::y() * ca + other * sa) * s;
                all += d.x.max(0.0);
                above += if d.z > 0.0 { d.x.max(0.0) } else { 0.0 };
            }
        }
        let open = sphere_light_open(to.x, distance, 1.0, 1.0);
        for count in [64, 256, 1024] {
            let at = place.0 + to * distance;
            let share = lit(&ground, &[place], lamp(at, 1.0), count)[0] / open;
            println!("height {height}, {count} points: {share:.5} {:.5}", above / all);
            assert!((share - above / all).abs() <= bound(count), "height {height}, {count}: {share}");
        }
    }
}

#[test]
fn what_stands_within_the_glass_or_the_clear_radius_blocks_nothing() {
    let place = |x: f64| -> Place { (Point3::new(x, 0.3, 0.0), Vector3::z()) };
    let places: Vec<Place> = (0..9).map(|i| place(0.5 * f64::from(i) - 2.0)).collect();
    let at = Point3::new(0.0, 0.0, 3.0);
    let within = moved(scaled(icosphere(2), 0.3), at.into());
    let far = sheet([-9.0, -9.0], [9.0, 9.0], -9.0);
    let glass = lamp(at, 0.5);
    let mut clear = lamp(at, 0.1);
    if let Kind::Point { clear, .. } = &mut clear {
        *clear = Millimetres(0.4);
    }
    for (kind, dark) in [(glass, false), (clear, false), (lamp(at, 0.1), true)] {
        let open = lit(&far, &places, kind, 64);
        let behind = lit(&[within.clone(), far.clone()].concat(), &places, kind, 64);
        assert!(open.iter().all(|v| *v > 0.0));
        assert_eq!(behind, if dark { vec![0.0; 9] } else { open }, "{kind:?}");
    }
}

/// A lamp of this radius so high above a disc.
const RADIUS: f64 = 0.5;
const LAMP_AT: f64 = 4.0;
const DISC_RADIUS: f64 = 1.0;
const DISC_AT: f64 = 2.0;

/// The share of the lamp's light that passes the disc, x from the axis: a fine
/// sum over the cone of directions in which the lamp stands, which knows
/// nothing of points on a glass.
fn passes(x: f64) -> f64 {
    let axis = Vector3::new(-x, 0.0, LAMP_AT);
    let distance = axis.norm();
    let axis = axis / distance;
    let side = Vector3::y();
    let other = axis.cross(&side);
    let low = (1.0 - (RADIUS / distance).powi(2)).sqrt();
    let n = 400;
    let (mut seen, mut all) = (0.0, 0.0);
    for i in 0..n {
        let c = low + (1.0 - low) * (f64::from(i) + 0.5) / f64::from(n);
        let s = (1.0 - c * c).sqrt();
        for j in 0..n {
            let (sa, ca) = (TAU * (f64::from(j) + 0.5) / f64::from(n)).sin_cos();
            let d = axis * c + (side * ca + other * sa) * s;
            let hit = d * (DISC_AT / d.z);
            all += d.z;
            if (x + hit.x).hypot(hit.y) > DISC_RADIUS {
                seen += d.z;
            }
        }
    }
    seen / all
}

#[test]
fn the_soft_edge_behind_a_disc_is_as_wide_as_its_tangents_say() {
    // Euclid: the shadow is full inside, and gone outside, of the tangents
    // from the lamp over the disc's edge.
    let (across, down) = (DISC_RADIUS, LAMP_AT - DISC_AT);
    let middle = across.atan2(down);
    let half = (RADIUS / across.hypot(down)).asin();
    let [full, gone] = [middle - half, middle + half].map(|a| DISC_RADIUS + DISC_AT * a.tan());
    let width = gone - full;
    assert!(middle + half < FRAC_PI_2 && (width - 1.1628).abs() < 1e-3, "{full} {gone}");

    let soup = disc(DISC_RADIUS, DISC_AT);
    let steps = 240_u32;
    let turns = [0.05_f64, 0.3, 1.0, 1.7, 2.4, 3.1, 3.7, 4.4, 5.0, 5.9];
    let x = |i: u32| full + width * (f64::from(i) / 200.0 - 0.1);
    let mut before = 0.0;
    for count in [64, 256, 1024] {
        let (mut worst, mut narrowest) = (0.0_f64, f64::INFINITY);
        for turn in turns {
            let place =
                |i| -> Place { (Point3::new(x(i) * turn.cos(), x(i) * turn.sin(), 0.0), Vector3::z()) };
            let places: Vec<Place> = (0..steps).map(place).collect();
            let values = lit(&soup, &places, lamp(Point3::new(0.0, 0.0, LAMP_AT), RADIUS), count);
            let share: Vec<f64> = (0..steps)
                .map(|i| {
                    let distance = x(i).hypot(LAMP_AT);
                    let open = sphere_light_open(LAMP_AT / distance, distance, RADIUS, RADIUS);
                    values[i as usize] / open
                })
                .collect();
            for i in (0..steps).step_by(10) {
                worst = worst.max((share[i as usize] - passes(x(i))).abs());
            }
            // The points stand on the lamp, so what they say is never wider
            // than the truth, but for the polygon that stands for the disc.
            let dark = (0..steps).rev().find(|i| share[*i as usize] == 0.0).expect("full shadow");
            let bright = (0..steps).find(|i| share[*i as usize] > 0.999_999).expect("full light");
            assert!(x(dark) > full - 0.01 && x(bright) < gone + 0.01, "{} {}", x(dark), x(bright));
            narrowest = narrowest.min((x(bright) - x(dark)) / width);
        }
        println!("{count} points: share wrong by {worst:.5}, width at least {narrowest:.3} of the true");
        assert!(worst <= bound(count), "{count} points: {worst}");
        assert!(narrowest > before, "{count} points: {narrowest}");
        before = narrowest;
    }
    assert!(before > 0.9, "{before}");
}

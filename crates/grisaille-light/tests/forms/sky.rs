//! Ambient light beside bodies that hide a known part of the sky.

use crate::{EVEN, Place, bound, lit};
use grisaille_bodies::{Receiver, disc, forms, groove, scaled, sheet, trench};
use grisaille_light::{Kind, Sky, ambient_open};
use nalgebra::{Point3, Vector3};
use std::collections::BTreeMap;

/// The form that is followed to 4096 directions.
const FINEST: &str = "ground beside a resting sphere";

#[test]
fn the_sky_beside_each_form_is_its_view_factor() {
    // Howell, A Catalog of Radiation Heat Transfer Configuration Factors, by
    // case name (section numbers not confirmed); the values by quadrature.
    let mut worst: BTreeMap<(&str, usize), f64> = BTreeMap::new();
    for form in forms() {
        let places: Vec<_> =
            form.receivers.iter().map(|r| (Point3::from(r.position), Vector3::from(r.normal))).collect();
        let counts = if form.name == FINEST { &[64, 256, 1024, 4096][..] } else { &[64, 256, 1024] };
        for &count in counts {
            for (e, receiver) in lit(&form.soup, &places, EVEN, count).iter().zip(&form.receivers) {
                let error = (e - receiver.sky).abs();
                let entry = worst.entry((form.name, count)).or_default();
                *entry = entry.max(error);
            }
        }
    }
    assert_eq!(worst.len(), 34, "eleven forms at three counts, one of them at four");
    for ((name, count), error) in &worst {
        println!("{name}, {count} directions: {error:.5}, allowed {:.5}", bound(*count));
    }
    for ((name, count), error) in &worst {
        assert!(*error <= bound(*count), "{name}, {count} directions: {error}");
        if let Some(coarser) = worst.get(&(*name, count / 4)) {
            assert!(error < coarser, "{name}: {count} directions are no better than {}", count / 4);
        }
    }
}

#[test]
fn the_sky_beside_each_form_is_the_same_at_any_size() {
    // A view factor has no length in it.
    let count = 64;
    for form in forms() {
        for scale in [1e-3, 1.0, 1e3] {
            let place = |r: &Receiver| (Point3::from(r.position) * scale, Vector3::from(r.normal));
            let places: Vec<Place> = form.receivers.iter().map(place).collect();
            let values = lit(&scaled(form.soup.clone(), scale), &places, EVEN, count);
            for (e, receiver) in values.iter().zip(&form.receivers) {
                assert!(
                    (e - receiver.sky).abs() <= bound(count),
                    "{} × {scale}: {e} {receiver:?}",
                    form.name
                );
            }
        }
    }
}

#[test]
fn the_mean_over_a_trench_s_floor_and_a_groove_s_wall_is_its_closed_form() {
    // Crossed strings (H. C. Hottel's rule; Siegel and Howell): the floor of a
    // trench w wide and d deep √(1 + (d/w)²) − d/w, the wall of a groove of
    // half angle a sin a.
    let n = 400;
    let step = |i: i32| (f64::from(i) + 0.5) / f64::from(n);
    let mean = |values: Vec<f64>| values.iter().sum::<f64>() / f64::from(n);
    let mut before = f64::INFINITY;
    for count in [64, 256, 1024] {
        let mut worst = 0.0_f64;
        for d in [0.5, 1.0, 2.0] {
            let places: Vec<Place> = (0..n).map(|i| (Point3::new(step(i), 0.0, -d), Vector3::z())).collect();
            let value = mean(lit(&trench(1.0, d), &places, EVEN, count));
            worst = worst.max((value - (1.0_f64.hypot(d) - d)).abs());
        }
        for a in [30.0_f64, 45.0, 60.0, 75.0] {
            let (s, c) = a.to_radians().sin_cos();
            let place = |i| (Point3::new(-step(i) * s, 0.0, step(i) * c), Vector3::new(c, 0.0, s));
            let places: Vec<Place> = (0..n).map(place).collect();
            worst = worst.max((mean(lit(&groove(a), &places, EVEN, count)) - s).abs());
        }
        println!("{count} directions: {worst:.5}, allowed {:.5}", bound(count));
        assert!(worst <= bound(count) && worst < before, "{count}: {worst}");
        before = worst;
    }
}

const OVERCAST: Kind = Kind::Ambient { sky: Sky::Overcast };

#[test]
fn the_overcast_sky_on_open_surfaces_is_its_closed_form() {
    // Moon and Spencer 1942, CIE S 011/E:2003: level 7/9 and upright
    // 1/6 + 4/(9π) of an even sky as bright as overhead, so 0.396 of level.
    assert!((ambient_open(1.0, Sky::Overcast) - 1.0).abs() < 1e-12);
    assert!((ambient_open(0.0, Sky::Overcast) - 0.396_177_077_8).abs() < 1e-10);
    assert!(ambient_open(-1.0, Sky::Overcast).abs() < 1e-12);
    // Every tilt against a fine sum over the sky, which knows no closed form;
    // the weight is written out again here.
    let plate = sheet([-1.0, -1.0], [1.0, 1.0], -9.0);
    for degrees in (0..=180).step_by(15) {
        let (s, c) = f64::from(degrees).to_radians().sin_cos();
        let n = 800;
        let (mut sum, mut level) = (0.0, 0.0);
        for i in 0..n {
            let z = (f64::from(i) + 0.5) / f64::from(n);
            let across = (1.0 - z * z).sqrt();
            let bright = 1.0 / 3.0 + z * 2.0 / 3.0;
            for j in 0..n {
                let a = std::f64::consts::TAU * (f64::from(j) + 0.5) / f64::from(n);
                sum += (s * across * a.cos() + c * z).max(0.0) * bright;
                level += z * bright;
            }
        }
        let open = ambient_open(c, Sky::Overcast);
        assert!((open - sum / level).abs() < 1e-5, "{degrees}°: {open} {}", sum / level);
        // And through the engine, where nothing but the plate below is there.
        let place: Place = (Point3::origin(), Vector3::new(s, 0.0, c));
        let value = lit(&plate, &[place], OVERCAST, 64)[0];
        assert!((value - open).abs() < 1e-6, "{degrees}°: {value} {open}");
    }
}

#[test]
fn the_overcast_sky_round_a_disc_is_its_closed_form() {
    // A disc over a level element hides the sky within ρ of overhead,
    // tan ρ = r/h: of π(1/3 + 4/9) it takes π(sin²ρ/3 + 4/9 (1 − cos³ρ)).
    for (h, r) in [(1.0_f64, 1.0_f64), (2.0, 1.0), (1.0, 2.0)] {
        let (s, c) = r.atan2(h).sin_cos();
        let expected = 1.0 - 9.0 / 7.0 * (s * s / 3.0 + 4.0 / 9.0 * (1.0 - c.powi(3)));
        for count in [64, 256, 1024] {
            let value = lit(&disc(r, h), &[(Point3::origin(), Vector3::z())], OVERCAST, count)[0];
            assert!((value - expected).abs() <= bound(count), "{h} {r}, {count}: {value} {expected}");
        }
        // The disc takes more than of an even sky: it hides the bright part.
        assert!(expected < 1.0 - s * s);
    }
}

//! Ambient light beside bodies that hide a known part of the sky.

use crate::{bound, lit};
use grisaille_bodies::forms;
use grisaille_light::Kind;
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
            for (e, receiver) in lit(&form.soup, &places, Kind::Ambient, count).iter().zip(&form.receivers) {
                let error = (e - receiver.sky).abs();
                let entry = worst.entry((form.name, count)).or_default();
                *entry = entry.max(error);
            }
        }
    }
    assert_eq!(worst.len(), 31, "ten forms at three counts, one at four");
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

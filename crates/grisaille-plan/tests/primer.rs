//! The primer plan as part of the whole: whom it serves, what it never does.

use grisaille_base::{LightId, Millimetres, Watch};
use grisaille_bodies::{Triangle, cuboid, icosphere, moved, scaled, stl};
use grisaille_mesh::{ReadSettings, read};
use grisaille_plan::{Plan, Products, Tone, plan};
use grisaille_scheme::{LightChoice, PrimerChoice, Scheme};
use std::sync::Arc;

fn products(soup: &[Triangle]) -> Products {
    let (mesh, _) = read(&stl(soup), &ReadSettings::default(), &Watch::quiet()).expect("a sound model");
    Products::new(Arc::new(mesh))
}

/// A ball of radius 6 that stands 1 mm deep in a base of 20 × 20 × 3.
fn ball_on_base() -> Vec<Triangle> {
    let mut soup = moved(scaled(icosphere(3), 6.0), [0.0, 0.0, 8.0]);
    soup.extend(cuboid([-10.0, -10.0, 0.0], [10.0, 10.0, 3.0]));
    soup
}

fn scheme() -> Scheme {
    let mut scheme = Scheme::default();
    scheme.surface.spacing = Some(Millimetres(0.8));
    scheme.fineness.ambient_directions = 32;
    scheme.primer.wanted = true;
    scheme
}

fn planned(scheme: &Scheme, soup: &[Triangle], watch: &Watch) -> Plan {
    assert_eq!(scheme.check(), Ok(()));
    plan(scheme, &mut products(soup), watch).expect("nobody cancels")
}

#[test]
fn it_is_planned_only_where_it_is_wanted_and_changes_nothing_else() {
    let mut plain = scheme();
    plain.primer = PrimerChoice::default();
    let watch = Watch::quiet();
    let (with, without) =
        (planned(&scheme(), &ball_on_base(), &watch), planned(&plain, &ball_on_base(), &watch));
    assert!(without.primer.is_none());
    assert_eq!((with.values, with.bands, with.zones), (without.values, without.bands, without.zones));
    assert!(with.primer.is_some());
}

#[test]
fn more_passes_are_never_worse_and_covers_are_shares() {
    for lamp in [None, Some([-12.0, -10.0, 9.0]), Some([0.0, 14.0, 3.5])] {
        let mut scheme = scheme();
        if let Some(at) = lamp {
            scheme.add_lamp("lamp", at, Some(Millimetres(8.0)), Millimetres(0.0)).expect("a lamp");
        }
        let plan = planned(&scheme, &ball_on_base(), &Watch::quiet());
        let primer = plan.primer.as_ref().expect("a primer plan");
        assert!(primer.three.remaining.rms <= primer.two.remaining.rms);
        assert!(primer.two.remaining.rms < 25.0, "{:?}", primer.two.remaining);
        let tones: Vec<Tone> = primer.three.passes.iter().map(|p| p.tone).collect();
        assert!(tones.is_sorted() && !tones.contains(&Tone::Dark), "{tones:?}");
        assert_eq!(primer.covers.len(), primer.advised().passes.len());
        let covers = primer.covers.iter().chain([&primer.once_cover]).chain(&primer.dry_brush.covers);
        for cover in covers {
            assert_eq!(cover.len(), plan.surface.samples.len());
            for (i, c) in cover.iter().enumerate() {
                assert!((0.0..=1.0).contains(c));
                assert!(*c == 0.0 || !plan.surface.samples.buried.get(i));
            }
        }
        let left = [&primer.two.remaining, &primer.dry_brush.remaining];
        for left in left.into_iter().chain(&primer.all_round) {
            assert!((0.0..=1.0).contains(&left.within_step) && left.rms > 0.0);
            assert!(left.worst.as_ref().is_some_and(|w| w.share >= 0.01 && w.lighter.is_finite()));
        }
    }
}

#[test]
fn a_plan_of_light_from_one_side_is_sprayed_from_that_side() {
    // One sharp light from the viewer's right, 60° off straight down: the light
    // coat comes from within a step of the grid of there.
    let mut scheme = scheme();
    scheme.lights.truncate(1);
    assert_eq!(scheme.lights[0].id, LightId(0));
    scheme.lights[0].choice = LightChoice::Zenithal { tilt: 60.0, azimuth: 90.0, radius: 0.0 };
    let plan = planned(&scheme, &ball_on_base(), &Watch::quiet());
    let primer = plan.primer.expect("a primer plan");
    let light = primer.two.passes.last().expect("two passes");
    assert_eq!(light.tone, Tone::Light);
    assert!((light.axis.tilt - 60.0).abs() <= 15.0, "{light:?}");
    assert!((light.axis.azimuth - 90.0).abs() <= 45.0, "{light:?}");
    // The base does not count: without it the answer is the same to the eye.
    assert!(primer.two.remaining.rms < 10.0, "{:?}", primer.two.remaining);
}

#[test]
fn threads_do_not_count() {
    let of = |threads| {
        let watch = Watch::with_threads(threads).expect("threads");
        planned(&scheme(), &ball_on_base(), &watch).primer.expect("a primer plan")
    };
    assert_eq!(of(1), of(4));
}

#[test]
fn odd_models_get_an_answer_or_none_but_never_a_panic() {
    let sheet = grisaille_bodies::sheet([0.0, 0.0], [4.0, 4.0], 1.0);
    let needle = cuboid([0.0, 0.0, 0.0], [0.01, 0.01, 30.0]);
    let speck = scaled(icosphere(1), 1e-3);
    let large = scaled(icosphere(1), 1e3);
    for soup in [sheet, needle, speck, large] {
        let mut scheme = scheme();
        scheme.surface.spacing = None;
        scheme.surface.cap = 20_000;
        let plan = planned(&scheme, &soup, &Watch::quiet());
        if let Some(primer) = &plan.primer {
            assert!(primer.two.remaining.rms.is_finite() && primer.dry_brush.remaining.rms.is_finite());
        }
    }
}

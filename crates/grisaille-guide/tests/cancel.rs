//! Pictures and sheets of a whole plan, cancelled at any question.

use grisaille_base::{Millimetres, Stop, Watch};
use grisaille_bodies::{cuboid, icosphere, moved, scaled, stl};
use grisaille_guide::{Heading, Subject, compose};
use grisaille_mesh::{ReadSettings, read};
use grisaille_picture::{Coat, Frame, Look, Scene, View};
use grisaille_plan::{Plan, Products, Shelf, coloured, plan};
use grisaille_scheme::{LightChoice, RegionPaint, Scheme};
use grisaille_words::Words;
use std::sync::Arc;

/// A ball on a base under all kinds of light, primer and all.
fn planned() -> (Scheme, Plan) {
    let mut soup = moved(scaled(icosphere(3), 6.0), [0.0, 0.0, 8.0]);
    soup.extend(cuboid([-10.0, -10.0, 0.0], [10.0, 10.0, 3.0]));
    let (mesh, _) = read(&stl(&soup), &ReadSettings::default(), &Watch::quiet()).expect("a sound model");
    let mut scheme = Scheme::default();
    scheme.surface.spacing = Some(Millimetres(0.8));
    scheme.fineness.ambient_directions = 16;
    scheme.primer.wanted = true;
    scheme
        .add_lamp("lamp", [-12.0, -10.0, 9.0], Some(Millimetres(8.0)), Millimetres(0.0))
        .expect("room for a lamp");
    assert!(scheme.lights.iter().any(|l| matches!(l.choice, LightChoice::Zenithal { .. })));
    let plan = plan(&scheme, &mut Products::new(Arc::new(mesh)), &Watch::quiet()).expect("nobody cancels");
    (scheme, plan)
}

/// Cancels `run` at its first question, after one of so many parts of its
/// questions, two of them and so on; it must heed each, and none may change what
/// comes out at last.
fn cancelled_anywhere<T: PartialEq>(name: &str, parts: u64, run: impl Fn(&Watch) -> Result<T, Stop>) {
    let watch = |asks| Watch::with_threads(1).expect("a thread").stopping_after(asks);
    let counted = watch(u64::MAX);
    let truth = run(&counted).ok();
    assert!(truth.is_some(), "{name}: nobody cancels");
    let asked = u64::MAX - counted.asks_left().expect("a count");
    assert!(asked >= parts, "{name}: {asked} questions in all");
    for k in 0..parts {
        assert!(run(&watch(asked * k / parts)).is_err(), "{name}: after {k} of {parts} parts of {asked}");
    }
    assert!(run(&watch(u64::MAX)).ok() == truth, "{name}: not the same afterwards");
}

#[test]
fn a_picture_cancelled_anywhere_gives_nothing() {
    let (_, plan) = planned();
    let frame = Frame::fit(&plan.surface.samples.position, View::three_quarter(), 12.0, 1.0);
    for look in [Look::Values, Look::Tones, Look::Zones, Look::Primed(Coat::Light), Look::Sprayed(1)] {
        cancelled_anywhere(&format!("{look:?}"), 10, |watch| {
            Scene::new(&plan, &frame, 12.0, watch)?.shade(look, watch)?.image.png(12.0, watch)
        });
    }
}

#[test]
fn sheets_cancelled_anywhere_give_nothing() {
    let (mut scheme, mut plan) = planned();
    let heading =
        Heading { title: "Ball".into(), model_file: "ball.stl".into(), made_with: "grisaille".into() };
    let plain = Subject {
        plan: &plan,
        scheme: &scheme,
        findings: &[],
        coloured: None,
        form: None,
        words: Words::english(),
    };
    cancelled_anywhere("sheets", 3, |watch| compose(&plain, &heading, watch));
    scheme.colours.regions = vec![RegionPaint {
        name: "ball".into(),
        rest: true,
        colour: "#b06f45".into(),
        ..RegionPaint::default()
    }];
    let coloured = coloured(&scheme, &mut plan, &Shelf::empty(), Words::english(), &Watch::quiet())
        .expect("nobody cancels");
    let subject = Subject {
        plan: &plan,
        scheme: &scheme,
        findings: &[],
        coloured: Some(&coloured),
        form: None,
        words: Words::english(),
    };
    let sheets = compose(&subject, &heading, &Watch::quiet()).expect("nobody cancels");
    assert_eq!(sheets.stages.len(), coloured.stages.len());
    cancelled_anywhere("sheets in colour", 3, |watch| compose(&subject, &heading, watch));
}

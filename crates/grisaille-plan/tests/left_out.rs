//! Parts that are left out are as if they had never been in the file.

use grisaille_base::{Code, Millimetres, Stop, Watch};
use grisaille_bodies::{Triangle, cuboid, icosphere, moved, scaled, stl, tower};
use grisaille_mesh::{Mesh, ReadSettings, read};
use grisaille_plan::{LeaveError, Loaded, Products, leave_out, plan};
use grisaille_scheme::{PartChoice, Scheme};
use std::sync::Arc;

fn ball() -> Vec<Triangle> {
    moved(scaled(icosphere(3), 6.0), [0.0, 0.0, 8.0])
}

fn base() -> Vec<Triangle> {
    cuboid([-10.0, -10.0, 0.0], [10.0, 10.0, 3.0])
}

fn mesh(soup: &[Triangle]) -> Mesh {
    read(&stl(soup), &ReadSettings::default(), &Watch::quiet()).expect("a sound model").0
}

fn rest(mesh: &Mesh, base: bool, parts: &[[f64; 3]]) -> Result<Loaded, LeaveError> {
    let choice = PartChoice { base, parts: parts.to_vec(), ..PartChoice::default() };
    leave_out(mesh.clone(), Vec::new(), &choice, &Watch::quiet())
}

fn codes(loaded: &Loaded) -> Vec<Code> {
    loaded.findings.iter().map(|f| f.code).collect()
}

#[test]
fn what_is_left_is_planned_as_if_the_rest_had_never_been_there() {
    let whole = mesh(&[ball(), base()].concat());
    let mut scheme = Scheme::default();
    scheme.surface.spacing = Some(Millimetres(0.8));
    scheme.fineness.ambient_directions = 32;
    let lightness = |mesh: Mesh| {
        let plan =
            plan(&scheme, &mut Products::new(Arc::new(mesh)), &Watch::quiet()).expect("nobody cancels");
        plan.values.lightness
    };
    // The ball by a point on it, a little off as after a new export; the base by its name.
    let without_ball = rest(&whole, false, &[[0.0, 0.1, 14.2]]).unwrap();
    let without_base = rest(&whole, true, &[]).unwrap();
    assert_eq!((codes(&without_ball), codes(&without_base)), (vec![Code::LeftOut], vec![Code::LeftOut]));
    assert_eq!((without_ball.whole_height, without_base.whole_height), (14.0, 14.0));
    assert_eq!(lightness(without_ball.mesh), lightness(mesh(&base())));
    assert_eq!(lightness(without_base.mesh), lightness(mesh(&ball())));
    // Nothing asked for, nothing changed.
    assert_eq!(rest(&whole, false, &[]).unwrap().mesh, whole);
}

#[test]
fn a_part_that_is_not_there_is_told_and_nothing_else_is_taken_for_it() {
    let whole = mesh(&[ball(), base()].concat());
    let loaded = rest(&whole, false, &[[0.0, 0.0, 20.0]]).unwrap();
    assert_eq!((codes(&loaded), loaded.mesh), (vec![Code::PartNotFound], whole.clone()));
    let ball = mesh(&ball());
    let loaded = rest(&ball, true, &[]).unwrap();
    assert_eq!((codes(&loaded), loaded.mesh), (vec![Code::PartNotFound], ball.clone()));
    assert_eq!(rest(&whole, true, &[[0.0, 0.0, 14.0]]).unwrap_err(), LeaveError::Everything);
    let watch = Watch::quiet();
    watch.cancel_handle().store(true, std::sync::atomic::Ordering::Relaxed);
    let choice = PartChoice { base: true, ..PartChoice::default() };
    assert_eq!(leave_out(whole, Vec::new(), &choice, &watch).unwrap_err(), LeaveError::Stop(Stop));
}

#[test]
fn a_fused_base_is_cut_away_at_its_top_and_the_cut_is_told() {
    // A square plate, 20 wide and 3 high, that a square post of 6 rises from,
    // one piece.
    let soup = tower(&[[10.0, 0.0], [10.0, 3.0], [3.0, 3.0], [3.0, 30.0]]);
    let whole = mesh(&soup);
    assert!(whole.pieces().len() == 1 && whole.pieces()[0].closed);
    let loaded = rest(&whole, true, &[]).unwrap();
    assert_eq!(codes(&loaded), [Code::LeftOut, Code::OpenEdges]);
    // The four sides of the post and its top.
    assert_eq!((loaded.mesh.faces().len(), loaded.mesh.bounds().low[2]), (10, 3.0));
    assert!(!loaded.mesh.pieces()[0].closed);
}

//! What is set by hand: light, values, by keyboard alone.

use crate::{Painter, controls, open, said, settle, window};
use eframe::egui::{Key, Modifiers, Role};
use egui_kittest::kittest::Queryable;
use grisaille_scheme::{LightChoice, PrimerTones, read_document};
use std::fs;

#[test]
fn bounce_and_primer_tones_are_set_by_hand() {
    let mut painter = open(&[], None, 1.0);
    settle(&mut painter);
    painter.key_press(Key::F3);
    painter.run_steps(3);
    // A slider by keyboard: each press of the arrow is a step.
    let slider = painter.get_by_role_and_label(Role::Slider, "Thrown back");
    slider.focus();
    painter.run_steps(2);
    for _ in 0..20 {
        painter.key_press(Key::ArrowRight);
        painter.run_steps(1);
    }
    assert!(window(&mut painter).document().scheme.bounce.albedo > 0.1);
    settle(&mut painter);
    painter.key_press(Key::F6);
    painter.run_steps(3);
    for (name, tones) in [("warm", Some(PrimerTones::Warm)), ("no primer plan", None)] {
        painter.get_by_role_and_label(Role::Button, name).click_accesskit();
        painter.run_steps(3);
        assert_eq!(window(&mut painter).document().scheme.primer.tones, tones);
    }
    settle(&mut painter);
}

#[test]
fn the_work_goes_by_keyboard_alone() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("ball.grisaille");
    let mut painter = open(&[], None, 1.0);
    let lamp = |painter: &mut Painter| match window(painter).document().scheme.lights[3].choice {
        LightChoice::Lamp { at, .. } => at,
        _ => panic!("the lamp"),
    };
    let before = lamp(&mut painter);
    painter.key_press(Key::Num1);
    settle(&mut painter);
    painter.key_press_modifiers(Modifiers::COMMAND, Key::ArrowRight);
    settle(&mut painter);
    let after = lamp(&mut painter);
    // Seen from the front, right is +X.
    assert!(after[0] > before[0] && after[1] == before[1] && after[2] == before[2], "{before:?} {after:?}");
    painter.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    settle(&mut painter);
    assert_eq!(lamp(&mut painter), before);
    painter.key_press_modifiers(Modifiers::COMMAND | Modifiers::SHIFT, Key::Z);
    settle(&mut painter);
    assert_eq!(lamp(&mut painter), after);
    // Saving asks for a place; the path is typed.
    painter.key_press_modifiers(Modifiers::COMMAND, Key::S);
    painter.run_steps(3);
    painter.get_by_role_and_label(Role::TextInput, "Name and place").set_text_value_accesskit("");
    painter.run_steps(2);
    painter.get_by_role_and_label(Role::TextInput, "Name and place").type_text(&file.display().to_string());
    painter.run_steps(2);
    painter.key_press(Key::Enter);
    painter.run_steps(4);
    let text = fs::read_to_string(&file).expect("the scheme is there");
    assert_eq!(read_document(&text).as_ref(), Ok(window(&mut painter).document()), "{text}");
    assert!(said(&mut painter).contains("Saved"), "{}", said(&mut painter));
}

#[test]
fn a_spot_draws_the_eye_and_another_stays_fine_by_keyboard() {
    let mut painter = open(&[], None, 1.0);
    painter.key_press(Key::F4);
    painter.key_press(Key::Num1);
    settle(&mut painter);
    let before = window(&mut painter).document().clone();
    for tool in ["Draw the eye to…", "Keep as fine as it is…"] {
        painter.get_by_role_and_label(Role::Button, tool).click_accesskit();
        painter.run_steps(3);
        // The keyboard is at the figure now, and Enter takes its middle.
        painter.key_press(Key::Enter);
        settle(&mut painter);
    }
    let scheme = window(&mut painter).document().scheme.clone();
    let [focus] = scheme.emphasis.focus.as_slice() else { panic!("{:?}", scheme.emphasis) };
    let [keep] = scheme.brush.keep.as_slice() else { panic!("{:?}", scheme.brush) };
    // The middle of the view from the front is the ball's front.
    for at in [focus.at, keep.at] {
        let far = at[0].hypot(at[1]).hypot(at[2] - 8.0);
        assert!(at[1] < -3.0 && (far - 6.0).abs() < 0.2, "{at:?}");
    }
    // Both have their controls, which are named; what was set is undone in two steps.
    let (named, nameless) = controls(&painter);
    assert!(nameless.is_empty(), "{nameless:?}");
    for label in ["How much", "How wide", "How wide it stays fine", "Even this spot out again"] {
        assert!(painter.query_all_by_label(label).next().is_some(), "no '{label}' among {named:?}");
    }
    for _ in 0..2 {
        painter.key_press_modifiers(Modifiers::COMMAND, Key::Z);
        settle(&mut painter);
    }
    assert_eq!(*window(&mut painter).document(), before);
}

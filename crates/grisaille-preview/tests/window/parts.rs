//! Parts of the figure: hidden, left out, divided into regions.

use crate::{Painter, controls, open, press, said, settle, shows, window};
use eframe::egui::{Key, Modifiers, Role, vec2};
use egui_kittest::kittest::{NodeT, Queryable};
use grisaille_bodies::{ball_on_supports, stl};
use grisaille_scheme::read_document;
use std::fs;

#[test]
fn a_hidden_part_is_a_step_to_undo_and_stays_hidden_in_the_file() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("hidden.grisaille");
    let mut painter = open(&[], None, 1.0);
    let parts = |painter: &mut Painter| window(painter).document().scheme.hidden.parts.len();
    painter.key_press(Key::F1);
    painter.run_steps(3);
    painter.get_by_role_and_label(Role::Button, "Hide a part").click();
    painter.run_steps(2);
    painter.key_press(Key::Enter);
    painter.run_steps(3);
    assert_eq!(parts(&mut painter), 1, "{}", said(&mut painter));
    settle(&mut painter);
    // It is gone from under the pointer too: behind the ball lies its plate, and
    // behind that nothing.
    for (count, beside) in [(2, false), (2, true)] {
        painter.key_press(Key::Enter);
        painter.run_steps(3);
        assert_eq!((parts(&mut painter), said(&mut painter).contains("beside")), (count, beside));
    }
    assert!(window(&mut painter).save_to(&file));
    let text = fs::read_to_string(&file).expect("the file");
    let kept = read_document(&text).expect("a scheme").scheme.hidden;
    assert_eq!(kept, window(&mut painter).document().scheme.hidden);
    painter.key_press(Key::Escape);
    painter.run_steps(2);
    // It may lie further down on the card than the window is high.
    painter.get_by_role_and_label(Role::Button, "Show all parts").click_accesskit();
    painter.run_steps(3);
    assert_eq!(parts(&mut painter), 0);
    for count in [2, 1, 0] {
        window(&mut painter).undo();
        assert_eq!(parts(&mut painter), count);
    }
}

#[test]
fn a_part_left_out_is_gone_from_the_plan_until_it_is_taken_back() {
    let mut painter = open(&[], None, 1.0);
    let chosen = |painter: &mut Painter| {
        settle(painter);
        let scheme = &window(painter).document().scheme;
        (scheme.hidden.parts.len(), scheme.left_out.parts.len(), scheme.left_out.base)
    };
    let tells = |painter: &mut Painter, words: &str| {
        let found = painter.query_by_label_contains(words).is_some();
        assert!(found, "not told: {words}");
    };
    painter.key_press(Key::F1);
    painter.run_steps(3);
    tells(&mut painter, "14.0 mm tall with its base");
    // Hidden first: a part that is left out is no longer a hidden one.
    for name in ["Hide a part", "Leave out a part"] {
        painter.get_by_role_and_label(Role::Button, name).click_accesskit();
        painter.run_steps(2);
        painter.key_press(Key::Enter);
        painter.run_steps(3);
        painter.key_press(Key::Escape);
        painter.run_steps(2);
        if name == "Hide a part" {
            assert_eq!(chosen(&mut painter), (1, 0, false));
            painter.get_by_role_and_label(Role::Button, "Show all parts").click_accesskit();
            painter.run_steps(3);
        }
    }
    assert_eq!(chosen(&mut painter), (0, 1, false), "{}", said(&mut painter));
    tells(&mut painter, "3.0 mm tall without");
    window(&mut painter).undo();
    assert_eq!(chosen(&mut painter), (0, 0, false));
    painter.get_by_role_and_label(Role::Button, "Leave out the base").click_accesskit();
    painter.run_steps(3);
    assert_eq!(chosen(&mut painter), (0, 0, true));
    tells(&mut painter, "12.0 mm tall without");
    painter.get_by_role_and_label(Role::Button, "Leave out the base").click_accesskit();
    painter.run_steps(3);
    assert_eq!(chosen(&mut painter), (0, 0, false));
    tells(&mut painter, "14.0 mm tall with its base");
}

#[test]
fn supports_are_left_out_by_a_switch_where_some_are_sure() {
    const NAME: &str = "Leave out supports";
    let offered = |painter: &mut Painter| {
        settle(painter);
        painter.key_press(Key::F1);
        painter.run_steps(3);
        painter.query_by_role_and_label(Role::Button, NAME).is_some()
    };
    assert!(!offered(&mut open(&[], None, 1.0)), "a ball on its base has none");
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("held.stl");
    fs::write(&path, stl(&ball_on_supports())).expect("a model");
    let mut painter = open(&[path], None, 1.0);
    assert!(offered(&mut painter));
    let held = |painter: &mut Painter, out: bool, words: &str| {
        settle(painter);
        assert_eq!(window(painter).document().scheme.left_out.supports, out);
        assert!(shows(painter, words), "not told: {words}");
        // It can be taken back although no supports are there any more.
        assert!(painter.query_by_role_and_label(Role::Button, NAME).is_some());
    };
    held(&mut painter, false, "20.0 mm tall");
    press(&mut painter, NAME);
    held(&mut painter, true, "12.0 mm tall without what is left out");
    window(&mut painter).undo();
    held(&mut painter, false, "20.0 mm tall");
    window(&mut painter).redo();
    held(&mut painter, true, "12.0 mm tall");
    press(&mut painter, NAME);
    held(&mut painter, false, "20.0 mm tall");
    // Two columns are perhaps supports: nothing is offered that would do nothing.
    let path = folder.path().join("perhaps.stl");
    fs::write(&path, stl(&ball_on_supports()[..1280 + 12 + 2 * 20])).expect("a model");
    assert!(!offered(&mut open(&[path], None, 1.0)));
}

#[test]
fn regions_are_chosen_named_joined_divided_and_undone() {
    let mut painter = open(&[], None, 1.0);
    settle(&mut painter);
    let steps = |painter: &mut Painter| window(painter).document().scheme.regions.steps.len();
    let listed =
        |painter: &Painter, name: &str| painter.query_by_role_and_label(Role::Button, name).is_some();
    painter.key_press(Key::F2);
    painter.run_steps(3);
    painter.get_by_role_and_label(Role::Button, "By pieces").click_accesskit();
    painter.run_steps(3);
    settle(&mut painter);
    // The base is larger than the ball.
    assert!(listed(&painter, "region 1") && listed(&painter, "region 2") && !listed(&painter, "region 3"));
    painter.get_by_role_and_label(Role::Button, "region 2").click_accesskit();
    painter.run_steps(3);
    let (named, nameless) = controls(&painter);
    assert!(nameless.is_empty() && named.iter().any(|n| n == "Name"), "{nameless:?} {named:?}");
    painter.get_by_role_and_label(Role::TextInput, "Name").focus();
    painter.run_steps(2);
    painter.key_press_modifiers(Modifiers::COMMAND, Key::A);
    painter.get_by_role_and_label(Role::TextInput, "Name").type_text("the ball");
    painter.run_steps(2);
    painter.key_press(Key::Enter);
    painter.run_steps(3);
    settle(&mut painter);
    assert!(listed(&painter, "the ball") && steps(&mut painter) == 1, "{}", said(&mut painter));
    painter.get_by_role_and_label(Role::Button, "Locked").click_accesskit();
    painter.run_steps(3);
    settle(&mut painter);
    // What is locked cannot be divided.
    assert!(painter.get_by_role_and_label(Role::Button, "Divide…").accesskit_node().is_disabled());
    painter.get_by_role_and_label(Role::Button, "Locked").click_accesskit();
    painter.run_steps(3);
    settle(&mut painter);
    assert_eq!(steps(&mut painter), 3);
    // A stroke from the ball down over the base joins the two.
    painter.get_by_role_and_label(Role::Button, "Join by a stroke").click_accesskit();
    painter.run_steps(3);
    let pane = painter.get_by_role(Role::Image).rect();
    let at = |y: f32| pane.min + vec2(0.5 * pane.width(), y * pane.height());
    let line: Vec<_> = (0..=20).map(|k| at(0.4 + 0.45 * k as f32 / 20.0)).collect();
    painter.hover_at(line[0]);
    painter.run_steps(1);
    painter.drag_at(line[0]);
    painter.run_steps(1);
    for place in &line {
        painter.hover_at(*place);
        painter.run_steps(1);
    }
    painter.drop_at(line[20]);
    painter.run_steps(3);
    settle(&mut painter);
    assert_eq!(steps(&mut painter), 4, "{}", said(&mut painter));
    assert!(listed(&painter, "the ball") && !listed(&painter, "region 1"), "{}", said(&mut painter));
    window(&mut painter).undo();
    painter.run_steps(3);
    settle(&mut painter);
    assert!(listed(&painter, "the ball") && listed(&painter, "region 1"));
    // The same by keyboard: the base is chosen in the list, the ball lies in the middle of the view.
    painter.key_press(Key::Escape);
    painter.run_steps(2);
    painter.get_by_role_and_label(Role::Button, "region 1").click_accesskit();
    painter.run_steps(2);
    painter.get_by_role_and_label(Role::Button, "Join by a stroke").click_accesskit();
    painter.run_steps(3);
    painter.key_press(Key::Enter);
    painter.run_steps(3);
    settle(&mut painter);
    assert!(!listed(&painter, "the ball") && listed(&painter, "region 1"), "{}", said(&mut painter));
}

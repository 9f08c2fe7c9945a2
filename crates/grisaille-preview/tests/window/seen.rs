//! What is on screen: every control has a name, steps choose looks, two views fit.

use crate::{controls, open, open_sized, settle, window};
use eframe::egui::{Key, Role};
use egui_kittest::kittest::Queryable;
use grisaille_preview::{Look, Step};
use std::time::Duration;

#[test]
fn every_control_of_every_step_has_a_name_at_every_size() {
    for pixels in [1.0, 2.0, 3.0] {
        let mut painter = open(&[], None, pixels);
        let keys = [Key::F1, Key::F2, Key::F3, Key::F4, Key::F5, Key::F6];
        for (key, step) in keys.into_iter().zip(Step::ALL) {
            painter.key_press(key);
            painter.run_steps(3);
            let (named, nameless) = controls(&painter);
            assert!(nameless.is_empty(), "{step:?}: {nameless:?} beside {named:?}");
            assert!(named.len() > 12, "{step:?}: {named:?}");
        }
    }
}

#[test]
fn on_a_small_window_two_views_keep_their_figures_free() {
    let mut painter = open_sized(&[], None, 1.0, [640.0, 420.0]);
    painter.key_press(Key::F6);
    painter.run_steps(3);
    settle(&mut painter);
    let (named, nameless) = controls(&painter);
    assert!(nameless.is_empty(), "{nameless:?} beside {named:?}");
    let has = |named: &[String], name: &str| named.iter().any(|n| n == name);
    assert!(has(&named, "How the second figure is seen") && !has(&named, "Squint"), "{named:?}");
    // One button on each figure, in its upper corner; all else waits in its menu.
    let button = painter.get_by_role_and_label(Role::Button, "How the figure is seen");
    assert!(button.rect().height() < 40.0 && button.rect().width() < 150.0, "{:?}", button.rect());
    button.click();
    painter.run_steps(4);
    let (named, nameless) = controls(&painter);
    assert!(nameless.is_empty(), "{nameless:?} beside {named:?}");
    assert!(has(&named, "Squint") && has(&named, "by recesses") && has(&named, "Back"), "{named:?}");
    painter.get_by_role_and_label(Role::Button, "by recesses").click();
    painter.run_steps(3);
    settle(&mut painter);
    assert!(matches!(window(&mut painter).seen().0, Look::Openness(_)));
}

#[test]
fn each_light_shows_its_own_controls() {
    let mut painter = open(&[], None, 1.0);
    painter.key_press(Key::F3);
    painter.run_steps(3);
    for (light, control) in [
        ("zenithal", "Softness"),
        ("ambient", "Overcast sky"),
        ("hand-lamp", "Full light at"),
        ("ring", "Strength"),
    ] {
        painter.get_by_role_and_label(Role::Button, light).click();
        painter.run_steps(3);
        assert!(painter.query_all_by_label(control).next().is_some(), "{light}: no '{control}'");
        let (named, nameless) = controls(&painter);
        assert!(nameless.is_empty(), "{light}: {nameless:?} beside {named:?}");
    }
}

#[test]
fn steps_choose_what_is_seen() {
    let mut painter = open(&[], None, 1.0);
    for (key, look) in [
        (Key::F1, Look::Primed),
        (Key::F2, Look::Regions),
        (Key::F3, Look::Greys),
        (Key::F4, Look::Bands),
        (Key::F5, Look::Colours),
    ] {
        painter.key_press(key);
        settle(&mut painter);
        assert_eq!(window(&mut painter).seen().0, look);
    }
}

#[test]
fn an_idle_window_asks_for_no_frames() {
    let mut painter = open(&[], None, 1.0);
    painter.run_steps(60);
    let output = painter.output();
    let delay = output.viewport_output.values().map(|v| v.repaint_delay).min();
    assert!(delay.is_none_or(|d| d > Duration::from_secs(3)), "{delay:?}");
}

//! Colours: chosen, mixed, told, and the same as the plan's.

use crate::painting::assert_as_planned;
use crate::{Painter, controls, open, press, said, settle, shows, window};
use eframe::egui::{Key, Modifiers, Role};
use egui_kittest::kittest::Queryable;
use grisaille_preview::Look;
use std::fs;
use std::path::{Path, PathBuf};

/// A list of invented paints.
pub(crate) const PAINTS: &str = "name,hex,type,stock
Shell white,#f1ece0,opaque,1
Reef black,#1b1c20,opaque,1
Wreck rust,#9a4a22,opaque,1
Sailcloth,#c9b892,opaque,1
Trench blue,#1f3a6b,opaque,1
";

/// A scheme on a file of its own: the ball in canvas, its plate unpainted.
pub(crate) fn coloured_scheme(folder: &Path, more: &str) -> PathBuf {
    let file = folder.join("ball.grisaille");
    let text = format!(
        "version = 1
title = \"Ball\"
route = \"sketch\"
{more}

[paints]
file = \"paints.csv\"

[[model]]
built_in = \"diver\"

[surface]
spacing = 1.0

[regions]
by = \"pieces\"

[[palette]]
name = \"canvas\"
colour = \"#c4b590\"
share = 80

[[region]]
name = \"ball\"
at = [[0.0, 0.0, 14.0]]
colour = \"canvas\"
material = \"cloth\"
"
    );
    fs::write(&file, text).expect("a scheme");
    file
}

#[test]
fn colours_are_chosen_mixed_changed_and_undone() {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("paints.csv"), PAINTS).expect("paints");
    let file = coloured_scheme(folder.path(), "");
    let mut painter = open(std::slice::from_ref(&file), None, 1.0);
    painter.key_press(Key::F5);
    painter.run_steps(3);
    settle(&mut painter);
    assert_eq!(window(&mut painter).seen().0, Look::Colours);
    assert!(shows(&painter, "5 at hand"));
    // The ball alone is painted: its plate is told to have no colour.
    assert!(shows(&painter, "regions without a colour") || shows(&painter, "Regions without a colour"));
    let colouring = &window(&mut painter).painted().expect("colours").colouring;
    assert_eq!(colouring.rows.len(), 1);
    // A click on the ball chooses its colour, and its steps are told with their mixes.
    painter.key_press(Key::Num1);
    settle(&mut painter);
    let pane = painter.get_by_role(Role::Image).rect();
    let middle = pane.center();
    painter.hover_at(middle);
    painter.run_steps(1);
    painter.drag_at(middle);
    painter.run_steps(1);
    painter.drop_at(middle);
    painter.run_steps(3);
    settle(&mut painter);
    assert_eq!(window(&mut painter).chosen_entry(), Some(0), "{}", said(&mut painter));
    let (named, nameless) = controls(&painter);
    assert!(nameless.is_empty(), "{nameless:?} beside {named:?}");
    for label in ["Called", "What it is made of", "Colour", "Pick"] {
        assert!(named.iter().any(|n| n == label), "no '{label}' in {named:?}");
    }
    assert!(shows(&painter, "Sailcloth"), "a mix");
    // Another colour by the name of a paint; typed, and kept when the field is left.
    let base = |painter: &mut Painter| window(painter).painted().expect("colours").colouring.rows[0].base;
    let before = base(&mut painter);
    painter.get_by_role_and_label(Role::TextInput, "Colour").focus();
    painter.run_steps(2);
    painter.key_press_modifiers(Modifiers::COMMAND, Key::A);
    painter.get_by_role_and_label(Role::TextInput, "Colour").type_text("wreck rust");
    painter.run_steps(2);
    painter.key_press(Key::Enter);
    painter.run_steps(3);
    settle(&mut painter);
    let after = base(&mut painter);
    assert!(after.a > before.a + 10.0 && after.l < before.l - 10.0, "{before:?} {after:?}");
    // The paint of all the rest paints the plate too.
    press(&mut painter, "All the rest");
    let painted = window(&mut painter).painted().expect("colours");
    assert_eq!(painted.colouring.rows[0].regions.len(), 2);
    assert!(window(&mut painter).save_to(&file));
    let text = fs::read_to_string(&file).expect("the scheme");
    assert!(text.contains("colour = \"wreck rust\"") && text.contains("rest = true"), "{text}");
    // Beside the scheme its list of paints is named as it was, and never written to.
    assert!(text.contains("file = \"paints.csv\""), "{text}");
    for _ in 0..2 {
        window(&mut painter).undo();
    }
    painter.run_steps(3);
    settle(&mut painter);
    assert_eq!(base(&mut painter), before);
    assert_eq!(window(&mut painter).painted().expect("colours").colouring.rows[0].regions.len(), 1);
}

#[test]
fn the_window_colours_as_the_plan_does() {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("paints.csv"), PAINTS).expect("paints");
    let file = coloured_scheme(folder.path(), "[mood]\nname = \"cold\"\nstrength = 0.6");
    let mut painter = open(std::slice::from_ref(&file), None, 1.0);
    painter.key_press(Key::F5);
    painter.run_steps(3);
    settle(&mut painter);
    assert_as_planned(&mut painter);
}

#[test]
fn a_region_without_a_colour_is_given_one() {
    let mut painter = open(&[], None, 1.0);
    painter.key_press(Key::F2);
    painter.run_steps(3);
    press(&mut painter, "By pieces");
    painter.key_press(Key::F5);
    painter.run_steps(3);
    painter.key_press(Key::Num1);
    settle(&mut painter);
    assert!(shows(&painter, "Nothing is coloured yet") && shows(&painter, "no list yet"));
    let pane = painter.get_by_role(Role::Image).rect();
    painter.hover_at(pane.center());
    painter.run_steps(1);
    painter.drag_at(pane.center());
    painter.run_steps(1);
    painter.drop_at(pane.center());
    painter.run_steps(3);
    settle(&mut painter);
    press(&mut painter, "Give it a colour of its own");
    let entries = &window(&mut painter).document().scheme.colours.regions;
    assert!(entries.len() == 1 && entries[0].at.len() == 1, "{entries:?}");
    let painted = window(&mut painter).painted().expect("colours");
    assert_eq!(painted.rows_of_entries(), [Some(0)]);
    assert_eq!(painted.colouring.rows[0].regions.len(), 1);
    // A mood changes it and is undone.
    let lightness =
        |painter: &mut Painter| window(painter).painted().expect("colours").colouring.rows[0].base.l;
    let before = lightness(&mut painter);
    painter.get_by_label("Mood: none").click_accesskit();
    painter.run_steps(4);
    painter.get_by_role_and_label(Role::ComboBox, "Mood of all colours").click_accesskit();
    painter.run_steps(4);
    painter.get_by_label("gloomy").click_accesskit();
    painter.run_steps(4);
    settle(&mut painter);
    assert!(lightness(&mut painter) < before - 2.0, "{before} {}", lightness(&mut painter));
    window(&mut painter).undo();
    painter.run_steps(3);
    settle(&mut painter);
    assert_eq!(lightness(&mut painter), before);
    press(&mut painter, "Take this colour away");
    assert!(window(&mut painter).document().scheme.colours.regions.is_empty());
}

#[test]
fn wrong_words_and_lists_that_cannot_be_read_are_told_and_lose_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = coloured_scheme(folder.path(), "");
    let text =
        fs::read_to_string(&file).expect("it").replace("\"canvas\"\nmaterial", "\"no such\"\nmaterial");
    fs::write(&file, text).expect("it");
    let mut painter = open(std::slice::from_ref(&file), None, 1.0);
    painter.key_press(Key::F5);
    painter.run_steps(3);
    settle(&mut painter);
    // No list lies there, and the word is neither palette colour nor paint.
    assert!(shows(&painter, "The list cannot be used: cannot read"));
    press(&mut painter, "ball");
    assert!(shows(&painter, "nothing is called 'no such'") && shows(&painter, "Grey stands in"));
    // What is kept is the painter's word, not the grey.
    assert_eq!(window(&mut painter).document().scheme.colours.regions[0].colour, "no such");
    // A list that holds no paints is told too, and a good one is taken as soon as it is there.
    let list = folder.path().join("paints.csv");
    fs::write(&list, "this is a shopping list").expect("a list");
    window(&mut painter).ask_to_open(vec![list.clone()]);
    painter.run_steps(3);
    settle(&mut painter);
    assert!(shows(&painter, "The list cannot be used:") && !shows(&painter, "cannot read"));
    fs::write(&list, PAINTS).expect("a list");
    window(&mut painter).ask_to_open(vec![list]);
    painter.run_steps(3);
    settle(&mut painter);
    assert!(shows(&painter, "5 at hand") && !shows(&painter, "cannot be used"));
}

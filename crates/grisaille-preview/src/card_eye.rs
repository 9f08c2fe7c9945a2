//! Part of the third card: where the painter departs from the light as it
//! falls, to lead the eye.

use crate::desk::rounded;
use crate::field::{Scale, heading, note, slider, tenth};
use crate::pick::Spot;
use crate::step::Tool;
use crate::window::Window;
use eframe::egui::Ui;
use grisaille_base::Millimetres;
use grisaille_scheme::{Emphasis, FocalPoint, KeptSpot, Spread};

/// A spot is as wide, for a start, as this share of the figure's height: a face.
const FACE: f64 = 0.1;

pub(crate) fn show(window: &mut Window, ui: &mut Ui) {
    heading(ui, "Lead the eye");
    focus(window, ui);
    whole(window, ui);
    form(window, ui);
    keep(window, ui);
}

/// Draws the eye to where the painter clicked.
pub(crate) fn draw_eye(window: &mut Window, spot: &Spot) {
    window.tool = Tool::Turn;
    let (at, radius) = clicked(window, spot);
    // Along the surface, so that a face is lifted without its helmet.
    let point = FocalPoint { at, radius, strength: Emphasis::FOCUS, spread: Spread::Surface };
    window.edit("Draw the eye to a spot", |d| d.scheme.emphasis.focus.push(point));
    window.say("That spot is lifted. How much and how wide is set beside the figure.");
}

/// Keeps fine what the painter clicked on.
pub(crate) fn keep_fine(window: &mut Window, spot: &Spot) {
    window.tool = Tool::Turn;
    let (at, radius) = clicked(window, spot);
    window.edit("Keep a spot fine", |d| d.scheme.brush.keep.push(KeptSpot { at, radius }));
    window.say("That spot stays as fine as the light falls. How wide is set beside the figure.");
}

/// Where a spot lies, and how wide it is for a start.
fn clicked(window: &Window, spot: &Spot) -> ([f64; 3], Millimetres) {
    let height = window.ground().map_or(30.0, |g| g.mesh.bounds().extents()[2]);
    (rounded(spot.point.into()), Millimetres(tenth(FACE * height).max(0.1)))
}

fn whole(window: &mut Window, ui: &mut Ui) {
    let now = window.desk.scheme().emphasis.clone();
    let scale = |label, words| Scale { label, words, range: -0.6..=0.6, unit: "", decimals: 2, bent: false };
    let words = "The whole figure lighter, or darker below 0";
    if let Some(to) = slider(window, ui, &scale("Lift the figure", words), now.figure) {
        window.edit("Lift the figure", |d| d.scheme.emphasis.figure = to);
    }
    let words = "A darker base lets the figure stand out";
    if let Some(to) = slider(window, ui, &scale("Lift the base", words), now.base) {
        window.edit("Lift the base", |d| d.scheme.emphasis.base = to);
    }
}

fn form(window: &mut Window, ui: &mut Ui) {
    let now = window.desk.scheme().emphasis.clone();
    let scale = |label, words| Scale { label, words, range: 0.0..=1.0, unit: "", decimals: 2, bent: false };
    let words = "Flat plates get lighter toward the light, so that they do not look dull";
    if let Some(to) = slider(window, ui, &scale("Gradient on plates", words), now.plate_gradient) {
        window.edit("Set the gradient on plates", |d| d.scheme.emphasis.plate_gradient = to);
    }
    let words = "A dark line where the form turns from one light to another, so that both read as light";
    if let Some(to) = slider(window, ui, &scale("Gap between two lights", words), now.gap) {
        window.edit("Set the gap between two lights", |d| d.scheme.emphasis.gap = to);
    }
}

/// How wide a spot is.
fn width<'a>(label: &'a str, words: &'a str) -> Scale<'a> {
    Scale { label, words, range: 0.2..=40.0, unit: " mm", decimals: 1, bent: true }
}

fn focus(window: &mut Window, ui: &mut Ui) {
    let words = "Click on what should be seen first, such as the face or a hand";
    if ui.button("Draw the eye to…").on_hover_text(words).clicked() {
        window.take_up(Tool::Focus);
    }
    let mut gone = None;
    for (i, point) in window.desk.scheme().emphasis.focus.clone().into_iter().enumerate() {
        ui.push_id(("focus", i), |ui| {
            note(ui, &format!("Spot {}", i + 1));
            let scale = Scale {
                label: "How much",
                words: "The share of the way to the lightest paint; below 0 toward the darkest",
                range: -1.0..=1.0,
                unit: "",
                decimals: 2,
                bent: false,
            };
            if let Some(to) = slider(window, ui, &scale, point.strength) {
                window.edit("Lift the spot", |d| d.scheme.emphasis.focus[i].strength = to);
            }
            let scale = width("How wide", "From its middle to where it ends");
            if let Some(to) = slider(window, ui, &scale, point.radius.0) {
                let radius = Millimetres(tenth(to));
                window.edit("Widen the spot", |d| d.scheme.emphasis.focus[i].radius = radius);
            }
            if ui.button("Take this spot away").clicked() {
                gone = Some(i);
            }
        });
    }
    // After the others, whose places in the list it moves.
    if let Some(i) = gone {
        window.edit("Take the spot away", |d| {
            d.scheme.emphasis.focus.remove(i);
        });
    }
}

fn keep(window: &mut Window, ui: &mut Ui) {
    let words = "Click on hair, chain or texture: nothing there is evened out for the brush";
    if ui.button("Keep as fine as it is…").on_hover_text(words).clicked() {
        window.take_up(Tool::Keep);
    }
    let mut gone = None;
    for (i, spot) in window.desk.scheme().brush.keep.clone().into_iter().enumerate() {
        ui.push_id(("keep", i), |ui| {
            note(ui, &format!("Spot {} that stays fine", i + 1));
            let scale = width("How wide it stays fine", "From its middle to where it ends");
            if let Some(to) = slider(window, ui, &scale, spot.radius.0) {
                let radius = Millimetres(tenth(to));
                window.edit("Widen the spot", |d| d.scheme.brush.keep[i].radius = radius);
            }
            if ui.button("Even this spot out again").clicked() {
                gone = Some(i);
            }
        });
    }
    if let Some(i) = gone {
        window.edit("Even the spot out again", |d| {
            d.scheme.brush.keep.remove(i);
        });
    }
}

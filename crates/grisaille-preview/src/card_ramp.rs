//! The steps of one colour by hand: how far apart its ends are, from where painted metal is looked at,
//! a ramp of one's own, the colour of its lines.

use crate::card_paint::{edit, meaning};
use crate::field::{Scale, choice, heading_small, note, slider, typed, well};
use crate::theme::palette;
use crate::window::{Typed, Window};
use eframe::egui::{RichText, Ui};
use grisaille_colour::{Lab, LinearRgb, hex_of};
use grisaille_plan::{RegionColours, material_rule};
use grisaille_scheme::{Material, RegionPaint};

/// The fewest and the most steps of a ramp.
const STEPS: [usize; 2] = [3, 6];

pub(crate) fn show(
    window: &mut Window,
    ui: &mut Ui,
    (k, entry): (usize, &RegionPaint),
    row: Option<&RegionColours>,
) {
    if entry.ramp.is_empty() {
        contrast(window, ui, k, entry);
    }
    if entry.material == Material::Nmm {
        seen_from(window, ui, k, entry);
    }
    lines(window, ui, k, entry, row);
    match entry.ramp.is_empty() {
        true => begin(window, ui, k, row),
        false => ramp(window, ui, k, entry),
    }
}

fn contrast(window: &mut Window, ui: &mut Ui, k: usize, entry: &RegionPaint) {
    let usual = material_rule(entry.material).contrast;
    let scale = Scale {
        label: "Contrast",
        words: "How far its ends go toward near-black and near-white",
        range: 10.0..=100.0,
        unit: " %",
        decimals: 0,
        bent: false,
    };
    if let Some(to) = slider(window, ui, &scale, 100.0 * entry.contrast.unwrap_or(usual)) {
        let to = (to.round() / 100.0).clamp(0.1, 1.0);
        edit(window, "Set the contrast", k, |e| e.contrast = Some(to));
    }
    if entry.contrast.is_some() && ui.button("As the material asks").clicked() {
        edit(window, "Leave the contrast to the material", k, |e| e.contrast = None);
    }
}

fn seen_from(window: &mut Window, ui: &mut Ui, k: usize, entry: &RegionPaint) {
    let scale = Scale {
        label: "Looked at from",
        words: "The side that its reflections are painted for, degrees round the figure from the front",
        range: -180.0..=180.0,
        unit: "°",
        decimals: 0,
        bent: false,
    };
    if let Some(to) = slider(window, ui, &scale, entry.seen_from.unwrap_or(0.0)) {
        let to = to.round().clamp(-180.0, 180.0);
        edit(window, "Choose where it is looked at from", k, |e| e.seen_from = (to != 0.0).then_some(to));
    }
    if let Some(camera) = window.camera
        && ui.button("From where I look now").clicked()
    {
        let to = turned(camera.angles()[0]);
        edit(window, "Choose where it is looked at from", k, |e| e.seen_from = (to != 0.0).then_some(to));
    }
}

/// Degrees, whole, from −180 to 180.
fn turned(degrees: f64) -> f64 {
    let round = degrees.round().rem_euclid(360.0);
    if round > 180.0 { round - 360.0 } else { round }
}

/// The colour of its lines, made or chosen.
fn lines(window: &mut Window, ui: &mut Ui, k: usize, entry: &RegionPaint, row: Option<&RegionColours>) {
    let made = row.map_or_else(|| "#303030".into(), |row| hex_of(row.line.wanted));
    let now = entry.line.clone().unwrap_or_else(|| made.clone());
    ui.horizontal(|ui| {
        if let Some(to) = well(window, ui, "Lines", "Choose the colour of lines", meaning(window, &now)) {
            edit(window, "Choose the colour of lines", k, |e| e.line = Some(to));
        }
        if let Some(word) = typed(window, ui, "Line colour", Typed::Line(k), &now, 110.0) {
            edit(window, "Choose the colour of lines", k, |e| e.line = Some(word));
        }
    });
    match entry.line.is_some() {
        true if ui.button("Lines as they are made").clicked() => {
            edit(window, "Let the lines be made", k, |e| e.line = None);
        }
        true => {}
        false => note(ui, "Made: dark, in the hue of what it parts."),
    }
    window.warn_of_word(ui, entry.line.as_deref());
}

/// Takes the ramp as it is made, to be changed step by step.
fn begin(window: &mut Window, ui: &mut Ui, k: usize, row: Option<&RegionColours>) {
    let Some(row) = row else { return };
    if ui.button("Set each step by hand").on_hover_text("Begins with the steps as they are").clicked() {
        let words: Vec<String> = row.plain_ramp().iter().map(|c| hex_of(*c)).collect();
        edit(window, "Set each step by hand", k, |e| {
            (e.ramp, e.steps) = (words, None);
        });
    }
}

fn ramp(window: &mut Window, ui: &mut Ui, k: usize, entry: &RegionPaint) {
    heading_small(ui, "Its steps by hand, the lightest above");
    note(ui, "As in white light: lamps and daylight still tint them.");
    for i in (0..entry.ramp.len()).rev() {
        let word = &entry.ramp[i];
        let set = |window: &mut Window, to: String| {
            edit(window, "Change a step", k, |e| {
                if let Some(step) = e.ramp.get_mut(i) {
                    *step = to;
                }
            });
        };
        let n = i + 1;
        ui.horizontal(|ui| {
            if let Some(to) = well(window, ui, &format!("Step {n}"), "Change a step", meaning(window, word)) {
                set(window, to);
            }
            if let Some(to) =
                typed(window, ui, &format!("Colour of step {n}"), Typed::Step(k, i), word, 110.0)
            {
                set(window, to);
            }
            if entry.ramp.len() > STEPS[0]
                && ui.button("×").on_hover_text(format!("Take step {n} out")).clicked()
            {
                edit(window, "Take a step out", k, |e| {
                    if e.ramp.len() > STEPS[0] && i < e.ramp.len() {
                        e.ramp.remove(i);
                    }
                });
                window.typed = None;
            }
        });
        window.warn_of_word(ui, Some(word.as_str()));
    }
    ui.horizontal_wrapped(|ui| {
        if entry.ramp.len() < STEPS[1]
            && ui.button("One step more").on_hover_text("Where two are farthest apart").clicked()
        {
            let (at, word) = between(window, &entry.ramp);
            edit(window, "Put a step in", k, |e| e.ramp.insert(at.min(e.ramp.len()), word));
            window.typed = None;
        }
        if choice(ui, false, "Let the steps be made").clicked() {
            let middle = entry.ramp.get(entry.ramp.len() / 2).cloned().unwrap_or_default();
            edit(window, "Let the steps be made", k, |e| {
                e.ramp.clear();
                // A ramp may stand without a base colour; what makes one cannot.
                if e.colour.trim().is_empty() {
                    e.colour = middle;
                }
            });
            window.typed = None;
        }
    });
}

/// A colour between the two steps that are farthest apart, and its place.
fn between(window: &Window, ramp: &[String]) -> (usize, String) {
    let colours: Vec<Lab> = ramp
        .iter()
        .map(|word| Lab::from(LinearRgb::from_srgb8(meaning(window, word).unwrap_or([128; 3]))))
        .collect();
    let apart = |i: &usize| (colours[*i].l - colours[i + 1].l).abs();
    let widest = (0..colours.len().saturating_sub(1)).max_by(|a, b| apart(a).total_cmp(&apart(b)));
    let Some(i) = widest else { return (0, "#808080".into()) };
    let (a, b) = (colours[i], colours[i + 1]);
    let half = f64::midpoint;
    (i + 1, hex_of(Lab::new(half(a.l, b.l), half(a.a, b.a), half(a.b, b.b))))
}

impl Window {
    /// Says so if a word names no colour.
    pub(crate) fn warn_of_word(&self, ui: &mut Ui, word: Option<&str>) {
        if let Some(word) = word.filter(|w| meaning(self, w).is_none()) {
            let text = format!("Nothing is called '{word}': grey stands in for it.");
            ui.label(RichText::new(text).color(palette(ui.ctx()).rust));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sides_are_named_by_half_turns() {
        for (from, to) in [(0.0, 0.0), (190.0, -170.0), (-190.0, 170.0), (359.6, 0.0), (180.0, 180.0)] {
            assert_eq!(turned(from), to);
        }
    }
}

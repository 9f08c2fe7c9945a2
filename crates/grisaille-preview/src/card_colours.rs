//! The fifth card: what is painted with what. The mood, the paints at hand, a list
//! of colours to choose from, and the way of working.

use crate::card_checks;
use crate::card_paint;
use crate::card_palette;
use crate::card_regions::spot_of;
use crate::field::{Scale, choice, heading, note, slider};
use crate::shelf::Shelf;
use crate::theme::palette;
use crate::window::Window;
use crate::worker::Painted;
use eframe::egui::{
    Align, Button, CollapsingHeader, Color32, ComboBox, CornerRadius, Rect, RichText, Role, Sense, Stroke,
    StrokeKind, Ui, WidgetInfo, pos2, vec2,
};
use grisaille_colour::{MOODS, Mood};
use grisaille_form::Region;
use grisaille_plan::{RegionColours, StepColour};
use grisaille_scheme::{MoodChoice, RegionPaint, Route};
use std::path::Path;
use std::sync::Arc;

/// A new entry's colour until another is chosen: a plain grey.
const PLAIN: &str = "#8b8d8b";

pub(crate) fn show(window: &mut Window, ui: &mut Ui) {
    let painted = window.painted.clone();
    heading(ui, "Before you begin");
    route(window, ui);
    mood(window, ui);
    paints(window, ui, painted.as_deref());
    heading(ui, "Colours");
    note(ui, "Click on a part of the figure, or choose a colour here: a line of brass runs round it.");
    let things = painted.as_ref().map_or(0, |p| p.checks.len());
    if things > 0 && !window.desk.scheme().colours.is_empty() {
        let words = format!("{}, below", card_checks::things(things));
        if ui.button(words).on_hover_text("What will not read, blend or match").clicked() {
            window.to_checks = true;
        }
    }
    unpainted(window, ui, painted.as_deref());
    list(window, ui, painted.as_deref());
    card_palette::show(window, ui, painted.as_deref());
    if let Some(painted) = painted.filter(|_| !window.desk.scheme().colours.is_empty()) {
        card_checks::show(window, ui, &painted);
    }
}

/// A part of the card that is seldom changed: its state, folded.
fn folded(ui: &mut Ui, id: &str, words: String, inside: impl FnOnce(&mut Ui)) {
    CollapsingHeader::new(words).id_salt(id).show(ui, inside);
}

fn mood(window: &mut Window, ui: &mut Ui) {
    let now = window.desk.scheme().colours.mood.clone();
    let words =
        now.as_ref().map_or("none".to_owned(), |m| format!("{}, {:.0} %", m.name, 100.0 * m.strength));
    folded(ui, "mood", format!("Mood: {words}"), |ui| moods(window, ui, now));
}

fn moods(window: &mut Window, ui: &mut Ui, now: Option<MoodChoice>) {
    let mut chosen = now.as_ref().map(|m| m.name.clone());
    let name = |m: Option<&String>| m.map_or("as they are", String::as_str).to_owned();
    let shown =
        ComboBox::from_id_salt("mood").selected_text(name(chosen.as_ref())).width(160.0).show_ui(ui, |ui| {
            ui.selectable_value(&mut chosen, None, "as they are").on_hover_text("No colour is changed");
            for mood in &MOODS {
                ui.selectable_value(&mut chosen, Some(mood.name.to_owned()), mood.name)
                    .on_hover_text(mood.reason);
            }
        });
    shown.response.widget_info(|| WidgetInfo::labeled(Role::ComboBox, true, "Mood of all colours"));
    if chosen != now.as_ref().map(|m| m.name.clone()) {
        let strength = now.as_ref().map_or(0.5, |m| m.strength);
        window.edit("Choose a mood", |d| {
            d.scheme.colours.mood = chosen.map(|name| MoodChoice { name, strength });
        });
    }
    let Some(mood) = now else { return };
    if let Some(known) = Mood::named(&mood.name) {
        note(ui, &format!("{}.", known.reason));
    }
    let scale = Scale {
        label: "How much of it",
        words: "0 changes nothing, 100 % is all of it",
        range: 0.0..=100.0,
        unit: " %",
        decimals: 0,
        bent: false,
    };
    if let Some(to) = slider(window, ui, &scale, 100.0 * mood.strength) {
        let to = (to.round() / 100.0).clamp(0.0, 1.0);
        window.edit("Set the mood", |d| {
            if let Some(mood) = &mut d.scheme.colours.mood {
                mood.strength = to;
            }
        });
    }
}

fn paints(window: &mut Window, ui: &mut Ui, painted: Option<&Painted>) {
    let file = window.desk.paints();
    let painted = painted.filter(|p| p.document.scheme.colours.paints == window.desk.scheme().colours.paints);
    let words = match (&file, painted) {
        (None, _) => "no list yet".into(),
        (Some(_), Some(made)) if made.no_paints.is_some() => "the list cannot be used".into(),
        (Some(_), Some(made)) => {
            format!("{} at hand", made.shelf.paints.iter().filter(|p| p.at_hand()).count())
        }
        (Some(_), None) => "being read…".to_owned(),
    };
    folded(ui, "paints", format!("Paints: {words}"), |ui| the_list(window, ui, file.as_deref(), painted));
    if let Some(why) = painted.and_then(|p| p.no_paints.as_ref()) {
        let text = format!(
            "The list cannot be used: {why}. Until it can, colours are shown as wanted, without mixes."
        );
        ui.label(RichText::new(text).color(palette(ui.ctx()).rust));
    }
}

/// The list of paints: where it is, what was noticed in it, another one.
fn the_list(window: &mut Window, ui: &mut Ui, file: Option<&Path>, painted: Option<&Painted>) {
    match file {
        None => note(ui, "Colours are shown as wanted, without mixes."),
        Some(file) => {
            let name = file.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
            ui.label(format!("From {name}")).on_hover_text(file.display().to_string());
        }
    }
    let noticed = painted.map_or(&[][..], |p| p.about_paints.as_slice());
    for finding in noticed.iter().take(3) {
        note(ui, &finding.hint);
    }
    if noticed.len() > 3 {
        note(ui, &format!("{} more lines of the list are told by: grisaille mix", noticed.len() - 3));
    }
    ui.horizontal_wrapped(|ui| {
        let name = if file.is_some() { "Another list…" } else { "Choose a list…" };
        let words = "A table (CSV) with a name and a colour for each paint; or drop its file on the window";
        if ui.button(name).on_hover_text(words).clicked() {
            window.shelf = Some(Shelf::opening(window));
        }
        if file.is_some() && ui.button("No list").on_hover_text("Show colours without mixes").clicked() {
            window.edit("Put the list of paints away", |d| d.scheme.colours.paints = None);
        }
    });
}

/// The region that was clicked, if its paint is nobody's or that of all the rest.
fn unpainted(window: &mut Window, ui: &mut Ui, painted: Option<&Painted>) {
    let Some((_, regions)) = window.regions.clone() else {
        note(ui, "The figure is being divided…");
        return;
    };
    let picked = window.region_face.and_then(|f| Some((f, regions.of_face.get(f)?.index())));
    let entries = &window.desk.scheme().colours.regions;
    let own = window.entry.and_then(|k| entries.get(k));
    let Some((face, region)) = picked.filter(|_| own.is_none_or(|e| e.rest)) else { return };
    let Some(region) = regions.regions.get(region) else { return };
    if own.is_none() && painted.is_some_and(|p| p.entry_of_face(face).is_some()) {
        return;
    }
    let words = match own {
        Some(rest) => format!("'{}' is painted with '{}', as all the rest.", region.name, rest.name),
        None => format!("'{}' has no colour yet.", region.name),
    };
    ui.label(words);
    if ui.button("Give it a colour of its own").clicked() {
        add(window, face, region);
    }
}

/// A new entry for the region of a face.
fn add(window: &mut Window, face: usize, region: &Region) {
    let Some(at) = spot_of(window, face) else { return };
    let entries = &window.desk.scheme().colours.regions;
    let taken = |name: &str| entries.iter().any(|e| e.name.eq_ignore_ascii_case(name));
    let numbered = (2..).map(|n| format!("{} {n}", region.name));
    let name = std::iter::once(region.name.clone()).chain(numbered).find(|n| !taken(n)).unwrap_or_default();
    // Before the paint of the rest, which stays the last word.
    let place = entries.iter().position(|e| e.rest).unwrap_or(entries.len());
    window.edit("Give a region a colour", |d| {
        let entry = RegionPaint { name, at: vec![at], colour: PLAIN.into(), ..RegionPaint::default() };
        d.scheme.colours.regions.insert(place, entry);
    });
    window.entry = Some(place);
    window.typed = None;
}

fn list(window: &mut Window, ui: &mut Ui, painted: Option<&Painted>) {
    let entries = window.desk.scheme().colours.regions.clone();
    if entries.is_empty() {
        note(ui, "Nothing is coloured yet. Begin with the largest part: click on it, and give it a colour.");
    }
    let rows = painted.map(Painted::rows_of_entries).unwrap_or_default();
    for (k, entry) in entries.iter().enumerate() {
        let row = painted.and_then(|p| p.colouring.rows.get((*rows.get(k)?)?));
        let row = row.filter(|r| r.name == entry.name);
        let wrong = painted
            .is_some_and(|p| p.holds_for(window.desk.document()) && p.words.iter().any(|(of, _)| *of == k));
        let chosen = window.entry == Some(k);
        line(window, ui, (k, entry), row.zip(painted), wrong);
        if chosen && window.entry == Some(k) {
            ui.indent(("entry", k), |ui| card_paint::show(window, ui, (k, entry), row.zip(painted)));
        }
    }
}

/// One colour: what it looks like, its name, its steps.
fn line(
    window: &mut Window,
    ui: &mut Ui,
    (k, entry): (usize, &RegionPaint),
    row: Option<(&RegionColours, &Painted)>,
    wrong: bool,
) {
    let colours = palette(ui.ctx());
    ui.horizontal(|ui| {
        let base = row.map(|(r, _)| r.base.shown().to_srgb8());
        patch(ui, base.or_else(|| card_paint::meaning(window, &entry.colour)).unwrap_or([128; 3]), 22.0);
        let button =
            Button::selectable(window.entry == Some(k), &entry.name).frame_when_inactive(true).truncate();
        let room = (ui.available_width() - STRIP - 8.0).max(60.0);
        let button = ui.scope(|ui| {
            ui.set_max_width(room);
            ui.add(button)
        });
        if button.inner.on_hover_text(format!("{}, {}", entry.colour, entry.material.as_str())).clicked() {
            let open = window.entry == Some(k);
            (window.entry, window.typed) = ((!open).then_some(k), None);
            window.region_face = None;
        }
        if window.entry == Some(k) && std::mem::take(&mut window.to_entry) {
            ui.scroll_to_cursor(Some(Align::Min));
        }
        if wrong {
            ui.label(RichText::new("no colour").small().color(colours.rust));
        } else if let Some((row, painted)) = row {
            // All strips stand below each other.
            ui.add_space((ui.available_width() - STRIP - 2.0).max(0.0));
            strip(ui, &row.ramp, |i| step_words(i, &row.ramp[i], painted));
        }
    });
}

/// Points that a strip of steps takes.
const STRIP: f32 = 104.0;

/// Steps side by side, darkest first, each with words.
pub(crate) fn strip(ui: &mut Ui, steps: &[StepColour], words: impl Fn(usize) -> String) {
    let (rect, response) = ui.allocate_exact_size(vec2(STRIP, 18.0), Sense::hover());
    let each = rect.width() / steps.len().max(1) as f32;
    for (i, step) in steps.iter().enumerate() {
        let left = rect.min.x + each * i as f32;
        let part = Rect::from_min_max(pos2(left, rect.min.y), pos2(left + each + 0.5, rect.max.y));
        let [r, g, b] = step.shown().shown().to_srgb8();
        ui.painter().rect_filled(part, CornerRadius::ZERO, Color32::from_rgb(r, g, b));
    }
    let edge = Stroke::new(1.0, palette(ui.ctx()).quiet);
    ui.painter().rect_stroke(rect, CornerRadius::ZERO, edge, StrokeKind::Outside);
    let under = response.hover_pos().map(|at| ((at.x - rect.min.x) / each).max(0.0) as usize);
    if let Some(i) = under.filter(|i| *i < steps.len()) {
        response.on_hover_text(words(i));
    }
}

/// A step with its mix and how near that comes.
pub(crate) fn step_words(i: usize, step: &StepColour, painted: &Painted) -> String {
    let value = format!("L* {:.0}", step.shown().l);
    match (painted.shelf.in_words(step.mix.as_ref()), &step.mix) {
        (Some(words), Some(mix)) => format!("{}: {words} ({}, {value})", i + 1, mix.nearness().as_str()),
        _ => format!("{}: {} ({value})", i + 1, grisaille_colour::hex_of(step.wanted)),
    }
}

/// A patch of a colour.
pub(crate) fn patch(ui: &mut Ui, [r, g, b]: [u8; 3], wide: f32) {
    let (rect, _) = ui.allocate_exact_size(vec2(wide, 18.0), Sense::hover());
    let edge = Stroke::new(1.0, palette(ui.ctx()).quiet);
    ui.painter().rect(rect, CornerRadius::same(3), Color32::from_rgb(r, g, b), edge, StrokeKind::Inside);
}

fn route(window: &mut Window, ui: &mut Ui) {
    let now = window.desk.scheme().colours.route;
    let rows = [
        (Route::Sketch, "Sketch", "Three tones of primer show where light falls; opaque paint follows them"),
        (Route::Transparent, "Transparent", "Thin paint over the primer's tones, which shine through"),
        (Route::BrushOnly, "Brush only", "Dry brush in place of spray, then opaque paint"),
    ];
    let (name, how) = rows.iter().find(|(r, ..)| *r == now).map_or(("", ""), |(_, name, how)| (*name, *how));
    folded(ui, "route", format!("Way of working: {}", name.to_lowercase()), |ui| {
        ui.horizontal_wrapped(|ui| {
            for (route, name, words) in rows {
                if choice(ui, now == route, name).on_hover_text(words).clicked() && now != route {
                    window.edit("Choose the way of working", |d| d.scheme.colours.route = route);
                }
            }
        });
        note(ui, &format!("{how}."));
    });
}

/// A spot on each region of a row, by a face of each; for an entry that knew them by name.
pub(crate) fn spots_of(window: &Window, row: &RegionColours) -> Vec<grisaille_scheme::RegionSpot> {
    let Some((_, regions)) = window.regions.as_ref().map(|(d, r)| (d, Arc::clone(r))) else {
        return Vec::new();
    };
    let faces = row.regions.iter().filter_map(|id| regions.of_face.iter().position(|r| r == id));
    faces.filter_map(|face| spot_of(window, face)).collect()
}

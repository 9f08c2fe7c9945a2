//! The palette: its colours as bars, wanted and seen, each opened to be named, changed, weighed or taken away;
//! more of them, by hand or from a picture. [`checks`](crate::card_checks) stand below.

use crate::card_paint::meaning;
use crate::field::{heading, note, number, typed, well_of};
use crate::shelf::Shelf;
use crate::theme::palette;
use crate::window::{Typed, Window};
use crate::worker::Painted;
use eframe::egui::{Button, Color32, CornerRadius, Rect, Sense, Stroke, StrokeKind, Ui, vec2};
use grisaille_plan::Proportion;
use grisaille_scheme::{ColourChoice, PaletteEntry};

/// A new palette colour, until it is changed.
const PLAIN: &str = "#8b8d8b";

pub(crate) fn show(window: &mut Window, ui: &mut Ui, painted: Option<&Painted>) {
    heading(ui, "Palette");
    if window.desk.scheme().colours.palette.is_empty() {
        note(ui, "A few colours that regions share, and how much of each is wanted.");
    } else {
        note(ui, "Filled: how much of it is seen. The mark: how much of it the palette wants.");
        bars(window, ui, painted);
    }
    ui.horizontal_wrapped(|ui| {
        if ui.button("Add a colour").clicked() {
            add(window);
        }
        let looking = window.looking.is_some();
        let words = "Five to nine colours of a picture of yours and their shares (PNG, JPEG, WebP); or drop it on the window";
        let name = if looking { "Looking at the picture…" } else { "From a picture…" };
        if ui.add_enabled(!looking, Button::new(name)).on_hover_text(words).clicked() {
            window.shelf = Some(Shelf::opening(window));
        }
    });
}

fn bars(window: &mut Window, ui: &mut Ui, painted: Option<&Painted>) {
    let shares = painted.map_or(&[][..], |p| p.proportions.as_slice());
    let most = shares.iter().map(|p| p.seen.max(p.wanted.unwrap_or(0.0))).fold(0.05, f64::max);
    for (k, entry) in window.desk.scheme().colours.palette.clone().iter().enumerate() {
        let share = shares.iter().find(|p| p.name == entry.name);
        let rgb = meaning(window, &entry.colour);
        ui.push_id(("palette", k), |ui| {
            ui.horizontal_wrapped(|ui| {
                let open = window.palette_entry == Some(k);
                let button = Button::selectable(open, &entry.name).frame_when_inactive(true);
                let button = ui.add(button).on_hover_text("Name it, weigh it, take it away");
                if button.clicked() {
                    (window.palette_entry, window.typed) = ((!open).then_some(k), None);
                }
                if let Some(to) = well_of(window, ui, button.id, "Change a palette colour", rgb) {
                    change(window, "Change a palette colour", k, |e| e.colour = to);
                }
                if let Some(share) = share {
                    note(ui, &in_words(share));
                }
            });
            if let Some(share) = share {
                bar(ui, share, most, rgb.unwrap_or([128; 3]));
            }
            if window.palette_entry == Some(k) {
                ui.indent("open", |ui| one(window, ui, k, entry));
            }
        });
    }
}

/// A palette colour, opened.
fn one(window: &mut Window, ui: &mut Ui, k: usize, entry: &PaletteEntry) {
    ui.horizontal(|ui| {
        if let Some(to) = typed(window, ui, "Name of it", Typed::PaletteName(k), &entry.name, 140.0) {
            // What goes by its name goes on doing so.
            window.edit("Name a palette colour", |d| {
                let colours = &mut d.scheme.colours;
                if let Some(entry) = colours.palette.get_mut(k) {
                    let from = std::mem::replace(&mut entry.name, to.clone());
                    reword(colours, &from, &to);
                }
            });
        }
    });
    ui.horizontal(|ui| {
        if let Some(to) = typed(window, ui, "As", Typed::PaletteColour(k), &entry.colour, 140.0) {
            change(window, "Change a palette colour", k, |e| e.colour = to);
        }
        note(ui, "#rrggbb");
    });
    ui.horizontal(|ui| {
        // Any measure will do: shares are taken of their sum.
        if let Some(to) =
            number(window, ui, "Parts of the whole", 0.0..=1000.0, "", entry.share.unwrap_or(0.0))
        {
            change(window, "Weigh a palette colour", k, |e| e.share = (to > 0.0).then_some(to));
        }
    });
    if ui.button("Take it out of the palette").clicked() {
        window.edit("Take a palette colour away", |d| {
            let colours = &mut d.scheme.colours;
            if k < colours.palette.len() {
                // What is painted with it stays as it is.
                let gone = colours.palette.remove(k);
                reword(colours, &gone.name, &gone.colour);
            }
        });
        (window.palette_entry, window.typed) = (None, None);
    }
}

fn change(window: &mut Window, what: &str, k: usize, change: impl FnOnce(&mut PaletteEntry)) {
    window.edit(what, |d| {
        if let Some(entry) = d.scheme.colours.palette.get_mut(k) {
            change(entry);
        }
    });
}

/// A new colour of the palette, opened.
fn add(window: &mut Window) {
    let palette = &window.desk.scheme().colours.palette;
    let taken = |name: &str| palette.iter().any(|p| p.name.eq_ignore_ascii_case(name));
    let numbered = (2..).map(|n| format!("colour {n}"));
    let name = std::iter::once("colour 1".to_owned()).chain(numbered).find(|n| !taken(n)).unwrap_or_default();
    let at = palette.len();
    window.edit("Add a palette colour", |d| {
        d.scheme.colours.palette.push(PaletteEntry { name, colour: PLAIN.into(), share: None });
    });
    (window.palette_entry, window.typed) = (Some(at), None);
}

/// Takes a palette in the place of the one there was; what is painted with colours that are gone stays as it is.
pub(crate) fn replace(window: &mut Window, palette: Vec<PaletteEntry>) {
    window.edit("Take a palette from a picture", |d| {
        let colours = &mut d.scheme.colours;
        for gone in std::mem::take(&mut colours.palette) {
            reword(colours, &gone.name, &gone.colour);
        }
        colours.palette = palette;
    });
    (window.palette_entry, window.typed) = (None, None);
}

/// Another word for a colour wherever it stands.
fn reword(colours: &mut ColourChoice, from: &str, to: &str) {
    let regions = colours.regions.iter_mut();
    let words = regions.flat_map(|r| std::iter::once(&mut r.colour).chain(&mut r.ramp).chain(&mut r.line));
    let words = words.chain(colours.faces.iter_mut().filter_map(|f| f.eyes.as_mut()));
    for word in words.filter(|w| w.trim().eq_ignore_ascii_case(from.trim())) {
        to.clone_into(word);
    }
}

fn in_words(share: &Proportion) -> String {
    let seen = format!("{:.0} % seen", 100.0 * share.seen);
    share.wanted.map_or(seen.clone(), |wanted| format!("{seen}, {:.0} % wanted", 100.0 * wanted))
}

/// What is seen, filled; a mark where the palette wants it.
fn bar(ui: &mut Ui, share: &Proportion, most: f64, [r, g, b]: [u8; 3]) {
    let colours = palette(ui.ctx());
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), 12.0), Sense::hover());
    let at = |share: f64| rect.min.x + rect.width() * (share / most).clamp(0.0, 1.0) as f32;
    let filled = Rect::from_min_max(rect.min, eframe::egui::pos2(at(share.seen), rect.max.y));
    ui.painter().rect_filled(rect, CornerRadius::same(2), colours.card);
    ui.painter().rect_filled(filled, CornerRadius::same(2), Color32::from_rgb(r, g, b));
    ui.painter().rect_stroke(
        rect,
        CornerRadius::same(2),
        Stroke::new(1.0, colours.quiet),
        StrokeKind::Outside,
    );
    if let Some(wanted) = share.wanted {
        let x = at(wanted).clamp(rect.min.x + 1.5, rect.max.x - 1.5);
        for (wide, colour) in [(5.0, colours.table), (2.5, colours.ink)] {
            ui.painter().vline(x, rect.expand(2.0).y_range(), Stroke::new(wide, colour));
        }
    }
    response.on_hover_text(in_words(share));
}

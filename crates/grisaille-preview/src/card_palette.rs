//! The palette's colours as bars, wanted and seen, and what will not read, blend
//! or match.

use crate::card_paint::meaning;
use crate::field::{heading, note};
use crate::theme::{bold, palette};
use crate::window::Window;
use crate::worker::Painted;
use eframe::egui::{
    Align, Button, Color32, CornerRadius, Label, Rect, RichText, Sense, Stroke, StrokeKind, Ui, vec2,
};
use grisaille_base::Place;
use grisaille_plan::Proportion;
use nalgebra::Point3;

pub(crate) fn show(window: &mut Window, ui: &mut Ui, painted: Option<&Painted>) {
    if !window.desk.scheme().colours.palette.is_empty() {
        heading(ui, "Palette");
        note(ui, "Filled: how much of it is seen. The mark: how much of it the palette wants.");
        bars(window, ui, painted);
    }
    if let Some(painted) = painted.filter(|_| !window.desk.scheme().colours.is_empty()) {
        checks(window, ui, painted);
    }
}

fn bars(window: &mut Window, ui: &mut Ui, painted: Option<&Painted>) {
    let shares = painted.map_or(&[][..], |p| p.proportions.as_slice());
    let most = shares.iter().map(|p| p.seen.max(p.wanted.unwrap_or(0.0))).fold(0.05, f64::max);
    for (k, entry) in window.desk.scheme().colours.palette.clone().iter().enumerate() {
        let share = shares.iter().find(|p| p.name == entry.name);
        let mut rgb = meaning(window, &entry.colour).unwrap_or([128; 3]);
        ui.horizontal(|ui| {
            let label = ui.label(&entry.name);
            let button = ui.color_edit_button_srgb(&mut rgb).labelled_by(label.id);
            if button.on_hover_text("Change this colour wherever it is used").changed() {
                if !window.desk.history().in_gesture() {
                    window.desk.history_mut().begin("Change a palette colour");
                }
                let [r, g, b] = rgb;
                window.edit("Change a palette colour", |d| {
                    if let Some(entry) = d.scheme.colours.palette.get_mut(k) {
                        entry.colour = format!("#{r:02x}{g:02x}{b:02x}");
                    }
                });
            } else if window.desk.history().in_gesture() && !ui.input(|i| i.pointer.any_down()) {
                window.desk.history_mut().end();
            }
            if let Some(share) = share {
                note(ui, &in_words(share));
            }
        });
        if let Some(share) = share {
            bar(ui, share, most, rgb);
        }
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

/// What will not read, blend or match, each with its way out.
fn checks(window: &mut Window, ui: &mut Ui, painted: &Painted) {
    let now = ui.input(|i| i.time);
    ui.add_space(6.0);
    let head = ui.label(RichText::new(things(painted.checks.len())).family(bold()).size(16.0));
    if std::mem::take(&mut window.to_checks) {
        head.scroll_to_me(Some(Align::Min));
    }
    if painted.checks.is_empty() {
        note(ui, "Values, neighbours, mixes and proportions all hold.");
    }
    for finding in &painted.checks {
        let text = first_large(&finding.hint);
        match finding.place {
            Some(Place::Point(at)) => {
                let words = "Turns the figure to that place";
                if ui.add(Button::new(text).wrap()).on_hover_text(words).clicked() {
                    window.look_at(Point3::from(at.map(f64::from)), now);
                }
            }
            _ => {
                ui.add(Label::new(RichText::new(format!("•  {text}"))).wrap());
            }
        }
    }
}

/// How many things there are, in words.
pub(crate) fn things(count: usize) -> String {
    match count {
        0 => "Nothing to mend".into(),
        1 => "One thing to look at".into(),
        n => format!("{n} things to look at"),
    }
}

/// A sentence begins large.
fn first_large(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or(String::new(), |c| c.to_uppercase().chain(letters).collect())
}

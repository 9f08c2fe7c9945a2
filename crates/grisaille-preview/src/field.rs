//! Small controls that all cards share: a slider or field with its words, which
//! changes the document and is one step to undo however long it is dragged.

use crate::theme::{bold, palette, rail};
use crate::window::{Typed, Window};
use eframe::egui::{Button, DragValue, Id, Response, RichText, Slider, TextEdit, Ui};
use std::ops::RangeInclusive;

/// The heading of a card or of a part of it.
pub(crate) fn heading(ui: &mut Ui, words: &str) {
    ui.add_space(6.0);
    ui.label(RichText::new(words).family(bold()).size(16.0));
}

/// A line of explanation.
pub(crate) fn note(ui: &mut Ui, words: &str) {
    let quiet = palette(ui.ctx()).quiet;
    ui.label(RichText::new(words).small().color(quiet));
}

/// Something to choose or to switch on: framed, so that it is seen to be a button.
pub(crate) fn choice(ui: &mut Ui, chosen: bool, words: &str) -> Response {
    ui.add(Button::selectable(chosen, words).frame_when_inactive(true))
}

/// The heading of a small part.
pub(crate) fn heading_small(ui: &mut Ui, words: &str) {
    ui.add_space(4.0);
    ui.label(RichText::new(words).family(bold()));
}

/// A well of colour; gives the colour as `#rrggbb` when it was changed. A drag over its colours is one step.
pub(crate) fn well(
    window: &mut Window,
    ui: &mut Ui,
    label: &str,
    what: &str,
    now: Option<[u8; 3]>,
) -> Option<String> {
    let label = ui.label(label);
    well_of(window, ui, label.id, what, now)
}

/// The same, where what it is the colour of stands there already.
pub(crate) fn well_of(
    window: &mut Window,
    ui: &mut Ui,
    label: Id,
    what: &str,
    now: Option<[u8; 3]>,
) -> Option<String> {
    let mut rgb = now.unwrap_or([128; 3]);
    let button = ui.color_edit_button_srgb(&mut rgb).labelled_by(label);
    if button.changed() {
        if !window.desk.history().in_gesture() {
            window.desk.history_mut().begin(what);
        }
        let [r, g, b] = rgb;
        return Some(format!("#{r:02x}{g:02x}{b:02x}"));
    }
    if window.desk.history().in_gesture() && !ui.input(|i| i.pointer.any_down()) {
        window.desk.history_mut().end();
    }
    None
}

/// A line to type in; gives what was typed when it is left and differs.
pub(crate) fn typed(
    window: &mut Window,
    ui: &mut Ui,
    label: &str,
    of: Typed,
    now: &str,
    wide: f32,
) -> Option<String> {
    let label = ui.label(label);
    let typed = window.typed.as_ref().filter(|(what, _)| *what == of).map(|(_, text)| text.clone());
    let mut text = typed.unwrap_or_else(|| now.to_owned());
    let field = ui
        .add(TextEdit::singleline(&mut text).desired_width(wide.min(ui.available_width())))
        .labelled_by(label.id);
    if field.changed() {
        window.typed = Some((of, text));
    }
    if !field.lost_focus() {
        return None;
    }
    let (_, text) = window.typed.take_if(|(what, _)| *what == of)?;
    let text = text.trim().to_owned();
    (!text.is_empty() && text != now).then_some(text)
}

/// To a tenth of a millimetre, which no hand sets finer.
pub(crate) fn tenth(mm: f64) -> f64 {
    (mm * 10.0).round() / 10.0
}

/// How a slider is marked.
#[derive(Clone, Debug)]
pub(crate) struct Scale<'a> {
    pub(crate) label: &'a str,
    pub(crate) words: &'a str,
    pub(crate) range: RangeInclusive<f64>,
    pub(crate) unit: &'a str,
    pub(crate) decimals: usize,
    pub(crate) bent: bool,
}

/// A slider; gives its new value when it was moved.
pub(crate) fn slider(window: &mut Window, ui: &mut Ui, scale: &Scale<'_>, now: f64) -> Option<f64> {
    let mut value = now;
    let label = ui.label(scale.label).on_hover_text(scale.words);
    let slider = Slider::new(&mut value, scale.range.clone())
        .suffix(scale.unit)
        .max_decimals(scale.decimals)
        .logarithmic(scale.bent);
    let response = ui.scope(|ui| {
        ui.visuals_mut().widgets.inactive.bg_fill = rail(palette(ui.ctx()));
        ui.add(slider)
    });
    let response = response.inner.labelled_by(label.id).on_hover_text(scale.words);
    gesture(window, &response, scale.label);
    (response.changed() && value != now && value.is_finite()).then_some(value)
}

/// A number to type or drag.
pub(crate) fn number(
    window: &mut Window,
    ui: &mut Ui,
    label: &str,
    range: RangeInclusive<f64>,
    unit: &str,
    now: f64,
) -> Option<f64> {
    let mut value = now;
    let words = ui.label(label);
    let field = DragValue::new(&mut value).range(range).suffix(unit).speed(0.1).max_decimals(1);
    let response = ui.add(field).labelled_by(words.id);
    gesture(window, &response, label);
    (response.changed() && value != now && value.is_finite()).then_some(value)
}

/// A drag of a control is one step to undo.
pub(crate) fn gesture(window: &mut Window, response: &Response, what: &str) {
    if response.drag_started() {
        window.desk.history_mut().begin(what);
        window.moving = window.selected;
    }
    if response.drag_stopped() {
        window.desk.history_mut().end();
        window.moving = None;
    }
}

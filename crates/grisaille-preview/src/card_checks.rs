//! What will not read, blend or match, each with its way out; one that has a place turns the figure to it.

use crate::field::note;
use crate::theme::bold;
use crate::window::Window;
use crate::worker::Painted;
use eframe::egui::{Align, Button, Label, RichText, Ui};
use grisaille_base::Place;
use nalgebra::Point3;

/// What will not read, blend or match, each with its way out.
pub(crate) fn show(window: &mut Window, ui: &mut Ui, painted: &Painted) {
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

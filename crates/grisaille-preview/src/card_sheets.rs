//! The last card: what goes to the bench.

use crate::bench::Product;
use crate::field::{choice, heading, note};
use crate::theme::bold;
use crate::window::Window;
use eframe::egui::{Button, RichText, TextEdit, Ui, vec2};
use grisaille_plan::set_words;
use grisaille_scheme::PrimerTones;
use std::path::PathBuf;

/// The tones that the sheets show the primer plan in.
fn primer(window: &mut Window, ui: &mut Ui) {
    ui.label("Primer tones on the sheets");
    ui.horizontal_wrapped(|ui| {
        let now = window.desk.scheme().primer.tones;
        let rows = PrimerTones::ALL.map(|tones| (Some(tones), set_words(tones)));
        for (tones, name) in rows.into_iter().chain([(None, "no primer plan")]) {
            if choice(ui, now == tones, name).clicked() && now != tones {
                window.edit("Choose the primer's tones", |d| d.scheme.primer.tones = tones);
            }
        }
    });
}

pub(crate) fn show(window: &mut Window, ui: &mut Ui) {
    heading(ui, "To the bench");
    let rows = [
        (
            Product::Guide,
            "Sheets to print",
            "Where each light falls, which tones to mix, and in which order to work (PDF)",
        ),
        (Product::Picture, "A picture", "The figure from three sides, in what it is seen in here (PNG)"),
        (
            Product::Map,
            "The coloured surface",
            "The model with its light and bands, for other programs (GLB, PLY or JSON)",
        ),
    ];
    for (what, name, words) in rows {
        let chosen = window.export_what == what;
        if ui.add(Button::selectable(chosen, name).frame_when_inactive(true)).on_hover_text(words).clicked()
            && !chosen
        {
            window.export_what = what;
            window.export_path = window.usual_place(what).display().to_string();
        }
        if chosen {
            note(ui, words);
        }
    }
    if window.export_what == Product::Guide {
        primer(window, ui);
    }
    ui.add_space(4.0);
    let label = ui.label("Where to");
    ui.add(TextEdit::multiline(&mut window.export_path).desired_rows(2).desired_width(f32::INFINITY))
        .labelled_by(label.id);
    let place = PathBuf::from(window.export_path.replace(['\n', '\r'], "").trim());
    if place.exists() {
        note(ui, "There is such a file already: it will be replaced when the new one is whole.");
    }
    ui.add_space(4.0);
    let ready = window.clerk.is_none() && !place.as_os_str().is_empty() && window.ground().is_some();
    let words = match window.export_what {
        Product::Guide => "Make the sheets",
        Product::Picture => "Make the picture",
        Product::Map => "Make the coloured surface",
    };
    let button = Button::new(RichText::new(words).family(bold())).min_size(vec2(180.0, 34.0));
    if ui.add_enabled(ready, button).clicked() {
        window.make(window.export_what, &place);
    }
    if window.clerk.is_some() {
        note(
            ui,
            "You can go on moving the light meanwhile: what is made is the scheme as it was when you asked.",
        );
    }
    note(
        ui,
        "Spray and thin paints in fresh air or an extraction booth, with the mask that the product's safety data \
         sheet names.",
    );
    heading(ui, "The scheme itself");
    note(ui, "The same sheets come from the command line: grisaille guide NAME.grisaille -o NAME.pdf");
    if ui.button("Save the scheme under a name…").clicked() {
        window.shelf = Some(crate::shelf::Shelf::saving(&window.usual_file()));
    }
}

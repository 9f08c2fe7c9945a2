//! The first card: what the figure is, how large, which way up, and what of it
//! is out of sight.

use crate::field::{choice, heading, note, number, tenth};
use crate::shelf::Shelf;
use crate::step::Tool;
use crate::taste::{Room, Taste};
use crate::window::Window;
use eframe::egui::{ComboBox, Role, TextEdit, Ui, WidgetInfo};
use grisaille_base::Millimetres;
use grisaille_mesh::Part;
use grisaille_scheme::{ModelEntry, ModelSource, UnitChoice, UpChoice};

pub(crate) fn show(window: &mut Window, ui: &mut Ui) {
    heading(ui, "The figure");
    let mut title = window.desk.scheme().title.clone();
    let label = ui.label("Name on the sheets");
    let field = ui.add(TextEdit::singleline(&mut title).desired_width(f32::INFINITY)).labelled_by(label.id);
    if field.gained_focus() {
        window.desk.history_mut().begin("Name the figure");
    }
    if field.changed() {
        window.edit("Name the figure", |d| d.scheme.title = title);
    }
    if field.lost_focus() {
        window.desk.history_mut().end();
    }
    for model in window.desk.document().models.clone() {
        note(ui, &where_from(&model));
    }
    if ui.button("Open another…").clicked() {
        window.shelf = Some(Shelf::opening(window));
    }
    size(window, ui);
    up(window, ui);
    sight(window, ui);
    left_out(window, ui);
    findings(window, ui);
    tastes(window, ui);
}

fn where_from(model: &ModelEntry) -> String {
    match &model.source {
        ModelSource::File(path) => path.display().to_string(),
        ModelSource::Diver => "The diver that is built in".into(),
    }
}

fn size(window: &mut Window, ui: &mut Ui) {
    heading(ui, "Size of the print");
    let Some(bounds) = window.ground().map(|g| g.mesh.bounds()) else {
        note(ui, "Known once the model is read.");
        return;
    };
    let [width, depth, height] = bounds.extents();
    let based = window.ground().is_some_and(|g| g.base_top_mm.is_some());
    let all = match (window.desk.scheme().left_out.is_empty(), based) {
        (true, true) => " with its base",
        (true, false) => "",
        (false, _) => " without what is left out",
    };
    note(ui, &format!("{width:.1} wide, {depth:.1} deep, {height:.1} mm tall{all}"));
    let one = window.desk.document().models.len() == 1;
    if one {
        ui.horizontal_wrapped(|ui| {
            if let Some(mm) = number(window, ui, "Height", 1.0..=2000.0, " mm", tenth(window.whole_height)) {
                window.edit("Set the height", |d| {
                    for model in &mut d.models {
                        model.height = Some(Millimetres(mm));
                    }
                });
            }
        });
        ui.horizontal_wrapped(|ui| {
            let eye = window.eye_height;
            if let Some(mm) = number(window, ui, "Eye above sole", 1.0..=1000.0, " mm", eye) {
                window.eye_height = mm;
            }
            if ui
                .button("Point at both")
                .on_hover_text("Figures are sold by this height: click the sole, then the eye")
                .clicked()
            {
                window.take_up(Tool::Sole);
            }
        });
    }
}

fn up(window: &mut Window, ui: &mut Ui) {
    let Some(model) = window.desk.document().models.first().cloned() else { return };
    heading(ui, "Which way is up");
    ui.horizontal_wrapped(|ui| {
        for (up, name, words) in [
            (UpChoice::Z, "Upright", "As print programs write it: the file's Z axis points up"),
            (
                UpChoice::Y,
                "Lying on its back",
                "As many sculpting programs write it: the file's Y axis points up",
            ),
        ] {
            if choice(ui, model.up == up, name).on_hover_text(words).clicked() && model.up != up {
                window.edit("Turn upright", |d| {
                    for model in &mut d.models {
                        model.up = up;
                    }
                });
            }
        }
    });
    if model.height.is_none() {
        let mut unit = model.unit;
        let name = |unit| match unit {
            UnitChoice::Mm => "millimetres",
            UnitChoice::Inch => "inches",
            UnitChoice::M => "metres",
        };
        ui.horizontal_wrapped(|ui| {
            ui.label("The file is in");
            let combo = ComboBox::from_id_salt("unit").selected_text(name(unit)).show_ui(ui, |ui| {
                for row in [UnitChoice::Mm, UnitChoice::Inch, UnitChoice::M] {
                    ui.selectable_value(&mut unit, row, name(row));
                }
            });
            combo.response.widget_info(|| WidgetInfo::labeled(Role::ComboBox, true, "Unit of the file"));
        });
        if unit != model.unit {
            window.edit("Set the unit", |d| {
                for model in &mut d.models {
                    model.unit = unit;
                }
            });
        }
    }
}

fn sight(window: &mut Window, ui: &mut Ui) {
    heading(ui, "Out of sight");
    note(ui, "What is put out of sight is still there: it casts its shadow and is on the sheets.");
    ui.horizontal_wrapped(|ui| {
        if window.ground().is_some_and(|g| g.base_top_mm.is_some()) {
            let hidden = window.desk.scheme().hidden.base;
            if choice(ui, hidden, "Hide the base").clicked() {
                let what = if hidden { "Show the base" } else { "Hide the base" };
                window.edit(what, |d| d.scheme.hidden.base = !hidden);
            }
        }
        if ui.button("Hide a part").on_hover_text("Click on the part in the picture").clicked() {
            window.take_up(Tool::Hide);
        }
        let parts = !window.desk.scheme().hidden.parts.is_empty();
        if parts && ui.button("Show all parts").clicked() {
            window.edit("Show all parts", |d| d.scheme.hidden.parts.clear());
        }
    });
}

fn left_out(window: &mut Window, ui: &mut Ui) {
    let based = window.ground().is_some_and(|g| g.base_top_mm.is_some());
    let many = window.ground().is_some_and(|g| g.mesh.pieces().len() > 1);
    // Parts of the ground are a support's only where that is sure.
    let held = window.ground().is_some_and(|g| g.part_of_face.contains(&Part::Support));
    if !based && !many && !held && window.desk.scheme().left_out.is_empty() {
        // One piece without base and supports: there is nothing to choose from.
        return;
    }
    heading(ui, "Left out");
    note(ui, "What is left out is as if it were not in the file: no shadow, no picture, no sheet.");
    ui.horizontal_wrapped(|ui| {
        let base = window.desk.scheme().left_out.base;
        if (base || based) && choice(ui, base, "Leave out the base").clicked() {
            let what = if base { "Take the base back" } else { "Leave out the base" };
            window.edit(what, |d| {
                d.scheme.left_out.base = !base;
                d.scheme.hidden.base = false;
            });
        }
        let supports = window.desk.scheme().left_out.supports;
        if (supports || held)
            && choice(ui, supports, "Leave out supports")
                .on_hover_text("Print supports and their raft, as if they were cut off already")
                .clicked()
        {
            let what = if supports { "Take the supports back" } else { "Leave out the supports" };
            window.edit(what, |d| d.scheme.left_out.supports = !supports);
        }
        if many
            && ui
                .button("Leave out a part")
                .on_hover_text("A support, or a part you paint another day: click on it in the picture")
                .clicked()
        {
            window.take_up(Tool::LeaveOut);
        }
        let parts = !window.desk.scheme().left_out.parts.is_empty();
        if parts && ui.button("Take all back").clicked() {
            window.edit("Take all parts back", |d| d.scheme.left_out.parts.clear());
        }
    });
}

fn findings(window: &Window, ui: &mut Ui) {
    let more = window
        .shown
        .as_ref()
        .and_then(|s| s.plan.as_ref())
        .map(|p| p.findings.as_slice())
        .unwrap_or_default();
    if window.findings.is_empty() && more.is_empty() {
        return;
    }
    heading(ui, "What was noticed");
    for finding in window.findings.iter().chain(more) {
        note(ui, &finding.hint);
    }
}

/// How the painter likes the window.
fn tastes(window: &mut Window, ui: &mut Ui) {
    heading(ui, "This window");
    let mut taste = window.taste;
    ui.horizontal_wrapped(|ui| {
        for (room, name) in [(Room::System, "As the system"), (Room::Dark, "Dark"), (Room::Light, "Light")] {
            if choice(ui, taste.room == room, name).clicked() {
                taste.room = room;
            }
        }
    });
    ui.horizontal_wrapped(|ui| {
        for percent in [100, 125, 150, 200, 300] {
            let scale = percent as f32 / 100.0;
            if choice(ui, (taste.scale - scale).abs() < 0.01, &format!("{percent} %")).clicked() {
                taste.scale = scale;
            }
        }
    });
    ui.checkbox(&mut taste.calm, "Nothing glides").on_hover_text("Views change at once, without motion");
    if taste != window.taste {
        let Taste { hinted, .. } = window.taste;
        window.set_taste(ui.ctx(), Taste { hinted, ..taste });
    }
}

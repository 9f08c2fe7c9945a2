//! What lies over the figure: how it is seen, from which side, how large it is.

use super::label_at;
use crate::camera::{Camera, size_bar};
use crate::field::choice;
use crate::legend;
use crate::look::Look;
use crate::side::Side;
use crate::theme::Palette;
use crate::window::{MOST_TENTHS, Window};
use eframe::egui::{
    ComboBox, CornerRadius, DragValue, Frame, Margin, Painter, Pos2, Rect, RichText, Role, ScrollArea,
    Stroke, Ui, UiBuilder, WidgetInfo, pos2, vec2,
};

/// What lies over the figure: looks, sides, size bar, legend, what is under the pointer.
pub(super) fn overlays(window: &mut Window, ui: &mut Ui, n: usize, rect: Rect, look: Look, colours: Palette) {
    let inner = rect.shrink(12.0);
    let paper = Frame::new()
        .fill(colours.table.gamma_multiply(0.92))
        .corner_radius(CornerRadius::same(9))
        .inner_margin(Margin::symmetric(9, 6));
    if is_small(rect) {
        // One button holds it all: a small pane belongs to the figure.
        let mut top = ui.new_child(UiBuilder::new().max_rect(rect.shrink(6.0)).id_salt(("looks", n)));
        paper.inner_margin(Margin::symmetric(4, 3)).show(&mut top, |ui| {
            let name = RichText::new(look_name(window, look)).small();
            let shown = ui.menu_button(name, |ui| small(window, ui, n, look, colours)).response;
            let name = if n == 0 { "How the figure is seen" } else { "How the second figure is seen" };
            shown.on_hover_text(name).widget_info(|| WidgetInfo::labeled(Role::Button, true, name));
        });
        return;
    }
    let mut top = ui.new_child(UiBuilder::new().max_rect(inner).id_salt(("looks", n)));
    let bar = paper.show(&mut top, |ui| looks(window, ui, n, look)).response.rect;
    if n == 0 {
        let low = Rect::from_min_max(pos2(inner.min.x, inner.max.y - 42.0), inner.max);
        let mut foot = ui.new_child(UiBuilder::new().max_rect(low).id_salt("sides"));
        let sides = paper.show(&mut foot, |ui| sides(window, ui)).response.rect;
        if let Some(camera) = window.camera {
            let beside = sides.right_center() + vec2(16.0, 0.0);
            // Beside the buttons, or above them where too little room is left.
            let above = sides.left_top() + vec2(6.0, -18.0);
            let from = if inner.max.x - beside.x > 140.0 { beside } else { above };
            measure(ui.painter(), &camera, from, inner.max.x, colours);
        }
    }
    legend::show(window, ui, n, inner, bar, look, colours);
}

/// Whether a pane is too small for controls of its own beside the figure.
pub(super) fn is_small(rect: Rect) -> bool {
    rect.width() < 340.0 || rect.height() < 300.0
}

/// All controls of a small pane, with its legend, as a menu.
fn small(window: &mut Window, ui: &mut Ui, n: usize, look: Look, colours: Palette) {
    let most = ui.ctx().content_rect().size() - vec2(60.0, 60.0);
    ui.set_max_width(most.x.min(290.0));
    ScrollArea::vertical().max_height(most.y).show(ui, |ui| {
        ui.horizontal_wrapped(|ui| {
            for row in rows(window) {
                if choice(ui, row == look, &look_name(window, row)).on_hover_text(look_words(row)).clicked() {
                    see(window, n, row);
                    ui.close();
                }
            }
            reach(window, ui, look);
        });
        legend::key(window, ui, look, colours);
        if n == 0 {
            ui.separator();
            ui.horizontal_wrapped(|ui| {
                two_and_squint(window, ui, "Two views");
                side_buttons(window, ui);
            });
        }
    });
}

/// A bar of a round length on the figure, from a place toward the right.
fn measure(painter: &Painter, camera: &Camera, from: Pos2, most: f32, colours: Palette) {
    /// Points that its words take.
    const WORDS: f32 = 60.0;
    let (mm, points) = size_bar(camera.mm_per_point(), f64::from((most - from.x - WORDS).clamp(10.0, 140.0)));
    let to = from + vec2(points as f32, 0.0);
    for (width, colour) in [(5.0, colours.table), (2.0, colours.ink)] {
        let line = Stroke::new(width, colour);
        painter.line_segment([from, to], line);
        for end in [from, to] {
            painter.line_segment([end - vec2(0.0, 5.0), end + vec2(0.0, 5.0)], line);
        }
    }
    label_at(painter, to + vec2(32.0, -1.0), &format!("{mm} mm"), colours);
}

/// The name of a look on its button.
pub(super) fn look_name(window: &Window, look: Look) -> String {
    match look {
        Look::Primed => "as primed".into(),
        Look::Greys => "in grey values".into(),
        Look::Bands => "in bands".into(),
        Look::Zones => "by strongest light".into(),
        Look::Regions => "by regions".into(),
        Look::Colours => "in planned colours".into(),
        Look::Steps => "in colours, step by step".into(),
        Look::Openness(_) => "by recesses".into(),
        Look::Light(id) => {
            let name = window.desk.scheme().lights.iter().find(|l| l.id == id).map(|l| l.name.as_str());
            format!("light of {}", name.unwrap_or("nothing"))
        }
    }
}

fn looks(window: &mut Window, ui: &mut Ui, n: usize, look: Look) {
    let rows = rows(window);
    ui.horizontal_wrapped(|ui| {
        let roomy = ui.available_width() > 400.0;
        if roomy {
            ui.label(if n == 0 { "Seen" } else { "Beside it" });
        }
        let mut chosen = look;
        let width = if roomy { 150.0 } else { 120.0_f32.min(ui.available_width() - 10.0) };
        let combo = ComboBox::from_id_salt(("look", n)).selected_text(look_name(window, look)).width(width);
        let shown = combo.show_ui(ui, |ui| {
            for row in rows {
                ui.selectable_value(&mut chosen, row, look_name(window, row)).on_hover_text(look_words(row));
            }
        });
        let name = if n == 0 { "How the figure is seen" } else { "How the second figure is seen" };
        let enabled = shown.response.enabled();
        shown.response.widget_info(|| WidgetInfo::labeled(Role::ComboBox, enabled, name));
        if chosen != look {
            see(window, n, chosen);
        }
        reach(window, ui, look);
        if n == 0 {
            two_and_squint(window, ui, if roomy { "Two views" } else { "Two" });
        }
    });
}

/// The looks that there are.
fn rows(window: &Window) -> Vec<Look> {
    [
        Look::Primed,
        Look::Greys,
        Look::Bands,
        Look::Zones,
        Look::Regions,
        Look::Colours,
        Look::Steps,
        Look::Openness(window.reach_tenths()),
    ]
    .into_iter()
    .chain(window.desk.scheme().lights.iter().map(|l| Look::Light(l.id)))
    .collect()
}

fn see(window: &mut Window, n: usize, look: Look) {
    if n == 0 { window.look = look } else { window.beside = Some(look) }
}

/// How far openness looks, where that is seen.
fn reach(window: &mut Window, ui: &mut Ui, look: Look) {
    let Look::Openness(tenths) = look else { return };
    let mut mm = f64::from(tenths) / 10.0;
    let label = ui.label("within");
    let far = DragValue::new(&mut mm).range(0.1..=f64::from(MOST_TENTHS) / 10.0).speed(0.05);
    let words = "How far each spot looks round: short for folds and rivets, long for armpits and hollows";
    let far = ui.add(far.suffix(" mm").max_decimals(1)).labelled_by(label.id).on_hover_text(words);
    if far.changed() {
        window.set_reach((mm * 10.0).round() as u16);
    }
}

fn two_and_squint(window: &mut Window, ui: &mut Ui, name: &str) {
    let two = window.beside.is_some();
    if choice(ui, two, name).on_hover_text("Side by side, each seen in its own way").clicked() {
        let other = if window.look == Look::Bands { Look::Greys } else { Look::Bands };
        window.beside = (!two).then_some(other);
    }
    let squints = window.squint;
    let words = "As an eye sees it from the distance set under Values: what is too fine to read at that \
                 distance melts together (Q)";
    if choice(ui, squints, "Squint").on_hover_text(words).clicked() {
        window.squint = !squints;
    }
}

fn look_words(look: Look) -> &'static str {
    match look {
        Look::Primed => "Dark primer all over, mid grey from all round, light from above",
        Look::Greys => "How light each spot is to become",
        Look::Bands => "The tones to mix: one flat grey for each",
        Look::Zones => "Which light is the strongest where",
        Look::Regions => "What is painted as one: helmet, suit, boots",
        Look::Colours => "As it will look painted: steps and the light of lamps blended",
        Look::Steps => "Each step of paint as one flat colour, the way it is laid down",
        Look::Openness(_) => {
            "How open each spot lies, whatever the light: dark where washes and lines belong"
        }
        Look::Light(_) => "How much of this light arrives where, from dark blue (none) to pale sand (all)",
    }
}

fn sides(window: &mut Window, ui: &mut Ui) {
    /// Points that all buttons take in one row.
    const ROW: f32 = 440.0;
    if ui.available_width() > ROW {
        ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = 4.0;
            side_buttons(window, ui);
        });
    } else {
        ui.menu_button("Look from…", |ui| side_buttons(window, ui));
    }
}

fn side_buttons(window: &mut Window, ui: &mut Ui) {
    let now = ui.input(|i| i.time);
    for (k, side) in Side::ALL.into_iter().enumerate() {
        let words = format!("Look from here, as on the sheets ({})", k + 1);
        if ui.button(RichText::new(side.name()).small()).on_hover_text(words).clicked() {
            window.look_from(side, now);
        }
    }
    if ui.button(RichText::new("Fit").small()).on_hover_text("Show all of the figure (F)").clicked() {
        window.fit(now);
    }
}

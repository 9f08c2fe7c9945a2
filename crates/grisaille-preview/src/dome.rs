//! The daylight's dome: a disc, seen from above, to drag the sun on.

use crate::field::gesture;
use crate::handle::{from_dome, on_dome};
use crate::theme::palette;
use crate::window::Window;
use eframe::egui::{Align2, FontId, Key, Pos2, Sense, Stroke, Ui, WidgetInfo, pos2, vec2};

/// Its radius in points.
const RADIUS: f32 = 74.0;

/// Shows the dome; gives the new tilt and azimuth when the sun was moved.
pub(crate) fn show(window: &mut Window, ui: &mut Ui, tilt: f64, azimuth: f64) -> Option<[f64; 2]> {
    let colours = palette(ui.ctx());
    let size = vec2(2.0 * RADIUS + 44.0, 2.0 * RADIUS + 44.0);
    let (rect, response) = ui.allocate_exact_size(size, Sense::click_and_drag());
    response.widget_info(|| {
        let words = format!(
            "Dome of the daylight: {tilt:.0} degrees from above, {azimuth:.0} round. Arrow keys move it."
        );
        WidgetInfo::slider(true, tilt, words)
    });
    let centre = rect.center();
    let painter = ui.painter();
    let line = Stroke::new(1.0, colours.quiet.gamma_multiply(0.7));
    painter.circle(centre, RADIUS, colours.card, Stroke::new(1.5, colours.quiet));
    for tilt in [30.0, 60.0] {
        painter.circle_stroke(centre, RADIUS * tilt / 90.0, line);
    }
    for way in [vec2(1.0, 0.0), vec2(0.0, 1.0)] {
        painter.line_segment([centre - way * RADIUS, centre + way * RADIUS], line);
    }
    let font = FontId::new(12.5, eframe::egui::FontFamily::Proportional);
    for (way, name) in [
        (vec2(0.0, 1.0), "front"),
        (vec2(0.0, -1.0), "back"),
        (vec2(1.0, 0.0), "right"),
        (vec2(-1.0, 0.0), "left"),
    ] {
        let gap = if way.x == 0.0 { 11.0 } else { 5.0 };
        let align = match (way.x, way.y) {
            (1.0, _) => Align2::LEFT_CENTER,
            (-1.0, _) => Align2::RIGHT_CENTER,
            _ => Align2::CENTER_CENTER,
        };
        painter.text(centre + way * (RADIUS + gap), align, name, font.clone(), colours.quiet);
    }
    let [x, y] = on_dome(tilt, azimuth);
    let sun = centre + vec2(x as f32, y as f32) * RADIUS;
    painter.line_segment([sun, centre], Stroke::new(2.0, colours.brass));
    painter.circle(sun, 10.0, colours.brass, Stroke::new(2.0, colours.table));
    if response.has_focus() {
        painter.circle_stroke(centre, RADIUS + 2.0, Stroke::new(2.0, colours.sea));
    }
    gesture(window, &response, "Move the daylight");
    if response.clicked() || response.drag_started() {
        response.request_focus();
    }
    let moved = pointed(&response, centre).or_else(|| by_keys(ui, &response, tilt, azimuth));
    moved.filter(|to| *to != [tilt, azimuth])
}

fn pointed(response: &eframe::egui::Response, centre: Pos2) -> Option<[f64; 2]> {
    if !(response.dragged() || response.clicked()) {
        return None;
    }
    let at = response.interact_pointer_pos()?;
    let off = (at - centre) / RADIUS;
    Some(from_dome([f64::from(off.x), f64::from(off.y)]))
}

fn by_keys(ui: &Ui, response: &eframe::egui::Response, tilt: f64, azimuth: f64) -> Option<[f64; 2]> {
    if !response.has_focus() {
        return None;
    }
    // The arrows move the sun, not the focus.
    let filter =
        eframe::egui::EventFilter { horizontal_arrows: true, vertical_arrows: true, ..Default::default() };
    ui.memory_mut(|m| m.set_focus_lock_filter(response.id, filter));
    let step = 5.0 / 90.0;
    let [x, y] = on_dome(tilt, azimuth);
    let by = ui.input(|i| {
        let press = |key| f64::from(u8::from(i.key_pressed(key)));
        let right = press(Key::ArrowRight) - press(Key::ArrowLeft);
        let down = press(Key::ArrowDown) - press(Key::ArrowUp);
        pos2(right as f32, down as f32)
    });
    if by == Pos2::ZERO {
        return None;
    }
    Some(from_dome([x + f64::from(by.x) * step, y + f64::from(by.y) * step]))
}

//! The lights on the figure: lamps and their arrows are taken hold of, daylight
//! shows where it comes from.

use super::overlay::is_small;
use super::{label_at, on_screen, spot_at};
use crate::camera::Camera;
use crate::desk::rounded;
use crate::handle::{Axis, across, along, far_handle, placing_height};
use crate::step::Step;
use crate::theme::Palette;
use crate::window::Window;
use eframe::egui::{
    self, Color32, Id, Painter, Pos2, Rect, Response, Role, Sense, Shape, Stroke, Ui, WidgetInfo, pos2, vec2,
};
use grisaille_base::LightId;
use grisaille_scheme::{LightChoice, LightEntry};
use nalgebra::Point3;

/// Radius of a lamp's handle in points.
const HANDLE: f32 = 9.0;
/// How far the grips for the axes stand from the lamp, in points.
const GRIP: f64 = 46.0;

/// Handles of all lights. Whether one of them is in the hand.
pub(super) fn handles(
    window: &mut Window,
    ui: &mut Ui,
    n: usize,
    rect: Rect,
    camera: Camera,
    colours: Palette,
) -> bool {
    let Some(bounds) = window.ground().map(|g| g.mesh.bounds()) else { return false };
    let lights: Vec<LightEntry> = window.desk.scheme().lights.clone();
    let mut taken = false;
    for light in &lights {
        // What else belongs to a light is shown where lights are the matter.
        let chosen = window.selected == Some(light.id) && window.step == Step::Light;
        match light.choice {
            LightChoice::Lamp { at, .. } => {
                let place = Point3::from(at);
                taken |= lamp_handle(window, ui, n, rect, camera, light, place, chosen, colours);
            }
            LightChoice::Zenithal { tilt, azimuth, .. } if chosen => {
                let far = far_handle(tilt, azimuth, Point3::from(bounds.centre()), bounds.diagonal());
                let middle = on_screen(&camera, bounds.centre().into(), rect);
                let from = drawn_in(on_screen(&camera, far, rect), middle, rect.shrink(24.0));
                daylight(ui.painter(), from, middle, colours);
            }
            _ => {}
        }
    }
    taken
}

/// The place on the way from `middle` to `at` that is nearest to `at` within `rect`.
fn drawn_in(at: Pos2, middle: Pos2, rect: Rect) -> Pos2 {
    let way = at - middle;
    let share = |by: f32, low: f32, high: f32| {
        let room = if by > 0.0 { high } else { low };
        if by == 0.0 { 1.0 } else { (room / by).clamp(0.0, 1.0) }
    };
    let across = share(way.x, rect.min.x - middle.x, rect.max.x - middle.x);
    let down = share(way.y, rect.min.y - middle.y, rect.max.y - middle.y);
    middle + way * across.min(down)
}

/// Daylight: a short arrow from where it comes.
fn daylight(painter: &Painter, from: Pos2, to: Pos2, colours: Palette) {
    let way = to - from;
    let end = from + way * 0.28;
    painter.arrow(from, end - from, Stroke::new(3.0, colours.brass));
    painter.circle(from, 6.0, colours.brass, Stroke::new(1.5, colours.table));
}

#[allow(clippy::too_many_arguments, reason = "one call, from the loop over lights")]
fn lamp_handle(
    window: &mut Window,
    ui: &mut Ui,
    n: usize,
    rect: Rect,
    camera: Camera,
    light: &LightEntry,
    place: Point3<f64>,
    chosen: bool,
    colours: Palette,
) -> bool {
    let at = on_screen(&camera, place, rect);
    let id = Id::unique(("lamp", n, light.id));
    let grip = Rect::from_center_size(at, vec2(2.6 * HANDLE, 2.6 * HANDLE));
    let response = ui.interact(grip, id, Sense::click_and_drag());
    response.widget_info(|| {
        WidgetInfo::labeled(
            Role::Button,
            true,
            format!("Lamp {}: drag it, or Ctrl and arrow keys", light.name),
        )
    });
    let hidden = behind(window, place, camera, rect);
    let painter = ui.painter();
    if chosen {
        reach_circles(painter, at, light, camera, colours);
    }
    let held = response.hovered() || response.dragged();
    // On a small pane names would lie over the figure and over each other.
    let named = held || (window.step == Step::Light && !is_small(rect));
    lamp_dot(painter, at, light, chosen || response.hovered(), hidden, colours);
    if named {
        label_at(painter, at + vec2(0.0, HANDLE + 14.0), &light.name, colours);
    }
    if response.clicked() || response.drag_started() {
        window.selected = Some(light.id);
        response.request_focus();
    }
    let mut taken = drag_lamp(window, ui, &response, light.id, |window, by| {
        let shift = ui.input(|i| i.modifiers.shift);
        let to = place_over(window, ui, rect, camera, place, by, shift);
        rounded(to.into())
    });
    if response.hovered() || response.dragged() {
        // Said at the foot of the window: here it would hide what is lit.
        window.pointed = Some(light.name.clone());
    }
    if chosen {
        for axis in Axis::ALL {
            taken |= axis_grip(window, ui, n, rect, camera, light, place, axis, colours);
        }
    }
    taken
}

/// Where a lamp goes that is dragged with the pointer: over the surface at the
/// height that it had above it, or across the view where there is no surface.
fn place_over(
    window: &Window,
    ui: &Ui,
    rect: Rect,
    camera: Camera,
    place: Point3<f64>,
    by: egui::Vec2,
    across_view: bool,
) -> Point3<f64> {
    let by = [f64::from(by.x), f64::from(by.y)];
    let free = across(place, by, &camera);
    if across_view {
        return free;
    }
    let Some(pointer) = ui.input(|i| i.pointer.interact_pos()) else { return free };
    let height = window.ground().map_or(30.0, |g| g.mesh.bounds().extents()[2]);
    let size = [f64::from(rect.width()), f64::from(rect.height())];
    let seen = camera.project(place, size);
    let lift = spot_at(window, pos2(rect.min.x + seen[0] as f32, rect.min.y + seen[1] as f32), rect)
        .map_or(placing_height(height), |spot| (place - spot.point).dot(&camera.view().toward()));
    match spot_at(window, pointer, rect) {
        // The lamp stays under the pointer, as far in front of the surface as it was.
        Some(spot) => spot.point + camera.view().toward() * lift.clamp(0.2, 2.0 * height),
        None => free,
    }
}

/// One drag of a lamp, from its first move to its last: one step to undo.
fn drag_lamp(
    window: &mut Window,
    ui: &Ui,
    response: &Response,
    id: LightId,
    to: impl FnOnce(&Window, egui::Vec2) -> [f64; 3],
) -> bool {
    if response.drag_started() {
        window.desk.history_mut().begin("Move the lamp");
        window.moving = Some(id);
    }
    if response.dragged() {
        let by = response.drag_delta();
        if by != egui::Vec2::ZERO && window.desk.history().in_gesture() {
            let place = to(window, by);
            let result = window.desk.change_light("Move the lamp", id, |light| {
                if let LightChoice::Lamp { at, .. } = &mut light.choice {
                    *at = place;
                }
            });
            if let Err(why) = result {
                window.warn(why);
            }
            ui.ctx().request_repaint();
        }
    }
    if response.drag_stopped() {
        window.desk.history_mut().end();
        window.moving = None;
    }
    response.dragged() || response.hovered()
}

#[allow(clippy::too_many_arguments, reason = "one call, from the loop over axes")]
fn axis_grip(
    window: &mut Window,
    ui: &mut Ui,
    n: usize,
    rect: Rect,
    camera: Camera,
    light: &LightEntry,
    place: Point3<f64>,
    axis: Axis,
    colours: Palette,
) -> bool {
    let view = camera.view();
    let vector = axis.vector();
    let seen = [vector.dot(&view.right()), -vector.dot(&view.up())];
    if seen[0].hypot(seen[1]) < 0.2 {
        // It points at the viewer: there is nothing to take hold of.
        return false;
    }
    let at = on_screen(&camera, place, rect);
    let end = at + vec2((seen[0] * GRIP) as f32, (seen[1] * GRIP) as f32);
    let id = Id::unique(("grip", n, light.id, axis.name()));
    let response = ui.interact(Rect::from_center_size(end, vec2(20.0, 20.0)), id, Sense::drag());
    let label = format!("{} and back: moves {} this way only", axis.name(), light.name);
    response.widget_info(|| WidgetInfo::labeled(Role::Button, true, &label));
    let colour = if response.hovered() || response.dragged() { colours.brass } else { colours.sea };
    let painter = ui.painter();
    let start = at + (end - at).normalized() * (HANDLE + 3.0);
    painter.line_segment([start, end], Stroke::new(4.0, colours.table));
    painter.line_segment([start, end], Stroke::new(2.0, colour));
    painter.circle(end, 6.0, colour, Stroke::new(1.5, colours.table));
    if !is_small(rect) || response.hovered() || response.dragged() {
        let way = (end - at).normalized();
        // Words are wider than high.
        let beyond = end + way * (15.0 + 11.0 * way.x.abs());
        label_at(painter, beyond, axis.name(), colours);
    }
    drag_lamp(window, ui, &response, light.id, |_, by| {
        rounded(along(place, axis, [f64::from(by.x), f64::from(by.y)], &camera).into())
    })
}

/// Whether the figure stands before a lamp.
fn behind(window: &Window, place: Point3<f64>, camera: Camera, rect: Rect) -> bool {
    let size = [f64::from(rect.width()), f64::from(rect.height())];
    let [x, y, near] = camera.project(place, size);
    let spot = spot_at(window, pos2(rect.min.x + x as f32, rect.min.y + y as f32), rect);
    spot.is_some_and(|s| camera.project(s.point, size)[2] > near + 1e-6)
}

fn lamp_dot(painter: &Painter, at: Pos2, light: &LightEntry, strong: bool, hidden: bool, colours: Palette) {
    let [r, g, b] = light.colour;
    let glow = Color32::from_rgb(r, g, b);
    let edge = if strong { colours.brass } else { colours.table };
    if hidden {
        // Behind the figure: a ring to look through.
        painter.circle_stroke(at, HANDLE, Stroke::new(4.5, colours.table));
        painter.circle_stroke(at, HANDLE, Stroke::new(2.5, glow));
    } else {
        for (k, radius) in [2.4, 1.8].into_iter().enumerate() {
            painter.circle_filled(at, HANDLE * radius, glow.gamma_multiply(0.14 + 0.1 * k as f32));
        }
        painter.circle(at, HANDLE, glow, Stroke::new(2.0, edge));
    }
    if strong {
        painter.circle_stroke(at, HANDLE + 4.0, Stroke::new(2.0, colours.brass));
    }
}

/// Where the lamp gives full light, and where its light ends.
fn reach_circles(painter: &Painter, at: Pos2, light: &LightEntry, camera: Camera, colours: Palette) {
    let LightChoice::Lamp { reference, falloff, .. } = light.choice else { return };
    let points = |mm: f64| (mm / camera.mm_per_point()) as f32;
    let dashed = |radius: f32, dash: f32, colour: Color32| {
        if !(4.0..4000.0).contains(&radius) {
            return;
        }
        let count = (radius * std::f32::consts::TAU / 5.0).clamp(24.0, 720.0) as usize;
        let circle: Vec<Pos2> = (0..=count)
            .map(|i| {
                let (s, c) = (i as f32 / count as f32 * std::f32::consts::TAU).sin_cos();
                at + vec2(c, s) * radius
            })
            .collect();
        painter.extend(Shape::dashed_line(&circle, Stroke::new(1.5, colour), dash, dash));
    };
    if let Some(full) = reference {
        dashed(points(full.0), 3.0, colours.brass.gamma_multiply(0.8));
    }
    if let Some(end) = falloff.reach {
        dashed(points(end.0), 9.0, colours.sea);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_lies_beside_the_pane_is_drawn_at_its_edge() {
        let rect = Rect::from_min_max(pos2(0.0, 0.0), pos2(100.0, 60.0));
        let middle = pos2(50.0, 30.0);
        assert_eq!(drawn_in(pos2(60.0, 10.0), middle, rect), pos2(60.0, 10.0));
        assert_eq!(drawn_in(pos2(50.0, -30.0), middle, rect), pos2(50.0, 0.0));
        assert_eq!(drawn_in(pos2(250.0, 30.0), middle, rect), pos2(100.0, 30.0));
        assert_eq!(drawn_in(middle, middle, rect), middle);
    }
}

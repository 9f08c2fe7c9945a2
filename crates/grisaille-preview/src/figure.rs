//! The figure in the middle of the window: it is turned, lights are taken hold
//! of, and what lies under the pointer is told.

use crate::camera::{Camera, size_bar};
use crate::card_eye;
use crate::desk::rounded;
use crate::draw::PaneView;
use crate::field::choice;
use crate::handle::{Axis, above, across, along, far_handle, placing_height};
use crate::legend;
use crate::look::Look;
use crate::pick::{Spot, reading};
use crate::side::Side;
use crate::step::{Step, Tool};
use crate::theme::{Palette, bold, palette};
use crate::window::{Hover, Window};
use eframe::egui::{
    self, Align2, CentralPanel, Color32, ComboBox, CornerRadius, FontId, Frame, Id, Margin, Painter,
    PointerButton, Pos2, Rect, Response, RichText, Role, Sense, Shape, Stroke, Ui, UiBuilder, WidgetInfo,
    pos2, vec2,
};
use grisaille_base::LightId;
use grisaille_scheme::{LightChoice, LightEntry};
use nalgebra::Point3;
use std::sync::{Arc, PoisonError};

/// Radius of a lamp's handle in points.
const HANDLE: f32 = 9.0;
/// How far the grips for the axes stand from the lamp, in points.
const GRIP: f64 = 46.0;
/// Seconds after a turn within which fewer faces are drawn.
const TURNING: f64 = 0.18;

/// The id of a pane, for the keyboard.
#[must_use]
pub(crate) fn pane_id(pane: usize) -> Id {
    Id::unique(("figure pane", pane))
}

pub(crate) fn show(window: &mut Window, ui: &mut Ui) {
    let colours = palette(ui.ctx());
    let [r, g, b] = colours.ground;
    let frame = Frame::new().fill(Color32::from_rgb(r, g, b));
    CentralPanel::default().frame(frame).show(ui, |ui| {
        let whole = ui.available_rect_before_wrap();
        let panes = match window.beside {
            Some(_) => {
                let middle = whole.center().x;
                vec![
                    Rect::from_min_max(whole.min, pos2(middle - 1.0, whole.max.y)),
                    Rect::from_min_max(pos2(middle + 1.0, whole.min.y), whole.max),
                ]
            }
            None => vec![whole],
        };
        window.set_pane([f64::from(panes[0].width()), f64::from(panes[0].height())]);
        window.pane_rect = panes[0];
        (window.hover, window.pointed) = (None, None);
        for (n, rect) in panes.iter().enumerate() {
            let mut inner = ui.new_child(UiBuilder::new().max_rect(*rect).id_salt(("pane", n)));
            inner.set_clip_rect(rect.intersect(ui.clip_rect()));
            pane(window, &mut inner, n, *rect, colours);
        }
        if window.camera.is_none() {
            let text =
                if window.busy() { "Reading the model…" } else { "Open a print, or drop its file here." };
            ui.painter().text(
                whole.center(),
                Align2::CENTER_CENTER,
                text,
                FontId::new(20.0, bold()),
                colours.ink,
            );
        }
    });
}

/// The place of a screen point in a pane.
fn within(at: Pos2, rect: Rect) -> [f64; 2] {
    [f64::from(at.x - rect.min.x), f64::from(at.y - rect.min.y)]
}

fn on_screen(camera: &Camera, point: Point3<f64>, rect: Rect) -> Pos2 {
    let size = [f64::from(rect.width()), f64::from(rect.height())];
    let [x, y, _] = camera.project(point, size);
    pos2(rect.min.x + x as f32, rect.min.y + y as f32)
}

fn pane(window: &mut Window, ui: &mut Ui, n: usize, rect: Rect, colours: Palette) {
    let response = ui.interact(rect, pane_id(n), Sense::click_and_drag());
    let look = if n == 0 { window.look } else { window.beside.unwrap_or(window.look) };
    response.widget_info(|| {
        let words = format!(
            "The figure, {}. Arrow keys turn it, plus and minus zoom, 1 to 6 look from a side.",
            look_name(window, look)
        );
        WidgetInfo::labeled(Role::Image, true, words)
    });
    if n == 0 && std::mem::take(&mut window.to_figure) {
        response.request_focus();
    }
    if let Some(camera) = window.camera {
        paint_figure(window, ui, n, rect, camera, colours);
        // Handles come after the pane, so that they are taken hold of first.
        let taken = handles(window, ui, n, rect, camera, colours);
        if !taken {
            turn(window, ui, &response, rect);
        }
        point_at(window, &response, rect);
        clicks(window, &response, n, rect);
        if n == 0 && window.tool != Tool::Turn {
            cross(ui.painter(), rect.center(), colours);
        }
        if response.has_focus() {
            let line = Stroke::new(2.0, colours.sea);
            ui.painter().rect_stroke(rect.shrink(1.0), CornerRadius::ZERO, line, egui::StrokeKind::Inside);
        }
    }
    overlays(window, ui, n, rect, look, colours);
}

/// The name of a look on its button.
pub(crate) fn look_name(window: &Window, look: Look) -> String {
    match look {
        Look::Primed => "as primed".into(),
        Look::Greys => "in grey values".into(),
        Look::Bands => "in bands".into(),
        Look::Zones => "by strongest light".into(),
        Look::Light(id) => {
            let name = window.desk.scheme().lights.iter().find(|l| l.id == id).map(|l| l.name.as_str());
            format!("light of {}", name.unwrap_or("nothing"))
        }
    }
}

fn paint_figure(window: &mut Window, ui: &Ui, n: usize, rect: Rect, camera: Camera, colours: Palette) {
    let Some(canvas) = window.canvas.clone() else { return };
    let ppp = ui.ctx().pixels_per_point();
    let now = ui.input(|i| i.time);
    let turning = now - window.turned_at < TURNING;
    if turning {
        // Once more when it rests, with all faces.
        ui.ctx().request_repaint_after(std::time::Duration::from_secs_f64(TURNING + 0.02));
    }
    let view = PaneView {
        camera,
        size: [f64::from(rect.width()), f64::from(rect.height())],
        pixels: [(rect.width() * ppp).round() as u32, (rect.height() * ppp).round() as u32],
        ground: colours.ground,
        blur: if window.squint { squint_blur(window.arm, &camera) * ppp } else { 0.0 },
        pitch: 9.0 * ppp,
        moving: turning || window.moving.is_some(),
    };
    let callback = eframe::egui_glow::CallbackFn::new(move |info, _| {
        let mut canvas = canvas.lock().unwrap_or_else(PoisonError::into_inner);
        let at = info.viewport_in_pixels();
        let clip = info.clip_rect_in_pixels();
        let viewport = three_d::Viewport {
            x: at.left_px,
            y: at.from_bottom_px,
            width: at.width_px.max(1) as u32,
            height: at.height_px.max(1) as u32,
        };
        let scissor = three_d::ScissorBox {
            x: clip.left_px,
            y: clip.from_bottom_px,
            width: clip.width_px.max(1) as u32,
            height: clip.height_px.max(1) as u32,
        };
        canvas.paint(n, &view, info.screen_size_px, viewport, scissor);
    });
    ui.painter().add(egui::PaintCallback { rect, callback: Arc::new(callback) });
}

/// The acuity blur of an eye at `arm` metres, as a standard deviation in
/// points. A normal eye parts two lines one minute of arc apart (ISO 8596); a
/// Gaussian whose full width at half its height is that minute is taken for it.
pub(crate) fn squint_blur(arm: f64, camera: &Camera) -> f32 {
    let minute = arm * 1000.0 * (1.0_f64 / 60.0).to_radians().tan();
    (minute / 2.354_82 / camera.mm_per_point()) as f32
}

fn turn(window: &mut Window, ui: &Ui, response: &Response, rect: Rect) {
    let Some(camera) = &mut window.camera else { return };
    let now = ui.input(|i| i.time);
    let size = [f64::from(rect.width()), f64::from(rect.height())];
    let by = response.drag_delta();
    let by = [f64::from(by.x), f64::from(by.y)];
    let shift = ui.input(|i| i.modifiers.shift);
    if by != [0.0, 0.0] {
        let pans = shift
            || response.dragged_by(PointerButton::Secondary)
            || response.dragged_by(PointerButton::Middle);
        if pans {
            camera.pan(by);
        } else if response.dragged_by(PointerButton::Primary) {
            camera.orbit(by);
        }
        window.glide = None;
        window.turned_at = now;
    }
    if response.contains_pointer()
        && let Some(at) = ui.input(|i| i.pointer.hover_pos())
    {
        let (scroll, pinch) = ui.input(|i| (i.smooth_scroll_delta(), i.zoom_delta()));
        if pinch != 1.0 {
            camera.zoom(f64::from(pinch), within(at, rect), size);
            window.turned_at = now;
        } else if shift && scroll != egui::Vec2::ZERO {
            camera.pan([f64::from(scroll.x), f64::from(scroll.y)]);
            window.turned_at = now;
        } else if scroll.y != 0.0 {
            camera.zoom((f64::from(scroll.y) * 0.004).exp(), within(at, rect), size);
            window.turned_at = now;
        }
    }
    if response.double_clicked() && window.tool == Tool::Turn {
        window.fit(now);
    }
}

fn spot_at(window: &Window, at: Pos2, rect: Rect) -> Option<Spot> {
    let size = [f64::from(rect.width()), f64::from(rect.height())];
    let camera = window.camera?;
    window.picker.as_ref()?.spot(camera.line(within(at, rect), size), &window.mask)
}

fn point_at(window: &mut Window, response: &Response, rect: Rect) {
    let Some(at) = response.hover_pos() else { return };
    if response.dragged() {
        return;
    }
    let Some(spot) = spot_at(window, at, rect) else { return };
    let reading = match (&window.shown, window.ground()) {
        (Some(shown), Some(ground)) if shown.draft.lightness.len() == ground.surface.samples.len() => {
            Some(reading(&spot, ground, &shown.draft, shown.plan.as_deref()))
        }
        _ => None,
    };
    window.hover = Some(Hover { spot, reading });
}

/// A click of the mouse, or Enter for one in the middle of the first pane.
fn clicks(window: &mut Window, response: &Response, n: usize, rect: Rect) {
    let at = if n == 0 && std::mem::take(&mut window.in_middle) {
        rect.center()
    } else if response.clicked()
        && let Some(at) = response.interact_pointer_pos()
    {
        response.request_focus();
        at
    } else {
        return;
    };
    let spot = spot_at(window, at, rect);
    match (window.tool, spot) {
        (Tool::Turn, _) => {}
        (Tool::PlaceLamp, spot) => place_lamp(window, at, rect, spot),
        (Tool::Through(id), Some(spot)) => through(window, id, spot),
        (Tool::Sole, Some(spot)) => window.tool = Tool::Eye(spot.point.z),
        (Tool::Eye(sole), Some(spot)) => size_by_eye(window, sole, spot.point.z),
        (Tool::Hide, Some(spot)) => {
            window.hidden.pieces.insert(spot.piece);
        }
        (Tool::Focus, Some(spot)) => card_eye::draw_eye(window, &spot),
        (Tool::Keep, Some(spot)) => card_eye::keep_fine(window, &spot),
        (_, None) => {
            window.say("That is beside the figure: click on it.");
        }
    }
}

/// Where Enter clicks: a fine cross, so that a tool needs no mouse.
fn cross(painter: &Painter, at: Pos2, colours: Palette) {
    for (width, colour) in [(3.0, colours.card), (1.0, colours.ink)] {
        for way in [vec2(1.0, 0.0), vec2(0.0, 1.0)] {
            for side in [-1.0, 1.0] {
                painter.line_segment(
                    [at + side * 4.0 * way, at + side * 11.0 * way],
                    Stroke::new(width, colour),
                );
            }
        }
    }
}

fn place_lamp(window: &mut Window, at: Pos2, rect: Rect, spot: Option<Spot>) {
    let Some(camera) = window.camera else { return };
    let size = [f64::from(rect.width()), f64::from(rect.height())];
    let height = window.ground().map_or(30.0, |g| g.mesh.bounds().extents()[2]);
    let place = match spot {
        Some(spot) => above(spot.point, spot.normal, placing_height(height)),
        // In space: as deep as the middle of what is looked at.
        None => {
            let line = camera.line(within(at, rect), size);
            let depth = (camera.centre() - line.origin).dot(&line.direction);
            line.origin + line.direction * depth
        }
    };
    match window.desk.add_lamp(place.into()) {
        Ok(id) => {
            window.selected = Some(id);
            window.tool = Tool::Turn;
            window.say("A lamp is placed. Drag its dot over the figure, or its arrows one way only.");
        }
        Err(why) => window.warn(why),
    }
}

fn through(window: &mut Window, id: LightId, spot: Spot) {
    let Some(ground) = window.ground().cloned() else { return };
    let point = rounded(spot.point.into());
    // A second click on the same piece takes it back.
    let piece_of = |p: [f64; 3]| {
        let near =
            |i: &usize| (ground.surface.samples.position[*i].cast::<f64>() - Point3::from(p)).norm_squared();
        let samples = 0..ground.surface.samples.len();
        let nearest = samples.min_by(|a, b| near(a).total_cmp(&near(b)))? as u32;
        let face = ground.surface.faces.iter().position(|f| f.contains(&nearest))?;
        Some(ground.surface.piece[face])
    };
    let light = window.desk.scheme().lights.iter().find(|l| l.id == id);
    let taken = light.and_then(|l| l.through.iter().position(|p| piece_of(*p) == Some(spot.piece)));
    let result = window.desk.change_light("Let the light through", id, |light| match taken {
        Some(at) => {
            light.through.remove(at);
        }
        None => light.through.push(point),
    });
    match (result, taken) {
        (Err(why), _) => window.warn(why),
        (Ok(()), Some(_)) => window.say("That part blocks the lamp again."),
        (Ok(()), None) => window.say("The lamp shines through that part."),
    }
}

/// Sets the size of the print from the heights of sole and eye.
fn size_by_eye(window: &mut Window, sole: f64, eye: f64) {
    window.tool = Tool::Turn;
    let measured = eye - sole;
    let Some(height) = window.ground().map(|g| g.mesh.bounds().extents()[2]) else { return };
    if measured <= 0.02 * height {
        window.warn("The eye must stand above the sole. Turn the figure upright first, then try again.");
        return;
    }
    let wanted = height * window.eye_height / measured;
    let scale = wanted / height;
    window.edit("Set the size", |document| {
        for model in &mut document.models {
            let now = model.height.map_or(height, |h| h.0);
            model.height = Some(grisaille_base::Millimetres((now * scale * 1000.0).round() / 1000.0));
        }
    });
    window.say(format!("The eye now stands {:.1} mm above the sole.", window.eye_height));
}

/// Handles of all lights. Whether one of them is in the hand.
fn handles(window: &mut Window, ui: &mut Ui, n: usize, rect: Rect, camera: Camera, colours: Palette) -> bool {
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
    let named = window.step == Step::Light || response.hovered() || response.dragged();
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
    let beyond = end + (end - at).normalized() * 15.0;
    label_at(painter, beyond, axis.name(), colours);
    drag_lamp(window, ui, &response, light.id, |_, by| {
        rounded(along(place, axis, [f64::from(by.x), f64::from(by.y)], &camera).into())
    })
}

/// Small words on the figure, with an edge round them so that they can be read
/// on any grey.
fn label_at(painter: &Painter, at: Pos2, words: &str, colours: Palette) {
    let font = FontId::new(12.5, bold());
    for off in [vec2(-1.0, 0.0), vec2(1.0, 0.0), vec2(0.0, -1.0), vec2(0.0, 1.0)] {
        painter.text(at + off, Align2::CENTER_CENTER, words, font.clone(), colours.table);
    }
    painter.text(at, Align2::CENTER_CENTER, words, font, colours.ink);
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

/// What lies over the figure: looks, sides, size bar, legend, what is under the pointer.
fn overlays(window: &mut Window, ui: &mut Ui, n: usize, rect: Rect, look: Look, colours: Palette) {
    let inner = rect.shrink(12.0);
    let paper = Frame::new()
        .fill(colours.table.gamma_multiply(0.92))
        .corner_radius(CornerRadius::same(9))
        .inner_margin(Margin::symmetric(9, 6));
    let mut top = ui.new_child(UiBuilder::new().max_rect(inner).id_salt(("looks", n)));
    let bar = paper.show(&mut top, |ui| looks(window, ui, n, look)).response.rect;
    if n == 0 {
        let low = Rect::from_min_max(pos2(inner.min.x, inner.max.y - 42.0), inner.max);
        let mut foot = ui.new_child(UiBuilder::new().max_rect(low).id_salt("sides"));
        let sides = paper.show(&mut foot, |ui| sides(window, ui)).response.rect;
        if let Some(camera) = window.camera {
            measure(ui.painter(), &camera, sides.right_center() + vec2(16.0, 0.0), inner.max.x, colours);
        }
    }
    legend::show(window, ui, n, inner, bar, look, colours);
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

fn looks(window: &mut Window, ui: &mut Ui, n: usize, look: Look) {
    let lights: Vec<(LightId, String)> =
        window.desk.scheme().lights.iter().map(|l| (l.id, l.name.clone())).collect();
    ui.horizontal_wrapped(|ui| {
        let roomy = ui.available_width() > 400.0;
        if roomy {
            ui.label(if n == 0 { "Seen" } else { "Beside it" });
        }
        let mut chosen = look;
        let rows: Vec<Look> = [Look::Primed, Look::Greys, Look::Bands, Look::Zones]
            .into_iter()
            .chain(lights.iter().map(|(id, _)| Look::Light(*id)))
            .collect();
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
            if n == 0 { window.look = chosen } else { window.beside = Some(chosen) }
        }
        if n == 0 {
            let two = window.beside.is_some();
            if choice(ui, two, if roomy { "Two views" } else { "Two" }).on_hover_text("Side by side, each seen in its own way").clicked() {
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
    });
}

fn look_words(look: Look) -> &'static str {
    match look {
        Look::Primed => "Dark primer all over, mid grey from all round, light from above",
        Look::Greys => "How light each spot is to become",
        Look::Bands => "The tones to mix: one flat grey for each",
        Look::Zones => "Which light is the strongest where",
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

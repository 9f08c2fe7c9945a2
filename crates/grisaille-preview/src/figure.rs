//! The figure in the middle of the window: it is drawn and turned, and what lies
//! under the pointer is told.
//!
//! [`clicks`] is what a click does with a tool, [`lights`] are the lights to take
//! hold of, [`overlay`] lies over the figure.

mod clicks;
mod lights;
mod overlay;
mod strokes;

use self::clicks::{clicks, cross};
use self::lights::handles;
use self::overlay::{look_name, overlays};
use crate::camera::Camera;
use crate::draw::PaneView;
use crate::pick::{Spot, reading};
use crate::step::Tool;
use crate::theme::{Palette, bold, palette};
use crate::window::{Hover, Window};
use eframe::egui::{
    self, Align2, CentralPanel, Color32, CornerRadius, FontId, Frame, Id, Painter, PointerButton, Pos2, Rect,
    Response, Role, Sense, Stroke, Ui, UiBuilder, WidgetInfo, pos2, vec2,
};
use grisaille_base::Millimetres;
use grisaille_form::blends_at;
use nalgebra::Point3;
use std::sync::{Arc, PoisonError};

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
pub(super) fn within(at: Pos2, rect: Rect) -> [f64; 2] {
    [f64::from(at.x - rect.min.x), f64::from(at.y - rect.min.y)]
}

pub(super) fn on_screen(camera: &Camera, point: Point3<f64>, rect: Rect) -> Pos2 {
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
            if strokes::draws(window.tool) {
                strokes::draw(window, ui, &response, rect);
            }
        }
        point_at(window, &response, rect);
        clicks(window, &response, n, rect);
        if n == 0 && window.tool != Tool::Turn {
            cross(ui.painter(), rect.center(), colours);
        }
        strokes::paint(window, ui.painter(), rect, colours);
        if response.has_focus() {
            let line = Stroke::new(2.0, colours.sea);
            ui.painter().rect_stroke(rect.shrink(1.0), CornerRadius::ZERO, line, egui::StrokeKind::Inside);
        }
    }
    overlays(window, ui, n, rect, look, colours);
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
        line: 2.0 * ppp,
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
    let minute = blends_at(Millimetres(arm * 1000.0)).0;
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
        } else if response.dragged_by(PointerButton::Primary) && !strokes::draws(window.tool) {
            camera.orbit(by);
        }
        if pans || !strokes::draws(window.tool) {
            window.glide = None;
            window.turned_at = now;
        }
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

pub(super) fn spot_at(window: &Window, at: Pos2, rect: Rect) -> Option<Spot> {
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

/// Small words on the figure, with an edge round them so that they can be read
/// on any grey.
pub(super) fn label_at(painter: &Painter, at: Pos2, words: &str, colours: Palette) {
    let font = FontId::new(12.5, bold());
    for off in [vec2(-1.0, 0.0), vec2(1.0, 0.0), vec2(0.0, -1.0), vec2(0.0, 1.0)] {
        painter.text(at + off, Align2::CENTER_CENTER, words, font.clone(), colours.table);
    }
    painter.text(at, Align2::CENTER_CENTER, words, font, colours.ink);
}

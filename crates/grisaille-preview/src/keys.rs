//! Everything by keyboard. The table in docs/window.md lists the keys.

use crate::desk::{lamp_place, rounded};
use crate::handle::across;
use crate::shelf::Shelf;
use crate::side::Side;
use crate::step::{Step, Tool};
use crate::window::Window;
use eframe::egui::{Context, Key, Modifiers};
use grisaille_scheme::LightChoice;
use nalgebra::Point3;

/// Points that a press of an arrow key turns or moves by.
const PRESS: f64 = 18.0;

pub(crate) fn keys(window: &mut Window, ctx: &Context) {
    if window.question.is_some() || window.shelf.is_some() {
        return;
    }
    let now = ctx.input(|i| i.time);
    let pressed = |modifiers: Modifiers, key: Key| ctx.input_mut(|i| i.consume_key(modifiers, key));
    // The one with more modifiers first: it would be taken for the other.
    if pressed(Modifiers::COMMAND | Modifiers::SHIFT, Key::Z) || pressed(Modifiers::COMMAND, Key::Y) {
        window.redo();
    }
    if pressed(Modifiers::COMMAND, Key::Z) {
        window.undo();
    }
    if pressed(Modifiers::COMMAND | Modifiers::SHIFT, Key::S) {
        window.shelf = Some(Shelf::saving(&window.usual_file()));
    }
    if pressed(Modifiers::COMMAND, Key::S) {
        window.save();
    }
    if pressed(Modifiers::COMMAND, Key::O) {
        window.shelf = Some(Shelf::opening(window));
    }
    for (key, step) in [Key::F1, Key::F2, Key::F3, Key::F4, Key::F5, Key::F6].into_iter().zip(Step::ALL) {
        if pressed(Modifiers::NONE, key) {
            window.go_to(step);
        }
    }
    let scale = window.taste.scale;
    let larger = pressed(Modifiers::COMMAND, Key::Plus) || pressed(Modifiers::COMMAND, Key::Equals);
    let smaller = pressed(Modifiers::COMMAND, Key::Minus);
    let plain = pressed(Modifiers::COMMAND, Key::Num0);
    let wanted = match (larger, smaller, plain) {
        (true, ..) => scale + 0.25,
        (_, true, _) => scale - 0.25,
        (.., true) => 1.0,
        _ => scale,
    };
    if wanted != scale {
        let taste = crate::taste::Taste { scale: wanted.clamp(1.0, 3.0), ..window.taste };
        window.set_taste(ctx, taste);
    }
    if pressed(Modifiers::NONE, Key::Escape) {
        escape(window);
    }
    // Letters and arrows belong to a field while something is typed there.
    if ctx.egui_wants_keyboard_input() && !window_has_focus(ctx) {
        return;
    }
    figure_keys(window, ctx, now);
}

fn window_has_focus(ctx: &Context) -> bool {
    ctx.memory(eframe::egui::Memory::focused)
        .is_none_or(|id| id == crate::figure::pane_id(0) || id == crate::figure::pane_id(1))
}

fn escape(window: &mut Window) {
    if window.tool != Tool::Turn {
        window.tool = Tool::Turn;
    } else if window.desk.history().in_gesture() {
        window.desk.history_mut().abandon();
        window.moving = None;
    } else if window.message.take().is_none() && window.progress().words.is_some() {
        window.stop_work();
    }
}

fn figure_keys(window: &mut Window, ctx: &Context, now: f64) {
    if !window_has_focus(ctx) {
        return;
    }
    let pressed = |modifiers: Modifiers, key: Key| ctx.input_mut(|i| i.consume_key(modifiers, key));
    for (key, side) in
        [Key::Num1, Key::Num2, Key::Num3, Key::Num4, Key::Num5, Key::Num6].into_iter().zip(Side::ALL)
    {
        if pressed(Modifiers::NONE, key) {
            window.look_from(side, now);
        }
    }
    if pressed(Modifiers::NONE, Key::F) {
        window.fit(now);
    }
    if pressed(Modifiers::NONE, Key::L) {
        window.step = Step::Light;
        window.take_up(Tool::PlaceLamp);
    }
    if window.tool != Tool::Turn && pressed(Modifiers::NONE, Key::Enter) {
        window.in_middle = true;
    }
    if pressed(Modifiers::NONE, Key::Q) {
        window.squint = !window.squint;
    }
    if pressed(Modifiers::NONE, Key::N) {
        next_light(window);
    }
    let ways = [
        (Key::ArrowLeft, [-PRESS, 0.0]),
        (Key::ArrowRight, [PRESS, 0.0]),
        (Key::ArrowUp, [0.0, -PRESS]),
        (Key::ArrowDown, [0.0, PRESS]),
    ];
    for (key, by) in ways {
        if pressed(Modifiers::COMMAND, key) {
            nudge(window, |at, camera| across(at, [by[0] / 2.0, by[1] / 2.0], camera));
        }
        if pressed(Modifiers::SHIFT, key)
            && let Some(camera) = &mut window.camera
        {
            camera.pan(by);
            window.turned_at = now;
        }
        if pressed(Modifiers::NONE, key)
            && let Some(camera) = &mut window.camera
        {
            camera.orbit(by);
            window.turned_at = now;
        }
    }
    for (key, way) in [(Key::PageUp, 1.0), (Key::PageDown, -1.0)] {
        if pressed(Modifiers::COMMAND, key) || pressed(Modifiers::NONE, key) {
            nudge(window, |at, camera| {
                at + camera.view().toward() * (way * PRESS / 2.0 * camera.mm_per_point())
            });
        }
    }
    let middle = window.pane_size.map(|s| s * 0.5);
    for (key, factor) in [(Key::Plus, 1.2), (Key::Equals, 1.2), (Key::Minus, 1.0 / 1.2)] {
        if pressed(Modifiers::NONE, key)
            && let Some(camera) = &mut window.camera
        {
            camera.zoom(factor, middle, window.pane_size);
            window.turned_at = now;
        }
    }
    if pressed(Modifiers::NONE, Key::Delete) {
        crate::card_light::take_away(window);
    }
}

/// Chooses the next light.
fn next_light(window: &mut Window) {
    let lights = &window.desk.scheme().lights;
    let at = lights.iter().position(|l| Some(l.id) == window.selected).map_or(0, |i| i + 1);
    window.selected = lights.get(at % lights.len().max(1)).map(|l| l.id);
    window.step = Step::Light;
}

/// Moves the chosen lamp, or tilts the chosen daylight, by a key.
fn nudge(window: &mut Window, to: impl Fn(Point3<f64>, &crate::camera::Camera) -> Point3<f64>) {
    let (Some(id), Some(camera)) = (window.selected, window.camera) else { return };
    let light = window.desk.scheme().lights.iter().find(|l| l.id == id);
    let Some(at) = light.and_then(lamp_place) else { return };
    let place = rounded(to(Point3::from(at), &camera).into());
    let result = window.desk.change_light("Move the lamp", id, |light| {
        if let LightChoice::Lamp { at, .. } = &mut light.choice {
            *at = place;
        }
    });
    if let Err(why) = result {
        window.warn(why);
    }
}

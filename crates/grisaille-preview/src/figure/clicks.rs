//! What a click on the figure does with the tool at hand.

use super::strokes::finish;
use super::{spot_at, within};
use crate::card_eye;
use crate::card_face;
use crate::card_regions::{kept, plain, step};
use crate::desk::rounded;
use crate::handle::{above, placing_height};
use crate::pick::Spot;
use crate::step::{Step, Tool};
use crate::theme::Palette;
use crate::window::Window;
use eframe::egui::{Painter, Pos2, Rect, Response, Stroke, vec2};
use grisaille_base::LightId;
use grisaille_plan::piece_at;
use grisaille_scheme::RegionDeed;
use std::sync::Arc;

/// A click of the mouse, or Enter for one in the middle of the first pane.
pub(super) fn clicks(window: &mut Window, response: &Response, n: usize, rect: Rect) {
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
        (Tool::Turn, Some(spot)) if window.step == Step::Regions => {
            (window.region_face, window.region_name) = (Some(spot.face), None);
        }
        (Tool::Turn, Some(spot)) if window.step == Step::Colours => window.choose_face(spot.face),
        (Tool::Turn, _) => {}
        (Tool::Join | Tool::Grow, Some(spot)) => finish(window, &[spot]),
        (Tool::Split(None), Some(spot)) => window.tool = Tool::Split(Some(kept(&spot))),
        (Tool::Split(Some(first)), Some(spot)) => {
            step(window, "Divide a region", plain(RegionDeed::Split, vec![first, kept(&spot)]));
            (window.tool, window.region_face) = (Tool::Turn, Some(spot.face));
        }
        (Tool::PlaceLamp, spot) => place_lamp(window, at, rect, spot),
        (Tool::Through(id), Some(spot)) => through(window, id, spot),
        (Tool::Sole, Some(spot)) => window.tool = Tool::Eye(spot.point.z),
        (Tool::Eye(sole), Some(spot)) => size_by_eye(window, sole, spot.point.z),
        (Tool::Hide, Some(spot)) => {
            let at = rounded(spot.point.into());
            window.edit("Hide a part", |d| d.scheme.hidden.parts.push(at));
        }
        (Tool::LeaveOut, Some(spot)) => leave_out(window, &spot),
        (Tool::Focus, Some(spot)) => card_eye::draw_eye(window, &spot),
        (Tool::Keep, Some(spot)) => card_eye::keep_fine(window, &spot),
        (Tool::Face, Some(spot)) => card_face::mark(window, &spot),
        (Tool::FaceEye(k), Some(spot)) => card_face::mark_eye(window, k, &spot),
        (_, None) => {
            window.say("That is beside the figure: click on it.");
        }
    }
}

/// Where Enter clicks: a fine cross, so that a tool needs no mouse.
pub(super) fn cross(painter: &Painter, at: Pos2, colours: Palette) {
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
    let Some(mesh) = window.ground().map(|g| Arc::clone(&g.mesh)) else { return };
    let point = rounded(spot.point.into());
    // A second click on the same piece takes it back.
    let piece_of = |p: [f64; 3]| piece_at(p.into(), &mesh);
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

/// Leaves the part under a click out, and forgets that it was hidden or let a
/// light through: its points would otherwise mean the part next to it.
fn leave_out(window: &mut Window, spot: &Spot) {
    let Some(mesh) = window.ground().map(|g| Arc::clone(&g.mesh)) else { return };
    if mesh.pieces().len() == 1 {
        window.say("This part is all there is: it is one with everything round it.");
        return;
    }
    let stays = |p: &[f64; 3]| piece_at((*p).into(), &mesh) != Some(spot.piece);
    let at = rounded(spot.point.into());
    window.tool = Tool::Turn;
    window.edit("Leave a part out", |document| {
        let scheme = &mut document.scheme;
        scheme.hidden.parts.retain(stays);
        for light in &mut scheme.lights {
            light.through.retain(stays);
        }
        scheme.left_out.parts.push(at);
    });
    window.say("That part is left out. Ctrl+Z or \"Take all back\" brings it back.");
}

/// Sets the size of the print from the heights of sole and eye.
fn size_by_eye(window: &mut Window, sole: f64, eye: f64) {
    window.tool = Tool::Turn;
    let measured = eye - sole;
    if window.ground().is_none() {
        return;
    }
    let height = window.whole_height;
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

//! Strokes drawn over the figure: they join regions or let them grow.

use super::{on_screen, spot_at};
use crate::card_regions::{kept, plain, spot_of, step};
use crate::pick::Spot;
use crate::step::Tool;
use crate::theme::Palette;
use crate::window::Window;
use eframe::egui::{Painter, PointerButton, Pos2, Rect, Response, Stroke, Ui};
use grisaille_scheme::{RegionDeed, RegionSpot, RegionStep};

/// Spots of a stroke lie at least this far apart, in points of the screen.
const APART: f32 = 7.0;
/// A stroke holds no more.
const MOST: usize = 400;

/// Whether the tool at hand draws strokes.
pub(super) fn draws(tool: Tool) -> bool {
    matches!(tool, Tool::Join | Tool::Grow)
}

/// Gathers the stroke under the pointer; what it does when it ends.
pub(super) fn draw(window: &mut Window, ui: &Ui, response: &Response, rect: Rect) {
    let began = response.drag_started_by(PointerButton::Primary);
    if began {
        window.stroke.clear();
        // Where the button went down, before the hand had moved.
        if let Some(at) = ui.input(|i| i.pointer.press_origin()) {
            add(window, at, rect);
        }
    }
    if response.dragged_by(PointerButton::Primary)
        && let Some(at) = response.interact_pointer_pos()
    {
        add(window, at, rect);
    }
    if response.drag_stopped_by(PointerButton::Primary) {
        let stroke = std::mem::take(&mut window.stroke);
        finish(window, &stroke);
    }
}

fn add(window: &mut Window, at: Pos2, rect: Rect) {
    let Some(spot) = spot_at(window, at, rect) else { return };
    let camera = window.camera;
    let near = |last: &Spot| camera.is_some_and(|c| on_screen(&c, last.point, rect).distance(at) < APART);
    if window.stroke.len() < MOST && !window.stroke.last().is_some_and(near) {
        window.stroke.push(spot);
    }
}

/// What a stroke, or a click for a stroke of one spot, does.
pub(super) fn finish(window: &mut Window, stroke: &[Spot]) {
    let Some(first) = stroke.first() else { return };
    let at: Vec<_> = stroke.iter().map(kept).collect();
    match window.tool {
        Tool::Join => {
            let touched = window.regions.as_ref().is_none_or(|(_, regions)| {
                let of = |s: &Spot| regions.of_face.get(s.face).copied();
                stroke.iter().any(|s| of(s) != of(first))
            });
            if !touched || at.len() < 2 {
                // A click on another region joins it to the chosen one.
                let Some(chosen) = chosen_beside(window, first) else {
                    window.say(
                        "That lies in one region: draw over all that are to be one, or choose one first.",
                    );
                    return;
                };
                step(window, "Join regions", plain(RegionDeed::Merge, vec![chosen, kept(first)]));
                return;
            }
            step(window, "Join regions", plain(RegionDeed::Merge, at));
            window.region_face = Some(first.face);
        }
        Tool::Grow => {
            let name = next_name(window);
            step(window, "Grow a region", RegionStep { name: Some(name), ..plain(RegionDeed::Grow, at) });
            window.region_face = Some(first.face);
            window.say("Draw a stroke on each part next to it as well: they grow until they meet.");
        }
        _ => {}
    }
    window.region_name = None;
}

/// A spot of the chosen region, if another one is under a spot.
fn chosen_beside(window: &Window, spot: &Spot) -> Option<RegionSpot> {
    let (_, regions) = window.regions.as_ref()?;
    let face = window.region_face?;
    (regions.of_face.get(face)? != regions.of_face.get(spot.face)?).then(|| spot_of(window, face))?
}

/// "part 1", "part 2" and so on: the first that no step has.
fn next_name(window: &Window) -> String {
    let steps = &window.desk.scheme().regions.steps;
    let taken = |name: &str| steps.iter().any(|s| s.name.as_deref() == Some(name));
    let names = (1..).map(|n| format!("part {n}"));
    names.into_iter().find(|n| !taken(n)).unwrap_or_default()
}

/// The stroke that is being drawn.
pub(super) fn paint(window: &Window, painter: &Painter, rect: Rect, colours: Palette) {
    let Some(camera) = window.camera else { return };
    let points: Vec<Pos2> = window.stroke.iter().map(|s| on_screen(&camera, s.point, rect)).collect();
    for (width, colour) in [(7.0, colours.table), (4.0, colours.brass)] {
        for pair in points.windows(2) {
            painter.line_segment([pair[0], pair[1]], Stroke::new(width, colour));
        }
        if let [one] = points.as_slice() {
            painter.circle_filled(*one, 0.5 * width, colour);
        }
    }
}

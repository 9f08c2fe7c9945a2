//! The second card: what is painted as one. A list of regions to choose from,
//! and what can be done to the chosen one.

use crate::field::{choice, heading, note};
use crate::pick::Spot;
use crate::step::Tool;
use crate::theme::palette;
use crate::window::Window;
use eframe::egui::{Button, Color32, CornerRadius, DragValue, Sense, Stroke, StrokeKind, TextEdit, Ui, vec2};
use grisaille_form::{Region, Regions};
use grisaille_scheme::{RegionDeed, RegionSource, RegionSpot, RegionStep};
use nalgebra::Vector3;
use std::sync::Arc;

pub(crate) fn show(window: &mut Window, ui: &mut Ui) {
    heading(ui, "Regions");
    note(ui, "What is painted as one: helmet, suit, boots. Click on one in the picture, or choose it below.");
    source(window, ui);
    tools(window, ui);
    let Some(regions) = window.regions.as_ref().map(|(_, regions)| Arc::clone(regions)) else {
        note(ui, "The figure is being divided…");
        return;
    };
    if let Some((face, region)) = chosen(window, &regions) {
        one(window, ui, face, &regions.regions[region]);
    }
    heading(ui, &format!("All {}", regions.regions.len()));
    list(window, ui, &regions);
}

/// The region of the chosen face, if there is one.
fn chosen(window: &Window, regions: &Regions) -> Option<(usize, usize)> {
    let face = window.region_face?;
    let region = regions.of_face.get(face)?.index();
    (region < regions.regions.len()).then_some((face, region))
}

fn source(window: &mut Window, ui: &mut Ui) {
    let now = window.desk.scheme().regions.clone();
    ui.horizontal_wrapped(|ui| {
        let rows = [
            (RegionSource::Shape, "By shape", "Parted where the form has creases and necks"),
            (RegionSource::Pieces, "By pieces", "A region for each separate piece of the file"),
            (RegionSource::File, "By file", "A region for each part that the file names or colours"),
        ];
        // A scheme has the last where the file tells parts apart.
        for (by, name, words) in rows.into_iter().filter(|r| r.0 != RegionSource::File || r.0 == now.by) {
            if choice(ui, now.by == by, name).on_hover_text(words).clicked() && now.by != by {
                window.edit("Divide anew", |d| {
                    d.scheme.regions.by = by;
                    d.scheme.regions.count = None;
                });
            }
        }
        if now.by == RegionSource::Shape {
            let made = window.regions.as_ref().map_or(1, |(_, r)| r.regions.len());
            let mut count = now.count.unwrap_or(made.clamp(1, 1000) as u16);
            let label = ui.label("into");
            let field = ui.add(DragValue::new(&mut count).range(1..=1000).speed(0.1)).labelled_by(label.id);
            let field = field.on_hover_text("How many regions before your own steps: drag, or type a number");
            if field.drag_started() || field.gained_focus() {
                window.desk.history_mut().begin("Change the number of regions");
            }
            if field.changed() {
                window.edit("Change the number of regions", |d| d.scheme.regions.count = Some(count));
            }
            if field.drag_stopped() || field.lost_focus() {
                window.desk.history_mut().end();
            }
            if now.count.is_some() && ui.button("As the shape asks").clicked() {
                window.edit("Divide as the shape asks", |d| d.scheme.regions.count = None);
            }
        }
    });
}

fn tools(window: &mut Window, ui: &mut Ui) {
    ui.horizontal_wrapped(|ui| {
        let rows = [
            (
                Tool::Join,
                "Join by a stroke",
                "Drag over regions, or click on one to join it to the chosen one: the first keeps its name",
            ),
            (
                Tool::Grow,
                "Grow from strokes",
                "Draw a stroke on each part: the parts grow from them until they meet at creases",
            ),
        ];
        for (tool, name, words) in rows {
            if choice(ui, window.tool == tool, name).on_hover_text(words).clicked() {
                let next = if window.tool == tool { Tool::Turn } else { tool };
                window.take_up(next);
            }
        }
        let steps = window.desk.scheme().regions.steps.len();
        if steps > 0 && ui.button("Take all steps back").clicked() {
            window.edit("Take all steps back", |d| d.scheme.regions.steps.clear());
        }
    });
}

/// All that can be done to one region, which is named by a face of it.
fn one(window: &mut Window, ui: &mut Ui, face: usize, region: &Region) {
    let Some(at) = spot_of(window, face) else { return };
    heading(ui, &region.name);
    note(ui, &format!("{:.0} mm² to paint", region.area_mm2));
    let label = ui.label("Name");
    let mut name = window.region_name.clone().unwrap_or_else(|| region.name.clone());
    let field = ui.add(TextEdit::singleline(&mut name).desired_width(f32::INFINITY)).labelled_by(label.id);
    if field.changed() {
        window.region_name = Some(name);
    }
    if field.lost_focus()
        && let Some(name) = window.region_name.take()
        && name.trim() != region.name
    {
        let name = Some(name.trim().to_owned()).filter(|n| !n.is_empty());
        step(window, "Name a region", RegionStep { name, ..plain(RegionDeed::Rename, vec![at]) });
    }
    ui.horizontal_wrapped(|ui| {
        let label = ui.label("Swatch");
        let mut rgb = region.swatch;
        let button = ui.color_edit_button_srgb(&mut rgb).labelled_by(label.id);
        if button.changed() {
            let colour = Some(rgb);
            // A drag over the colours is one step.
            window.edit("Choose a swatch", |d| {
                let steps = &mut d.scheme.regions.steps;
                let new = RegionStep { colour, ..plain(RegionDeed::Recolour, vec![at]) };
                match steps.last_mut().filter(|s| s.deed == new.deed && s.at == new.at) {
                    Some(last) => *last = new,
                    None => steps.push(new),
                }
            });
        }
        let words = "Later steps leave this region as it is";
        if choice(ui, region.locked, "Locked").on_hover_text(words).clicked() {
            let (deed, what) = match region.locked {
                true => (RegionDeed::Unlock, "Unlock a region"),
                false => (RegionDeed::Lock, "Lock a region"),
            };
            step(window, what, plain(deed, vec![at]));
        }
        let divide =
            Button::selectable(matches!(window.tool, Tool::Split(_)), "Divide…").frame_when_inactive(true);
        if ui.add_enabled(!region.locked, divide).on_hover_text("Click on two places of it").clicked() {
            window.take_up(Tool::Split(None));
        }
    });
}

fn list(window: &mut Window, ui: &mut Ui, regions: &Regions) {
    let colours = palette(ui.ctx());
    let now = chosen(window, regions).map(|(_, region)| region);
    for (i, region) in regions.regions.iter().enumerate() {
        ui.horizontal(|ui| {
            let (rect, _) = ui.allocate_exact_size(vec2(22.0, 18.0), Sense::hover());
            let [r, g, b] = region.swatch;
            let edge = Stroke::new(1.0, colours.quiet);
            ui.painter().rect(
                rect,
                CornerRadius::same(3),
                Color32::from_rgb(r, g, b),
                edge,
                StrokeKind::Inside,
            );
            let button = Button::selectable(now == Some(i), &region.name).frame_when_inactive(true);
            if ui.add(button).clicked() {
                window.region_face = regions.of_face.iter().position(|r| r.index() == i);
                window.region_name = None;
            }
            let lock = if region.locked { ", locked" } else { "" };
            note(ui, &format!("{:.0} mm²{lock}", region.area_mm2));
        });
    }
}

/// A step without a name or a colour.
pub(crate) fn plain(deed: RegionDeed, at: Vec<RegionSpot>) -> RegionStep {
    RegionStep { deed, at, name: None, colour: None }
}

/// Adds a step to the scheme.
pub(crate) fn step(window: &mut Window, what: &str, step: RegionStep) {
    window.edit(what, |d| d.scheme.regions.steps.push(step));
}

/// A spot that was pointed at, as the scheme keeps it: to a hundredth of a
/// millimetre and of a unit.
pub(crate) fn kept(spot: &Spot) -> RegionSpot {
    facing(spot.point.coords, spot.normal, 100.0)
}

/// The middle of a face, and the way it looks: to a thousandth, so that it
/// stays on a small one.
pub(crate) fn spot_of(window: &Window, face: usize) -> Option<RegionSpot> {
    let surface = &window.ground()?.surface;
    let [a, b, c] = surface.faces.get(face)?.map(|s| surface.samples.position[s as usize].cast::<f64>());
    let middle = (a.coords + b.coords + c.coords) / 3.0;
    Some(facing(middle, (b - a).cross(&(c - a)).try_normalize(0.0)?, 1000.0))
}

fn facing(point: Vector3<f64>, normal: Vector3<f64>, steps: f64) -> RegionSpot {
    let [x, y, z]: [f64; 3] = point.into();
    let [a, b, c]: [f64; 3] = normal.into();
    RegionSpot::Facing([x, y, z, a, b, c].map(|x| (x * steps).round() / steps + 0.0))
}

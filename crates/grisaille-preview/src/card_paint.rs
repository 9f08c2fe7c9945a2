//! One colour of the scheme, opened: what it is called, what it is made of, its
//! base colour, and each step with its mix, in daylight and in each lamp's light.

use crate::card_colours::{patch, spots_of, step_words};
use crate::card_regions::spot_of;
use crate::field::{Scale, choice, note, slider, typed, well};
use crate::legend::swatch;
use crate::theme::{bold, palette};
use crate::window::{Typed, Window};
use crate::worker::Painted;
use crate::{card_face, card_ramp};
use eframe::egui::{CollapsingHeader, ComboBox, RichText, Role, ScrollArea, Ui, WidgetInfo};
use grisaille_colour::{colour_from_text, hex_of};
use grisaille_plan::{RegionColours, StepColour};
use grisaille_scheme::{Material, RegionPaint};

pub(crate) fn show(
    window: &mut Window,
    ui: &mut Ui,
    (k, entry): (usize, &RegionPaint),
    row: Option<(&RegionColours, &Painted)>,
) {
    name(window, ui, k, entry);
    material(window, ui, k, entry);
    colour(window, ui, k, entry);
    let told = window.painted.clone().filter(|p| p.holds_for(window.desk.document()));
    for (_, words) in told.iter().flat_map(|p| &p.words).filter(|(of, _)| *of == k) {
        let text = format!("{words}. Grey stands in for it until then.");
        ui.label(RichText::new(text).color(palette(ui.ctx()).rust));
    }
    by_hand(window, ui, (k, entry), row.map(|r| r.0));
    match row {
        Some((row, painted)) => steps(window, ui, (k, entry), row, painted),
        None if told.is_some() => note(ui, "No region has this colour yet."),
        None => note(ui, "Being mixed…"),
    }
    regions(window, ui, (k, entry), row.map(|r| r.0));
}

/// The picker's colour, 8-bit sRGB, that a word of the scheme means.
pub(crate) fn meaning(window: &Window, word: &str) -> Option<[u8; 3]> {
    let same = |name: &str| name.trim().eq_ignore_ascii_case(word.trim());
    let palette = window.desk.scheme().colours.palette.iter().find(|p| same(&p.name));
    let of_palette = palette.and_then(|p| colour_from_text(&p.colour).ok());
    let paints = window.painted.as_ref().map_or(&[][..], |p| p.shelf.paints.as_slice());
    let of_paint = || paints.iter().find(|p| same(&p.name)).map(|p| p.colour);
    let colour = of_palette.or_else(of_paint).or_else(|| colour_from_text(word).ok());
    colour.map(|c| c.shown().to_srgb8())
}

/// Changes one entry.
pub(crate) fn edit(window: &mut Window, what: &str, k: usize, change: impl FnOnce(&mut RegionPaint)) {
    window.edit(what, |d| {
        if let Some(entry) = d.scheme.colours.regions.get_mut(k) {
            change(entry);
        }
    });
}

fn name(window: &mut Window, ui: &mut Ui, k: usize, entry: &RegionPaint) {
    ui.horizontal(|ui| {
        if let Some(name) = typed(window, ui, "Called", Typed::Name(k), &entry.name, f32::INFINITY) {
            // What was found by its name must still be found.
            let row = window.painted.as_ref().and_then(|p| {
                let at = p.rows_of_entries().get(k).copied().flatten()?;
                p.colouring.rows.get(at).filter(|r| r.name == entry.name).cloned()
            });
            let spots = row.filter(|_| entry.at.is_empty() && !entry.rest).map(|r| spots_of(window, &r));
            edit(window, "Name a colour", k, |e| {
                e.name = name;
                e.at.extend(spots.into_iter().flatten());
            });
        }
    });
}

fn material(window: &mut Window, ui: &mut Ui, k: usize, entry: &RegionPaint) {
    ui.horizontal(|ui| {
        ui.label("Made of");
        let mut chosen = entry.material;
        let combo = ComboBox::from_id_salt(("material", k)).selected_text(in_words(chosen)).width(170.0);
        let shown = combo.show_ui(ui, |ui| {
            for material in Material::ALL {
                ui.selectable_value(&mut chosen, material, in_words(material)).on_hover_text(how(material));
            }
        });
        shown.response.widget_info(|| WidgetInfo::labeled(Role::ComboBox, true, "What it is made of"));
        if chosen != entry.material {
            edit(window, "Choose a material", k, |e| e.material = chosen);
        }
    });
    note(ui, &format!("{}.", how(entry.material)));
}

fn in_words(material: Material) -> &'static str {
    match material {
        Material::Tmm => "metal, metallic paint",
        Material::Nmm => "metal, painted (NMM)",
        other => other.as_str(),
    }
}

fn how(material: Material) -> &'static str {
    match material {
        Material::Matte => "Wood, stone, painted metal: even steps",
        Material::Satin => "Varnished wood, rubber: small, light lights",
        Material::Cloth => "Woven stuff: soft steps, hatched",
        Material::Leather => "Worn at the edges, stippled",
        Material::Skin => "Warm lights, red where blood is near",
        Material::Tmm => "Metallic paint; the light does the rest",
        Material::Nmm => "Metal without metallic paint: sky, horizon and lamps painted as reflections",
        Material::Hair => "Light on the whole volume, strands by wash and dry brush",
        Material::Chain => "Light on the whole volume, links by wash and dry brush",
        Material::Glow => "Shines by itself: lightest where it is deepest",
    }
}

fn colour(window: &mut Window, ui: &mut Ui, k: usize, entry: &RegionPaint) {
    ui.horizontal(|ui| {
        if let Some(to) = well(window, ui, "Pick", "Choose a colour", meaning(window, &entry.colour)) {
            edit(window, "Choose a colour", k, |e| e.colour = to);
        }
        by_name(window, ui, k, entry);
    });
    ui.horizontal(|ui| {
        if let Some(word) = typed(window, ui, "Colour", Typed::Colour(k), &entry.colour, f32::INFINITY) {
            edit(window, "Choose a colour", k, |e| e.colour = word);
        }
    });
    note(ui, "#rrggbb, or the name of a palette colour or of a paint");
}

/// What a material and a mix do by themselves, set by hand: folded, as it is seldom wanted.
fn by_hand(window: &mut Window, ui: &mut Ui, (k, entry): (usize, &RegionPaint), row: Option<&RegionColours>) {
    CollapsingHeader::new("Steps, contrast and lines by hand")
        .id_salt(("by hand", k))
        .default_open(!entry.ramp.is_empty())
        .show(ui, |ui| card_ramp::show(window, ui, (k, entry), row));
    if entry.material == Material::Skin {
        card_face::show(window, ui);
    }
}

/// Palette colours and paints by their names.
fn by_name(window: &mut Window, ui: &mut Ui, k: usize, entry: &RegionPaint) {
    let palette = window.desk.scheme().colours.palette.iter();
    let mut names: Vec<String> = palette.map(|p| p.name.clone()).collect();
    let paints = window.painted.as_ref().map_or(&[][..], |p| p.shelf.paints.as_slice());
    names.extend(paints.iter().filter(|p| p.at_hand()).map(|p| p.name.clone()));
    if names.is_empty() {
        return;
    }
    let mut chosen = None;
    ui.menu_button("Palette and paints…", |ui| {
        ScrollArea::vertical().max_height(320.0).show(ui, |ui| {
            for name in &names {
                ui.horizontal(|ui| {
                    patch(ui, meaning(window, name).unwrap_or([128; 3]), 22.0);
                    if choice(ui, entry.colour.eq_ignore_ascii_case(name), name).clicked() {
                        chosen = Some(name.clone());
                        ui.close();
                    }
                });
            }
        });
    });
    if let Some(word) = chosen.filter(|w| *w != entry.colour) {
        window.typed = None;
        edit(window, "Choose a colour", k, |e| e.colour = word);
    }
}

fn steps(
    window: &mut Window,
    ui: &mut Ui,
    (k, entry): (usize, &RegionPaint),
    row: &RegionColours,
    painted: &Painted,
) {
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = 4.0;
        ui.label(RichText::new("Steps").family(bold()));
        if entry.ramp.is_empty() {
            for count in [None, Some(3), Some(4), Some(5), Some(6)] {
                let name = count.map_or("as fits".into(), |n: u8| n.to_string());
                let words = "How many steps from darkest to lightest";
                if choice(ui, entry.steps == count, &name).on_hover_text(words).clicked() {
                    edit(window, "Set the steps", k, |e| e.steps = count);
                }
            }
        }
    });
    let scale = Scale {
        label: "Lighter or darker",
        words: "Lifts or drops its values beside all else; its colours stay",
        range: -100.0..=100.0,
        unit: " %",
        decimals: 0,
        bent: false,
    };
    if let Some(to) = slider(window, ui, &scale, 100.0 * entry.lift) {
        edit(window, "Lift or drop its values", k, |e| e.lift = to.round() / 100.0);
    }
    ramp(ui, &row.ramp, painted);
    for lit in &row.lit {
        ui.label(RichText::new(format!("In the light of {}", lit.name)).family(bold()));
        ramp(ui, &lit.steps, painted);
    }
    ui.label(RichText::new("Last of all").family(bold()));
    one(ui, &row.line, "", &format!("Lines: {}", mix_of(&row.line, painted)));
    one(ui, &row.spot, "", &format!("Last touch of light: {}", mix_of(&row.spot, painted)));
}

fn mix_of(step: &StepColour, painted: &Painted) -> String {
    painted.shelf.in_words(step.mix.as_ref()).unwrap_or_else(|| hex_of(step.wanted))
}

/// Steps from the lightest down, as they lie on a palette card.
fn ramp(ui: &mut Ui, steps: &[StepColour], painted: &Painted) {
    for (i, step) in steps.iter().enumerate().rev() {
        let words = step_words(i, step, painted);
        let words = words.split_once(": ").map_or(words.as_str(), |(_, words)| words);
        one(ui, step, &(i + 1).to_string(), words);
    }
}

fn one(ui: &mut Ui, step: &StepColour, letter: &str, words: &str) {
    let colours = palette(ui.ctx());
    ui.horizontal_top(|ui| {
        swatch(ui, step.shown().shown().to_srgb8(), letter, colours);
        ui.add(eframe::egui::Label::new(RichText::new(words).small()).wrap());
    });
}

/// Which regions it paints, and the way out.
fn regions(window: &mut Window, ui: &mut Ui, (k, entry): (usize, &RegionPaint), row: Option<&RegionColours>) {
    if let Some(row) = row {
        let seen = 100.0 * row.seen_share;
        let count = match row.regions.len() {
            1 => "one region".to_owned(),
            n => format!("{n} regions"),
        };
        note(ui, &format!("{count}, {:.0} mm², {seen:.0} % of what is seen", row.area_mm2));
    }
    ui.horizontal_wrapped(|ui| {
        let words = "It paints all that has no colour of its own";
        if choice(ui, entry.rest, "All the rest").on_hover_text(words).clicked() {
            rest(window, k, entry, row);
        }
        if ui.button("Take this colour away").clicked() {
            window.edit("Take a colour away", |d| {
                if k < d.scheme.colours.regions.len() {
                    d.scheme.colours.regions.remove(k);
                }
            });
            (window.entry, window.typed) = (None, None);
        }
    });
}

/// Makes an entry the paint of the rest, or of its own regions again.
fn rest(window: &mut Window, k: usize, entry: &RegionPaint, row: Option<&RegionColours>) {
    if entry.rest {
        // Of all that it painted it keeps the region that was clicked, or the largest.
        let largest = || {
            let (_, regions) = window.regions.as_ref()?;
            let id = row?.regions.first()?;
            regions.of_face.iter().position(|r| r == id)
        };
        let at = window.region_face.or_else(largest).and_then(|face| spot_of(window, face));
        edit(window, "Paint one region with it", k, |e| {
            e.rest = false;
            e.at = at.into_iter().collect();
        });
        return;
    }
    window.edit("Paint all the rest with it", |d| {
        for (i, e) in d.scheme.colours.regions.iter_mut().enumerate() {
            e.rest = i == k;
            if i == k {
                e.at.clear();
            }
        }
    });
}

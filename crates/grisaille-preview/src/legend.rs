//! What the greys, colours and patterns mean, in plain words, and what is known
//! about the spot under the pointer.

use crate::look::{Look, grey, zone_rows};
use crate::pick::Spot;
use crate::step::Step;
use crate::theme::{Palette, bold};
use crate::window::Window;
use eframe::egui::{
    Align, Color32, CornerRadius, Frame, Layout, Margin, Rect, Response, RichText, Sense, Stroke, StrokeKind,
    Ui, UiBuilder, pos2, vec2,
};
use grisaille_colour::{FalseColour, luminance_from_lightness, munsell_value, printed_grey};
use grisaille_picture::EXPOSURE_TICKS;
use grisaille_plan::step_at;

/// Width of a legend in points.
const WIDTH: f32 = 214.0;

/// Draws the legend in the upper right corner of `inner`; below `bar`, the
/// controls of the pane, and shorter, where there is no room beside it.
pub(crate) fn show(
    window: &Window,
    ui: &mut Ui,
    n: usize,
    inner: Rect,
    bar: Rect,
    look: Look,
    colours: Palette,
) {
    // Beside the bar, but of two figures neither is covered.
    let beside =
        bar.max.x + WIDTH + 32.0 < inner.max.x && (window.beside.is_none() || inner.width() > 3.5 * WIDTH);
    let corner = if beside {
        Rect::from_min_max(pos2(inner.max.x - WIDTH - 20.0, inner.min.y), inner.max)
    } else {
        Rect::from_min_max(pos2(inner.min.x, bar.max.y + 8.0), inner.max)
    };
    let width = WIDTH.min(corner.width() - 20.0);
    let mut corner = ui.new_child(
        UiBuilder::new().max_rect(corner).layout(Layout::top_down(Align::Min)).id_salt(("legend", n)),
    );
    let paper = Frame::new()
        .fill(colours.table.gamma_multiply(0.92))
        .corner_radius(CornerRadius::same(9))
        .inner_margin(Margin::symmetric(10, 8));
    let short = !beside;
    // What primer and greys are needs no key where there is no room for one.
    let needed =
        !short || !matches!(look, Look::Primed | Look::Greys | Look::Regions | Look::Colours | Look::Steps);
    if window.shown.is_some() && needed {
        paper.show(&mut corner, |ui| {
            ui.spacing_mut().item_spacing.y = 4.0;
            if short && look == Look::Bands {
                swatches(window, ui, colours);
                return;
            }
            ui.set_width(width);
            if short && matches!(look, Look::Light(_) | Look::Openness(_)) {
                bar_of_light(ui, colours);
                return;
            }
            key(window, ui, look, colours);
        });
    }
    if n == 0 && window.hover.is_some() {
        corner.add_space(8.0);
        paper.show(&mut corner, |ui| {
            ui.set_width(width);
            ui.spacing_mut().item_spacing.y = 3.0;
            under_pointer(window, ui, colours);
        });
    }
}

/// What a look means.
pub(crate) fn key(window: &Window, ui: &mut Ui, look: Look, colours: Palette) {
    match look {
        Look::Primed => primed(ui),
        Look::Greys => greys(window, ui, colours),
        Look::Bands => bands(window, ui, colours),
        Look::Light(_) => exposure(ui, colours),
        Look::Zones => zones(window, ui, colours),
        Look::Regions => regions(ui, colours),
        Look::Colours => planned(window, ui, "As it will look", "Steps and lights are blended.", colours),
        Look::Steps => {
            planned(
                window,
                ui,
                "Step by step",
                "Each flat patch is one mix. Point at it for its paints.",
                colours,
            );
        }
        Look::Openness(tenths) => openness(ui, tenths, colours),
    }
}

/// The bands as a row of swatches, darkest first.
fn swatches(window: &Window, ui: &mut Ui, colours: Palette) {
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = 4.0;
        let plan = window.shown.as_ref().and_then(|s| s.plan.as_ref());
        let count = window.desk.scheme().bands.count();
        for i in 0..count {
            let letter = char::from(b'A' + i.min(25) as u8).to_string();
            let response = swatch(ui, [printed_grey(i, count); 3], &letter, colours);
            if let Some(band) = plan.and_then(|p| p.bands.rows.get(i)) {
                let words = format!("{}: L* {:.0}, {:.0} %", band.name, band.tone.0, 100.0 * band.share);
                response.on_hover_text(words);
            }
        }
    });
}

fn heading(ui: &mut Ui, words: &str) {
    ui.label(RichText::new(words).family(bold()));
}

/// A swatch with words beside it.
fn row(ui: &mut Ui, colour: [u8; 3], letter: &str, name: &str, more: &str, colours: Palette) {
    ui.horizontal(|ui| {
        ui.set_height(24.0);
        swatch(ui, colour, letter, colours);
        ui.label(name);
        ui.label(RichText::new(more).small().color(colours.quiet));
    });
}

pub(crate) fn swatch(ui: &mut Ui, colour: [u8; 3], letter: &str, colours: Palette) -> Response {
    let (rect, response) = ui.allocate_exact_size(vec2(30.0, 20.0), Sense::hover());
    let [r, g, b] = colour;
    let edge = Stroke::new(1.0, colours.quiet);
    ui.painter().rect(rect, CornerRadius::same(3), Color32::from_rgb(r, g, b), edge, StrokeKind::Inside);
    let ink = grisaille_colour::LinearRgb::from_srgb8(colour).ink().to_srgb8()[0];
    ui.painter().text(
        rect.center(),
        eframe::egui::Align2::CENTER_CENTER,
        letter,
        eframe::egui::FontId::new(13.0, bold()),
        Color32::from_gray(ink),
    );
    response
}

fn primed(ui: &mut Ui) {
    heading(ui, "As primed");
    ui.label("Dark all over, mid grey sprayed from all round at 45°, light from above.");
}

fn greys(window: &Window, ui: &mut Ui, colours: Palette) {
    heading(ui, "How light it becomes");
    let value = &window.desk.scheme().value;
    let (low, high) = (value.darkest.0, value.lightest.0);
    bar(ui, colours, |t| {
        let g = grey(low + (high - low) * f64::from(t));
        [g, g, g]
    });
    ui.horizontal(|ui| {
        ui.label(RichText::new(step_words(low)).small());
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            ui.label(RichText::new(step_words(high)).small());
        });
    });
}

/// A lightness on both scales.
fn step_words(lightness: f64) -> String {
    let step = munsell_value(luminance_from_lightness(grisaille_base::Lightness(lightness)));
    format!("L* {lightness:.0}, step {step:.0}")
}

fn bar(ui: &mut Ui, colours: Palette, colour: impl Fn(f32) -> [u8; 3]) {
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), 16.0), Sense::hover());
    const PARTS: usize = 48;
    for i in 0..PARTS {
        let at = |k: usize| rect.min.x + rect.width() * k as f32 / PARTS as f32;
        let [r, g, b] = colour((i as f32 + 0.5) / PARTS as f32);
        let part = Rect::from_min_max(pos2(at(i), rect.min.y), pos2(at(i + 1) + 0.5, rect.max.y));
        ui.painter().rect_filled(part, CornerRadius::ZERO, Color32::from_rgb(r, g, b));
    }
    ui.painter().rect_stroke(rect, CornerRadius::ZERO, Stroke::new(1.0, colours.quiet), StrokeKind::Outside);
}

fn bands(window: &Window, ui: &mut Ui, colours: Palette) {
    heading(ui, "Tones to mix");
    let Some(shown) = &window.shown else { return };
    let count = window.desk.scheme().bands.count();
    match &shown.plan {
        Some(plan) => {
            for (i, band) in plan.bands.rows.iter().enumerate().rev() {
                let g = printed_grey(i, plan.bands.rows.len());
                let more = format!("L* {:.0}, {:.0} %", band.tone.0, 100.0 * band.share);
                row(ui, [g; 3], &band.letter.to_string(), band.name, &more, colours);
            }
        }
        None => {
            for i in (0..count).rev() {
                let g = printed_grey(i, count);
                let letter = char::from(b'A' + i.min(25) as u8);
                row(ui, [g; 3], &letter.to_string(), "", "being evened out…", colours);
            }
        }
    }
}

fn exposure(ui: &mut Ui, colours: Palette) {
    heading(ui, "How much light arrives");
    bar_of_light(ui, colours);
    ui.horizontal(|ui| {
        for (at, number, words) in EXPOSURE_TICKS.iter().filter(|(at, ..)| [0.0, 1.0].contains(at)) {
            let text = RichText::new(format!("{number} {words}")).small();
            if *at < 1.0 {
                ui.label(text);
            } else {
                ui.with_layout(Layout::right_to_left(Align::Center), |ui| ui.label(text));
            }
        }
    });
}

fn regions(ui: &mut Ui, colours: Palette) {
    heading(ui, "Regions");
    let words = "Each is painted as one material. Click on one for its name.";
    ui.label(RichText::new(words).small().color(colours.quiet));
}

fn planned(window: &Window, ui: &mut Ui, head: &str, words: &str, colours: Palette) {
    heading(ui, head);
    let current = window.painted.as_ref().is_some_and(|p| p.holds_for(window.desk.document()));
    let words = match (window.desk.scheme().colours.regions.is_empty(), current) {
        (true, _) => "No region has a colour yet. Under Colours, click on one and give it a colour.",
        (_, true) => words,
        (_, false) => "The new colours are being mixed…",
    };
    ui.label(RichText::new(words).small().color(colours.quiet));
}

/// What is painted at a spot: its name, its step, and the mix.
fn paint_there(window: &Window, ui: &mut Ui, spot: &Spot, colours: Palette) {
    let Some(painted) = window.painted.as_ref() else { return };
    let plan = window.shown.as_ref().and_then(|s| s.plan.as_ref());
    let found = plan.and_then(|p| Some((p, step_at(&painted.colouring, p, spot.face, spot.weights)?)));
    let Some((plan, (row, step))) = found else { return };
    let Some(row) = painted.colouring.rows.get(row) else { return };
    let steps = row.steps_in(plan, plan.zone_at(spot.face, spot.weights));
    let Some(here) = steps.get(step) else { return };
    ui.horizontal(|ui| {
        swatch(ui, here.shown().shown().to_srgb8(), &(step + 1).to_string(), colours);
        ui.label(RichText::new(format!("{}, step {} of {}", row.name, step + 1, steps.len())).family(bold()));
    });
    if let Some(mix) = painted.shelf.in_words(here.mix.as_ref()) {
        ui.label(RichText::new(mix).small());
    }
}

fn openness(ui: &mut Ui, tenths: u16, colours: Palette) {
    heading(ui, "How open it lies");
    bar_of_light(ui, colours);
    ui.horizontal(|ui| {
        ui.label(RichText::new("shut in").small());
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            ui.label(RichText::new("open all round").small());
        });
    });
    let words = format!(
        "Dark: recesses, for washes and lines. Pale: edges and open surface. It counts what stands within {:.1} mm, \
         and no light.",
        f64::from(tenths) / 10.0
    );
    ui.label(RichText::new(words).small().color(colours.quiet));
}

fn bar_of_light(ui: &mut Ui, colours: Palette) {
    bar(ui, colours, |t| FalseColour::at(f64::from(t)).to_srgb8());
}

fn zones(window: &Window, ui: &mut Ui, colours: Palette) {
    heading(ui, "Strongest light");
    ui.label(RichText::new("and its share of the surface").small().color(colours.quiet));
    let Some(shown) = &window.shown else { return };
    let rows = zone_rows(&shown.draft);
    for (i, (style, light)) in rows.iter().skip(1).zip(&window.desk.scheme().lights).enumerate() {
        let share = shown.plan.as_ref().and_then(|p| p.zones.rows.get(i)).map(|z| 100.0 * z.share);
        let more = share.map_or(String::new(), |s| format!("{s:.0} %"));
        row(ui, style.colour, &(i + 1).to_string(), &light.name, &more, colours);
    }
    if let Some(style) = rows.first() {
        row(ui, style.colour, "", "no light", "", colours);
    }
}

fn under_pointer(window: &Window, ui: &mut Ui, colours: Palette) {
    let Some(hover) = &window.hover else { return };
    let Some(reading) = &hover.reading else { return };
    let g = grey(reading.lightness.0);
    ui.horizontal(|ui| {
        swatch(ui, [g; 3], "", colours);
        // Beside the steps of a colour those of the value scale would be taken for the same.
        let coloured = window.step == Step::Colours || window.look.is_coloured();
        let (l, step) = (reading.lightness.0, reading.step);
        let words = match coloured {
            true => format!("L* {l:.0}, value {step:.1}"),
            false => format!("L* {l:.0}, step {step:.1} of 10"),
        };
        ui.label(RichText::new(words).family(bold()));
    });
    if window.step == Step::Colours || window.look.is_coloured() {
        paint_there(window, ui, &hover.spot, colours);
    } else if let Some(region) = window.region_at(&hover.spot) {
        ui.label(&region.name);
    }
    if let Some(open) = window.openness_at(&hover.spot) {
        ui.label(format!("Open to {:.0} %", 100.0 * open));
    }
    let band =
        window.shown.as_ref().and_then(|s| s.plan.as_ref()).and_then(|p| p.bands.rows.get(reading.band));
    let letter = char::from(b'A' + reading.band.min(25) as u8);
    ui.label(match band {
        Some(band) => format!("Band {letter}, {}", band.name),
        None => format!("Band {letter}"),
    });
    for (id, exposure) in &reading.lights {
        let light = window.desk.scheme().lights.iter().find(|l| l.id == *id);
        if let Some(light) = light {
            let text = format!("{}: {:.0} %", light.name, 100.0 * exposure);
            ui.label(RichText::new(text).small().color(colours.quiet));
        }
    }
}

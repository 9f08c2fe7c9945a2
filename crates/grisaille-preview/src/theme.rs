//! The window's face: neutral greys round the figure, so that its values are
//! judged rightly, with the brass and the sea green of the diver's dress.

use eframe::egui::{
    Color32, Context, CornerRadius, FontData, FontDefinitions, FontFamily, FontId, Margin, Stroke, Style,
    TextStyle, Theme, Visuals, vec2,
};
use std::sync::Arc;

/// The colours of one theme.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Palette {
    /// Behind the figure: a neutral grey.
    pub ground: [u8; 3],
    /// Panels.
    pub table: Color32,
    /// Cards and fields on them.
    pub card: Color32,
    /// Text.
    pub ink: Color32,
    /// Text of lesser weight.
    pub quiet: Color32,
    /// What is chosen or glows.
    pub brass: Color32,
    /// What can be taken hold of.
    pub sea: Color32,
    /// Trouble.
    pub rust: Color32,
}

/// The colours for dark rooms.
pub(crate) const DARK: Palette = Palette {
    ground: [86, 87, 87],
    table: Color32::from_rgb(36, 39, 40),
    card: Color32::from_rgb(48, 52, 54),
    ink: Color32::from_rgb(236, 233, 225),
    quiet: Color32::from_rgb(178, 181, 178),
    brass: Color32::from_rgb(226, 172, 74),
    sea: Color32::from_rgb(122, 196, 188),
    rust: Color32::from_rgb(238, 138, 106),
};

/// The colours for daylight.
pub(crate) const LIGHT: Palette = Palette {
    ground: [178, 179, 178],
    table: Color32::from_rgb(236, 233, 225),
    card: Color32::from_rgb(250, 248, 243),
    ink: Color32::from_rgb(33, 37, 38),
    quiet: Color32::from_rgb(84, 89, 89),
    brass: Color32::from_rgb(138, 90, 0),
    sea: Color32::from_rgb(16, 98, 92),
    rust: Color32::from_rgb(160, 48, 16),
};

/// The colours of the theme in use.
#[must_use]
pub(crate) fn palette(ctx: &Context) -> Palette {
    match ctx.theme() {
        Theme::Dark => DARK,
        Theme::Light => LIGHT,
    }
}

/// Dresses a context.
pub fn dress(ctx: &Context) {
    ctx.set_fonts(fonts());
    for (theme, colours) in [(Theme::Dark, DARK), (Theme::Light, LIGHT)] {
        ctx.style_mut_of(theme, |style| dress_style(style, theme, colours));
    }
}

fn fonts() -> FontDefinitions {
    let mut fonts = FontDefinitions::empty();
    let mut add = |name: &str, bytes: &'static [u8]| {
        fonts.font_data.insert(name.to_owned(), Arc::new(FontData::from_static(bytes)));
    };
    add("regular", notosans::REGULAR_TTF);
    add("bold", notosans::BOLD_TTF);
    for family in [FontFamily::Proportional, FontFamily::Monospace] {
        fonts.families.insert(family, vec!["regular".to_owned()]);
    }
    fonts.families.insert(bold(), vec!["bold".to_owned()]);
    fonts
}

/// The family for headings.
#[must_use]
pub(crate) fn bold() -> FontFamily {
    FontFamily::Name("bold".into())
}

fn dress_style(style: &mut Style, theme: Theme, colours: Palette) {
    style.text_styles = [
        (TextStyle::Heading, FontId::new(19.0, bold())),
        (TextStyle::Body, FontId::new(14.5, FontFamily::Proportional)),
        (TextStyle::Button, FontId::new(14.5, FontFamily::Proportional)),
        (TextStyle::Monospace, FontId::new(14.0, FontFamily::Proportional)),
        (TextStyle::Small, FontId::new(12.5, FontFamily::Proportional)),
    ]
    .into();
    style.spacing.item_spacing = vec2(8.0, 7.0);
    style.spacing.button_padding = vec2(10.0, 5.0);
    // As high as a button, so that words and buttons of a row stand on one line.
    style.spacing.interact_size.y = 30.0;
    style.spacing.menu_margin = Margin::same(12);
    let mut visuals = match theme {
        Theme::Dark => Visuals::dark(),
        Theme::Light => Visuals::light(),
    };
    visuals.override_text_color = Some(colours.ink);
    visuals.weak_text_color = Some(colours.quiet);
    visuals.panel_fill = colours.table;
    visuals.window_fill = colours.card;
    visuals.extreme_bg_color = mixed(colours.card, colours.table, 0.5);
    visuals.hyperlink_color = colours.sea;
    visuals.selection.bg_fill = chosen(colours);
    visuals.selection.stroke = Stroke::new(1.5, colours.ink);
    visuals.warn_fg_color = colours.rust;
    visuals.error_fg_color = colours.rust;
    let round = CornerRadius::same(7);
    let states = &mut visuals.widgets;
    for (state, fill, line) in [
        (&mut states.noninteractive, colours.table, mixed(colours.table, colours.ink, 0.16)),
        (
            &mut states.inactive,
            mixed(colours.card, colours.ink, 0.07),
            mixed(colours.card, colours.ink, 0.28),
        ),
        (&mut states.hovered, mixed(colours.card, colours.sea, 0.22), colours.sea),
        (&mut states.active, mixed(colours.card, colours.sea, 0.35), colours.sea),
        (&mut states.open, mixed(colours.card, colours.sea, 0.18), colours.sea),
    ] {
        state.bg_fill = fill;
        state.weak_bg_fill = fill;
        state.bg_stroke = Stroke::new(1.0, line);
        state.fg_stroke = Stroke::new(1.5, colours.ink);
        state.corner_radius = round;
    }
    visuals.window_stroke = Stroke::new(1.0, mixed(colours.card, colours.ink, 0.3));
    visuals.window_corner_radius = CornerRadius::same(10);
    style.visuals = visuals;
}

/// The rail that a slider runs on.
pub(crate) fn rail(colours: Palette) -> Color32 {
    // Darker than a light panel takes more than lighter than a dark one.
    let share = if colours.table.r() < colours.ink.r() { 0.42 } else { 0.52 };
    mixed(colours.table, colours.ink, share)
}

/// Under the words of what is chosen.
fn chosen(colours: Palette) -> Color32 {
    mixed(colours.card, colours.brass, 0.36)
}

/// A mix of two colours, `t` of the second.
#[must_use]
pub(crate) fn mixed(one: Color32, other: Color32, t: f32) -> Color32 {
    let mix = |a: u8, b: u8| (f32::from(a) + (f32::from(b) - f32::from(a)) * t).round() as u8;
    Color32::from_rgb(mix(one.r(), other.r()), mix(one.g(), other.g()), mix(one.b(), other.b()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use grisaille_colour::{LinearRgb, wcag_contrast};

    #[test]
    fn text_can_be_read_on_everything_it_stands_on() {
        let of = |c: Color32| LinearRgb::from_srgb8([c.r(), c.g(), c.b()]);
        for p in [DARK, LIGHT] {
            for ground in [p.table, p.card] {
                // WCAG 2.1, 1.4.3 (AA): 4.5 for text.
                for text in [p.ink, p.quiet, p.brass, p.sea, p.rust] {
                    assert!(wcag_contrast(of(text), of(ground)) >= 4.5, "{text:?} on {ground:?}");
                }
            }
            // The chosen button's fill under its ink.
            assert!(wcag_contrast(of(p.ink), of(chosen(p))) >= 4.5, "{:?}", chosen(p));
            // A rail on its panel, a knob's edge on it: WCAG 2.1, 1.4.11, 3 for parts of controls.
            for other in [p.table, p.ink] {
                let contrast = wcag_contrast(of(rail(p)), of(other));
                assert!(contrast >= 3.0, "{contrast}");
            }
            // The ground is neutral.
            let [r, g, b] = p.ground;
            assert!(r.abs_diff(g) <= 1 && g.abs_diff(b) <= 1);
        }
    }
}

//! All tones of a region beside the title of its cards, from dark to light: what lies on several cards is seen at once.

use crate::card_pictures::{in_ink, pattern_of};
use crate::compose::{Composer, srgb};
use crate::compose_stages::by_region;
use crate::mark::joined;
use crate::recipe_rows::{letters, printed_colours, told_value, value};
use crate::sheets::{Rung, Swatch};
use grisaille_base::Lightness;
use grisaille_colour::{LinearRgb, lightness_from_luminance, luminance_from_lightness};
use grisaille_picture::Pattern;
use grisaille_plan::{MixPlace, RegionColours, Stage, StageKind};

/// A tone is printed between its neighbours; one that is lighter or darker than both lies in their middle.
fn between(own: LinearRgb, below: Option<LinearRgb>, above: Option<LinearRgb>) -> LinearRgb {
    let lightness = |c: LinearRgb| lightness_from_luminance(c.luminance()).0;
    match (below.map(lightness), above.map(lightness)) {
        (Some(low), Some(high)) if !(low..=high).contains(&lightness(own)) => {
            LinearRgb::grey(luminance_from_lightness(Lightness(f64::midpoint(low, high))))
        }
        _ => own,
    }
}

impl Composer<'_> {
    /// The tones of the one region that a base coat or its shadows and lights are about; none of what is glazed, or
    /// has the base coat's tone alone.
    pub(crate) fn tones_of(&self, stage: &Stage, all: &[Stage]) -> Vec<Rung> {
        let coat = matches!(stage.kind, StageKind::BaseCoat | StageKind::ShadowsAndLights | StageKind::Base);
        let (Some(coloured), [region], true) = (self.coloured, stage.regions.as_slice(), coat) else {
            return Vec::new();
        };
        let own_row = |row: &&RegionColours| row.name == *region && row.glaze.is_none();
        let Some(row) = coloured.colouring.rows.iter().find(own_row) else { return Vec::new() };
        // What stands on the base is shaded with all of it, on a card of its own.
        let shades = |s: &&Stage| {
            matches!(s.kind, StageKind::ShadowsAndLights | StageKind::Base) && s.regions.contains(region)
        };
        let cards = all.iter().filter(shades).flat_map(|s| by_region((0, s), &[], self.words));
        let mut cards = cards.filter(|s| s.regions == stage.regions && !s.recipes.is_empty());
        cards.next().map_or_else(Vec::new, |shaded| self.rungs(&shaded, row))
    }

    fn rungs(&self, shaded: &Stage, row: &RegionColours) -> Vec<Rung> {
        let ink = self.ink();
        let (letters, shown) = (letters(&shaded.recipes), printed_colours(shaded, ink));
        let first_of = joined(&shaded.recipes);
        let steps = shaded.recipes.iter().enumerate().filter_map(|(i, recipe)| match recipe.place {
            MixPlace::Step(of, step) if of == row.entry && first_of[i] == i => Some((step, i, recipe)),
            _ => None,
        });
        let mut tones: Vec<(usize, LinearRgb, Rung)> = steps
            .map(|(step, i, recipe)| {
                let look = Swatch {
                    letter: letters[i].clone(),
                    colour: srgb(shown[i]),
                    pattern: pattern_of(shaded, i, ink),
                    words: told_value(recipe),
                };
                (step, shown[i], Rung { look, base: false })
            })
            .collect();
        tones.sort_by_key(|(step, ..)| *step);
        let base = row.base_step();
        let at = tones.partition_point(|(step, ..)| *step < base);
        let beside = |k: Option<usize>| k.and_then(|k| tones.get(k)).map(|(_, colour, _)| *colour);
        let coat = between(in_ink(row.middle().shown(), ink), beside(at.checked_sub(1)), beside(Some(at)));
        let look = Swatch {
            letter: (base + 1).to_string(),
            colour: srgb(coat),
            pattern: Pattern::Plain,
            words: format!("{:.1}", value(Lightness(row.middle().l))),
        };
        tones.insert(at, (base, coat, Rung { look, base: true }));
        tones.into_iter().map(|(.., rung)| rung).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tone_never_leaves_its_place_among_its_neighbours() {
        let grey = |l: f64| LinearRgb::grey(luminance_from_lightness(Lightness(l)));
        let lightness = |own: f64, low: f64, high: f64| {
            lightness_from_luminance(between(grey(own), Some(grey(low)), Some(grey(high))).luminance()).0
        };
        assert!((lightness(50.0, 30.0, 60.0) - 50.0).abs() < 1e-6);
        assert!((lightness(70.0, 30.0, 60.0) - 45.0).abs() < 1e-6);
        assert!((lightness(10.0, 30.0, 60.0) - 45.0).abs() < 1e-6);
        assert_eq!(between(grey(70.0), None, Some(grey(60.0))), grey(70.0));
    }
}

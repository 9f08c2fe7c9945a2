//! Varnish, what comes after it, and the base.

use super::accents::{wash_recipe, washes};
use super::{WorkGround, begun, lit_recipes, names, recipe, step_words};
use crate::colouring::{RegionColours, brush, technique};
use crate::stage::{MixPlace, Recipe, Stage, StageKind, spray_caution};
use grisaille_scheme::Route;
use grisaille_words::{Words, say};

fn varnish_caution(by_brush: bool, words: &Words) -> String {
    match by_brush {
        true => say!(words, "caution-varnish-brush"),
        false => format!("{} {}", say!(words, "caution-varnish"), spray_caution(words)),
    }
}

/// Gloss and pin washes where some rows take them, then matt over all.
pub(super) fn varnish(from: &WorkGround<'_>, figure: &[&RegionColours], no_varnish: bool) -> Vec<Stage> {
    let words = from.words;
    let by_brush = from.scheme.colours.route == Route::BrushOnly;
    let washes = washes(figure, true);
    let mut list = Vec::new();
    if !washes.is_empty() {
        let rows: Vec<&RegionColours> = washes.iter().map(|w| w.0).collect();
        let regions = names(&rows);
        if !no_varnish {
            let title = say!(words, "gloss-title", regions = words.list(&regions));
            let mut gloss = begun(StageKind::Gloss, title);
            gloss.regions.clone_from(&regions);
            gloss.steps = vec![say!(words, "gloss-coat")];
            gloss.done_when = say!(words, "gloss-done");
            gloss.mistake = say!(words, "gloss-mistake");
            gloss.repair = say!(words, "gloss-repair");
            gloss.drying = Some(say!(words, "drying-gloss"));
            // It goes on some regions alone.
            gloss.brush = Some(say!(words, "varnish-brush"));
            gloss.cautions = vec![varnish_caution(true, words)];
            list.push(gloss);
        }
        let title = say!(words, "pin-wash-title", regions = words.list(&regions));
        let mut pin = begun(StageKind::PinWash, title);
        pin.regions = regions;
        pin.recipes = washes.iter().map(|(row, wash)| wash_recipe(row, wash, from)).collect();
        pin.steps = vec![say!(words, "pin-wash-touch"), say!(words, "pin-wash-wipe")];
        pin.thinning = Some(say!(words, "thin-pin-wash"));
        pin.brush = Some(say!(words, "pin-wash-brush"));
        pin.drying = Some(say!(words, "drying-pin-wash"));
        pin.done_when = say!(words, "pin-wash-done");
        pin.mistake = say!(words, "pin-wash-mistake");
        pin.repair = say!(words, "pin-wash-repair");
        list.push(pin);
    }
    if !no_varnish {
        let mut matt = begun(StageKind::Matt, say!(words, "matt-title"));
        matt.steps = vec![say!(words, if by_brush { "matt-coat-brush" } else { "matt-coat" })];
        matt.brush = by_brush.then(|| say!(words, "varnish-brush"));
        matt.done_when = say!(words, "matt-done");
        matt.mistake = say!(words, "matt-mistake");
        matt.repair = say!(words, "matt-repair");
        matt.drying = Some(say!(words, "drying-overnight"));
        matt.cautions = vec![varnish_caution(by_brush, words)];
        list.push(matt);
    }
    list
}

/// True metal, after matt varnish, which would dull it.
pub(super) fn metal(from: &WorkGround<'_>, rows: &[&RegionColours]) -> Vec<Stage> {
    let words = from.words;
    let each = rows.iter().map(|row| {
        let wash = || say!(words, "metal-wash", thin = say!(words, "thin-wash"));
        let mut stage = begun(StageKind::Metal, say!(words, "metal-title", region = &row.name));
        stage.regions = vec![row.name.clone()];
        // Its base coat is there since the figure was table-ready.
        let base = row.base_step();
        let used = row.ramp.iter().enumerate().filter(|(i, s)| *i != base && s.area_mm2 > 0.0);
        let mut recipes: Vec<Recipe> = Vec::new();
        for (i, step) in used {
            let next = recipe(row, step_words(row, i, words), step, from).at(MixPlace::Step(row.entry, i));
            // One paint for several steps is one recipe.
            if recipes.last().is_none_or(|r| r.mix.is_none() || r.mix != next.mix) {
                recipes.push(next);
            }
        }
        if let [one] = recipes.as_mut_slice() {
            // Light shades metal by itself: one paint goes all over it, the same as before.
            let what = say!(words, "what-all-over");
            *one = recipe(row, what, &row.ramp[base], from).at(MixPlace::Entry(row.entry));
        }
        let several = recipes.len() > 1;
        stage.recipes = recipes;
        if let Some(wash) = &row.wash {
            stage.recipes.push(wash_recipe(row, wash, from));
        }
        let how = if several { technique(row.material, words) } else { say!(words, "metal-one-paint") };
        stage.steps = vec![say!(words, "metal-once-more"), how];
        stage.steps.extend(row.wash.as_ref().map(|_| wash()));
        stage.thinning = Some(say!(words, "thin-metal"));
        stage.brush = Some(brush(row.material, words));
        stage.drying = Some(say!(words, "drying-twenty-minutes"));
        stage.done_when = say!(words, "metal-done");
        stage.mistake = say!(words, "metal-mistake");
        stage.repair = say!(words, "metal-repair");
        stage
    });
    each.collect()
}

/// The base, last, so that hands and splashes do no harm; with a varnish of its own.
pub(super) fn base(from: &WorkGround<'_>, rows: &[&RegionColours], no_varnish: bool) -> Option<Stage> {
    if rows.is_empty() {
        return None;
    }
    let words = from.words;
    let regions = names(rows);
    let mut stage = begun(StageKind::Base, say!(words, "base-title", regions = words.list(&regions)));
    stage.regions = regions;
    for row in rows {
        // Its base coat is there since the figure was table-ready.
        let used = row.ramp.iter().enumerate();
        let used = used.filter(|(i, s)| s.area_mm2 > 0.0 && !row.stays_base_coat(*i));
        stage.recipes.extend(used.map(|(i, step)| {
            recipe(row, step_words(row, i, words), step, from).at(MixPlace::Step(row.entry, i))
        }));
        // The figure's lamps are painted long before it: what they light here comes with it.
        for ramp in &row.lit {
            let what = |tone| say!(words, "what-lit", what = tone, lamp = &ramp.name);
            stage.recipes.extend(lit_recipes(row, ramp, what, from));
        }
    }
    let lighter = rows
        .iter()
        .any(|row| row.ramp.iter().skip(row.base_step() + 1).any(|s| from.is_worth_a_mix(s.area_mm2)));
    let coat = if lighter { "base-coat" } else { "base-coat-darker" };
    stage.steps = vec![
        say!(words, coat),
        say!(words, "base-calmer"),
        say!(words, "base-lines"),
        say!(words, "base-rim"),
    ];
    if !no_varnish {
        stage.steps.push(say!(words, "base-varnish"));
    }
    stage.thinning = Some(say!(words, "thin-base"));
    stage.brush = Some(say!(words, "base-brush"));
    stage.drying = Some(say!(words, "drying-twenty-minutes"));
    stage.done_when = say!(words, "base-done");
    stage.mistake = say!(words, "base-mistake");
    stage.repair = say!(words, "base-repair");
    Some(stage)
}

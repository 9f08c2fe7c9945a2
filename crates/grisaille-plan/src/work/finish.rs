//! Varnish, what comes after it, and the base.

use super::accents::{wash_recipe, washes};
use super::paint::METAL_THINNING;
use super::{WorkGround, begun, listed, names, recipe, step_words};
use crate::colouring::RegionColours;
use crate::stage::{MixPlace, SPRAY_CAUTION, Stage, StageKind};

const VARNISH_CAUTION: &str = "Varnish from a can or airbrush counts as spray.";

/// Gloss and pin washes where some rows take them, then matt over all.
pub(super) fn varnish(from: &WorkGround<'_>, figure: &[&RegionColours], no_varnish: bool) -> Vec<Stage> {
    let washes = washes(figure, true);
    let mut list = Vec::new();
    if !washes.is_empty() {
        let rows: Vec<&RegionColours> = washes.iter().map(|w| w.0).collect();
        if !no_varnish {
            let mut gloss = begun(StageKind::Gloss, format!("Gloss varnish: {}", listed(&names(&rows))));
            gloss.regions = names(&rows);
            gloss.steps =
                vec!["A thin even coat, so that the pin wash runs along recesses and stains nothing.".into()];
            gloss.done_when = "it shines evenly.".into();
            gloss.mistake = "Frosting or dust in the varnish.".into();
            gloss.repair = "Let it dry, polish with a soft cloth, give another thin coat.".into();
            gloss.drying = Some("one to two hours (common practice; the label counts)".into());
            gloss.cautions = vec![format!("{VARNISH_CAUTION} {SPRAY_CAUTION}")];
            list.push(gloss);
        }
        let mut pin = begun(StageKind::PinWash, format!("Pin wash: {}", listed(&names(&rows))));
        pin.regions = names(&rows);
        pin.recipes = washes.iter().map(|(row, wash)| wash_recipe(row, wash, from)).collect();
        pin.steps = vec![
            "Touch the tip to the recess and let it run; nothing on open forms.".into(),
            "After ten minutes wipe off what went astray with a clean damp brush, toward the recess.".into(),
        ];
        pin.thinning = Some("1 part paint to 4 parts water or wash medium".into());
        pin.brush = Some("round, size 0".into());
        pin.drying = Some("30 to 60 minutes (common practice)".into());
        pin.done_when = "recesses are drawn, open forms are clean.".into();
        pin.mistake = "A stain beside the recess.".into();
        pin.repair = "On gloss it wipes off; on matt go over it with the region's step.".into();
        list.push(pin);
    }
    if !no_varnish {
        let mut matt = begun(StageKind::Matt, "Matt varnish all over");
        matt.steps =
            vec!["Two thin coats from 20 to 30 cm; metal and what should shine come after it.".into()];
        matt.done_when = "nothing shines that should not.".into();
        matt.mistake = "White haze: too cold, too damp or too much.".into();
        matt.repair = "A thin coat of gloss usually clears it; then matt again in dry warm air.".into();
        matt.drying = Some("overnight before handling (common practice; the label counts)".into());
        matt.cautions = vec![format!("{VARNISH_CAUTION} {SPRAY_CAUTION}")];
        list.push(matt);
    }
    list
}

/// True metal, after matt varnish, which would dull it.
pub(super) fn metal(from: &WorkGround<'_>, rows: &[&RegionColours]) -> Vec<Stage> {
    let each = rows.iter().map(|row| {
        let mut stage = begun(StageKind::Metal, format!("Metallic paint: {}", row.name));
        stage.regions = vec![row.name.clone()];
        let used = row.ramp.iter().enumerate().filter(|(_, s)| s.area_mm2 > 0.0);
        let mut recipes = Vec::new();
        for (i, step) in used {
            let next = recipe(step_words(row, i), step, from.shelf).at(MixPlace::Step(row.entry, i));
            // One paint for several steps is one recipe.
            if recipes.last().is_none_or(|r: &crate::stage::Recipe| r.mix.is_none() || r.mix != next.mix) {
                recipes.push(next);
            }
        }
        if let [one] = recipes.as_mut_slice() {
            // Light shades metal by itself: one paint goes all over it.
            one.what = format!("{}, all over", row.name);
            one.place = MixPlace::Entry(row.entry);
        }
        let several = recipes.len() > 1;
        stage.recipes = recipes;
        if let Some(wash) = &row.wash {
            stage.recipes.push(wash_recipe(row, wash, from));
        }
        stage.steps = vec![
            "Once more, after the matt varnish, which has taken its shine.".into(),
            if several {
                crate::colouring::material_rule(row.material).technique.into()
            } else {
                "Metallic paint thinly and evenly; a wash shades it, and its edges shine by themselves."
                    .into()
            },
        ];
        stage.thinning = Some(METAL_THINNING.into());
        stage.brush = Some(crate::colouring::material_rule(row.material).brush.into());
        stage.drying = Some("20 minutes (common practice)".into());
        stage.done_when = "it shines on the forms and is dark in its recesses.".into();
        stage.mistake = "Flakes in other regions.".into();
        stage.repair = "Change the water; cover them with the region's step.".into();
        stage
    });
    each.collect()
}

/// The base, last, so that hands and splashes do no harm.
pub(super) fn base(from: &WorkGround<'_>, rows: &[&RegionColours]) -> Option<Stage> {
    if rows.is_empty() {
        return None;
    }
    let mut stage = begun(StageKind::Base, format!("Base: {}", listed(&names(rows))));
    stage.regions = names(rows);
    for row in rows {
        let used = row.ramp.iter().enumerate().filter(|(_, s)| s.area_mm2 > 0.0);
        stage.recipes.extend(
            used.map(|(i, step)| {
                recipe(step_words(row, i), step, from.shelf).at(MixPlace::Step(row.entry, i))
            }),
        );
    }
    stage.steps = vec![
        "Base coat, then dry brush the lighter steps, lightest last.".into(),
        "Keep it calmer than the figure: no touch of near-white here.".into(),
        "Paint the rim dark and even.".into(),
    ];
    stage.thinning = Some("2 parts paint to 1 part water; none for the dry brush".into());
    stage.brush = Some("old round, size 2; dry flat brush".into());
    stage.drying = Some("20 minutes (common practice)".into());
    stage.done_when = "the figure stands out from it at arm's length.".into();
    stage.mistake = "Paint on the boots.".into();
    stage.repair = "Go over it with the boots' own steps, or call it dust.".into();
    Some(stage)
}

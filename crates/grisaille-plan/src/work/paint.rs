//! The stages that lay paint on regions: base coats, glazes, shadows and lights, the light of lamps.

use super::{WorkGround, begun, lit_recipes, lone, mix_words, names, recipe, step_words, told_value};
use crate::colouring::{
    EyePart, FacePart, RegionColours, StepColour, ThinLayer, brush, ground_of, technique, thin_layer,
};
use crate::plan::PlannedLight;
use crate::stage::{MixPlace, Recipe, Stage, StageKind, falloff_in_words};
use grisaille_base::Lightness;
use grisaille_colour::{Lab, LinearRgb, Mix, Nearness, difference};
use grisaille_light::Kind;
use grisaille_scheme::Material;
use grisaille_words::{Words, say};

/// The base coat of a row; what is painted from the pot that stands open joins the stage before.
pub(super) fn base_coat(list: &mut Vec<Stage>, row: &RegionColours, from: &WorkGround<'_>) {
    let words = from.words;
    let step = row.base_step();
    let recipe = recipe(row, step_words(row, step, words), &row.ramp[step], from);
    let recipe = recipe.at(MixPlace::Entry(row.entry));
    let told = |stage: &mut Stage| {
        let regions = words.list(&stage.regions);
        stage.title = say!(words, "base-coat-title", regions = &regions);
        stage.steps = vec![say!(words, "base-coat-paint", regions = &regions)];
    };
    let open = list.iter_mut().find(|s| {
        let same = |r: &Recipe| r.mix.is_some() && r.mix == recipe.mix;
        s.kind == StageKind::BaseCoat && s.recipes.iter().any(same)
    });
    if let Some(stage) = open {
        stage.regions.push(row.name.clone());
        stage.recipes.push(recipe);
        told(stage);
        return;
    }
    let mut stage = begun(StageKind::BaseCoat, String::new());
    stage.regions = vec![row.name.clone()];
    stage.recipes = vec![recipe];
    told(&mut stage);
    stage.tone = Some(Lightness(row.ramp[step].shown().l));
    stage.thinning =
        Some(say!(words, if row.material == Material::Tmm { "thin-metal" } else { "thin-milk" }));
    stage.brush = Some(say!(words, "base-coat-brush"));
    stage.drying = Some(say!(words, "drying-acrylic"));
    stage.done_when = say!(words, "base-coat-done");
    stage.mistake = say!(words, "base-coat-mistake");
    let glazed = from.colouring.rows.iter().any(|row| row.glaze.is_some());
    stage.repair = say!(words, if glazed { "base-coat-repair-glazed" } else { "base-coat-repair" });
    list.push(stage);
}

/// A row glazed over the primer's tones.
pub(super) fn glaze(row: &RegionColours, layer: &ThinLayer, from: &WorkGround<'_>) -> Stage {
    let words = from.words;
    let mut stage = begun(StageKind::Glaze, say!(words, "glaze-title", region = &row.name));
    stage.regions = vec![row.name.clone()];
    let mix = mix_words(Some(&layer.mix), from);
    let last = row.ramp.len().to_string();
    let shown = layer.over.iter().zip(&row.ramp).enumerate().rev().filter(|(_, (_, s))| s.area_mm2 > 0.0);
    stage.recipes = shown
        .map(|(i, (colour, step))| Recipe {
            region: row.name.clone(),
            what: say!(words, "what-over-tone", step = (i + 1).to_string(), last = &last),
            colour: *colour,
            pot: Some(layer.mix.colour),
            mix: mix.clone(),
            paints: from.shelf.bottles(Some(&layer.mix)),
            near: Some(Nearness::of(difference(*colour, step.wanted))),
            place: MixPlace::Step(row.entry, i),
        })
        .collect();
    stage.steps = vec![say!(words, "glaze-brush-on", region = &row.name), say!(words, "glaze-stop")];
    stage.thinning = Some(layer.thinning(words));
    stage.brush = Some(say!(words, "glaze-brush"));
    stage.drying = Some(say!(words, "drying-glaze"));
    stage.done_when = say!(words, "glaze-done");
    stage.mistake = say!(words, "glaze-mistake");
    stage.repair = say!(words, "glaze-repair");
    stage
}

/// The eyes of the marked faces, or how eyes are painted where none is marked.
pub(super) fn eyes(rows: &[&RegionColours], from: &WorkGround<'_>) -> Stage {
    let words = from.words;
    let mut stage = begun(StageKind::Eyes, say!(words, "eyes-title"));
    for row in rows {
        for face in &row.faces {
            let mut add = |key: &str, part: EyePart, colour: &(Lab, Option<Mix>)| {
                if face.can_paint(part) {
                    let recipe = lone(row, say!(words, key), colour.clone(), from);
                    stage.recipes.push(recipe.at(MixPlace::Eye(row.entry, part)));
                }
            };
            add("what-eye-liner", EyePart::Liner, &face.colours.liner);
            add("what-eye-white", EyePart::White, &face.colours.white);
            add("what-eye-iris", EyePart::Iris, &face.colours.iris);
            let wide = format!("{:.1}", face.eye_width());
            let gaze = words.term("gaze", face.gaze.as_str());
            stage.steps.push(match (face.can_paint(EyePart::White), face.can_paint(EyePart::Iris)) {
                (true, _) => say!(words, "eyes-with-white", wide = wide, gaze = gaze),
                (false, true) => say!(words, "eyes-slit-and-dot", wide = wide, gaze = gaze),
                (false, false) => say!(words, "eyes-slit", wide = wide),
            });
            if face.can_paint(EyePart::Catchlight) {
                stage.steps.push(say!(words, "eyes-catchlight"));
            }
        }
    }
    if stage.steps.is_empty() {
        stage.steps.push(say!(words, "eyes-unmarked"));
    }
    stage.steps.push(say!(words, "eyes-trim"));
    stage.regions = names(rows);
    stage.thinning = Some(say!(words, "thin-two-to-one"));
    stage.brush = Some(say!(words, "eyes-brush"));
    stage.drying = Some(say!(words, "drying-five-minutes"));
    stage.done_when = say!(words, "eyes-done");
    let white = rows.iter().flat_map(|row| &row.faces).all(|face| face.can_paint(EyePart::White));
    stage.mistake = say!(words, if white { "eyes-mistake" } else { "eyes-mistake-slit" });
    stage.repair = say!(words, if white { "eyes-repair" } else { "eyes-repair-slit" });
    stage
}

/// A share of what there is to paint; nothing that is to be painted is none of it.
fn share_in_words(share: f64, words: &Words) -> String {
    match share {
        s if s < 0.01 => say!(words, "share-trace"),
        s => say!(words, "share", percent = format!("{:.0}", 100.0 * s)),
    }
}

/// What the faces of a row get on top of its shadows and lights.
fn faces(stage: &mut Stage, row: &RegionColours, lights: bool, from: &WorkGround<'_>) {
    let at = from.colouring.rows.iter().position(|r| r.entry == row.entry);
    let shows = |part| at.is_some_and(|at| !from.colouring.face_places(from.plan, at, part).is_empty());
    for face in &row.faces {
        let colours = &face.colours;
        stage.steps.push(say!(from.words, if lights { "face-lights" } else { "face-darks" }));
        for (key, part, colour) in [
            ("what-red", FacePart::Red, &colours.red),
            ("what-lip", FacePart::Lip, &colours.lips),
            ("what-jaw", FacePart::Jaw, &colours.cool),
        ] {
            if shows(part) {
                let recipe = lone(row, say!(from.words, key), colour.clone(), from);
                stage.recipes.push(recipe.at(MixPlace::Face(row.entry, part)));
            }
        }
        if shows(FacePart::Red) {
            stage.steps.push(say!(from.words, "face-red"));
        }
        if shows(FacePart::Jaw) {
            stage.steps.push(say!(from.words, "face-jaw"));
        }
    }
}

/// Shadows and lights of a row; over a glaze only the steps that it does not reach. `None` where none is left.
pub(super) fn shadows_and_lights(row: &RegionColours, from: &WorkGround<'_>) -> Option<Stage> {
    let words = from.words;
    let base = row.base_step();
    let glaze = row.glaze.as_ref();
    // Where the step has the glaze's own mix, nothing else is painted.
    let reached = |i: usize| {
        let mix = row.ramp[i].mix.as_ref();
        glaze.zip(mix).is_some_and(|(glaze, mix)| mix.parts == glaze.mix.parts && mix.colour == glaze.over[i])
    };
    let left = |i: &usize| match glaze {
        Some(_) => from.is_worth_a_mix(row.ramp[*i].area_mm2) && !reached(*i),
        None => row.ramp[*i].area_mm2 > 0.0 && !row.stays_base_coat(*i),
    };
    // Shadows from the base down, then lights from the base up: each lies within the one before.
    let order: Vec<usize> = (0..base).rev().chain(base..row.ramp.len()).filter(left).collect();
    if order.is_empty() {
        return None;
    }
    let title = if glaze.is_some() { "shades-title-glazed" } else { "shades-title" };
    let mut stage = begun(StageKind::ShadowsAndLights, say!(words, title, region = &row.name));
    stage.regions = vec![row.name.clone()];
    let mixed = |i: &usize| {
        let what = step_words(row, *i, words);
        let what = match glaze.and_then(|glaze| glaze.over.get(*i)) {
            Some(over) => say!(words, "what-over-glaze", what = what, value = told_value(Lightness(over.l))),
            None => what,
        };
        recipe(row, what, &row.ramp[*i], from).at(MixPlace::Step(row.entry, *i))
    };
    stage.recipes = order.iter().map(mixed).collect();
    let [how, border, done] = borders(row, &order, words);
    stage.steps = vec![how, how_much(row, &order, words), border];
    if row.material == Material::Nmm {
        stage.steps.push(say!(words, "shades-mirrors"));
    }
    let lights = order.iter().any(|i| *i > base);
    faces(&mut stage, row, lights, from);
    stage.tone = row.ramp.last().map(|s| Lightness(s.shown().l));
    stage.thinning = Some(say!(words, "thin-shades"));
    stage.brush = Some(brush(row.material, words));
    stage.drying = Some(say!(words, "drying-between-layers"));
    stage.done_when = done;
    stage.mistake = say!(words, "shades-mistake");
    stage.repair = say!(words, if glaze.is_some() { "shades-repair-glazed" } else { "shades-repair" });
    Some(stage)
}

/// How steps of a row that are painted in some order meet: the technique, what to do at borders, and what they look
/// like when done. What is smooth and shines has crisp lights.
fn borders(row: &RegionColours, order: &[usize], words: &Words) -> [String; 3] {
    let darks = order.iter().filter(|i| **i < row.base_step()).count();
    let (how, crisp) = (technique(row.material, words), row.material == Material::Satin);
    match darks {
        n if crisp && n == order.len() => [
            say!(words, "technique-satin-darks"),
            say!(words, "shades-soft-border"),
            say!(words, "shades-done"),
        ],
        0 if crisp => [
            say!(words, "technique-satin-lights"),
            say!(words, "shades-off-lines"),
            say!(words, "shades-done-lights"),
        ],
        1 if crisp => [how, say!(words, "shades-off-lines"), say!(words, "shades-done-crisp")],
        _ if crisp => [how, say!(words, "shades-soft-darks"), say!(words, "shades-done-crisp")],
        // Over a glaze there is no other step to mix it with.
        _ if order.len() == 1 && row.glaze.is_some() => {
            [how, say!(words, "shades-soft-border-one"), say!(words, "shades-done")]
        }
        _ => [how, say!(words, "shades-soft-border"), say!(words, "shades-done")],
    }
}

/// Which share of a row each step takes, and what stays as it is.
fn how_much(row: &RegionColours, order: &[usize], words: &Words) -> String {
    let share = |i: usize| row.ramp[i].area_mm2 / row.area_mm2;
    let mix = |i: usize| row.ramp[i].mix.as_ref().map(|mix| &mix.parts);
    // Neighbours of one mix are one area on the card.
    let told = |steps: &[usize]| {
        let of_all = share_in_words(steps.iter().map(|i| share(*i)).sum(), words);
        match steps {
            [one] => say!(words, "shades-step-share", step = (one + 1).to_string(), share = of_all),
            several => {
                let numbers: Vec<String> = several.iter().map(|i| (i + 1).to_string()).collect();
                say!(words, "shades-steps-share", steps = words.list(&numbers), share = of_all)
            }
        }
    };
    let one_area = |a: &usize, b: &usize| a.abs_diff(*b) == 1 && mix(*a).is_some() && mix(*a) == mix(*b);
    let shares = words.row(&order.chunk_by(one_area).map(told).collect::<Vec<_>>());
    let stays: Vec<usize> = (0..row.ramp.len()).filter(|i| !order.contains(i) && share(*i) > 0.0).collect();
    let lit: f64 = row.lit.iter().flat_map(|l| &l.steps).map(|s| s.area_mm2).sum::<f64>() / row.area_mm2;
    let told = what_stays(row, (&shares, stays, share), words);
    let nowhere: Vec<String> =
        (0..row.ramp.len()).filter(|i| share(*i) <= 0.0).map(|i| (i + 1).to_string()).collect();
    let told = match nowhere.len() {
        0 => told,
        n => say!(words, "shades-nowhere", n = n, told = told, steps = words.list(&nowhere)),
    };
    match lit {
        lit if lit < 0.01 => told,
        lit => say!(words, "shades-lit", told = told, lit = share_in_words(lit, words)),
    }
}

fn what_stays(
    row: &RegionColours,
    (shares, stays, share): (&str, Vec<usize>, impl Fn(usize) -> f64),
    words: &Words,
) -> String {
    if stays.is_empty() {
        return say!(words, "shades-how-much", shares = shares);
    }
    let left = share_in_words(stays.iter().map(|i| share(*i)).sum(), words);
    match &row.glaze {
        Some(_) => say!(words, "shades-how-much-glazed", shares = shares, left = left),
        None => {
            let steps: Vec<String> = stays.iter().map(|i| (i + 1).to_string()).collect();
            let steps = words.list(&steps);
            say!(words, "shades-how-much-base", shares = shares, left = left, steps = steps)
        }
    }
}

/// The light of each coloured lamp on the regions that it rules, and as a glaze.
pub(super) fn lamps(from: &WorkGround<'_>, figure: &[&RegionColours]) -> Vec<Stage> {
    let coloured = from.plan.lights.iter().filter(|l| matches!(l.kind, Kind::Point { .. }));
    coloured.filter_map(|light| lamp(from, light, figure)).collect()
}

fn lamp(from: &WorkGround<'_>, light: &PlannedLight, figure: &[&RegionColours]) -> Option<Stage> {
    let lit: Vec<&RegionColours> =
        figure.iter().copied().filter(|r| r.lit.iter().any(|l| l.light == light.id)).collect();
    if lit.is_empty() {
        return None;
    }
    let words = from.words;
    let mut stage = begun(StageKind::LampColour(light.id), say!(words, "lamp-title", name = &light.name));
    stage.regions = names(&lit);
    let colour =
        from.scheme.lights.iter().find(|l| l.id == light.id).map(|l| LinearRgb::from_srgb8(l.colour));
    for row in &lit {
        let Some(ramp) = row.lit.iter().find(|l| l.light == light.id) else { continue };
        stage.recipes.extend(lit_recipes(row, ramp, |tone| tone, from));
    }
    let falloff = falloff_in_words(&light.kind, 0, words).unwrap_or_default();
    stage.steps.push(say!(words, "lamp-colour-where", falloff = falloff));
    stage.steps.push(say!(words, "lamp-colour-order"));
    stage.steps.push(say!(words, "lamp-colour-darkest"));
    let metal = from.colouring.true_metal();
    if !metal.is_empty() {
        stage.steps.push(say!(words, "lamp-colour-metal", regions = words.list(&metal)));
    }
    stage.steps.extend(colour.and_then(|c| as_a_glaze(from, light, &lit, Lab::from(c))));
    if let Some(feather) = from.plan.brush.feather_mm() {
        let [low, high] = feather.map(|mm| format!("{mm:.1}"));
        stage.steps.push(say!(words, "lamp-colour-feather", low = low, high = high));
    }
    stage.thinning = Some(say!(words, "thin-lamp"));
    stage.brush = Some(say!(words, "lamp-colour-brush"));
    stage.drying = Some(say!(words, "drying-thin-acrylic"));
    stage.done_when = say!(words, "lamp-done");
    stage.mistake = say!(words, "lamp-colour-mistake");
    stage.repair = say!(words, "lamp-colour-repair");
    Some(stage)
}

/// The same light as one glaze over what is painted, with what it makes of it.
fn as_a_glaze(
    from: &WorkGround<'_>,
    light: &PlannedLight,
    lit: &[&RegionColours],
    colour: Lab,
) -> Option<String> {
    let (mut grounds, mut wanted, mut areas) = (Vec::new(), Vec::new(), Vec::new());
    for row in lit {
        let ramp = row.lit.iter().find(|l| l.light == light.id)?;
        for (plain, lit) in row.ramp.iter().zip(&ramp.steps) {
            grounds.push(ground_of(from.shelf, plain.mix.as_ref(), plain.shown()));
            wanted.push(lit.wanted);
            areas.push(lit.area_mm2);
        }
    }
    let own = from.shelf.nearest(colour);
    let layer = thin_layer(from.shelf, own.as_ref(), &grounds, &wanted, &areas)?;
    let verdict = match Nearness::of(layer.mix.apart) {
        Nearness::Same | Nearness::Near => "lamp-glaze-near",
        Nearness::TestFirst => "lamp-glaze-test",
        // Another light than this lamp's: no help.
        Nearness::OutOfReach => return None,
    };
    Some(say!(
        from.words,
        "lamp-glaze",
        mix = mix_words(Some(&layer.mix), from)?,
        thinning = layer.thinning(from.words),
        verdict = say!(from.words, verdict),
    ))
}

/// The lightest step of a row that covers anything.
pub(super) fn lightest(row: &RegionColours) -> &StepColour {
    row.ramp.iter().rev().find(|s| s.area_mm2 > 0.0).unwrap_or(&row.ramp[row.ramp.len() - 1])
}

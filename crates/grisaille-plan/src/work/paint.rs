//! The stages that lay paint on regions: base coats, glazes, shadows and lights, the light of lamps.

use super::{WorkGround, begun, listed, lone, names, recipe, step_words};
use crate::colouring::{EyePart, RegionColours, StepColour, ThinLayer, ground_of, material_rule, thin_layer};
use crate::plan::PlannedLight;
use crate::stage::{MixPlace, Recipe, Stage, StageKind, falloff_in_words};
use grisaille_base::Lightness;
use grisaille_colour::{Lab, LinearRgb, Mix, Nearness, difference};
use grisaille_light::Kind;
use grisaille_scheme::Material;

const ACRYLIC_DRIES: &str = "10 to 20 minutes for a thin coat of acrylic (common practice; the label counts)";

/// Flakes of metal float on in the water.
pub(super) const METAL_THINNING: &str =
    "4 parts paint to 1 part water; keep this water for metallic paint only";

/// The base coat of a row; what is painted from the pot that stands open joins the stage before.
pub(super) fn base_coat(list: &mut Vec<Stage>, row: &RegionColours, from: &WorkGround<'_>) {
    let step = row.base_step();
    let recipe = recipe(step_words(row, step), &row.ramp[step], from.shelf).at(MixPlace::Entry(row.entry));
    let open = list.iter_mut().find(|s| {
        let same = |r: &Recipe| r.mix.is_some() && r.mix == recipe.mix;
        s.kind == StageKind::BaseCoat && s.recipes.iter().any(same)
    });
    if let Some(stage) = open {
        stage.regions.push(row.name.clone());
        stage.recipes.push(recipe);
        stage.title = format!("Base coat: {}", listed(&stage.regions));
        stage.steps = vec![over_all(&stage.regions)];
        return;
    }
    let mut stage = begun(StageKind::BaseCoat, format!("Base coat: {}", row.name));
    stage.regions = vec![row.name.clone()];
    stage.recipes = vec![recipe];
    stage.steps = vec![over_all(&stage.regions)];
    stage.tone = Some(Lightness(row.ramp[step].shown().l));
    stage.thinning = Some(
        if row.material == Material::Tmm {
            METAL_THINNING
        } else {
            "2 parts paint to 1 part water: like milk"
        }
        .into(),
    );
    stage.brush = Some("round, size 1 or 2".into());
    stage.drying = Some(ACRYLIC_DRIES.into());
    stage.done_when = "it is one even colour and no ground shines through.".into();
    stage.mistake = "It went over the border.".into();
    stage.repair =
        "Wipe it off at once with a damp brush; dried, go over it with the neighbour's colour.".into();
    list.push(stage);
}

fn over_all(names: &[String]) -> String {
    format!("Paint {} all over in two thin coats; let the first dry before the second.", listed(names))
}

/// A row glazed over the primer's tones.
pub(super) fn glaze(row: &RegionColours, layer: &ThinLayer, from: &WorkGround<'_>) -> Stage {
    let mut stage = begun(StageKind::Glaze, format!("Glaze over the primer: {}", row.name));
    stage.regions = vec![row.name.clone()];
    let mix = from.shelf.in_words(Some(&layer.mix));
    let n = row.ramp.len();
    let shown = layer.over.iter().zip(&row.ramp).enumerate().rev().filter(|(_, (_, s))| s.area_mm2 > 0.0);
    stage.recipes = shown
        .map(|(i, (colour, step))| Recipe {
            what: format!("{}, over the primer's tone of step {} of {n}", row.name, i + 1),
            colour: *colour,
            mix: mix.clone(),
            paints: from.shelf.bottles(Some(&layer.mix)),
            near: Some(Nearness::of(difference(*colour, step.wanted)).as_str()),
            place: MixPlace::Step(row.entry, i),
        })
        .collect();
    stage.steps = vec![
        format!(
            "Brush it thinly over all of {}, always toward the shadow, and take up what gathers.",
            row.name
        ),
        "The primer's light and dark do the work: stop as soon as the colour is there.".into(),
    ];
    stage.thinning = Some(layer.thinning().into());
    stage.brush = Some("round, size 1, damp, wiped once".into());
    stage.drying = Some("20 to 30 minutes, until it no longer shines (common practice)".into());
    stage.done_when = "light and dark of the primer still read through one colour.".into();
    stage.mistake = "It stained: tide marks, or blotches where a half-dry spot was touched again.".into();
    stage.repair =
        "Let it dry fully, then glaze the spot again thinner; a stain that is too dark is lifted with \
                    the primer's tone."
            .into();
    stage
}

/// The eyes of the marked faces, or how eyes are painted where none is marked.
pub(super) fn eyes(rows: &[&RegionColours], from: &WorkGround<'_>) -> Stage {
    let mut stage = begun(StageKind::Eyes, "Eyes, before the skin is finished");
    for row in rows {
        for face in &row.faces {
            let mut add = |what: &str, part: EyePart, colour: &(Lab, Option<Mix>)| {
                if face.can_paint(part) {
                    let recipe = lone(what.into(), colour.0, colour.1.clone(), from.shelf);
                    stage.recipes.push(recipe.at(MixPlace::Eye(row.entry, part)));
                }
            };
            add("line of the upper lid", EyePart::Liner, &face.colours.liner);
            add("white of the eye", EyePart::White, &face.colours.white);
            add("iris", EyePart::Iris, &face.colours.iris);
            let wide = face.eye_width();
            stage.steps.push(match (face.can_paint(EyePart::White), face.can_paint(EyePart::Iris)) {
                (true, _) => format!(
                    "Each eye is {wide:.1} mm wide: the dark lid first, the off-white within it, then one dark dot, both \
                     looking {}.",
                    face.gaze.as_str()
                ),
                (false, true) => format!(
                    "Each eye is {wide:.1} mm wide, too small for white: a dark slit and in it a dot, both {}.",
                    face.gaze.as_str()
                ),
                (false, false) => format!("Each eye is {wide:.1} mm wide: one dark slit is all that a tip can do."),
            });
            if face.can_paint(EyePart::Catchlight) {
                stage.steps.push(
                    "A catchlight in each iris, on the same side, with the last touches of light.".into(),
                );
            }
        }
    }
    if stage.steps.is_empty() {
        stage.steps.push(
            "A dark line where the lids meet; then an off-white within it; then one dark dot, both eyes looking the same \
             way. Mark the face in the scheme, [[face]], and its size and colours are told here."
                .into(),
        );
    }
    stage.steps.push("What went wide is trimmed with the skin's colours in the next stages.".into());
    stage.regions = names(rows);
    stage.thinning = Some("2 parts paint to 1 part water".into());
    stage.brush = Some("round, size 3/0, with a good tip".into());
    stage.drying = Some("5 minutes (common practice)".into());
    stage.done_when = "at arm's length both eyes look to one place.".into();
    stage.mistake = "Staring: white all round the dot.".into();
    stage.repair = "Let the dot touch the upper lid.".into();
    stage
}

/// A share of what there is to paint; nothing that is to be painted is none of it.
fn share_in_words(share: f64) -> String {
    if share < 0.01 { "less than 1 %".into() } else { format!("{:.0} %", 100.0 * share) }
}

/// What the faces of a row get on top of its shadows and lights.
fn faces(stage: &mut Stage, row: &RegionColours, from: &WorkGround<'_>) {
    for face in &row.faces {
        let colours = &face.colours;
        for (what, colour) in [
            ("nose, cheeks and ears, as a glaze", &colours.red),
            ("lower lip", &colours.lips),
            ("jaw, as a glaze", &colours.cool),
        ] {
            stage.recipes.push(lone(format!("{}: {what}", row.name), colour.0, colour.1.clone(), from.shelf));
        }
        stage.steps.push(
            "Lights on brow, bridge of the nose, cheekbones, lower lip and chin; darks in the sockets, below nose and lip. \
             Glaze nose, cheeks and ears red, the jaw cool."
                .into(),
        );
    }
}

/// Shadows and lights of a row; over a glaze only the steps that it does not reach. `None` where none is left.
pub(super) fn shadows_and_lights(row: &RegionColours, from: &WorkGround<'_>) -> Option<Stage> {
    let base = row.base_step();
    let glaze = row.glaze.as_ref();
    let reached = |i: usize| {
        let colour = glaze.map(|g| g.over[i]);
        colour.is_some_and(|c| difference(c, row.ramp[i].wanted) <= 6.0)
    };
    let left =
        |i: &usize| row.ramp[*i].area_mm2 > 0.0 && if glaze.is_some() { !reached(*i) } else { *i != base };
    // Shadows from the base down, then lights from the base up: each lies within the one before.
    let order: Vec<usize> = (0..base).rev().chain(base..row.ramp.len()).filter(left).collect();
    if order.is_empty() {
        return None;
    }
    let rule = material_rule(row.material);
    let title = if glaze.is_some() { "Correct shadows and lights" } else { "Shadows and lights" };
    let mut stage = begun(StageKind::ShadowsAndLights, format!("{title}: {}", row.name));
    stage.regions = vec![row.name.clone()];
    let mixed =
        |i: &usize| recipe(step_words(row, *i), &row.ramp[*i], from.shelf).at(MixPlace::Step(row.entry, *i));
    stage.recipes = order.iter().map(mixed).collect();
    stage.steps = vec![
        rule.technique.into(),
        how_much(row, &order),
        "For a softer border mix both steps in equal parts and lay that between them.".into(),
    ];
    if row.material == Material::Nmm {
        stage.steps.push(
            "Lightest: what mirrors the sky just above the horizon, and the lights. Darkest: the horizon, right below \
             it. What faces down mirrors the ground and is a mid tone."
                .into(),
        );
    }
    faces(&mut stage, row, from);
    stage.tone = row.ramp.last().map(|s| Lightness(s.shown().l));
    stage.thinning =
        Some("1 part paint to 1 part water for shadows and lights, 1 to 2 for the ways between".into());
    stage.brush = Some(rule.brush.into());
    stage.drying = Some("5 minutes between layers (common practice)".into());
    stage.done_when =
        "squinting, it shows the steps of the values sheet; close by, no border is hard.".into();
    stage.mistake = "Chalky lights: too much white, too dry.".into();
    stage.repair = "Glaze them with the base colour, 1 part to 4 parts water.".into();
    Some(stage)
}

/// Which share of a row each step takes, and what stays as it is.
fn how_much(row: &RegionColours, order: &[usize]) -> String {
    let share = |i: usize| row.ramp[i].area_mm2 / row.area_mm2;
    let shares = order.iter().map(|i| format!("step {}: {}", i + 1, share_in_words(share(*i))));
    let told = format!("How much of it: {}.", shares.collect::<Vec<_>>().join(", "));
    let stays: Vec<usize> = (0..row.ramp.len()).filter(|i| !order.contains(i) && share(*i) > 0.0).collect();
    if stays.is_empty() {
        return told;
    }
    let left = share_in_words(stays.iter().map(|i| share(*i)).sum());
    let names: Vec<String> = stays.iter().map(|i| (i + 1).to_string()).collect();
    match &row.glaze {
        Some(_) => format!("{told} The other {left} stay as the glaze has left them."),
        None => format!("{told} The other {left} stay as they are: the base coat, step {}.", listed(&names)),
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
    let mut stage = begun(StageKind::LampColour(light.id), format!("Light of '{}'", light.name));
    stage.regions = names(&lit);
    let colour =
        from.scheme.lights.iter().find(|l| l.id == light.id).map(|l| LinearRgb::from_srgb8(l.colour));
    for row in &lit {
        let Some(ramp) = row.lit.iter().find(|l| l.light == light.id) else { continue };
        for (i, step) in ramp.steps.iter().enumerate().filter(|(_, s)| s.area_mm2 > 0.0) {
            let what = format!("{}, step {} of {}, in this light", row.name, i + 1, ramp.steps.len());
            let place = MixPlace::LitStep(row.entry, light.id, i);
            stage.recipes.push(recipe(what, step, from.shelf).at(place));
        }
    }
    if let Some(words) = colour.and_then(|c| as_a_glaze(from, light, &lit, Lab::from(c))) {
        stage.steps.push(words);
    }
    stage.steps.insert(
        0,
        format!(
            "Only where the lamp is seen from: {}. Stay darker than the lamp itself.",
            falloff_in_words(&light.kind, 0).unwrap_or_default()
        ),
    );
    let feather = 2.0 * from.plan.brush.radius_mm;
    stage.steps.push(format!(
        "Feather the border over {feather:.1} to {:.1} mm with the plain step.",
        3.0 * feather
    ));
    stage.thinning = Some("1 part paint to 2 parts water, in several layers".into());
    stage.brush = Some("round, size 0".into());
    stage.drying = Some("5 to 30 minutes for thin acrylic (common practice)".into());
    stage.done_when = "the eye goes to the lamp first, and nothing that it lights is brighter.".into();
    stage.mistake = "Light on a side that the lamp does not see.".into();
    stage.repair = "Glaze it away with the region's own shadow step.".into();
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
    let far = Nearness::of(layer.mix.apart);
    let verdict = match far {
        Nearness::Same | Nearness::Near => "that comes near to the mixes",
        Nearness::TestFirst => "test it first",
        Nearness::OutOfReach => "it does not replace the mixes, but ties them together",
    };
    Some(format!(
        "As a glaze instead: {}, {}; {verdict} (ΔE {:.0} on average).",
        from.shelf.in_words(Some(&layer.mix))?,
        layer.thinning(),
        layer.mix.apart
    ))
}

/// The lightest step of a row that covers anything.
pub(super) fn lightest(row: &RegionColours) -> &StepColour {
    row.ramp.iter().rev().find(|s| s.area_mm2 > 0.0).unwrap_or(&row.ramp[row.ramp.len() - 1])
}

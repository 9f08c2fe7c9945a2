//! The order of work: every stage at the bench for a coloured figure, by one of three routes.
//!
//! What stands here about order, thinning, brushes and drying is common practice of the trade,
//! without a published source; the label and the safety data sheet of a product come first.

mod accents;
mod files;
mod finish;
mod ground;
mod paint;

pub use accents::LINES_TOLD;

use crate::colouring::{Colouring, LitRamp, RegionColours, Shelf, StepColour};
use crate::lining::Lining;
use crate::plan::Plan;
use crate::stage::{MixPlace, Recipe, Stage, StageKind, compare};
use grisaille_base::Lightness;
use grisaille_colour::{Lab, Mix, Part, luminance_from_lightness, munsell_value};
use grisaille_form::Regions;
use grisaille_scheme::{Material, Scheme, Skipped};
use grisaille_words::{Words, say};

/// What the order of work is made from.
#[derive(Clone, Copy)]
pub struct WorkGround<'a> {
    /// What the painter decided.
    pub scheme: &'a Scheme,
    /// The plan.
    pub plan: &'a Plan,
    /// The regions.
    pub regions: &'a Regions,
    /// What they are painted with.
    pub colouring: &'a Colouring,
    /// Lines, edges and spots.
    pub lining: &'a Lining,
    /// The paints.
    pub shelf: &'a Shelf,
    /// The language of its texts.
    pub words: &'a Words,
}

impl WorkGround<'_> {
    /// Whether an area in mm² is one to mix a paint for, and not a few dots.
    fn is_worth_a_mix(&self, area_mm2: f64) -> bool {
        area_mm2 > self.plan.brush.few_dots_mm2()
    }
}

/// The stages in bench order.
///
/// Guarantees: the base has its base coat with the others and is finished after everything else; eyes come before the skin round them is finished; gloss varnish comes before pin washes and matt varnish after them;
/// true metal comes after matt varnish, its base coat with those of the others; what closes up when files are glued is painted before; at most one stage is marked as table-ready, and what follows it refines.
#[must_use]
pub fn work(from: &WorkGround<'_>) -> Vec<Stage> {
    let skips = |kind| from.scheme.colours.skip.contains(&kind);
    let mut rows = inside_out(from.colouring);
    if from.scheme.colours.squad {
        by_paint(&mut rows);
    }
    let (on_base, figure): (Vec<&RegionColours>, Vec<&RegionColours>) =
        rows.iter().partition(|r| r.on_base > 0.5);
    let (metal, figure): (Vec<&RegionColours>, Vec<&RegionColours>) =
        figure.into_iter().partition(|r| r.material == Material::Tmm);
    let mut list = ground::stages(from);
    let gluing = files::gluing(from);
    list.splice(1..1, gluing.first);
    list.extend(gluing.primed);
    // Metal and base too, so that no primer shows on the table: its shine comes after the varnish, and the base is
    // finished last.
    let mut coats: Vec<&RegionColours> = figure.iter().chain(&metal).chain(&on_base).copied().collect();
    if from.scheme.colours.squad {
        by_paint(&mut coats);
    }
    for row in coats {
        match row.glaze.as_ref().filter(|_| row.on_base <= 0.5) {
            Some(glaze) => list.push(paint::glaze(row, glaze, from)),
            None => paint::base_coat(&mut list, row, from),
        }
    }
    list.extend(accents::wash(from, &figure));
    if !skips(Skipped::Lining) {
        list.extend(accents::lining(from));
    }
    if let Some(last) = list.last_mut().filter(|_| !figure.is_empty() || !metal.is_empty()) {
        last.table_ready = true;
    }
    let skin: Vec<&RegionColours> = figure.iter().copied().filter(|r| r.material == Material::Skin).collect();
    if !skin.is_empty() {
        list.push(paint::eyes(&skin, from));
    }
    for row in &figure {
        list.extend(paint::shadows_and_lights(row, from));
    }
    list.extend(paint::lamps(from, &figure));
    if !skips(Skipped::Edges) {
        list.extend(accents::edges(from, &figure));
    }
    if !skips(Skipped::Spots) {
        list.extend(accents::spots(from));
    }
    list.extend(finish::varnish(from, &figure, skips(Skipped::Varnish)));
    list.extend(finish::metal(from, &metal));
    list.extend(finish::base(from, &on_base, skips(Skipped::Varnish)));
    list.push(compare_painted(from));
    files::name_files(&mut list, from);
    list
}

/// The last stage of a painted figure: nothing is primed anew for what is amiss.
fn compare_painted(from: &WorkGround<'_>) -> Stage {
    let words = from.words;
    // What these mixes come to, and not the values that were wanted of them, is what can be met.
    let mut steps = vec![say!(words, "compare-beside-painted"), say!(words, "compare-squint")];
    steps.extend(ends(from));
    let metal = from.colouring.true_metal();
    if !metal.is_empty() {
        steps.push(say!(words, "compare-metal", regions = words.list(&metal)));
    }
    steps.push(say!(words, "compare-mend-painted"));
    Stage {
        steps,
        done_when: say!(words, "compare-done-painted"),
        repair: say!(words, "compare-repair-painted"),
        ..compare(words)
    }
}

/// The lightest and the darkest tone of the figure, of those that are more than a few dots, in words: what contrast
/// is measured by. `None` where all is of one tone.
fn ends(from: &WorkGround<'_>) -> Option<String> {
    let figure = from.colouring.rows.iter().filter(|row| row.on_base <= 0.5);
    let tones = figure.flat_map(|row| {
        let steps = row.ramp.iter().chain(row.lit.iter().flat_map(|lit| &lit.steps));
        steps.filter(|s| from.is_worth_a_mix(s.area_mm2)).map(|s| (&row.name, s.shown().l))
    });
    let mut tones: Vec<(&String, f64)> = tones.collect();
    tones.sort_by(|a, b| a.1.total_cmp(&b.1));
    let ((dark, low), (light, high)) = (tones.first()?, tones.last()?);
    let value = |l: f64| told_value(Lightness(l));
    let told = || {
        let values = (value(*high), value(*low));
        say!(from.words, "compare-ends", light = *light, high = values.0, dark = *dark, low = values.1)
    };
    (light != dark).then(told)
}

/// Rows from the deepest to the outermost, so that what hangs over is painted after what lies below.
fn inside_out(colouring: &Colouring) -> Vec<&RegionColours> {
    let mut rows: Vec<&RegionColours> = colouring.rows.iter().collect();
    rows.sort_by(|a, b| a.open.total_cmp(&b.open));
    rows
}

/// Rows whose base coats share a pot one after the other, each group where its first row would be: with several
/// figures on the bench one pot stands open at a time.
fn by_paint(rows: &mut Vec<&RegionColours>) {
    let mut left = std::mem::take(rows);
    let pots = |row: &RegionColours| -> Vec<usize> {
        let mix = row.ramp[row.base_step()].mix.as_ref();
        mix.map(|m| m.parts.iter().map(|p| p.paint).collect()).unwrap_or_default()
    };
    while !left.is_empty() {
        let first = left.remove(0);
        let open = pots(first);
        rows.push(first);
        // The main paint of a mix is the one with the most parts, which stands first.
        let (same, others): (Vec<_>, Vec<_>) =
            left.into_iter().partition(|row| pots(row).first().is_some_and(|p| open.first() == Some(p)));
        rows.extend(same);
        left = others;
    }
}

/// A step of a row as a recipe.
fn recipe(row: &RegionColours, what: String, step: &StepColour, from: &WorkGround<'_>) -> Recipe {
    Recipe {
        region: row.name.clone(),
        what,
        colour: step.shown(),
        pot: None,
        mix: mix_words(step.mix.as_ref(), from),
        paints: from.shelf.bottles(step.mix.as_ref()),
        near: step.mix.as_ref().map(Mix::nearness),
        place: MixPlace::AsTold,
    }
}

/// A lightness as its value, 0 to 10.
fn told_value(lightness: Lightness) -> String {
    format!("{:.1}", munsell_value(luminance_from_lightness(lightness)))
}

/// Tones less than this apart are told as one, L*.
const ALIKE: f64 = 2.0;

/// The tones of a row that a lamp lights, as recipes; `what` makes of the words for a tone what is told.
fn lit_recipes(
    row: &RegionColours,
    ramp: &LitRamp,
    what: impl Fn(String) -> String,
    from: &WorkGround<'_>,
) -> Vec<Recipe> {
    let last = ramp.tones.len();
    let each = ramp.tones.iter().enumerate().map(|(i, steps)| {
        let key = match i {
            _ if last == 1 => "what-tone-only",
            0 => "what-tone-darkest",
            i if i + 1 == last => "what-tone-lightest",
            _ => "what-tone",
        };
        let tone = say!(from.words, key, tone = (i + 1).to_string(), last = last.to_string());
        // It is no mistake: the light is weak there, or the form turns away.
        let darker = row.glaze.is_none() && ramp.steps[steps.start].shown().l < row.middle().l - ALIKE;
        let tone = if darker { say!(from.words, "what-darker-than-base", tone = tone) } else { tone };
        let place = MixPlace::LitTone(row.entry, ramp.light, i);
        recipe(row, what(tone), &ramp.steps[steps.start], from).at(place)
    });
    each.collect()
}

/// A mix as a painter writes it: "2 parts Kelp green : 1 part Reef black", or the name alone of a single paint;
/// nothing where there are no paints.
fn mix_words(mix: Option<&Mix>, from: &WorkGround<'_>) -> Option<String> {
    let name = |part: &Part| from.shelf.paints.get(part.paint).map_or("?", |p| p.name.as_str());
    let parts = match mix?.parts.as_slice() {
        [one] => return Some(name(one).to_owned()),
        parts => parts,
    };
    let words = from.words;
    let each = parts.iter().map(|p| say!(words, "mix-part", n = p.parts, paint = name(p)));
    each.reduce(|list, next| say!(words, "mix-more", list = list, next = next))
}

/// A step's place in words.
fn step_words(row: &RegionColours, step: usize, words: &Words) -> String {
    let last = row.ramp.len();
    let key = match step {
        s if s == row.base_step() => "what-step-base",
        0 => "what-step-darkest",
        s if s + 1 == last => "what-step-lightest",
        _ => "what-step",
    };
    say!(words, key, step = (step + 1).to_string(), last = last.to_string())
}

/// A lone colour as a recipe.
fn lone(
    row: &RegionColours,
    what: String,
    (wanted, mix): (Lab, Option<Mix>),
    from: &WorkGround<'_>,
) -> Recipe {
    let step = StepColour { wanted, mix, area_mm2: 0.0, value: 0.0 };
    recipe(row, what, &step, from)
}

fn names(rows: &[&RegionColours]) -> Vec<String> {
    rows.iter().map(|r| r.name.clone()).collect()
}

/// A stage of a kind with a title, everything else still to be said.
fn begun(kind: StageKind, title: String) -> Stage {
    Stage { kind, title, ..Stage::default() }
}

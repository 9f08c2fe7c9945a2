//! `plan`: the order of work in colour, every stage with its mixes.

use crate::args::PlanWork;
use crate::colours::{NONE, Painted, colour, paints_file};
use crate::failure::Failure;
use crate::files::{json_text, print};
use crate::job::{Planned, Run, plan_scene};
use crate::scene::{Scene, is_scheme};
use grisaille_base::Lightness;
use grisaille_colour::{Lab, Nearness, hex_of, luminance_from_lightness, munsell_value};
use grisaille_plan::{Recipe, RegionColours, Stage, StepColour};
use grisaille_scheme::{PaintChoice, Route};
use grisaille_words::Words;
use serde_json::{Value, json};
use std::fmt::Write;

/// How wide a line of words becomes.
const WIDTH: usize = 100;

pub(crate) fn plan(args: &PlanWork) -> Result<(), Failure> {
    let (run, planned, painted) = painted(args)?;
    let text = if args.json { in_json(&planned, &painted)? } else { in_words(&planned, &painted) };
    print(&text)?;
    run.finish()
}

/// The whole way from the arguments of `plan` and `check` to a coloured plan.
pub(super) fn painted(args: &PlanWork) -> Result<(Run, Planned, Painted), Failure> {
    if !is_scheme(&args.scheme) {
        return Err(Failure::Usage(format!(
            "'{}' is no scheme (.grisaille): colours stand in one. Write one with: grisaille new {} -o figure.grisaille",
            args.scheme.display(),
            args.scheme.display()
        )));
    }
    let mut scene = Scene::read(&args.scheme)?;
    let colours = &mut scene.document.scheme.colours;
    if colours.regions.is_empty() {
        return Err(Failure::Usage(NONE.into()));
    }
    let mut folder = scene.folder.clone();
    if let Some(file) = &args.paints {
        let own = colours.paints.take();
        let usual = PaintChoice { file: file.clone(), most: 3, parts: 4, unmixed: false };
        colours.paints = Some(PaintChoice { file: file.clone(), ..own.unwrap_or(usual) });
        // As typed, it begins where the command was given.
        folder = std::path::PathBuf::new();
    }
    let mut inputs = scene.inputs();
    inputs.extend(paints_file(colours_of(&scene), &folder));
    let run = Run::start(&args.run, &inputs, &[])?;
    let mut planned = plan_scene(scene, &run.watch)?;
    let painted = colour(&mut planned, &folder, Words::english(), &run.watch)?;
    Ok((run, planned, painted))
}

fn colours_of(scene: &Scene) -> Option<&PaintChoice> {
    scene.document.scheme.colours.paints.as_ref()
}

fn in_words(planned: &Planned, painted: &Painted) -> String {
    let mut text = String::new();
    let scheme = &planned.scheme;
    line(&mut text, "Figure", &scheme.title);
    line(&mut text, "Route", route_words(scheme.colours.route));
    if let Some(mood) = &scheme.colours.mood {
        line(&mut text, "Mood", &format!("{}, {:.0} %", mood.name, 100.0 * mood.strength));
    }
    let pots = pots(painted);
    if pots.is_empty() {
        line(&mut text, "Paints", "none: give a list with --paints, or under [paints] in the scheme");
    } else {
        line(&mut text, "Paints", &pots.join(", "));
    }
    let last = painted.coloured.stages.len();
    for (i, stage) in painted.coloured.stages.iter().enumerate() {
        let _ = writeln!(text, "\n[ ] {} of {last}  {}", i + 1, stage.title);
        stage_in_words(&mut text, stage);
        if stage.table_ready {
            let _ = writeln!(text, "\n---- Table-ready. What follows refines. ----");
        }
    }
    let count = painted.coloured.checks.len();
    if count > 0 {
        let _ = writeln!(text, "\n{count} warnings: grisaille check tells them");
    }
    text
}

fn stage_in_words(text: &mut String, stage: &Stage) {
    if !stage.files.is_empty() {
        entry(text, "Part", &stage.files.join(", "));
    }
    for recipe in &stage.recipes {
        entry(text, "Mix", &recipe_words(recipe));
    }
    for step in &stage.steps {
        entry(text, "Do", step);
    }
    for (label, words) in [("Thin", &stage.thinning), ("Brush", &stage.brush), ("Dry", &stage.drying)] {
        if let Some(words) = words {
            entry(text, label, words);
        }
    }
    entry(text, "Done when", &stage.done_when);
    if !stage.mistake.is_empty() {
        entry(text, "If not", &format!("{} {}", stage.mistake, stage.repair));
    }
    for caution in &stage.cautions {
        entry(text, "Careful", caution);
    }
}

fn recipe_words(recipe: &Recipe) -> String {
    let colour = format!("{}, value {:.1}", hex_of(recipe.colour), value_of(recipe.colour));
    let what = recipe.told(Words::english());
    match (&recipe.mix, recipe.near) {
        (Some(mix), Some(near)) if near != Nearness::Same => {
            format!("{what}: {mix} ({colour}; {})", near.as_str())
        }
        (Some(mix), _) => format!("{what}: {mix} ({colour})"),
        (None, _) => format!("{what}: {colour}"),
    }
}

/// The place of a colour on the ten-step value scale.
fn value_of(colour: Lab) -> f64 {
    munsell_value(luminance_from_lightness(Lightness(colour.l)))
}

/// The names of the pots that are opened, in the order of the list.
fn pots(painted: &Painted) -> Vec<&str> {
    let rows = &painted.coloured.colouring.rows;
    let steps = rows.iter().flat_map(|r| {
        let lit = r.lit.iter().flat_map(|l| &l.steps);
        r.ramp.iter().chain(lit).filter(|s| s.area_mm2 > 0.0).chain([&r.line, &r.spot])
    });
    let used: Vec<usize> =
        steps.filter_map(|s: &StepColour| s.mix.as_ref()).flat_map(|m| &m.parts).map(|p| p.paint).collect();
    let paints = painted.shelf.paints.iter().enumerate();
    paints.filter(|(i, _)| used.contains(i)).map(|(_, p)| p.name.as_str()).collect()
}

fn route_words(route: Route) -> &'static str {
    match route {
        Route::Sketch => "sketch: three-tone primer as a reference, then opaque paint",
        Route::Transparent => "transparent: thin paint over the primer's tones",
        Route::BrushOnly => "brush only: dry brush instead of spray, then opaque paint",
    }
}

pub(super) fn line(text: &mut String, label: &str, words: &str) {
    wrapped(text, &format!("{label:<11}"), words);
}

fn entry(text: &mut String, label: &str, words: &str) {
    wrapped(text, &format!("    {label:<11}"), words);
}

/// Words after a label, broken into lines that begin below the first word.
fn wrapped(text: &mut String, label: &str, words: &str) {
    let mut at = label.chars().count();
    let indent = at;
    text.push_str(label);
    let mut first = true;
    for word in words.split_whitespace() {
        let wide = word.chars().count();
        if !first && at + 1 + wide > WIDTH {
            let _ = write!(text, "\n{:indent$}", "");
            at = indent;
            first = true;
        }
        if !first {
            text.push(' ');
            at += 1;
        }
        text.push_str(word);
        at += wide;
        first = false;
    }
    text.push('\n');
}

fn in_json(planned: &Planned, painted: &Painted) -> Result<String, Failure> {
    let coloured = &painted.coloured;
    let stages: Vec<Value> = coloured.stages.iter().map(stage_in_json).collect();
    let rows: Vec<Value> = coloured.colouring.rows.iter().map(|r| row_in_json(r, painted)).collect();
    let route = match planned.scheme.colours.route {
        Route::Sketch => "sketch",
        Route::Transparent => "transparent",
        Route::BrushOnly => "brush-only",
    };
    let value = json!({
        "title": planned.scheme.title,
        "route": route,
        "paints": pots(painted),
        "regions": rows,
        "proportions": proportions_in_json(painted),
        "stages": stages,
        "checks": coloured.checks,
        "findings": planned.findings,
    });
    json_text(&value)
}

pub(super) fn proportions_in_json(painted: &Painted) -> Vec<Value> {
    let each = painted.coloured.proportions.iter();
    each.map(|p| json!({ "name": p.name, "wanted": p.wanted, "seen": p.seen, "area": p.area })).collect()
}

fn stage_in_json(stage: &Stage) -> Value {
    let recipes: Vec<Value> = stage
        .recipes
        .iter()
        .map(|r| {
            json!({
                "what": r.told(Words::english()),
                "colour": hex_of(r.colour),
                "value": value_of(r.colour),
                "mix": r.mix,
                "near": r.near.map(Nearness::as_str),
            })
        })
        .collect();
    json!({
        "kind": stage.kind.as_str(),
        "title": stage.title,
        "regions": stage.regions,
        "files": stage.files,
        "recipes": recipes,
        "steps": stage.steps,
        "thinning": stage.thinning,
        "brush": stage.brush,
        "drying": stage.drying,
        "done_when": stage.done_when,
        "mistake": stage.mistake,
        "repair": stage.repair,
        "cautions": stage.cautions,
        "table_ready": stage.table_ready,
    })
}

fn row_in_json(row: &RegionColours, painted: &Painted) -> Value {
    let step = |s: &StepColour| {
        json!({
            "wanted": hex_of(s.wanted),
            "colour": hex_of(s.shown()),
            "lab": [s.shown().l, s.shown().a, s.shown().b],
            "mix": painted.shelf.in_words(s.mix.as_ref()),
            "difference": s.mix.as_ref().map(|m| m.apart),
            "area_mm2": s.area_mm2,
        })
    };
    let steps = |list: &[StepColour]| -> Vec<Value> { list.iter().map(step).collect() };
    let lit: Vec<Value> = row
        .lit
        .iter()
        .map(|l| json!({ "light": l.name, "area_mm2": l.area_mm2, "steps": steps(&l.steps) }))
        .collect();
    json!({
        "name": row.name,
        "ids": row.regions.iter().map(|r| u32::from(r.0) + 1).collect::<Vec<u32>>(),
        "material": row.material.as_str(),
        "base": hex_of(row.base),
        "area_mm2": row.area_mm2,
        "seen_share": row.seen_share,
        "borders": row.borders,
        "steps": steps(&row.ramp),
        "lit": lit,
        "line": step(&row.line),
        "spot": step(&row.spot),
    })
}

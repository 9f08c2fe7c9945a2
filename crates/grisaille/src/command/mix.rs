//! `mix`: what to mix from the paints on the desk to get a colour, or a ramp.

use super::palette::mood;
use crate::args::Mix as Args;
use crate::failure::Failure;
use crate::files::{json_text, print, read_file};
use crate::job::Run;
use grisaille_base::{Finding, Place};
use grisaille_colour::{
    Finish, Lab, Mix, MixError, MixSettings, Mixes, Nearness, Paint, RampSettings, SharedMixes,
    colour_from_text, hex_of, how_it_differs, pick_paints, ramp, read_paints, share_paints,
};
use serde_json::{Value, json};
use std::fmt::Write;

/// The most paints that a ramp shares.
const SHARED: usize = 5;

pub(crate) fn mix(args: &Args) -> Result<(), Failure> {
    let wanted = colour_from_text(&args.colour).map_err(Failure::Usage)?;
    let settings = ramp_settings(args)?;
    let bytes = read_file(&args.paints)?;
    let cannot = |why: String| Failure::Input { path: args.paints.clone(), why };
    let (paints, findings) = read_paints(&bytes).map_err(|e| cannot(e.to_string()))?;
    let run = Run::start(&args.run, std::slice::from_ref(&args.paints), &[])?;
    let of = MixSettings { paints: args.up_to.into(), parts: args.parts };
    let mixes = Mixes::of(&paints, of, &run.watch).map_err(|e| match e {
        MixError::Stop(stop) => stop.into(),
        MixError::TooMany { .. } => Failure::Usage(format!("'{}': {e}", args.paints.display())),
        MixError::NoPaint => cannot(e.to_string()),
    })?;
    let list = List { paints: &paints, findings: &findings };
    let text = match settings {
        None => {
            let found = mixes.nearest_by_count(wanted);
            let make = mixes.nearest(wanted);
            if args.json {
                json_text(&list.one_in_json(wanted, make.as_ref(), &found))
            } else {
                Ok(list.one_in_words(wanted, make.as_ref(), &found))
            }
        }
        Some(settings) => {
            let steps = ramp(wanted, &settings);
            let shared = match single(args, &paints, &steps) {
                Some(picked) => Some(picked),
                None => share_paints(&mixes, &steps, SHARED, &run.watch)?,
            };
            let shared = shared.unwrap_or(SharedMixes { paints: Vec::new(), steps: Vec::new() });
            if args.json {
                json_text(&list.ramp_in_json(wanted, &steps, &shared))
            } else {
                Ok(list.ramp_in_words(wanted, &steps, &shared))
            }
        }
    }?;
    print(&text)?;
    run.finish()
}

/// A ramp of single paints, each lighter than the one before, where mixes of one paint
/// are asked for and there are enough.
fn single(args: &Args, paints: &[Paint], steps: &[Lab]) -> Option<SharedMixes> {
    let steps = if args.up_to == 1 { pick_paints(paints, steps)? } else { return None };
    let used = steps.iter().flat_map(|m| &m.parts).map(|p| p.paint).collect();
    Some(SharedMixes { paints: used, steps })
}

/// How the ramp is made, if one is asked for.
fn ramp_settings(args: &Args) -> Result<Option<RampSettings>, Failure> {
    let Some(steps) = args.ramp else { return Ok(None) };
    let mut settings =
        RampSettings { steps: (steps > 0).then_some(steps), skin: args.skin, ..RampSettings::default() };
    if let Some(light) = &args.light {
        settings.light = colour_from_text(light).map_err(Failure::Usage)?;
    }
    settings.mood = args.mood.as_deref().map(mood).transpose()?;
    Ok(Some(settings))
}

/// A list of paints, and what was found in reading it.
struct List<'l> {
    paints: &'l [Paint],
    findings: &'l [Finding],
}

/// A label, and what stands beside it.
fn line(text: &mut String, label: &str, words: &str) {
    // Writing to a string cannot fail.
    let _ = writeln!(text, "{label:<11}{words}");
}

impl List<'_> {
    fn one_in_words(&self, wanted: Lab, make: Option<&Mix>, found: &[Mix]) -> String {
        let mut text = String::new();
        line(&mut text, "Wanted", &hex_of(wanted));
        if let Some(make) = make {
            line(&mut text, "Mix", &make.in_words(self.paints));
            line(&mut text, "Gives", &gives(make, wanted));
        }
        let others = found.iter().filter(|m| Some(*m) != make);
        for (i, other) in others.enumerate() {
            let label = if i == 0 { "Or" } else { "" };
            line(&mut text, label, &format!("{}: {}", other.in_words(self.paints), gives(other, wanted)));
        }
        self.rest(&mut text, found.iter());
        text
    }

    fn ramp_in_words(&self, wanted: Lab, steps: &[Lab], shared: &SharedMixes) -> String {
        let mut text = String::new();
        line(&mut text, "Wanted", &format!("a ramp round {}, darkest first", hex_of(wanted)));
        line(&mut text, "Paints", &self.names(&shared.paints).join(", "));
        for (i, (step, mix)) in steps.iter().zip(&shared.steps).enumerate() {
            let same = i > 0 && shared.steps.get(i - 1).is_some_and(|before| before.parts == mix.parts);
            let words = match same {
                true => format!("as step {i}: these paints have nothing between"),
                false => mix.in_words(self.paints),
            };
            line(&mut text, &format!("Step {}", i + 1), &words);
            line(&mut text, "", &format!("for {}: {}", hex_of(*step), gives(mix, *step)));
        }
        line(&mut text, "Between", "two steps lies what equal amounts of both give");
        self.rest(&mut text, shared.steps.iter());
        text
    }

    /// What holds of any mix, what was left out of the list, and what was found in it.
    fn rest<'m>(&self, text: &mut String, mut mixes: impl Iterator<Item = &'m Mix>) {
        let finish = |p: &grisaille_colour::Part| self.paints.get(p.paint).map(|p| p.finish);
        let transparent = mixes.any(|m| m.parts.iter().any(|p| finish(p) == Some(Finish::Transparent)));
        if transparent {
            line(text, "Covers", "less where a transparent paint is in the mix: give it a second coat");
        }
        let (metallic, used_up) = self.left_out();
        let mut left = Vec::new();
        if metallic > 0 {
            left.push(format!("{metallic} metallic (no mix tells how they shine)"));
        }
        if used_up > 0 {
            left.push(format!("{used_up} used up"));
        }
        if !left.is_empty() {
            line(text, "Left out", &left.join(", "));
        }
        for finding in self.findings {
            let words = match finding.place {
                Some(Place::Line(n)) => format!("line {n}: {}", finding.hint),
                _ => finding.hint.clone(),
            };
            line(text, "List", &words);
        }
        let guessed = self.paints.iter().any(|p| !p.measured);
        let source = if guessed { "predicted from listed colours" } else { "predicted from measured curves" };
        line(text, "Note", &format!("{source}: try a mix on a palette before it goes on the figure"));
    }

    fn one_in_json(&self, wanted: Lab, make: Option<&Mix>, found: &[Mix]) -> Value {
        let mut value = json!({ "wanted": hex_of(wanted), "wanted_lab": lab(wanted) });
        value["mix"] = make.map_or(Value::Null, |m| self.mix_in_json(m, wanted));
        value["by_count"] = found.iter().map(|m| self.mix_in_json(m, wanted)).collect();
        self.rest_in_json(value)
    }

    fn ramp_in_json(&self, wanted: Lab, steps: &[Lab], shared: &SharedMixes) -> Value {
        let mut value = json!({ "wanted": hex_of(wanted), "wanted_lab": lab(wanted) });
        value["paints"] = json!(self.names(&shared.paints));
        let each = steps.iter().zip(&shared.steps);
        let each = each.map(|(step, mix)| {
            json!({ "wanted": hex_of(*step), "wanted_lab": lab(*step), "mix": self.mix_in_json(mix, *step) })
        });
        value["steps"] = each.collect();
        self.rest_in_json(value)
    }

    fn rest_in_json(&self, mut value: Value) -> Value {
        let (metallic, used_up) = self.left_out();
        value["left_out"] = json!({ "metallic": metallic, "used_up": used_up });
        value["findings"] = json!(self.findings);
        value
    }

    fn mix_in_json(&self, mix: &Mix, wanted: Lab) -> Value {
        let name = |paint: usize| self.paints.get(paint).map(|p| p.name.as_str());
        let parts: Vec<Value> =
            mix.parts.iter().map(|p| json!({ "paint": name(p.paint), "parts": p.parts })).collect();
        json!({
            "parts": parts,
            "colour": hex_of(mix.colour),
            "lab": lab(mix.colour),
            "difference": mix.apart,
            "nearness": mix.nearness().as_str(),
            "differs": how_it_differs(mix.colour, wanted),
        })
    }

    fn names(&self, paints: &[usize]) -> Vec<&str> {
        paints.iter().filter_map(|i| self.paints.get(*i)).map(|p| p.name.as_str()).collect()
    }

    /// How many paints are metallic, and how many of the others are used up.
    fn left_out(&self) -> (usize, usize) {
        let metallic = self.paints.iter().filter(|p| p.finish == Finish::Metallic).count();
        (metallic, self.paints.iter().filter(|p| !p.at_hand() && p.finish != Finish::Metallic).count())
    }
}

fn lab(colour: Lab) -> [f64; 3] {
    [colour.l, colour.a, colour.b]
}

/// The colour that a mix gives and how near it is.
fn gives(mix: &Mix, wanted: Lab) -> String {
    let nearness = mix.nearness();
    let differs = how_it_differs(mix.colour, wanted);
    let differs = match nearness {
        Nearness::Same => String::new(),
        _ if differs.is_empty() => String::new(),
        Nearness::OutOfReach => format!("; the nearest is {differs}"),
        _ => format!("; {differs}"),
    };
    format!("{}, {} ({:.1}{differs})", hex_of(mix.colour), nearness.as_str(), mix.apart)
}

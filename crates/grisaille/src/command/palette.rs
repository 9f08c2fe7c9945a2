//! `palette`: the colours of a picture, or those that go with one colour, with their shares and the part each plays.

use crate::args::{HarmonyArg, Palette};
use crate::failure::Failure;
use crate::files::{json_text, print, read_file};
use crate::job::Run;
use grisaille_colour::{
    Harmony, Lab, MOODS, Mood, PaletteColour, colour_from_text, hex_of, palette_of, read_picture, with_roles,
};
use serde_json::{Value, json};
use std::fmt::Write;
use std::path::PathBuf;

pub(crate) fn palette(args: &Palette) -> Result<(), Failure> {
    let mood = args.mood.as_deref().map(mood).transpose()?;
    let inputs: Vec<PathBuf> = args.picture.iter().cloned().collect();
    let (run, mut palette) = match (&args.picture, &args.from) {
        (Some(path), _) => {
            let bytes = read_file(path)?;
            let run = Run::start(&args.run, &inputs, &[])?;
            let picture = run
                .watch
                .leave(move |_| read_picture(&bytes))?
                .map_err(|e| Failure::Input { path: path.clone(), why: e.to_string() })?;
            let palette = palette_of(&picture, &run.watch)?;
            (run, palette)
        }
        (None, from) => {
            let first = colour_from_text(from.as_deref().unwrap_or_default()).map_err(Failure::Usage)?;
            let made = harmony(args.harmony).from_colour(first);
            let shares: Vec<(Lab, f64)> = made.iter().map(|c| (c.colour, c.share)).collect();
            (Run::start(&args.run, &inputs, &[])?, with_roles(&shares))
        }
    };
    if let Some((mood, strength)) = mood {
        palette.iter_mut().for_each(|c| c.colour = mood.applied(c.colour, strength));
    }
    print(&if args.json { in_json(&palette)? } else { in_words(&palette) })?;
    run.finish()
}

fn harmony(arg: HarmonyArg) -> Harmony {
    match arg {
        HarmonyArg::OneHue => Harmony::OneHue,
        HarmonyArg::Neighbours => Harmony::Neighbours,
        HarmonyArg::Opposite => Harmony::Opposite,
        HarmonyArg::BesideOpposite => Harmony::BesideOpposite,
        HarmonyArg::Triad => Harmony::Triad,
        HarmonyArg::Square => Harmony::Square,
    }
}

/// A mood and its strength as typed, 1 if only the word stands there.
pub(crate) fn mood(text: &str) -> Result<(&'static Mood, f64), Failure> {
    let (word, strength) = text.split_once(':').unwrap_or((text, "1"));
    let mood = Mood::named(word).ok_or_else(|| {
        let words: Vec<&str> = MOODS.iter().map(|m| m.name).collect();
        Failure::Usage(format!("there is no mood '{word}': choose {}", words.join(", ")))
    })?;
    let strength = strength.trim().parse().ok().filter(|s| (0.0..=1.0).contains(s));
    let strength = strength.ok_or_else(|| {
        Failure::Usage(format!("'{text}': the strength of a mood is 0 to 1, such as {word}:0.5"))
    })?;
    Ok((mood, strength))
}

fn in_words(palette: &[PaletteColour]) -> String {
    let mut text = String::new();
    for c in palette {
        let skin = if c.skin_like { ", skin-like" } else { "" };
        // Writing to a string cannot fail.
        let _ = writeln!(text, "{} {:>6.1} %  {}{skin}", hex_of(c.colour), 100.0 * c.share, c.role.as_str());
    }
    text
}

fn in_json(palette: &[PaletteColour]) -> Result<String, Failure> {
    let each = |c: &PaletteColour| {
        json!({
            "colour": hex_of(c.colour),
            "lab": [c.colour.l, c.colour.a, c.colour.b],
            "share": c.share,
            "role": c.role.as_str(),
            "skin_like": c.skin_like,
        })
    };
    let value = json!({ "palette": palette.iter().map(each).collect::<Vec<Value>>() });
    json_text(&value)
}

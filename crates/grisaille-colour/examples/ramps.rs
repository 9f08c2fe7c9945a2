//! Prints ramps of the demo paints' colours, moods and harmonies as `#rrggbb`, a line
//! for each, to be looked at.

use grisaille_colour::{Harmony, Lab, MOODS, RampSettings, colour_from_text, hex_of, ramp};

fn main() -> Result<(), String> {
    let line = |name: &str, colours: &[Lab]| {
        let colours: Vec<String> = colours.iter().map(|c| hex_of(*c)).collect();
        println!("{name}: {}", colours.join(" "));
    };
    let named = [
        ("copper", "#b06f45", false),
        ("canvas", "#c9b892", false),
        ("blue", "#1f3a6b", false),
        ("red", "#b5242c", false),
        ("green", "#4d6130", false),
        ("white", "#f1ece0", false),
        ("black", "#1b1c20", false),
        ("fair skin", "#d3a07c", true),
        ("dark skin", "#5b3826", true),
    ];
    let settings = RampSettings { steps: Some(6), ..RampSettings::default() };
    let lit = RampSettings { light: colour_from_text("#ffc98a")?, mood: Some((&MOODS[1], 1.0)), ..settings };
    for (name, hex, skin) in named {
        let base = colour_from_text(hex)?;
        line(name, &ramp(base, &RampSettings { skin, ..settings }));
        line(&format!("{name}, lamp and cold darks"), &ramp(base, &RampSettings { skin, ..lit }));
    }
    let palette: Vec<Lab> = named.iter().filter_map(|(_, hex, _)| colour_from_text(hex).ok()).collect();
    line("as they are", &palette);
    for mood in &MOODS {
        line(mood.name, &palette.iter().map(|c| mood.applied(*c, 1.0)).collect::<Vec<_>>());
    }
    for harmony in Harmony::ALL {
        let made = harmony.from_colour(palette[0]);
        line(harmony.as_str(), &made.iter().map(|c| c.colour).collect::<Vec<_>>());
    }
    Ok(())
}

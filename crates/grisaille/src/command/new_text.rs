//! The text of a scheme to begin with: what is decided stands there, what may be
//! decided stands beside it behind a `#`, and each has a note in plain words.

use grisaille_colour::MOODS;
use grisaille_form::Region;
use grisaille_mesh::Bounds;
use grisaille_scheme::{
    BandChoice, Document, LightChoice, LightEntry, ModelEntry, ModelSource, RegionSource, SkyChoice, Spread,
    UnitChoice, UpChoice,
};
use std::fmt::Write;

/// What was found on the model.
pub(super) struct Found<'f> {
    pub(super) regions: &'f [Region],
    pub(super) bounds: Bounds,
}

/// A line of a scheme: what stands in it, and the note behind it.
fn row(text: &mut String, says: &str, note: &str) {
    // Writing to a string cannot fail.
    let _ = match note {
        "" => writeln!(text, "{says}"),
        _ => writeln!(text, "{says:<28} # {note}"),
    };
}

/// Lines that are notes.
fn note(text: &mut String, words: &str) {
    for line in words.lines() {
        let _ = writeln!(text, "{}", format!("# {line}").trim_end());
    }
}

/// The text for a document and what was found on its models.
pub(super) fn scheme_text(document: &Document, found: &Found<'_>) -> String {
    let scheme = &document.scheme;
    let mut text = String::new();
    note(
        &mut text,
        "A scheme to begin with. A line that begins with # is a note; take the # away where it\n\
         stands before a key and its value, or before a whole table, and they count. What is left\n\
         out has its default. Lengths are in mm (x to the right, y to the back, z up), angles in\n\
         degrees, values in L* from 0, black, to 100, white.",
    );
    row(&mut text, "version = 1", "");
    row(&mut text, &format!("title = {}", quoted(&scheme.title)), "what sheets are headed with");
    text.push('\n');
    note(
        &mut text,
        "The way of working: \"sketch\" (three-tone primer as a reference, then opaque paint),\n\
         \"transparent\" (thin paint over the primer's tones) or \"brush-only\" (dry brush instead of spray).",
    );
    row(&mut text, "route = \"sketch\"", "");
    mood(&mut text);
    paints(&mut text, document);
    for model in &document.models {
        self::model(&mut text, model, found.bounds.extents()[2]);
    }
    lights(&mut text, &scheme.lights, &found.bounds);
    values(&mut text, document);
    emphasis(&mut text, document, &found.bounds);
    stages(&mut text);
    palette(&mut text);
    regions(&mut text, scheme.regions.by, found.regions);
    text
}

fn mood(text: &mut String) {
    text.push('\n');
    note(text, "The mood shifts every colour. The words, and what each does:");
    for mood in &MOODS {
        note(text, &format!("  {:<10} {}", mood.name, mood.reason));
    }
    row(text, "# [mood]", "");
    row(text, "# name = \"calm\"", "");
    row(text, "# strength = 0.5", "0 changes nothing, 1 is all of it");
}

fn paints(text: &mut String, document: &Document) {
    text.push('\n');
    note(text, "The paints on your desk: a list (CSV) with name, hex and type in a line for each.");
    let (mark, file) = match &document.scheme.colours.paints {
        Some(paints) => ("", paints.file.to_string_lossy().replace('\\', "/")),
        None => ("# ", "paints.csv".to_owned()),
    };
    row(text, &format!("{mark}[paints]"), "");
    row(text, &format!("{mark}file = {}", quoted(&file)), "");
    row(text, "# most = 3", "paints in a mix, 1 to 3");
    row(text, "# parts = 4", "parts in a mix: 4 gives 1:1, 2:1, 3:1, 1:1:1 and 2:1:1");
    row(text, "# unmixed = true", "ramps from single paints, straight from the pot");
}

fn model(text: &mut String, model: &ModelEntry, height: f64) {
    text.push('\n');
    note(text, "The model. Several [[model]] make one scene: a squad, or a diorama.");
    row(text, "[[model]]", "");
    match &model.source {
        ModelSource::File(file) => {
            row(text, &format!("file = {}", quoted(&file.to_string_lossy().replace('\\', "/"))), "");
        }
        ModelSource::Diver => row(text, "built_in = \"diver\"", "or file = \"figure.stl\""),
    }
    let up = match model.up {
        UpChoice::Z => "up = \"z\"",
        UpChoice::Y => "up = \"y\"",
    };
    row(text, up, "the file's axis that points up, \"z\" or \"y\"");
    let unit = match model.unit {
        UnitChoice::Mm => "unit = \"mm\"",
        UnitChoice::Inch => "unit = \"inch\"",
        UnitChoice::M => "unit = \"m\"",
    };
    row(text, unit, "of the file's numbers, \"mm\", \"inch\" or \"m\"");
    let mark = if model.height.is_some() { "" } else { "# " };
    let height = model.height.map_or(height, |h| h.0);
    row(text, &format!("{mark}height = {height:.1}"), "of the print, base included: scales the model");
    row(text, "# turn = 0", "degrees on the spot, counterclockwise from above");
    row(text, "# at = [0, 0, 0]", "moves it, after scaling and turning");
    row(
        text,
        "# printed = \"resin\"",
        "or \"filament\": layers and scars of supports are not taken for form",
    );
    row(text, "# layer_height = 0.05", "of the print");
}

fn lights(text: &mut String, lights: &[LightEntry], bounds: &Bounds) {
    text.push('\n');
    note(text, "The lights. A weight says how much each counts in the sum; colour is [red, green, blue].");
    for light in lights {
        self::light(text, light, "");
        text.push('\n');
    }
    if lights.iter().any(|l| matches!(l.choice, LightChoice::Lamp { .. })) {
        return;
    }
    note(text, "A light that is part of the scene (OSL): a lamp, an ember, a spell.");
    let next = lights.iter().map(|l| l.id.0 + 1).max().unwrap_or(0);
    let [low, high] = corners(bounds);
    let place = [0.5 * (low[0] + high[0]), low[1], low[2] + 0.6 * (high[2] - low[2])];
    row(text, "# [[light]]", "");
    row(text, &format!("# id = {next}"), "a number of its own");
    row(text, "# name = \"lamp\"", "");
    row(text, "# kind = \"lamp\"", "");
    row(text, "# weight = 0.8", "");
    row(text, "# colour = [255, 196, 120]", "");
    row(text, &format!("# at = {}", list(&place)), "its middle");
    row(text, &format!("# reference = {:.1}", (high[2] - low[2]) / 5.0), "where it lights a surface fully");
    row(text, "# radius = 0", "of its glass: more gives softer shadows");
    row(text, "# clear = 0", "nothing nearer to it blocks it, such as its own glass");
    row(text, "# falloff = 2", "2 as in nature, 1 carries farther, 3 dies sooner");
    row(text, "# reach = 25", "where it ends");
    text.push('\n');
}

fn light(text: &mut String, light: &LightEntry, mark: &str) {
    let mut say = |says: String, note: &str| row(text, &format!("{mark}{says}"), note);
    let kind = match light.choice {
        LightChoice::Zenithal { .. } => "zenithal",
        LightChoice::Ring => "ring",
        LightChoice::Ambient { .. } => "ambient",
        LightChoice::Lamp { .. } => "lamp",
    };
    say("[[light]]".into(), "");
    say(format!("id = {}", light.id.0), "");
    say(format!("name = {}", quoted(&light.name)), "");
    let words = match light.choice {
        LightChoice::Zenithal { .. } => "from above",
        LightChoice::Ring => "from all round",
        LightChoice::Ambient { .. } => "dim, from everywhere above",
        LightChoice::Lamp { .. } => "in the scene (OSL)",
    };
    say(format!("kind = {}", quoted(kind)), words);
    say(format!("weight = {}", light.weight), "");
    let white = light.colour == LightEntry::WHITE;
    let [red, green, blue] = light.colour;
    say(format!("{}colour = [{red}, {green}, {blue}]", if white { "# " } else { "" }), "");
    match light.choice {
        LightChoice::Zenithal { tilt, azimuth, radius } => {
            say(format!("tilt = {tilt}"), "degrees from straight above");
            say(format!("azimuth = {azimuth}"), "degrees from the front toward the viewer's right");
            say(format!("radius = {radius}"), "0 gives sharp shadows, 12 soft ones");
        }
        LightChoice::Ring => {}
        LightChoice::Ambient { sky } => {
            let word = match sky {
                SkyChoice::Uniform => "uniform",
                SkyChoice::Overcast => "overcast",
            };
            say(format!("sky = {}", quoted(word)), "\"uniform\" or \"overcast\", with deeper undersides");
        }
        LightChoice::Lamp { at, reference, radius, clear, falloff } => {
            say(format!("at = {}", list(&at)), "its middle");
            if let Some(reference) = reference {
                say(format!("reference = {}", reference.0), "where it lights a surface fully");
            }
            say(format!("radius = {}", radius.0), "of its glass: more gives softer shadows");
            say(format!("clear = {}", clear.0), "nothing nearer to it blocks it, such as its own glass");
            say(
                format!("falloff = {}", falloff.exponent),
                "2 as in nature, 1 carries farther, 3 dies sooner",
            );
            match falloff.reach {
                Some(reach) => say(format!("reach = {}", reach.0), "where it ends"),
                None => say("# reach = 25".into(), "where it ends"),
            }
        }
    }
}

fn values(text: &mut String, document: &Document) {
    let scheme = &document.scheme;
    note(text, "From light to value: the darkest and the lightest paint.");
    row(text, "[values]", "");
    row(text, &format!("darkest = {}", scheme.value.darkest.0), "");
    row(text, &format!("lightest = {}", scheme.value.lightest.0), "");
    text.push('\n');
    note(
        text,
        "Bands: 3 to 6 shares of the figure's surface, darkest first; or levels, the L* between them.",
    );
    row(text, "[bands]", "");
    match &scheme.bands {
        BandChoice::Shares(shares) => row(text, &format!("shares = {}", list(shares)), ""),
        BandChoice::Levels(levels) => row(text, &format!("levels = {}", list(levels)), ""),
    }
    text.push('\n');
    note(
        text,
        "The primer's tones: \"grey\", \"warm\", \"cold\", \"coloured-shadow\", or \"none\" for no primer plan.",
    );
    row(text, "[primer]", "");
    row(text, "tones = \"grey\"", "");
    text.push('\n');
    note(
        text,
        "The brush: bands are evened out to the radius of its tip. 0.3 on a figure of 32 mm, in proportion.",
    );
    row(text, "# [brush]", "");
    row(text, "# radius = 0.3", "");
}

fn emphasis(text: &mut String, document: &Document, bounds: &Bounds) {
    let emphasis = &document.scheme.emphasis;
    text.push('\n');
    note(text, "Where you depart from the light, to lead the eye: shares of the way to the lightest paint.");
    row(text, "[emphasis]", "");
    row(text, &format!("figure = {}", emphasis.figure), "less than 0 darkens");
    row(text, &format!("base = {}", emphasis.base), "");
    row(
        text,
        &format!("plate_gradient = {}", emphasis.plate_gradient),
        "on flat plates, lighter toward the light",
    );
    row(text, &format!("gap = {}", emphasis.gap), "a dark line where two lights meet");
    text.push('\n');
    note(text, "A spot to lead the eye to, such as the face.");
    for focus in &emphasis.focus {
        row(text, "[[emphasis.focus]]", "");
        row(text, &format!("at = {}", list(&focus.at)), "");
        row(text, &format!("radius = {}", focus.radius.0), "");
        row(text, &format!("strength = {}", focus.strength), "");
        let spread = match focus.spread {
            Spread::Space => "space",
            Spread::Surface => "surface",
        };
        row(text, &format!("spread = {}", quoted(spread)), "\"space\", or \"surface\" of one piece");
    }
    let [low, high] = corners(bounds);
    let (height, middle) = (high[2] - low[2], 0.5 * (low[0] + high[0]));
    let head = [middle, 0.5 * (low[1] + high[1]), low[2] + 0.9 * height];
    if emphasis.focus.is_empty() {
        row(text, "# [[emphasis.focus]]", "");
        row(text, &format!("# at = {}", list(&head)), "");
        row(text, &format!("# radius = {:.1}", 0.1 * height), "");
        row(text, "# strength = 0.35", "");
    }
    text.push('\n');
    note(text, "A face gets planes, blood and eyes: the tip of its nose, and where the eyes look.");
    row(text, "# [[face]]", "");
    row(text, &format!("# at = {}", list(&head)), "");
    row(text, "# eye = [0.0, 0.0, 0.0]", "the middle of one eye, where the sculpt has it");
    row(text, "# gaze = \"ahead\"", "\"ahead\", \"left\" or \"right\"");
}

fn stages(text: &mut String) {
    text.push('\n');
    note(text, "Stages to leave out of the order of work.");
    row(text, "# [stages]", "");
    row(text, "# skip = [\"wash\", \"lining\", \"edges\", \"spots\", \"varnish\"]", "");
    text.push('\n');
    note(text, "The sheets that the guide prints beside its cover; all but the handout if none is named.");
    row(text, "# [print]", "");
    let sheets = "[\"summary\", \"values\", \"lights\", \"bands\", \"zones\", \"regions\", \"lines\", \"gluing\", \"primer\", \"stages\", \"faces\", \"freehand\", \"outlines\", \"photo\", \"handout\"]";
    row(text, &format!("# sheets = {sheets}"), "");
    row(text, "# paper = \"a4\"", "or \"letter\" or \"a5\"");
    row(text, "# ink = \"colour\"", "or \"grey\", for a printer without colours");
    row(text, "# lengths = \"mm\"", "or \"inch\"");
    row(text, "# words = \"my-language.ftl\"", "a translation: grisaille words -o my-language.ftl");
    text.push('\n');
    note(text, "A design painted by hand: its area is laid flat on a sheet of its own.");
    row(text, "# [[print.freehand]]", "");
    row(text, "# name = \"emblem\"", "");
    row(text, "# at = [0.0, 0.0, 0.0]", "the middle of the design");
    row(text, "# radius = 4.0", "how far it reaches along the surface, in mm");
}

fn palette(text: &mut String) {
    text.push('\n');
    note(
        text,
        "The palette: colours with a name and a share of the figure. grisaille palette finds one in a picture.",
    );
    row(text, "# [[palette]]", "");
    row(text, "# name = \"copper\"", "what regions call it by");
    row(text, "# colour = \"#b06f45\"", "");
    row(text, "# share = 25", "relative to the others'");
}

fn regions(text: &mut String, by: RegionSource, regions: &[Region]) {
    text.push('\n');
    note(
        text,
        "Where regions come from: \"shape\", \"pieces\" with one for each piece of the model, or \"file\"\n\
         with one for each part that the file names or colours.\n\
         grisaille regions --picture shows them with their numbers.",
    );
    row(text, "[regions]", "");
    let word = match by {
        RegionSource::Shape => "shape",
        RegionSource::Pieces => "pieces",
        RegionSource::File => "file",
    };
    row(text, &format!("by = {}", quoted(word)), "");
    row(text, &format!("# count = {}", regions.len().clamp(1, 1000)), "more or fewer, by shape");
    text.push('\n');
    note(
        text,
        "The paint on each region that was found, with a spot on it. The colours are examples, those of\n\
         the picture of regions: put yours in their place, as #rrggbb, rgb(R, G, B), lab(L, a, b), or the\n\
         name of a palette colour or of a paint. A material is \"matte\", \"satin\", \"cloth\", \"leather\",\n\
         \"skin\", \"tmm\" (metallic paint), \"nmm\" (metal painted with matt paint), \"hair\", \"chain\" or \"glow\".\n\
         A region may also have steps = 5, contrast = 0.8, lift = 0.2, line = \"#160f0c\"; and in place of\n\
         its colour a whole ramp, darkest first: ramp = [\"#241a14\", \"#4a3528\", \"#7d5f49\"].",
    );
    for (i, region) in regions.iter().enumerate() {
        if i > 0 {
            text.push('\n');
        }
        let [red, green, blue] = region.swatch;
        row(text, "[[region]]", &format!("{}: {:.0} mm²", i + 1, region.area_mm2));
        row(text, &format!("name = {}", quoted(&region.name)), "");
        row(text, &format!("at = [{}]", list(&region.place)), "");
        let whose = if region.recoloured { "as in the file" } else { "an example" };
        row(text, &format!("colour = \"#{red:02x}{green:02x}{blue:02x}\""), whose);
        row(text, "material = \"matte\"", "");
    }
}

/// Numbers to a hundredth, as a list.
fn list<T: Copy + Into<f64>>(numbers: &[T]) -> String {
    let numbers: Vec<String> = numbers
        .iter()
        .map(|x| {
            let x = ((*x).into() * 100.0).round() / 100.0;
            (x + 0.0).to_string()
        })
        .collect();
    format!("[{}]", numbers.join(", "))
}

fn corners(bounds: &Bounds) -> [[f64; 3]; 2] {
    [bounds.low, bounds.high].map(|corner| [0, 1, 2].map(|axis| f64::from(corner[axis])))
}

/// A text in quotation marks. TOML's are JSON's, but for the one control character
/// that JSON leaves alone.
fn quoted(text: &str) -> String {
    serde_json::Value::from(text.replace('\u{7f}', " ")).to_string()
}

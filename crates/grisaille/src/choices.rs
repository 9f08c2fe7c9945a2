//! From the options for the plan to a checked scheme.

use crate::args::{PlanArgs, PrimerArg, SkyArg};
use crate::failure::Failure;
use grisaille_base::Millimetres;
use grisaille_scheme::{
    BandChoice, BrushChoice, Emphasis, FalloffChoice, FocalPoint, KeptSpot, LightChoice, LightEntry,
    PartChoice, PrimerTones, Scheme, SchemeError, SkyChoice, Spread,
};

/// The scheme that the arguments make of `scheme`, where they say something.
pub(crate) fn scheme(args: &PlanArgs, mut scheme: Scheme) -> Result<Scheme, Failure> {
    if let Some(title) = &args.title {
        scheme.title.clone_from(title);
    }
    // What an option does not say stays as the scheme has it.
    scheme.surface.refine &= !args.no_refine;
    scheme.surface.spacing = args.spacing.map(Millimetres).or(scheme.surface.spacing);
    scheme.bounce.albedo = args.bounce.unwrap_or(scheme.bounce.albedo);
    if let Some(directions) = args.ambient_directions {
        scheme.fineness.ambient_directions = directions;
    }
    if let Some(arg) = args.primer {
        scheme.primer.tones = tones(arg);
    }
    if let Some(text) = &args.shares {
        scheme.bands = BandChoice::Shares(numbers("--shares", text, 3, 6)?);
    }
    if let Some(text) = &args.levels {
        scheme.bands = BandChoice::Levels(numbers("--levels", text, 2, 5)?);
    }
    lights(args, &mut scheme)?;
    emphasis(args, &mut scheme.emphasis)?;
    brush(args, &mut scheme.brush)?;
    left_out(args, &mut scheme.left_out)?;
    scheme.check().map_err(|e| usage(&e))?;
    Ok(scheme)
}

fn usage(e: &SchemeError) -> Failure {
    Failure::Usage(e.to_string())
}

fn tones(arg: PrimerArg) -> Option<PrimerTones> {
    Some(match arg {
        PrimerArg::Grey => PrimerTones::Grey,
        PrimerArg::Warm => PrimerTones::Warm,
        PrimerArg::Cold => PrimerTones::Cold,
        PrimerArg::ColouredShadow => PrimerTones::ColouredShadow,
        PrimerArg::None => return None,
    })
}

fn lights(args: &PlanArgs, scheme: &mut Scheme) -> Result<(), Failure> {
    let sky_choice = args.sky.map(|sky| match sky {
        SkyArg::Uniform => SkyChoice::Uniform,
        SkyArg::Overcast => SkyChoice::Overcast,
    });
    for light in &mut scheme.lights {
        if let (LightChoice::Ambient { sky }, Some(chosen)) = (&mut light.choice, sky_choice) {
            *sky = chosen;
        }
    }
    if let Some(text) = &args.zenithal {
        let n = numbers("--zenithal", text, 1, 3)?;
        if let Some(light) = scheme.lights.iter_mut().find(|l| l.name == "zenithal") {
            light.choice = LightChoice::Zenithal {
                tilt: n[0],
                azimuth: n.get(1).copied().unwrap_or(0.0),
                radius: n.get(2).copied().unwrap_or(0.0),
            };
        }
    }
    for text in &args.light {
        let Some((name, rest)) = text.split_once(':') else {
            return Err(Failure::Usage(format!("--light {text}: write NAME:x,y,z, such as lamp:9,-13,30")));
        };
        let n = numbers("--light", rest, 3, 6)?;
        scheme
            .add_lamp(
                name,
                [n[0], n[1], n[2]],
                n.get(3).copied().map(Millimetres),
                Millimetres(n.get(4).copied().unwrap_or(0.0)),
            )
            .map_err(|e| usage(&e))?;
        if let (Some(LightChoice::Lamp { clear, .. }), Some(mm)) =
            (scheme.lights.last_mut().map(|l| &mut l.choice), n.get(5))
        {
            *clear = Millimetres(*mm);
        }
    }
    for text in &args.weight {
        let (name, n) = named("--weight", "NAME:WEIGHT, such as ambient:0.3", text, 1)?;
        light("--weight", name, scheme)?.weight = n[0];
    }
    for text in &args.falloff {
        let (name, n) = named("--falloff", "NAME:EXPONENT, such as lamp:1.5", text, 1)?;
        lamp("--falloff", name, scheme)?.exponent = n[0];
    }
    for text in &args.reach {
        let (name, n) = named("--reach", "NAME:MM, such as lamp:25", text, 2)?;
        let falloff = lamp("--reach", name, scheme)?;
        falloff.reach = Some(Millimetres(n[0]));
        if let Some(softness) = n.get(1) {
            falloff.softness = *softness;
        }
    }
    Ok(())
}

fn emphasis(args: &PlanArgs, emphasis: &mut Emphasis) -> Result<(), Failure> {
    if !args.focus.is_empty() {
        emphasis.focus.clear();
    }
    for text in &args.focus {
        let (rest, spread) = match text.strip_suffix(",surface") {
            Some(rest) => (rest, Spread::Surface),
            None => (text.as_str(), Spread::Space),
        };
        let n = numbers("--focus", rest, 4, 5)?;
        emphasis.focus.push(FocalPoint {
            at: [n[0], n[1], n[2]],
            radius: Millimetres(n[3]),
            strength: n.get(4).copied().unwrap_or(Emphasis::FOCUS),
            spread,
        });
    }
    for text in &args.lift {
        let (part, n) = named("--lift", "figure:STRENGTH or base:STRENGTH", text, 1)?;
        match part {
            "figure" => emphasis.figure = n[0],
            "base" => emphasis.base = n[0],
            _ => return Err(Failure::Usage(format!("--lift {text}: the parts are figure and base"))),
        }
    }
    if let Some(strength) = args.plate_gradient {
        emphasis.plate_gradient = strength;
    }
    if let Some(strength) = args.gap {
        emphasis.gap = strength;
    }
    Ok(())
}

fn left_out(args: &PlanArgs, left_out: &mut PartChoice) -> Result<(), Failure> {
    if !args.without.is_empty() {
        *left_out = PartChoice::default();
    }
    left_out.supports |= args.without_supports;
    for text in &args.without {
        if text == "base" {
            left_out.base = true;
        } else if text == "supports" {
            left_out.supports = true;
        } else {
            let n = numbers("--without", text, 3, 3)?;
            left_out.parts.push([n[0], n[1], n[2]]);
        }
    }
    Ok(())
}

fn brush(args: &PlanArgs, brush: &mut BrushChoice) -> Result<(), Failure> {
    brush.radius = args.brush.map(Millimetres).or(brush.radius);
    brush.thinnest_shadow = args.thinnest_shadow.map(Millimetres).or(brush.thinnest_shadow);
    if !args.keep.is_empty() {
        brush.keep.clear();
    }
    for text in &args.keep {
        let n = numbers("--keep", text, 4, 4)?;
        brush.keep.push(KeptSpot { at: [n[0], n[1], n[2]], radius: Millimetres(n[3]) });
    }
    Ok(())
}

/// The light of a name.
fn light<'a>(option: &str, name: &str, scheme: &'a mut Scheme) -> Result<&'a mut LightEntry, Failure> {
    let names: Vec<String> = scheme.lights.iter().map(|l| l.name.clone()).collect();
    let found = scheme.lights.iter_mut().find(|l| l.name == name);
    found.ok_or_else(|| Failure::Usage(format!("{option} {name}: the lights are {}", names.join(", "))))
}

/// How the light of the lamp of a name falls off.
fn lamp<'a>(option: &str, name: &str, scheme: &'a mut Scheme) -> Result<&'a mut FalloffChoice, Failure> {
    match &mut light(option, name, scheme)?.choice {
        LightChoice::Lamp { falloff, .. } => Ok(falloff),
        _ => Err(Failure::Usage(format!("{option} {name}: only a lamp placed with --light falls off"))),
    }
}

/// A name, a colon, and one number to `most`.
fn named<'a>(option: &str, form: &str, text: &'a str, most: usize) -> Result<(&'a str, Vec<f64>), Failure> {
    match text.split_once(':') {
        Some((name, rest)) => Ok((name, numbers(option, rest, 1, most)?)),
        None => Err(Failure::Usage(format!("{option} {text}: write {form}"))),
    }
}

/// Numbers between commas.
pub(crate) fn numbers(option: &str, text: &str, least: usize, most: usize) -> Result<Vec<f64>, Failure> {
    let numbers: Option<Vec<f64>> = text.split(',').map(|n| n.trim().parse().ok()).collect();
    match numbers {
        Some(n) if (least..=most).contains(&n.len()) => Ok(n),
        _ if most == 1 => Err(Failure::Usage(format!("{option} {text}: write one number"))),
        _ if least == most => {
            Err(Failure::Usage(format!("{option} {text}: write {most} numbers with commas between")))
        }
        _ => Err(Failure::Usage(format!(
            "{option} {text}: write {least} to {most} numbers with commas between"
        ))),
    }
}

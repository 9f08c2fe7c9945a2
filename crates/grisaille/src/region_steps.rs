//! From the options for regions to a checked choice of the scheme.

use crate::args::{By, Regions as Args};
use crate::choices::numbers;
use crate::failure::Failure;
use grisaille_scheme::{RegionChoice, RegionDeed, RegionSource, RegionSpot, RegionStep};

/// What can be done to regions, in the words of the scheme file.
const DEEDS: [(&str, RegionDeed); 7] = [
    ("grow", RegionDeed::Grow),
    ("merge", RegionDeed::Merge),
    ("split", RegionDeed::Split),
    ("rename", RegionDeed::Rename),
    ("recolour", RegionDeed::Recolour),
    ("lock", RegionDeed::Lock),
    ("unlock", RegionDeed::Unlock),
];

/// The choice that the options make of the scheme's: another source drops what
/// was done to the regions of the old one; seeds and steps come after it.
pub(crate) fn region_choice(args: &Args, mut choice: RegionChoice) -> Result<RegionChoice, Failure> {
    if args.by.is_some() || args.count.is_some() {
        let by = match args.by {
            Some(By::Pieces) => RegionSource::Pieces,
            Some(By::File) => RegionSource::File,
            Some(By::Auto) | None => RegionSource::Shape,
        };
        if by != RegionSource::Shape && args.count.is_some() {
            let why = "--count goes with --by auto: there are as many pieces or parts as there are";
            return Err(Failure::Usage(why.into()));
        }
        choice = RegionChoice { by, count: args.count, steps: Vec::new() };
    }
    for text in &args.seed {
        choice.steps.push(seed(text)?);
    }
    for text in &args.step {
        choice.steps.push(step(text)?);
    }
    Ok(choice)
}

fn seed(text: &str) -> Result<RegionStep, Failure> {
    let wrong = || Failure::Usage(format!("--seed {text}: write NAME,X,Y,Z, such as helmet,0,-4,47"));
    let (name, place) = text.split_once(',').ok_or_else(wrong)?;
    if name.trim().is_empty() {
        return Err(wrong());
    }
    let name = Some(name.trim().to_owned());
    Ok(RegionStep { deed: RegionDeed::Grow, at: vec![spot("--seed", place)?], name, colour: None })
}

fn step(text: &str) -> Result<RegionStep, Failure> {
    let words = DEEDS.map(|d| d.0).join(", ");
    let wrong = |why: &str| Failure::Usage(format!("--step {text}: {why}"));
    let usual = "write WHAT:X,Y,Z, such as rename=helmet:0,-4,47 or merge:0,-4,47:0,6,40";
    let (what, places) = text.split_once(':').ok_or_else(|| wrong(usual))?;
    let (word, given) = what.split_once('=').map_or((what, None), |(word, given)| (word, Some(given)));
    let found = DEEDS.iter().find(|d| d.0 == word);
    let deed = found.ok_or_else(|| wrong(&format!("what can be done is {words}")))?.1;
    let mut step = RegionStep { deed, at: Vec::new(), name: None, colour: None };
    for place in places.split(':') {
        step.at.push(spot("--step", place)?);
    }
    match (deed, given) {
        (RegionDeed::Recolour, Some(rgb)) => {
            let n = numbers("--step recolour", rgb, 3, 3)?;
            if n.iter().any(|x| !(0.0..=255.0).contains(x) || x.fract() != 0.0) {
                return Err(wrong("a colour is three whole numbers from 0 to 255"));
            }
            step.colour = Some([n[0], n[1], n[2]].map(|x| x as u8));
        }
        (_, given) => step.name = given.map(|name| name.trim().to_owned()).filter(|n| !n.is_empty()),
    }
    Ok(step)
}

fn spot(option: &str, text: &str) -> Result<RegionSpot, Failure> {
    let n = numbers(option, text, 3, 3)?;
    Ok(RegionSpot::Point([n[0], n[1], n[2]]))
}

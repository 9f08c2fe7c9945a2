//! Stages: one thing to do at the bench, in order.
//!
//! What stands here about spraying, thinning and drying is common practice of
//! the trade, without a published source; the label and the safety data sheet
//! of the product come first, and the texts say so.

use crate::band::Bands;
use crate::colouring::{EyePart, FacePart};
use crate::plan::{Plan, PlannedLight};
use crate::value::Values;
use grisaille_base::{LightId, Lightness};
use grisaille_colour::{Lab, Nearness};
use grisaille_light::Kind;
use grisaille_words::{Words, say};

/// What a stage does, for choosing its picture.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum StageKind {
    /// Clean and check the print.
    #[default]
    Prepare,
    /// Put several files together without glue.
    Fit,
    /// What of several files is painted before it closes up.
    BeforeGluing,
    /// Glue them.
    Glue,
    /// The dark coat all over.
    Dark,
    /// The mid coat from all round.
    Mid,
    /// The light coat from above.
    Light,
    /// A lamp's light, by brush.
    Lamp(LightId),
    /// Compare with the values sheet.
    Compare,
    /// Dry brush in place of the mid and the light coat, the first or the second.
    DryBrush(u8),
    /// The base coat of some regions.
    BaseCoat,
    /// Thin paint over the primer's tones.
    Glaze,
    /// Eyes, before the skin round them is finished.
    Eyes,
    /// A wash over some regions.
    Wash,
    /// Dark lines in recesses.
    Lining,
    /// Shadows and lights of some regions.
    ShadowsAndLights,
    /// A lamp's light in colour.
    LampColour(LightId),
    /// Light lines on edges.
    Edges,
    /// The last near-white touches.
    Spots,
    /// Gloss varnish, before pin washes.
    Gloss,
    /// Washes into recesses only.
    PinWash,
    /// Matt varnish.
    Matt,
    /// True metallic metal, after matt varnish.
    Metal,
    /// The base, last.
    Base,
}

impl StageKind {
    /// The word for it in data, stable.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Prepare => "prepare",
            Self::Fit => "fit",
            Self::BeforeGluing => "before-gluing",
            Self::Glue => "glue",
            Self::Dark => "dark-coat",
            Self::Mid => "mid-coat",
            Self::Light => "light-coat",
            Self::Lamp(_) => "lamp",
            Self::Compare => "compare",
            Self::DryBrush(_) => "dry-brush",
            Self::BaseCoat => "base-coat",
            Self::Glaze => "glaze",
            Self::Eyes => "eyes",
            Self::Wash => "wash",
            Self::Lining => "lining",
            Self::ShadowsAndLights => "shadows-and-lights",
            Self::LampColour(_) => "lamp-colour",
            Self::Edges => "edges",
            Self::Spots => "spots",
            Self::Gloss => "gloss",
            Self::PinWash => "pin-wash",
            Self::Matt => "matt",
            Self::Metal => "metal",
            Self::Base => "base",
        }
    }
}

/// A paint to have at hand.
#[derive(Clone, Debug, PartialEq)]
pub struct Bottle {
    /// Its name.
    pub name: String,
    /// Its colour.
    pub colour: Lab,
    /// Whether it is metallic paint.
    pub metallic: bool,
}

/// What is mixed for a stage.
#[derive(Clone, Debug, PartialEq)]
pub struct Recipe {
    /// The region that it is for, by its name at the bench; empty where `what` says all.
    pub region: String,
    /// What it is for there, such as "step 3 of 5".
    pub what: String,
    /// What it looks like.
    pub colour: Lab,
    /// What the mix itself looks like, where it lies thin over what is there already.
    pub pot: Option<Lab>,
    /// The mix in parts; `None` without paints.
    pub mix: Option<String>,
    /// Its paints, the main one first.
    pub paints: Vec<Bottle>,
    /// How near it comes to what is wanted; `None` without paints.
    pub near: Option<Nearness>,
    /// Where it goes.
    pub place: MixPlace,
}

impl Recipe {
    /// What it is for, with its region.
    #[must_use]
    pub fn told(&self, words: &Words) -> String {
        match self.region.as_str() {
            "" => self.what.clone(),
            region => say!(words, "what-of-region", region = region, what = &self.what),
        }
    }

    /// The same recipe for a place.
    #[must_use]
    pub(crate) fn at(self, place: MixPlace) -> Self {
        Self { place, ..self }
    }
}

/// Where on the figure a mix goes. Entries are those of the scheme ([`RegionColours::entry`]), steps are
/// counted from 0, the darkest.
///
/// [`RegionColours::entry`]: crate::RegionColours::entry
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum MixPlace {
    /// Where the steps say.
    #[default]
    AsTold,
    /// All over what an entry paints.
    Entry(usize),
    /// A step of an entry in the light of the rig.
    Step(usize, usize),
    /// A tone of an entry where a lamp rules, counted from 0, the darkest ([`LitRamp::tones`]).
    ///
    /// [`LitRamp::tones`]: crate::LitRamp::tones
    LitTone(usize, LightId, usize),
    /// The recesses of an entry, where a wash gathers.
    Pools(usize),
    /// The lines between two entries, or within one that is named twice.
    Lines([usize; 2]),
    /// The edges of an entry.
    Edges(usize),
    /// The last touches on an entry.
    Spots(usize),
    /// A part of the eyes of an entry's faces.
    Eye(usize, EyePart),
    /// What is glazed on an entry's faces.
    Face(usize, FacePart),
}

/// One stage.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Stage {
    /// What it does.
    pub kind: StageKind,
    /// A short title in the imperative.
    pub title: String,
    /// What to do, one sentence or two each.
    pub steps: Vec<String>,
    /// The value to work in, where there is one.
    pub tone: Option<Lightness>,
    /// What it looks like when done.
    pub done_when: String,
    /// The usual mistake.
    pub mistake: String,
    /// How to mend it.
    pub repair: String,
    /// How long to wait, as common practice.
    pub drying: Option<String>,
    /// What can hurt and how to avoid it.
    pub cautions: Vec<String>,
    /// The regions that it is about, by their names at the bench; none for the whole figure.
    pub regions: Vec<String>,
    /// Of several files those that it is about, by their names; none for all.
    pub files: Vec<String>,
    /// What is mixed for it, in the order it is used.
    pub recipes: Vec<Recipe>,
    /// How thin the paint is, as common practice.
    pub thinning: Option<String>,
    /// Which brush.
    pub brush: Option<String>,
    /// Whether the figure can go on the table once this is done.
    pub table_ready: bool,
}

/// What can hurt about spraying; stands beside every stage and sheet that says spray.
#[must_use]
pub fn spray_caution(words: &Words) -> String {
    say!(words, "caution-spray")
}

/// What can hurt about sanding and cutting.
pub(crate) fn dust_and_blades(words: &Words) -> String {
    say!(words, "caution-dust-and-blades")
}

/// The stages of a plan without colours, in bench order.
#[must_use]
pub fn priming(plan: &Plan, words: &Words) -> Vec<Stage> {
    let Plan { lights, bands, zones, values, .. } = plan;
    let mut list = vec![
        prepare(words),
        dark_coat(values, words),
        mid_coat(bands, words),
        light_coat(lights, values, words),
    ];
    for zone in &zones.rows {
        let lamp = lights.iter().find(|l| l.id == zone.light && matches!(l.kind, Kind::Point { .. }));
        if let Some(l) = lamp {
            list.push(lamp_stage(l, zone.share, values.fit.lamp(), words));
        }
    }
    list.push(compare(words));
    list
}

pub(crate) fn prepare(words: &Words) -> Stage {
    Stage {
        kind: StageKind::Prepare,
        title: say!(words, "prepare-title"),
        steps: vec![
            say!(words, "prepare-supports"),
            say!(words, "prepare-wash"),
            say!(words, "prepare-handle"),
        ],
        done_when: say!(words, "prepare-done"),
        mistake: say!(words, "prepare-mistake"),
        repair: say!(words, "prepare-repair"),
        cautions: vec![say!(words, "caution-resin"), dust_and_blades(words)],
        ..Stage::default()
    }
}

pub(crate) fn dark_coat(values: &Values, words: &Words) -> Stage {
    let tone = values.fit.lightness(0.0);
    Stage {
        kind: StageKind::Dark,
        title: say!(words, "dark-title"),
        steps: vec![say!(words, "dark-spray"), stays_visible(tone, words)],
        tone: Some(tone),
        done_when: say!(words, "dark-done"),
        mistake: say!(words, "dark-mistake"),
        repair: say!(words, "dark-repair"),
        thinning: Some(say!(words, "thin-primer")),
        drying: Some(say!(words, "drying-primer")),
        cautions: vec![
            spray_caution(words),
            format!("{} {}", say!(words, "caution-dust"), say!(words, "caution-stripper")),
        ],
        ..Stage::default()
    }
}

/// In which value a dark coat is laid, and where it stays to be seen.
pub(crate) fn stays_visible(tone: Lightness, words: &Words) -> String {
    say!(words, "dark-tone", tone = format!("{:.0}", tone.0))
}

pub(crate) fn mid_coat(bands: &Bands, words: &Words) -> Stage {
    let mid = &bands.rows[bands.rows.len() / 2];
    Stage {
        kind: StageKind::Mid,
        title: say!(words, "mid-title"),
        steps: vec![
            say!(words, "mid-spray"),
            say!(words, "mid-not-below"),
            say!(words, "mid-tone", tone = format!("{:.0}", mid.tone.0)),
        ],
        tone: Some(mid.tone),
        done_when: say!(words, "mid-done"),
        mistake: say!(words, "mid-mistake"),
        repair: say!(words, "mid-repair"),
        thinning: Some(say!(words, "thin-primer")),
        drying: Some(say!(words, "drying-primer")),
        cautions: vec![spray_caution(words)],
        ..Stage::default()
    }
}

pub(crate) fn light_coat(lights: &[PlannedLight], values: &Values, words: &Words) -> Stage {
    let axis = lights.iter().find_map(|l| match l.kind {
        Kind::Zenithal { tilt, azimuth, .. } if tilt >= 1.0 => Some((tilt, azimuth)),
        _ => None,
    });
    let tone = values.fit.lightness(values.fit.brightest);
    let (title, pass) = match axis {
        Some((tilt, azimuth)) => {
            let tilt = format!("{tilt:.0}");
            let side = side_in_words(azimuth, words);
            (
                say!(words, "light-title-tilted", tilt = &tilt),
                say!(words, "light-spray-tilted", tilt = &tilt, side = side),
            )
        }
        None => (say!(words, "light-title"), say!(words, "light-spray")),
    };
    Stage {
        kind: StageKind::Light,
        title,
        steps: vec![pass, say!(words, "light-tone", tone = format!("{:.0}", tone.0))],
        tone: Some(tone),
        done_when: say!(words, "light-done"),
        mistake: say!(words, "light-mistake"),
        repair: say!(words, "light-repair"),
        thinning: Some(say!(words, "thin-primer")),
        drying: Some(say!(words, "drying-overnight")),
        cautions: vec![spray_caution(words)],
        ..Stage::default()
    }
}

fn lamp_stage(light: &PlannedLight, share: f64, lamp: Lightness, words: &Words) -> Stage {
    let falloff = falloff_in_words(&light.kind, 0, words).unwrap_or_default();
    Stage {
        kind: StageKind::Lamp(light.id),
        title: say!(words, "lamp-title", name = &light.name),
        steps: vec![
            say!(words, "lamp-brighten", falloff = falloff),
            say!(words, "lamp-rules", share = format!("{:.0}", 100.0 * share)),
            say!(words, "lamp-itself", tone = format!("{:.0}", lamp.0)),
        ],
        tone: Some(lamp),
        done_when: say!(words, "lamp-done"),
        mistake: say!(words, "lamp-mistake"),
        repair: say!(words, "lamp-repair"),
        drying: Some(say!(words, "drying-thin-acrylic")),
        ..Stage::default()
    }
}

pub(crate) fn compare(words: &Words) -> Stage {
    Stage {
        kind: StageKind::Compare,
        title: say!(words, "compare-title"),
        steps: vec![
            say!(words, "compare-beside"),
            say!(words, "compare-squint"),
            say!(words, "compare-mend"),
        ],
        done_when: say!(words, "compare-done"),
        mistake: say!(words, "compare-mistake"),
        repair: say!(words, "compare-repair"),
        ..Stage::default()
    }
}

/// How a lamp's light falls with distance, such as "full at 20 mm, a quarter
/// at 40 mm", with so many digits of a millimetre; `None` for other lights.
#[must_use]
pub fn falloff_in_words(kind: &Kind, digits: usize, words: &Words) -> Option<String> {
    let Kind::Point { reference, falloff, .. } = *kind else { return None };
    // Light never rises with distance, so halving finds where it has fallen so far.
    let fallen_to = |light: f64| {
        let (mut near, mut far) = (0.0, FAR.min(falloff.reach.0));
        for _ in 0..60 {
            let middle = f64::midpoint(near, far);
            if falloff.at(middle, reference) >= light { near = middle } else { far = middle }
        }
        near
    };
    let told = |mm: f64| format!("{mm:.digits$}");
    let (full, quarter) = (fallen_to(1.0), fallen_to(0.25));
    let mut parts = vec![if full < 0.5 {
        say!(words, "falloff-close")
    } else if full < 0.99 * FAR {
        say!(words, "falloff-full", mm = told(full))
    } else {
        say!(words, "falloff-everywhere")
    }];
    if quarter < 0.99 * FAR {
        parts.push(say!(words, "falloff-quarter", mm = told(quarter)));
    }
    if falloff.reach.0.is_finite() {
        parts.push(say!(words, "falloff-end", mm = told(falloff.reach.0)));
    }
    Some(words.row(&parts))
}

/// Beyond any figure, mm.
const FAR: f64 = 1000.0;

/// An azimuth in words, as seen from the front of the figure.
#[must_use]
pub fn side_in_words(azimuth: f64, words: &Words) -> String {
    const SIDES: [&str; 8] = [
        "side-front",
        "side-front-right",
        "side-right",
        "side-back-right",
        "side-back",
        "side-back-left",
        "side-left",
        "side-front-left",
    ];
    say!(words, SIDES[((azimuth.rem_euclid(360.0) / 45.0).round() as usize) % 8])
}

#[cfg(test)]
mod tests {
    use super::*;
    use grisaille_base::Millimetres;
    use grisaille_light::Falloff;
    use nalgebra::Point3;

    #[test]
    fn a_lamps_falloff_is_told_as_it_is() {
        let endless = Falloff::PHYSICAL.reach.0;
        for (exponent, reach, softness, words) in [
            (2.0, endless, 1.0, "full at 20 mm, a quarter at 40 mm"),
            (1.0, endless, 1.0, "full at 20 mm, a quarter at 80 mm"),
            (2.0, 60.0, 0.2, "full at 20 mm, a quarter at 40 mm, nothing from 60 mm on"),
            // With t = (L − r)/L: (20/r)²·t²(3 − 2t) is 1 at 13.4 and 1/4 at 17.8.
            (2.0, 25.0, 1.0, "full at 13 mm, a quarter at 18 mm, nothing from 25 mm on"),
            (0.0, endless, 1.0, "full at every distance"),
        ] {
            let falloff = Falloff { exponent, reach: Millimetres(reach), softness };
            let kind = Kind::Point {
                at: Point3::origin(),
                reference: Millimetres(20.0),
                radius: Millimetres(0.0),
                clear: Millimetres(0.0),
                falloff,
            };
            assert_eq!(falloff_in_words(&kind, 0, Words::english()).as_deref(), Some(words));
        }
        assert_eq!(falloff_in_words(&Kind::Ring, 0, Words::english()), None);
    }
}

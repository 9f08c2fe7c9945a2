//! Stages: one thing to do at the bench, in order.
//!
//! What stands here about spraying, thinning and drying is common practice of
//! the trade, without a published source; the label and the safety data sheet
//! of the product come first, and the texts say so.

use crate::band::Bands;
use crate::colouring::EyePart;
use crate::plan::PlannedLight;
use crate::value::Values;
use crate::zone::Zones;
use grisaille_base::{LightId, Lightness};
use grisaille_colour::Lab;
use grisaille_light::Kind;

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
}

/// What is mixed for a stage.
#[derive(Clone, Debug, PartialEq)]
pub struct Recipe {
    /// What it is for, such as "canvas suit, step 3 of 5".
    pub what: String,
    /// What it looks like.
    pub colour: Lab,
    /// The mix in parts; `None` without paints.
    pub mix: Option<String>,
    /// Its paints, the main one first.
    pub paints: Vec<Bottle>,
    /// How near it comes to what is wanted, in words; `None` without paints.
    pub near: Option<&'static str>,
    /// Where it goes.
    pub place: MixPlace,
}

impl Recipe {
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
    /// A step of an entry where a lamp rules.
    LitStep(usize, LightId, usize),
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
pub const SPRAY_CAUTION: &str = "Spray fumes and mist: outdoors or in a ducted booth, no flames or sparks near, mask with \
    filters for organic vapour and particles, as the can's label and safety data sheet and your local rules say.";

pub(crate) const DUST: &str = "Sanding dust: sand wet, wear a particle mask.";

const STRIPPER: &str =
    "Paint stripper: gloves, eye protection, fresh air, no flames, as its safety data sheet says.";

const PRIMER_DRIES: &str = "15 to 60 minutes to the touch (common practice; the label counts)";

pub(crate) fn stages(lights: &[PlannedLight], bands: &Bands, zones: &Zones, values: &Values) -> Vec<Stage> {
    let mut list =
        vec![prepare(), dark_coat(bands, values), mid_coat(bands), light_coat(lights, bands, values)];
    for zone in &zones.rows {
        let lamp = lights.iter().find(|l| l.id == zone.light && matches!(l.kind, Kind::Point { .. }));
        if let Some(l) = lamp {
            list.push(lamp_stage(l, zone.share, values.fit.lamp()));
        }
    }
    list.push(compare());
    list
}

pub(crate) fn prepare() -> Stage {
    Stage {
        kind: StageKind::Prepare,
        title: "Clean the print".into(),
        steps: vec![
            "Remove supports and their scars.".into(),
            "Wash off grease and dust, and let it dry fully.".into(),
            "Fix the figure on a handle so that fingers stay off it.".into(),
        ],
        tone: None,
        done_when: "no shiny or sticky spot is left anywhere.".into(),
        mistake: "A sticky spot is uncured resin; primer will not hold on it.".into(),
        repair: "Wash and cure again.".into(),
        drying: None,
        cautions: vec![
            "Uncured resin irritates and can make you allergic: nitrile gloves, eye protection, no bare skin; see \
             its safety data sheet. Isopropyl alcohol burns easily: fresh air, no flames."
                .into(),
            format!("{DUST} Blades: cut away from the hand."),
        ],
        ..Stage::default()
    }
}

pub(crate) fn dark_coat(bands: &Bands, values: &Values) -> Stage {
    let dark = &bands.rows[0];
    let tone = values.fit.lightness(0.0);
    Stage {
        kind: StageKind::Dark,
        title: "Dark coat all over".into(),
        steps: vec![
            "Spray dark primer thinly from every side, from below too, until no bare print shows.".into(),
            format!("Tone: L* {:.0}. It stays visible in band {} ({}).", tone.0, dark.letter, dark.name),
        ],
        tone: Some(tone),
        done_when: "the whole figure is one even dark, and every detail is still crisp.".into(),
        mistake: "Too wet, and it runs into the recesses.".into(),
        repair: "Let it dry, sand or strip; two thin coats are better than one thick one.".into(),
        drying: Some(PRIMER_DRIES.into()),
        cautions: vec![SPRAY_CAUTION.into(), format!("{DUST} {STRIPPER}")],
        ..Stage::default()
    }
}

pub(crate) fn mid_coat(bands: &Bands) -> Stage {
    let mid = &bands.rows[bands.rows.len() / 2];
    Stage {
        kind: StageKind::Mid,
        title: "Mid grey from all round".into(),
        steps: vec![
            "Hold can or airbrush 45° above the figure and go once all round it, in short passes.".into(),
            "Nothing from below.".into(),
            format!("Tone: L* {:.0} where the light falls freely, bands {} and up.", mid.tone.0, mid.letter),
        ],
        tone: Some(mid.tone),
        done_when: format!(
            "undersides and recesses are still dark, and band {} reads as mid grey.",
            mid.letter
        ),
        mistake: "The recesses turned grey too.".into(),
        repair: "Run thinned dark paint into them before the light coat.".into(),
        drying: Some(PRIMER_DRIES.into()),
        cautions: vec![SPRAY_CAUTION.into()],
        ..Stage::default()
    }
}

pub(crate) fn light_coat(lights: &[PlannedLight], bands: &Bands, values: &Values) -> Stage {
    let light = &bands.rows[bands.rows.len() - 1];
    let axis = lights.iter().find_map(|l| match l.kind {
        Kind::Zenithal { tilt, azimuth, .. } if tilt >= 1.0 => Some((tilt, azimuth)),
        _ => None,
    });
    let from = match axis {
        Some((tilt, azimuth)) => format!("{tilt:.0}° off straight above, {}", side_in_words(azimuth)),
        None => "straight above".into(),
    };
    Stage {
        kind: StageKind::Light,
        title: match axis {
            Some((tilt, _)) => format!("Light coat from above, {tilt:.0}° tilted"),
            None => "Light coat from straight above".into(),
        },
        steps: vec![
            format!("One or two light passes from {from}, and from nowhere else."),
            format!(
                "Tone: L* {:.0} on the brightest spots, band {}.",
                values.fit.lightness(values.fit.brightest).0,
                light.letter
            ),
        ],
        tone: Some(values.fit.lightness(values.fit.brightest)),
        done_when: format!(
            "beside the values sheet, at arm's length, the brightest spots are those marked {}.",
            light.letter
        ),
        mistake: "Everything turned light.".into(),
        repair: "Spray the dark once from straight below: the shadows come back.".into(),
        drying: Some("overnight before handling (common practice; the label counts)".into()),
        cautions: vec![SPRAY_CAUTION.into()],
        ..Stage::default()
    }
}

fn lamp_stage(light: &PlannedLight, share: f64, lamp: Lightness) -> Stage {
    Stage {
        kind: StageKind::Lamp(light.id),
        title: format!("Light of '{}'", light.name),
        steps: vec![
            format!(
                "With thinned light paint brighten what faces the lamp: {}.",
                falloff_in_words(&light.kind, 0).unwrap_or_default()
            ),
            format!("It rules {:.0} % of the surface; leave the rest alone.", 100.0 * share),
            format!("The lamp itself is the brightest of all: L* {:.0}.", lamp.0),
        ],
        tone: Some(lamp),
        done_when: "the eye goes to the lamp first, and nothing that it lights is brighter.".into(),
        mistake: "A lit spot outshines the lamp.".into(),
        repair: "Glaze it down with a thin darker tone.".into(),
        drying: Some("5 to 30 minutes for thin acrylic (common practice)".into()),
        cautions: Vec::new(),
        ..Stage::default()
    }
}

pub(crate) fn compare() -> Stage {
    Stage {
        kind: StageKind::Compare,
        title: "Compare and stop".into(),
        steps: vec![
            "Hold the figure beside the values sheet under even light.".into(),
            "Step back to arm's length and squint.".into(),
            "Mend what reads darker or lighter than the sheet.".into(),
        ],
        tone: None,
        done_when: "squinting, figure and sheet show the same pattern of dark and light.".into(),
        mistake: "All of it reads as one grey.".into(),
        repair: "Take the mid coat's tone darker, or the light coat narrower.".into(),
        drying: None,
        cautions: Vec::new(),
        ..Stage::default()
    }
}

/// How a lamp's light falls with distance, such as "full at 20 mm, a quarter
/// at 40 mm", with so many digits of a millimetre; `None` for other lights.
#[must_use]
pub fn falloff_in_words(kind: &Kind, digits: usize) -> Option<String> {
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
    let (full, quarter) = (fallen_to(1.0), fallen_to(0.25));
    let mut words = if full < 0.5 {
        "full close by".into()
    } else if full < 0.99 * FAR {
        format!("full at {full:.digits$} mm")
    } else {
        "full at every distance".to_owned()
    };
    if quarter < 0.99 * FAR {
        words += &format!(", a quarter at {quarter:.digits$} mm");
    }
    if falloff.reach.0.is_finite() {
        words += &format!(", nothing from {:.digits$} mm on", falloff.reach.0);
    }
    Some(words)
}

/// Beyond any figure, mm.
const FAR: f64 = 1000.0;

/// An azimuth in words, as seen from the front of the figure.
#[must_use]
pub fn side_in_words(azimuth: f64) -> &'static str {
    const SIDES: [&str; 8] = [
        "from the front",
        "from the front right",
        "from the right as you look at its front",
        "from the back right",
        "from the back",
        "from the back left",
        "from the left as you look at its front",
        "from the front left",
    ];
    SIDES[((azimuth.rem_euclid(360.0) / 45.0).round() as usize) % 8]
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
            assert_eq!(falloff_in_words(&kind, 0).as_deref(), Some(words));
        }
        assert_eq!(falloff_in_words(&Kind::Ring, 0), None);
    }
}

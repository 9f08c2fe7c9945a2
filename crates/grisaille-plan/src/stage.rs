//! Stages: one thing to do at the bench, in order.
//!
//! What stands here about spraying, thinning and drying is common practice of
//! the trade, without a published source; the label and the safety data sheet
//! of the product come first, and the texts say so.

use crate::band::Bands;
use crate::plan::PlannedLight;
use crate::value::Values;
use crate::zone::Zones;
use grisaille_base::{LightId, Lightness};
use grisaille_light::Kind;

/// What a stage does, for choosing its picture.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StageKind {
    /// Clean and check the print.
    Prepare,
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
}

/// One stage.
#[derive(Clone, Debug, PartialEq)]
pub struct Stage {
    /// What it does.
    pub kind: StageKind,
    /// A short title in the imperative.
    pub title: String,
    /// What to do, in sentences.
    pub action: String,
    /// The value to work in, where there is one.
    pub tone: Option<Lightness>,
    /// What it looks like when done.
    pub done_when: String,
    /// The usual mistake and its repair.
    pub mistake: String,
    /// How long to wait, as common practice.
    pub drying: Option<String>,
    /// What can hurt and how to avoid it.
    pub cautions: Vec<String>,
}

const SPRAY: &str = "Spray fumes and mist: outdoors or in a ducted booth, no flames or sparks near, mask with \
    filters for organic vapour and particles, as the can's label and safety data sheet and your local rules say.";

pub(crate) fn stages(lights: &[PlannedLight], bands: &Bands, zones: &Zones, values: &Values) -> Vec<Stage> {
    let row = |i: usize| &bands.rows[i.min(bands.rows.len() - 1)];
    let middle = bands.rows.len() / 2;
    let (dark, mid, light) = (row(0), row(middle), row(bands.rows.len() - 1));
    let axis = lights.iter().find_map(|l| match l.kind {
        Kind::Zenithal { tilt, azimuth, .. } => Some((tilt, azimuth)),
        _ => None,
    });
    let mut list = vec![
        prepare(),
        Stage {
            kind: StageKind::Dark,
            title: "Dark coat all over".into(),
            action: format!(
                "Spray the dark primer thinly from every side, from below too, until no bare print shows. \
                 Value {}: this stays visible in band {} ({}).",
                dark.low_or(values.fit.lightness(0.0)),
                dark.letter,
                dark.name
            ),
            tone: Some(values.fit.lightness(0.0)),
            done_when: "The whole figure is one even dark, and every detail is still crisp.".into(),
            mistake: "Too wet and it runs into the recesses: let it dry, then sand or strip; two thin coats \
                      are better than one thick one."
                .into(),
            drying: Some("15 to 60 minutes to the touch (common practice; the label counts)".into()),
            cautions: vec![SPRAY.into()],
        },
        Stage {
            kind: StageKind::Mid,
            title: "Mid grey from all round".into(),
            action: format!(
                "Hold the can or airbrush 45° above the figure and go once all round it in short passes. \
                 Do not spray from below. Aim at value {:.0} where the light falls freely: bands {} and up.",
                mid.tone.0, mid.letter
            ),
            tone: Some(mid.tone),
            done_when: format!(
                "Undersides and deep recesses are still dark; band {} reads as mid grey.",
                mid.letter
            ),
            mistake: "Recesses turned grey too: go over them with thinned dark paint before the light coat."
                .into(),
            drying: Some("15 to 60 minutes to the touch (common practice; the label counts)".into()),
            cautions: vec![SPRAY.into()],
        },
        Stage {
            kind: StageKind::Light,
            title: match axis {
                Some((tilt, _)) if tilt >= 1.0 => format!("Light coat from above, {tilt:.0}° tilted"),
                _ => "Light coat from straight above".into(),
            },
            action: format!(
                "Spray {} in one or two light passes. Aim at value {:.0} on the brightest spots: band {}.",
                match axis {
                    Some((tilt, azimuth)) if tilt >= 1.0 => format!(
                        "from {tilt:.0}° off straight above, {}, and from nowhere else,",
                        side_in_words(azimuth)
                    ),
                    _ => "from straight above and from nowhere else,".into(),
                },
                values.fit.lightness(values.fit.brightest).0,
                light.letter
            ),
            tone: Some(light.tone),
            done_when: format!(
                "Held beside the values sheet at arm's length, the brightest spots are the ones marked {}.",
                light.letter
            ),
            mistake:
                "Everything turned light: spray the dark once from straight below to bring the shadows back."
                    .into(),
            drying: Some("overnight before handling (common practice; the label counts)".into()),
            cautions: vec![SPRAY.into()],
        },
    ];
    for zone in &zones.rows {
        let lamp = lights.iter().find(|l| l.id == zone.light && matches!(l.kind, Kind::Point { .. }));
        if let Some(l) = lamp {
            list.push(lamp_stage(l, zone.share, values.fit.lamp()));
        }
    }
    list.push(compare());
    list
}

impl crate::band::Band {
    /// The tone in words for the darkest band: where no light falls.
    fn low_or(&self, dark: Lightness) -> String {
        format!("{:.0}", dark.0.max(self.low.0))
    }
}

fn prepare() -> Stage {
    Stage {
        kind: StageKind::Prepare,
        title: "Clean the print".into(),
        action: "Remove supports and their scars, wash off grease and dust, let it dry fully. Fix the figure \
                 on a handle so that fingers stay off it."
            .into(),
        tone: None,
        done_when: "No shiny or sticky spot is left anywhere.".into(),
        mistake: "A sticky spot is uncured resin: wash and cure again, primer will not hold on it.".into(),
        drying: None,
        cautions: vec![
            "Uncured resin irritates and can make you allergic: nitrile gloves, eye protection, no bare skin; see \
             its safety data sheet. Isopropyl alcohol burns easily: fresh air, no flames."
                .into(),
            "Sanding dust: sand wet, wear a particle mask. Blades: cut away from the hand.".into(),
        ],
    }
}

fn lamp_stage(light: &PlannedLight, share: f64, lamp: Lightness) -> Stage {
    let reach = match light.kind {
        Kind::Point { reference, .. } => reference.0,
        _ => 0.0,
    };
    Stage {
        kind: StageKind::Lamp(light.id),
        title: format!("Light of '{}'", light.name),
        action: format!(
            "With thinned light paint, brighten what faces the lamp, strongest near it and fading: full at \
             {reach:.0} mm, a quarter at {:.0} mm. It rules {:.0} % of the surface. The lamp itself is brightest of \
             all, value {:.0}.",
            2.0 * reach,
            100.0 * share,
            lamp.0
        ),
        tone: Some(lamp),
        done_when: "The eye goes to the lamp first, and nothing that it lights is brighter than the lamp."
            .into(),
        mistake: "A lit spot outshines the lamp: glaze it down with a thin darker tone.".into(),
        drying: Some("5 to 30 minutes for thin acrylic (common practice)".into()),
        cautions: Vec::new(),
    }
}

fn compare() -> Stage {
    Stage {
        kind: StageKind::Compare,
        title: "Compare and stop".into(),
        action: "Lay the figure on the values sheet under even light, step back to arm's length and squint. \
                 Mend what reads darker or lighter than the sheet."
            .into(),
        tone: None,
        done_when: "Squinting, figure and sheet show the same pattern of dark and light.".into(),
        mistake: "All of it reads as one grey: the light coat was too broad or the mid coat too light."
            .into(),
        drying: None,
        cautions: Vec::new(),
    }
}

/// An azimuth in words, as seen from the front of the figure.
fn side_in_words(azimuth: f64) -> &'static str {
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

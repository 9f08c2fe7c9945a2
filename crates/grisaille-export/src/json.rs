//! JSON: areas and shares for each band and zone, findings, settings.

use crate::primer::{PrimerBlock, primer_block};
use grisaille_base::Finding;
use grisaille_colour::{luminance_from_lightness, munsell_value};
use grisaille_light::{Kind, Sky};
use grisaille_plan::Plan;
use grisaille_scheme::{Emphasis, KeptSpot};
use serde::Serialize;

/// What was asked for, echoed so that a file explains itself.
#[derive(Clone, Debug, Serialize)]
pub struct MapSettings {
    /// The model file's name, without its folder.
    pub model: String,
    /// Directions over the upper hemisphere.
    pub ambient_directions: usize,
    /// Directions round the ring.
    pub ring_directions: usize,
    /// Whether the surface was divided.
    pub refined: bool,
    /// L* of the darkest paint.
    pub darkest: f64,
    /// L* of the lightest paint.
    pub lightest: f64,
    /// The share of light that the paint throws back, where light bounces.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bounce: Option<f64>,
    /// The painter's own light and dark.
    pub emphasis: Emphasis,
    /// Where nothing was evened out over the brush tip.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub keep: Vec<KeptSpot>,
}

#[derive(Serialize)]
struct Summary<'a> {
    grisaille: &'static str,
    settings: &'a MapSettings,
    height_mm: f64,
    extents_mm: [f64; 3],
    painted_area_mm2: f64,
    samples: usize,
    faces: usize,
    longest_edge_mm: f64,
    brush_radius_mm: f64,
    smallest_area_mm2: f64,
    thinnest_shadow_mm: f64,
    buried_samples: usize,
    base_top_mm: Option<f64>,
    lights: Vec<LightRow>,
    bands: Vec<BandRow>,
    zones: Vec<ZoneRow>,
    unlit_share: f64,
    black_share: f64,
    held_share: f64,
    bounced_share: Option<f64>,
    contests: Vec<ContestRow>,
    flat_spots: Vec<FlatRow>,
    #[serde(skip_serializing_if = "Option::is_none")]
    primer: Option<PrimerBlock>,
    findings: &'a [Finding],
}

#[derive(Serialize)]
struct FlatRow {
    band: char,
    share: f64,
    turns_degrees: f64,
    at_mm: [f32; 3],
}

#[derive(Serialize)]
struct LightRow {
    name: String,
    kind: &'static str,
    weight: f64,
    reached_share: f64,
    mean: f64,
    greatest: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    at_mm: Option<[f64; 3]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    full_light_mm: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    tilt_degrees: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    azimuth_degrees: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    radius: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    falloff: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    reach_mm: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    lamp_value: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    outshone_share: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    sky: Option<&'static str>,
}

#[derive(Serialize)]
struct BandRow {
    band: usize,
    letter: char,
    name: &'static str,
    low: f64,
    high: f64,
    tone: f64,
    munsell_value: f64,
    area_mm2: f64,
    figure_mm2: f64,
    base_mm2: f64,
    share: f64,
}

#[derive(Serialize)]
struct ZoneRow {
    zone: u8,
    light: String,
    area_mm2: f64,
    share: f64,
}

#[derive(Serialize)]
struct ContestRow {
    lights: [String; 2],
    share: f64,
    at_mm: [f32; 3],
}

/// The summary as a JSON value, keys in a fixed order.
///
/// # Errors
/// Never in practice: every number is finite. The error is passed on rather
/// than hidden.
pub fn summary(
    plan: &Plan,
    settings: &MapSettings,
    findings: &[Finding],
) -> Result<serde_json::Value, serde_json::Error> {
    let extents = plan.mesh.bounds().extents();
    let lights = plan
        .lights
        .iter()
        .map(|l| {
            let mut row = LightRow {
                name: l.name.clone(),
                kind: "",
                weight: l.weight,
                reached_share: l.answer.reached_share,
                mean: l.answer.mean,
                greatest: l.answer.greatest,
                at_mm: None,
                full_light_mm: None,
                tilt_degrees: None,
                azimuth_degrees: None,
                radius: None,
                falloff: None,
                reach_mm: None,
                lamp_value: None,
                outshone_share: l.answer.outshone_share,
                sky: None,
            };
            match l.kind {
                Kind::Zenithal { tilt, azimuth, radius } => {
                    row.kind = "zenithal";
                    row.tilt_degrees = Some(tilt);
                    row.azimuth_degrees = Some(azimuth);
                    row.radius = Some(radius);
                }
                Kind::Ring => row.kind = "ring",
                Kind::Ambient { sky } => {
                    row.kind = "ambient";
                    row.sky = Some(match sky {
                        Sky::Uniform => "uniform",
                        Sky::Overcast => "overcast",
                    });
                }
                Kind::Point { at, reference, radius, falloff, .. } => {
                    row.kind = "lamp";
                    row.at_mm = Some(at.into());
                    row.full_light_mm = Some(reference.0);
                    row.radius = Some(radius.0);
                    row.falloff = Some(falloff.exponent);
                    row.reach_mm = Some(falloff.reach.0).filter(|mm| mm.is_finite());
                    row.lamp_value = Some(plan.values.fit.lamp().0);
                }
            }
            row
        })
        .collect();
    let bands = plan
        .bands
        .rows
        .iter()
        .enumerate()
        .map(|(band, b)| BandRow {
            band,
            letter: b.letter,
            name: b.name,
            low: b.low.0,
            high: b.high.0,
            tone: b.tone.0,
            munsell_value: munsell_value(luminance_from_lightness(b.tone)),
            area_mm2: b.figure_mm2 + b.base_mm2,
            figure_mm2: b.figure_mm2,
            base_mm2: b.base_mm2,
            share: b.share,
        })
        .collect();
    let zones = plan
        .zones
        .rows
        .iter()
        .map(|z| ZoneRow { zone: z.number, light: z.name.clone(), area_mm2: z.area_mm2, share: z.share })
        .collect();
    let name = |id| plan.lights.iter().find(|l| l.id == id).map_or_else(String::new, |l| l.name.clone());
    let contests = plan
        .answers
        .contests
        .iter()
        .map(|c| ContestRow { lights: c.lights.map(name), share: c.share, at_mm: c.at.into() })
        .collect();
    let flat_spots = plan
        .answers
        .flat_spots
        .iter()
        .map(|spot| FlatRow {
            band: plan.bands.rows.get(usize::from(spot.band)).map_or('?', |b| b.letter),
            share: spot.share,
            turns_degrees: spot.turns,
            at_mm: spot.at.into(),
        })
        .collect();
    serde_json::to_value(Summary {
        grisaille: env!("CARGO_PKG_VERSION"),
        settings,
        height_mm: extents[2],
        extents_mm: extents,
        painted_area_mm2: plan.bands.rows.iter().map(|b| b.figure_mm2 + b.base_mm2).sum(),
        samples: plan.surface.samples.len(),
        faces: plan.surface.faces.len(),
        longest_edge_mm: plan.surface.longest_edge,
        brush_radius_mm: plan.brush.radius_mm,
        smallest_area_mm2: plan.brush.smallest_mm2,
        thinnest_shadow_mm: plan.brush.thinnest_shadow_mm,
        buried_samples: plan.surface.samples.buried.count(),
        base_top_mm: plan.base_top_mm,
        lights,
        bands,
        zones,
        unlit_share: plan.zones.unlit_share,
        black_share: plan.answers.black_share,
        held_share: plan.answers.held_share,
        bounced_share: plan.answers.bounced_share,
        contests,
        flat_spots,
        primer: primer_block(plan),
        findings,
    })
}

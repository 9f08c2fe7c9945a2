//! JSON: areas and shares for each band and zone, findings, settings.

use crate::primer::{PrimerBlock, primer_block};
use grisaille_base::Finding;
use grisaille_colour::{luminance_from_lightness, munsell_value};
use grisaille_form::Regions;
use grisaille_light::{Kind, Sky};
use grisaille_plan::Plan;
use grisaille_scheme::{Emphasis, KeptSpot};
use schemars::JsonSchema;
use schemars::generate::SchemaSettings;
use serde::Serialize;
use serde_json::Value;

/// What was asked for, echoed so that a file explains itself.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
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

#[derive(Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
struct Summary<'a> {
    /// The program's version.
    grisaille: &'static str,
    /// What was asked for.
    settings: &'a MapSettings,
    /// Of the model's box.
    #[schemars(range(min = 0.0))]
    height_mm: f64,
    /// Width, depth, height.
    extents_mm: [f64; 3],
    /// All but buried surface and the underside.
    #[schemars(range(min = 0.0))]
    painted_area_mm2: f64,
    /// Points that carry numbers: vertices of the map.
    samples: usize,
    /// Of the map.
    faces: usize,
    /// Of the divided surface.
    #[schemars(range(min = 0.0))]
    longest_edge_mm: f64,
    /// Over which bands and zones were evened out.
    #[schemars(range(min = 0.0))]
    brush_radius_mm: f64,
    /// No band's or zone's island is smaller.
    #[schemars(range(min = 0.0))]
    smallest_area_mm2: f64,
    /// Cast shadows narrower than this are not painted.
    #[schemars(range(min = 0.0))]
    thinnest_shadow_mm: f64,
    /// Inside other closed pieces.
    buried_samples: usize,
    /// Height of the base; null if none was recognised.
    base_top_mm: Option<f64>,
    /// Each light.
    lights: Vec<LightRow>,
    /// Each band, the darkest first.
    bands: Vec<BandRow>,
    /// Each zone.
    zones: Vec<ZoneRow>,
    /// Of the painted area, where no light reaches.
    #[schemars(range(min = 0.0, max = 1.0))]
    unlit_share: f64,
    /// Less than 1 L* above the darkest paint.
    #[schemars(range(min = 0.0, max = 1.0))]
    black_share: f64,
    /// Brighter than the figure's brightest spot, held at the lightest paint: only on a base.
    #[schemars(range(min = 0.0, max = 1.0))]
    held_share: f64,
    /// What of all light on it has bounced off another part; null without bounce.
    #[schemars(range(min = 0.0, max = 1.0))]
    bounced_share: Option<f64>,
    /// Pairs of lights that compete.
    contests: Vec<ContestRow>,
    /// Regions that turn and yet lie in one band.
    flat_spots: Vec<FlatRow>,
    /// How to prime.
    #[serde(skip_serializing_if = "Option::is_none")]
    primer: Option<PrimerBlock>,
    /// What was noticed or mended.
    #[schemars(with = "Vec<FindingShape>")]
    findings: &'a [Finding],
    /// The regions by number; only of a map.
    #[serde(skip_serializing_if = "Option::is_none")]
    regions: Option<Vec<RegionRow>>,
}

/// A finding as it is written; the type itself knows no schema.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields, rename = "Finding")]
#[allow(dead_code, reason = "only its shape is asked for")]
struct FindingShape {
    /// What kind of finding.
    code: String,
    /// How many times it was met.
    count: u64,
    /// Where it was met first, where that is known.
    place: Option<PlaceShape>,
    /// What it means and what to do.
    hint: String,
}

/// Where a finding was made.
#[derive(JsonSchema)]
#[schemars(rename = "Place", rename_all = "kebab-case")]
#[allow(dead_code, reason = "only its shape is asked for")]
enum PlaceShape {
    /// A point of the scene in millimetres.
    Point([f32; 3]),
    /// A line of a text file, counted from 1.
    Line(u64),
    /// A byte offset into a binary file.
    Byte(u64),
}

/// A region.
#[derive(Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
struct RegionRow {
    /// Its number, from 1.
    #[schemars(range(min = 1))]
    id: usize,
    /// Its name.
    name: String,
    /// What of it is painted.
    #[schemars(range(min = 0.0))]
    area_mm2: f64,
}

#[derive(Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
struct FlatRow {
    band: char,
    #[schemars(range(min = 0.0, max = 1.0))]
    share: f64,
    turns_degrees: f64,
    at_mm: [f32; 3],
}

#[derive(Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
struct LightRow {
    name: String,
    kind: &'static str,
    weight: f64,
    #[schemars(range(min = 0.0, max = 1.0))]
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

#[derive(Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
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
    #[schemars(range(min = 0.0, max = 1.0))]
    share: f64,
}

#[derive(Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
struct ZoneRow {
    zone: u8,
    light: String,
    area_mm2: f64,
    #[schemars(range(min = 0.0, max = 1.0))]
    share: f64,
}

#[derive(Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
struct ContestRow {
    lights: [String; 2],
    #[schemars(range(min = 0.0, max = 1.0))]
    share: f64,
    at_mm: [f32; 3],
}

/// The JSON Schema (2020-12) of the map's JSON.
#[must_use]
pub fn map_schema() -> Value {
    let settings = SchemaSettings::draft2020_12().for_serialize();
    let mut schema = settings.into_generator().into_root_schema_for::<Summary<'static>>().to_value();
    schema["title"] = "grisaille map".into();
    schema
}

/// The summary as a JSON value, keys in a fixed order; with the regions where they are given.
///
/// # Errors
/// Never in practice: every number is finite. The error is passed on rather
/// than hidden.
pub fn summary(
    plan: &Plan,
    settings: &MapSettings,
    findings: &[Finding],
    regions: Option<&Regions>,
) -> Result<Value, serde_json::Error> {
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
        regions: regions.map(|all| {
            let rows = all.regions.iter().zip(1..);
            rows.map(|(r, id)| RegionRow { id, name: r.name.clone(), area_mm2: r.area_mm2 }).collect()
        }),
    })
}

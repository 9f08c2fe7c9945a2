//! Looks: one number for each sample, and how the number becomes a colour.

use crate::skin::fill_rims;
use grisaille_base::{LightId, Lightness};
use grisaille_colour::{LinearRgb, lightness_from_luminance, luminance_from_lightness, printed_grey};
use grisaille_form::Regions;
use grisaille_light::Kind;
use grisaille_mesh::Part;
use grisaille_picture::{Pattern, ZoneStyle, light_style, sprayed};
use grisaille_plan::{Draft, Ground, Plan};
use rayon::prelude::*;

/// What is shown on the figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Look {
    /// As after dark, mid and light primer.
    Primed,
    /// Planned values as smooth greys.
    Greys,
    /// Planned values in bands, one grey each.
    Bands,
    /// How much of one light arrives, in false colour.
    Light(LightId),
    /// Which light is the strongest where.
    Zones,
    /// How open each spot lies, looking so many tenths of a millimetre far.
    Openness(u16),
    /// In regions, each in its swatch.
    Regions,
    /// In the planned colours, steps and lights blended.
    Colours,
    /// In the planned colours step by step, one flat colour each.
    Steps,
}

impl Look {
    /// Whether it shows planned colours.
    #[must_use]
    pub fn is_coloured(self) -> bool {
        matches!(self, Self::Colours | Self::Steps)
    }
}

/// Numbers of all samples and their meaning.
#[derive(Clone, Debug, PartialEq)]
pub struct Field {
    /// One for each sample.
    pub values: Vec<f32>,
    /// How they become colours.
    pub style: Style,
}

/// How a number becomes a colour.
#[derive(Clone, Debug, PartialEq)]
pub enum Style {
    /// It is an L*, shown as that grey.
    Tone,
    /// It is an L*; the first band ends at the first border.
    Bands {
        /// L* at the borders, rising.
        borders: Vec<f32>,
        /// The 8-bit grey of each band.
        greys: Vec<u8>,
    },
    /// It runs from 0 to 1 along the false-colour scale.
    Scale,
    /// It is a colour: 65,536 times its red, 256 times its green and its blue,
    /// 8-bit sRGB, exact in an `f32`.
    Swatches,
    /// The same, and colours run into each other between samples.
    Blended,
    /// It is 128 times the row of a ramp, and an L* that the ramp's steps are cut from.
    Steps {
        /// The ramps.
        ramps: Vec<StepRow>,
    },
    /// It is the place of a light counted from 1, or 0 for none.
    Zones {
        /// The style of each place.
        rows: Vec<ZoneRow>,
    },
}

/// How one ramp is shown.
#[derive(Clone, Debug, PartialEq)]
pub struct StepRow {
    /// The steps, darkest first, at most 8, 8-bit sRGB.
    pub colours: Vec<[u8; 3]>,
    /// L* at the borders between them, one less.
    pub borders: Vec<f32>,
}

/// How one zone is shown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ZoneRow {
    /// 8-bit sRGB.
    pub colour: [u8; 3],
    /// The pattern over it: 0 plain, 1 dots, 2 falling, 3 rising, 4 crossed,
    /// 5 upright, 6 level lines; told apart without colour.
    pub pattern: u8,
}

/// What a field is made from: the draft, and the plan once there is one for
/// the same scheme.
#[derive(Clone, Copy)]
pub(crate) struct Material<'a> {
    /// The surface.
    pub ground: &'a Ground,
    /// Rims of buried parts.
    pub rims: &'a [(u32, u32)],
    /// Light and values at once.
    pub draft: &'a Draft,
    /// The same evened out over the brush.
    pub plan: Option<&'a Plan>,
    /// The reach in tenths of a millimetre, and how open each sample lies within it.
    pub openness: Option<(u16, &'a [f32])>,
    /// The regions, once the figure was divided.
    pub regions: Option<&'a Regions>,
}

/// The field of a look; `None` for a light that is gone, and for openness that
/// nobody has looked for yet.
#[must_use]
pub(crate) fn field(look: Look, material: Material<'_>) -> Option<Field> {
    let Material { ground, rims, draft, plan, openness, regions } = material;
    let (mut values, style) = match look {
        Look::Greys => {
            let lightness = plan.map_or(&draft.lightness, |p| &p.values.lightness);
            (lightness.clone(), Style::Tone)
        }
        Look::Bands => {
            let (borders, lightness) = match plan {
                Some(plan) => (&plan.bands.borders, &plan.bands.lightness),
                None => (&draft.borders, &draft.lightness),
            };
            (held_below(lightness, borders, ground), bands_style(borders))
        }
        Look::Light(id) => {
            let light = draft.lights.iter().find(|l| l.id == id)?;
            (light.exposure.as_ref().clone(), Style::Scale)
        }
        Look::Zones => {
            let zones = plan.map_or_else(|| draft.zones(), |p| p.zones.of_sample.clone());
            (zones.into_iter().map(f32::from).collect(), Style::Zones { rows: zone_rows(draft) })
        }
        Look::Primed => (primed(draft, plan), Style::Tone),
        Look::Regions => (swatches(ground, regions?), Style::Swatches),
        // Made once with the colours themselves: see `paint`.
        Look::Colours | Look::Steps => return None,
        Look::Openness(tenths) => {
            let (_, open) = openness.filter(|(of, _)| *of == tenths)?;
            (open.to_vec(), Style::Scale)
        }
    };
    if !matches!(look, Look::Zones | Look::Regions) {
        fill_rims(&mut values, rims);
    } else {
        // A number of a zone or a colour has no mean: a rim takes that of its first neighbour.
        for (buried, open) in rims.iter().rev() {
            values[*buried as usize] = values[*open as usize];
        }
    }
    Some(Field { values, style })
}

/// Each sample's swatch: that of a face round it, of the first region of several.
fn swatches(ground: &Ground, regions: &Regions) -> Vec<f32> {
    let mut region = vec![u16::MAX; ground.surface.samples.len()];
    for (face, of) in ground.surface.faces.iter().zip(&regions.of_face) {
        for &s in face {
            region[s as usize] = region[s as usize].min(of.0);
        }
    }
    let colour = |r: u16| regions.regions.get(usize::from(r)).map_or([128; 3], |r| r.swatch);
    region.into_par_iter().map(|r| packed(colour(r))).collect()
}

/// A colour as one number, exact in an `f32`.
#[must_use]
pub(crate) fn packed([r, g, b]: [u8; 3]) -> f32 {
    f32::from(r) * 65536.0 + f32::from(g) * 256.0 + f32::from(b)
}

/// A base never takes the brightest band: what is its own is held below it.
fn held_below(lightness: &[f32], borders: &[f64], ground: &Ground) -> Vec<f32> {
    let top = borders.last().map_or(f32::INFINITY, |b| *b as f32 - 0.01);
    lightness
        .par_iter()
        .zip(ground.part_of_sample.par_iter())
        .map(|(l, part)| if *part == Part::Figure { *l } else { l.min(top) })
        .collect()
}

fn bands_style(borders: &[f64]) -> Style {
    let count = borders.len() + 1;
    Style::Bands {
        borders: borders.iter().map(|b| *b as f32).collect(),
        greys: (0..count).map(|band| printed_grey(band, count)).collect(),
    }
}

/// L* of each sample after the three primers.
fn primed(draft: &Draft, plan: Option<&Plan>) -> Vec<f32> {
    let of = |kind: fn(&Kind) -> bool| draft.lights.iter().filter(|l| kind(&l.kind)).collect::<Vec<_>>();
    let (rings, zenithals) = (of(|k| matches!(k, Kind::Ring)), of(|k| matches!(k, Kind::Zenithal { .. })));
    let mid =
        plan.and_then(|p| p.bands.rows.get(p.bands.rows.len() / 2).map(|b| b.tone)).unwrap_or_else(|| {
            Lightness(f64::midpoint(draft.fit.lightness(0.0).0, lightness_from_luminance(draft.fit.light).0))
        });
    let mid = luminance_from_lightness(mid);
    let fit = &draft.fit;
    (0..draft.lightness.len())
        .into_par_iter()
        .map(|i| {
            let mut luminance = fit.dark;
            for light in &rings {
                luminance = sprayed(luminance, mid, f64::from(light.exposure[i]));
            }
            for light in &zenithals {
                luminance = sprayed(luminance, fit.light, f64::from(light.exposure[i]));
            }
            lightness_from_luminance(luminance).0 as f32
        })
        .collect()
}

/// The styles of all zones, the first for where no light arrives. The same
/// colours and patterns as on the guide's sheets.
#[must_use]
pub(crate) fn zone_rows(draft: &Draft) -> Vec<ZoneRow> {
    let mut lamps = 0;
    let mut rows = vec![row(light_style(None, 0))];
    for light in &draft.lights {
        rows.push(row(light_style(Some(&light.kind), lamps)));
        lamps += usize::from(matches!(light.kind, Kind::Point { .. }));
    }
    rows
}

fn row(style: ZoneStyle) -> ZoneRow {
    let pattern = match style.pattern {
        Pattern::Dots => 1,
        Pattern::Falling => 2,
        Pattern::Rising => 3,
        Pattern::Crossed => 4,
        Pattern::Upright => 5,
        Pattern::Level => 6,
        Pattern::Plain => 0,
    };
    ZoneRow { colour: style.colour.to_srgb8(), pattern }
}

/// The grey of an L* as 8-bit sRGB.
#[must_use]
pub(crate) fn grey(lightness: f64) -> u8 {
    LinearRgb::grey(luminance_from_lightness(Lightness(lightness))).to_srgb8()[0]
}

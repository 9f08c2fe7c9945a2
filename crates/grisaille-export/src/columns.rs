//! What every file carries for each sample, gathered once.

use grisaille_base::{Code, Finding, Lightness, RegionId};
use grisaille_colour::{Lab, LinearRgb, luminance_from_lightness};
use grisaille_light::{Kind, LightExposure};
use grisaille_mesh::Part;
use grisaille_plan::{Colouring, Plan};
use std::sync::Arc;

/// Columns of numbers, one row for each sample of the plan's surface.
pub struct Columns {
    /// Exposures: a column name and its numbers. Rig lights go by their own
    /// name, a lamp by `light_` and its name; between them stands `openness`, if
    /// the plan has it.
    pub exposures: Vec<(String, Arc<Vec<f32>>)>,
    /// The band counted from 0, darkest first; 0 where buried.
    pub band: Vec<u8>,
    /// The zone: lights counted from 1, 0 where none reaches.
    pub zone: Vec<u8>,
    /// 1 where buried in another piece.
    pub buried: Vec<u8>,
    /// The region by its number, from 1: on a border the lower one.
    pub region: Vec<u16>,
    /// The luminance to show, 0 to 1, linear. At a buried sample it is that of
    /// its open neighbours, so that no seam shows in other programs.
    pub luminance: Vec<f32>,
    /// The planned colour of each sample, linear; `None` of a plan that is not coloured.
    pub painted: Option<Vec<LinearRgb>>,
}

impl Columns {
    /// The colour to show of a sample: as it is painted, or the grey of its luminance.
    #[must_use]
    pub fn shown(&self, sample: usize) -> LinearRgb {
        match &self.painted {
            Some(painted) => painted[sample],
            None => LinearRgb::grey(f64::from(self.luminance[sample])),
        }
    }
}

/// Gathers the columns of a plan and of the region of each face of its surface.
#[must_use]
pub fn columns(plan: &Plan, region_of_face: &[RegionId]) -> (Columns, Vec<Finding>) {
    let samples = &plan.surface.samples;
    let count = samples.len();
    let mut part = vec![Part::Underside; count];
    let mut region = vec![u16::MAX; count];
    for (f, face) in plan.surface.faces.iter().enumerate() {
        let number = region_of_face.get(f).map_or(u16::MAX, |r| r.0.saturating_add(1));
        for s in face {
            let s = *s as usize;
            region[s] = region[s].min(number);
            // A sample that parts share goes to the one that is painted most.
            if plan.part_of_face[f] == Part::Figure || !part[s].is_painted() {
                part[s] = plan.part_of_face[f];
            }
        }
    }
    let mut findings = Vec::new();
    if region_of_face.iter().any(|r| r.0 >= u16::MAX - 1) {
        findings.push(Finding::new(
            Code::TooManyRegions,
            1,
            "the map numbers at most 65535 regions: the smallest share the last number",
        ));
    }
    let buried = |s: usize| samples.buried.get(s);
    let mut exposures: Vec<(String, Arc<Vec<f32>>)> = plan
        .exposure
        .lights
        .iter()
        .map(|l| {
            let name = if matches!(l.kind, Kind::Point { .. }) {
                format!("light_{}", l.name)
            } else {
                l.name.clone()
            };
            (name, Arc::clone(&l.values))
        })
        .collect();
    if let Some(openness) = &plan.openness {
        let lamp = |l: &LightExposure| matches!(l.kind, Kind::Point { .. });
        let at = plan.exposure.lights.iter().position(lamp).unwrap_or(exposures.len());
        exposures.insert(at, ("openness".into(), Arc::new(openness.values.clone())));
    }
    let luminance = luminance(plan);
    let columns = Columns {
        exposures,
        band: (0..count).map(|s| if buried(s) { 0 } else { plan.band_of_sample(s, part[s]) }).collect(),
        zone: plan.zones.of_sample.clone(),
        buried: (0..count).map(|s| u8::from(buried(s))).collect(),
        region,
        painted: plan.colouring.as_ref().map(|c| painted(plan, c, &luminance)),
        luminance,
    };
    (columns, findings)
}

/// The blended colour of each sample: of the first face that has it, where regions meet; grey where the scheme
/// paints nothing.
fn painted(plan: &Plan, colouring: &Colouring, luminance: &[f32]) -> Vec<LinearRgb> {
    let mut out: Vec<LinearRgb> = luminance.iter().map(|l| LinearRgb::grey(f64::from(*l))).collect();
    let mut done = vec![false; out.len()];
    for (f, face) in plan.surface.faces.iter().enumerate() {
        for (corner, s) in face.iter().map(|s| *s as usize).enumerate() {
            if std::mem::replace(&mut done[s], true) {
                continue;
            }
            if let Some(colour) = corner_colour(plan, colouring, f, corner) {
                out[s] = colour;
            }
        }
    }
    out
}

/// The blended colour at a corner of a face, linear; `None` where the scheme paints nothing.
pub(crate) fn corner_colour(
    plan: &Plan,
    colouring: &Colouring,
    face: usize,
    corner: usize,
) -> Option<LinearRgb> {
    let weights = [0, 1, 2].map(|k| if k == corner { 1.0 } else { 0.0 });
    colouring.blended_at(plan, face, weights).map(Lab::shown)
}

fn luminance(plan: &Plan) -> Vec<f32> {
    let samples = &plan.surface.samples;
    let of = |l: f32| luminance_from_lightness(Lightness(f64::from(l))) as f32;
    let mut out: Vec<f32> = plan.values.lightness.iter().map(|l| of(*l)).collect();
    let mut sum = vec![(0.0_f32, 0_u32); samples.len()];
    for (f, face) in plan.surface.faces.iter().enumerate() {
        if plan.surface.open_corners(f) < 3
            && let Some(corners) = plan.corners(f, &plan.values.lightness)
        {
            for (s, corner) in face.iter().zip(corners) {
                if samples.buried.get(*s as usize) {
                    sum[*s as usize].0 += corner;
                    sum[*s as usize].1 += 1;
                }
            }
        }
    }
    for (out, (sum, n)) in out.iter_mut().zip(sum) {
        if n > 0 {
            *out = of(sum / n as f32);
        }
    }
    out
}

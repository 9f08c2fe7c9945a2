//! Spot highlights: the few points that stand out to all sides, such as
//! corners where edges meet, tips and knuckles.

use crate::{Curvature, LineSettings, Shape};
use grisaille_base::{Stop, Watch};
use nalgebra::Point3;

/// A point to touch last of all.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spot {
    /// Where it is, in mm.
    pub point: Point3<f32>,
    /// A face beside it.
    pub face: u32,
    /// How sharp it is: the smaller of its two curvatures per mm, times its light where that was
    /// given.
    pub strength: f64,
}

/// How many and how far apart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SpotSettings {
    /// No more than this.
    pub most: usize,
    /// No two are nearer than this many mm, through space.
    pub apart_mm: f64,
}

/// The sharpest points, the strongest first: where the surface is convex both ways by as much as
/// an edge must be across to be begun, more than all round it. `light` is how much arrives at each face, from
/// 0; dark points then come last. A wide ball has none.
///
/// # Errors
/// [`Stop`] when cancelled.
pub fn spots(
    shape: &Shape,
    curved: &Curvature,
    (lines, settings): (&LineSettings, &SpotSettings),
    light: Option<&[f32]>,
    watch: &Watch,
) -> Result<Vec<Spot>, Stop> {
    let span = watch.span("spots", 2);
    let least = crate::line::bend_of(lines.begin_degrees, curved.radius.0) as f32;
    let found = watch.map(curved.least.len(), |v| {
        let own = curved.least[v];
        let around = curved.fans.around(v as u32);
        // Of equals the first.
        let tops = around.iter().all(|l| {
            let other = curved.least[l.to as usize];
            other < own || other == own && l.to > v as u32
        });
        let face = around.first().map(|l| l.half / 3)?;
        let light = light.map_or(1.0, |l| l.get(face as usize).copied().unwrap_or(0.0).max(0.0));
        let strength = f64::from(own) * f64::from(light);
        (own >= least && tops && strength > 0.0).then(|| Spot { point: shape.positions()[v], face, strength })
    })?;
    span.advance(1);
    let mut found: Vec<Spot> = found.into_iter().flatten().collect();
    found.sort_by(|a, b| b.strength.total_cmp(&a.strength).then(a.face.cmp(&b.face)));
    let mut out: Vec<Spot> = Vec::new();
    for spot in found {
        watch.check()?;
        if out.len() >= settings.most {
            break;
        }
        if out.iter().all(|o| f64::from((o.point - spot.point).norm()) >= settings.apart_mm) {
            out.push(spot);
        }
    }
    span.advance(1);
    Ok(out)
}

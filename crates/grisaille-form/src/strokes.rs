//! How hatching should run: a few arrows for each region, along the form.
//!
//! Hatching lies well along the direction in which the form bends least: down a
//! sleeve, along a fold, round with a hose. A dry brush is drawn across it, so
//! that it meets the crests. Where the form bends all ways alike or not at all,
//! strokes run downhill, from light to dark (common practice, all of it).

use crate::curvature::Curvature;
use crate::shape::Shape;
use grisaille_base::{Millimetres, RegionId, Stop, Watch};
use nalgebra::{Point3, Vector3};

/// Bends over the field's radius that differ by less than this do not decide: the
/// noise of a scan makes as much.
const UNDECIDED: f32 = 0.1;
/// Bends that differ by this decide wholly.
const DECIDED: f32 = 0.5;
/// A slope less than this has no downhill.
const LEVEL: f32 = 0.1;

/// A stroke of a brush, to be drawn as an arrow.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stroke {
    /// The region that it stands for.
    pub region: RegionId,
    /// Its middle, on the surface, scene mm.
    pub at: Point3<f32>,
    /// The way of hatching: a unit vector along the surface.
    pub along: Vector3<f32>,
    /// The way of a dry brush: a unit vector along the surface, at right angles.
    pub across: Vector3<f32>,
    /// How much the form asks for that way, 0 (it runs downhill for want of
    /// another) to 1.
    pub sure: f32,
}

/// How far apart two touches may lie, and how wide a stroke may be, so that an
/// eye at a distance sees them as one: one minute of arc, which a normal eye
/// just parts (ISO 8596:2017, visual acuity 1.0). 0.145 mm at half a metre.
#[must_use]
pub fn blends_at(distance: Millimetres) -> Millimetres {
    Millimetres(distance.0 * (1.0_f64 / 60.0).to_radians().tan())
}

/// A few strokes for each region, at most `most`, well apart and where the form
/// asks most for them. `region_of_face` names each face's region, `None` where
/// it is not painted; the curvature should be taken over a radius of about a
/// twentieth of the figure.
///
/// # Errors
/// [`Stop`] when cancelled.
pub fn strokes(
    shape: &Shape,
    curvature: &Curvature,
    region_of_face: &[Option<RegionId>],
    most: usize,
    watch: &Watch,
) -> Result<Vec<Stroke>, Stop> {
    let span = watch.span("strokes", 3);
    let (inner, area) = regions(shape, region_of_face);
    span.advance(1);
    let count = shape.positions().len();
    let ways = watch.map(count, |v| inner[v].and_then(|region| stroke(shape, curvature, v, region)))?;
    span.advance(1);
    // What the form asks most for comes first; the first of equals.
    let mut order: Vec<u32> = (0..count as u32).filter(|v| ways[*v as usize].is_some()).collect();
    let sure = |v: u32| ways[v as usize].map_or(0.0, |s| s.sure);
    watch.run(|| order.sort_by(|a, b| sure(*b).total_cmp(&sure(*a)).then(a.cmp(b))));
    let mut found: Vec<Vec<Stroke>> = vec![Vec::new(); area.len()];
    for (n, &v) in order.iter().enumerate() {
        if n % 65536 == 0 {
            watch.check()?;
        }
        let Some(stroke) = ways[v as usize] else { continue };
        let region = usize::from(stroke.region.0);
        // As far apart as so many discs that fill the region are wide.
        let apart = (area[region] / most.max(1) as f64).sqrt() as f32;
        let taken = &mut found[region];
        if taken.len() < most && taken.iter().all(|t| (t.at - stroke.at).norm() >= apart) {
            taken.push(stroke);
        }
    }
    span.advance(1);
    Ok(found.into_iter().flatten().collect())
}

/// For each vertex the region that all faces round it belong to, and the area
/// of each region in mm².
fn regions(shape: &Shape, of_face: &[Option<RegionId>]) -> (Vec<Option<RegionId>>, Vec<f64>) {
    let last = of_face.iter().flatten().map(|r| usize::from(r.0)).max();
    let mut area = vec![0.0; last.map_or(0, |last| last + 1)];
    let mut inner = vec![None; shape.positions().len()];
    let mut mixed = vec![false; shape.positions().len()];
    for ((face, of), own) in shape.faces().iter().zip(of_face).zip(shape.areas()) {
        if let Some(region) = of {
            area[usize::from(region.0)] += f64::from(*own);
        }
        for &v in face {
            let v = v as usize;
            mixed[v] |= of.is_none() || inner[v].is_some_and(|r| Some(r) != *of);
            inner[v] = *of;
        }
    }
    for (inner, mixed) in inner.iter_mut().zip(mixed) {
        if mixed {
            *inner = None;
        }
    }
    (inner, area)
}

/// The stroke at a vertex; `None` where the surface has no side.
fn stroke(shape: &Shape, curvature: &Curvature, v: usize, region: RegionId) -> Option<Stroke> {
    let normal = curvature.normal[v];
    let apart = (curvature.most[v] - curvature.least[v]) * curvature.radius.0 as f32;
    let sure = ((apart - UNDECIDED) / (DECIDED - UNDECIDED)).clamp(0.0, 1.0);
    let least = normal.cross(&curvature.along_most[v]).try_normalize(0.5);
    let formed = least.filter(|_| sure > 0.0);
    let along = formed.or_else(|| downhill(normal))?;
    // Downward, or to the right where that is level.
    let back = if along.z.abs() > LEVEL { along.z > 0.0 } else { along.x < 0.0 };
    let along = if back { -along } else { along };
    let across = normal.cross(&along).try_normalize(0.5)?;
    let sure = if formed.is_some() { sure } else { 0.0 };
    Some(Stroke { region, at: shape.positions()[v], along, across, sure })
}

/// Down the slope, or toward the viewer on level ground.
fn downhill(normal: Vector3<f32>) -> Option<Vector3<f32>> {
    let on = |way: Vector3<f32>| way - normal * normal.dot(&way);
    on(-Vector3::z()).try_normalize(LEVEL).or_else(|| on(-Vector3::y()).try_normalize(LEVEL))
}

//! How hatching should run: a few arrows for each region, along the form.
//!
//! Hatching lies well along the direction in which the form bends least: down a
//! sleeve, along a fold, round with a hose. A dry brush is drawn across it, so
//! that it meets the crests. Where the form bends all ways alike or not at all,
//! strokes run downhill, from light to dark (common practice, all of it).

use crate::curvature::Curvature;
use crate::shape::Shape;
use grisaille_base::{Millimetres, RegionId, Stop, Watch};
use nalgebra::{Matrix3, Point3, Vector3};

/// Bends over the field's radius that differ by less than this do not decide: the
/// noise of a scan makes as much.
const UNDECIDED: f32 = 0.1;
/// Bends that differ by this decide wholly.
const DECIDED: f32 = 0.5;
/// A slope less than this has no downhill.
const LEVEL: f32 = 0.1;

/// How often strokes are spread anew.
const ROUNDS: usize = 10;

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

/// How many strokes a region gets.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StrokeCount {
    /// One for each square of so many mm of its area,
    pub apart: Millimetres,
    /// and no more than this, but one at least.
    pub most: usize,
}

/// A few strokes for each region, spread over it by where it lies and where it faces (S. Lloyd, IEEE
/// Trans. Inf. Theory 28(2), 1982), each with the way of most of what lies round it. `region_of_face` names
/// each face's region, `None` where it is not painted; the curvature should be taken over a radius
/// of about a twentieth of the figure.
///
/// # Errors
/// [`Stop`] when cancelled.
pub fn strokes(
    shape: &Shape,
    curvature: &Curvature,
    region_of_face: &[Option<RegionId>],
    count: StrokeCount,
    watch: &Watch,
) -> Result<Vec<Stroke>, Stop> {
    let span = watch.span("strokes", 3);
    let (inner, area) = regions(shape, region_of_face);
    span.advance(1);
    let ways = watch.map(inner.len(), |v| inner[v].and_then(|region| stroke(shape, curvature, v, region)))?;
    let weight = weights(shape);
    span.advance(1);
    let mut of: Vec<Vec<u32>> = vec![Vec::new(); area.len()];
    for (v, way) in ways.iter().enumerate() {
        if let Some(way) = way {
            of[usize::from(way.region.0)].push(v as u32);
        }
    }
    let square = (count.apart.0 * count.apart.0).max(f64::MIN_POSITIVE);
    let found = watch.map(of.len(), |r| {
        let wanted = ((area[r] / square).round() as usize).clamp(1, count.most.max(1));
        // As far apart as so many discs that fill the region are wide.
        let apart = (area[r] / wanted as f64).sqrt() as f32;
        let spots: Vec<Spot> = of[r]
            .iter()
            .filter_map(|v| {
                Some(Spot {
                    of: ways[*v as usize]?,
                    at: feature(shape, curvature, *v, apart),
                    weight: weight[*v as usize],
                })
            })
            .collect();
        spread(&spots, wanted, watch)
            .into_iter()
            .filter_map(|group| typical(&spots, &group, apart))
            .collect::<Vec<_>>()
    })?;
    span.advance(1);
    watch.check()?;
    Ok(found.concat())
}

/// A vertex of a region: the stroke there, where it lies and faces, and the area that it stands for.
struct Spot {
    of: Stroke,
    at: [f32; 6],
    weight: f32,
}

/// Where a vertex lies and where it faces, in mm: what faces the other way lies as far off as
/// strokes stand apart.
fn feature(shape: &Shape, curvature: &Curvature, v: u32, apart: f32) -> [f32; 6] {
    let (p, n) = (shape.positions()[v as usize], curvature.normal[v as usize] * (0.5 * apart));
    [p.x, p.y, p.z, n.x, n.y, n.z]
}

fn far(a: &[f32; 6], b: &[f32; 6]) -> f32 {
    a.iter().zip(b).map(|(a, b)| (a - b) * (a - b)).sum()
}

/// The area in mm² that each vertex stands for.
fn weights(shape: &Shape) -> Vec<f32> {
    let mut out = vec![0.0; shape.positions().len()];
    for (face, area) in shape.faces().iter().zip(shape.areas()) {
        for v in face {
            out[*v as usize] += area / 3.0;
        }
    }
    out
}

/// Spots in groups of about equal width: begun from what lies farthest from all before, then each
/// gathered anew round its middle, a few times.
fn spread(spots: &[Spot], wanted: usize, watch: &Watch) -> Vec<Vec<u32>> {
    let middle = |group: &mut dyn Iterator<Item = &Spot>| {
        let (mut sum, mut weight) = ([0.0_f64; 6], 0.0);
        for s in group {
            let w = f64::from(s.weight.max(f32::MIN_POSITIVE));
            (0..6).for_each(|k| sum[k] += w * f64::from(s.at[k]));
            weight += w;
        }
        (weight > 0.0).then(|| sum.map(|x| (x / weight) as f32))
    };
    let Some(first) = middle(&mut spots.iter()) else { return Vec::new() };
    let mut nearest: Vec<f32> = spots.iter().map(|s| far(&s.at, &first)).collect();
    let mut middles: Vec<[f32; 6]> = Vec::new();
    while middles.len() < wanted && !watch.stopped() {
        let farthest = (0..spots.len()).max_by(|a, b| nearest[*a].total_cmp(&nearest[*b]).then(b.cmp(a)));
        let Some(next) = farthest.filter(|i| nearest[*i] > 0.0).map(|i| spots[i].at) else { break };
        for (near, s) in nearest.iter_mut().zip(spots) {
            // The middle of all is only where the first is far from.
            *near = if middles.is_empty() { f32::INFINITY } else { *near }.min(far(&s.at, &next));
        }
        middles.push(next);
    }
    if middles.is_empty() {
        middles.push(first);
    }
    let mut groups: Vec<Vec<u32>> = Vec::new();
    for _ in 0..ROUNDS {
        if watch.stopped() {
            break;
        }
        groups = vec![Vec::new(); middles.len()];
        for (i, s) in spots.iter().enumerate() {
            let best = (0..middles.len())
                .min_by(|a, b| far(&s.at, &middles[*a]).total_cmp(&far(&s.at, &middles[*b])).then(a.cmp(b)));
            if let Some(best) = best {
                groups[best].push(i as u32);
            }
        }
        for (own, group) in middles.iter_mut().zip(&groups) {
            if let Some(moved) = middle(&mut group.iter().map(|i| &spots[*i as usize])) {
                *own = moved;
            }
        }
    }
    groups.retain(|group| !group.is_empty());
    groups
}

/// The stroke for a group: at a spot about its middle that runs as most of it does.
fn typical(spots: &[Spot], group: &[u32], apart: f32) -> Option<Stroke> {
    let own = || group.iter().map(|i| &spots[*i as usize]);
    // Ways have no sign: their outer products are summed.
    let mut tensor = Matrix3::<f64>::zeros();
    let (mut middle, mut weight) = (Vector3::<f64>::zeros(), 0.0);
    for s in own() {
        let (w, along) = (f64::from(s.weight), s.of.along.cast::<f64>());
        // What the form does not ask for counts little beside what it does.
        tensor += along * along.transpose() * (w * (0.05 + f64::from(s.of.sure)));
        middle += s.of.at.coords.cast::<f64>() * w;
        weight += w;
    }
    let middle = Point3::from(middle / f64::max(weight, f64::MIN_POSITIVE)).cast::<f32>();
    let eigen = tensor.symmetric_eigen();
    let main = eigen.eigenvectors.column(eigen.eigenvalues.imax()).into_owned().cast::<f32>();
    let fits = |s: &Spot| {
        s.of.along.dot(&main).abs() - 2.0 * (s.of.at - middle).norm() / apart.max(f32::MIN_POSITIVE)
    };
    own().max_by(|a, b| fits(a).total_cmp(&fits(b))).map(|s| s.of)
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

//! Recesses to line and edges to catch, as smooth lines with their measures.

use crate::crest::{Chain, Node, Side, chains, place};
use crate::join::{Run, joined};
use crate::measure::measured;
use crate::once::once;
use crate::section::{bend, walk};
use crate::{Curvature, Shape};
use grisaille_base::{Millimetres, Stop, Watch};
use nalgebra::{Point3, Vector3};

/// What counts as a line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LineSettings {
    /// The width that a brush draws: a recess whose bottom is narrower than this is one line along
    /// its middle, a wider one between steep walls is two.
    pub brush: Millimetres,
    /// By how many degrees a sharp line must turn to be begun.
    pub begin_degrees: f64,
    /// By how many it must turn to be followed.
    pub follow_degrees: f64,
    /// Shorter lines are left out.
    pub shortest: Millimetres,
    /// Shallower recesses, and edges that stand out less, are left out as grain.
    pub shallowest: Millimetres,
    /// How far to each side rims are looked for.
    pub reach: Millimetres,
    /// How thick the layers of the print are; 0 where that is not known.
    pub layer: Millimetres,
}

impl LineSettings {
    /// The settings for a brush: turns from 30° on, followed down to 15°; lines of three times its width and
    /// more, 0.1 mm deep, which is the tip of a fine brush (common practice, no
    /// published source); rims within five widths.
    #[must_use]
    pub fn for_brush(brush: Millimetres) -> Self {
        Self {
            brush,
            begin_degrees: 30.0,
            follow_degrees: 15.0,
            shortest: Millimetres(3.0 * brush.0),
            shallowest: Millimetres(0.1),
            reach: Millimetres(5.0 * brush.0),
            layer: Millimetres(0.0),
        }
    }

    /// The same for a surface printed in layers so thick.
    #[must_use]
    pub fn in_layers(self, layer: Millimetres) -> Self {
        Self { layer, ..self }
    }

    /// The radius at which [`curvature`](crate::curvature) is wanted: two bends that far apart become one
    /// at 1.25 to 1.5 times the brush. It is no less than two and a half layers, so that on slopes of more than about
    /// 20° the steps of a print are one bend with their neighbours, and none.
    #[must_use]
    pub fn radius(&self) -> Millimetres {
        Millimetres((1.25 * self.brush.0).max(2.5 * self.layer.0))
    }
}

/// A recess or an edge.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Its course in mm, in steps of about a quarter of the radius.
    pub points: Vec<Point3<f32>>,
    /// The face on which each point lies, or from which it was drawn out to where lines meet.
    pub faces: Vec<u32>,
    /// For each point the faces about half a brush from it on either side.
    pub beside: Vec<[u32; 2]>,
    /// Whether the last point is joined to the first.
    pub closed: bool,
    /// How long it is in mm.
    pub length: f64,
    /// Of a recess the distance of its rims, of an edge that of its feet, in mm: the middle
    /// one of all its cuts.
    pub width: f64,
    /// Of a recess the depth below the line from rim to rim, of an edge the height above
    /// that between its feet, in mm.
    pub depth: f64,
    /// Whether rims or feet were found within the reach, or the measures are
    /// those of a corner cut off there.
    pub bounded: bool,
    /// By how many degrees the surface turns across it.
    pub turn: f64,
    /// How round it is, in mm; 0 for a sharp line, and for what the net does not tell from one.
    pub radius: f64,
    /// What it is ranked by: length times depth, in mm².
    pub importance: f64,
}

/// Recesses, the most important first.
///
/// # Errors
/// [`Stop`] when cancelled.
pub fn recesses(
    shape: &Shape,
    curved: &Curvature,
    settings: &LineSettings,
    watch: &Watch,
) -> Result<Vec<Line>, Stop> {
    lines(shape, curved, Side::Recess, settings, watch)
}

/// Convex edges and ridges, the most important first.
///
/// # Errors
/// [`Stop`] when cancelled.
pub fn edges(
    shape: &Shape,
    curved: &Curvature,
    settings: &LineSettings,
    watch: &Watch,
) -> Result<Vec<Line>, Stop> {
    lines(shape, curved, Side::Edge, settings, watch)
}

/// The peak over a line that turns by one, spread to a deviation of one: see
/// [`curvature`](crate::curvature).
pub(crate) const PEAK: f64 = 0.4262;

/// The curvature per mm over a crease that turns by so many degrees.
pub(crate) fn bend_of(degrees: f64, radius: f64) -> f64 {
    PEAK * degrees.to_radians() / (0.5 * radius)
}

fn lines(
    shape: &Shape,
    curved: &Curvature,
    side: Side,
    settings: &LineSettings,
    watch: &Watch,
) -> Result<Vec<Line>, Stop> {
    let span = watch.span(if side == Side::Edge { "edges" } else { "recesses" }, 4);
    let deviation = 0.5 * curved.radius.0;
    let [begin, follow] =
        [settings.begin_degrees, settings.follow_degrees].map(|d| bend_of(d, curved.radius.0));
    let found = chains(shape, curved, side, follow as f32, watch)?;
    span.advance(1);
    let cutter = Cutter { shape, curved, side, deviation };
    let falls = falls(&cutter, &found, watch)?;
    span.advance(1);
    let mut runs = Vec::new();
    for (chain, falls) in found.iter().zip(&falls) {
        runs.extend(kept(&cutter, chain, falls, [follow, begin]));
    }
    let runs = joined(runs, curved.radius.0);
    span.advance(1);
    watch.check()?;
    let mut out: Vec<Line> =
        watch.map(runs.len(), |r| measured(&cutter, &runs[r], settings))?.into_iter().flatten().collect();
    let rank = |lines: &mut [Line]| lines.sort_by(|a, b| b.importance.total_cmp(&a.importance));
    rank(&mut out);
    if side == Side::Recess {
        out = once(out, 0.5 * settings.brush.0, watch)?;
    }
    out.retain(|l| l.length >= settings.shortest.0 && l.depth >= settings.shallowest.0);
    rank(&mut out);
    span.count("lines", out.len() as u64);
    span.advance(1);
    Ok(out)
}

/// For each chain and node how far curvature falls on both sides of it, per mm.
fn falls(cutter: &Cutter, chains: &[Chain], watch: &Watch) -> Result<Vec<Vec<f64>>, Stop> {
    let all: Vec<(usize, usize)> = chains
        .iter()
        .enumerate()
        .flat_map(|(c, chain)| (0..chain.nodes.len()).map(move |n| (c, n)))
        .collect();
    let places: Vec<Vec<Point3<f64>>> =
        watch.map(chains.len(), |c| chains[c].nodes.iter().map(|n| place(cutter.shape, *n)).collect())?;
    let found = watch.map(all.len(), |i| {
        let (c, n) = all[i];
        let along = tangent(&places[c], chains[c].closed, n, cutter.deviation);
        cutter.fall(chains[c].nodes[n], &along)
    })?;
    let mut found = found.into_iter();
    Ok(chains
        .iter()
        .zip(&places)
        .map(|(chain, places)| {
            let raw: Vec<f64> = found.by_ref().take(chain.nodes.len()).collect();
            averaged(&raw, places, cutter.deviation)
        })
        .collect())
}

/// The direction of a line at one of its points, from what lies `within` mm of it.
pub(crate) fn tangent(places: &[Point3<f64>], closed: bool, n: usize, within: f64) -> Vector3<f64> {
    let last = places.len() - 1;
    let reach = |forth: bool| {
        let mut far = 0.0;
        let mut at = n;
        for _ in 0..last {
            let to = match (forth, at) {
                (true, a) if a < last => a + 1,
                (true, _) if closed => 1,
                (false, a) if a > 0 => a - 1,
                (false, _) if closed => last.saturating_sub(1),
                _ => break,
            };
            far += (places[to] - places[at]).norm();
            at = to;
            if far >= within {
                break;
            }
        }
        places[at]
    };
    (reach(true) - reach(false)).try_normalize(0.0).unwrap_or_else(Vector3::x)
}

/// Means over all that lies within so many mm along the line.
fn averaged(values: &[f64], places: &[Point3<f64>], within: f64) -> Vec<f64> {
    let far = lengths(places);
    let (mut from, mut to) = (0, 0);
    (0..values.len())
        .map(|n| {
            while far[from] < far[n] - within {
                from += 1;
            }
            while to < values.len() && far[to] <= far[n] + within {
                to += 1;
            }
            values[from..to].iter().sum::<f64>() / (to - from) as f64
        })
        .collect()
}

/// How far along the line each place lies.
pub(crate) fn lengths(places: &[Point3<f64>]) -> Vec<f64> {
    let mut far = vec![0.0; places.len()];
    for n in 1..places.len() {
        far[n] = far[n - 1] + (places[n] - places[n - 1]).norm();
    }
    far
}

/// The parts of a chain that are followed: those above the lower level that reach the upper
/// one, with gaps of less than four deviations closed.
fn kept(cutter: &Cutter, chain: &Chain, falls: &[f64], [follow, begin]: [f64; 2]) -> Vec<Run> {
    let mut nodes = chain.nodes.clone();
    let mut falls = falls.to_vec();
    let mut closed = chain.closed;
    if closed {
        // Begins in a gap, if there is one.
        nodes.pop();
        falls.pop();
        if let Some(gap) = falls.iter().position(|f| *f < follow) {
            nodes.rotate_left(gap);
            falls.rotate_left(gap);
            closed = false;
        } else {
            nodes.push(nodes[0]);
            falls.push(falls[0]);
        }
    }
    let places: Vec<Point3<f64>> = nodes.iter().map(|n| place(cutter.shape, *n)).collect();
    let far = lengths(&places);
    let mut spans: Vec<[usize; 2]> = Vec::new();
    for n in (0..falls.len()).filter(|n| falls[*n] >= follow) {
        match spans.last_mut() {
            Some(span) if span[1] + 1 == n || far[n] - far[span[1]] < 4.0 * cutter.deviation => span[1] = n,
            _ => spans.push([n, n]),
        }
    }
    spans
        .into_iter()
        .filter(|[a, b]| falls[*a..=*b].iter().any(|f| *f >= begin) && b - a >= 2)
        .flat_map(|[a, b]| parted(cutter, &nodes[a..=b], &places[a..=b], closed))
        .collect()
}

/// A line parted at its corners, which lie where it turns by more than 40° within a
/// deviation to each side and much less a little farther on: a small ring has none.
fn parted(cutter: &Cutter, nodes: &[Node], places: &[Point3<f64>], closed: bool) -> Vec<Run> {
    let deviation = cutter.deviation;
    let open = |node: Node| cutter.shape.across(node.half).is_none();
    let (mut nodes, mut places, mut closed) = (nodes.to_vec(), places.to_vec(), closed);
    let turns = turns(&places, closed, deviation);
    let mut cuts = corners(&turns, &lengths(&places), deviation);
    if closed && !cuts.is_empty() {
        // Begins at a corner.
        nodes.pop();
        places.pop();
        nodes.rotate_left(cuts[0]);
        places.rotate_left(cuts[0]);
        nodes.push(nodes[0]);
        places.push(places[0]);
        cuts = cuts.iter().map(|c| c - cuts[0]).filter(|c| *c > 0).collect();
        closed = false;
    }
    cuts.push(nodes.len() - 1);
    let mut begin = 0;
    let mut out = Vec::new();
    for cut in cuts {
        if cut >= begin + 2 {
            out.push(Run::new(nodes[begin..=cut].to_vec(), &places[begin..=cut], closed, deviation, open));
        }
        begin = cut;
    }
    out
}

/// The cosine of the turn at each place, between the ways to what lies a deviation and more before
/// and behind.
fn turns(places: &[Point3<f64>], closed: bool, deviation: f64) -> Vec<f64> {
    let last = places.len() - 1;
    let beyond = |n: usize, forth: bool| {
        let (mut at, mut far) = (n, 0.0);
        for _ in 0..last {
            let to = match (forth, at) {
                (true, a) if a < last => a + 1,
                (true, _) if closed => 1,
                (false, a) if a > 0 => a - 1,
                (false, _) if closed => last.saturating_sub(1),
                _ => return None,
            };
            far += (places[to] - places[at]).norm();
            at = to;
            if far >= 1.5 * deviation {
                return Some(places[at]);
            }
        }
        None
    };
    (0..places.len())
        .map(|n| match (beyond(n, false), beyond(n, true)) {
            (Some(a), Some(b)) => {
                let (u, v) = (places[n] - a, b - places[n]);
                u.dot(&v) / (u.norm() * v.norm()).max(1e-12)
            }
            _ => 1.0,
        })
        .collect()
}

fn corners(turns: &[f64], far: &[f64], deviation: f64) -> Vec<usize> {
    let mut out = Vec::new();
    for n in 0..turns.len() {
        if turns[n] > 0.77 {
            continue;
        }
        let from = far.partition_point(|f| *f < far[n] - 4.0 * deviation);
        let to = far.partition_point(|f| *f <= far[n] + 4.0 * deviation);
        let sharpest = (from..to).all(|i| turns[i] > turns[n] || turns[i] == turns[n] && i >= n);
        // On a ring all its places turn as much.
        let far_off = |i: &usize| (far[*i] - far[n]).abs() > 2.5 * deviation;
        let beside = (from..to).filter(far_off).map(|i| turns[i].clamp(-1.0, 1.0).acos()).fold(0.0, f64::max);
        if sharpest && turns[n].clamp(-1.0, 1.0).acos() > beside + 0.35 {
            out.push(n);
        }
    }
    out
}

/// What cuts across lines are made of.
pub(crate) struct Cutter<'a> {
    pub(crate) shape: &'a Shape,
    curved: &'a Curvature,
    pub(crate) side: Side,
    /// Half the radius: how far curvature is spread.
    pub(crate) deviation: f64,
}

impl Cutter<'_> {
    /// How far curvature across falls on both sides within six deviations: far
    /// enough to see past a second line beside this one, as on a rim, and the
    /// same all round a rod.
    fn fall(&self, node: Node, along: &Vector3<f64>) -> f64 {
        let sign = self.side.sign();
        let here = place(self.shape, node);
        let low = [false, true].map(|over| {
            let mut low = f64::INFINITY;
            let mut last = here;
            walk(self.shape, node, along, over, |step| {
                let way = step.point - last;
                last = step.point;
                let bend = sign * bend(self.shape, self.curved, step.node, &way);
                low = low.min(bend);
                step.far < 6.0 * self.deviation
            });
            low
        });
        // Beyond an open edge nothing is known to fall.
        let low = low.iter().fold(0.0_f64, |l, k| if k.is_finite() { l.max(*k) } else { l });
        self.bend_at(node) - low
    }

    pub(crate) fn normal(&self, node: Node) -> Vector3<f64> {
        let [a, b] = self.shape.ends(node.half).map(|v| self.curved.normal[v as usize].cast::<f64>());
        a + b
    }

    /// The curvature across, positive on either side.
    pub(crate) fn bend_at(&self, node: Node) -> f64 {
        let [a, b] = self.shape.ends(node.half).map(|v| match self.side {
            Side::Edge => f64::from(self.curved.most[v as usize]),
            Side::Recess => -f64::from(self.curved.least[v as usize]),
        });
        a + (b - a) * f64::from(node.at)
    }
}

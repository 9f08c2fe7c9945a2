//! Cuts across a line: walking from a point of it over the surface in the plane
//! across, and what the outline of the cut says of width and depth.

use crate::crest::{Node, apex, place};
use crate::fan::{next, previous};
use crate::{Curvature, Shape};
use nalgebra::{Point3, Vector3};

/// The most faces that a walk crosses.
const FACES: usize = 600;

/// A point on the way.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Step {
    /// How far along the surface, in mm.
    pub(crate) far: f64,
    pub(crate) point: Point3<f64>,
    /// The edge that is crossed there.
    pub(crate) node: Node,
    /// The face that was crossed on the way there.
    pub(crate) face: u32,
}

/// Walks from a node in the plane across `along`, to one side or the other
/// (`over`: into the face of its half-edge's partner), as long as `go` says so.
pub(crate) fn walk(
    shape: &Shape,
    start: Node,
    along: &Vector3<f64>,
    over: bool,
    mut go: impl FnMut(&Step) -> bool,
) {
    let begin = place(shape, start);
    let above = |v: u32| along.dot(&(shape.positions()[v as usize].cast::<f64>() - begin));
    let mut half = start.half;
    if over {
        let Some(twin) = shape.across(half) else { return };
        half = twin;
    }
    // Which end of the edge lies above the plane is decided once, so that rounding
    // cannot lose the way.
    let [a, b] = shape.ends(half).map(above);
    let mut tail_above = if a.abs() > b.abs() { a > 0.0 } else { b <= 0.0 };
    let mut from = begin;
    let mut far = 0.0;
    for _ in 0..FACES {
        let top = apex(shape, half);
        let top_above = above(top) > 0.0;
        let exit = if top_above == tail_above { next(half) } else { previous(half) };
        let [a, b] = shape.ends(exit).map(above);
        let at = if a == b { 0.5 } else { (a / (a - b)).clamp(0.0, 1.0) };
        let node = Node { half: exit, at: at as f32 };
        let point = place(shape, node);
        far += (point - from).norm();
        if !go(&Step { far, point, node, face: half / 3 }) {
            return;
        }
        let Some(twin) = shape.across(exit) else { return };
        // The partner's tail is the exit's head.
        tail_above = if exit == next(half) { top_above } else { tail_above };
        half = twin;
        from = point;
    }
}

/// The curvature of the surface along a direction, where a step crosses.
pub(crate) fn bend(shape: &Shape, curved: &Curvature, node: Node, way: &Vector3<f64>) -> f64 {
    let at = |v: u32| {
        let v = v as usize;
        let along = curved.along_most[v].cast::<f64>();
        let other = curved.normal[v].cast::<f64>().cross(&along);
        let (a, b) = (way.dot(&along).powi(2), way.dot(&other).powi(2));
        let [most, least] = [curved.most[v], curved.least[v]].map(f64::from);
        if a + b > 1e-3 * way.norm_squared() {
            (most * a + least * b) / (a + b)
        } else {
            0.5 * (most + least)
        }
    };
    let [a, b] = shape.ends(node.half).map(at);
    a + (b - a) * f64::from(node.at)
}

/// A straight edge laid over a cut.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Bridge {
    /// Between the points on which it rests, in mm.
    pub(crate) width: f64,
    /// From it down to the deepest point, in mm.
    pub(crate) depth: f64,
    /// Whether it rests on two rims, and not on the end of what was looked at.
    pub(crate) rests: bool,
    /// From the point of the line sideways to the middle of the bottom: of all that lies
    /// deeper than nine tenths of the depth. Zero where it is wider than `widest`.
    pub(crate) to_bottom: Vector3<f64>,
}

/// The outline of a cut: points beside and above the point of the line, in mm,
/// from the far left to the far right, and how far each is along the surface.
#[derive(Clone, Debug, Default)]
pub(crate) struct Outline {
    pub(crate) points: Vec<[f64; 2]>,
    pub(crate) far: Vec<f64>,
    /// What one mm beside is in space.
    across: Vector3<f64>,
}

/// Cuts a surface across a line, to `reach` on both sides. Level is from the outline's point `near`
/// mm on the one side to that on the other: the normal of a rough bottom is
/// not to be trusted for more than up and down. `up` is 1 for what lies below its rims, −1 for what
/// stands above its feet.
pub(crate) fn outline(
    shape: &Shape,
    start: Node,
    (along, normal): (&Vector3<f64>, &Vector3<f64>),
    (near, reach): (f64, f64),
    up: f64,
) -> Outline {
    let begin = place(shape, start);
    let [mut one, other] = [false, true].map(|over| {
        let mut side: Vec<(f64, Vector3<f64>)> = Vec::new();
        walk(shape, start, along, over, |step| {
            let point = step.point - begin;
            let (before, last) = side.last().map_or((0.0, Vector3::zeros()), |s| *s);
            if step.far > reach && step.far > before {
                // Cut off where the reach ends.
                side.push((reach, last + (point - last) * ((reach - before) / (step.far - before))));
                return false;
            }
            side.push((step.far, point));
            true
        });
        side
    });
    let at = |side: &[(f64, Vector3<f64>)]| {
        side.iter().find(|s| s.0 >= near).or(side.last()).map_or_else(Vector3::zeros, |s| s.1)
    };
    let beside = normal.cross(along).try_normalize(0.0).unwrap_or_else(Vector3::zeros);
    let level = at(&other) - at(&one);
    let level = if level.dot(&beside) < 0.0 { -level } else { level };
    let level = level - along * level.dot(along);
    let across = if level.norm() > 0.3 * near { level.normalize() } else { beside };
    let rise = along.cross(&across);
    let rise = if rise.dot(normal) < 0.0 { -rise } else { rise };
    one.reverse();
    let left = one.iter().map(|(far, p)| (-far, *p));
    let right = other.into_iter();
    let mut steps: Vec<(f64, Vector3<f64>)> = left.chain([(0.0, Vector3::zeros())]).chain(right).collect();
    // Left is where across points away from.
    if let [first, .., last] = &steps[..]
        && (last.1 - first.1).dot(&across) < 0.0
    {
        steps.reverse();
        steps.iter_mut().for_each(|s| s.0 = -s.0);
    }
    Outline {
        points: steps.iter().map(|(_, p)| [p.dot(&across), up * p.dot(&rise)]).collect(),
        far: steps.iter().map(|s| s.0).collect(),
        across,
    }
}

/// How much lower land may lie for each mm that it is nearer, and still hold the
/// straight edge: level land beyond a rim must not take it over by a speck of noise.
const NEARER: f64 = 0.12;
/// By how much each window is wider than the last.
const WIDER: f64 = 1.25;

/// A point of an outline: beside and above, and how far along the surface.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Spot {
    at: [f64; 2],
    far: f64,
}

impl Outline {
    fn spot(&self, i: usize) -> Spot {
        Spot { at: self.points[i], far: self.far[i] }
    }

    /// The outline at a distance along the surface, held to its ends.
    pub(crate) fn at(&self, far: f64) -> [f64; 2] {
        if self.points.len() < 2 {
            return [0.0, 0.0];
        }
        let i = self.far.partition_point(|f| *f < far).clamp(1, self.far.len() - 1);
        let (a, b) = (self.far[i - 1], self.far[i]);
        let share = if b > a { ((far - a) / (b - a)).clamp(0.0, 1.0) } else { 0.0 };
        [0, 1].map(|k| self.points[i - 1][k] + (self.points[i][k] - self.points[i - 1][k]) * share)
    }
}

/// Lays the shortest straight edge over a cut that rests on two rims: the
/// windows about its middle grow from `narrow` until the same two points hold
/// it through two wider ones; else the widest.
pub(crate) fn bridge(cut: &Outline, (narrow, reach): (f64, f64), widest: f64) -> Bridge {
    let mut same = 0;
    let mut before = None;
    let mut window = narrow;
    loop {
        let held = resting(cut, window);
        same = if held.is_some() && held == before { same + 1 } else { 0 };
        before = held;
        let rests = same >= 2;
        if rests || window > reach {
            let Some(ends) = held else { return Bridge::default() };
            return Bridge { rests, ..laid(cut, ends, widest) };
        }
        window *= WIDER;
    }
}

/// The two points of a window on which a straight edge over its middle rests.
fn resting(cut: &Outline, window: f64) -> Option<[Spot; 2]> {
    let inside = (0..cut.points.len()).filter(|i| cut.far[*i].abs() < window).map(|i| cut.spot(i));
    // The ends of the window count too, or a long face would seem to be a rim.
    let ends = [-window, window].map(|far| Spot { at: cut.at(far), far });
    let height = |s: &Spot| s.at[1] - NEARER * s.at[0].abs();
    let mut order: Vec<Spot> = inside.chain(ends).collect();
    order.sort_by(|a, b| {
        a.at[0].total_cmp(&b.at[0]).then(height(a).total_cmp(&height(b))).then(a.far.total_cmp(&b.far))
    });
    // The upper hull (A. Andrew, Information Processing Letters 9(5), 1979).
    let mut hull: Vec<Spot> = Vec::new();
    for spot in order {
        while let [.., a, b] = &hull[..] {
            let [u, v] = [b, &spot].map(|s| [s.at[0] - a.at[0], height(s) - height(a)]);
            if u[0] * v[1] - u[1] * v[0] < 0.0 {
                break;
            }
            hull.pop();
        }
        hull.push(spot);
    }
    hull.windows(2).map(|w| [w[0], w[1]]).find(|[l, r]| l.at[0] < 0.0 && r.at[0] >= 0.0)
}

fn laid(cut: &Outline, [l, r]: [Spot; 2], widest: f64) -> Bridge {
    let [p, q] = [l.at, r.at];
    let width = (q[0] - p[0]).hypot(q[1] - p[1]);
    let below = |i: usize| {
        let m = cut.points[i];
        ((q[0] - p[0]) * (p[1] - m[1]) - (q[1] - p[1]) * (p[0] - m[0])) / width.max(1e-12)
    };
    let (from, to) = (l.far.min(r.far), l.far.max(r.far));
    let first = cut.far.partition_point(|f| *f < from);
    let last = cut.far.partition_point(|f| *f <= to).max(first + 1) - 1;
    let inside = first..=last.min(cut.far.len() - 1);
    let depth = inside.clone().map(below).fold(0.0, f64::max);
    let to_bottom = if width <= widest { bottom(cut, inside, below, 0.9 * depth) } else { Vector3::zeros() };
    Bridge { width, depth, rests: false, to_bottom }
}

/// From the point of the line sideways to the middle of what lies deeper than a depth.
fn bottom(
    cut: &Outline,
    inside: std::ops::RangeInclusive<usize>,
    below: impl Fn(usize) -> f64,
    depth: f64,
) -> Vector3<f64> {
    // Where the outline passes the depth between one point and the next.
    let pass = |i: usize| {
        let (a, b) = (below(i), below(i + 1));
        let share = ((depth - a) / (b - a)).clamp(0.0, 1.0);
        [0, 1].map(|k| cut.points[i][k] + (cut.points[i + 1][k] - cut.points[i][k]) * share)
    };
    let mut steps = *inside.start()..*inside.end();
    let first = steps.clone().find(|i| below(*i) < depth && below(i + 1) >= depth);
    let last = steps.rfind(|i| below(*i) >= depth && below(i + 1) < depth);
    let (Some(a), Some(b)) = (first.map(pass), last.map(pass)) else { return Vector3::zeros() };
    cut.across * (0.5 * (a[0] + b[0]))
}

//! Cuts across a line: walking from a point of it over the surface in the plane
//! across, and what the outline of the cut says of width and depth.

use crate::crest::{Node, apex, place};
use crate::{Curvature, Shape};
use grisaille_mesh::{next, prev};
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
        let exit = if top_above == tail_above { next(half) } else { prev(half) };
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
    /// The bottom, if it has one.
    pub(crate) floor: Option<Floor>,
}

/// The bottom of a recess: from the foot of one wall to that of the other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Floor {
    /// Its left and its right end: the feet of the walls.
    pub(crate) ends: [Spot; 2],
    /// How far apart the walls are where they end, in mm.
    pub(crate) width: f64,
    /// How wide the recess is at two fifths of its depth, in mm.
    pub(crate) opening: f64,
}

impl Floor {
    /// Whether its walls are steep: a round or pointed bottom widens at once.
    pub(crate) fn is_flat(&self) -> bool {
        self.width > 0.75 * self.opening
    }

    /// Where between its ends the line lies, from 0 on the left to 1 on the right.
    pub(crate) fn share(&self) -> f64 {
        let [a, b] = self.ends.map(|e| e.at[0]);
        -a / (b - a).max(1e-9)
    }
}

/// A cut across a line: points relative to that of the line, in mm, how far each is along the
/// surface, and the face on the way there.
#[derive(Clone, Debug)]
pub(crate) struct Section {
    steps: Vec<(f64, Vector3<f64>, u32)>,
    along: Vector3<f64>,
    normal: Vector3<f64>,
    up: f64,
}

/// The outline of a cut: points beside and above the point of the line, in mm,
/// from the far left to the far right, and how far each is along the surface.
#[derive(Clone, Debug, Default)]
pub(crate) struct Outline {
    pub(crate) points: Vec<[f64; 2]>,
    pub(crate) far: Vec<f64>,
    faces: Vec<u32>,
    /// What one mm beside and one above are in space.
    axes: [Vector3<f64>; 2],
}

/// Walks on from a node, behind what was walked from `begin` before, and cuts off where the reach ends. Each
/// step is how far along the surface it lies, where from `begin`, and the face on the way there.
pub(crate) fn walked(
    shape: &Shape,
    start: Node,
    (along, over): (&Vector3<f64>, bool),
    begin: Point3<f64>,
    mut side: Vec<(f64, Vector3<f64>, u32)>,
    reach: f64,
) -> Vec<(f64, Vector3<f64>, u32)> {
    let behind = side.last().map_or(0.0, |s| s.0);
    walk(shape, start, along, over, |step| {
        let (far, point) = (behind + step.far, step.point - begin);
        let (before, last) = side.last().map_or((0.0, Vector3::zeros()), |s| (s.0, s.1));
        if far > reach && far > before {
            let end = last + (point - last) * ((reach - before).max(0.0) / (far - before));
            side.push((reach.max(before), end, step.face));
            return false;
        }
        side.push((far, point, step.face));
        true
    });
    side
}

/// Cuts a surface across a line, to `reach` on both sides. `up` is 1 for what lies below its
/// rims, −1 for what stands above its feet.
pub(crate) fn section(
    shape: &Shape,
    start: Node,
    (along, normal): (&Vector3<f64>, &Vector3<f64>),
    reach: f64,
    up: f64,
) -> Section {
    let begin = place(shape, start);
    let [mut one, other] =
        [false, true].map(|over| walked(shape, start, (along, over), begin, Vec::new(), reach));
    one.reverse();
    one.iter_mut().for_each(|s| s.0 = -s.0);
    one.push((0.0, Vector3::zeros(), start.half / 3));
    one.extend(other);
    Section { steps: one, along: *along, normal: *normal, up }
}

impl Section {
    /// A cut of a recess from its steps, the point of the line among them.
    pub(crate) fn new(
        steps: Vec<(f64, Vector3<f64>, u32)>,
        along: Vector3<f64>,
        normal: Vector3<f64>,
    ) -> Self {
        Self { steps, along, normal, up: 1.0 }
    }

    /// Its outline and the straight edge over it. Level is where the feet of the line stand; between
    /// high walls that may lie across the opening, and level is then taken from as far as rims are
    /// looked for.
    pub(crate) fn bridged(&self, (deviation, reach): (f64, f64)) -> (Outline, Bridge) {
        let over = |near: f64| {
            let outline = self.outline(near);
            let bridge = bridge(&outline, (deviation, reach));
            (outline, bridge)
        };
        let first = over(3.0 * deviation);
        if first.1.rests {
            return first;
        }
        let second = over(reach);
        if second.1.rests { second } else { first }
    }

    /// Its outline. Level is from its point `near` mm on the one side to that on the other: the
    /// normal of a rough bottom is not to be trusted for more than up and down.
    fn outline(&self, near: f64) -> Outline {
        let along = self.along;
        let at = |far: f64| {
            let i = self.steps.partition_point(|s| s.0 < far).min(self.steps.len() - 1);
            self.steps[i].1
        };
        let beside = self.normal.cross(&along).try_normalize(0.0).unwrap_or_else(Vector3::zeros);
        let level = at(near) - at(-near);
        let level = if level.dot(&beside) < 0.0 { -level } else { level };
        let level = level - along * level.dot(&along);
        let across = if level.norm() > 0.3 * near { level.normalize() } else { beside };
        let rise = along.cross(&across);
        let rise = if rise.dot(&self.normal) < 0.0 { -rise } else { rise };
        // Left is where across points away from.
        let turned = match &self.steps[..] {
            [first, .., last] => (last.1 - first.1).dot(&across) < 0.0,
            _ => false,
        };
        let mut out = Outline { axes: [across, rise * self.up], ..Outline::default() };
        let mut add = |sign: f64, step: &(f64, Vector3<f64>, u32)| {
            out.points.push(out.axes.map(|axis| step.1.dot(&axis)));
            out.far.push(sign * step.0);
            out.faces.push(step.2);
        };
        match turned {
            true => self.steps.iter().rev().for_each(|s| add(-1.0, s)),
            false => self.steps.iter().for_each(|s| add(1.0, s)),
        }
        if self.up < 0.0 {
            out.end_where_it_turns_back();
        }
        out
    }
}

/// How much lower land may lie for each mm that it is nearer, and still hold the
/// straight edge: level land beyond a rim must not take it over by a speck of noise.
const NEARER: f64 = 0.12;
/// Walls end and the bottom begins at so much of the depth: lower down specks on the bottom look
/// like walls.
const BOTTOM: f64 = 0.8;
/// By how much each window is wider than the last.
const WIDER: f64 = 1.25;

/// A point of an outline: beside and above, and how far along the surface.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Spot {
    pub(crate) at: [f64; 2],
    pub(crate) far: f64,
}

/// What turns back by less than this, mm, goes on: the faces of a blade are level but for noise.
const TURNED_BACK: f64 = 0.05;

impl Outline {
    /// An edge stands no farther than to where its outline turns back under it: what lies behind the rim of a thin
    /// plate is the plate's other face and none of its feet.
    fn end_where_it_turns_back(&mut self) {
        let middle = self.far.partition_point(|f| *f < 0.0);
        let beside = |i: usize| self.points[i][0];
        let right = (middle..self.points.len()).map(beside).fold(0.0, f64::max);
        let left = (0..middle).map(beside).fold(0.0, f64::min);
        let last = (middle..self.points.len()).rfind(|i| beside(*i) >= right - TURNED_BACK);
        let first = (0..middle).find(|i| beside(*i) <= left + TURNED_BACK);
        let (first, last) = (first.unwrap_or(middle), last.unwrap_or(middle));
        let kept = first..(last + 1).min(self.points.len());
        self.points = self.points[kept.clone()].to_vec();
        self.far = self.far[kept.clone()].to_vec();
        self.faces = self.faces[kept].to_vec();
    }

    fn spot(&self, i: usize) -> Spot {
        Spot { at: self.points[i], far: self.far[i] }
    }

    /// Where it bends down most within `reach` mm about a distance along the surface: what lies
    /// farthest below the straight line from one end of that to the other.
    pub(crate) fn sharpest(&self, about: f64, reach: f64) -> Spot {
        let [p, q] = [about - reach, about + reach].map(|far| self.at(far));
        let below = |s: &Spot| (q[1] - p[1]) * (s.at[0] - p[0]) - (q[0] - p[0]) * (s.at[1] - p[1]);
        let inside = (0..self.points.len()).map(|i| self.spot(i)).filter(|s| (s.far - about).abs() < reach);
        let here = Spot { at: self.at(about), far: about };
        inside.fold(here, |best, s| if below(&s) > below(&best) { s } else { best })
    }

    /// How far beside and above a way in space leads.
    pub(crate) fn beside_and_above(&self, way: &Vector3<f64>) -> [f64; 2] {
        self.axes.map(|axis| way.dot(&axis))
    }

    /// Where a spot lies, from the point of the line.
    pub(crate) fn in_space(&self, spot: Spot) -> Vector3<f64> {
        self.axes[0] * spot.at[0] + self.axes[1] * spot.at[1]
    }

    /// The face at a distance along the surface, held to its ends.
    pub(crate) fn face(&self, far: f64) -> Option<u32> {
        // A face is told with the point behind it, seen from the middle.
        let i = match far < 0.0 {
            true => self.far.partition_point(|f| *f <= far).saturating_sub(1),
            false => self.far.partition_point(|f| *f < far),
        };
        self.faces.get(i.min(self.faces.len().saturating_sub(1))).copied()
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
fn bridge(cut: &Outline, (narrow, reach): (f64, f64)) -> Bridge {
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
            return Bridge { rests, ..laid(cut, ends, narrow) };
        }
        window *= WIDER;
    }
}

/// The two points of a window on which a straight edge over its middle rests, one on either side along
/// the surface: where level is badly guessed, one that overhangs must not be held by two on one side.
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
    let held = hull.windows(2).map(|w| [w[0], w[1]]).find(|[l, r]| l.at[0] < 0.0 && r.at[0] >= 0.0);
    held.filter(|[l, r]| l.far <= 0.0 && r.far >= 0.0)
}

fn laid(cut: &Outline, [l, r]: [Spot; 2], narrow: f64) -> Bridge {
    let [p, q] = [l.at, r.at];
    let width = (q[0] - p[0]).hypot(q[1] - p[1]);
    let below = |i: usize| {
        let m = cut.points[i];
        ((q[0] - p[0]) * (p[1] - m[1]) - (q[1] - p[1]) * (p[0] - m[0])) / width.max(1e-12)
    };
    let first = cut.far.partition_point(|f| *f < l.far);
    let last = cut.far.partition_point(|f| *f <= r.far).max(first + 1) - 1;
    let inside = first..=last.min(cut.far.len() - 1);
    let depth = inside.clone().map(below).fold(0.0, f64::max);
    // Where the outline first goes below a share of the depth, and where it last comes up.
    let crossings = |share: f64| {
        let level = share * depth;
        let pass = |i: usize| {
            let (a, b) = (below(i), below(i + 1));
            let share = ((level - a) / (b - a)).clamp(0.0, 1.0);
            let mix = |a: f64, b: f64| a + (b - a) * share;
            Spot {
                at: [0, 1].map(|k| mix(cut.points[i][k], cut.points[i + 1][k])),
                far: mix(cut.far[i], cut.far[i + 1]),
            }
        };
        let mut steps = *inside.start()..*inside.end();
        let down = steps.clone().find(|i| below(*i) < level && below(i + 1) >= level)?;
        let up = steps.rfind(|i| below(*i) >= level && below(i + 1) < level)?;
        Some([pass(down), pass(up)])
    };
    // The foot of a wall lies about as far along it as it is high from there.
    let foot = |spot: Spot, sign: f64| {
        cut.sharpest(spot.far + sign * (1.0 - BOTTOM) * depth, 0.5 * depth.min(narrow))
    };
    let floor = crossings(BOTTOM).zip(crossings(0.4)).map(|([l, r], [a, b])| Floor {
        ends: [foot(l, 1.0), foot(r, -1.0)],
        width: r.at[0] - l.at[0],
        opening: b.at[0] - a.at[0],
    });
    Bridge { width, depth, rests: false, floor }
}

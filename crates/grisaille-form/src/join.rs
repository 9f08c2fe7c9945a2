//! Runs of a line joined where they meet.

use crate::crest::Node;
use crate::line::{lengths, tangent};
use nalgebra::{Matrix3, Point3, Vector3};

/// A part of a line, in even steps or not.
#[derive(Clone, Debug)]
pub(crate) struct Run {
    /// Where it crosses the net.
    pub(crate) nodes: Vec<Node>,
    /// Where it runs, evened out.
    pub(crate) places: Vec<Point3<f64>>,
    /// Which places were drawn out to a meeting point.
    pub(crate) drawn: Vec<bool>,
    /// Whether the last place is the first once more.
    pub(crate) closed: bool,
}

impl Run {
    /// `open` says of a node whether the surface ends there.
    pub(crate) fn new(
        nodes: Vec<Node>,
        places: &[Point3<f64>],
        closed: bool,
        deviation: f64,
        open: impl Fn(Node) -> bool,
    ) -> Self {
        let places = evened(places, closed, 0.5 * deviation);
        let mut run = Self { drawn: vec![false; nodes.len()], nodes, places, closed };
        if !closed {
            for last in [false, true] {
                let end = run.nodes[if last { run.nodes.len() - 1 } else { 0 }];
                run.straighten(last, 2.0 * deviation, open(end));
            }
        }
        run
    }

    /// Lays the last stretch of a free end along its course where it hooks off by
    /// more than 30°: at its end a line has nothing that holds it. Where the surface ends,
    /// too, half of what is averaged is missing, and 10° are enough.
    fn straighten(&mut self, last: bool, radius: f64, open: bool) {
        let (near, way) = self.course(last, radius);
        let hook = self.end(last) - near;
        if hook.dot(&way) > hook.norm() * if open { 0.985 } else { 0.866 } {
            return;
        }
        let far = lengths(&self.places);
        let whole = far[far.len() - 1];
        let stretch = (0.7 * radius).min(0.3 * whole);
        for (place, far) in self.places.iter_mut().zip(&far) {
            if (if last { whole - far } else { *far }) < stretch {
                *place = near + way * (*place - near).dot(&way).max(0.0);
            }
        }
    }

    fn end(&self, last: bool) -> Point3<f64> {
        self.places[if last { self.places.len() - 1 } else { 0 }]
    }

    /// The direction in which it would go on beyond an end.
    fn outward(&self, last: bool, within: f64) -> Vector3<f64> {
        let n = if last { self.places.len() - 1 } else { 0 };
        let along = tangent(&self.places, false, n, within);
        if last { along } else { -along }
    }

    /// Its course before the last radius of an end, where others bend it: a point
    /// and the direction to the end.
    fn course(&self, last: bool, radius: f64) -> (Point3<f64>, Vector3<f64>) {
        let far = lengths(&self.places);
        let whole = far[far.len() - 1];
        let at = |from_end: f64| {
            let from_end = if last { whole - from_end } else { from_end };
            self.places[far.partition_point(|f| *f < from_end).min(far.len() - 1)]
        };
        let (near, away) = (at((0.7 * radius).min(0.3 * whole)), at((3.0 * radius).min(0.9 * whole)));
        let way = (near - away).try_normalize(0.0);
        way.map_or_else(|| (self.end(last), self.outward(last, radius)), |way| (near, way))
    }

    fn turn_round(&mut self) {
        self.nodes.reverse();
        self.places.reverse();
        self.drawn.reverse();
    }

    /// Leads an end to a point, in place of its last stretch.
    fn draw_to(&mut self, last: bool, point: Point3<f64>, stretch: f64) {
        let far = lengths(&self.places);
        let whole = far[far.len() - 1];
        let keep =
            (0..far.len()).filter(|n| if last { far[*n] <= whole - stretch } else { far[*n] >= stretch });
        let keep: Vec<usize> = keep.collect();
        if let [first, .., end] = keep[..] {
            self.nodes = self.nodes[first..=end].to_vec();
            self.places = self.places[first..=end].to_vec();
            self.drawn = self.drawn[first..=end].to_vec();
        }
        let at = if last { self.places.len() } else { 0 };
        let node = self.nodes[if last { self.nodes.len() - 1 } else { 0 }];
        self.nodes.insert(at, node);
        self.places.insert(at, point);
        self.drawn.insert(at, true);
    }
}

/// Means over all that lies within so many mm along the line; ends stay.
fn evened(places: &[Point3<f64>], closed: bool, within: f64) -> Vec<Point3<f64>> {
    let far = lengths(places);
    let count = places.len();
    let whole = far[count - 1];
    (0..count)
        .map(|n| {
            // As far to one side as to the other, so that the ends stay.
            let reach =
                if closed { within.min(0.25 * whole) } else { within.min(far[n]).min(whole - far[n]) };
            let (mut sum, mut weight) = (Vector3::zeros(), 0.0);
            let mut add = |i: usize, shift: f64| {
                let off = (far[i] + shift - far[n]).abs();
                if off <= reach {
                    let own = 0.5 * (far[(i + 1).min(count - 1)] - far[i.saturating_sub(1)]) + 1e-9;
                    sum += places[i].coords * own;
                    weight += own;
                }
            };
            let mut i = n;
            while i > 0 && far[n] - far[i - 1] <= reach {
                i -= 1;
            }
            while i < count && far[i] - far[n] <= reach {
                add(i, 0.0);
                i += 1;
            }
            if closed {
                let mut i = 1;
                while i < count && far[i] + whole - far[n] <= reach {
                    add(i, whole);
                    i += 1;
                }
                let mut i = count - 1;
                while i > 0 && far[n] + whole - far[i - 1] <= reach {
                    add(i - 1, -whole);
                    i -= 1;
                }
            }
            if weight > 0.0 { Point3::from(sum / weight) } else { places[n] }
        })
        .collect()
}

/// Joins runs whose ends lie within about two radii and go on in each other, and
/// draws three or more that nearly meet to one point.
pub(crate) fn joined(mut runs: Vec<Run>, radius: f64) -> Vec<Run> {
    let near = 1.5 * radius;
    let ends: Vec<(usize, bool)> =
        (0..runs.len()).filter(|r| !runs[*r].closed).flat_map(|r| [(r, false), (r, true)]).collect();
    let points: Vec<Point3<f64>> = ends.iter().map(|(r, last)| runs[*r].end(*last)).collect();
    let ways: Vec<Vector3<f64>> =
        ends.iter().map(|(r, last)| runs[*r].outward(*last, 2.0 * radius)).collect();
    let mut pairs = pairs_within(&points, near);
    pairs.sort_by(|a, b| {
        let far = |p: &(usize, usize)| (points[p.1] - points[p.0]).norm();
        far(a).total_cmp(&far(b)).then(a.cmp(b))
    });
    // The nearest first, and none that does not suit all: in a crowd, meetings
    // must not grow from neighbour to neighbour.
    let mut group: Vec<usize> = (0..ends.len()).collect();
    let mut members: Vec<Vec<usize>> = (0..ends.len()).map(|e| vec![e]).collect();
    let suits = |a: usize, b: usize| {
        // The two ends of one short run are not a meeting.
        let own =
            ends[a].0 == ends[b].0 && *lengths(&runs[ends[a].0].places).last().unwrap_or(&0.0) < 4.0 * near;
        !own && (points[b] - points[a]).norm() <= near && meets(&points, &ways, a, b, radius)
    };
    for (a, b) in pairs {
        let (to, from) = (group[a].min(group[b]), group[a].max(group[b]));
        if to != from && members[to].iter().all(|a| members[from].iter().all(|b| suits(*a, *b))) {
            let moved = std::mem::take(&mut members[from]);
            for e in &moved {
                group[*e] = to;
            }
            members[to].extend(moved);
        }
    }
    let mut links: Vec<(usize, usize)> = Vec::new();
    for mut group in members.into_iter().filter(|g| g.len() > 1) {
        group.sort_unstable();
        if let [a, b] = group[..]
            && ways[a].dot(&-ways[b]) > 0.6
        {
            links.push((a, b));
            continue;
        }
        // Two that end side by side, as in a trench that ends, do not meet.
        if let [a, b] = group[..]
            && ways[a].dot(&ways[b]) > 0.9
        {
            continue;
        }
        let courses: Vec<_> = group.iter().map(|e| runs[ends[*e].0].course(ends[*e].1, radius)).collect();
        let middle = group.iter().map(|e| points[*e].coords).sum::<Vector3<f64>>() / group.len() as f64;
        let meeting = meeting(middle, &courses, near);
        for e in group {
            let (r, last) = ends[e];
            let gap = meeting - points[e];
            // Not sideways: what leads elsewhere stays as it is.
            if gap.norm() > 0.7 * radius && gap.dot(&ways[e]) < 0.5 * gap.norm() {
                continue;
            }
            runs[r].draw_to(last, meeting, 0.5 * radius);
        }
    }
    linked(runs, &ends, &links)
}

/// Whether two ends point toward each other, or lie almost together.
fn meets(points: &[Point3<f64>], ways: &[Vector3<f64>], a: usize, b: usize, radius: f64) -> bool {
    let between = points[b] - points[a];
    let far = between.norm();
    far < 0.5 * radius || between.dot(&ways[a]) > 0.3 * far && between.dot(&ways[b]) < -0.3 * far
}

/// The point nearest to where all courses lead, not farther than `near` from their ends' middle.
fn meeting(middle: Vector3<f64>, courses: &[(Point3<f64>, Vector3<f64>)], near: f64) -> Point3<f64> {
    // Least squares, with a slight pull to the middle where ways are nearly one.
    let mut left = Matrix3::identity() * 0.02;
    let mut right = middle * 0.02;
    for (point, way) in courses {
        let across = Matrix3::identity() - way * way.transpose();
        left += across;
        right += across * point.coords;
    }
    let found = left.try_inverse().map_or(middle, |inverse| inverse * right);
    let off = found - middle;
    let off = if off.norm() > near { off * (near / off.norm()) } else { off };
    Point3::from(middle + off)
}

/// All pairs of points within a distance, by a sort along x.
fn pairs_within(points: &[Point3<f64>], near: f64) -> Vec<(usize, usize)> {
    let mut order: Vec<usize> = (0..points.len()).collect();
    order.sort_by(|a, b| points[*a].x.total_cmp(&points[*b].x).then(a.cmp(b)));
    let mut out = Vec::new();
    for (k, &a) in order.iter().enumerate() {
        for &b in &order[k + 1..] {
            if points[b].x - points[a].x > near {
                break;
            }
            if (points[b] - points[a]).norm() <= near {
                out.push((a.min(b), a.max(b)));
            }
        }
    }
    out.sort_unstable();
    out
}

/// Runs strung together at the given pairs of ends.
fn linked(runs: Vec<Run>, ends: &[(usize, bool)], links: &[(usize, usize)]) -> Vec<Run> {
    let mut runs: Vec<Option<Run>> = runs.into_iter().map(Some).collect();
    // Which run an end is on now, and at which of its ends.
    let mut now: Vec<(usize, bool)> = ends.to_vec();
    for &(a, b) in links {
        let ((ra, la), (rb, lb)) = (now[a], now[b]);
        if ra == rb {
            if let Some(run) = &mut runs[ra] {
                run.nodes.push(run.nodes[0]);
                run.places.push(run.places[0]);
                run.drawn.push(run.drawn[0]);
                run.closed = true;
            }
            continue;
        }
        let (Some(mut one), Some(mut two)) = (runs[ra].take(), runs[rb].take()) else { continue };
        if !la {
            one.turn_round();
        }
        if lb {
            two.turn_round();
        }
        one.nodes.extend(two.nodes);
        one.places.extend(two.places);
        one.drawn.extend(two.drawn);
        runs[ra] = Some(one);
        for at in &mut now {
            if at.0 == ra {
                // What was its other end is its first now.
                *at = (ra, at.1 == la);
            } else if at.0 == rb {
                *at = (ra, at.1 != lb);
            }
        }
    }
    runs.into_iter().flatten().collect()
}

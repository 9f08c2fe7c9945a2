//! Recesses where one piece is pushed into another without being joined to it.

use crate::crest::{Node, place};
use crate::crossing::{Crossing, Seam, seams_of};
use crate::line::{Line, LineSettings, lengths, tangent};
use crate::measure::middle;
use crate::section::{Bridge, Outline, Section, walked};
use crate::{Curvature, Shape};
use grisaille_base::{Stop, Watch};
use grisaille_sight::Surface;
use nalgebra::{Point3, Vector3};

/// Recesses where pieces pass through each other, the most important first: what lies open of both
/// meets there in a crease that no edge of the net runs along. Where a piece is buried in a third
/// one there is none. A piece that passes through itself is one net, and is not asked.
///
/// # Errors
/// [`Stop`] when cancelled.
pub fn seams(
    surface: &Surface,
    shape: &Shape,
    curved: &Curvature,
    settings: &LineSettings,
    watch: &Watch,
) -> Result<Vec<Line>, Stop> {
    let span = watch.span("seams", 2);
    let found = seams_of(surface, shape, watch)?;
    span.advance(1);
    let runs: Vec<Seam> = found.iter().flat_map(|s| kept(surface, curved, shape, s, settings)).collect();
    let lines = watch.map(runs.len(), |r| line(shape, curved, &runs[r], settings))?;
    let mut out: Vec<Line> = lines
        .into_iter()
        .flatten()
        .filter(|l| l.length >= settings.shortest.0 && l.depth >= settings.shallowest.0)
        .collect();
    out.sort_by(|a, b| b.importance.total_cmp(&a.importance));
    span.count("lines", out.len() as u64);
    span.advance(1);
    Ok(out)
}

/// The normals of the two faces at a crossing, as curvature evened them out.
fn normals(curved: &Curvature, shape: &Shape, crossing: &Crossing) -> [Vector3<f64>; 2] {
    crossing.faces.map(|f| {
        let sum: Vector3<f32> = shape.faces()[f as usize].iter().map(|v| curved.normal[*v as usize]).sum();
        sum.cast::<f64>().try_normalize(0.0).unwrap_or_else(Vector3::zeros)
    })
}

/// By how many degrees the surface turns over a crossing.
fn turn(curved: &Curvature, shape: &Shape, crossing: &Crossing) -> f64 {
    let [a, b] = normals(curved, shape, crossing);
    a.dot(&b).clamp(-1.0, 1.0).acos().to_degrees()
}

/// The stretches of a seam that lie open and turn enough, with short gaps closed.
fn kept(
    surface: &Surface,
    curved: &Curvature,
    shape: &Shape,
    seam: &Seam,
    settings: &LineSettings,
) -> Vec<Seam> {
    let mut crossings = seam.crossings.clone();
    let shown = |c: &Crossing| {
        let open = c.faces.iter().all(|f| surface.open_corners(*f as usize) > 0);
        open && turn(curved, shape, c) >= settings.follow_degrees
    };
    let mut closed = seam.closed;
    if closed && let Some(gap) = crossings.iter().position(|c| !shown(c)) {
        // Begins in a gap.
        crossings.pop();
        crossings.rotate_left(gap);
        closed = false;
    }
    let places: Vec<Point3<f64>> = crossings.iter().map(|c| c.point).collect();
    let far = lengths(&places);
    let mut spans: Vec<[usize; 2]> = Vec::new();
    for n in (0..crossings.len()).filter(|n| shown(&crossings[*n])) {
        match spans.last_mut() {
            Some(span) if span[1] + 1 == n || far[n] - far[span[1]] < settings.brush.0 => span[1] = n,
            _ => spans.push([n, n]),
        }
    }
    let begins = |c: &Crossing| turn(curved, shape, c) >= settings.begin_degrees;
    spans
        .into_iter()
        .map(|[a, b]| &crossings[a..=b])
        .filter(|part| part.iter().any(begins))
        .map(|part| Seam { crossings: part.to_vec(), closed })
        .collect()
}

/// A seam measured by cuts across it, and thinned out.
fn line(shape: &Shape, curved: &Curvature, seam: &Seam, settings: &LineSettings) -> Option<Line> {
    let deviation = 0.5 * settings.radius().0;
    let places: Vec<Point3<f64>> = seam.crossings.iter().map(|c| c.point).collect();
    let far = lengths(&places);
    let length = *far.last()?;
    let mut line = Line {
        points: Vec::new(),
        faces: Vec::new(),
        beside: Vec::new(),
        closed: seam.closed,
        length,
        width: 0.0,
        depth: 0.0,
        bounded: false,
        turn: 0.0,
        radius: 0.0,
        importance: 0.0,
    };
    let mut cuts: Vec<Bridge> = Vec::new();
    let mut turns = Vec::new();
    let mut next = 0.0;
    for (n, crossing) in seam.crossings.iter().enumerate() {
        let last = n + 1 == seam.crossings.len();
        if far[n] < next && (!last || seam.closed) {
            continue;
        }
        next = far[n] + 0.5 * deviation;
        let along = tangent(&places, seam.closed, n, deviation);
        let (outline, over) = across(shape, curved, crossing, &along, (deviation, settings.reach.0));
        let at = |far: f64| outline.face(far).unwrap_or(crossing.faces[0]);
        line.points.push(crossing.point.cast());
        line.faces.push(crossing.faces[0]);
        line.beside.push([-0.5, 0.5].map(|side| at(side * settings.brush.0)));
        cuts.push(over);
        turns.push(turn(curved, shape, crossing));
    }
    line.width = middle(cuts.iter().map(|c| c.width).collect());
    line.depth = middle(cuts.iter().map(|c| c.depth).collect());
    line.bounded = 2 * cuts.iter().filter(|c| c.rests).count() > cuts.len();
    line.turn = middle(turns);
    line.importance = length * line.depth;
    Some(line)
}

/// The cut across a crossing: over each piece away from the other.
fn across(
    shape: &Shape,
    curved: &Curvature,
    crossing: &Crossing,
    along: &Vector3<f64>,
    (deviation, reach): (f64, f64),
) -> (Outline, Bridge) {
    let up = normals(curved, shape, crossing);
    let own = crossing.faces.map(|f| shape.normals()[f as usize].cast::<f64>());
    let [one, other] = [0, 1].map(|k| {
        // Out of the other piece, along this one.
        let way = own[1 - k] - own[k] * own[k].dot(&own[1 - k]);
        side(shape, crossing.point, crossing.faces[k], (along, &way), reach)
    });
    let mut steps: Vec<(f64, Vector3<f64>, u32)> =
        one.into_iter().rev().map(|(f, p, face)| (-f, p, face)).collect();
    steps.push((0.0, Vector3::zeros(), crossing.faces[0]));
    steps.extend(other);
    let cut = Section::new(steps, *along, up[0] + up[1]);
    cut.bridged((deviation, reach))
}

/// The way over the surface from a point in a face to one side, in the plane across `along`.
fn side(
    shape: &Shape,
    from: Point3<f64>,
    face: u32,
    (along, way): (&Vector3<f64>, &Vector3<f64>),
    reach: f64,
) -> Vec<(f64, Vector3<f64>, u32)> {
    let above = |v: u32| along.dot(&(shape.positions()[v as usize].cast::<f64>() - from));
    // The side of the face through which the plane leaves it that way.
    let exits = (3 * face..3 * face + 3).filter_map(|half| {
        let [p, q] = shape.ends(half);
        let (a, b) = (above(p), above(q));
        if (a > 0.0) == (b > 0.0) {
            return None;
        }
        let node = Node { half, at: (a / (a - b)) as f32 };
        let off = place(shape, node) - from;
        Some((off.dot(way), node, off))
    });
    let Some((_, node, first)) = exits.max_by(|a, b| a.0.total_cmp(&b.0)) else { return Vec::new() };
    walked(shape, node, (along, true), from, vec![(first.norm(), first, face)], reach)
}

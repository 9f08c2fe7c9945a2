//! A drawing: the visible lines of a view as strokes, ready for paper at any size.

use crate::contour::{DrawnEdge, drawn_edges};
use crate::{Frame, LineKind, Screen};
use grisaille_base::{FaceId, Stop, Watch};
use grisaille_mesh::{Mesh, face_cross};
use nalgebra::{Point3, Vector3};
use std::collections::BTreeMap;

/// What is shorter than this share of the shortest loose contour is a dot and left out.
const DOT: f64 = 0.5;

/// How a drawing is made. Lengths are pixels of its frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DrawingSettings {
    /// Edges that turn by more degrees than this are creases.
    pub crease: f64,
    /// How far a stroke may leave the line that it stands for.
    pub tolerance_px: f64,
    /// Contours with a loose end that are shorter than this are left out, and creases shorter than thrice this.
    pub shortest_px: f64,
}

impl DrawingSettings {
    /// For paper of so many pixels on a millimetre: strokes leave their lines by a twentieth of a mm, contours begin at
    /// half a mm.
    #[must_use]
    pub fn on_paper(pixels_per_mm: f64) -> Self {
        Self { crease: 40.0, tolerance_px: 0.05 * pixels_per_mm, shortest_px: 0.5 * pixels_per_mm }
    }
}

/// A line as it is drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Stroke {
    /// What it is.
    pub kind: LineKind,
    /// Pixels across and down.
    pub points: Vec<[f64; 2]>,
    /// Whether its end is joined to its beginning.
    pub closed: bool,
}

impl Stroke {
    /// How long it is, in pixels.
    #[must_use]
    pub fn length(&self) -> f64 {
        let steps = self.points.windows(2).map(|w| far(w[0], w[1])).sum::<f64>();
        match (self.closed, self.points.first(), self.points.last()) {
            (true, Some(a), Some(b)) => steps + far(*a, *b),
            _ => steps,
        }
    }
}

/// The visible part of an edge of the mesh.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SeenEdge {
    /// The vertices at its ends.
    pub ends: [u32; 2],
    /// From and to which share of its way, 0 to 1, it is seen.
    pub part: [f64; 2],
    /// What it is.
    pub kind: LineKind,
}

/// The contours and creases of a mesh in a frame, hidden parts left out, before anything is joined or simplified.
/// Faces that `keep` does not admit hide nothing and have no lines.
///
/// # Errors
/// [`Stop`] when cancelled.
pub fn seen_edges(
    mesh: &Mesh,
    keep: impl Fn(FaceId) -> bool + Sync + Send,
    frame: &Frame,
    crease: f64,
    watch: &Watch,
) -> Result<(Screen, Vec<SeenEdge>), Stop> {
    let kept: Vec<[u32; 3]> =
        (0..).zip(mesh.faces()).filter(|(f, _)| keep(FaceId(*f))).map(|(_, face)| *face).collect();
    let screen = Screen::new(mesh.positions(), &kept, |_| true, frame, watch)?;
    let normals: Vec<Vector3<f64>> = watch.map(kept.len(), |f| {
        face_cross(mesh.positions(), kept[f]).try_normalize(0.0).unwrap_or_else(Vector3::zeros)
    })?;
    let edges = drawn_edges(&screen, &normals, crease, watch)?;
    let seen: Vec<Vec<[f64; 2]>> = watch.map(edges.len(), |i| {
        let [a, b] = edges[i].ends.map(|v| screen.corner(v));
        a.zip(b).map_or_else(Vec::new, |(a, b)| screen.seen([a, b], 0.0))
    })?;
    let parts = edges.iter().zip(&seen).flat_map(|(DrawnEdge { ends, kind }, parts)| {
        parts.iter().map(|part| SeenEdge { ends: *ends, part: *part, kind: *kind })
    });
    Ok((screen, parts.collect()))
}

/// Draws the contours and creases of a mesh as strokes.
///
/// # Errors
/// [`Stop`] when cancelled.
pub fn drawing(
    mesh: &Mesh,
    keep: impl Fn(FaceId) -> bool + Sync + Send,
    frame: &Frame,
    settings: &DrawingSettings,
    watch: &Watch,
) -> Result<(Screen, Vec<Stroke>), Stop> {
    let (screen, parts) = seen_edges(mesh, keep, frame, settings.crease, watch)?;
    let strokes = joined(&screen, &parts, watch)?;
    Ok((screen, strokes.into_iter().filter_map(|chain| finished(chain, settings)).collect()))
}

/// What is seen, joined to strokes, each with whether one of its ends is loose.
pub(crate) fn joined(
    screen: &Screen,
    parts: &[SeenEdge],
    watch: &Watch,
) -> Result<Vec<(Stroke, bool)>, Stop> {
    let mut strokes = Vec::new();
    for kind in [LineKind::Contour, LineKind::Crease] {
        let own: Vec<SeenEdge> = parts.iter().filter(|p| p.kind == kind).copied().collect();
        strokes.extend(chains(screen, &own, watch)?);
    }
    Ok(strokes)
}

/// A stroke with no more points than it needs; `None` where it is left out.
pub(crate) fn finished((chain, loose): (Stroke, bool), settings: &DrawingSettings) -> Option<Stroke> {
    let shortest = match chain.kind {
        LineKind::Crease => 3.0 * settings.shortest_px,
        _ => settings.shortest_px,
    };
    let length = chain.length();
    // A gap in a line that is no longer than two pens are wide is not seen, whatever it hangs on.
    if length < DOT * settings.shortest_px || loose && length < shortest {
        return None;
    }
    let points = simplified(&chain.points, chain.closed, settings.tolerance_px);
    Some(Stroke { points, ..chain })
}

impl Screen {
    /// A line through points in mm as strokes, hidden parts left out; it may lie so many mm behind what is seen. Points
    /// that are not finite part it.
    #[must_use]
    pub fn course(&self, points: &[Point3<f32>], closed: bool, behind_mm: f64) -> Vec<Stroke> {
        let mut strokes: Vec<Stroke> = Vec::new();
        let mut open = false;
        let first = closed.then(|| points.first()).flatten();
        let way: Vec<[f64; 3]> = points.iter().chain(first).map(|p| self.frame().project(*p)).collect();
        for w in way.windows(2) {
            let at = |t: f64| [0, 1].map(|k| w[0][k] + t * (w[1][k] - w[0][k]));
            let parts = self.seen([w[0], w[1]], behind_mm);
            for [from, to] in &parts {
                match strokes.last_mut().filter(|_| open && *from == 0.0) {
                    Some(stroke) => stroke.points.push(at(*to)),
                    None => strokes.push(Stroke {
                        kind: LineKind::Course,
                        points: vec![at(*from), at(*to)],
                        closed: false,
                    }),
                }
                open = *to == 1.0;
            }
            open &= !parts.is_empty();
        }
        strokes
    }
}

/// Parts that share vertices, joined as far as no third one meets them, and whether one of their ends is loose: hangs
/// on nothing.
fn chains(screen: &Screen, parts: &[SeenEdge], watch: &Watch) -> Result<Vec<(Stroke, bool)>, Stop> {
    // The vertex at each end of a part, if it reaches it.
    let ends: Vec<[Option<u32>; 2]> = parts
        .iter()
        .map(|p| [(p.part[0] == 0.0).then_some(p.ends[0]), (p.part[1] == 1.0).then_some(p.ends[1])])
        .collect();
    let mut at_vertex: BTreeMap<u32, Vec<(usize, usize)>> = BTreeMap::new();
    for (i, ends) in ends.iter().enumerate() {
        for (k, v) in ends.iter().enumerate() {
            if let Some(v) = v {
                at_vertex.entry(*v).or_default().push((i, k));
            }
        }
    }
    let next = |i: usize, k: usize| -> Option<(usize, usize)> {
        match at_vertex.get(&ends[i][k]?)?.as_slice() {
            [a, b] => Some(if *a == (i, k) { *b } else { *a }),
            _ => None,
        }
    };
    let place = |i: usize, k: usize| -> [f64; 2] {
        let [a, b] = parts[i].ends.map(|v| screen.corner(v).unwrap_or_default());
        let t = parts[i].part[k];
        [0, 1].map(|c| a[c] + t * (b[c] - a[c]))
    };
    let hangs =
        |i: usize, k: usize| ends[i][k].is_none_or(|v| at_vertex.get(&v).is_none_or(|all| all.len() < 2));
    let mut used = vec![false; parts.len()];
    let mut out = Vec::new();
    let mut walk = |i: usize, k: usize, used: &mut Vec<bool>| {
        // From end k of part i onward to the other one.
        let (mut part, mut enter) = (i, k);
        let mut points = vec![place(i, k)];
        let closed = loop {
            used[part] = true;
            points.push(place(part, 1 - enter));
            match next(part, 1 - enter) {
                Some((n, _)) if n == i && used[n] => break true,
                Some((n, e)) if !used[n] => (part, enter) = (n, e),
                _ => break false,
            }
        };
        if closed {
            points.pop();
        }
        let loose = !closed && (hangs(i, k) || hangs(part, 1 - enter));
        out.push((Stroke { kind: parts[i].kind, points, closed }, loose));
    };
    for i in 0..parts.len() {
        if i % 4096 == 0 {
            watch.check()?;
        }
        for k in 0..2 {
            if !used[i] && next(i, k).is_none() {
                walk(i, k, &mut used);
            }
        }
    }
    for i in 0..parts.len() {
        if !used[i] {
            walk(i, 0, &mut used);
        }
    }
    Ok(out)
}

/// The points that a stroke needs so as not to leave its line by more than the tolerance (D. H. Douglas, T. K. Peucker,
/// "Algorithms for the reduction of the number of points required to represent a digitized line", 1973).
pub(crate) fn simplified(line: &[[f64; 2]], closed: bool, tolerance: f64) -> Vec<[f64; 2]> {
    let mut points = line.to_vec();
    if closed {
        points.extend(line.first());
    }
    if points.len() < 3 {
        return points;
    }
    let last = points.len() - 1;
    let mut keep = vec![false; points.len()];
    (keep[0], keep[last]) = (true, true);
    let mut open = vec![(0, last)];
    while let Some((a, b)) = open.pop() {
        let off = |i: &usize| from_line(points[*i], points[a], points[b]);
        if let Some(far) = (a + 1..b).max_by(|i, j| off(i).total_cmp(&off(j)))
            && off(&far) > tolerance
        {
            keep[far] = true;
            open.extend([(a, far), (far, b)]);
        }
    }
    let mut kept: Vec<[f64; 2]> = points.iter().zip(&keep).filter(|(_, k)| **k).map(|(p, _)| *p).collect();
    if closed {
        kept.pop();
    }
    kept
}

/// The distance of a place from the straight line between two.
fn from_line(p: [f64; 2], a: [f64; 2], b: [f64; 2]) -> f64 {
    let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
    let t = ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / (dx * dx + dy * dy).max(f64::MIN_POSITIVE);
    let t = t.clamp(0.0, 1.0);
    far(p, [a[0] + t * dx, a[1] + t * dy])
}

fn far(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

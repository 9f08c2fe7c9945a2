//! The patch that is laid flat: a disc of faces that grows from one of them, nearest first.
//!
//! A face is joined along one edge, or along two that meet in one point of the patch; so the patch stays a disc
//! whatever the surface does, and is cut where it meets itself.

use super::PatchSettings;
use crate::Shape;
use grisaille_base::{Stop, Watch};
use std::cmp::Ordering;
use std::collections::{BinaryHeap, HashMap};

/// More faces than this are more than any template shows.
const MOST: usize = 60_000;

/// Faces with points of their own.
#[derive(Debug, Default)]
pub(super) struct Patch {
    /// The vertex of the shape that each point stands for.
    pub(super) vertices: Vec<u32>,
    /// Faces by their points.
    pub(super) faces: Vec<[u32; 3]>,
    /// The face of the shape that each of these is.
    pub(super) source: Vec<u32>,
    /// For each face but the first the corner, 0 to 2, before the edge along which it was joined.
    pub(super) joined: Vec<u8>,
}

/// A face to be looked at, with how far it lies from the first along the surface, mm.
#[derive(PartialEq)]
struct Next {
    far: f64,
    face: u32,
}

impl Eq for Next {}

impl Ord for Next {
    fn cmp(&self, other: &Self) -> Ordering {
        // The nearest first; of equals the one with the lower number.
        other.far.total_cmp(&self.far).then(other.face.cmp(&self.face))
    }
}

impl PartialOrd for Next {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

pub(super) fn grow(
    shape: &Shape,
    from: u32,
    settings: &PatchSettings<'_>,
    watch: &Watch,
) -> Result<Patch, Stop> {
    let mut patch = Patch::default();
    if shape.areas().get(from as usize).is_none_or(|area| !area.is_normal()) {
        return Ok(patch);
    }
    let middle = |f: u32| {
        let [a, b, c] = shape.faces()[f as usize].map(|v| shape.positions()[v as usize].cast::<f64>());
        (a.coords + b.coords + c.coords) / 3.0
    };
    // The patch's face of each of the shape's.
    let mut known: HashMap<u32, u32> = HashMap::new();
    let mut best: HashMap<u32, f64> = HashMap::from([(from, 0.0)]);
    let mut queue = BinaryHeap::from([Next { far: 0.0, face: from }]);
    while let Some(Next { far, face }) = queue.pop() {
        if known.contains_key(&face) || patch.faces.len() >= MOST {
            continue;
        }
        watch.check()?;
        let points = patch.points_of(shape, face, &known, settings.crease);
        let Some((points, joined)) = points else { continue };
        known.insert(face, patch.faces.len() as u32);
        patch.faces.push(points);
        patch.source.push(face);
        patch.joined.push(joined);
        for half in 3 * face..3 * face + 3 {
            let Some(twin) = shape.across(half).filter(|_| passes(shape, half, settings.crease)) else {
                continue;
            };
            let next = twin / 3;
            if known.contains_key(&next) || !shape.areas()[next as usize].is_normal() || !(settings.own)(next)
            {
                continue;
            }
            // Through the middle of the edge, so that long faces are not run round.
            let [a, b] = shape.ends(half).map(|v| shape.positions()[v as usize].cast::<f64>().coords);
            let edge = 0.5 * (a + b);
            let there = far + (edge - middle(face)).norm() + (middle(next) - edge).norm();
            let better = best.get(&next).is_none_or(|known| there < *known);
            if there <= settings.radius && better {
                best.insert(next, there);
                queue.push(Next { far: there, face: next });
            }
        }
    }
    Ok(patch)
}

fn passes(shape: &Shape, half: u32, crease: f64) -> bool {
    shape.turn(half).abs() <= crease
}

impl Patch {
    /// The points of a face that is to be joined to the patch, and the corner before the edge of the join; `None` where
    /// it touches no face of it.
    fn points_of(
        &mut self,
        shape: &Shape,
        face: u32,
        known: &HashMap<u32, u32>,
        crease: f64,
    ) -> Option<([u32; 3], u8)> {
        let corners = shape.faces()[face as usize];
        if known.is_empty() {
            self.vertices.extend(corners);
            return Some(([0, 1, 2], 0));
        }
        // Each edge that the patch has from the other side: its two points, in this face's direction.
        let edge = |c: u32| {
            let half = 3 * face + c;
            let twin = shape.across(half).filter(|_| passes(shape, half, crease))?;
            let there = self.faces[*known.get(&(twin / 3))? as usize];
            let corner = twin as usize % 3;
            Some([there[(corner + 1) % 3], there[corner]])
        };
        let edges = [edge(0), edge(1), edge(2)];
        // Of the edges the one whose face has been there longest.
        let since = |c: &usize| {
            let twin = shape.across(3 * face + *c as u32);
            twin.and_then(|t| known.get(&(t / 3))).copied().unwrap_or(u32::MAX)
        };
        let first = (0..3).filter(|c| edges[*c].is_some()).min_by_key(since)?;
        let [a, b] = edges[first]?;
        let (second, third) = ((first + 1) % 3, (first + 2) % 3);
        // The third corner is known where a neighbouring edge meets the first in one point of the patch.
        let known_corner = match (edges[second], edges[third]) {
            (Some([from, to]), _) if from == b => Some(to),
            (_, Some([from, to])) if to == a => Some(from),
            _ => None,
        };
        // A closed surface is left open at its last face.
        let closes =
            known_corner.is_some_and(|c| edges[second] == Some([b, c]) && edges[third] == Some([c, a]));
        let c = match known_corner {
            Some(c) if !closes => c,
            _ => {
                self.vertices.push(corners[third]);
                self.vertices.len() as u32 - 1
            }
        };
        let mut points = [0; 3];
        points[first] = a;
        points[second] = b;
        points[third] = c;
        Some((points, first as u8))
    }
}

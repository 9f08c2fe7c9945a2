//! Lids over small holes: for questions about inside and outside only. The surface itself,
//! its area and its volume stay as they are.

use crate::edge::Edges;
use crate::mesh::{Bounds, Piece};
use grisaille_base::{Code, Finding, PieceId, Place};
use nalgebra::Point3;
use std::collections::HashMap;

/// A hole is small up to this share of its piece's diagonal across: a cup's mouth is not.
const WIDEST: f64 = 0.05;
/// And up to this share of its piece's surface.
const LARGEST: f64 = 0.01;

/// A triangle of a lid, wound as its piece is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lid {
    /// The piece with the hole.
    pub piece: PieceId,
    /// Corners in scene millimetres.
    pub corners: [Point3<f32>; 3],
}

/// Small holes and their lids.
#[derive(Default)]
pub(crate) struct Holes {
    /// Lids of pieces that these close.
    pub(crate) lids: Vec<Lid>,
    count: u64,
    /// How far the widest is across, in mm.
    widest: f64,
    at: Option<[f32; 3]>,
}

impl Holes {
    /// What is said of them.
    pub(crate) fn finding(&self) -> Option<Finding> {
        let hint = format!(
            "small holes, up to {:.2} mm across, count as closed where it matters what is inside and what outside; \
             the surface itself stays as it is: fill them before you print",
            self.widest
        );
        self.at.map(|at| Finding::new(Code::SmallHoles, self.count, hint).at(Place::Point(at)))
    }
}

/// An edge of one face only, from corner to corner as the face runs.
type Open = [u32; 2];

/// Finds the holes of pieces that are closed but for small ones, and marks those pieces.
/// Pieces must be measured.
pub(crate) fn holes(
    positions: &[Point3<f32>],
    (faces, piece_of_face): (&[[u32; 3]], &[PieceId]),
    edges: &Edges,
    pieces: &mut [Piece],
) -> Holes {
    let mut open: Vec<(PieceId, Open)> = Vec::new();
    let mut odd = vec![false; pieces.len()];
    for mut group in edges.groups() {
        let several = group.len();
        let forward = group.clone().filter(|h| h.forward).count();
        if 2 * forward == several {
            continue;
        }
        let Some(half) = group.next() else { continue };
        let (piece, face, c) = (piece_of_face[half.face()], faces[half.face()], half.index as usize % 3);
        if several == 1 {
            open.push((piece, [face[c], face[(c + 1) % 3]]));
        } else {
            odd[piece.index()] = true;
        }
    }
    open.sort_unstable();
    let mut found = Holes::default();
    for own in open.chunk_by(|a, b| a.0 == b.0).filter(|own| !odd[own[0].0.index()]) {
        let id = own[0].0;
        let piece = &mut pieces[id.index()];
        let rims: Vec<Open> = own.iter().map(|o| o.1).collect();
        let Some(rims) = rims_of(&rims) else { continue };
        let lids: Option<Vec<(f64, Vec<Lid>)>> =
            rims.iter().map(|rim| lid(positions, rim, id, piece)).collect();
        if let Some(lids) = lids {
            piece.shut = true;
            found.at.get_or_insert(positions[rims[0][0][0] as usize].into());
            found.count += lids.len() as u64;
            for (wide, lid) in lids {
                found.widest = found.widest.max(wide);
                found.lids.extend(lid);
            }
        }
    }
    found
}

/// Open edges as outlines that go through each point once, so that holes that meet at a point
/// are holes of their own; nothing where an edge leads on to none.
fn rims_of(open: &[Open]) -> Option<Vec<Vec<Open>>> {
    let mut onward: HashMap<u32, Vec<u32>> = HashMap::new();
    for [start, end] in open.iter().rev() {
        onward.entry(*start).or_default().push(*end);
    }
    let mut rims: Vec<Vec<Open>> = Vec::new();
    for [first, _] in open {
        // Walked until a point comes again: what lies between is an outline.
        let mut way = vec![*first];
        let mut place: HashMap<u32, usize> = HashMap::from([(*first, 0)]);
        while let Some(end) = way.last().and_then(|v| onward.get_mut(v)).and_then(Vec::pop) {
            let Some(&from) = place.get(&end) else {
                place.insert(end, way.len());
                way.push(end);
                continue;
            };
            let rim: Vec<u32> = way.drain(from + 1..).collect();
            rim.iter().for_each(|v| _ = place.remove(v));
            let corners = || std::iter::once(end).chain(rim.iter().copied());
            rims.push(corners().zip(corners().skip(1).chain([end])).map(|(a, b)| [a, b]).collect());
        }
        if way.len() > 1 {
            return None;
        }
    }
    Some(rims)
}

/// How wide a small hole is, and its lid: a fan from its middle.
fn lid(positions: &[Point3<f32>], rim: &[Open], id: PieceId, piece: &Piece) -> Option<(f64, Vec<Lid>)> {
    let mut bounds = Bounds::NOTHING;
    let mut sum = nalgebra::Vector3::zeros();
    for [start, _] in rim {
        bounds.add(&positions[*start as usize]);
        sum += positions[*start as usize].coords.cast::<f64>();
    }
    let middle: Point3<f32> = Point3::from(sum / rim.len() as f64).cast();
    // The lid runs along each edge the other way than the face does.
    let fan: Vec<Lid> = rim
        .iter()
        .map(|e| e.map(|v| positions[v as usize]))
        .map(|[start, end]| Lid { piece: id, corners: [end, start, middle] })
        .collect();
    let area: f64 = fan.iter().map(|l| 0.5 * cross_of(&l.corners).norm()).sum();
    let small = bounds.diagonal() <= WIDEST * piece.bounds.diagonal() && area <= LARGEST * piece.area_mm2;
    small.then(|| (bounds.diagonal(), fan))
}

pub(crate) fn cross_of(corners: &[Point3<f32>; 3]) -> nalgebra::Vector3<f64> {
    let [a, b, c]: [Point3<f64>; 3] = corners.map(Point3::cast);
    (b - a).cross(&(c - a))
}

//! Pieces, and which way they are wound.

use crate::edge::{Edges, Half};
use crate::inside::turns_round;
use crate::lid::{Holes, cross_of, holes};
use crate::mesh::{Bounds, Counts, Piece, face_cross};
use crate::sets::{find, unite};
use grisaille_base::PieceId;
use nalgebra::Point3;
use rayon::prelude::*;

/// Faces measured at a time.
const STRETCH: usize = 1 << 16;
/// With more pieces than this, each stretch would have to keep too many sums.
const FEW: usize = 256;

/// What a look at all edges tells before anything is mended.
pub(crate) struct Survey {
    /// Edges are counted; the rest is 0 still.
    pub(crate) counts: Counts,
    /// Faces joined over edges, however many faces meet there.
    pub(crate) piece_of_face: Vec<PieceId>,
    /// Of each piece whether all its two-faced edges are met once each way.
    agrees: Vec<bool>,
    /// Of each face whether one of its edges is met more often one way than the other.
    pub(crate) loose: Vec<bool>,
    /// An end of the first open edge, and of the first of more than two faces.
    pub(crate) open_at: Option<[f32; 3]>,
    pub(crate) crowded_at: Option<[f32; 3]>,
}

/// Counts edges and splits into pieces, numbered by falling area, then by
/// first face. Pieces that touch at a single point stay apart: nothing says
/// that they are wound alike there.
pub(crate) fn survey(positions: &[Point3<f32>], faces: &[[u32; 3]], edges: &Edges) -> Survey {
    let mut counts = Counts::default();
    let mut parent: Vec<u32> = (0..faces.len() as u32).collect();
    let mut disagreeing = Vec::new();
    let mut loose = vec![false; faces.len()];
    let (mut open_at, mut crowded_at) = (None, None);
    for mut group in edges.groups() {
        let several = group.len();
        note_loose(group.clone(), &mut loose);
        let Some(first) = group.next() else { continue };
        let place = || positions[faces[first.face()][first.index as usize % 3] as usize].into();
        match several {
            1 => {
                counts.boundary_edges += 1;
                open_at.get_or_insert_with(place);
            }
            2 => {}
            _ => {
                counts.non_manifold_edges += 1;
                crowded_at.get_or_insert_with(place);
            }
        }
        for other in group {
            unite(&mut parent, first.face() as u32, other.face() as u32);
            if several == 2 && other.forward == first.forward {
                counts.inconsistent_edges += 1;
                disagreeing.push(first.face());
            }
        }
    }
    let piece_of_face = number_pieces(positions, faces, &mut parent);
    let mut agrees = vec![true; count_of(&piece_of_face)];
    for f in disagreeing {
        agrees[piece_of_face[f].index()] = false;
    }
    Survey { counts, piece_of_face, agrees, loose, open_at, crowded_at }
}

/// Marks the faces at an edge that does not balance.
fn note_loose(group: impl ExactSizeIterator<Item = Half> + Clone, loose: &mut [bool]) {
    let forward = group.clone().filter(|h| h.forward).count();
    if 2 * forward != group.len() {
        for half in group {
            loose[half.face()] = true;
        }
    }
}

/// The faces at edges that do not balance.
pub(crate) fn loose_faces(faces: &[[u32; 3]], edges: &Edges) -> Vec<bool> {
    let mut loose = vec![false; faces.len()];
    for group in edges.groups() {
        note_loose(group, &mut loose);
    }
    loose
}

/// How many pieces there are.
pub(crate) fn count_of(piece_of_face: &[PieceId]) -> usize {
    piece_of_face.iter().map(|p| p.index() + 1).max().unwrap_or(0)
}

fn number_pieces(positions: &[Point3<f32>], faces: &[[u32; 3]], parent: &mut [u32]) -> Vec<PieceId> {
    let mut area = vec![0.0_f64; faces.len()];
    for (f, &face) in faces.iter().enumerate() {
        let root = find(parent, f as u32);
        area[root as usize] += face_cross(positions, face).norm();
    }
    // The root is the lowest face of its piece, so ties fall to the first face.
    let mut roots: Vec<u32> = (0..faces.len() as u32).filter(|&f| parent[f as usize] == f).collect();
    roots.sort_by(|&a, &b| area[b as usize].total_cmp(&area[a as usize]).then(a.cmp(&b)));
    let mut number = vec![0_u32; faces.len()];
    for (n, &root) in roots.iter().enumerate() {
        number[root as usize] = n as u32;
    }
    (0..faces.len() as u32).map(|f| PieceId(number[find(parent, f) as usize])).collect()
}

/// Turns faces so that each piece is wound one way. A piece whose edges already
/// balance is left as it is, whatever meets there; otherwise winding is carried
/// over two-faced edges, and of the two ways the one that turns fewer faces
/// is taken. Gives how many were turned and a corner of the first.
pub(crate) fn wind_alike(
    positions: &[Point3<f32>],
    faces: &mut [[u32; 3]],
    edges: &Edges,
    survey: &Survey,
) -> (u64, Option<[f32; 3]>) {
    let Survey { piece_of_face, agrees, .. } = survey;
    if agrees.iter().all(|a| *a) {
        return (0, None);
    }
    // Of each half-edge the one across it, and whether the two run the same way.
    const NONE: u32 = u32::MAX;
    let mut across = vec![NONE; 3 * faces.len()];
    for mut group in edges.groups() {
        if group.len() == 2
            && let (Some(a), Some(b)) = (group.next(), group.next())
            && !agrees[piece_of_face[a.face()].index()]
        {
            let differs = u32::from(a.forward == b.forward);
            let name = |h: Half| (h.face() as u32) << 1 | differs;
            across[a.index as usize] = name(b);
            across[b.index as usize] = name(a);
        }
    }
    let mut turned = vec![false; faces.len()];
    let mut seen = vec![false; faces.len()];
    for start in 0..faces.len() {
        if seen[start] || agrees[piece_of_face[start].index()] {
            continue;
        }
        seen[start] = true;
        let mut patch = vec![start as u32];
        let mut at = 0;
        while at < patch.len() {
            let f = patch[at] as usize;
            at += 1;
            for &other in across[3 * f..3 * f + 3].iter().filter(|x| **x != NONE) {
                let (g, differs) = ((other >> 1) as usize, other & 1 == 1);
                if !seen[g] {
                    seen[g] = true;
                    turned[g] = turned[f] ^ differs;
                    patch.push(g as u32);
                }
            }
        }
        let odd = patch.iter().filter(|f| turned[**f as usize]).count();
        if 2 * odd > patch.len() {
            for f in patch {
                turned[f as usize] ^= true;
            }
        }
    }
    let place = turned.iter().position(|t| *t).map(|f| positions[faces[f][0] as usize].into());
    for (face, _) in faces.iter_mut().zip(&turned).filter(|(_, t)| **t) {
        face.swap(1, 2);
    }
    (turned.iter().filter(|t| **t).count() as u64, place)
}

/// Turns pieces that are closed (but for small holes) and whose volume is negative, cavities excepted. Gives how
/// many, and a corner of the first.
pub(crate) fn turn_outward(
    positions: &[Point3<f32>],
    faces: &mut [[u32; 3]],
    piece_of_face: &[PieceId],
    (pieces, holes): (&mut [Piece], &mut Holes),
) -> (u64, Option<[f32; 3]>) {
    let turn: Vec<bool> = pieces.iter().map(|p| p.shut && p.within_mm3 < 0.0 && !p.cavity).collect();
    let count = turn.iter().filter(|t| **t).count() as u64;
    if count == 0 {
        return (0, None);
    }
    let mut place = None;
    for (face, _) in faces.iter_mut().zip(piece_of_face).filter(|(_, p)| turn[p.index()]) {
        place.get_or_insert(positions[face[0] as usize].into());
        face.swap(1, 2);
    }
    for (piece, _) in pieces.iter_mut().zip(&turn).filter(|(_, t)| **t) {
        piece.volume_mm3 = 0.0 - piece.volume_mm3;
        piece.within_mm3 = -piece.within_mm3;
    }
    for lid in holes.lids.iter_mut().filter(|l| turn[l.piece.index()]) {
        lid.corners.swap(1, 2);
    }
    (count, place)
}

/// Measures every piece; decides which are closed (none of their faces is
/// loose), which are so but for small holes, and which are cavities.
pub(crate) fn measure(
    positions: &[Point3<f32>],
    faces: &[[u32; 3]],
    piece_of_face: &[PieceId],
    (edges, loose): (&Edges, &[bool]),
) -> (Vec<Piece>, Holes) {
    let unknown = Piece {
        faces: 0,
        closed: true,
        shut: false,
        cavity: false,
        area_mm2: 0.0,
        volume_mm3: 0.0,
        within_mm3: 0.0,
        bounds: Bounds::NOTHING,
    };
    let unmeasured = vec![unknown; count_of(piece_of_face)];
    // Volumes are summed about a corner of the piece itself, so that a model far from the
    // origin loses no digits.
    let mut anchor: Vec<Option<Point3<f64>>> = vec![None; unmeasured.len()];
    for (face, piece) in faces.iter().zip(piece_of_face) {
        anchor[piece.index()].get_or_insert_with(|| positions[face[0] as usize].cast());
    }
    let add = |pieces: &mut [Piece], from: usize, to: usize| {
        for f in from..to {
            let (face, n) = (faces[f], piece_of_face[f].index());
            let p = &mut pieces[n];
            p.closed &= !loose[f];
            let cross = face_cross(positions, face);
            let corner = positions[face[0] as usize].cast::<f64>();
            p.faces += 1;
            p.area_mm2 += 0.5 * cross.norm();
            p.volume_mm3 += (corner - anchor[n].unwrap_or(corner)).dot(&cross) / 6.0;
            for v in &face {
                p.bounds.add(&positions[*v as usize]);
            }
        }
    };
    let mut pieces = unmeasured.clone();
    if pieces.len() <= FEW {
        // Stretches of one length each, so that sums are the same on any number of cores.
        let stretches = faces.len().div_ceil(STRETCH);
        let sums: Vec<Vec<Piece>> = (0..stretches)
            .into_par_iter()
            .map(|n| {
                let mut own = unmeasured.clone();
                add(&mut own, n * STRETCH, ((n + 1) * STRETCH).min(faces.len()));
                own
            })
            .collect();
        for own in sums {
            for (p, s) in pieces.iter_mut().zip(own) {
                p.faces += s.faces;
                p.closed &= s.closed;
                p.area_mm2 += s.area_mm2;
                p.volume_mm3 += s.volume_mm3;
                p.bounds = p.bounds.and(&s.bounds);
            }
        }
    } else {
        add(&mut pieces, 0, faces.len());
    }
    let holes = if pieces.iter().all(|p| p.closed) {
        Holes::default()
    } else {
        holes(positions, (faces, piece_of_face), edges, &mut pieces)
    };
    for p in &mut pieces {
        p.shut |= p.closed;
        p.within_mm3 = if p.shut { p.volume_mm3 } else { 0.0 };
        if !p.closed {
            p.volume_mm3 = 0.0;
        }
    }
    for lid in &holes.lids {
        let n = lid.piece.index();
        let corner = lid.corners[0].cast::<f64>();
        pieces[n].within_mm3 += (corner - anchor[n].unwrap_or(corner)).dot(&cross_of(&lid.corners)) / 6.0;
    }
    let all = faces.iter().zip(piece_of_face).map(|(f, p)| (*p, f.map(|v| positions[v as usize])));
    find_cavities(all.chain(holes.lids.iter().map(|l| (l.piece, l.corners))), &mut pieces, &anchor);
    (pieces, holes)
}

/// A piece of negative volume within larger ones is a cavity of theirs; all of them shut.
fn find_cavities(
    faces: impl Iterator<Item = (PieceId, [Point3<f32>; 3])>,
    pieces: &mut [Piece],
    anchor: &[Option<Point3<f64>>],
) {
    let asked: Vec<(usize, Point3<f64>)> = (0..pieces.len())
        .filter(|&p| pieces[p].shut && pieces[p].within_mm3 < 0.0)
        .filter_map(|p| Some((p, anchor[p]?)))
        .collect();
    if asked.is_empty() {
        return;
    }
    let outer = |of: usize, q: usize| {
        q != of && pieces[q].shut && pieces[q].within_mm3.abs() > pieces[of].within_mm3.abs()
    };
    let points: Vec<Point3<f64>> = asked.iter().map(|a| a.1).collect();
    let turns = turns_round(faces, &points, |n, piece| outer(asked[n].0, piece.index()));
    for ((p, _), turns) in asked.into_iter().zip(turns) {
        pieces[p].cavity = turns != 0;
    }
}

/// The signed solid angle of a triangle seen from `point`: positive from the
/// inside of an outward-wound surface. Van Oosterom and Strackee, IEEE Trans.
/// Biomed. Eng. 30(2):125–126, 1983 (formula from memory; checked by the sum
/// over a closed surface being 4π).
#[must_use]
pub fn solid_angle(point: Point3<f64>, [a, b, c]: [Point3<f64>; 3]) -> f64 {
    let (a, b, c) = (a - point, b - point, c - point);
    let (la, lb, lc) = (a.norm(), b.norm(), c.norm());
    let numerator = a.dot(&b.cross(&c));
    let denominator = la * lb * lc + a.dot(&b) * lc + b.dot(&c) * la + c.dot(&a) * lb;
    2.0 * numerator.atan2(denominator)
}

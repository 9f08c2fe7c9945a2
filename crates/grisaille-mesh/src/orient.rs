//! Pieces, and which way they are wound.

use crate::edge::{Half, edges};
use crate::mesh::{Bounds, Piece, face_cross};
use crate::sets::{find, unite};
use grisaille_base::PieceId;
use nalgebra::Point3;

/// Pieces of a mesh and what was turned to wind them outward.
pub(crate) struct Oriented {
    pub(crate) piece_of_face: Vec<PieceId>,
    pub(crate) turned_faces: u64,
    pub(crate) inside_out: u64,
    /// A corner of the first face turned.
    pub(crate) place: Option<[f32; 3]>,
}

/// Splits into pieces (faces joined over edges, however many faces meet
/// there) and turns faces so that each piece is wound one way and each closed
/// piece outward. Pieces are numbered by falling area, then by first face.
pub(crate) fn orient(positions: &[Point3<f32>], faces: &mut [[u32; 3]]) -> Oriented {
    let groups: Vec<Vec<Half>> =
        edges(faces).groups().filter(|g| g.len() > 1).map(Iterator::collect).collect();
    let piece_of_face = number_pieces(positions, faces, &groups);
    let count = piece_of_face.iter().map(|p| p.index() + 1).max().unwrap_or(0);
    let mut turned = vec![false; faces.len()];
    wind_alike(faces, &groups, &piece_of_face, count, &mut turned);
    for (face, _) in faces.iter_mut().zip(&turned).filter(|(_, t)| **t) {
        face.swap(1, 2);
    }
    let inside_out = turn_outward(positions, faces, &piece_of_face, count);
    let place = turned.iter().position(|t| *t).map(|f| positions[faces[f][0] as usize].into());
    Oriented { piece_of_face, turned_faces: turned.iter().filter(|t| **t).count() as u64, inside_out, place }
}

fn number_pieces(positions: &[Point3<f32>], faces: &[[u32; 3]], groups: &[Vec<Half>]) -> Vec<PieceId> {
    let mut parent: Vec<u32> = (0..faces.len() as u32).collect();
    for group in groups {
        for pair in group.windows(2) {
            unite(&mut parent, pair[0].face() as u32, pair[1].face() as u32);
        }
    }
    let mut area = vec![0.0_f64; faces.len()];
    for (f, &face) in faces.iter().enumerate() {
        let root = find(&mut parent, f as u32);
        area[root as usize] += face_cross(positions, face).norm();
    }
    // The root is the lowest face of its piece, so ties fall to the first face.
    let mut roots: Vec<u32> = (0..faces.len() as u32).filter(|&f| parent[f as usize] == f).collect();
    roots.sort_by(|&a, &b| area[b as usize].total_cmp(&area[a as usize]).then(a.cmp(&b)));
    let mut number = vec![0_u32; faces.len()];
    for (n, &root) in roots.iter().enumerate() {
        number[root as usize] = n as u32;
    }
    (0..faces.len() as u32).map(|f| PieceId(number[find(&mut parent, f) as usize])).collect()
}

/// Marks the faces to turn. A piece whose edges already balance is left as
/// it is, whatever meets there; otherwise winding is carried over two-faced
/// edges, and of the two ways the one that turns less area is taken.
fn wind_alike(
    faces: &[[u32; 3]],
    groups: &[Vec<Half>],
    piece_of_face: &[PieceId],
    count: usize,
    turned: &mut [bool],
) {
    let mut agrees = vec![true; count];
    for group in groups {
        if group.len() == 2 && group[0].forward == group[1].forward {
            agrees[piece_of_face[group[0].face()].index()] = false;
        }
    }
    if agrees.iter().all(|a| *a) {
        return;
    }
    let mut neighbours: Vec<Vec<(u32, bool)>> = vec![Vec::new(); faces.len()];
    for group in groups {
        if let [a, b] = group[..]
            && !agrees[piece_of_face[a.face()].index()]
        {
            let differs = a.forward == b.forward;
            neighbours[a.face()].push((b.face() as u32, differs));
            neighbours[b.face()].push((a.face() as u32, differs));
        }
    }
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
            for &(g, differs) in &neighbours[f] {
                if !seen[g as usize] {
                    seen[g as usize] = true;
                    turned[g as usize] = turned[f] ^ differs;
                    patch.push(g);
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
}

/// Turns closed pieces whose volume is negative, cavities excepted.
fn turn_outward(
    positions: &[Point3<f32>],
    faces: &mut [[u32; 3]],
    piece_of_face: &[PieceId],
    count: usize,
) -> u64 {
    let pieces = measure(positions, faces, piece_of_face, count);
    let mut turn = vec![false; count];
    for (p, piece) in pieces.iter().enumerate() {
        turn[p] = piece.closed && piece.volume_mm3 < 0.0 && !piece.cavity;
    }
    for (face, piece) in faces.iter_mut().zip(piece_of_face) {
        if turn[piece.index()] {
            face.swap(1, 2);
        }
    }
    turn.iter().filter(|t| **t).count() as u64
}

/// Measures every piece; decides which are closed and which are cavities.
pub(crate) fn measure(
    positions: &[Point3<f32>],
    faces: &[[u32; 3]],
    piece_of_face: &[PieceId],
    count: usize,
) -> Vec<Piece> {
    let mut pieces = vec![
        Piece {
            faces: 0,
            closed: true,
            cavity: false,
            area_mm2: 0.0,
            volume_mm3: 0.0,
            bounds: Bounds::NOTHING,
        };
        count
    ];
    let mut anchor: Vec<Option<Point3<f64>>> = vec![None; count];
    for (&face, piece) in faces.iter().zip(piece_of_face) {
        let p = &mut pieces[piece.index()];
        let cross = face_cross(positions, face);
        let corner = positions[face[0] as usize].cast::<f64>();
        // Volumes are summed about a corner of the piece itself, so that a
        // model far from the origin loses no digits.
        let origin = *anchor[piece.index()].get_or_insert(corner);
        p.faces += 1;
        p.area_mm2 += 0.5 * cross.norm();
        p.volume_mm3 += (corner - origin).dot(&cross) / 6.0;
        for v in &face {
            p.bounds.add(&positions[*v as usize]);
        }
    }
    for group in edges(faces).groups() {
        let forward = group.clone().filter(|h| h.forward).count();
        if 2 * forward != group.len() {
            for half in group {
                pieces[piece_of_face[half.face()].index()].closed = false;
            }
        }
    }
    for p in &mut pieces {
        if !p.closed {
            p.volume_mm3 = 0.0;
        }
    }
    let negative: Vec<usize> =
        (0..count).filter(|&p| pieces[p].closed && pieces[p].volume_mm3 < 0.0).collect();
    for p in negative {
        let Some(point) = anchor[p] else { continue };
        let holds = |q: usize| {
            pieces[q].closed
                && pieces[q].volume_mm3.abs() > pieces[p].volume_mm3.abs()
                && pieces[q].bounds.holds(point.into())
        };
        let outer: Vec<bool> = (0..count).map(|q| q != p && holds(q)).collect();
        if outer.contains(&true) {
            let turns: f64 = faces
                .iter()
                .zip(piece_of_face)
                .filter(|(_, q)| outer[q.index()])
                .map(|(f, _)| solid_angle(point, f.map(|v| positions[v as usize].cast::<f64>())))
                .sum();
            pieces[p].cavity = (turns / (4.0 * std::f64::consts::PI)).abs() > 0.5;
        }
    }
    pieces
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

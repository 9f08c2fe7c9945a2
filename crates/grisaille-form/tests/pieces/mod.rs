//! The pieces of a real model as parts: the signed distance of each, from its
//! triangles. Where a piece is open, inside is what it winds round by more than a half.

use crate::fused::Part;
use grisaille_mesh::Mesh;
use nalgebra::{Point3, Vector3};
use rayon::prelude::*;
use std::f64::consts::TAU;
use std::ops::Range;

/// How far from a piece its distance is told exactly, in mm.
const NEAR: f64 = 2.5;

/// A part for each piece, on grids of `cell` mm.
pub(crate) fn parts(mesh: &Mesh, cell: f64) -> Vec<Part> {
    let mut corners: Vec<Vec<[Point3<f64>; 3]>> = vec![Vec::new(); mesh.pieces().len()];
    for (face, piece) in mesh.faces().iter().zip(mesh.piece_of_face()) {
        corners[piece.index()].push(face.map(|v| mesh.positions()[v as usize].cast()));
    }
    let closed = mesh.pieces().iter().map(|piece| piece.closed);
    corners.iter().zip(closed).map(|(faces, closed)| part(faces, closed, cell)).collect()
}

fn part(faces: &[[Point3<f64>; 3]], closed: bool, cell: f64) -> Part {
    let mut low = Vector3::repeat(f64::INFINITY);
    let mut high = -low;
    for p in faces.iter().flatten() {
        (low, high) = (low.inf(&p.coords), high.sup(&p.coords));
    }
    // Off from round numbers, on which the corners of models like to lie.
    low -= Vector3::new(NEAR + 0.0137, NEAR + 0.0271, NEAR + 0.0313);
    let size: [usize; 3] = [0, 1, 2].map(|k| ((high[k] - low[k] + NEAR) / cell) as usize + 2);
    let place = |at: [usize; 3]| Point3::from(low + cell * Vector3::from(at.map(|n| n as f64)));
    let index = move |[x, y, z]: [usize; 3]| (z * size[1] + y) * size[0] + x;
    let mut values = vec![NEAR * NEAR; size[0] * size[1] * size[2]];
    for face in faces {
        let about = [0, 1, 2].map(|k| {
            let ends = face.iter().map(|p| (p[k] - low[k]) / cell);
            let (from, to) = ends.fold((f64::INFINITY, 0.0_f64), |(low, high), x| (low.min(x), high.max(x)));
            (from - NEAR / cell).max(0.0) as usize..((to + NEAR / cell) as usize + 1).min(size[k])
        });
        for at in through(&about) {
            let value = &mut values[index(at)];
            *value = value.min(squared(face, place(at)));
        }
    }
    let all = [0, 1, 2].map(|k| 0..size[k]);
    let wound: Vec<f64> = if closed {
        let mut wound = vec![0.0; values.len()];
        for face in faces {
            cross(face, &all, (index, place), &mut wound);
        }
        wound
    } else {
        let each = |at: [usize; 3]| faces.iter().map(|face| angle(face, place(at))).sum::<f64>() / TAU / 2.0;
        let places: Vec<[usize; 3]> = through(&all).collect();
        places.into_par_iter().map(each).collect()
    };
    for (value, wound) in values.iter_mut().zip(wound) {
        *value = if wound.abs() > 0.5 { -value.sqrt() } else { value.sqrt() };
    }
    Box::new(move |p| {
        let at = (p.coords - low) / cell;
        let inside = (0..3).all(|k| at[k] >= 0.0 && at[k] < (size[k] - 1) as f64);
        if !inside {
            let out = (low - p.coords).sup(&(p.coords - low - cell * Vector3::from(size.map(|n| n as f64))));
            return NEAR + out.sup(&Vector3::zeros()).norm();
        }
        let first = [0, 1, 2].map(|k| at[k] as usize);
        let mut sum = 0.0;
        for corner in 0..8_usize {
            let step = [0, 1, 2].map(|k| corner >> k & 1);
            let share = |k: usize| {
                let t = at[k] - first[k] as f64;
                if step[k] == 1 { t } else { 1.0 - t }
            };
            let at = [0, 1, 2].map(|k| first[k] + step[k]);
            sum += share(0) * share(1) * share(2) * values[index(at)];
        }
        sum
    })
}

/// All places of a grid within ranges.
fn through([xs, ys, zs]: &[Range<usize>; 3]) -> impl Iterator<Item = [usize; 3]> {
    let row = |y, z, xs: &Range<usize>| xs.clone().map(move |x| [x, y, z]);
    zs.clone().flat_map(move |z| ys.clone().flat_map(move |y| row(y, z, xs)))
}

/// Counts a face for all grid points straight below it: how often the faces of a closed piece
/// wind round each. Both sides of an edge are asked about it in one direction, so that none is missed or met twice.
fn cross(
    face: &[Point3<f64>; 3],
    [xs, ys, zs]: &[Range<usize>; 3],
    (index, place): (impl Fn([usize; 3]) -> usize, impl Fn([usize; 3]) -> Point3<f64>),
    wound: &mut [f64],
) {
    let normal = (face[1] - face[0]).cross(&(face[2] - face[0]));
    let origin = place([0; 3]);
    let cell = place([1; 3]).x - origin.x;
    let columns = [(0, xs), (1, ys)].map(|(k, all)| {
        let ends = face.iter().map(|p| (p[k] - origin[k]) / cell);
        let (from, to) = ends.fold((f64::INFINITY, 0.0_f64), |(low, high), x| (low.min(x), high.max(x)));
        from.max(0.0) as usize..(to as usize + 2).min(all.end)
    });
    for [x, y, _] in through(&[columns[0].clone(), columns[1].clone(), 0..1]) {
        let p = place([x, y, 0]);
        let left = |a: &Point3<f64>, b: &Point3<f64>| {
            let turned = (a.x, a.y, a.z) > (b.x, b.y, b.z);
            let (a, b) = if turned { (b, a) } else { (a, b) };
            ((b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x) > 0.0) != turned
        };
        let sides = [0, 1, 2].map(|k| left(&face[k], &face[(k + 1) % 3]));
        if sides[0] != sides[1] || sides[1] != sides[2] {
            continue;
        }
        let height = face[0].z - ((p.x - face[0].x) * normal.x + (p.y - face[0].y) * normal.y) / normal.z;
        for z in zs.clone().take_while(|z| place([x, y, *z]).z < height) {
            wound[index([x, y, z])] += if sides[0] { 1.0 } else { -1.0 };
        }
    }
}

/// The solid angle of a face from a point, signed (A. van Oosterom and J. Strackee,
/// IEEE Trans. Biomed. Eng. 30(2), 1983); 4π in all inside a closed piece.
fn angle(face: &[Point3<f64>; 3], p: Point3<f64>) -> f64 {
    let [a, b, c] = face.map(|q| q - p);
    let [x, y, z] = [a, b, c].map(|v| v.norm());
    let over = a.dot(&b.cross(&c));
    let under = x * y * z + a.dot(&b) * z + b.dot(&c) * x + c.dot(&a) * y;
    2.0 * over.atan2(under)
}

/// The squared distance from a point to a face, by the region of its plane in which
/// the point lies (C. Ericson, Real-Time Collision Detection, 2005, section 5.1.5).
fn squared([a, b, c]: &[Point3<f64>; 3], p: Point3<f64>) -> f64 {
    let normal = (b - a).cross(&(c - a));
    let beside =
        [(a, b), (b, c), (c, a)].map(|(from, to)| (to - from).cross(&(p - from)).dot(&normal) >= 0.0);
    if beside == [true; 3] && normal.norm_squared() > 0.0 {
        return (p - a).dot(&normal).powi(2) / normal.norm_squared();
    }
    [(a, b), (b, c), (c, a)]
        .map(|(from, to)| {
            let way = to - from;
            let t = ((p - from).dot(&way) / way.norm_squared().max(f64::MIN_POSITIVE)).clamp(0.0, 1.0);
            (p - (from + way * t)).norm_squared()
        })
        .into_iter()
        .fold(f64::INFINITY, f64::min)
}

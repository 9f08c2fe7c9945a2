//! Edges turned within pairs of triangles, so that a surface bends as little as its points allow.

use crate::edge::{NO_TWIN, twins};
use crate::mesh::face_cross;
use nalgebra::{Point3, Vector3};

/// Passes over all edges at most, and how often that begins anew once points were taken out.
const PASSES: usize = 12;
const ROUNDS: usize = 6;
/// An edge is turned where that takes away at least this much of the bending round it (sum of 1 − cos over its own
/// and the four edges about it).
const WORTH: f64 = 1e-4;

/// Turns edges where the surface bends less for it, so that slivers that stand up from a smooth form are laid into it,
/// and takes out points that stand within one triangle. The surface moves by no more than `within` mm for each: so far
/// an edge and the one in its place lie apart, or a point from the triangle it stands on.
pub(crate) fn smoothed(positions: &[Point3<f32>], faces: &mut Vec<[u32; 3]>, within: f64) {
    for _ in 0..ROUNDS {
        let mut twin = twins(faces);
        for _ in 0..PASSES {
            let mut turned = 0;
            for half in 0..twin.len() {
                if is_better(positions, faces, &twin, half, within) {
                    turn(faces, &mut twin, half);
                    turned += 1;
                }
            }
            if turned == 0 {
                break;
            }
        }
        if !without_peaks(positions, faces, &twin, within) {
            break;
        }
    }
}

/// Takes out points with three faces round them, none of which is another's; whether there were any.
fn without_peaks(positions: &[Point3<f32>], faces: &mut Vec<[u32; 3]>, twin: &[u32], within: f64) -> bool {
    let mut gone = vec![false; faces.len()];
    let mut touched = vec![false; faces.len()];
    for half in 0..twin.len() {
        // The three half-edges that leave the point.
        let one = half;
        let on = |h: usize| twin[next(next(h))];
        let (two, three) = match on(one) {
            NO_TWIN => continue,
            two => match on(two as usize) {
                NO_TWIN => continue,
                three => (two as usize, three as usize),
            },
        };
        let own = [one / 3, two / 3, three / 3];
        if on(three) != one as u32 || own[0] > own[1].min(own[2]) || own.iter().any(|f| touched[*f]) {
            continue;
        }
        let point = positions[start(faces, one) as usize].cast::<f64>();
        let corners = [one, two, three].map(|h| start(faces, next(h)));
        let [a, b, c] = corners.map(|v| positions[v as usize].cast::<f64>());
        let Some(normal) = unit((b - a).cross(&(c - a))) else { continue };
        if a == b || (point - a).dot(&normal).abs() > within || own[0] == own[1] || own[1] == own[2] {
            continue;
        }
        for f in own {
            touched[f] = true;
            gone[f] = true;
        }
        gone[own[0]] = false;
        // Neighbours wait for the next round, since their edges are about to change.
        for f in own {
            for h in 3 * f..3 * f + 3 {
                if twin[h] != NO_TWIN {
                    touched[twin[h] as usize / 3] = true;
                }
            }
        }
        faces[own[0]] = corners;
    }
    let any = gone.iter().any(|g| *g);
    let mut at = gone.iter();
    faces.retain(|_| at.next().is_some_and(|gone| !gone));
    any
}

fn next(half: usize) -> usize {
    if half % 3 == 2 { half - 2 } else { half + 1 }
}

fn start(faces: &[[u32; 3]], half: usize) -> u32 {
    faces[half / 3][half % 3]
}

fn unit(cross: Vector3<f64>) -> Option<Vector3<f64>> {
    cross.try_normalize(1e-14)
}

fn is_better(positions: &[Point3<f32>], faces: &[[u32; 3]], twin: &[u32], half: usize, within: f64) -> bool {
    let other = twin[half];
    if other == NO_TWIN || (other as usize) < half {
        return false;
    }
    let other = other as usize;
    // The edge from a to b, c before it and d behind it.
    let (a, b) = (start(faces, half), start(faces, next(half)));
    let (c, d) = (start(faces, next(next(half))), start(faces, next(next(other))));
    if c == d || a == b {
        return false;
    }
    let round = [next(half), next(next(half)), next(other), next(next(other))];
    if round.iter().any(|h| twin[*h] == NO_TWIN) {
        return false;
    }
    let normal = |face: [u32; 3]| unit(face_cross(positions, face));
    let outer = round.map(|h| normal(faces[twin[h] as usize / 3]));
    let [Some(bc), Some(ca), Some(ad), Some(db)] = outer else { return false };
    let bend = |m: Option<Vector3<f64>>, n: Option<Vector3<f64>>, sides: [Vector3<f64>; 4]| {
        // A face without area may lie any way: it is the worst.
        let (Some(m), Some(n)) = (m, n) else { return 10.0 };
        let [one, two, three, four] = sides;
        [m.dot(&n), m.dot(&one), m.dot(&two), n.dot(&three), n.dot(&four)].iter().map(|cos| 1.0 - cos).sum()
    };
    let now: f64 = bend(normal([a, b, c]), normal([b, a, d]), [bc, ca, ad, db]);
    if now < WORTH {
        return false;
    }
    let (first, second) = ([c, d, b], [d, c, a]);
    // Of the first the sides d–b and b–c, of the second c–a and a–d.
    let then: f64 = bend(normal(first), normal(second), [db, bc, ca, ad]);
    now - then > WORTH && apart(positions, [a, b, c, d]) <= within && !joined(faces, twin, half, d)
}

/// How far the line through the first two points lies from that through the others.
fn apart(positions: &[Point3<f32>], [a, b, c, d]: [u32; 4]) -> f64 {
    let [a, b, c, d] = [a, b, c, d].map(|v| positions[v as usize].cast::<f64>());
    let across = (b - a).cross(&(d - c));
    match across.try_normalize(1e-14) {
        Some(across) => (c - a).dot(&across).abs(),
        None => f64::INFINITY,
    }
}

/// Whether the corner before a half-edge has an edge to a vertex already; also where it cannot be told.
fn joined(faces: &[[u32; 3]], twin: &[u32], half: usize, to: u32) -> bool {
    // Round the corner, from edge to edge that leave it.
    let begin = next(next(half));
    let mut at = begin;
    for _ in 0..256 {
        if start(faces, next(at)) == to {
            return true;
        }
        let back = next(next(at));
        let on = twin[back];
        if on == NO_TWIN {
            return true;
        }
        at = on as usize;
        if at == begin {
            return false;
        }
    }
    true
}

/// Puts the edge between the corners before a half-edge and behind it in its place.
fn turn(faces: &mut [[u32; 3]], twin: &mut [u32], half: usize) {
    let other = twin[half] as usize;
    let (b, c) = (start(faces, next(half)), start(faces, next(next(half))));
    let (a, d) = (start(faces, half), start(faces, next(next(other))));
    let [bc, ca] = [twin[next(half)], twin[next(next(half))]];
    let [ad, db] = [twin[next(other)], twin[next(next(other))]];
    let (f, g) = (half / 3, other / 3);
    faces[f] = [c, d, b];
    faces[g] = [d, c, a];
    let mut pair = |half: usize, with: u32| {
        twin[half] = with;
        twin[with as usize] = half as u32;
    };
    pair(3 * f, 3 * g as u32);
    pair(3 * f + 1, db);
    pair(3 * f + 2, bc);
    pair(3 * g + 1, ca);
    pair(3 * g + 2, ad);
}

//! Edges turned within pairs of triangles, so that a surface bends as little as its points allow.

use crate::mesh::face_cross;
use crate::net::{Net, next, prev};
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
        let source = (0..faces.len() as u32).collect();
        let mut net = Net::new(std::mem::take(faces), source);
        for _ in 0..PASSES {
            let mut turned = 0;
            for half in 0..net.twin.len() as u32 {
                if let Some(other) = net.across(half).filter(|other| *other > half)
                    && is_better(positions, &net, (half, other), within)
                {
                    net.flip(half, other);
                    turned += 1;
                }
            }
            if turned == 0 {
                break;
            }
        }
        let any = without_peaks(positions, &mut net, within);
        *faces = net.faces;
        if !any {
            break;
        }
    }
}

/// Takes out points with three faces round them, none of which is another's; whether there were any.
fn without_peaks(positions: &[Point3<f32>], net: &mut Net, within: f64) -> bool {
    let mut gone = vec![false; net.faces.len()];
    let mut touched = vec![false; net.faces.len()];
    for one in 0..net.twin.len() as u32 {
        // The three half-edges that leave the point.
        let on = |net: &Net, half: u32| net.across(prev(half));
        let Some(two) = on(net, one) else { continue };
        let Some(three) = on(net, two) else { continue };
        let own = [one, two, three].map(|half| half as usize / 3);
        if on(net, three) != Some(one)
            || own[0] > own[1].min(own[2])
            || own[0] == own[1]
            || own[1] == own[2]
            || own.iter().any(|f| touched[*f])
        {
            continue;
        }
        let point = positions[net.from(one) as usize].cast::<f64>();
        let corners = [one, two, three].map(|half| net.from(next(half)));
        let [a, b, c] = corners.map(|v| positions[v as usize].cast::<f64>());
        let Some(normal) = unit((b - a).cross(&(c - a))) else { continue };
        if (point - a).dot(&normal).abs() > within {
            continue;
        }
        for f in own {
            touched[f] = true;
            gone[f] = true;
            // Neighbours wait for the next round, since their edges are about to change.
            for other in (0..3).filter_map(|c| net.across(3 * f as u32 + c)) {
                touched[other as usize / 3] = true;
            }
        }
        gone[own[0]] = false;
        net.faces[own[0]] = corners;
    }
    let mut at = gone.iter();
    net.faces.retain(|_| at.next().is_some_and(|gone| !gone));
    gone.contains(&true)
}

fn unit(cross: Vector3<f64>) -> Option<Vector3<f64>> {
    cross.try_normalize(1e-14)
}

/// Whether the surface bends less with the edge of two half-edges turned.
fn is_better(positions: &[Point3<f32>], net: &Net, (half, other): (u32, u32), within: f64) -> bool {
    // The edge from a to b, c before it and d behind it.
    let (a, b, c, d) = (net.from(half), net.from(other), net.apex(half), net.apex(other));
    if c == d || a == b {
        return false;
    }
    let normal = |face: [u32; 3]| unit(face_cross(positions, face));
    let outer = [next(half), prev(half), next(other), prev(other)]
        .map(|h| net.across(h).and_then(|across| normal(net.faces[across as usize / 3])));
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
    // Of the first face the sides d–b and b–c, of the second c–a and a–d.
    let then: f64 = bend(normal([c, d, b]), normal([d, c, a]), [db, bc, ca, ad]);
    now - then > WORTH && apart(positions, [a, b, c, d]) <= within && !net.joined(prev(half), d)
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

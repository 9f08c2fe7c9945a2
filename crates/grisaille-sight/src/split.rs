//! Edges split until none is longer than the sample spacing.
//!
//! Outlines and creases go first, all long ones of a round together: every
//! such edge is split by its own two ends alone, so all faces on it agree and
//! no seam opens, whatever number of faces meet there. Then the edges inside
//! each plane are split one by one, longest first, with the plane flipped back
//! to Delaunay after each, which spreads the points evenly (Rivara's longest
//! edges, 1984, with Lawson's flips).

use crate::flip::{Planes, flip_all, settle};
use grisaille_base::{Stop, Watch};
use grisaille_mesh::{Net, face_cross};
use nalgebra::Point3;
use rayon::prelude::*;
use std::collections::BinaryHeap;

/// A triangle list after refinement.
pub(crate) struct Refined {
    pub(crate) positions: Vec<Point3<f32>>,
    pub(crate) faces: Vec<[u32; 3]>,
    /// The face before splitting that each face lies in.
    pub(crate) source: Vec<u32>,
    /// The longest edge left in mm.
    pub(crate) longest: f64,
    /// Whether the cap stopped the work before `spacing` was reached.
    pub(crate) capped: bool,
}

/// Splits longest edges first, so that a cap leaves an even surface.
/// `marks`, one for each face or none, are what borders follow: they stay.
/// `flatness` in mm is how far apart two planes may be that count as one.
pub(crate) fn split(
    mut positions: Vec<Point3<f32>>,
    (faces, marks): (Vec<[u32; 3]>, &[u32]),
    spacing: f64,
    flatness: f64,
    cap: usize,
    watch: &Watch,
) -> Result<Refined, Stop> {
    let cap = cap.min(u32::MAX as usize / 8);
    // Edges far shorter than the spacing gain nothing from a flip.
    let planes = Planes::of((&faces, marks), &positions, flatness, spacing / 4.0);
    let source = (0..faces.len() as u32).collect();
    let mut net = Net::new(faces, source);
    flip_all(&mut net, &positions, &planes, watch)?;
    let reachable = reachable_spacing(&net, &positions, &planes, spacing, cap);
    let mut capped = reachable > spacing;
    let spacing = reachable;
    loop {
        watch.check()?;
        let marked = long_outlines(&net, &positions, &planes, spacing);
        if marked.is_empty() {
            break;
        }
        if positions.len() + marked.len() > cap {
            capped = true;
            break;
        }
        net = split_marked(&net, &mut positions, &marked, spacing);
        flip_all(&mut net, &positions, &planes, watch)?;
    }
    capped |= split_inside(&mut net, &mut positions, &planes, spacing, cap, watch)?;
    let Net { faces, source, .. } = net;
    let longest = faces
        .par_iter()
        .map(|f| (0..3).map(|c| length(&positions, f[c], f[(c + 1) % 3])).fold(0.0, f64::max))
        .reduce(|| 0.0, f64::max);
    Ok(Refined { positions, faces, source, longest, capped })
}

/// The spacing, raised until the points that it needs stay below the cap:
/// about one for each 0.6 h² of surface and each 0.75 h of outline, an estimate;
/// the cap itself is checked while splitting.
fn reachable_spacing(net: &Net, positions: &[Point3<f32>], planes: &Planes, spacing: f64, cap: usize) -> f64 {
    let area: f64 = net.faces.iter().map(|f| 0.5 * face_cross(positions, *f).norm()).sum();
    let outlines: f64 = (0..net.twin.len() as u32)
        .filter(|&half| {
            net.across(half).is_none_or(|other| other > half) && !planes.inside(net, positions, half)
        })
        .map(|half| marked(net, positions, half).length)
        .filter(|length| *length > spacing)
        .sum();
    let room = (cap as f64 - positions.len() as f64).max(1.0);
    let needs = |h: f64| area / (0.6 * h * h) + outlines / (0.75 * h);
    let mut h = spacing;
    while needs(h) > room && h < f64::MAX / 4.0 {
        h *= 1.05;
    }
    h
}

/// An edge to be split, lower end first.
#[derive(Clone, Copy)]
struct Marked {
    length: f64,
    a: u32,
    b: u32,
}

fn marked(net: &Net, positions: &[Point3<f32>], half: u32) -> Marked {
    let face = net.faces[half as usize / 3];
    let (x, y) = (face[half as usize % 3], face[(half as usize % 3 + 1) % 3]);
    let (a, b) = ordered(x, y);
    Marked { length: length(positions, a, b), a, b }
}

/// The edges of this round: outlines and creases longer than the spacing and
/// than half the longest of them, in order of their ends.
fn long_outlines(net: &Net, positions: &[Point3<f32>], planes: &Planes, spacing: f64) -> Vec<Marked> {
    let mut found: Vec<Marked> = (0..net.twin.len() as u32)
        .into_par_iter()
        .map(|half| (half, marked(net, positions, half)))
        .filter(|(half, m)| m.length > spacing && !planes.inside(net, positions, *half))
        .map(|(_, m)| m)
        .collect();
    let longest = found.iter().map(|m| m.length).fold(0.0, f64::max);
    found.retain(|m| m.length > 0.5 * longest);
    found.par_sort_unstable_by_key(|m| (m.a, m.b));
    found.dedup_by_key(|m| (m.a, m.b));
    found
}

fn split_marked(net: &Net, positions: &mut Vec<Point3<f32>>, marked: &[Marked], spacing: f64) -> Net {
    let first = positions.len() as u32;
    let points: Vec<Point3<f32>> = marked.par_iter().map(|m| split_point(positions, m, spacing)).collect();
    positions.extend(points);
    let middle_of = |a: u32, b: u32| {
        marked.binary_search_by_key(&ordered(a, b), |m| (m.a, m.b)).ok().map(|i| first + i as u32)
    };
    let parts: Vec<Parts> = net.faces.par_iter().map(|f| cut(positions, *f, &middle_of)).collect();
    let mut faces = Vec::with_capacity(net.faces.len() + 2 * marked.len());
    let mut source = Vec::with_capacity(faces.capacity());
    for (parts, from) in parts.iter().zip(&net.source) {
        faces.extend_from_slice(&parts.faces[..parts.count]);
        source.extend(std::iter::repeat_n(*from, parts.count));
    }
    Net::new(faces, source)
}

/// Splits edges inside planes, longest first. Gives whether the cap was reached.
fn split_inside(
    net: &mut Net,
    positions: &mut Vec<Point3<f32>>,
    planes: &Planes,
    spacing: f64,
    cap: usize,
    watch: &Watch,
) -> Result<bool, Stop> {
    // Lengths as bits: for numbers above zero they sort as the numbers do.
    let entry = |m: &Marked, half: u32| (m.length.to_bits(), m.a, m.b, half);
    let mut queue: BinaryHeap<(u64, u32, u32, u32)> = (0..net.twin.len() as u32)
        .into_par_iter()
        .filter(|&half| net.across(half).is_some_and(|other| other > half))
        .map(|half| (marked(net, positions, half), half))
        .filter(|(m, half)| m.length > spacing && planes.inside(net, positions, *half))
        .map(|(m, half)| entry(&m, half))
        .collect::<Vec<_>>()
        .into();
    let (mut unsettled, mut touched) = (Vec::new(), Vec::new());
    let mut round = 0_u32;
    while let Some((_, a, b, half)) = queue.pop() {
        round = round.wrapping_add(1);
        if round.is_multiple_of(1024) {
            watch.check()?;
        }
        // The edge may have been flipped or split since it was noted.
        let m = marked(net, positions, half);
        let Some(other) = net.across(half).filter(|_| (m.a, m.b) == (a, b)) else { continue };
        if !planes.inside(net, positions, half) {
            continue;
        }
        if positions.len() >= cap {
            return Ok(true);
        }
        let vertex = positions.len() as u32;
        let point = split_point(positions, &m, spacing);
        // A corner that lies there already makes a new point useless, and rows
        // of points on one line would call for ever more of them.
        let crowded =
            |v: u32| (positions[v as usize].cast::<f64>() - point.cast::<f64>()).norm() < spacing / 16.0;
        if crowded(net.apex(half)) || crowded(net.apex(other)) {
            continue;
        }
        positions.push(point);
        let round = net.split(half, other, vertex);
        unsettled.extend(round.map(|f| 3 * f));
        touched.extend(round);
        settle(net, positions, planes, &mut unsettled, &mut touched, watch)?;
        for f in touched.drain(..) {
            for half in 3 * f..3 * f + 3 {
                let m = marked(net, positions, half);
                if m.length > spacing && planes.inside(net, positions, half) {
                    queue.push(entry(&m, half));
                }
            }
        }
    }
    Ok(false)
}

fn ordered(a: u32, b: u32) -> (u32, u32) {
    (a.min(b), a.max(b))
}

fn length(positions: &[Point3<f32>], a: u32, b: u32) -> f64 {
    (positions[a as usize].cast::<f64>() - positions[b as usize].cast::<f64>()).norm()
}

/// Where an edge is split: near its middle, so that what remains comes out in
/// whole spacings rather than in halves of halves.
fn split_point(positions: &[Point3<f32>], m: &Marked, spacing: f64) -> Point3<f32> {
    let (a, b) = (positions[m.a as usize].cast::<f64>(), positions[m.b as usize].cast::<f64>());
    let parts = (m.length / spacing).ceil().clamp(2.0, 1e9);
    let share = (parts / 2.0).floor() / parts;
    (a + (b - a) * share).cast()
}

/// One to four triangles.
struct Parts {
    faces: [[u32; 3]; 4],
    count: usize,
}

fn cut(positions: &[Point3<f32>], f: [u32; 3], middle_of: &impl Fn(u32, u32) -> Option<u32>) -> Parts {
    let m = [0, 1, 2].map(|c| middle_of(f[c], f[(c + 1) % 3]));
    let parts = |list: &[[u32; 3]]| {
        let mut faces = [[0; 3]; 4];
        faces[..list.len()].copy_from_slice(list);
        Parts { faces, count: list.len() }
    };
    // Turned so that the pattern is always met the same way.
    for c in 0..3 {
        let [a, b, d] = [0, 1, 2].map(|i| f[(c + i) % 3]);
        match [0, 1, 2].map(|i| m[(c + i) % 3]) {
            [Some(ab), Some(bd), Some(da)] => {
                return parts(&[[a, ab, da], [ab, b, bd], [da, bd, d], [ab, bd, da]]);
            }
            [Some(ab), None, None] => return parts(&[[a, ab, d], [ab, b, d]]),
            [Some(ab), Some(bd), None] => {
                // The rest is a quadrilateral; its shorter diagonal is taken.
                return if length(positions, ab, d) <= length(positions, a, bd) {
                    parts(&[[ab, b, bd], [a, ab, d], [ab, bd, d]])
                } else {
                    parts(&[[ab, b, bd], [a, ab, bd], [a, bd, d]])
                };
            }
            _ => {}
        }
    }
    parts(&[f])
}

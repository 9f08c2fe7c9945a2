//! Points that are meant to be one, but are not equal to the last bit: welded where that
//! closes open edges, and nowhere else.

use crate::edge::Edges;
use crate::sets::{find, unite};
use nalgebra::Point3;
use rayon::prelude::*;
use std::collections::HashMap;

/// Points farther apart than this share of the box's diagonal are two: 6 µm on a figure of
/// 50 mm, a tenth of what any printer tells apart.
const NEAR: f64 = 1e-4;
/// And no edge is shortened by more than this share of it.
const SHORTER: f64 = 0.2;

/// Where more open edges than this end close together, nothing says which belong together.
const CROWD: usize = 32;

/// What was welded.
pub(crate) struct Near {
    /// Points that another stands for now.
    pub(crate) points: u64,
    /// The farthest that one was moved, in the positions' unit.
    pub(crate) farthest: f64,
    /// The first of them.
    pub(crate) place: [f32; 3],
    /// Of each point which one stands for it.
    pub(crate) stands_for: Vec<u32>,
}

/// Pairs open edges that run along each other, the opposite way, with their ends near, and
/// gives what to weld for that; nothing where there are none. A thin wall has no open edges,
/// and the rim of an open one stays apart if it is wider than the tolerance.
pub(crate) fn near(
    positions: &[Point3<f32>],
    faces: &[[u32; 3]],
    edges: &Edges,
    diagonal: f64,
) -> Option<Near> {
    let open: Vec<[u32; 2]> = edges
        .groups()
        .filter(|g| g.len() == 1)
        .flatten()
        .map(|h| {
            let (face, c) = (faces[h.face()], h.index as usize % 3);
            [face[c], face[(c + 1) % 3]]
        })
        .collect();
    if open.is_empty() {
        return None;
    }
    let reach = NEAR * diagonal;
    let pairs = pairs(positions, &open, reach);
    let mut parent: Vec<u32> = (0..positions.len() as u32).collect();
    // How far the farthest point of a set lies from the one that stands for it, so that
    // nothing creeps from neighbour to neighbour.
    let mut spread = vec![0.0_f64; positions.len()];
    let mut used = vec![false; open.len()];
    for (_, one, two) in pairs {
        if used[one] || used[two] {
            continue;
        }
        let ends = [[open[one][0], open[two][1]], [open[one][1], open[two][0]]];
        let roots = ends.map(|e| e.map(|v| find(&mut parent, v)));
        let reaches =
            |[a, b]: &[u32; 2]| a == b || distance(positions, *a, *b) + spread[*a.max(b) as usize] <= reach;
        if !roots.iter().all(reaches) {
            continue;
        }
        (used[one], used[two]) = (true, true);
        for [a, b] in roots.into_iter().filter(|[a, b]| a != b) {
            let (low, high) = (a.min(b), a.max(b));
            let far = distance(positions, low, high) + spread[high as usize];
            spread[low as usize] = spread[low as usize].max(far);
            unite(&mut parent, low, high);
        }
    }
    let mut stands_for: Vec<u32> = (0..positions.len() as u32).map(|v| find(&mut parent, v)).collect();
    keep_faces(faces, &mut stands_for);
    let moved = || (0..positions.len() as u32).filter(|v| stands_for[*v as usize] != *v);
    let first = moved().next()?;
    Some(Near {
        points: moved().count() as u64,
        farthest: moved().map(|v| distance(positions, v, stands_for[v as usize])).fold(0.0, f64::max),
        place: positions[first as usize].into(),
        stands_for,
    })
}

/// No face may lose a corner, and no edge may get a third face: then the points stay apart.
fn keep_faces(faces: &[[u32; 3]], stands_for: &mut [u32]) {
    let mut welded = vec![false; stands_for.len()];
    for (v, to) in (0_u32..).zip(stands_for.iter()).filter(|(v, to)| v != *to) {
        welded[*to as usize] = true;
        welded[v as usize] = true;
    }
    let mut sides: Vec<[u32; 2]> = faces
        .par_iter()
        .filter(|f| f.iter().any(|v| welded[*v as usize]))
        .flat_map_iter(|face| {
            let [a, b, c] = face.map(|v| stands_for[v as usize]);
            [(a, b), (b, c), (c, a)].map(|(p, q)| [p.min(q), p.max(q)])
        })
        .collect();
    sides.par_sort_unstable();
    let mut lost = vec![false; stands_for.len()];
    for side in sides.chunk_by(|a, b| a == b).filter(|s| s.len() > 2 || s[0][0] == s[0][1]) {
        side[0].iter().for_each(|v| lost[*v as usize] = true);
    }
    for (v, to) in (0_u32..).zip(stands_for.iter_mut()).filter(|(_, to)| lost[**to as usize]) {
        *to = v;
    }
}

fn distance(positions: &[Point3<f32>], a: u32, b: u32) -> f64 {
    (positions[a as usize].cast::<f64>() - positions[b as usize].cast()).norm()
}

/// Pairs of open edges, nearest first: how far their ends lie apart, and their numbers.
fn pairs(positions: &[Point3<f32>], open: &[[u32; 2]], reach: f64) -> Vec<(f64, usize, usize)> {
    // Twice as wide as the reach, so that what is in reach lies in at most two along each axis.
    let wide = 2.0 * reach.max(f64::MIN_POSITIVE);
    let cell =
        |p: Point3<f32>, aside: f64| [p.x, p.y, p.z].map(|x| ((f64::from(x) + aside) / wide).floor() as i64);
    // Edges by the cell that their end lies in.
    let mut ending: Vec<([i64; 3], u32)> =
        open.iter().zip(0..).map(|(e, n)| (cell(positions[e[1] as usize], 0.0), n)).collect();
    ending.par_sort_unstable();
    let cells: HashMap<[i64; 3], &[([i64; 3], u32)]> =
        ending.chunk_by(|a, b| a.0 == b.0).filter(|c| c.len() <= CROWD).map(|c| (c[0].0, c)).collect();
    let of_edge = |n: usize, [start, end]: [u32; 2]| {
        let length = distance(positions, start, end);
        let [low, high] = [-reach, reach].map(|r| cell(positions[start as usize], r));
        let near = (0..8).filter_map(move |corner| {
            let at = [0, 1, 2].map(|k| if corner >> k & 1 == 0 { low[k] } else { high[k] });
            // Where both lie in one cell, it is looked into once.
            (0..3).all(|k| corner >> k & 1 == 0 || low[k] != high[k]).then_some(at)
        });
        near.filter_map(|at| cells.get(&at)).flat_map(|c| c.iter()).filter_map(move |(_, m)| {
            let m = *m as usize;
            let apart = || [(start, open[m][1]), (end, open[m][0])].map(|(a, b)| distance(positions, a, b));
            let shorter = || length.min(distance(positions, open[m][0], open[m][1]));
            (m > n)
                .then(apart)
                .filter(|apart| {
                    let most = reach.min(SHORTER * shorter());
                    apart.iter().all(|d| *d <= most)
                })
                .map(|apart| (apart[0] + apart[1], n, m))
        })
    };
    let mut pairs: Vec<(f64, usize, usize)> =
        open.par_iter().enumerate().flat_map_iter(|(n, edge)| of_edge(n, *edge)).collect();
    pairs.par_sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)).then(a.2.cmp(&b.2)));
    pairs
}

//! Points that are meant to be one, but are not equal to the last bit: welded where that
//! closes open edges, and nowhere else.

use crate::edge::Edges;
use crate::sets::{find, unite};
use nalgebra::Point3;
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
    let mut lost = vec![false; stands_for.len()];
    let mut sides: HashMap<[u32; 2], u32> = HashMap::new();
    for face in faces.iter().filter(|f| f.iter().any(|v| welded[*v as usize])) {
        let [a, b, c] = face.map(|v| stands_for[v as usize]);
        for (p, q) in [(a, b), (b, c), (c, a)] {
            let several = sides.entry([p.min(q), p.max(q)]).or_insert(0);
            *several += 1;
            if p == q || *several > 2 {
                lost[p as usize] = true;
                lost[q as usize] = true;
            }
        }
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
    let cell = |p: Point3<f32>| {
        [p.x, p.y, p.z].map(|x| (f64::from(x) / reach.max(f64::MIN_POSITIVE)).floor() as i64)
    };
    // Edges by the cell that their end lies in.
    let mut ending: HashMap<[i64; 3], Vec<usize>> = HashMap::new();
    for (n, [_, end]) in open.iter().enumerate() {
        ending.entry(cell(positions[*end as usize])).or_default().push(n);
    }
    let mut pairs = Vec::new();
    for (n, [start, end]) in open.iter().enumerate() {
        let length = distance(positions, *start, *end);
        let [x, y, z] = cell(positions[*start as usize]);
        for dx in -1..=1 {
            for m in (-1..=1)
                .flat_map(|dy| (-1..=1).map(move |dz| (dy, dz)))
                .filter_map(|(dy, dz)| {
                    ending.get(&[x.saturating_add(dx), y.saturating_add(dy), z.saturating_add(dz)])
                })
                .filter(|m| m.len() <= CROWD)
                .flatten()
                .copied()
                .filter(|m| *m > n)
            {
                let apart =
                    [(*start, open[m][1]), (*end, open[m][0])].map(|(a, b)| distance(positions, a, b));
                let shorter = length.min(distance(positions, open[m][0], open[m][1]));
                if apart.iter().all(|d| *d <= reach && *d <= SHORTER * shorter) {
                    pairs.push((apart[0] + apart[1], n, m));
                }
            }
        }
    }
    pairs.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)).then(a.2.cmp(&b.2)));
    pairs
}

//! Where pieces pass through each other without being joined: segments, strung together.
//!
//! Each end of a segment is where an edge of one face passes through another. That is decided for the
//! edge and the face alone, by signs of volumes whose corners stand in the order of their
//! numbers, so that all faces about an edge find the same point and segments join without a gap.

use crate::Shape;
use grisaille_base::{Stop, Watch};
use grisaille_mesh::{find, unite};
use grisaille_sight::Surface;
use nalgebra::Point3;
use rayon::slice::ParallelSliceMut;
use std::collections::HashMap;

/// A point where pieces cross, and a face of each that meets there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Crossing {
    pub(crate) point: Point3<f64>,
    pub(crate) faces: [u32; 2],
}

/// Crossings one after the other; where it closes, the first comes again last.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Seam {
    pub(crate) crossings: Vec<Crossing>,
    pub(crate) closed: bool,
}

/// Where an edge passes through a face.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct End {
    /// The edge, as its half-edge with the lower number, and the face.
    key: (u32, u32),
    point: Point3<f64>,
}

/// In what two faces cross.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Segment {
    faces: [u32; 2],
    ends: [End; 2],
}

/// All seams between different pieces, in the order of the faces.
pub(crate) fn seams_of(surface: &Surface, shape: &Shape, watch: &Watch) -> Result<Vec<Seam>, Stop> {
    let Some(first) = surface.piece.first() else { return Ok(Vec::new()) };
    if surface.piece.iter().all(|p| p == first) {
        return Ok(Vec::new());
    }
    let pairs = near_pairs(surface, shape, watch)?;
    watch.check()?;
    let found = watch.map(pairs.len(), |i| segment(shape, pairs[i]))?;
    let segments: Vec<Segment> = found.into_iter().flatten().collect();
    watch.check()?;
    Ok(strung(&segments))
}

/// Faces that are put into cells at once.
const CHUNK: usize = 4096;

/// The box round a face.
fn bounds(shape: &Shape, face: u32) -> [[f32; 3]; 2] {
    let corners = shape.faces()[face as usize].map(|v| shape.positions()[v as usize]);
    let fold =
        |of: fn(f32, f32) -> f32| [0, 1, 2].map(|k| of(of(corners[0][k], corners[1][k]), corners[2][k]));
    [fold(f32::min), fold(f32::max)]
}

/// Faces of different pieces whose boxes overlap, the lower number first, in rising order.
fn near_pairs(surface: &Surface, shape: &Shape, watch: &Watch) -> Result<Vec<[u32; 2]>, Stop> {
    let cell = (2.0 * surface.longest_edge).max(f64::MIN_POSITIVE);
    let at = |p: [f32; 3]| p.map(|x| (f64::from(x) / cell).floor() as i32);
    let count = shape.faces().len();
    let cells = watch.map(count.div_ceil(CHUNK), |chunk| {
        let mut own: Vec<([i32; 3], u32)> = Vec::new();
        for f in (chunk * CHUNK..count.min((chunk + 1) * CHUNK)).map(|f| f as u32) {
            let [low, high] = bounds(shape, f).map(at);
            for x in low[0]..=high[0] {
                for y in low[1]..=high[1] {
                    own.extend((low[2]..=high[2]).map(|z| ([x, y, z], f)));
                }
            }
        }
        own
    })?;
    let mut cells = cells.concat();
    watch.run(|| cells.par_sort_unstable());
    watch.check()?;
    let piece = |f: u32| surface.piece[f as usize];
    let groups: Vec<&[([i32; 3], u32)]> = cells
        .chunk_by(|a, b| a.0 == b.0)
        .filter(|group| group.iter().any(|(_, f)| piece(*f) != piece(group[0].1)))
        .collect();
    let pairs = watch.map(groups.len(), |g| {
        let group = groups[g];
        let mut own = Vec::new();
        for (i, &(cell, a)) in group.iter().enumerate() {
            let [low_a, high_a] = bounds(shape, a);
            for &(_, b) in group[i + 1..].iter().filter(|(_, b)| piece(*b) != piece(a)) {
                let [low_b, high_b] = bounds(shape, b);
                let overlap = (0..3).all(|k| low_a[k] <= high_b[k] && low_b[k] <= high_a[k]);
                // A pair that shares several cells is told in the first.
                if overlap && at([0, 1, 2].map(|k| low_a[k].max(low_b[k]))) == cell {
                    own.push([a, b]);
                }
            }
        }
        own
    })?;
    let mut pairs = pairs.concat();
    pairs.sort_unstable();
    Ok(pairs)
}

/// The sign of the volume over four vertices: true where it is not negative, whatever their order
/// but for its parity. `None` where two are the same.
fn side(shape: &Shape, mut v: [u32; 4]) -> Option<bool> {
    let mut turned = false;
    for i in 1..4 {
        for k in (1..=i).rev() {
            if v[k - 1] > v[k] {
                v.swap(k - 1, k);
                turned = !turned;
            }
        }
    }
    if v.windows(2).any(|w| w[0] == w[1]) {
        return None;
    }
    let [a, b, c, d] = v.map(|v| shape.positions()[v as usize].cast::<f64>());
    Some(((b - a).cross(&(c - a)).dot(&(d - a)) >= 0.0) != turned)
}

/// Where an edge passes through a face.
fn pierce(shape: &Shape, half: u32, face: u32) -> Option<Point3<f64>> {
    let [p, q] = shape.ends(half);
    let [a, b, c] = shape.faces()[face as usize];
    if side(shape, [a, b, c, p])? == side(shape, [a, b, c, q])? {
        return None;
    }
    let one = side(shape, [p, q, a, b])?;
    if side(shape, [p, q, b, c])? != one || side(shape, [p, q, c, a])? != one {
        return None;
    }
    let [a, b, c, p, q] = [a, b, c, p, q].map(|v| shape.positions()[v as usize].cast::<f64>());
    let normal = (b - a).cross(&(c - a));
    let (from, to) = (normal.dot(&(p - a)), normal.dot(&(q - a)));
    let share = if from == to { 0.5 } else { (from / (from - to)).clamp(0.0, 1.0) };
    Some(p + (q - p) * share)
}

/// The lower numbered of an edge's two half-edges.
fn lower(shape: &Shape, half: u32) -> u32 {
    shape.across(half).map_or(half, |twin| twin.min(half))
}

/// The segment in which two faces cross.
fn segment(shape: &Shape, faces: [u32; 2]) -> Option<Segment> {
    let [a, b] = faces;
    let mut ends = [(a, b), (b, a)].into_iter().flat_map(|(edges, face)| {
        (3 * edges..3 * edges + 3).filter_map(move |half| {
            let half = lower(shape, half);
            Some(End { key: (half, face), point: pierce(shape, half, face)? })
        })
    });
    let (one, two) = (ends.next()?, ends.next()?);
    ends.next().is_none().then_some(Segment { faces, ends: [one, two] })
}

/// Segments strung together where they share an end.
fn strung(segments: &[Segment]) -> Vec<Seam> {
    let mut at: HashMap<(u32, u32), Vec<u32>> = HashMap::new();
    let mut group: Vec<u32> = (0..segments.len() as u32).collect();
    for (s, segment) in segments.iter().enumerate() {
        for end in &segment.ends {
            let there = at.entry(end.key).or_default();
            if let Some(&other) = there.first() {
                unite(&mut group, other, s as u32);
            }
            there.push(s as u32);
        }
    }
    // Each chain from one of its ends, if it has any; the first segment of a ring otherwise.
    let free = |s: usize| segments[s].ends.iter().position(|e| at.get(&e.key).is_none_or(|t| t.len() == 1));
    let mut begin: HashMap<u32, usize> = HashMap::new();
    for s in 0..segments.len() {
        let head = find(&mut group, s as u32);
        let known = begin.entry(head).or_insert(s);
        if free(*known).is_none() && free(s).is_some() {
            *known = s;
        }
    }
    let mut starts: Vec<usize> = begin.into_values().collect();
    starts.sort_unstable();
    let mut used = vec![false; segments.len()];
    let mut out = Vec::new();
    // What branches leaves segments over, which begin chains of their own.
    for start in starts.into_iter().chain(0..segments.len()) {
        if used[start] {
            continue;
        }
        let mut crossings = Vec::new();
        let (mut s, mut from) = (start, free(start).unwrap_or(0));
        let first = segments[s].ends[from];
        crossings.push(Crossing { point: first.point, faces: segments[s].faces });
        let last = loop {
            used[s] = true;
            let end = segments[s].ends[1 - from];
            crossings.push(Crossing { point: end.point, faces: segments[s].faces });
            let next = at.get(&end.key).and_then(|there| there.iter().find(|n| !used[**n as usize]));
            let Some(&next) = next else { break end.key };
            s = next as usize;
            from = usize::from(segments[s].ends[0].key != end.key);
        };
        let closed = crossings.len() > 3 && last == first.key;
        out.push(Seam { crossings, closed });
    }
    out
}

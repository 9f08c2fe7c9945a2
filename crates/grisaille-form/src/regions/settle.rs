//! Borders settled: within a band about each border the line is sought that is
//! shortest where length along a crease counts little, by a least cut. (S.
//! Katz, A. Tal, "Hierarchical mesh decomposition using fuzzy clustering and
//! cuts", SIGGRAPH 2003, section 4, cut the same way.)

use super::faces::{Faces, turn};
use super::flow::{ALL, Network};
use super::link::CONVEX;
use crate::Shape;
use grisaille_base::{Stop, Watch};
use rayon::prelude::*;

/// No label.
const NONE: u32 = u32::MAX;
/// What length counts along the sharpest crease, beside 1 on flat ground.
const CREASE: f64 = 0.08;
/// A bend of so many radians over a patch brings the cost down to 1/e.
const BEND: f64 = 0.25;
/// And bends of less than this over a patch are form and grain.
const LEAST: f64 = 0.2;
/// How much of the way from its border to its middle a region may lose.
const SHARE: f64 = 0.6;

/// Settles the borders between labels within `width` mm on either side.
/// `fixed` faces keep their label. `size` in mm is the reach over which bends
/// are felt.
pub(crate) fn settle(
    shape: &Shape,
    faces: &Faces,
    labels: &mut [u32],
    fixed: &(dyn Fn(usize) -> bool + Sync),
    [width, size]: [f64; 2],
    watch: &Watch,
) -> Result<(), Stop> {
    let count = labels.iter().max().map_or(0, |l| *l as usize + 1);
    let (far, other) = distances(faces, labels, width / SHARE, watch)?;
    let mut inner = vec![0.0_f32; count];
    for (l, d) in labels.iter().zip(&far).filter(|(_, d)| d.is_finite()) {
        inner[*l as usize] = inner[*l as usize].max(*d);
    }
    let limit: Vec<f32> = inner.into_iter().map(|d| (width as f32).min(SHARE as f32 * d)).collect();
    let mut band: Vec<(u32, u32, u32)> = (0..labels.len())
        .filter(|f| far[*f] <= limit[labels[*f] as usize] && !fixed(*f))
        .map(|f| (labels[f].min(other[f]), labels[f].max(other[f]), f as u32))
        .collect();
    watch.check()?;
    watch.run(|| band.par_sort_unstable());
    let pairs: Vec<&[(u32, u32, u32)]> = band.chunk_by(|a, b| (a.0, a.1) == (b.0, b.1)).collect();
    let mut node = vec![NONE; labels.len()];
    for pair in &pairs {
        for (k, of) in pair.iter().enumerate() {
            node[of.2 as usize] = k as u32;
        }
    }
    let given: &[u32] = labels;
    let found: Vec<Vec<(u32, u32)>> = watch.run(|| {
        pairs
            .par_iter()
            .with_max_len(1)
            .map(|pair| pair_settled(shape, faces, given, pair, &node, &other, size, watch))
            .collect::<Result<_, Stop>>()
    })?;
    for (f, label) in found.into_iter().flatten() {
        labels[f as usize] = label;
    }
    Ok(())
}

/// The faces of one pair of labels that change, with their new label.
#[expect(clippy::too_many_arguments, reason = "one inner loop, parted for its length")]
fn pair_settled(
    shape: &Shape,
    faces: &Faces,
    labels: &[u32],
    pair: &[(u32, u32, u32)],
    node: &[u32],
    other: &[u32],
    size: f64,
    watch: &Watch,
) -> Result<Vec<(u32, u32)>, Stop> {
    let (a, b) = (pair[0].0, pair[0].1);
    let here = |f: usize| {
        let of = (labels[f].min(other[f]), labels[f].max(other[f]));
        (node[f] != NONE && of == (a, b)).then(|| node[f] + 2)
    };
    let mut edges = Vec::with_capacity(2 * pair.len());
    let mut ends = [false; 2];
    for (k, (_, _, f)) in pair.iter().enumerate() {
        let (f, own) = (*f as usize, k as u32 + 2);
        for half in 3 * f..3 * f + 3 {
            let Some(g) = faces.across(half) else { continue };
            match here(g) {
                Some(there) if there > own => {
                    edges.push((own, there, cost(shape, faces, half, [f, g], size)));
                }
                Some(_) => {}
                // What lies beyond the band stays as it is.
                None if labels[g] == a || labels[g] == b => {
                    let end = u32::from(labels[g] == b);
                    ends[end as usize] = true;
                    edges.push((end, own, ALL));
                }
                None => {}
            }
        }
    }
    if ends != [true; 2] {
        return Ok(Vec::new());
    }
    let side = Network::new(pair.len() + 2, &edges).cut(watch)?;
    let label = |k: usize| if side[k + 2] { a } else { b };
    Ok((0..pair.len()).map(|k| (pair[k].2, label(k))).filter(|(f, l)| labels[*f as usize] != *l).collect())
}

/// What it costs to run a border along a half-edge, in thousandths of `size`.
fn cost(shape: &Shape, faces: &Faces, half: usize, [f, g]: [usize; 2], size: f64) -> u64 {
    let [p, q] = shape.ends(half as u32).map(|v| shape.positions()[v as usize]);
    let length = f64::from((q - p).norm());
    let way = faces.middles[g] - faces.middles[f];
    let (m, n) = (faces.normals[f], faces.normals[g]);
    let convex = way.dot(&(n - m)) > 0.0;
    // The bend over a patch, were the surface to go on bending like that.
    let bend =
        turn(&m, &n) * (size / f64::from(way.norm()).max(0.25 * size)) * if convex { CONVEX } else { 1.0 };
    let flat = CREASE + (1.0 - CREASE) * (-(bend - LEAST).max(0.0) / BEND).exp();
    1 + (1000.0 * length / size * flat).min(1e9) as u64
}

/// For each face its way to the nearest border in mm, from the middle of the
/// last edge, and the label on the other side; infinite beyond `most`.
fn distances(faces: &Faces, labels: &[u32], most: f64, watch: &Watch) -> Result<(Vec<f32>, Vec<u32>), Stop> {
    let mut far = vec![f32::INFINITY; labels.len()];
    let mut other = vec![NONE; labels.len()];
    let mut front = Vec::new();
    for f in 0..labels.len() {
        for half in 3 * f..3 * f + 3 {
            let Some(g) = faces.across(half) else { continue };
            let way = 0.5 * (faces.middles[g] - faces.middles[f]).norm();
            if labels[g] != labels[f] && (way, labels[g]) < (far[f], other[f]) {
                (far[f], other[f]) = (way, labels[g]);
            }
        }
        if other[f] != NONE {
            front.push(f as u32);
        }
    }
    // Round by round: each goes over those that got nearer in the last.
    while !front.is_empty() {
        watch.check()?;
        let mut next = Vec::new();
        for &f in &front {
            let f = f as usize;
            for half in 3 * f..3 * f + 3 {
                let Some(g) = faces.across(half).filter(|g| labels[*g] == labels[f]) else { continue };
                let way = far[f] + (faces.middles[g] - faces.middles[f]).norm();
                if f64::from(way) <= most && (way, other[f]) < (far[g], other[g]) {
                    (far[g], other[g]) = (way, other[f]);
                    next.push(g as u32);
                }
            }
        }
        front = next;
    }
    Ok((far, other))
}

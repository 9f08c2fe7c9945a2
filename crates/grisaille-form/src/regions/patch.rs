//! Patches: small compact pieces of the surface that do not run over creases,
//! all of about one size whatever the triangles.
//!
//! Seeds are spread over the surface, and each face goes to the seed that is
//! nearest along the surface, where crossing a bend counts as a way; then the
//! seeds move to the middles of their patches, and once more. (J. Papon, A.
//! Abramov, M. Schoeler, F. Wörgötter, "Voxel Cloud Connectivity Segmentation",
//! CVPR 2013, has the same aim for points; R. B. Dial, "Algorithm 360",
//! Communications of the ACM 12, 1969, is the queue.)

use super::faces::{Faces, turn};
use crate::Shape;
use grisaille_base::{Stop, Watch};
use nalgebra::Vector3;
use rayon::prelude::*;

/// No patch yet.
const NONE: u32 = u32::MAX;
/// Ways are counted in steps of which so many make the size of a patch.
const STEPS: f64 = 32.0;
/// The longest way from face to face; only where nothing was refined is one longer.
const LONGEST: usize = 1023;
/// Crossing a turn of so many radians is as long a way as the size of a patch.
const TURN: f64 = 0.35;

/// The patch of each face, and how many there are. Every patch hangs together;
/// patches are numbered by their seeds' faces.
pub(crate) fn patches(
    shape: &Shape,
    faces: &Faces,
    size: f64,
    watch: &Watch,
) -> Result<(Vec<u32>, usize), Stop> {
    let mut seeds = spread(faces, size, watch)?;
    let mut patch = grown(shape, faces, &mut seeds, size, watch)?;
    seeds = middles(shape, faces, &patch, seeds.len(), size, watch)?;
    patch = grown(shape, faces, &mut seeds, size, watch)?;
    Ok((patch, seeds.len()))
}

/// One seed in each cell of a grid, for each piece and for each of six sides
/// to which the surface faces there: the face nearest to the cell's middle.
fn spread(faces: &Faces, size: f64, watch: &Watch) -> Result<Vec<u32>, Stop> {
    let count = faces.middles.len();
    let cell = (1.2 * size).max(f64::MIN_POSITIVE);
    let key = |f: usize| {
        let p = faces.middles[f].map(|x| f64::from(x) / cell);
        let at = p.map(f64::floor);
        let off = (p - at).map(|x| x - 0.5).norm_squared() as f32;
        // On the grid's range a cell has a number of its own; beyond it some share.
        let n = at.coords.map(|x| x as i64 as u64 & 0x1f_ffff);
        let normal = faces.normals[f];
        let axis = normal.iamax();
        let side = 2 * axis as u32 + u32::from(normal[axis] < 0.0);
        (faces.piece[f].0, n[2] << 42 | n[1] << 21 | n[0], side, off.to_bits(), f as u32)
    };
    let mut keys = watch.map(count, key)?;
    watch.run(|| keys.par_sort_unstable());
    watch.check()?;
    let mut seeds: Vec<u32> =
        keys.chunk_by(|a, b| (a.0, a.1, a.2) == (b.0, b.1, b.2)).map(|group| group[0].4).collect();
    seeds.sort_unstable();
    Ok(seeds)
}

/// Each face goes to the nearest seed. A part of the surface that no seed
/// reaches gets one more, at its first face.
fn grown(
    shape: &Shape,
    faces: &Faces,
    seeds: &mut Vec<u32>,
    size: f64,
    watch: &Watch,
) -> Result<Vec<u32>, Stop> {
    let count = shape.faces().len();
    let scale = STEPS / size.max(f64::MIN_POSITIVE);
    let ways = watch.map(3 * count, |half| {
        let f = half / 3;
        faces.across(half).map_or(0, |g| {
            let far = f64::from((faces.middles[g] - faces.middles[f]).norm());
            let bend = turn(&faces.normals[f], &faces.normals[g]) / TURN * size;
            ((far + bend) * scale).round().clamp(1.0, LONGEST as f64) as u16
        })
    })?;
    let mut patch = vec![NONE; count];
    let mut best = vec![u32::MAX; count];
    let mut ring: Vec<Vec<(u32, u32)>> = vec![Vec::new(); LONGEST + 1];
    let mut next = 0;
    let mut begun = seeds.len();
    ring[0] = seeds.iter().enumerate().map(|(s, f)| (*f, s as u32)).collect();
    for f in seeds.iter() {
        best[*f as usize] = 0;
    }
    loop {
        let mut done = 0_usize;
        let mut empty = 0;
        let mut way = 0_usize;
        while empty <= LONGEST {
            let slot = way & LONGEST;
            // Ways are at least one step, so that a slot is never added to while it is gone through.
            let now = std::mem::take(&mut ring[slot]);
            empty = if now.is_empty() { empty + 1 } else { 0 };
            for &(f, s) in &now {
                let f = f as usize;
                if patch[f] != NONE || (best[f] as usize) < way {
                    continue;
                }
                patch[f] = s;
                done += 1;
                if done.is_multiple_of(65_536) {
                    watch.check()?;
                }
                for (c, step) in ways[3 * f..3 * f + 3].iter().enumerate() {
                    let Some(g) = faces.across(3 * f + c) else { continue };
                    let there = (way + usize::from(*step)) as u32;
                    if patch[g] == NONE && there < best[g] {
                        best[g] = there;
                        ring[there as usize & LONGEST].push((g as u32, s));
                    }
                }
            }
            let mut now = now;
            now.clear();
            ring[slot] = now;
            way += 1;
        }
        // What hangs together with no seed.
        while next < count && patch[next] != NONE {
            next += 1;
        }
        if next == count {
            return Ok(patch);
        }
        seeds.push(next as u32);
        best[next] = 0;
        ring[0].push((next as u32, begun as u32));
        begun += 1;
    }
}

/// For each patch the face that stands best for it: in its middle, and facing
/// as most of it does. Patches that are slivers beside the others get none, so
/// that their neighbours take them in.
fn middles(
    shape: &Shape,
    faces: &Faces,
    patch: &[u32],
    count: usize,
    size: f64,
    watch: &Watch,
) -> Result<Vec<u32>, Stop> {
    let mut area = vec![0.0_f64; count];
    let mut place = vec![Vector3::<f64>::zeros(); count];
    let mut facing = vec![Vector3::<f64>::zeros(); count];
    for (f, p) in patch.iter().enumerate() {
        let (p, own) = (*p as usize, f64::from(shape.areas()[f]));
        area[p] += own;
        place[p] += faces.middles[f].coords.cast::<f64>() * own;
        facing[p] += faces.normals[f].cast::<f64>() * own;
    }
    watch.check()?;
    let mut best = vec![(f64::INFINITY, NONE); count];
    for (f, p) in patch.iter().enumerate() {
        let p = *p as usize;
        let off = (faces.middles[f].coords.cast::<f64>() - place[p] / area[p]).norm() / size;
        let away = turn(&faces.normals[f], &facing[p].normalize().cast()) / TURN;
        let rank = off + away;
        if area[p] > 0.15 * size * size && rank < best[p].0 {
            best[p] = (rank, f as u32);
        }
    }
    watch.check()?;
    let mut seeds: Vec<u32> = best.into_iter().map(|b| b.1).filter(|f| *f != NONE).collect();
    seeds.sort_unstable();
    Ok(seeds)
}

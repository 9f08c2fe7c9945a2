//! Coplanar pairs of triangles flipped toward Delaunay.
//!
//! A plate of two long triangles, or a fan of slivers over a flat cap, would
//! be split into more slivers. Flipping first (Lawson, 1977) makes well-shaped
//! triangles without moving a single point of the surface.

use grisaille_base::{Stop, Watch};
use grisaille_mesh::{NO_TWIN, twins};
use nalgebra::Point3;

/// Flips edges longer than `longer_than` whose two faces are coplanar to
/// within `flatness`, until each is locally Delaunay. Both in mm.
pub(crate) fn flip_toward_delaunay(
    positions: &[Point3<f32>],
    faces: &mut [[u32; 3]],
    longer_than: f64,
    flatness: f64,
    watch: &Watch,
) -> Result<u64, Stop> {
    let mut twin = twins(faces);
    let mut queue: Vec<u32> = (0..twin.len() as u32).rev().filter(|&h| twin[h as usize] > h).collect();
    let mut flips = 0_u64;
    // Lawson's flips end by themselves; the bound is for rounding alone.
    let mut left = 16 * queue.len() as u64;
    while let Some(half) = queue.pop() {
        left = left.saturating_sub(1);
        if left == 0 {
            break;
        }
        if left.is_multiple_of(8192) {
            watch.check()?;
        }
        let other = twin[half as usize];
        if other == NO_TWIN || !wants_flip(positions, faces, half, other, longer_than, flatness) {
            continue;
        }
        let (c, d) = (apex(faces, half), apex(faces, other));
        if c == d || joined(faces, &twin, prev(half), d) {
            continue;
        }
        flip(faces, &mut twin, half, other);
        flips += 1;
        let (f, g) = (3 * (half / 3), 3 * (other / 3));
        queue.extend([f, f + 1, g, g + 1]);
    }
    Ok(flips)
}

fn next(h: u32) -> u32 {
    if h % 3 == 2 { h - 2 } else { h + 1 }
}

fn prev(h: u32) -> u32 {
    if h.is_multiple_of(3) { h + 2 } else { h - 1 }
}

fn from(faces: &[[u32; 3]], h: u32) -> u32 {
    faces[h as usize / 3][h as usize % 3]
}

fn apex(faces: &[[u32; 3]], h: u32) -> u32 {
    from(faces, prev(h))
}

fn wants_flip(
    positions: &[Point3<f32>],
    faces: &[[u32; 3]],
    half: u32,
    other: u32,
    longer_than: f64,
    flatness: f64,
) -> bool {
    let at = |v: u32| positions[v as usize].cast::<f64>();
    let (a, b) = (at(from(faces, half)), at(from(faces, other)));
    if (b - a).norm_squared() <= longer_than * longer_than {
        return false;
    }
    let (c, d) = (at(apex(faces, half)), at(apex(faces, other)));
    let (normal_f, normal_g) = ((b - a).cross(&(c - a)), (a - b).cross(&(d - b)));
    let (Some(unit_f), Some(unit_g)) = (normal_f.try_normalize(0.0), normal_g.try_normalize(0.0)) else {
        return false;
    };
    let coplanar = unit_f.dot(&unit_g) > 0.0
        && (d - a).dot(&unit_f).abs() <= flatness
        && (c - a).dot(&unit_g).abs() <= flatness;
    if !coplanar {
        return false;
    }
    // Angles at c and d sum to more than 180° where sin(c + d) < 0.
    let (ca, cb, da, db) = (a - c, b - c, a - d, b - d);
    let sine = ca.cross(&cb).norm() * da.dot(&db) + ca.dot(&cb) * da.cross(&db).norm();
    sine < -1e-9 * ca.norm() * cb.norm() * da.norm() * db.norm()
}

/// Whether an edge from the start of `half` to `d` exists already.
fn joined(faces: &[[u32; 3]], twin: &[u32], half: u32, d: u32) -> bool {
    // Once round the vertex; both ways, since an open edge ends a walk.
    let mut h = half;
    for _ in 0..4096 {
        if faces[h as usize / 3].contains(&d) {
            return true;
        }
        let across = twin[prev(h) as usize];
        if across == NO_TWIN {
            break;
        }
        h = across;
        if h == half {
            return false;
        }
    }
    let mut h = half;
    for _ in 0..4096 {
        if faces[h as usize / 3].contains(&d) {
            return true;
        }
        let across = twin[h as usize];
        if across == NO_TWIN {
            return false;
        }
        h = next(across);
        if h == half {
            return false;
        }
    }
    true
}

fn flip(faces: &mut [[u32; 3]], twin: &mut [u32], half: u32, other: u32) {
    let (a, b) = (from(faces, half), from(faces, other));
    let (c, d) = (apex(faces, half), apex(faces, other));
    let outer = [prev(half), next(other), prev(other), next(half)].map(|h| twin[h as usize]);
    let (f, g) = (half / 3, other / 3);
    faces[f as usize] = [c, a, d];
    faces[g as usize] = [d, b, c];
    for (h, across) in [3 * f, 3 * f + 1, 3 * g, 3 * g + 1].into_iter().zip(outer) {
        twin[h as usize] = across;
        if across != NO_TWIN {
            twin[across as usize] = h;
        }
    }
    twin[3 * f as usize + 2] = 3 * g + 2;
    twin[3 * g as usize + 2] = 3 * f + 2;
}

//! Faces of a patch laid flat: one after the other, then evened out.

use super::grow::Patch;
use crate::Shape;
use grisaille_base::{Stop, Watch};
use nalgebra::{Matrix2, Vector2};

/// Turns of the local and the global step at most; they end before that once nothing moves.
const TURNS: usize = 200;
/// They end once no point moves farther than this share of the patch's size.
const STILL: f64 = 1e-5;
/// Steps of the solver for each global step at most, and when it ends: how much is left of the error.
const SOLVER_STEPS: usize = 400;
const SOLVED: f64 = 1e-8;
/// The least weight of an edge, so that the system stays definite on thin faces (cotangents of more than 90°
/// are negative).
const LEAST_WEIGHT: f64 = 1e-3;

/// Each face laid flat by itself.
pub(super) struct Flat {
    /// Its corners in mm: the first at 0, the second to the right, the third above.
    pub(super) corners: Vec<[Vector2<f64>; 3]>,
    /// Its area in mm².
    pub(super) area: Vec<f64>,
    /// Half the cotangent of the angle that faces each edge, from corner `c` to the next.
    weight: Vec<[f64; 3]>,
}

impl Flat {
    pub(super) fn of(shape: &Shape, patch: &Patch) -> Self {
        let mut flat = Self { corners: Vec::new(), area: Vec::new(), weight: Vec::new() };
        for source in &patch.source {
            let [a, b, c] =
                shape.faces()[*source as usize].map(|v| shape.positions()[v as usize].cast::<f64>());
            let (along, to) = (b - a, c - a);
            let length = along.norm();
            let x = to.dot(&along) / length;
            let y = along.cross(&to).norm() / length;
            let corners = [Vector2::zeros(), Vector2::new(length, 0.0), Vector2::new(x, y)];
            let cot = |c: usize| {
                let (u, v) = (corners[(c + 1) % 3] - corners[c], corners[(c + 2) % 3] - corners[c]);
                u.dot(&v) / (u.x * v.y - u.y * v.x)
            };
            flat.corners.push(corners);
            flat.area.push(0.5 * length * y);
            flat.weight.push([2, 0, 1].map(|c| (0.5 * cot(c)).max(LEAST_WEIGHT)));
        }
        flat
    }

    /// What maps a face as it lies flat by itself onto paper.
    pub(super) fn jacobian(&self, face: usize, points: [u32; 3], at: &[[f64; 2]]) -> Matrix2<f64> {
        let [a, b, c] = points.map(|p| Vector2::from(at[p as usize]));
        let [_, q, r] = self.corners[face];
        let paper = Matrix2::from_columns(&[b - a, c - a]);
        // The inverse of the triangular matrix of q and r.
        let inverse = Matrix2::new(1.0 / q.x, -r.x / (q.x * r.y), 0.0, 1.0 / r.y);
        paper * inverse
    }
}

/// Every face hinged to the one it was joined to, as paper is folded open: exact where the surface can be unrolled.
pub(super) fn unfolded(patch: &Patch, flat: &Flat) -> Vec<[f64; 2]> {
    let mut at = vec![[0.0; 2]; patch.vertices.len()];
    let mut known = vec![false; at.len()];
    for (k, face) in patch.faces.iter().enumerate() {
        let corners = &flat.corners[k];
        if k == 0 {
            for (p, corner) in face.iter().zip(corners) {
                at[*p as usize] = (*corner).into();
                known[*p as usize] = true;
            }
            continue;
        }
        let first = usize::from(patch.joined[k]);
        let [a, b, c] = [first, (first + 1) % 3, (first + 2) % 3];
        if known[face[c] as usize] {
            continue;
        }
        let (from, to) = (Vector2::from(at[face[a] as usize]), Vector2::from(at[face[b] as usize]));
        let (along, third) = (corners[b] - corners[a], corners[c] - corners[a]);
        // The third corner beside the edge of the join, in its own frame, then on paper.
        let square = along.norm_squared();
        let (u, v) = (third.dot(&along) / square, (along.x * third.y - along.y * third.x) / square);
        let way = to - from;
        at[face[c] as usize] = (from + u * way + v * Vector2::new(-way.y, way.x)).into();
        known[face[c] as usize] = true;
    }
    at
}

/// The edges of a patch: points, weight, and which way they want to point.
struct System {
    begin: Vec<u32>,
    ties: Vec<(u32, f64)>,
    diagonal: Vec<f64>,
}

impl System {
    fn of(patch: &Patch, flat: &Flat) -> Self {
        let count = patch.vertices.len();
        let mut all: Vec<(u32, u32, f64)> = Vec::new();
        for (face, weight) in patch.faces.iter().zip(&flat.weight) {
            for c in 0..3 {
                let (a, b) = (face[c], face[(c + 1) % 3]);
                all.extend([(a, b, weight[c]), (b, a, weight[c])]);
            }
        }
        all.sort_unstable_by_key(|x| (x.0, x.1));
        let (mut begin, mut ties, mut diagonal) = (vec![0; count + 1], Vec::new(), vec![0.0; count]);
        for same in all.chunk_by(|x, y| (x.0, x.1) == (y.0, y.1)) {
            let weight: f64 = same.iter().map(|x| x.2).sum();
            let (a, b, _) = same[0];
            ties.push((b, weight));
            diagonal[a as usize] += weight;
            begin[a as usize + 1] += 1;
        }
        for a in 0..count {
            begin[a + 1] += begin[a];
        }
        Self { begin, ties, diagonal }
    }

    fn times(&self, x: &[Vector2<f64>]) -> Vec<Vector2<f64>> {
        let each = |a: usize| {
            let ties = &self.ties[self.begin[a] as usize..self.begin[a + 1] as usize];
            let flows: Vector2<f64> = ties.iter().map(|(b, weight)| x[*b as usize] * *weight).sum();
            x[a] * self.diagonal[a] - flows
        };
        // The first point is held where it is.
        std::iter::once(Vector2::zeros()).chain((1..x.len()).map(each)).collect()
    }

    /// Conjugate gradients with the diagonal as preconditioner, from where `x` stands; its first point is held.
    fn solve(&self, wanted: &[Vector2<f64>], x: &mut [Vector2<f64>], watch: &Watch) -> Result<(), Stop> {
        let dot = |a: &[Vector2<f64>], b: &[Vector2<f64>]| {
            a.iter().zip(b).fold(Vector2::zeros(), |sum: Vector2<f64>, (a, b)| sum + a.component_mul(b))
        };
        let scaled = |r: &[Vector2<f64>]| -> Vec<Vector2<f64>> {
            let each = r.iter().zip(&self.diagonal);
            each.map(|(r, d)| if *d > 0.0 { r / *d } else { Vector2::zeros() }).collect()
        };
        let product = self.times(x);
        let mut rest: Vec<Vector2<f64>> = wanted.iter().zip(&product).map(|(w, p)| w - p).collect();
        rest[0] = Vector2::zeros();
        let mut way = scaled(&rest);
        let mut energy = dot(&rest, &way);
        let enough = SOLVED * SOLVED * (1e-300 + dot(wanted, &scaled(wanted)).amax());
        for _ in 0..SOLVER_STEPS {
            if energy.amax() <= enough {
                break;
            }
            watch.check()?;
            // Both coordinates are systems of their own that share their matrix.
            let product = self.times(&way);
            let steep = dot(&way, &product);
            let far = energy.zip_map(&steep, |e, s| if s > 0.0 { e / s } else { 0.0 });
            for (((x, r), w), p) in x.iter_mut().zip(&mut rest).zip(&way).zip(&product) {
                *x += w.component_mul(&far);
                *r -= p.component_mul(&far);
            }
            let next = scaled(&rest);
            let now = dot(&rest, &next);
            let keep = now.zip_map(&energy, |n, e| if e > 0.0 { n / e } else { 0.0 });
            for (w, n) in way.iter_mut().zip(&next) {
                *w = n + w.component_mul(&keep);
            }
            energy = now;
        }
        Ok(())
    }
}

/// Evens out what was unfolded, as rigid as possible: each face is turned to fit how its points lie, then all points are
/// laid so that every edge agrees best with the faces beside it.
pub(super) fn relax(patch: &Patch, flat: &Flat, points: &mut [[f64; 2]], watch: &Watch) -> Result<(), Stop> {
    let system = System::of(patch, flat);
    let size = flat.area.iter().sum::<f64>().sqrt();
    let mut x: Vec<Vector2<f64>> = points.iter().map(|p| Vector2::from(*p)).collect();
    for _ in 0..TURNS {
        let mut wanted = vec![Vector2::zeros(); x.len()];
        for ((face, corners), weight) in patch.faces.iter().zip(&flat.corners).zip(&flat.weight) {
            watch.check()?;
            // The turn that takes the edges as they lie by themselves onto those on paper, weighted (Procrustes).
            let (mut along, mut across) = (0.0, 0.0);
            for c in 0..3 {
                let own = corners[(c + 1) % 3] - corners[c];
                let now = x[face[(c + 1) % 3] as usize] - x[face[c] as usize];
                along += weight[c] * own.dot(&now);
                across += weight[c] * (own.x * now.y - own.y * now.x);
            }
            let length = along.hypot(across);
            let (cos, sin) = if length > 0.0 { (along / length, across / length) } else { (1.0, 0.0) };
            for c in 0..3 {
                let own = corners[(c + 1) % 3] - corners[c];
                let turned = weight[c] * Vector2::new(cos * own.x - sin * own.y, sin * own.x + cos * own.y);
                wanted[face[(c + 1) % 3] as usize] += turned;
                wanted[face[c] as usize] -= turned;
            }
        }
        let before = x.clone();
        // The first point's ties stand on the other side, since it is held.
        system.solve(&wanted, &mut x, watch)?;
        let moved = before.iter().zip(&x).map(|(a, b)| (a - b).norm()).fold(0.0, f64::max);
        if moved.is_nan() || moved <= STILL * size {
            break;
        }
    }
    for (p, x) in points.iter_mut().zip(&x) {
        *p = (*x).into();
    }
    Ok(())
}

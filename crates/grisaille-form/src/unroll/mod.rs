//! A patch of the surface laid flat, so that a design can be drawn on paper before it is on the figure.
//!
//! The patch grows from a spot over faces ([`grow`]); where it meets itself, as round a pole, it stays cut there.
//! It is laid flat so that its triangles keep their shape as well as they can: as rigid as possible, by turns of a
//! local and a global step (Liu et al., A Local/Global Approach to Mesh Parameterization, CGF 27(5), 2008).

mod grow;
mod lay;

use crate::Shape;
use crate::regions::nearest_point;
use grisaille_base::{Stop, Watch};
use nalgebra::{Matrix2, Point3, Vector3};
use rayon::prelude::*;

/// Where a patch ends.
pub struct PatchSettings<'a> {
    /// How far it reaches along the surface, mm.
    pub radius: f64,
    /// Edges that turn by more than this, radians, end it: the rim of a shield, the hem of a cloak.
    pub crease: f64,
    /// Faces that may belong to it, by their numbers.
    pub own: &'a dyn Fn(u32) -> bool,
}

/// A patch of the surface on paper.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Unrolled {
    /// Its points on paper in mm: right and up as seen from outside, 0, 0 where it was grown from.
    pub points: Vec<[f64; 2]>,
    /// The vertex of the shape that each point stands for; one vertex has two points where the patch is cut.
    pub vertices: Vec<u32>,
    /// Faces by their points, counter-clockwise.
    pub faces: Vec<[u32; 3]>,
    /// The face of the shape that each of these is.
    pub source: Vec<u32>,
    /// How much lengths differ from those on the figure.
    pub stretch: Stretch,
}

/// How much lengths on paper differ from those on the figure, weighted by area: 0.05 is a twentieth longer, −0.05 one
/// shorter.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Stretch {
    /// In the way in which they differ most, the mean.
    pub mean: f64,
    /// The most that is drawn too short; a hundredth of the area is worse.
    pub shorter: f64,
    /// The most that is drawn too long; a hundredth of the area is worse.
    pub longer: f64,
    /// Faces that lie on their backs.
    pub folded: usize,
}

impl Unrolled {
    /// The rim as one closed run of points, counter-clockwise.
    #[must_use]
    pub fn rim(&self) -> Vec<u32> {
        let inner: std::collections::HashSet<[u32; 2]> =
            self.faces.iter().flat_map(|f| (0..3).map(|c| [f[(c + 1) % 3], f[c]])).collect();
        let mut next: std::collections::BTreeMap<u32, u32> = self
            .faces
            .iter()
            .flat_map(|f| (0..3).map(|c| [f[c], f[(c + 1) % 3]]))
            .filter(|edge| !inner.contains(edge))
            .map(|[a, b]| (a, b))
            .collect();
        let mut rim = Vec::new();
        let mut at = next.first_key_value().map(|(a, _)| *a);
        while let Some(a) = at {
            rim.push(a);
            at = next.remove(&a).filter(|b| next.contains_key(b));
        }
        rim
    }
}

/// The face that lies nearest to a spot, of those that may be taken; of equals the first.
#[must_use]
pub fn face_at(shape: &Shape, spot: Point3<f64>, own: &(dyn Fn(u32) -> bool + Sync)) -> Option<u32> {
    let faces = (0..shape.faces().len() as u32).into_par_iter();
    let far = |f: u32| {
        let corners = shape.faces()[f as usize].map(|v| shape.positions()[v as usize].cast::<f64>());
        ((nearest_point(corners, spot) - spot).norm(), f)
    };
    let found = faces.filter(|f| own(*f) && shape.areas()[*f as usize].is_normal()).map(far);
    found.min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1))).map(|(_, f)| f)
}

/// Lays flat what lies round a face. `up` is what points upward on paper, a direction in the scene. Nothing where the
/// face has no area.
///
/// # Errors
/// [`Stop`] when cancelled.
pub fn unroll(
    shape: &Shape,
    from: u32,
    settings: &PatchSettings<'_>,
    up: Vector3<f64>,
    watch: &Watch,
) -> Result<Option<Unrolled>, Stop> {
    let patch = grow::grow(shape, from, settings, watch)?;
    if patch.faces.is_empty() {
        return Ok(None);
    }
    let flat = lay::Flat::of(shape, &patch);
    let mut points = lay::unfolded(&patch, &flat);
    lay::relax(&patch, &flat, &mut points, watch)?;
    turn(shape, &patch, &flat, up, &mut points);
    let stretch = stretch(&patch, &flat, &points);
    let grow::Patch { vertices, faces, source, .. } = patch;
    Ok(Some(Unrolled { points, vertices, faces, source, stretch }))
}

/// Turns the paper so that `up` points upward at the first face, and moves the middle of that to 0, 0.
fn turn(shape: &Shape, patch: &grow::Patch, flat: &lay::Flat, up: Vector3<f64>, points: &mut [[f64; 2]]) {
    let face = patch.faces[0];
    let [a, b, c] =
        shape.faces()[patch.source[0] as usize].map(|v| shape.positions()[v as usize].cast::<f64>());
    let x = (b - a).normalize();
    let normal = x.cross(&(c - a));
    let y = normal.cross(&x).normalize();
    // Within the face, as it was laid flat by itself, then as it lies on paper.
    let (ux, uy) = (up.dot(&x), up.dot(&y));
    let [mx, my] = [0, 1].map(|k| face.iter().map(|v| points[*v as usize][k]).sum::<f64>() / 3.0);
    let jacobian = flat.jacobian(0, face, points);
    let to = jacobian * nalgebra::Vector2::new(ux, uy);
    let to = to.try_normalize(1e-9).unwrap_or(nalgebra::Vector2::y());
    for p in points {
        let (px, py) = (p[0] - mx, p[1] - my);
        *p = [px * to.y - py * to.x, px * to.x + py * to.y];
    }
}

/// The singular values of what maps a face onto paper, the larger first, and whether it lies on its back.
fn singular(j: &Matrix2<f64>) -> ([f64; 2], bool) {
    let (s, d) = (0.5 * (j.m11 + j.m22).hypot(j.m21 - j.m12), 0.5 * (j.m11 - j.m22).hypot(j.m21 + j.m12));
    ([s + d, (s - d).abs()], s < d)
}

fn stretch(patch: &grow::Patch, flat: &lay::Flat, points: &[[f64; 2]]) -> Stretch {
    let mut most: Vec<(f64, f64, f64)> = Vec::new();
    let mut folded = 0;
    for (k, face) in patch.faces.iter().enumerate() {
        let (values, back) = singular(&flat.jacobian(k, *face, points));
        folded += usize::from(back);
        most.push((values[1] - 1.0, values[0] - 1.0, flat.area[k]));
    }
    let all: f64 = flat.area.iter().sum();
    let mean = most.iter().map(|(low, high, area)| area * high.abs().max(low.abs())).sum::<f64>() / all;
    // What a hundredth of the area exceeds, from the far end of a sorted list.
    let beyond = |mut list: Vec<(f64, f64)>| {
        list.sort_by(|a, b| b.0.total_cmp(&a.0));
        let mut left = 0.01 * all;
        let worst = list.iter().find(|(_, area)| {
            left -= area;
            left < 0.0
        });
        worst.map_or(0.0, |w| w.0)
    };
    let longer = beyond(most.iter().map(|(_, high, area)| (*high, *area)).collect()).max(0.0);
    let shorter = -beyond(most.iter().map(|(low, _, area)| (-low, *area)).collect()).max(0.0);
    Stretch { mean, shorter, longer, folded }
}

//! Base and underside, recognised from the shape so that they do not take
//! the figure's highlights.

use crate::mesh::{Mesh, face_cross};
use serde::Serialize;

/// What a face belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Part {
    /// The figure itself.
    Figure,
    /// The base that it stands on: painted, but never brightest.
    Base,
    /// Faces that the model stands on: not painted.
    Underside,
}

/// The part of every face of a mesh.
#[derive(Clone, Debug, PartialEq)]
pub struct Parts {
    /// One for each face.
    pub of_face: Vec<Part>,
    /// The height of the base's top above the lowest point in mm, if a base was found.
    pub base_top_mm: Option<f64>,
}

/// Slices the lowest third of the model is looked at in.
const SLICES: usize = 100;

/// Recognises base and underside.
///
/// The underside is what faces down within 1 % of the height above the lowest
/// point. A base is looked for above it in two ways: a piece of its own that
/// carries the underside, spans more than half of the model's footprint and
/// less than a third of its height; or, in a fused model, the height below a
/// third at which the widths of horizontal slices fall by a third or more
/// from one slice to the next. Both need an underside of at least a tenth of
/// the footprint: a figure on its own two feet has no base.
#[must_use]
pub fn parts(mesh: &Mesh) -> Parts {
    let bounds = mesh.bounds();
    let floor = f64::from(bounds.low[2]);
    let [width, depth, height] = bounds.extents();
    let mut of_face = vec![Part::Figure; mesh.faces().len()];
    let mut under_area = 0.0;
    let mut under_piece = vec![0.0; mesh.pieces().len()];
    for (f, &face) in mesh.faces().iter().enumerate() {
        let cross = face_cross(mesh.positions(), face);
        let top = top_of(mesh, face);
        if cross.z <= -0.7 * cross.norm() && top - floor <= 0.01 * height && cross.norm() > 0.0 {
            of_face[f] = Part::Underside;
            under_area -= 0.5 * cross.z;
            under_piece[mesh.piece_of_face()[f].index()] -= 0.5 * cross.z;
        }
    }
    let footprint = width * depth;
    if under_area < 0.1 * footprint || height <= 0.0 {
        return Parts { of_face, base_top_mm: None };
    }
    if let Some(top) = base_piece(mesh, &mut of_face, &under_piece) {
        return Parts { of_face, base_top_mm: Some(top - floor) };
    }
    let Some(top) = step_height(mesh, floor, height) else {
        return Parts { of_face, base_top_mm: None };
    };
    // A hair of tolerance keeps the base's own flat top with the base.
    let limit = top + 0.002 * height;
    for (part, &face) in of_face.iter_mut().zip(mesh.faces()) {
        if *part == Part::Figure && top_of(mesh, face) <= limit {
            *part = Part::Base;
        }
    }
    Parts { of_face, base_top_mm: Some(top - floor) }
}

fn top_of(mesh: &Mesh, face: [u32; 3]) -> f64 {
    face.iter().map(|&v| f64::from(mesh.positions()[v as usize].z)).fold(f64::NEG_INFINITY, f64::max)
}

/// Marks a piece that is a base by itself; gives the height of its top.
fn base_piece(mesh: &Mesh, of_face: &mut [Part], under: &[f64]) -> Option<f64> {
    let all = mesh.bounds().extents();
    let base = (0..mesh.pieces().len()).max_by(|&a, &b| under[a].total_cmp(&under[b]).then(b.cmp(&a)))?;
    let own = mesh.pieces()[base].bounds.extents();
    let is_base = mesh.pieces().len() > 1 && own[2] < all[2] / 3.0 && own[0] * own[1] > 0.5 * all[0] * all[1];
    if !is_base {
        return None;
    }
    for (part, piece) in of_face.iter_mut().zip(mesh.piece_of_face()) {
        if *part == Part::Figure && piece.index() == base {
            *part = Part::Base;
        }
    }
    Some(f64::from(mesh.pieces()[base].bounds.high[2]))
}

/// The height at which slices suddenly get narrower.
fn step_height(mesh: &Mesh, floor: f64, height: f64) -> Option<f64> {
    let slice = height / 3.0 / SLICES as f64;
    let mut boxes = [[f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY]; SLICES];
    for &face in mesh.faces() {
        let corners = face.map(|v| mesh.positions()[v as usize].cast::<f64>());
        let low = corners.iter().map(|p| p.z).fold(f64::INFINITY, f64::min) - floor;
        let high = corners.iter().map(|p| p.z).fold(f64::NEG_INFINITY, f64::max) - floor;
        let first = ((low / slice) as usize).min(SLICES);
        let last = ((high / slice) as usize + 1).min(SLICES);
        for (s, bounds) in boxes.iter_mut().enumerate().take(last).skip(first) {
            let z = floor + (s as f64 + 0.5) * slice;
            for i in 0..3 {
                let (a, b) = (corners[i], corners[(i + 1) % 3]);
                if (a.z - z) * (b.z - z) <= 0.0 && a.z != b.z {
                    let p = a + (b - a) * ((z - a.z) / (b.z - a.z));
                    bounds[0] = bounds[0].min(p.x);
                    bounds[1] = bounds[1].min(p.y);
                    bounds[2] = bounds[2].max(p.x);
                    bounds[3] = bounds[3].max(p.y);
                }
            }
        }
    }
    let area = |s: usize| ((boxes[s][2] - boxes[s][0]) * (boxes[s][3] - boxes[s][1])).max(0.0);
    // Bevelled rims spread the step over a few slices.
    let step = (0..SLICES - 3).find(|&s| area(s) > 0.0 && area(s + 3) < 0.67 * area(s))?;
    let sharpest = (step..step + 3).max_by(|&a, &b| {
        let fall = |s: usize| area(s) - area(s + 1);
        fall(a).total_cmp(&fall(b))
    })?;
    // The step lies between the middles of two slices; the faces that lie
    // level there give its exact height.
    let (from, to) = (floor + (sharpest as f64 + 0.5) * slice, floor + (sharpest as f64 + 1.5) * slice);
    let level = mesh
        .faces()
        .iter()
        .filter(|&&f| face_cross(mesh.positions(), f).normalize().z > 0.9)
        .map(|&f| top_of(mesh, f))
        .filter(|z| (from..=to).contains(z))
        .fold(f64::NEG_INFINITY, f64::max);
    Some(if level.is_finite() { level } else { to })
}

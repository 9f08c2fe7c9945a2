//! What of the lines is the grain of a print: steps of its layers, and scars of its supports.
//!
//! A slicer cuts a body into level slabs (common practice), so a slope becomes a stair. Between the feet of a
//! step of height h and tread t its edge stands out by h·t/√(h² + t²), less than h; so does the recess
//! between two edges. Both run level. What is level and no deeper than that cannot be told from grain, on
//! the print as little as here; what climbs, or is deeper, is form.

use crate::{Line, Shape};
use grisaille_mesh::{Bounds, Layers};
use nalgebra::{Point3, Vector3};

/// What rises by less than this for each mm of its way is level: lines are evened out.
const LEVEL: f64 = 0.25;
/// A scar of a support is no larger than this across and no deeper, in mm: tips are 0.3 to 0.6 mm
/// wide (common practice, no published source).
const SCAR: (f64, f64) = (1.5, 0.4);
/// Faces that look down by more than this, as a cosine, were over supports.
const DOWN: f64 = 0.2;
/// Scars stand in patches: so many within so many mm of each other.
const PATCH: (usize, f64) = (3, 8.0);

/// Takes the lines away that are a print's grain; says how many those were.
pub fn without_grain(lines: &mut Vec<Line>, shape: &Shape, layers: &Layers) -> usize {
    let before = lines.len();
    let up = Vector3::from(layers.up);
    let here = |line: &Line| layers.bounds.holds(middle(line).into());
    lines.retain(|l| !(here(l) && is_step(l, &up, layers.grain_mm())));
    if layers.printed.scars {
        let could_be: Vec<Option<Point3<f64>>> =
            lines.iter().map(|l| (here(l) && is_pimple(l, shape, &up)).then(|| middle(l))).collect();
        let many = |at: &Point3<f64>| {
            could_be.iter().flatten().filter(|other| (*other - at).norm() <= PATCH.1).count() >= PATCH.0
        };
        let mut scars = could_be.iter().map(|at| at.as_ref().is_some_and(many));
        lines.retain(|_| !scars.next().unwrap_or(false));
    }
    before - lines.len()
}

/// The middle of a line's points.
fn middle(line: &Line) -> Point3<f64> {
    let sum: Vector3<f64> = line.points.iter().map(|p| p.coords.cast::<f64>()).sum();
    Point3::from(sum / line.points.len().max(1) as f64)
}

/// Whether a line runs level and is no deeper than a step.
fn is_step(line: &Line, up: &Vector3<f64>, grain_mm: f64) -> bool {
    let ways = line.points.windows(2).map(|w| (w[1] - w[0]).cast::<f64>());
    let (rise, length) =
        ways.fold((0.0, 0.0), |(rise, length), way| (rise + way.dot(up).abs(), length + way.norm()));
    line.depth <= grain_mm && rise <= LEVEL * length
}

/// Whether a line is as small as a scar, on what faced the plate.
fn is_pimple(line: &Line, shape: &Shape, up: &Vector3<f64>) -> bool {
    let size = Bounds::of(&line.points).extents().into_iter().fold(0.0, f64::max);
    // Beside the line: on it faces look to one side where it is only part of a ring.
    let beside = line.beside.iter().flatten();
    let facing: Vector3<f64> = beside.map(|f| shape.normals()[*f as usize].cast::<f64>()).sum();
    let down = facing.dot(up) < -DOWN * facing.norm();
    size <= SCAR.0 && line.depth <= SCAR.1 && down
}

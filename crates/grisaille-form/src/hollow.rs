//! Recesses as areas: what lies less open than a level.

use crate::Shape;
use grisaille_base::{Stop, Watch};
use nalgebra::Point3;

/// An area that lies deep, in one.
#[derive(Clone, Debug, PartialEq)]
pub struct Hollow {
    /// Its faces, in rising order.
    pub faces: Vec<u32>,
    /// How large it is.
    pub area_mm2: f64,
    /// How open it is in the mean of its area, from 0 to 1.
    pub openness: f64,
    /// The middle of its least open face, in mm.
    pub place: Point3<f32>,
}

/// Areas whose faces are less open than `level`, the largest first; those below `smallest_mm2`
/// are left out. `open` is how open each face is, from 0 to 1: within a reach that
/// suits the figure, such as a sixteenth of its height.
///
/// # Errors
/// [`Stop`] when cancelled.
pub fn hollows(
    shape: &Shape,
    open: &[f32],
    level: f32,
    smallest_mm2: f64,
    watch: &Watch,
) -> Result<Vec<Hollow>, Stop> {
    let span = watch.span("hollows", 1);
    let deep = |f: u32| open.get(f as usize).is_some_and(|o| *o < level);
    let mut seen = vec![false; shape.faces().len()];
    let mut out = Vec::new();
    for first in 0..shape.faces().len() as u32 {
        if first.is_multiple_of(4096) {
            watch.check()?;
        }
        if seen[first as usize] || !deep(first) {
            continue;
        }
        seen[first as usize] = true;
        let mut faces = vec![first];
        let mut at = 0;
        while let Some(&face) = faces.get(at) {
            at += 1;
            if at.is_multiple_of(4096) {
                watch.check()?;
            }
            for half in 3 * face..3 * face + 3 {
                let Some(next) = shape.across(half).map(|twin| twin / 3) else { continue };
                if !seen[next as usize] && deep(next) {
                    seen[next as usize] = true;
                    faces.push(next);
                }
            }
        }
        faces.sort_unstable();
        let area = |f: &u32| f64::from(shape.areas()[*f as usize]);
        let area_mm2: f64 = faces.iter().map(area).sum();
        if area_mm2 < smallest_mm2 || area_mm2 <= 0.0 {
            continue;
        }
        let openness = faces.iter().map(|f| area(f) * f64::from(open[*f as usize])).sum::<f64>() / area_mm2;
        let least = faces.iter().copied().min_by(|a, b| open[*a as usize].total_cmp(&open[*b as usize]));
        let [a, b, c] =
            shape.faces()[least.unwrap_or(first) as usize].map(|v| shape.positions()[v as usize].coords);
        out.push(Hollow { faces, area_mm2, openness, place: Point3::from((a + b + c) / 3.0) });
    }
    // Equal areas stay in the order of their first faces.
    out.sort_by(|a, b| b.area_mm2.total_cmp(&a.area_mm2));
    span.advance(1);
    Ok(out)
}

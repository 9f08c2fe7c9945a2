//! How open each spot of a planned figure lies, for those who ask to see it.

use crate::plan::Plan;
use grisaille_base::{Millimetres, Stop, Watch};
use grisaille_light::{OpennessSettings, openness};
use grisaille_mesh::Mesh;
use grisaille_sight::{Occluders, Surface, TreeSight};
use std::collections::HashMap;
use std::sync::Arc;

/// How open each sample lies.
#[derive(Clone, Debug, PartialEq)]
pub struct Openness {
    /// Nothing farther than this was looked at.
    pub reach: Millimetres,
    /// One for each sample, from 0, shut in, to 1.
    pub values: Vec<f32>,
}

/// How far openness looks if nothing is said: a sixteenth of the height, a
/// fold or an armpit on a figure of any size (common practice).
#[must_use]
pub fn usual_reach(mesh: &Mesh) -> Millimetres {
    Millimetres(mesh.bounds().extents()[2] / 16.0)
}

/// Looks round every sample of a plan, in 64 directions over its hemisphere.
///
/// # Errors
/// [`Stop`] when cancelled.
pub fn look_round(plan: &Plan, reach: Millimetres, watch: &Watch) -> Result<Openness, Stop> {
    looked(plan, &plan.surface, reach, watch)
}

/// The same from one sample of each cell of a grid and of each octant that it faces; the others of the
/// cell have its openness. Enough for areas wider than a cell, and on a finely divided model many
/// times as quick.
///
/// # Errors
/// [`Stop`] when cancelled.
pub fn look_round_in_cells(
    plan: &Plan,
    reach: Millimetres,
    cell: Millimetres,
    watch: &Watch,
) -> Result<Openness, Stop> {
    let mut surface = plan.surface.as_ref().clone();
    let samples = &mut surface.samples;
    let mut first: HashMap<([i32; 3], [bool; 3]), usize> = HashMap::new();
    let mut of: Vec<usize> = (0..samples.len()).collect();
    for (s, of) in of.iter_mut().enumerate().filter(|(s, _)| !plan.surface.samples.buried.get(*s)) {
        let (p, n) = (samples.position[s], samples.normal[s]);
        let key = (
            [p.x, p.y, p.z].map(|x| (f64::from(x) / cell.0).floor() as i32),
            [n.x, n.y, n.z].map(|x| x < 0.0),
        );
        *of = *first.entry(key).or_insert(s);
        // Who is not asked counts as buried for so long.
        samples.buried.set(s, *of != s);
    }
    watch.check()?;
    let mut found = looked(plan, &surface, reach, watch)?;
    found.values = of.iter().map(|s| found.values[*s]).collect();
    Ok(found)
}

fn looked(plan: &Plan, surface: &Surface, reach: Millimetres, watch: &Watch) -> Result<Openness, Stop> {
    let tree = TreeSight::new(Arc::new(Occluders::of(&plan.mesh)), watch);
    let settings = OpennessSettings { reach, directions: 64 };
    Ok(Openness { reach, values: openness(surface, &tree, &settings, watch)? })
}

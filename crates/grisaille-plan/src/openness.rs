//! How open each spot of a planned figure lies, for those who ask to see it.

use crate::plan::Plan;
use grisaille_base::{Millimetres, Stop, Watch};
use grisaille_light::{OpennessSettings, openness};
use grisaille_mesh::Mesh;
use grisaille_sight::{Occluders, TreeSight};
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
    let tree = TreeSight::new(Arc::new(Occluders::of(&plan.mesh)), watch);
    let settings = OpennessSettings { reach, directions: 64 };
    Ok(Openness { reach, values: openness(&plan.surface, &tree, &settings, watch)? })
}

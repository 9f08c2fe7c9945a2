//! All that follows from colours: which regions, what they are painted with, in which order, and what
//! will not read.

use crate::check::checks;
use crate::colouring::{Colouring, ColouringError, ColouringGround, Shelf, colouring, seen};
use crate::division::regions_of;
use crate::lining::{Lining, lining_as_seen};
use crate::openness::{look_round_in_cells, usual_reach};
use crate::plan::{Plan, surface_settings};
use crate::proportion::{Proportion, proportions};
use crate::stage::Stage;
use crate::work::{WorkGround, work};
use grisaille_base::{Finding, Millimetres, Watch};
use grisaille_form::Regions;
use grisaille_scheme::Scheme;
use grisaille_words::Words;
use std::sync::Arc;

/// How wide a line a brush draws, in spacings of the divided surface: 0.3 mm on a figure of 32 mm.
const LINE: f64 = 1.5;

/// A planned figure in colour.
#[derive(Clone, Debug, PartialEq)]
pub struct Coloured {
    /// Its regions.
    pub regions: Regions,
    /// What they are painted with.
    pub colouring: Arc<Colouring>,
    /// Lines, edges and spots.
    pub lining: Lining,
    /// The palette's colours on it.
    pub proportions: Vec<Proportion>,
    /// What will not read, blend or match.
    pub checks: Vec<Finding>,
    /// What to do, in order.
    pub stages: Vec<Stage>,
}

/// Colours a plan by its scheme, from the paints of a shelf, and tells all that follows, its stages in `words`. How
/// open it lies and what it is painted with are kept in the plan.
///
/// # Errors
/// When the scheme calls a colour by a word that nothing is called by, or on request.
pub fn coloured(
    scheme: &Scheme,
    plan: &mut Plan,
    shelf: &Shelf,
    words: &Words,
    watch: &Watch,
) -> Result<Coloured, ColouringError> {
    let seen = seen(&plan.surface, &plan.mesh, watch)?;
    let (regions, colouring) = painted_as_seen(scheme, plan, shelf, &seen, watch)?;
    let lining = lining_as_seen(plan, line_width(scheme, plan), &seen, watch)?;
    let stages = work(&WorkGround {
        scheme,
        plan,
        regions: &regions,
        colouring: &colouring,
        lining: &lining,
        shelf,
        words,
    });
    let checks = checks(scheme, plan, &regions, &colouring, shelf);
    let proportions = proportions(&scheme.colours, &colouring);
    Ok(Coloured { regions, colouring, lining, proportions, checks, stages })
}

/// The colours alone, for who shows them: the regions and what they are painted with. How open the figure lies
/// and what it is painted with are kept in the plan.
///
/// # Errors
/// When the scheme calls a colour by a word that nothing is called by, or on request.
pub fn painted(
    scheme: &Scheme,
    plan: &mut Plan,
    shelf: &Shelf,
    watch: &Watch,
) -> Result<(Regions, Arc<Colouring>), ColouringError> {
    let seen = seen(&plan.surface, &plan.mesh, watch)?;
    painted_as_seen(scheme, plan, shelf, &seen, watch)
}

fn painted_as_seen(
    scheme: &Scheme,
    plan: &mut Plan,
    shelf: &Shelf,
    seen: &[f32],
    watch: &Watch,
) -> Result<(Regions, Arc<Colouring>), ColouringError> {
    let reach = usual_reach(&plan.mesh);
    let open = match plan.openness.take().filter(|o| o.reach == reach) {
        Some(known) => known,
        None => look_round_in_cells(plan, reach, line_width(scheme, plan), watch)?,
    };
    let open = plan.openness.insert(open).clone();
    let (ground, regions) = regions_of(&scheme.regions, &plan.surface, &plan.mesh, watch)?;
    let from = ColouringGround { ground: &ground, regions: &regions, shelf, seen, open: &open };
    let colouring = Arc::new(colouring(scheme, plan, from, watch)?);
    plan.colouring = Some(Arc::clone(&colouring));
    Ok((regions, colouring))
}

/// The width in mm of a line that a brush draws on a plan.
#[must_use]
pub fn line_width(scheme: &Scheme, plan: &Plan) -> Millimetres {
    Millimetres(LINE * surface_settings(scheme, &plan.mesh).spacing.0)
}

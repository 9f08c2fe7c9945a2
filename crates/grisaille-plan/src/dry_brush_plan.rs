//! The strokes of a dry brush that come closest to the planned values.

use crate::coat::Tone;
use crate::dry_brush::{Brushed, Load, Stroke};
use crate::layer_fit::Aim;
use crate::remaining::{Remaining, remaining};
use crate::spots::Spots;
use grisaille_base::{Stop, Watch};
use grisaille_mesh::Mesh;
use grisaille_sight::Surface;

/// One round of strokes over the whole figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DryBrushPass {
    /// Which way.
    pub stroke: Stroke,
    /// How much paint is on the brush.
    pub load: Load,
    /// In which tone.
    pub tone: Tone,
}

/// The brush-only route: strokes over a ground of the dark tone.
#[derive(Clone, Debug, PartialEq)]
pub struct DryBrushPlan {
    /// In their order, mid before light.
    pub passes: Vec<DryBrushPass>,
    /// What is left between their look and the planned values.
    pub remaining: Remaining,
    /// What each pass covers at each sample, 0 to 1.
    pub covers: Vec<Vec<f32>>,
}

/// Seeks three rounds of strokes. `None` when nothing is painted.
///
/// # Errors
/// [`Stop`] when cancelled.
pub(crate) fn dry_brush(
    aim: &Aim<'_>,
    spots: &Spots,
    (mesh, surface, spacing): (&Mesh, &Surface, f64),
    watch: &Watch,
) -> Result<Option<DryBrushPlan>, Stop> {
    let span = watch.span("dry brush", 4);
    let brushed = watch.run(|| Brushed::new(mesh, spacing, watch))?;
    span.advance(1);
    let every: Vec<(Stroke, Load)> =
        Stroke::ALL.into_iter().flat_map(|s| Load::ALL.map(|l| (s, l))).collect();
    let mut options = Vec::new();
    for (stroke, load) in &every {
        options.push(watch.run(|| brushed.catch(&spots.surface.samples, *stroke, *load, watch))?);
    }
    span.advance(1);
    let pairs = watch.run(|| aim.pairs(&options, watch))?;
    let Some(best) = watch.run(|| aim.with_one_more(&pairs, &options, watch))? else { return Ok(None) };
    span.advance(1);
    let off = aim.left(&best.coats, &options);
    let mut covers = Vec::new();
    let mut passes = Vec::new();
    for coat in &best.coats {
        let (stroke, load) = every[coat.option];
        covers.push(watch.run(|| brushed.catch(&surface.samples, stroke, load, watch))?);
        passes.push(DryBrushPass { stroke, load, tone: coat.tone });
    }
    let remaining = remaining(aim, &off, &spots.surface.samples);
    Ok(Some(DryBrushPlan { passes, remaining, covers }))
}

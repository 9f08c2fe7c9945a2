//! What to line, what to catch and where a wash belongs, for a planned figure in its light.

use crate::colouring::seen;
use crate::openness::{look_round_in_cells, usual_reach};
use crate::plan::Plan;
use grisaille_base::{Lightness, Millimetres, Stop, Watch};
use grisaille_colour::luminance_from_lightness;
use grisaille_form::{
    Hollow, Line, LineSettings, Shape, Spot, SpotSettings, curvature, edges, hollows, rank_by_light,
    recesses, seams, spots, without_grain,
};
use grisaille_mesh::Part;

/// Spot highlights are few (common practice), and an eighth of the height apart.
const SPOTS: usize = 12;
/// What sees less than half of what it faces lies deep: the bottom of a groove of 90° sees half
/// ([`Openness`](crate::Openness) as cosine-weighted share; J. R. Howell, catalogue of configuration
/// factors, groove).
const DEEP: f32 = 0.5;
/// Deep areas of less than this many strokes, as wide as they are long, are left to a line.
const SMALLEST_STROKES: f64 = 8.0;

/// Of a line, or of a touch, the views show hardly anything where they show less than this share of it (ours).
const HARDLY_SEEN: f64 = 0.1;

/// Lines, spots and deep areas.
#[derive(Clone, Debug, PartialEq)]
pub struct Lining {
    /// The width of the brush in mm.
    pub width: f64,
    /// Recesses to line, the figure's first, each the most important first: bends of one piece and seams between
    /// pieces; then those of the base.
    pub recesses: Vec<Line>,
    /// How many of the recesses are the figure's.
    pub figure_recesses: usize,
    /// Edges to catch, the figure's first, each by its light; then those of the base. In a coloured plan those of true
    /// metal come after all others.
    pub edges: Vec<Line>,
    /// How many of the edges are the figure's.
    pub figure_edges: usize,
    /// Spot highlights of the figure, the strongest first.
    pub spots: Vec<Spot>,
    /// Deep areas, the largest first.
    pub hollows: Vec<Hollow>,
    /// How many lines were left out as grain of the print.
    pub grain: usize,
    /// How far round each spot was looked for these.
    pub hollow_reach: Millimetres,
}

/// Looks for them with a brush that draws lines of a width. Buried lines are left out, those that hardly any of the
/// main views shows come last; edges and spots are ranked by the planned luminance on them, shadows and all.
///
/// # Errors
/// [`Stop`] when cancelled.
pub fn lining(plan: &Plan, width: Millimetres, watch: &Watch) -> Result<Lining, Stop> {
    lining_as_seen(plan, width, &seen(&plan.surface, &plan.mesh, watch)?, watch)
}

/// The same where it is known how much the main views show of each sample.
pub(crate) fn lining_as_seen(
    plan: &Plan,
    width: Millimetres,
    seen: &[f32],
    watch: &Watch,
) -> Result<Lining, Stop> {
    let surface = &plan.surface;
    let shape = Shape::of(surface);
    let layers = plan.mesh.layers();
    // Of several models the coarsest print holds for all: form is measured once.
    let layer = layers.iter().map(|l| l.printed.layer).fold(0.0, f64::max);
    let settings = LineSettings::for_brush(width).in_layers(Millimetres(layer));
    let curved = curvature(&shape, settings.radius(), watch)?;
    let shown = |line: &Line| {
        let hidden = line.faces.iter().filter(|f| surface.open_corners(**f as usize) == 0).count();
        2 * hidden < line.faces.len()
    };
    let mut recesses = recesses(&shape, &curved, &settings, watch)?;
    let mut edges = edges(&shape, &curved, &settings, watch)?;
    // Where pieces meet there is form, however shallow.
    let mut grain = 0;
    for lines in [&mut recesses, &mut edges] {
        grain += layers.iter().map(|l| without_grain(lines, &shape, l)).sum::<usize>();
    }
    recesses.extend(seams(surface, &shape, &curved, &settings, watch)?);
    recesses.sort_by(|a, b| b.importance.total_cmp(&a.importance));
    recesses.retain(shown);
    edges.retain(shown);
    let mut light =
        of_faces(plan, |s| luminance_from_lightness(Lightness(f64::from(plan.values.lightness[s]))) as f32);
    rank_by_light(&mut edges, &light);
    // A base never takes the figure's highlights.
    let on_base = |f: u32| plan.part_of_face.get(f as usize).is_some_and(|p| *p != Part::Figure);
    let share_on_base =
        |l: &Line| l.faces.iter().filter(|f| on_base(**f)).count() as f64 / l.faces.len().max(1) as f64;
    let base_line = |l: &Line| share_on_base(l) > 0.5;
    // What parts the base from the figure is the figure's outline.
    let within_base = |l: &Line| share_on_base(l) > 0.9;
    // What no view shows is work for nobody: it comes after all that is seen.
    let hidden = |line: &Line| {
        let shows = |f: &&u32| surface.faces[**f as usize].iter().any(|s| seen[*s as usize] > 0.0);
        (line.faces.iter().filter(shows).count() as f64) < HARDLY_SEEN * line.faces.len() as f64
    };
    // Nothing is drawn on true metal, which shines by itself.
    let metal = |line: &Line| {
        let own = plan.colouring.as_ref().zip(line.faces.get(line.faces.len() / 2));
        own.is_some_and(|(colouring, face)| colouring.is_true_metal(*face as usize))
    };
    // The base is finished after the figure is lined.
    recesses.sort_by_key(|line| (within_base(line), hidden(line)));
    edges.sort_by_key(|line| (base_line(line), metal(line), hidden(line)));
    let figure_recesses = recesses.iter().filter(|l| !within_base(l)).count();
    let figure_edges = edges.iter().filter(|l| !base_line(l)).count();
    for (f, light) in light.iter_mut().enumerate() {
        if on_base(f as u32) {
            *light = 0.0;
        }
    }
    let wanted = SpotSettings { most: SPOTS, apart_mm: plan.mesh.bounds().extents()[2] / 8.0 };
    let mut spots = spots(&shape, &curved, (&settings, &wanted), Some(&light), watch)?;
    // A touch that no view shows draws no eye.
    let shows =
        |spot: &Spot| surface.faces[spot.face as usize].iter().map(|s| seen[*s as usize]).fold(0.0, f32::max);
    spots.retain(|spot| f64::from(shows(spot)) >= HARDLY_SEEN);
    let hollow_reach = usual_reach(&plan.mesh);
    let open = match &plan.openness {
        Some(known) if known.reach == hollow_reach => known.clone(),
        _ => look_round_in_cells(plan, hollow_reach, width, watch)?,
    };
    // What is hidden is no hollow.
    let open = of_faces(plan, |s| if surface.samples.buried.get(s) { 1.0 } else { open.values[s] });
    let smallest = SMALLEST_STROKES * width.0 * width.0;
    let mut hollows = hollows(&shape, &open, DEEP, smallest, watch)?;
    hollows.retain(|h| h.faces.iter().any(|f| plan.part_of_face[*f as usize].is_painted()));
    Ok(Lining {
        width: width.0,
        recesses,
        figure_recesses,
        edges,
        figure_edges,
        spots,
        hollows,
        grain,
        hollow_reach,
    })
}

/// The mean of what each face's corners have; nothing on hidden faces.
fn of_faces(plan: &Plan, of: impl Fn(usize) -> f32) -> Vec<f32> {
    let surface = &plan.surface;
    let mean = |f: usize| surface.faces[f].iter().map(|s| of(*s as usize)).sum::<f32>() / 3.0;
    (0..surface.faces.len()).map(mean).collect()
}

//! Washes, dark lines, light edges and the last touches.

use super::{WorkGround, begun, listed, lone, names, paint, recipe};
use crate::colouring::{RegionColours, Wash};
use crate::stage::{MixPlace, Recipe, Stage, StageKind};
use grisaille_base::RegionId;
use grisaille_colour::{Lab, line_colour};
use grisaille_form::{Line, parted};
use std::collections::BTreeMap;

/// So many recesses and edges, the weightiest, are worked on in stages; the rest are on the lines' sheet.
pub const LINES_TOLD: usize = 12;

/// What a wash makes of a row, as a recipe.
pub(super) fn wash_recipe(row: &RegionColours, wash: &Wash, from: &WorkGround<'_>) -> Recipe {
    let base = row.base_step();
    let where_to = if wash.pin { "in recesses" } else { "where it pools" };
    Recipe {
        what: format!("{}, {where_to}", row.name),
        colour: wash.pooled[base],
        mix: from.shelf.in_words(Some(&wash.mix)),
        paints: from.shelf.bottles(Some(&wash.mix)),
        near: None,
        place: MixPlace::Pools(row.entry),
    }
}

/// Rows with their washes, those into recesses only or the others.
pub(super) fn washes<'a>(rows: &[&'a RegionColours], pin: bool) -> Vec<(&'a RegionColours, &'a Wash)> {
    let each = rows.iter().filter_map(|row| Some((*row, row.wash.as_ref()?)));
    each.filter(|(_, wash)| wash.pin == pin).collect()
}

pub(super) fn wash(from: &WorkGround<'_>, figure: &[&RegionColours]) -> Option<Stage> {
    let washes = washes(figure, false);
    if washes.is_empty() {
        return None;
    }
    let rows: Vec<&RegionColours> = washes.iter().map(|w| w.0).collect();
    let mut stage = begun(StageKind::Wash, format!("Wash: {}", listed(&names(&rows))));
    stage.regions = names(&rows);
    stage.recipes = washes.iter().map(|(row, wash)| wash_recipe(row, wash, from)).collect();
    stage.steps = vec![
        "Let it run into the recesses; with a clean damp brush take up what gathers on open forms.".into(),
        "One region after the other, so that no edge dries before it is drawn out.".into(),
    ];
    if let Some(deep) = from.lining.hollows.first() {
        let places = from.lining.hollows.len();
        stage.steps.push(format!(
            "It belongs into {places} deep area{}, the largest {:.0} mm².",
            if places == 1 { "" } else { "s" },
            deep.area_mm2
        ));
    }
    stage.thinning = Some("1 part paint to 3 parts water or wash medium, unless it comes as a wash".into());
    stage.brush = Some("round, size 2, and a clean damp one".into());
    stage.drying = Some("30 to 60 minutes; it must not shine any more (common practice)".into());
    stage.done_when = "recesses are dark and open forms keep their colour.".into();
    stage.mistake = "It stained: rings where it dried on open forms.".into();
    stage.repair = "Go over them with the base coat, thinly.".into();
    Some(stage)
}

pub(super) fn lining(from: &WorkGround<'_>) -> Option<Stage> {
    let lines: Vec<&Line> = from.lining.recesses.iter().take(LINES_TOLD).collect();
    if lines.is_empty() || from.colouring.rows.is_empty() {
        return None;
    }
    // One line colour for each pair of rows, the longest first.
    let mut pairs: BTreeMap<(usize, usize), f64> = BTreeMap::new();
    for line in &lines {
        if let Some(pair) = rows_at(from, line) {
            *pairs.entry(pair).or_default() += line.length;
        }
    }
    let mut pairs: Vec<((usize, usize), f64)> = pairs.into_iter().collect();
    pairs.sort_by(|a, b| b.1.total_cmp(&a.1));
    let mut stage = begun(StageKind::Lining, "Line the recesses");
    for ((one, other), length) in pairs {
        let (a, b) = (&from.colouring.rows[one], &from.colouring.rows[other]);
        let (what, wanted): (String, Lab) = if one == other {
            (format!("{}, {length:.0} mm", a.name), a.line.wanted)
        } else {
            let wanted = line_colour(a.ramp[0].wanted, b.ramp[0].wanted);
            (format!("between {} and {}, {length:.0} mm", a.name, b.name), wanted)
        };
        let place = MixPlace::Lines([a.entry, b.entry]);
        stage.recipes.push(lone(what, wanted, from.shelf.line(wanted), from.shelf).at(place));
    }
    let width = from.lining.width;
    stage.steps = vec![
        format!(
            "The {} weightiest of {} recesses, darker than both sides, never plain black.",
            lines.len(),
            from.lining.recesses.len()
        ),
        format!("Draw with the tip, {width:.1} mm wide; where two materials meet draw it all the way."),
    ];
    stage.thinning = Some("1 part paint to 2 parts water: it flows, but does not run".into());
    stage.brush = Some("round, size 0, with a good tip".into());
    stage.drying = Some("10 minutes (common practice)".into());
    stage.done_when = "at arm's length every material has its own outline.".into();
    stage.mistake = "The line wanders onto the form.".into();
    stage.repair = "Take the form's own colour up to the line from its side.".into();
    Some(stage)
}

/// The rows on either side of a line, the lower first.
fn rows_at(from: &WorkGround<'_>, line: &Line) -> Option<(usize, usize)> {
    let row = |r: RegionId| from.colouring.row_of_region.get(r.index()).copied().flatten();
    match parted(line, &from.regions.of_face) {
        Some([a, b]) => {
            let (a, b) = (row(a)?, row(b)?);
            Some((a.min(b), a.max(b)))
        }
        None => {
            let face = *line.faces.get(line.faces.len() / 2)?;
            let own = from.colouring.row_of_face(face as usize)?;
            Some((own, own))
        }
    }
}

pub(super) fn edges(from: &WorkGround<'_>, figure: &[&RegionColours]) -> Option<Stage> {
    let edges: Vec<&Line> = from.lining.edges[..from.lining.figure_edges].iter().take(LINES_TOLD).collect();
    let mut of_row: BTreeMap<usize, f64> = BTreeMap::new();
    for edge in &edges {
        let face = edge.faces.get(edge.faces.len() / 2)?;
        if let Some(row) = from.colouring.row_of_face(*face as usize) {
            *of_row.entry(row).or_default() += edge.length;
        }
    }
    let wanted = |k: &usize| figure.iter().any(|r| r.name == from.colouring.rows[*k].name);
    let mut of_row: Vec<(usize, f64)> = of_row.into_iter().filter(|(k, _)| wanted(k)).collect();
    of_row.sort_by(|a, b| b.1.total_cmp(&a.1));
    if of_row.is_empty() {
        return None;
    }
    let mut stage = begun(StageKind::Edges, "Catch the edges");
    for (k, length) in &of_row {
        let row = &from.colouring.rows[*k];
        stage.regions.push(row.name.clone());
        // Half the way from the lightest step to near-white.
        let light = paint::lightest(row).shown();
        let wanted =
            Lab { l: f64::midpoint(light.l, 97.0), a: 0.7 * light.a, b: 0.7 * light.b }.within_srgb();
        let mix = from.shelf.nearest(wanted);
        let what = format!("{}, {length:.0} mm of edge", row.name);
        stage.recipes.push(lone(what, wanted, mix, from.shelf).at(MixPlace::Edges(row.entry)));
    }
    stage.steps = vec![
        format!("The {} edges that the light strikes most, nothing on the rest.", edges.len()),
        "Drag the side of the tip along the edge; a break in the line is fine, a thick line is not.".into(),
    ];
    stage.thinning = Some("2 parts paint to 1 part water".into());
    stage.brush = Some("round, size 0, its side".into());
    stage.drying = Some("5 minutes (common practice)".into());
    stage.done_when = "edges glint where the light strikes, and only there.".into();
    stage.mistake = "Every edge is outlined.".into();
    stage.repair = "Take back those in shadow with the region's own step.".into();
    Some(stage)
}

pub(super) fn spots(from: &WorkGround<'_>) -> Option<Stage> {
    let spots = &from.lining.spots;
    let mut of_row: BTreeMap<usize, usize> = BTreeMap::new();
    for spot in spots {
        if let Some(row) = from.colouring.row_of_face(spot.face as usize) {
            *of_row.entry(row).or_default() += 1;
        }
    }
    if of_row.is_empty() {
        return None;
    }
    let mut stage = begun(StageKind::Spots, "Last touches of light");
    for (k, count) in &of_row {
        let row = &from.colouring.rows[*k];
        stage.regions.push(row.name.clone());
        let plural = if *count == 1 { "" } else { "es" };
        let what = format!("{}, {count} touch{plural}", row.name);
        stage.recipes.push(recipe(what, &row.spot, from.shelf).at(MixPlace::Spots(row.entry)));
    }
    let count: usize = of_row.values().sum();
    stage.steps = vec![format!(
        "{count} dots with the very tip, where form and light come to a point. Fewer is better than more."
    )];
    stage.thinning = Some("as it comes, a trace of water".into());
    stage.brush = Some("round, size 3/0, with a good tip".into());
    stage.done_when = "the eye finds the dots last, and stays.".into();
    stage.mistake = "A dot became a blot.".into();
    stage.repair = "Wipe it off at once with a damp brush, or cover it with the lightest step.".into();
    Some(stage)
}

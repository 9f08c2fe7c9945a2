//! Figures that come in several files: what is painted before they are glued, the gluing, and which file each stage
//! is about.

use super::{WorkGround, begun, recipe, step_words};
use crate::assembly::{AssembledFile, Assembly, TOLD};
use crate::colouring::{RegionColours, step_of};
use crate::stage::{DUST, Stage, StageKind, side_in_words};

/// A step that covers less than this of what closes up of a region is not mixed for it.
const LEAST: f64 = 0.2;

/// What is no farther from the middle than this, in widths of the figure, has no side.
const CENTRE: f64 = 0.1;

/// The stages that gluing adds.
#[derive(Default)]
pub(super) struct Gluing {
    /// Before the primer.
    pub(super) first: Vec<Stage>,
    /// Between primer and paint.
    pub(super) primed: Vec<Stage>,
}

/// What gluing adds; nothing where there is one file, where files do not touch, and for a squad, whose figures only
/// stand side by side.
pub(super) fn gluing(from: &WorkGround<'_>) -> Gluing {
    let assembly = from.plan.assembly.as_deref().filter(|a| a.is_glued());
    let Some(assembly) = assembly.filter(|_| !from.scheme.colours.squad) else { return Gluing::default() };
    let closing = assembly.closing();
    if closing.is_empty() {
        return Gluing { first: vec![glue(assembly, false)], primed: Vec::new() };
    }
    Gluing {
        first: vec![fit(assembly)],
        primed: vec![before(from, assembly, &closing), glue(assembly, true)],
    }
}

fn joint_words(assembly: &Assembly) -> String {
    let each = assembly.joints().into_iter().map(|(name, joint)| format!("{name} {joint:.0} mm²"));
    each.collect::<Vec<_>>().join(", ")
}

fn fit(assembly: &Assembly) -> Stage {
    let mut stage = begun(StageKind::Fit, "Put the parts together without glue");
    stage.steps = vec![
        format!(
            "Cover the joints with tacky putty or tape, so that they stay bare: {}.",
            joint_words(assembly)
        ),
        "Press the parts together on it: the light is planned for the whole figure, and so is the primer."
            .into(),
    ];
    stage.done_when = "it stands by itself as it will once glued.".into();
    stage.mistake = "A part sits askew, and its shadow is primed in the wrong place.".into();
    stage.repair = "Take it off and press it on anew; trim what keeps the joint open.".into();
    stage.cautions = vec![format!("{DUST} Blades: cut away from the hand.")];
    stage
}

fn before(from: &WorkGround<'_>, assembly: &Assembly, closing: &[&AssembledFile]) -> Stage {
    let mut stage = begun(StageKind::BeforeGluing, "Before gluing: paint what closes up");
    stage.steps = vec!["Take the parts off their putty again.".into()];
    for file in closing {
        stage.files.push(file.name.clone());
        stage.steps.push(format!(
            "{}: {:.0} mm² that no brush reaches later{}.",
            file.name,
            file.assembled.closes_mm2,
            file.assembled.place.map_or_else(String::new, |at| place_words(from, at))
        ));
        for (row, steps) in closing_steps(from, assembly, &file.name) {
            for step in steps {
                let what = format!("{}: {}", file.name, step_words(row, step));
                stage.recipes.push(recipe(what, &row.ramp[step], from.shelf));
                if !stage.regions.contains(&row.name) {
                    stage.regions.push(row.name.clone());
                }
            }
        }
    }
    stage.steps.push(format!(
        "Keep the joints bare, glue holds on print and not on paint: {}.",
        joint_words(assembly)
    ));
    stage.thinning = Some("2 parts paint to 1 part water: like milk".into());
    stage.brush = Some("round, size 1".into());
    stage.drying = Some("an hour, so that nothing sticks to it (common practice; the label counts)".into());
    stage.done_when = "held together, no primer is seen in the gap from any side.".into();
    stage.mistake = "Paint on a joint.".into();
    stage.repair = "Scrape it off down to the print before gluing.".into();
    stage.cautions = vec![format!("Scraping: {DUST} Blades: cut away from the hand.")];
    stage
}

fn glue(assembly: &Assembly, painted: bool) -> Stage {
    let mut stage = begun(StageKind::Glue, "Glue the parts together");
    let scrape = if painted { "Scrape putty and paint off both sides" } else { "Roughen both sides" };
    stage.steps = vec![
        format!("{scrape} of each joint and try it once more: {}.", joint_words(assembly)),
        "A little glue on one side, press, hold until it grips.".into(),
    ];
    stage.steps.push(if painted {
        "Fill a seam that shows, smooth it, and touch it up with the tone of the primer beside it.".into()
    } else {
        "Nothing closes up that a brush would not reach: it is painted in one piece.".into()
    });
    stage.drying = Some("as the label says; overnight is safe (common practice)".into());
    stage.done_when = "no part moves, and no light is seen through a joint.".into();
    stage.mistake = "Glue swells out, shines or frosts what lies beside it.".into();
    stage.repair = "Let it harden, cut it off, and cover what is left with the tone beside it.".into();
    stage.cautions = vec![
        "Glue gives off vapour and bonds skin: fresh air, eye protection, no fingers in the joint, as the product's \
         safety data sheet says."
            .into(),
        format!("{DUST} Blades: cut away from the hand."),
    ];
    stage
}

/// Where on the figure, after a comma.
fn place_words(from: &WorkGround<'_>, at: [f32; 3]) -> String {
    let bounds = from.plan.mesh.bounds();
    let [x, y, z] = at.map(f64::from);
    let [cx, cy, _] = bounds.centre().map(f64::from);
    let [width, depth, _] = bounds.extents().map(f64::from);
    let up = z - f64::from(bounds.low[2]);
    // Front is −Y, and the angle goes round toward the viewer's right.
    let round = match (x - cx).hypot(y - cy) < CENTRE * width.max(depth) {
        true => "in the middle",
        false => side_in_words((x - cx).atan2(cy - y).to_degrees()),
    };
    format!(", most of it {up:.0} mm up, {round}")
}

/// What closes up of a file: rows with their steps, darkest first, that cover enough of it.
fn closing_steps<'a>(
    from: &WorkGround<'a>,
    assembly: &Assembly,
    name: &str,
) -> Vec<(&'a RegionColours, Vec<usize>)> {
    let rows = &from.colouring.rows;
    let mut area: Vec<Vec<f64>> = rows.iter().map(|r| vec![0.0; r.ramp.len()]).collect();
    let surface = &from.plan.surface;
    for (f, file) in assembly.file_of_face.iter().enumerate() {
        if assembly.files.get(*file as usize).is_none_or(|file| file.name != name) {
            continue;
        }
        let Some(row) = from.colouring.row_of_face(f) else { continue };
        let third = surface.face_area(f) / 3.0;
        for s in surface.faces[f].map(|s| s as usize).into_iter().filter(|s| assembly.closes.get(*s)) {
            let lightness = f64::from(rows[row].cut_from(from.plan)[s]);
            area[row][step_of(&rows[row].borders, lightness)] += third;
        }
    }
    let covered = |(row, area): (&'a RegionColours, &Vec<f64>)| {
        let all: f64 = area.iter().sum();
        let steps = (0..area.len()).filter(|i| area[*i] >= LEAST * all).collect();
        (all >= TOLD).then_some((row, steps))
    };
    rows.iter().zip(&area).filter_map(covered).collect()
}

/// Tells each stage that is about regions which files they are on, where that is not all of them.
pub(super) fn name_files(stages: &mut [Stage], from: &WorkGround<'_>) {
    let Some(assembly) = from.plan.assembly.as_deref() else { return };
    let rows = &from.colouring.rows;
    let mut area = vec![vec![0.0; assembly.files.len()]; rows.len()];
    let surface = &from.plan.surface;
    for (f, file) in assembly.file_of_face.iter().enumerate() {
        if !from.plan.part_of_face[f].is_painted() {
            continue;
        }
        let buried = |s: &&u32| surface.samples.buried.get(**s as usize);
        let open = 3 - surface.faces[f].iter().filter(buried).count();
        if let Some(row) = from.colouring.row_of_face(f)
            && let Some(area) = area[row].get_mut(*file as usize)
        {
            *area += surface.face_area(f) * open as f64 / 3.0;
        }
    }
    for stage in stages.iter_mut().filter(|s| s.files.is_empty() && !s.regions.is_empty()) {
        let about = |k: &usize| stage.regions.contains(&rows[*k].name);
        let on = |file: &usize| (0..rows.len()).filter(about).any(|k| area[k][*file] >= TOLD);
        let files: Vec<usize> = (0..assembly.files.len()).filter(on).collect();
        if files.len() < assembly.files.len() {
            stage.files = files.into_iter().map(|i| assembly.files[i].name.clone()).collect();
        }
    }
}

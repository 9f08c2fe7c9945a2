//! Figures that come in several files: what is painted before they are glued, the gluing, and which file each stage
//! is about.

use super::{WorkGround, begun, recipe, step_words};
use crate::assembly::{AssembledFile, Assembly, TOLD};
use crate::colouring::{RegionColours, step_of};
use crate::stage::{Stage, StageKind, dust_and_blades, side_in_words};
use grisaille_words::{Words, say};

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
        return Gluing { first: vec![glue(assembly, false, from.words)], primed: Vec::new() };
    }
    Gluing {
        first: vec![fit(assembly, from.words)],
        primed: vec![before(from, assembly, &closing), glue(assembly, true, from.words)],
    }
}

fn joint_words(assembly: &Assembly, words: &Words) -> String {
    let joints = assembly.joints().into_iter();
    let each = joints.map(|(name, joint)| say!(words, "joint", file = name, area = format!("{joint:.0}")));
    words.row(&each.collect::<Vec<_>>())
}

fn fit(assembly: &Assembly, words: &Words) -> Stage {
    let mut stage = begun(StageKind::Fit, say!(words, "fit-title"));
    stage.steps =
        vec![say!(words, "fit-cover", joints = joint_words(assembly, words)), say!(words, "fit-press")];
    stage.done_when = say!(words, "fit-done");
    stage.mistake = say!(words, "fit-mistake");
    stage.repair = say!(words, "fit-repair");
    stage.cautions = vec![dust_and_blades(words)];
    stage
}

fn before(from: &WorkGround<'_>, assembly: &Assembly, closing: &[&AssembledFile]) -> Stage {
    let words = from.words;
    let mut stage = begun(StageKind::BeforeGluing, say!(words, "before-title"));
    stage.steps = vec![say!(words, "before-take-off")];
    for file in closing {
        stage.files.push(file.name.clone());
        let area = format!("{:.0}", file.assembled.closes_mm2);
        stage.steps.push(match file.assembled.place {
            None => say!(words, "before-area", file = &file.name, area = area),
            Some(at) => {
                let (up, side) = place_words(from, at);
                say!(words, "before-area-at", file = &file.name, area = area, up = up, side = side)
            }
        });
        for (row, steps) in closing_steps(from, assembly, &file.name) {
            for step in steps {
                let mut recipe = recipe(row, step_words(row, step, words), &row.ramp[step], from);
                recipe.region = say!(words, "part-of-file", file = &file.name, region = &row.name);
                stage.recipes.push(recipe);
                if !stage.regions.contains(&row.name) {
                    stage.regions.push(row.name.clone());
                }
            }
        }
    }
    stage.steps.push(say!(words, "before-keep-bare", joints = joint_words(assembly, words)));
    stage.thinning = Some(say!(words, "thin-milk"));
    stage.brush = Some(say!(words, "before-brush"));
    stage.drying = Some(say!(words, "drying-before-gluing"));
    stage.done_when = say!(words, "before-done");
    stage.mistake = say!(words, "before-mistake");
    stage.repair = say!(words, "before-repair");
    stage.cautions = vec![say!(words, "caution-scraping")];
    stage
}

fn glue(assembly: &Assembly, painted: bool, words: &Words) -> Stage {
    let mut stage = begun(StageKind::Glue, say!(words, "glue-title"));
    let joints = joint_words(assembly, words);
    stage.steps = if painted {
        vec![say!(words, "glue-scrape", joints = joints), say!(words, "glue-press"), say!(words, "glue-fill")]
    } else {
        vec![
            say!(words, "glue-roughen", joints = joints),
            say!(words, "glue-press"),
            say!(words, "glue-one-piece"),
        ]
    };
    stage.drying = Some(say!(words, "drying-glue"));
    stage.done_when = say!(words, "glue-done");
    stage.mistake = say!(words, "glue-mistake");
    stage.repair = say!(words, "glue-repair");
    stage.cautions = vec![say!(words, "caution-glue"), dust_and_blades(words)];
    stage
}

/// Where on the figure: how many mm up, and on which side.
fn place_words(from: &WorkGround<'_>, at: [f32; 3]) -> (String, String) {
    let bounds = from.plan.mesh.bounds();
    let [x, y, z] = at.map(f64::from);
    let [cx, cy, _] = bounds.centre().map(f64::from);
    let [width, depth, _] = bounds.extents().map(f64::from);
    let up = z - f64::from(bounds.low[2]);
    // Front is −Y, and the angle goes round toward the viewer's right.
    let side = match (x - cx).hypot(y - cy) < CENTRE * width.max(depth) {
        true => say!(from.words, "side-middle"),
        false => side_in_words((x - cx).atan2(cy - y).to_degrees(), from.words),
    };
    (format!("{up:.0}"), side)
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

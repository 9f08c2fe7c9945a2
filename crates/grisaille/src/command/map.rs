//! `map`: the region map in one or several formats.

use crate::args::Map;
use crate::colours;
use crate::command::guide::say;
use crate::failure::Failure;
use crate::files::{Output, print};
use crate::job::{Planned, plan_model};
use grisaille_base::Watch;
use grisaille_export::{columns, summary, write_glb, write_ply};
use grisaille_form::Regions;
use grisaille_plan::{flat_spots, look_round, usual_reach};
use serde_json::{Value, json};
use std::path::{Path, PathBuf};

pub(crate) fn map(args: &Map) -> Result<(), Failure> {
    let told = args.json || tells_of_primer(&args.output);
    let (run, mut planned, outputs) =
        plan_model(&args.model, (&args.plan, told), &args.run, &args.output, |_, inputs| {
            open(&args.output, inputs)
        })?;
    let folder = args.model.model.parent().unwrap_or(Path::new(""));
    let regions = completed(&mut planned, surface(&outputs, folder), &run.watch)?;
    say(&write(&planned, &regions, outputs, &run.watch)?);
    if args.json {
        print(&summary_text(&planned, &regions)?)?;
    }
    run.finish()
}

/// The formats of a region map.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Format {
    Ply,
    Glb,
    Json,
}

/// Whether any of these maps tells of primer: the summary alone does.
pub(crate) fn tells_of_primer(paths: &[PathBuf]) -> bool {
    paths.iter().any(|p| ending(p).as_deref() == Some("json"))
}

/// The ending of a file's name, in small letters.
fn ending(path: &Path) -> Option<String> {
    path.extension().map(|e| e.to_string_lossy().to_ascii_lowercase())
}

/// Opens map files, each by its ending.
pub(crate) fn open(paths: &[PathBuf], inputs: &[PathBuf]) -> Result<Vec<(Format, Output)>, Failure> {
    paths
        .iter()
        .map(|path| {
            let format = match ending(path).as_deref() {
                Some("ply") => Format::Ply,
                Some("glb") => Format::Glb,
                Some("json") => Format::Json,
                _ => {
                    return Err(Failure::Usage(format!(
                        "'{}': a map is written as .ply, .glb or .json",
                        path.display()
                    )));
                }
            };
            Ok((format, Output::open(path, inputs)?))
        })
        .collect()
}

/// Writes a plan into opened map files; gives hints.
pub(crate) fn write(
    planned: &Planned,
    regions: &Regions,
    outputs: Vec<(Format, Output)>,
    watch: &Watch,
) -> Result<Vec<String>, Failure> {
    let span = watch.span("write", outputs.len() as u64);
    let (columns, more) = columns(&planned.plan, &regions.of_face);
    for (format, output) in outputs {
        watch.check()?;
        match format {
            Format::Ply => output.keep(|mut out| write_ply(&mut out, &planned.plan, &columns))?,
            Format::Glb => output.keep(|mut out| write_glb(&mut out, &planned.plan, &columns))?,
            Format::Json => {
                let text = summary_text(planned, regions)?;
                output.keep(|out| out.write_all(text.as_bytes()))?;
            }
        }
        span.advance(1);
    }
    Ok(more.into_iter().map(|f| f.hint).collect())
}

/// The folder where paths begin, if any of these files carries the surface.
pub(crate) fn surface<'f>(outputs: &[(Format, Output)], folder: &'f Path) -> Option<&'f Path> {
    outputs.iter().any(|(format, _)| *format != Format::Json).then_some(folder)
}

/// The regions that the scheme asks for, with what a map tells by them: flat spots, and if it carries the surface
/// (`surface` is the folder where paths begin), its planned colours and how open each spot lies.
pub(crate) fn completed(
    planned: &mut Planned,
    surface: Option<&Path>,
    watch: &Watch,
) -> Result<Regions, Failure> {
    let regions = match surface {
        Some(folder) if !planned.scheme.colours.regions.is_empty() => colours::paint(planned, folder, watch)?,
        _ => regions_of(planned, watch)?,
    };
    let plan = &mut planned.plan;
    plan.answers.flat_spots = flat_spots(plan, &regions.of_face);
    // Colours looked round in cells only.
    if surface.is_some() && (plan.openness.is_none() || plan.colouring.is_some()) {
        plan.openness = Some(look_round(plan, usual_reach(&plan.mesh), watch)?);
    }
    Ok(regions)
}

/// The regions that the scheme asks for.
pub(crate) fn regions_of(planned: &Planned, watch: &Watch) -> Result<Regions, Failure> {
    let Planned { plan, scheme, .. } = planned;
    Ok(grisaille_plan::regions_of(&scheme.regions, &plan.surface, &plan.mesh, watch)?.1)
}

fn summary_text(planned: &Planned, regions: &Regions) -> Result<String, Failure> {
    let mut value = summary(&planned.plan, &planned.settings, &planned.findings)
        .map_err(|e| Failure::Other(e.to_string()))?;
    let rows = regions.regions.iter().zip(1..);
    value["regions"] = rows
        .map(|(r, id)| json!({ "id": id, "name": r.name, "area_mm2": r.area_mm2 }))
        .collect::<Vec<Value>>()
        .into();
    Ok(format!("{value:#}\n"))
}

//! `map`: the region map in one or several formats.

use crate::args::Map;
use crate::colours;
use crate::command::guide::say;
use crate::failure::Failure;
use crate::files::{Output, print};
use crate::job::{Planned, plan_model};
use grisaille_base::Watch;
use grisaille_export::{MapModels, columns, summary, write_3mf, write_csv, write_glb, write_ply};
use grisaille_form::Regions;
use grisaille_mesh::Mesh;
use grisaille_plan::{Lining, Plan, flat_spots, line_width, lining, look_round, usual_reach};
use std::path::{Path, PathBuf};

pub(crate) fn map(args: &Map) -> Result<(), Failure> {
    let primer = args.json || tells_of_primer(&args.output);
    let (run, mut planned, outputs) =
        plan_model(&args.model, (&args.plan, primer), &args.run, &args.output, |_, inputs| {
            open(&args.output, inputs)
        })?;
    let folder = args.model.model.parent().unwrap_or(Path::new(""));
    let told = completed(&mut planned, wanted(&outputs, folder), &run.watch)?;
    say(&write(&planned, &told, outputs, &run.watch)?);
    if args.json {
        print(&summary_text(&planned, &told.regions)?)?;
    }
    run.finish()
}

/// The formats of a region map.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Format {
    Ply,
    Glb,
    ThreeMf,
    Csv,
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
                Some("3mf") => Format::ThreeMf,
                Some("csv") => Format::Csv,
                Some("json") => Format::Json,
                _ => {
                    return Err(Failure::Usage(format!(
                        "'{}': a map is written as .ply, .glb, .3mf, .csv or .json",
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
    told: &Told,
    outputs: Vec<(Format, Output)>,
    watch: &Watch,
) -> Result<Vec<String>, Failure> {
    let span = watch.span("write", outputs.len() as u64);
    let Told { regions, lining } = told;
    let (columns, more) = columns(&planned.plan, &regions.of_face);
    for (format, output) in outputs {
        watch.check()?;
        match format {
            Format::Ply => output.keep(|mut out| write_ply(&mut out, &planned.plan, &columns))?,
            Format::Glb => output
                .keep(|mut out| write_glb(&mut out, &planned.plan, &columns, regions, lining.as_ref()))?,
            Format::ThreeMf => {
                let (names, models) = &planned.apart;
                let of_face = model_of_face(&planned.plan, models);
                let models = MapModels { title: &planned.scheme.title, names, of_face: &of_face };
                let done = output.keep(|mut out| write_3mf(&mut out, &planned.plan, regions, models, watch));
                // A stop looks like a disk that fails.
                watch.check()?;
                done?;
            }
            Format::Csv => output.keep(|mut out| write_csv(&mut out, &planned.plan, &columns, regions))?,
            Format::Json => {
                let text = summary_text(planned, regions)?;
                output.keep(|out| out.write_all(text.as_bytes()))?;
            }
        }
        span.advance(1);
    }
    Ok(more.into_iter().map(|f| f.hint).collect())
}

/// Whether any of these maps holds each model by itself.
pub(crate) fn tells_of_models(outputs: &[(Format, Output)]) -> bool {
    outputs.iter().any(|(format, _)| *format == Format::ThreeMf)
}

/// The model of each face of a plan's surface; empty where there is only one.
fn model_of_face(plan: &Plan, models: &[Mesh]) -> Vec<u32> {
    if models.len() < 2 {
        return Vec::new();
    }
    let of = grisaille_mesh::model_of_face(&plan.mesh, models);
    plan.surface.source_face.iter().map(|f| of[f.index()]).collect()
}

/// What map files tell beyond the plan.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Wanted<'f> {
    /// If any carries the surface, the folder where paths begin.
    surface: Option<&'f Path>,
    /// Whether any carries the lines.
    lines: bool,
}

/// What is wanted for these files, of a scene whose paths begin in `folder`.
pub(crate) fn wanted<'f>(outputs: &[(Format, Output)], folder: &'f Path) -> Wanted<'f> {
    Wanted {
        surface: outputs.iter().any(|(format, _)| *format != Format::Json).then_some(folder),
        lines: outputs.iter().any(|(format, _)| *format == Format::Glb),
    }
}

/// What a map tells by regions and lines.
pub(crate) struct Told {
    regions: Regions,
    lining: Option<Lining>,
}

/// The regions that the scheme asks for, with what a map tells by them: flat spots, and as far as it is wanted, the
/// planned colours, how open each spot lies, and lines.
pub(crate) fn completed(planned: &mut Planned, wanted: Wanted, watch: &Watch) -> Result<Told, Failure> {
    let Wanted { surface, lines } = wanted;
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
    let width = line_width(&planned.scheme, plan);
    let lining = lines.then(|| lining(plan, width, watch)).transpose()?;
    Ok(Told { regions, lining })
}

/// The regions that the scheme asks for.
pub(crate) fn regions_of(planned: &Planned, watch: &Watch) -> Result<Regions, Failure> {
    let Planned { plan, scheme, .. } = planned;
    Ok(grisaille_plan::regions_of(&scheme.regions, &plan.surface, &plan.mesh, watch)?.1)
}

fn summary_text(planned: &Planned, regions: &Regions) -> Result<String, Failure> {
    let value = summary(&planned.plan, &planned.settings, &planned.findings, Some(regions))
        .map_err(|e| Failure::Other(e.to_string()))?;
    Ok(format!("{value:#}\n"))
}

//! `map`: the region map in one or several formats.

use crate::args::Map;
use crate::command::guide::say;
use crate::failure::Failure;
use crate::files::{Output, print};
use crate::job::{Planned, plan_model};
use grisaille_base::Watch;
use grisaille_export::{columns, summary, write_glb, write_ply};
use std::path::{Path, PathBuf};

pub(crate) fn map(args: &Map) -> Result<(), Failure> {
    let told = args.json || tells_of_primer(&args.output);
    let (run, planned, outputs) =
        plan_model(&args.model, (&args.plan, told), &args.run, &args.output, |_, inputs| {
            open(&args.output, inputs)
        })?;
    say(&write(&planned, outputs, &run.watch)?);
    if args.json {
        print(&summary_text(&planned)?)?;
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
    outputs: Vec<(Format, Output)>,
    watch: &Watch,
) -> Result<Vec<String>, Failure> {
    let span = watch.span("write", outputs.len() as u64);
    let (columns, more) = columns(&planned.plan);
    for (format, output) in outputs {
        watch.check()?;
        match format {
            Format::Ply => output.keep(|mut out| write_ply(&mut out, &planned.plan, &columns))?,
            Format::Glb => output.keep(|mut out| write_glb(&mut out, &planned.plan, &columns))?,
            Format::Json => {
                let text = summary_text(planned)?;
                output.keep(|out| out.write_all(text.as_bytes()))?;
            }
        }
        span.advance(1);
    }
    Ok(more.into_iter().map(|f| f.hint).collect())
}

fn summary_text(planned: &Planned) -> Result<String, Failure> {
    summary(&planned.plan, &planned.settings, &planned.findings)
        .map(|value| format!("{value:#}\n"))
        .map_err(|e| Failure::Other(e.to_string()))
}

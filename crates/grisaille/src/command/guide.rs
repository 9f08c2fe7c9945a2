//! `guide`: the printable sheets.

use crate::args::{Guide, Sheet};
use crate::colours::colour;
use crate::failure::Failure;
use crate::files::Output;
use crate::job::{Planned, plan_model};
use grisaille_base::Watch;
use grisaille_guide::{GuideError, Heading, Subject, compose, typeset};
use grisaille_scheme::SheetKind;
use std::path::{Path, PathBuf};

pub(crate) fn guide(args: &Guide) -> Result<(), Failure> {
    let (run, mut planned, output) = plan_model(
        &args.model,
        (&args.plan, true),
        &args.run,
        std::slice::from_ref(&args.output),
        |_, inputs| open(&args.output, inputs),
    )?;
    if !args.sheets.is_empty() {
        planned.scheme.print.sheets = args.sheets.iter().copied().map(kind).collect();
    }
    let folder = args.model.model.parent().unwrap_or(Path::new(""));
    say(&write(&mut planned, folder, output, &run.watch)?);
    run.finish()
}

fn kind(sheet: Sheet) -> SheetKind {
    match sheet {
        Sheet::Summary => SheetKind::Summary,
        Sheet::Values => SheetKind::Values,
        Sheet::Lights => SheetKind::Lights,
        Sheet::Bands => SheetKind::Bands,
        Sheet::Zones => SheetKind::Zones,
        Sheet::Primer => SheetKind::Primer,
        Sheet::Stages => SheetKind::Stages,
    }
}

/// Opens a guide file.
pub(crate) fn open(path: &Path, inputs: &[PathBuf]) -> Result<Output, Failure> {
    if path.extension().is_none_or(|e| !e.eq_ignore_ascii_case("pdf")) {
        return Err(Failure::Usage(format!("'{}': a guide is written as .pdf", path.display())));
    }
    Output::open(path, inputs)
}

/// Tells hints on standard error.
pub(crate) fn say(hints: &[String]) {
    for hint in hints {
        eprintln!("grisaille: {hint}");
    }
}

/// Writes the guide of a plan, with step cards in colour where its scheme has colours; its list of paints lies in
/// `folder`. Gives hints.
pub(crate) fn write(
    planned: &mut Planned,
    folder: &Path,
    output: Output,
    watch: &Watch,
) -> Result<Vec<String>, Failure> {
    let coloured = !planned.scheme.colours.regions.is_empty();
    let painted = coloured.then(|| colour(planned, folder, watch)).transpose()?;
    let heading = Heading {
        title: planned.scheme.title.clone(),
        model_file: planned.settings.model.clone(),
        made_with: concat!("grisaille ", env!("CARGO_PKG_VERSION")).into(),
    };
    let subject = Subject {
        plan: &planned.plan,
        scheme: &planned.scheme,
        findings: &planned.findings,
        coloured: painted.as_ref().map(|p| &p.coloured),
    };
    let sheets = compose(&subject, &heading, watch)?;
    let (pdf, findings) = typeset(&sheets, watch).map_err(|e| match e {
        GuideError::Stop(_) => Failure::Stopped,
        e => Failure::Other(e.to_string()),
    })?;
    output.keep(|out| out.write_all(&pdf))?;
    Ok(findings.into_iter().map(|f| f.hint).collect())
}

//! `guide`: the printable sheets.

use crate::args::Guide;
use crate::failure::Failure;
use crate::files::Output;
use crate::job::{Planned, plan_model};
use grisaille_base::Watch;
use grisaille_guide::{GuideError, Heading, compose, typeset};
use std::path::{Path, PathBuf};

pub(crate) fn guide(args: &Guide) -> Result<(), Failure> {
    let (run, planned, output) = plan_model(
        &args.model,
        (&args.plan, true),
        &args.run,
        std::slice::from_ref(&args.output),
        |_, inputs| open(&args.output, inputs),
    )?;
    say(&write(&planned, output, &run.watch)?);
    run.finish()
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

/// Writes the guide of a plan; gives hints.
pub(crate) fn write(planned: &Planned, output: Output, watch: &Watch) -> Result<Vec<String>, Failure> {
    let heading = Heading {
        title: planned.scheme.title.clone(),
        model_file: planned.settings.model.clone(),
        made_with: concat!("grisaille ", env!("CARGO_PKG_VERSION")).into(),
    };
    let sheets = compose(&planned.plan, &heading, &planned.findings, watch)?;
    let (pdf, findings) = typeset(&sheets, watch).map_err(|e| match e {
        GuideError::Stop(_) => Failure::Stopped,
        e => Failure::Other(e.to_string()),
    })?;
    output.keep(|out| out.write_all(&pdf))?;
    Ok(findings.into_iter().map(|f| f.hint).collect())
}

//! `guide`: the printable sheets.

use crate::args::Guide;
use crate::failure::Failure;
use crate::files::Output;
use crate::job::{Planned, plan_model};
use grisaille_base::Watch;
use grisaille_guide::{GuideError, Heading, compose, typeset};
use std::path::Path;

pub(crate) fn guide(args: &Guide) -> Result<(), Failure> {
    let model = &args.model.model;
    let (run, planned, output) =
        plan_model(&args.model, &args.plan, &args.run, std::slice::from_ref(&args.output), |_| {
            open(&args.output, Some(model))
        })?;
    write(&planned, output, &run.watch)?;
    run.finish()
}

/// Opens a guide file.
pub(crate) fn open(path: &Path, model: Option<&Path>) -> Result<Output, Failure> {
    if path.extension().is_none_or(|e| !e.eq_ignore_ascii_case("pdf")) {
        return Err(Failure::Usage(format!("'{}': a guide is written as .pdf", path.display())));
    }
    Output::open(path, model)
}

/// Writes the guide of a plan.
pub(crate) fn write(planned: &Planned, output: Output, watch: &Watch) -> Result<(), Failure> {
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
    for finding in findings {
        eprintln!("grisaille: {}", finding.hint);
    }
    output.keep(|out| out.write_all(&pdf))
}

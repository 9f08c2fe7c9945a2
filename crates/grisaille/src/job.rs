//! From typed arguments to a checked job: a mesh, a scheme, a watch.

use crate::args::{FileUnit, ModelArgs, PlanArgs, RunArgs, Up};
use crate::choices::scheme;
use crate::failure::Failure;
use crate::files::{Output, read_model};
use crate::progress::Terminal;
use grisaille_base::{Finding, Watch};
use grisaille_export::MapSettings;
use grisaille_mesh::{Mesh, ReadError, ReadSettings, Unit, UpAxis, read};
use grisaille_plan::{Plan, Products, plan};
use grisaille_scheme::Scheme;
use serde_json::json;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::Ordering;

/// The most threads that are of any use; more is a typing mistake.
const MOST_THREADS: usize = 1024;

/// One run: its watch, and the timings file if one was asked for.
pub(crate) struct Run {
    pub(crate) watch: Watch,
    timings: Option<Output>,
}

impl Run {
    /// Starts threads, listens for Ctrl-C, opens the timings file. Comes before
    /// `outputs` are opened, so that a Ctrl-C never finds a file begun and
    /// nobody listening.
    pub(crate) fn start(args: &RunArgs, model: Option<&Path>, outputs: &[PathBuf]) -> Result<Self, Failure> {
        let mut paths: Vec<&PathBuf> = outputs.iter().chain(&args.timings).collect();
        paths.sort_unstable();
        if let Some(twice) = paths.windows(2).find(|w| w[0] == w[1]) {
            return Err(Failure::Usage(format!(
                "'{}' is named for two results: give each its own file",
                twice[0].display()
            )));
        }
        if args.threads > MOST_THREADS {
            return Err(Failure::Usage(format!("--threads {}: use 0 to {MOST_THREADS}", args.threads)));
        }
        let watch =
            Watch::with_threads(args.threads).map_err(Failure::Other)?.heard_by(Arc::new(Terminal::new()));
        let cancel = watch.cancel_handle();
        ctrlc::set_handler(move || cancel.store(true, Ordering::Relaxed))
            .map_err(|e| Failure::Other(format!("cannot listen for Ctrl-C: {e}")))?;
        let timings = args.timings.as_deref().map(|p| Output::open(p, model)).transpose()?;
        Ok(Self { watch, timings })
    }

    /// Writes the timings file, if one was asked for.
    pub(crate) fn finish(self) -> Result<(), Failure> {
        let Some(timings) = self.timings else { return Ok(()) };
        let mut phases = serde_json::Map::new();
        for (name, record) in self.watch.records() {
            let mut row = serde_json::Map::new();
            row.insert("seconds".into(), json!(record.seconds));
            for (count, n) in record.counts {
                row.insert(count.into(), json!(n));
            }
            phases.insert(name.into(), row.into());
        }
        let text = format!("{:#}\n", json!({ "phases": phases }));
        timings.keep(|out| out.write_all(text.as_bytes()))
    }
}

/// Reads a model as the arguments say.
pub(crate) fn load(args: &ModelArgs, watch: &Watch) -> Result<(Mesh, Vec<Finding>), Failure> {
    let settings = ReadSettings {
        up: match args.up {
            Up::Z => UpAxis::Z,
            Up::Y => UpAxis::Y,
        },
        unit: match args.unit {
            FileUnit::Mm => Unit::Mm,
            FileUnit::Inch => Unit::Inch,
            FileUnit::M => Unit::M,
        },
        height: args.height,
    };
    let bytes = read_model(&args.model)?;
    read(&bytes, &settings, watch).map_err(|e| match e {
        ReadError::Stop(_) => Failure::Stopped,
        ReadError::Setting(why) => Failure::Usage(why),
        e => Failure::Input { path: args.model.clone(), why: e.to_string() },
    })
}

/// The file name without folder and ending, for a title.
fn stem(path: &Path) -> String {
    path.file_stem().map_or_else(|| "model".into(), |s| s.to_string_lossy().into_owned())
}

/// A model, planned: all that the outputs are made from.
pub(crate) struct Planned {
    pub(crate) plan: Plan,
    pub(crate) scheme: Scheme,
    /// From reading and planning together.
    pub(crate) findings: Vec<Finding>,
    pub(crate) settings: MapSettings,
}

/// Plans a mesh that was read.
pub(crate) fn make_plan(
    scheme: Scheme,
    model_file: String,
    (mesh, mut findings): (Mesh, Vec<Finding>),
    watch: &Watch,
) -> Result<Planned, Failure> {
    let mut products = Products::new(Arc::new(mesh));
    let plan = plan(&scheme, &mut products, watch)?;
    findings.extend(plan.findings.iter().cloned());
    let settings = MapSettings {
        model: model_file,
        ambient_directions: scheme.fineness.ambient_directions,
        ring_directions: scheme.fineness.ring_directions,
        refined: scheme.surface.refine,
        darkest: scheme.value.darkest.0,
        lightest: scheme.value.lightest.0,
        bounce: scheme.bounce.is_on().then_some(scheme.bounce.albedo),
        emphasis: scheme.emphasis.clone(),
    };
    Ok(Planned { plan, scheme, findings, settings })
}

/// The whole way from arguments to a plan: the scheme is checked and the files
/// named `outputs` are opened by `open` before the long work begins.
pub(crate) fn plan_model<Opened>(
    model: &ModelArgs,
    plan: &PlanArgs,
    run: &RunArgs,
    outputs: &[PathBuf],
    open: impl FnOnce(&Scheme) -> Result<Opened, Failure>,
) -> Result<(Run, Planned, Opened), Failure> {
    let path = &model.model;
    let scheme = scheme(plan, Scheme { title: stem(path), ..Scheme::default() })?;
    let run = Run::start(run, Some(path), outputs)?;
    let opened = open(&scheme)?;
    let loaded = load(model, &run.watch)?;
    let planned = make_plan(scheme, file_name(path), loaded, &run.watch)?;
    Ok((run, planned, opened))
}

/// The file name for the reader, without its folder.
pub(crate) fn file_name(path: &Path) -> String {
    path.file_name().map_or_else(|| path.display().to_string(), |n| n.to_string_lossy().into_owned())
}

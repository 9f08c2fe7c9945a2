//! From typed arguments to a checked job: a mesh, a scheme, a watch.

use crate::args::{ModelArgs, PlanArgs, RunArgs};
use crate::choices::scheme;
use crate::failure::Failure;
use crate::files::Output;
use crate::progress::Terminal;
use crate::scene::Scene;
use grisaille_base::{Finding, Watch};
use grisaille_export::MapSettings;
use grisaille_mesh::Mesh;
use grisaille_plan::{Loaded, Plan, Products, plan, surface_settings};
use grisaille_scheme::Scheme;
use grisaille_sight::{Occluders, Surface, SurfaceSettings, TreeSight, surface};
use serde_json::json;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::Ordering;

/// The most threads that are of any use; more is a typing mistake.
pub(crate) const MOST_THREADS: usize = 1024;

/// One run: its watch, and the timings file if one was asked for.
pub(crate) struct Run {
    pub(crate) watch: Watch,
    timings: Option<Output>,
}

impl Run {
    /// Starts threads, listens for Ctrl-C, opens the timings file. Comes before
    /// `outputs` are opened, so that a Ctrl-C never finds a file begun and
    /// nobody listening.
    pub(crate) fn start(args: &RunArgs, inputs: &[PathBuf], outputs: &[PathBuf]) -> Result<Self, Failure> {
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
        let timings = args.timings.as_deref().map(|p| Output::open(p, inputs)).transpose()?;
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

/// A model, planned: all that the outputs are made from.
pub(crate) struct Planned {
    pub(crate) plan: Plan,
    pub(crate) scheme: Scheme,
    /// From reading and planning together.
    pub(crate) findings: Vec<Finding>,
    pub(crate) settings: MapSettings,
    /// Of several files their names and models, each for itself.
    pub(crate) apart: (Vec<String>, Vec<Mesh>),
}

/// Models that were read and put together, ready to be planned.
pub(crate) struct Read {
    pub(crate) products: Products,
    pub(crate) findings: Vec<Finding>,
    /// Of several files their names and models, each for itself.
    pub(crate) apart: (Vec<String>, Vec<Mesh>),
}

/// Plans a model that was read.
pub(crate) fn make_plan(
    scheme: Scheme,
    model_file: String,
    (mut products, mut findings): (Products, Vec<Finding>),
    watch: &Watch,
) -> Result<Planned, Failure> {
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
        keep: scheme.brush.keep.clone(),
    };
    Ok(Planned { plan, scheme, findings, settings, apart: (Vec::new(), Vec::new()) })
}

/// The whole way from arguments to a plan: the scheme is checked and the files
/// named `outputs` are opened by `open`, which hears what must not be
/// replaced, before the long work begins. Without `primer` no primer is planned.
pub(crate) fn plan_model<Opened>(
    model: &ModelArgs,
    (plan, primer): (&PlanArgs, bool),
    run: &RunArgs,
    outputs: &[PathBuf],
    open: impl FnOnce(&Scheme, &[PathBuf]) -> Result<Opened, Failure>,
) -> Result<(Run, Planned, Opened), Failure> {
    let (run, scene, opened) = begin(model, (plan, primer), run, outputs, open)?;
    let planned = plan_scene(scene, &run.watch)?;
    Ok((run, planned, opened))
}

/// The way up to the long work.
pub(crate) fn begin<Opened>(
    model: &ModelArgs,
    (plan, primer): (&PlanArgs, bool),
    run: &RunArgs,
    outputs: &[PathBuf],
    open: impl FnOnce(&Scheme, &[PathBuf]) -> Result<Opened, Failure>,
) -> Result<(Run, Scene, Opened), Failure> {
    let mut scene = Scene::of(model)?;
    scene.document.scheme = scheme(plan, scene.document.scheme)?;
    scene.document.scheme.primer.wanted = primer;
    let inputs = scene.inputs();
    let run = Run::start(run, &inputs, outputs)?;
    let opened = open(&scene.document.scheme, &inputs)?;
    Ok((run, scene, opened))
}

/// A mesh divided as a scheme has it planned, without its light, and how finely.
pub(crate) fn divided(
    scheme: &Scheme,
    mesh: &Mesh,
    watch: &Watch,
) -> Result<(Surface, SurfaceSettings), Failure> {
    let settings = surface_settings(scheme, mesh);
    let sight = TreeSight::new(Arc::new(Occluders::of(mesh)), watch);
    let (surface, _) = surface(mesh, &settings, &sight, watch)?;
    Ok((surface, settings))
}

/// Reads the models of a scene and plans them.
pub(crate) fn plan_scene(scene: Scene, watch: &Watch) -> Result<Planned, Failure> {
    let read = read_scene(&scene, watch)?;
    plan_read(scene, read, watch)
}

/// Reads the models of a scene and puts them together.
pub(crate) fn read_scene(scene: &Scene, watch: &Watch) -> Result<Read, Failure> {
    let (mut models, findings) = scene.load_apart(watch)?;
    let Loaded { mesh, findings, .. } = scene.assemble(&mut models, findings, watch)?;
    Ok(Read { products: Products::new(Arc::new(mesh)), findings, apart: (scene.each_name(), models) })
}

/// Plans what was read of a scene.
pub(crate) fn plan_read(scene: Scene, read: Read, watch: &Watch) -> Result<Planned, Failure> {
    let Read { products, findings, apart } = read;
    let name = scene.model_names();
    let planned = make_plan(scene.document.scheme, name, (products, findings), watch)?;
    Ok(Planned { apart, ..planned })
}

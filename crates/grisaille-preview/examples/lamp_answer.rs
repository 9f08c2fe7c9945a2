//! How long a lamp in the hand waits for its light, without any drawing:
//! `cargo run --release -p grisaille-preview --example lamp_answer FILE.stl [HEIGHT-IN-MM]`
//!
//! The figure is planned with a lamp before it, as far off as it is tall by a
//! quarter; then the lamp is moved 60 times, each time when the last answer has
//! come. What is printed are the times from order to fields, in order of length.

use grisaille_base::{LightId, Millimetres, Watch};
use grisaille_form::Division;
use grisaille_mesh::{ReadSettings, read};
use grisaille_plan::{Loaded, leave_out};
use grisaille_preview::{Bench, Hidden, Look, Order, Product, ReadAlready, Report, Stage, Trouble, Worker};
use grisaille_scheme::{Document, ModelEntry, ModelSource};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

/// Reads one file; makes nothing.
struct OneFile;

impl Bench for OneFile {
    fn load(&self, document: &Document, watch: &Watch) -> Result<Loaded, Trouble> {
        let said = |e: String| Trouble::Said(e);
        let [ModelEntry { source: ModelSource::File(path), height, .. }] = document.models.as_slice() else {
            return Err(said("one file is needed".into()));
        };
        let bytes = self.read(path)?;
        let settings = ReadSettings { height: height.map(|h| h.0), ..ReadSettings::default() };
        let (mesh, findings) = read(&bytes, &settings, watch).map_err(|e| said(e.to_string()))?;
        leave_out(mesh, findings, &document.scheme.left_out, watch).map_err(|e| said(e.to_string()))
    }

    fn make(
        &self,
        _: Product,
        _: &Document,
        _: &[Look],
        _: Option<&ReadAlready>,
        _: &Path,
        _: &Watch,
    ) -> Result<Vec<String>, Trouble> {
        Err(Trouble::Stopped)
    }

    fn read(&self, path: &Path) -> Result<Vec<u8>, Trouble> {
        std::fs::read(path).map_err(|e| Trouble::Said(e.to_string()))
    }

    fn write(&self, _: &Path, _: &[u8], _: &[PathBuf]) -> Result<(), Trouble> {
        Err(Trouble::Stopped)
    }

    fn watch(&self) -> Watch {
        Watch::with_threads(0).unwrap_or_else(|_| Watch::quiet())
    }

    fn phase(&self, phase: &'static str) -> &'static str {
        phase
    }

    fn diver(&self) -> Document {
        Document::default()
    }
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    const MOVES: usize = 60;
    let mut args = std::env::args().skip(1);
    let path = args.next().ok_or("name an STL file")?;
    let height: f64 = args.next().map_or(Ok(40.0), |h| h.parse())?;
    let mut entry = ModelEntry::new(ModelSource::File(PathBuf::from(path)));
    entry.height = Some(Millimetres(height));
    let mut document = Document { models: vec![entry], ..Document::default() };
    let at = |turn: f64| [height * 0.5 * turn.sin(), -height * 0.75, height * (0.5 + 0.2 * turn.cos())];
    let lamp = document.scheme.add_lamp("lamp", at(0.0), None, Millimetres(0.6))?;
    let worker = Worker::start(Arc::new(OneFile), Arc::new(|| ()))?;
    let order = |document: &Document, moving: Option<LightId>| Order {
        document: document.clone(),
        moving,
        looks: vec![Look::Greys],
        listed: false,
        division: Division::default(),
        hidden: Hidden::default(),
        reading: 0,
        paints_reading: 0,
        coloured: false,
        marked: Vec::new(),
    };
    worker.order(order(&document, None));
    answer(&worker, Stage::Planned)?;
    let mut times = Vec::with_capacity(MOVES);
    for k in 1..=MOVES {
        if let Some(light) = document.scheme.lights.iter_mut().find(|l| l.id == lamp)
            && let grisaille_scheme::LightChoice::Lamp { at: place, .. } = &mut light.choice
        {
            *place = at(k as f64 * 0.05);
        }
        worker.order(order(&document, Some(lamp)));
        times.push(answer(&worker, Stage::Instant)?);
    }
    times.sort_unstable();
    let ms = |share: usize| times[(times.len() - 1) * share / 100].as_secs_f64() * 1000.0;
    println!(
        "{MOVES} answers: median {:.1} ms, 90 % within {:.1} ms, worst {:.1} ms",
        ms(50),
        ms(90),
        ms(100)
    );
    Ok(())
}

/// Waits for a picture that is as good as this, and tells how long it took.
fn answer(worker: &Worker, wanted: Stage) -> Result<Duration, String> {
    loop {
        match worker.wait(Duration::from_secs(900)) {
            Some(Report::Shown { stage, took, .. }) if stage >= wanted => return Ok(took),
            Some(Report::Trouble(why)) => return Err(why),
            Some(_) => {}
            None => return Err("no answer".into()),
        }
    }
}

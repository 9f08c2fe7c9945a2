//! How long a lamp in the hand waits for its light, without any drawing:
//! `cargo run --release -p grisaille-preview --example lamp_answer FILE.stl [HEIGHT-IN-MM]`
//!
//! The figure is planned with a lamp before it, as far off as it is tall by a
//! quarter; then the lamp is moved 60 times, each time when the last answer has
//! come. What is printed are the times from order to fields, in order of length.

mod one_model;

use grisaille_base::{LightId, Millimetres};
use grisaille_form::Division;
use grisaille_preview::{Hidden, Look, Order, Report, Stage, Worker};
use grisaille_scheme::{Document, ModelEntry, ModelSource};
use one_model::OneModel;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

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
    let worker = Worker::start(Arc::new(OneModel), Arc::new(|| ()))?;
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

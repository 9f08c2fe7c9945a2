//! How long a changed colour waits to be seen on the figure, without any drawing:
//! `cargo run --release -p grisaille-preview --example colour_answer SCHEME.grisaille`
//!
//! The scheme's model is the built-in diver, its list of paints lies beside it. After all is coloured,
//! each entry in turn takes another colour, each time when the last one has come; then each is given back.
//! What is printed are the times from order to field and to all that is told of colours.

mod one_model;

use grisaille_plan::division;
use grisaille_preview::{Hidden, Look, Order, Report, Worker};
use grisaille_scheme::{Document, read_document};
use one_model::OneModel;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let path = PathBuf::from(std::env::args().nth(1).ok_or("name a scheme")?);
    let mut document = read_document(&std::fs::read_to_string(&path)?)?;
    if let Some(paints) = &mut document.scheme.colours.paints {
        paints.file = path.parent().unwrap_or(Path::new("")).join(&paints.file);
    }
    let worker = Worker::start(Arc::new(OneModel), Arc::new(|| ()))?;
    let order = |document: &Document| Order {
        document: document.clone(),
        moving: None,
        looks: vec![Look::Colours],
        listed: true,
        division: division(&document.scheme.regions),
        hidden: Hidden::default(),
        reading: 0,
        paints_reading: 0,
        coloured: true,
        marked: Vec::new(),
    };
    worker.order(order(&document));
    answer(&worker)?;
    let mut times: [[Vec<Duration>; 2]; 2] = Default::default();
    for k in 0..document.scheme.colours.regions.len() {
        let mut changed = document.clone();
        changed.scheme.colours.regions[k].colour = "#4f7f9a".into();
        for (times, document) in times.iter_mut().zip([&changed, &document]) {
            worker.order(order(document));
            let (field, all) = answer(&worker)?;
            times[0].push(field);
            times[1].push(all);
        }
    }
    for (words, [seen, told]) in ["another colour", "its own again"].into_iter().zip(&mut times) {
        println!("{words}: seen {}; all told {}", in_words(seen), in_words(told));
    }
    Ok(())
}

fn in_words(times: &mut [Duration]) -> String {
    times.sort_unstable();
    let ms = |share: usize| {
        times.get(times.len().saturating_sub(1) * share / 100).map_or(0.0, |t| t.as_secs_f64() * 1000.0)
    };
    format!("{} times, median {:.0} ms, worst {:.0} ms", times.len(), ms(50), ms(100))
}

/// Waits until an order is served, and tells when the last new field of colours came, and when all was told.
fn answer(worker: &Worker) -> Result<(Duration, Duration), String> {
    let begun = Instant::now();
    let (mut field, mut all) = (Duration::ZERO, Duration::ZERO);
    loop {
        match worker.wait(Duration::from_secs(5)) {
            Some(Report::Shown { .. }) => field = begun.elapsed(),
            Some(Report::Painted(_)) => all = begun.elapsed(),
            Some(Report::Trouble(why)) => return Err(why),
            Some(_) => {}
            None if worker.busy() => {}
            None => return Ok((field, all)),
        }
        if !worker.busy() {
            // What was told last may still lie there.
            while let Some(report) = worker.wait(Duration::from_millis(1)) {
                match report {
                    Report::Shown { .. } => field = begun.elapsed(),
                    Report::Painted(_) => all = begun.elapsed(),
                    _ => {}
                }
            }
            return Ok((field, all));
        }
    }
}

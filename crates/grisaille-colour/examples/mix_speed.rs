//! How long the search for mixes takes: 1,000 colours from 60 paints, up to three
//! paints in simple parts, on the threads named (2 if none).

use grisaille_base::Watch;
use grisaille_colour::{Lab, MixSettings, Mixes, Paint};
use std::time::Instant;

fn main() -> Result<(), String> {
    let threads = std::env::args().nth(1).and_then(|n| n.parse().ok()).unwrap_or(2);
    let watch = Watch::with_threads(threads)?;
    let mut state = 7_u64;
    let mut draw = || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 40) as f64 / (1_u64 << 24) as f64
    };
    let mut colour = || Lab::from_linear([draw().powi(2), draw().powi(2), draw().powi(2)]);
    let paints: Vec<Paint> = (0..60).map(|n| Paint::of_colour(format!("paint {n}"), colour())).collect();
    let wanted: Vec<Lab> = (0..1000).map(|_| colour()).collect();

    let begun = Instant::now();
    let mixes = Mixes::of(&paints, MixSettings::default(), &watch).map_err(|e| e.to_string())?;
    let made = begun.elapsed();
    let found = watch.map(wanted.len(), |i| mixes.nearest(wanted[i])).map_err(|e| e.to_string())?;
    let all = begun.elapsed();
    let mean = found.iter().flatten().map(|m| m.apart).sum::<f64>() / found.len() as f64;
    println!(
        "{} mixes of 60 paints made in {:.0} ms; with 1,000 searches {:.0} ms on {threads} threads; mean difference {mean:.2}",
        mixes.len(),
        made.as_secs_f64() * 1e3,
        all.as_secs_f64() * 1e3,
    );
    Ok(())
}

//! How long each phase takes to stop once it is asked to, at seeded moments.
//!
//! ```text
//! cargo run --release -p grisaille --example cancel_latency -- models-demo/diver.stl [TRIALS] [CUTS]
//! ```
//!
//! CUTS times every triangle of the model is cut in four first. Each trial begins
//! a phase anew, cancels it at a moment between its begin and its end, and
//! measures how long the call takes to come back. Other programs on the machine
//! count too, so the table also says how long the calling process waited
//! for a processor meanwhile.

use grisaille_base::{Stop, Watch};
use grisaille_guide::{Heading, Subject, compose, typeset};
use grisaille_mesh::{Mesh, ReadSettings, read};
use grisaille_picture::{Frame, Look, Scene, View};
use grisaille_plan::{Plan, Products, plan};
use grisaille_scheme::Scheme;
use grisaille_words::Words;
use std::error::Error;
use std::sync::Arc;
use std::sync::atomic::Ordering;
use std::time::{Duration, Instant};

/// Runs a phase from its begin under a watch; whether it came to its end.
type Phase<'a> = Box<dyn FnMut(&Watch) -> Result<bool, Box<dyn Error>> + 'a>;

fn main() -> Result<(), Box<dyn Error>> {
    let mut args = std::env::args().skip(1);
    let path = args.next().unwrap_or_else(|| "models-demo/diver.stl".into());
    let trials: usize = args.next().map_or(Ok(12), |n| n.parse())?;
    let cuts: usize = args.next().map_or(Ok(0), |n| n.parse())?;
    let mut bytes = std::fs::read(&path)?;
    for _ in 0..cuts {
        bytes = cut(&bytes);
    }
    let quiet = Watch::quiet();
    let (mesh, findings) = read(&bytes, &ReadSettings::default(), &quiet)?;
    let mesh = Arc::new(mesh);
    println!("{} triangles", mesh.faces().len());
    // Fewer directions: how long a light takes is not what is asked here.
    let mut scheme = Scheme::default();
    scheme.fineness.ambient_directions = 32;
    scheme.fineness.ring_directions = 8;
    let bouncing = {
        let mut scheme = scheme.clone();
        scheme.bounce.albedo = 0.4;
        scheme.bounce.directions = 8;
        scheme
    };
    let mut products = Products::new(Arc::clone(&mesh));
    let planned = plan(&scheme, &mut products, &quiet)?;
    let heading =
        Heading { title: "Diver".into(), model_file: "diver.stl".into(), made_with: "grisaille".into() };
    let subject = Subject {
        plan: &planned,
        scheme: &scheme,
        findings: &findings,
        coloured: None,
        form: None,
        words: Words::english(),
    };
    let sheets = compose(&subject, &heading, &quiet)?;

    println!("| phase | seconds | median ms | greatest ms | of which waiting for a processor |");
    println!("| --- | ---: | ---: | ---: | ---: |");
    let mut dice = 0x9e37_79b9_7f4a_7c15_u64;
    let mut row = |name: &str, phase: Phase<'_>| measure(name, trials, &mut dice, phase);
    row("read", Box::new(|w| Ok(read(&bytes, &ReadSettings::default(), w).is_ok())))?;
    // What was done is the caller's to keep: giving hundreds of megabytes back
    // to the system takes its time, and is no part of the answer.
    let mut held = fresh(&mesh);
    row(
        "surface, lights and plan",
        Box::new(|w| {
            held = fresh(&mesh);
            ended(&plan(&scheme, &mut held, w))
        }),
    )?;
    drop(held);
    let mut bent = scheme.clone();
    let mut turn = 0.0;
    let mut warm = Products::new(Arc::clone(&mesh));
    plan(&scheme, &mut warm, &quiet)?;
    row(
        "a moved light and plan",
        Box::new(|w| {
            turn += 1.0;
            if let grisaille_scheme::LightChoice::Zenithal { azimuth, tilt, .. } = &mut bent.lights[0].choice
            {
                (*azimuth, *tilt) = (turn, 20.0);
            }
            ended(&plan(&bent, &mut warm, w))
        }),
    )?;
    row(
        "bounce and plan",
        Box::new(|w| {
            let mut scheme = bouncing.clone();
            turn += 1e-3;
            scheme.bounce.albedo = 0.3 + 1e-3 * turn.fract();
            ended(&plan(&scheme, &mut products, w))
        }),
    )?;
    row("picture", Box::new(|w| ended(&picture(&planned, w))))?;
    row("sheets' pictures", Box::new(|w| ended(&compose(&subject, &heading, w))))?;
    row("typesetting", Box::new(|w| Ok(typeset(&sheets, w).is_ok())))?;
    Ok(())
}

fn fresh(mesh: &Arc<Mesh>) -> Products {
    Products::new(Arc::clone(mesh))
}

fn ended<T>(result: &Result<T, Stop>) -> Result<bool, Box<dyn Error>> {
    Ok(result.is_ok())
}

fn picture(plan: &Plan, watch: &Watch) -> Result<(), Stop> {
    let frame = Frame::fit(plan.mesh.positions(), View::three_quarter(), 40.0, 1.0);
    let scene = Scene::new(plan, &frame, 10.0, watch)?;
    scene.shade(Look::Values, watch).map(|_| ())
}

/// Once to its end for the time it takes, then the trials.
fn measure(name: &str, trials: usize, dice: &mut u64, mut phase: Phase<'_>) -> Result<(), Box<dyn Error>> {
    let begun = Instant::now();
    phase(&Watch::quiet())?;
    let whole = begun.elapsed();
    let mut late: Vec<(Duration, Duration)> = Vec::new();
    for _ in 0..trials {
        // xorshift (G. Marsaglia, J. Stat. Softw. 8(14), 2003).
        *dice ^= *dice << 13;
        *dice ^= *dice >> 7;
        *dice ^= *dice << 17;
        let moment = whole.mul_f64((*dice >> 11) as f64 / (1_u64 << 53) as f64);
        let watch = Watch::quiet();
        let cancel = watch.cancel_handle();
        let asked = std::thread::spawn(move || {
            std::thread::sleep(moment);
            let asked = (Instant::now(), waited());
            cancel.store(true, Ordering::Relaxed);
            asked
        });
        let ended = phase(&watch)?;
        let (back, waited) = (Instant::now(), waited());
        let (asked, before) = asked.join().map_err(|_| "the clock's thread failed")?;
        if !ended {
            late.push((back.saturating_duration_since(asked), waited.saturating_sub(before)));
        }
        // What was left to itself ends before the next trial.
        while std::fs::read_dir("/proc/self/task").map_or(0, Iterator::count) > 1 + rayon_threads() {
            std::thread::sleep(Duration::from_millis(5));
        }
    }
    late.sort_unstable();
    let ms = |d: Duration| 1e3 * d.as_secs_f64();
    let (median, most) = (late.get(late.len() / 2), late.last());
    if let (Some(median), Some(most)) = (median, most) {
        println!(
            "| {name} | {:.2} | {:.1} | {:.1} | {:.1} |",
            whole.as_secs_f64(),
            ms(median.0),
            ms(most.0),
            ms(most.1)
        );
    } else {
        println!("| {name} | {:.2} | never stopped | | |", whole.as_secs_f64());
    }
    Ok(())
}

fn rayon_threads() -> usize {
    std::thread::available_parallelism().map_or(1, usize::from)
}

/// How long all threads of this process have waited for a processor so far
/// (Linux; nothing elsewhere).
fn waited() -> Duration {
    let tasks = std::fs::read_dir("/proc/self/task").into_iter().flatten().flatten();
    let each = tasks.filter_map(|t| std::fs::read_to_string(t.path().join("schedstat")).ok());
    Duration::from_nanos(each.filter_map(|s| s.split_whitespace().nth(1)?.parse::<u64>().ok()).sum())
}

/// A binary STL with each triangle cut in four at the middles of its edges.
fn cut(bytes: &[u8]) -> Vec<u8> {
    let number = |r: &[u8], at: usize| f32::from_le_bytes([r[at], r[at + 1], r[at + 2], r[at + 3]]);
    let mut out = vec![b' '; 80];
    let records: Vec<&[u8]> = bytes.get(84..).unwrap_or_default().chunks_exact(50).collect();
    out.extend((4 * records.len() as u32).to_le_bytes());
    for record in records {
        let corner = |c: usize| [0, 1, 2].map(|k| number(record, 12 + 12 * c + 4 * k));
        let [a, b, c] = [0, 1, 2].map(corner);
        // The same bits from both sides of an edge.
        let middle = |p: [f32; 3], q: [f32; 3]| [0, 1, 2].map(|k| f32::midpoint(p[k], q[k]));
        let (ab, bc, ca) = (middle(a, b), middle(b, c), middle(c, a));
        for t in [[a, ab, ca], [ab, b, bc], [ca, bc, c], [ab, bc, ca]] {
            out.extend([0; 12]);
            out.extend(t.iter().flatten().flat_map(|x| x.to_le_bytes()));
            out.extend([0; 2]);
        }
    }
    out
}

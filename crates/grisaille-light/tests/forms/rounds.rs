//! Light in rounds, and what is kept between two calls.

use crate::EVEN;
use crate::invariances::{lamp, scene, whole_surface};
use grisaille_base::{LightId, Millimetres, Stop, Watch};
use grisaille_light::{
    Cache, Exposure, ExposureSettings, Falloff, Kind, Light, exposure, exposure_in_rounds,
};
use grisaille_sight::{Bits, FaceMask, Surface, SweepSight};
use nalgebra::Point3;
use std::sync::Arc;
use std::sync::atomic::Ordering;

const FEW: ExposureSettings =
    ExposureSettings { ambient_directions: 100, ring_directions: 12, soft_directions: 24 };

fn light(id: u32, kind: Kind) -> Light {
    Light { id: LightId(id), name: format!("l{id}"), kind, mask: FaceMask::All }
}

/// One of each kind, sharp and soft.
fn lights() -> Vec<Light> {
    let at = Point3::new(0.2, -2.0, 1.3);
    let kinds = [
        EVEN,
        Kind::Ring,
        Kind::Zenithal { tilt: 20.0, azimuth: 30.0, radius: 0.0 },
        Kind::Zenithal { tilt: 20.0, azimuth: 30.0, radius: 15.0 },
        lamp(at, 0.0, 1.0),
        lamp(at, 0.3, 1.0),
    ];
    (1..).zip(kinds).map(|(id, kind)| light(id, kind)).collect()
}

fn bits(exposure: &Exposure) -> Vec<Vec<u32>> {
    exposure.lights.iter().map(|l| l.values.iter().map(|v| v.to_bits()).collect()).collect()
}

/// Pairs of sample and direction that were looked at so far.
fn pairs(watch: &Watch) -> u64 {
    watch.records().iter().filter_map(|(_, r)| r.counts.get("pairs")).sum()
}

/// Runs once with what is kept; also how many pairs that took.
fn run(
    (surface, sight): &(Surface, SweepSight),
    lights: &[Light],
    settings: &ExposureSettings,
    kept: &mut Cache,
) -> (Exposure, u64) {
    let watch = Watch::quiet();
    let exposure = exposure(surface, sight, lights, settings, kept, &watch).expect("nobody cancels");
    (exposure, pairs(&watch))
}

#[test]
fn rounds_come_nearer_and_end_on_the_very_bits() {
    let watch = Watch::quiet();
    let on = whole_surface(&scene(), 0.3, &watch);
    let (full, all_pairs) = run(&on, &lights(), &FEW, &mut Cache::default());
    let mut heard: Vec<(u32, u32, Exposure)> = Vec::new();
    let mut kept = Cache::default();
    let mut hear = |e: &Exposure, r: grisaille_light::Round| heard.push((r.number, r.of, e.clone()));
    let last = exposure_in_rounds(&on.0, &on.1, &lights(), &FEW, &mut kept, &watch, &mut hear).unwrap();
    assert_eq!(bits(&last), bits(&full));
    let numbers: Vec<(u32, u32)> = heard.iter().map(|(n, of, _)| (*n, *of)).collect();
    assert_eq!(numbers, [(1, 4), (2, 4), (3, 4), (4, 4)]);
    assert_eq!(bits(&heard[3].2), bits(&full));
    // Two soft lights are sharp at first; nothing else is looked at twice.
    let first = pairs(&watch);
    assert!(first > all_pairs && first < all_pairs + 2 * on.0.samples.len() as u64, "{first} {all_pairs}");
    for (k, light) in full.lights.iter().enumerate() {
        let off: Vec<f64> = heard
            .iter()
            .map(|(_, _, e)| {
                let each = e.lights[k].values.iter().zip(light.values.iter());
                each.map(|(a, b)| f64::from((a - b).abs())).sum::<f64>() / light.values.len() as f64
            })
            .collect();
        println!("{:?}: {off:.5?}", light.kind);
        assert!(off.windows(2).all(|w| w[1] < w[0] || w[1] == 0.0), "{:?}: {off:?}", light.kind);
        assert!(off[0] < 0.12 && off[1] < 0.04, "{:?}: {off:?}", light.kind);
    }
    // All is kept: one round, and nothing to do.
    let quiet = Watch::quiet();
    let mut rounds = 0;
    let again = exposure_in_rounds(&on.0, &on.1, &lights(), &FEW, &mut kept, &quiet, &mut |_, r| {
        rounds += 1;
        assert!(r.is_last());
    });
    assert_eq!((bits(&again.unwrap()), rounds, pairs(&quiet)), (bits(&full), 1, 0));
}

#[test]
fn a_cancel_between_rounds_loses_nothing_that_was_done() {
    let quiet = Watch::quiet();
    let on = whole_surface(&scene(), 0.4, &quiet);
    let (full, all_pairs) = run(&on, &lights(), &FEW, &mut Cache::default());
    let mut kept = Cache::default();
    let mut worked = 0;
    // Cancelled after each round once, and taken up again.
    for stop_at in 1..4 {
        let watch = Watch::quiet();
        let cancel = watch.cancel_handle();
        let mut heard = 0;
        let got = exposure_in_rounds(&on.0, &on.1, &lights(), &FEW, &mut kept, &watch, &mut |_, round| {
            heard = round.number;
            cancel.store(round.number == stop_at, Ordering::Relaxed);
        });
        assert_eq!((got, heard), (Err(Stop), stop_at));
        worked += pairs(&watch);
    }
    let (last, rest) = run(&on, &lights(), &FEW, &mut kept);
    assert_eq!(bits(&last), bits(&full));
    // Two soft lights are sharp in the first round, which the second call sees
    // once more since it found nothing of them; all else is looked at once.
    let sharp = 4 * on.0.samples.len() as u64;
    assert!((all_pairs..all_pairs + sharp).contains(&(worked + rest)), "{worked} + {rest}, {all_pairs}");
}

#[test]
fn a_cancel_anywhere_gives_nothing_and_breaks_nothing() {
    let quiet = Watch::quiet();
    let on = whole_surface(&scene(), 0.5, &quiet);
    let (full, _) = run(&on, &lights(), &FEW, &mut Cache::default());
    let counted = Watch::quiet().stopping_after(u64::MAX);
    exposure(&on.0, &on.1, &lights(), &FEW, &mut Cache::default(), &counted).unwrap();
    let asked = u64::MAX - counted.asks_left().unwrap();
    // Bounded by work: between two questions lies one source, or a few
    // thousand samples of one, at most.
    let sources = 100 + 12 + 1 + 24 + 1 + 24;
    assert!(asked >= sources * (2 + on.0.samples.len() as u64 / 16384), "{asked}");
    for k in 0..24 {
        let asks = asked * k / 24;
        let mut kept = Cache::default();
        let watch = Watch::quiet().stopping_after(asks);
        let got = exposure(&on.0, &on.1, &lights(), &FEW, &mut kept, &watch);
        assert_eq!(got, Err(Stop), "after {asks} of {asked}");
        assert_eq!(watch.asks_left(), Some(0));
        // What was kept is sound: the rest of the way leads to the same bits.
        assert_eq!(bits(&run(&on, &lights(), &FEW, &mut kept).0), bits(&full), "after {asks} of {asked}");
        let watch = Watch::quiet().stopping_after(asks);
        let mut heard = 0;
        let got =
            exposure_in_rounds(&on.0, &on.1, &lights(), &FEW, &mut Cache::default(), &watch, &mut |_, r| {
                assert!(!r.is_last());
                heard += 1;
            });
        assert_eq!(got, Err(Stop), "after {asks} of {asked}, {heard} rounds");
    }
}

#[test]
fn bending_a_lamp_traces_nothing_and_moving_it_leaves_the_rest() {
    let on = whole_surface(&scene(), 0.4, &Watch::quiet());
    let at = Point3::new(0.2, -2.0, 1.3);
    let bent = |reference: f64, exponent: f64, reach: f64| Kind::Point {
        at,
        reference: Millimetres(reference),
        radius: Millimetres(0.3),
        clear: Millimetres(0.0),
        falloff: Falloff { exponent, reach: Millimetres(reach), softness: 0.5 },
    };
    let rig = |lamp| [light(1, EVEN), light(2, Kind::Ring), light(3, lamp)];
    let mut kept = Cache::default();
    let (first, worked) = run(&on, &rig(bent(2.0, 2.0, f64::INFINITY)), &FEW, &mut kept);
    assert!(worked > 0);
    for (reference, exponent, reach) in
        [(3.0, 2.0, f64::INFINITY), (2.0, 1.0, f64::INFINITY), (2.0, 2.5, 2.2)]
    {
        let bent = rig(bent(reference, exponent, reach));
        let (kept_one, none) = run(&on, &bent, &FEW, &mut kept);
        let (fresh, _) = run(&on, &bent, &FEW, &mut Cache::default());
        assert_eq!((none, bits(&kept_one)), (0, bits(&fresh)));
        assert_ne!(bits(&kept_one)[2], bits(&first)[2]);
    }
    let (moved, some) = run(&on, &rig(lamp(Point3::new(0.5, -2.0, 1.3), 0.0, 1.0)), &FEW, &mut kept);
    assert!(some > 0 && some <= on.0.samples.len() as u64);
    for k in 0..2 {
        assert!(Arc::ptr_eq(&first.lights[k].values, &moved.lights[k].values));
    }
    // Finer lamps do not touch a sharp one, nor the sky.
    let finer = ExposureSettings { soft_directions: 48, ..FEW };
    assert_eq!(run(&on, &rig(lamp(Point3::new(0.5, -2.0, 1.3), 0.0, 1.0)), &finer, &mut kept).1, 0);
    // What lets the light through decides who sees it.
    let mut glass = light(3, lamp(Point3::new(0.5, -2.0, 1.3), 0.0, 1.0));
    glass.mask = FaceMask::Except(Bits::new(8));
    assert!(run(&on, &[glass], &FEW, &mut kept).1 > 0);
}

#[test]
fn the_cache_stays_within_its_bound_and_forgets_the_oldest() {
    let on = whole_surface(&scene(), 0.5, &Watch::quiet());
    let each = 4 * on.0.samples.len();
    let mut kept = Cache::bounded(2 * each);
    let from = |azimuth| [light(1, Kind::Zenithal { tilt: 30.0, azimuth, radius: 0.0 })];
    let mut work = |azimuth| {
        let (_, pairs) = run(&on, &from(azimuth), &FEW, &mut kept);
        assert!(kept.bytes() <= 2 * each && kept.bytes() >= each);
        pairs > 0
    };
    assert!(work(0.0) && work(90.0));
    // 0° was asked for last, so 90° goes.
    assert!(!work(0.0) && work(180.0) && !work(0.0) && work(90.0));
    // What is larger than the bound is computed and not kept.
    let mut none = Cache::bounded(each - 1);
    assert!(run(&on, &from(0.0), &FEW, &mut none).1 > 0);
    assert_eq!(none.bytes(), 0);
}

#[test]
fn progress_of_the_rounds_goes_from_nothing_to_all() {
    use grisaille_base::{Leg, Listener, Progress};
    let on = whole_surface(&scene(), 0.5, &Watch::quiet());
    let told = Arc::new(std::sync::Mutex::new(vec![0.0]));
    let ear = Arc::clone(&told);
    let leg = Leg { phase: "light", work: 1.0, spans: 1 };
    let progress = Progress::new(vec![leg], move |share| ear.lock().unwrap().push(share));
    let watch = Watch::quiet().heard_by(Arc::new(progress) as Arc<dyn Listener>);
    exposure_in_rounds(&on.0, &on.1, &lights(), &FEW, &mut Cache::default(), &watch, &mut |_, _| ()).unwrap();
    let told = told.lock().unwrap();
    // One step for each direction or point, each as much as the next: by work.
    let steps: Vec<f64> = told.windows(2).map(|w| w[1] - w[0]).collect();
    assert_eq!(steps.len(), 100 + 12 + 1 + 24 + 1 + 24 + 2);
    assert!(steps.iter().all(|s| (s * steps.len() as f64 - 1.0).abs() < 1e-6), "{steps:?}");
    assert!((told.last().unwrap() - 1.0).abs() < 1e-12);
}

//! How far each round of light is from the last, and how long it takes: the
//! table of docs/exposure.md.
//!
//! ```text
//! cargo run --release -p grisaille-light --example rounds -- models-demo/diver.stl
//! ```

use grisaille_base::{LightId, Millimetres, Watch};
use grisaille_light::{
    Cache, Exposure, ExposureSettings, Falloff, Kind, Light, Sky, exposure, exposure_in_rounds,
};
use grisaille_mesh::{ReadSettings, read};
use grisaille_sight::{FaceMask, Occluders, SurfaceSettings, SweepSight, TreeSight, surface};
use nalgebra::Point3;
use std::error::Error;
use std::sync::Arc;
use std::time::Instant;

fn main() -> Result<(), Box<dyn Error>> {
    let path = std::env::args().nth(1).unwrap_or_else(|| "models-demo/diver.stl".into());
    let watch = Watch::quiet();
    let (mesh, _) = read(&std::fs::read(&path)?, &ReadSettings::default(), &watch)?;
    let occluders = Arc::new(Occluders::of(&mesh));
    let tree = TreeSight::new(Arc::clone(&occluders), &watch);
    let (surface, _) = surface(&mesh, &SurfaceSettings::for_mesh(&mesh), &tree, &watch)?;
    let sight = SweepSight::new(occluders, &watch);
    let lamp = |radius| Kind::Point {
        at: Point3::new(9.0, -13.0, 30.0),
        reference: Millimetres(8.0),
        radius: Millimetres(radius),
        clear: Millimetres(2.5),
        falloff: Falloff::PHYSICAL,
    };
    let kinds = [
        ("zenithal, sharp", Kind::Zenithal { tilt: 0.0, azimuth: 0.0, radius: 0.0 }),
        ("zenithal, 20° wide", Kind::Zenithal { tilt: 0.0, azimuth: 0.0, radius: 20.0 }),
        ("ring", Kind::Ring),
        ("ambient", Kind::Ambient { sky: Sky::Uniform }),
        ("lamp, sharp", lamp(0.0)),
        ("lamp, glass of 1 mm", lamp(1.0)),
    ];
    let lights: Vec<Light> = (0..)
        .zip(kinds)
        .map(|(id, (name, kind))| Light { id: LightId(id), name: name.into(), kind, mask: FaceMask::All })
        .collect();
    let settings = ExposureSettings::default();
    println!("{} samples", surface.samples.len());
    let mut rounds: Vec<(f64, Exposure)> = Vec::new();
    let begun = Instant::now();
    let last = exposure_in_rounds(
        &surface,
        &sight,
        &lights,
        &settings,
        &mut Cache::default(),
        &watch,
        &mut |e, _| rounds.push((begun.elapsed().as_secs_f64(), e.clone())),
    )?;
    let again = Instant::now();
    let once = exposure(&surface, &sight, &lights, &settings, &mut Cache::default(), &watch)?;
    println!("in one go {:.2} s, the same: {}", again.elapsed().as_secs_f64(), once == last);
    for (k, (seconds, _)) in rounds.iter().enumerate() {
        println!("round {} after {seconds:.2} s", k + 1);
    }
    println!("mean and greatest distance from the last round, by round:");
    for (k, light) in lights.iter().enumerate() {
        let far = |e: &Exposure| {
            let open = (0..surface.samples.len()).filter(|i| !surface.samples.buried.get(*i));
            let apart = open.map(|i| f64::from((e.lights[k].values[i] - last.lights[k].values[i]).abs()));
            let (n, sum, most) =
                apart.fold((0.0, 0.0, 0.0_f64), |(n, sum, most), d| (n + 1.0, sum + d, most.max(d)));
            format!("{:.4}, {most:.3}", sum / f64::max(n, 1.0))
        };
        let row: Vec<String> = rounds.iter().map(|(_, e)| far(e)).collect();
        println!("| {} | {} |", light.name, row.join(" | "));
    }
    Ok(())
}

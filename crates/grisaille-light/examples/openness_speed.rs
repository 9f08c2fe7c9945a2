//! Times openness by its reach: `openness_speed FILE.stl`. Prints million rays a
//! second on two threads, 64 directions over each sample's hemisphere.

use grisaille_base::{Millimetres, Watch};
use grisaille_light::{OpennessSettings, openness, sphere_points};
use grisaille_mesh::{ReadSettings, read};
use grisaille_sight::{Occluders, SurfaceSettings, TreeSight, surface};
use std::error::Error;
use std::sync::Arc;
use std::time::Instant;

fn main() -> Result<(), Box<dyn Error>> {
    let file = std::env::args().nth(1).ok_or("give an STL")?;
    let watch = Watch::with_threads(2)?;
    let (mesh, _) = read(&std::fs::read(file)?, &ReadSettings::default(), &watch)?;
    let tree = TreeSight::new(Arc::new(Occluders::of(&mesh)), &watch);
    let (surface, _) = surface(&mesh, &SurfaceSettings::for_mesh(&mesh), &tree, &watch)?;
    let samples = &surface.samples;
    let directions = sphere_points(128);
    let faces = |i: usize| directions.iter().filter(|d| samples.normal[i].cast::<f64>().dot(d) > 0.0).count();
    let rays: usize = (0..samples.len()).filter(|i| !samples.buried.get(*i)).map(faces).sum();
    println!("| reach, mm | million rays a second | mean openness |");
    println!("| ---: | ---: | ---: |");
    for reach in [0.5, 2.0, 8.0, f64::INFINITY] {
        let settings = OpennessSettings { reach: Millimetres(reach), directions: 64 };
        let now = Instant::now();
        let values = openness(&surface, &tree, &settings, &watch)?;
        let rate = rays as f64 * 1e-6 / now.elapsed().as_secs_f64();
        let open: f64 = values.iter().map(|v| f64::from(*v)).sum();
        println!("| {reach} | {rate:.2} | {:.3} |", open / (samples.len() - samples.buried.count()) as f64);
    }
    Ok(())
}

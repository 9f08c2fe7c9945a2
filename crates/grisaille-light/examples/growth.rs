//! How time and memory grow with the model: `growth FILE.stl TRIANGLES`.
//! `tests/growth` makes the diver and prints the table.
//!
//! The model is cut in four at the middles of its edges until it has about
//! TRIANGLES; a row is printed for it and for each step. Every vertex is a
//! sample. Two threads. The memory is what is asked of the allocator at the
//! worst moment of the light beyond what stood before: mesh, samples, the
//! engine's own structure and the bits of the answer. It is given for each
//! sample and thread.

use grisaille_base::Watch;
use grisaille_bodies::{Triangle, halved, stl};
use grisaille_light::{sphere_points, upper_hemisphere};
use grisaille_mesh::{Mesh, ReadSettings, read};
use grisaille_sight::{
    Bits, FaceMask, Occluders, Sight, Source, SurfaceSettings, SweepSight, TreeSight, surface,
};
use nalgebra::{Point3, Vector3};
use peak_alloc::PeakAlloc;
use std::error::Error;
use std::sync::Arc;
use std::time::Instant;

#[global_allocator]
static MEMORY: PeakAlloc = PeakAlloc;

const THREADS: usize = 2;

fn main() -> Result<(), Box<dyn Error>> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let [file, most] = args.as_slice() else { return Err("usage: growth FILE.stl TRIANGLES".into()) };
    let most: usize = most.parse()?;
    let watch = Watch::with_threads(THREADS)?;
    println!(
        "| million triangles | million samples | build, s | structure, bytes a triangle | 64 directions, s | µs a sample | \
         bytes a sample and thread | lamp, ms | bytes a sample and thread | soft lamp of 16 points, s |"
    );
    println!("| ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: |");
    let mut mesh = read(&std::fs::read(file)?, &ReadSettings::default(), &watch)?.0;
    loop {
        row(&mesh, &watch)?;
        if mesh.faces().len() * 2 >= most {
            return Ok(());
        }
        let corner = |v: u32| mesh.positions()[v as usize].coords.cast::<f64>().into();
        let soup: Vec<Triangle> = mesh.faces().iter().map(|f| f.map(corner)).collect();
        let file = stl(&halved(&soup));
        drop(soup);
        mesh = read(&file, &ReadSettings::default(), &watch)?.0;
    }
}

fn row(mesh: &Mesh, watch: &Watch) -> Result<(), Box<dyn Error>> {
    let occluders = Arc::new(Occluders::of(mesh));
    let tree = TreeSight::new(Arc::clone(&occluders), watch);
    let settings =
        SurfaceSettings { refine: false, crease_degrees: 180.0, ..SurfaceSettings::for_mesh(mesh) };
    let (surface, _) = surface(mesh, &settings, &tree, watch)?;
    drop(tree);
    let samples = &surface.samples;
    let (before, now) = (MEMORY.current_usage(), Instant::now());
    let sweep = SweepSight::new(occluders, watch);
    let build = now.elapsed().as_secs_f64();
    let structure = MEMORY.current_usage() - before;
    let mut bits = Bits::new(samples.len());
    // Seconds, and bytes at the worst moment for each sample and thread.
    let mut ask = |sources: &[Source]| -> Result<(f64, f64), Box<dyn Error>> {
        let before = MEMORY.current_usage();
        MEMORY.reset_peak_usage();
        let now = Instant::now();
        for source in sources {
            sweep.visible(samples, *source, &FaceMask::All, &mut bits, watch)?;
        }
        let seconds = now.elapsed().as_secs_f64();
        let extra = MEMORY.peak_usage().saturating_sub(before);
        Ok((seconds, extra as f64 / (samples.len() * THREADS) as f64))
    };
    let sky: Vec<Source> = upper_hemisphere(64).into_iter().map(Source::Direction).collect();
    let size = mesh.bounds().diagonal();
    let lamp = Point3::from(mesh.bounds().centre()) + Vector3::new(0.4, -0.7, 0.2) * size;
    let glass: Vec<Source> =
        sphere_points(16).iter().map(|m| Source::point(lamp + m.into_inner() * (0.02 * size))).collect();
    let (directions, sky_bytes) = ask(&sky)?;
    let (point, point_bytes) = ask(&[Source::point(lamp)])?;
    let (soft, _) = ask(&glass)?;
    println!(
        "| {:.2} | {:.2} | {build:.2} | {:.0} | {directions:.2} | {:.2} | {sky_bytes:.1} | {:.0} | {point_bytes:.1} | {soft:.2} |",
        mesh.faces().len() as f64 * 1e-6,
        samples.len() as f64 * 1e-6,
        structure as f64 / mesh.faces().len() as f64,
        directions * 1e6 / samples.len() as f64,
        point * 1e3,
    );
    Ok(())
}

//! What one bounce costs on a model, and how far it is from the truth by the
//! number of directions: the table of docs/exposure.md.
//!
//! ```text
//! cargo run --release -p grisaille-light --example bounce -- models-demo/diver.stl
//! ```

use grisaille_base::{LightId, Watch};
use grisaille_light::{BounceSettings, Cache, ExposureSettings, Kind, Light, Sky, bounce, exposure};
use grisaille_mesh::{ReadSettings, read};
use grisaille_sight::{FaceMask, Occluders, SurfaceSettings, SurfaceTree, SweepSight, TreeSight, surface};
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
    let sight = SweepSight::new(Arc::clone(&occluders), &watch);
    let kind = Kind::Ambient { sky: Sky::Uniform };
    let lights = [Light { id: LightId(0), name: "ambient".into(), kind, mask: FaceMask::All }];
    let few = ExposureSettings { ambient_directions: 64, ..ExposureSettings::default() };
    let lit = exposure(&surface, &sight, &lights, &few, &mut Cache::default(), &watch)?;
    let begun = Instant::now();
    let own = SurfaceTree::new(&surface, &occluders, &watch)?;
    println!("{} samples, {} faces", surface.samples.len(), surface.faces.len());
    println!("tree in {:.2} s", begun.elapsed().as_secs_f64());
    let albedo = vec![[0.5; 3]; surface.samples.len()];
    let light = [lit.lights[0].values.as_slice()];
    let truth = std::env::args().nth(2).and_then(|n| n.parse().ok()).unwrap_or(1024);
    let run = |directions, seed| {
        let begun = Instant::now();
        let got = bounce(&surface, &own, &light, &albedo, &BounceSettings { directions, seed }, &watch)?;
        Ok::<_, Box<dyn Error>>((begun.elapsed().as_secs_f64(), got))
    };
    let (_, truth) = run(truth, 1)?;
    println!(
        "of the light on it the surface throws back half, and catches {:.1} % of that again",
        100.0 * truth.caught[0][0] / truth.thrown[0][0]
    );
    println!("| directions | seconds | root of the mean square | greatest |");
    println!("| ---: | ---: | ---: | ---: |");
    for directions in [4, 16, 64, 256] {
        let (seconds, got) = run(directions, 0)?;
        let apart = got.lights[0].iter().zip(&truth.lights[0]).map(|(a, b)| f64::from(a[0] - b[0]).abs());
        let (n, square, most) =
            apart.fold((0.0, 0.0, 0.0_f64), |(n, s, m), d| (n + 1.0, s + d * d, m.max(d)));
        println!("| {directions} | {seconds:.2} | {:.4} | {most:.3} |", (square / f64::max(n, 1.0)).sqrt());
    }
    Ok(())
}

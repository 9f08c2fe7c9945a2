//! Times the engines against each other, and against Embree where its peer
//! was built: `tests/bench` does all of it and prints the table.
//!
//! ```text
//! engine_speed FILE.stl TRIANGLES [PEER]
//! ```
//!
//! The model is midpoint-subdivided until it has about TRIANGLES triangles;
//! every vertex is a sample. One row of the table is printed: million pairs
//! (samples that are open and turned to the light, times directions) a second
//! over 64 directions of the upper half, on two threads, the time to build the
//! structures counted.

use grisaille_base::Watch;
use grisaille_mesh::{Mesh, ReadSettings, read};
use grisaille_sight::{
    FaceMask, Occluders, Samples, Sight, Source, SurfaceSettings, SweepSight, TreeSight, surface,
};
use nalgebra::{Point3, Unit, Vector3};
use std::error::Error;
use std::process::Command;
use std::sync::Arc;
use std::time::Instant;

const DIRECTIONS: usize = 64;
const THREADS: usize = 2;
/// Directions asked about together, as light does.
const AT_ONCE: usize = 4;

fn main() -> Result<(), Box<dyn Error>> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let [file, wanted, rest @ ..] = args.as_slice() else {
        return Err("usage: engine_speed FILE.stl TRIANGLES [PEER]".into());
    };
    let wanted: usize = wanted.parse()?;
    let watch = Watch::with_threads(THREADS)?;
    let mut mesh = read(&std::fs::read(file)?, &ReadSettings::default(), &watch)?.0;
    while mesh.faces().len() * 2 < wanted {
        mesh = read(&subdivided(&mesh), &ReadSettings::default(), &watch)?.0;
    }
    let occluders = Arc::new(Occluders::of(&mesh));
    let now = Instant::now();
    let tree = TreeSight::new(Arc::clone(&occluders), &watch);
    let tree_built = now.elapsed().as_secs_f64();
    let settings =
        SurfaceSettings { refine: false, crease_degrees: 180.0, ..SurfaceSettings::for_mesh(&mesh) };
    let (surface, _) = surface(&mesh, &settings, &tree, &watch)?;
    let samples = &surface.samples;
    let now = Instant::now();
    let sweep = SweepSight::new(occluders, &watch);
    let built = now.elapsed().as_secs_f64();

    let sources: Vec<Source> = (0..DIRECTIONS).map(|k| Source::Direction(direction(k))).collect();
    let pairs: usize =
        sources.iter().map(|s| (0..samples.len()).filter(|i| s.faces(samples, *i)).count()).sum();
    let time = |sight: &dyn Sight, sources: &[Source]| -> Result<f64, Box<dyn Error>> {
        let now = Instant::now();
        for some in sources.chunks(AT_ONCE) {
            sight.visible_from(samples, some, &FaceMask::All, &watch)?;
        }
        Ok(now.elapsed().as_secs_f64())
    };
    let swept = time(&sweep, &sources)?;
    // Every eighth is enough to know the tree's speed.
    let some: Vec<Source> = sources.iter().copied().step_by(8).collect();
    let traced = time(&tree, &some)? * 8.0;
    let bounds = mesh.bounds();
    let centre = Point3::from(bounds.centre());
    let beside = centre + Vector3::new(0.4, -0.7, 0.2) * bounds.diagonal();
    let point = time(&sweep, &[Source::point(beside)])?;

    let rate = |seconds: f64| pairs as f64 / seconds * 1e-6;
    let ours = rate(swept + built);
    let embree = match rest {
        [peer] => {
            let dump = std::env::temp_dir().join(format!("engine_speed.{}", std::process::id()));
            std::fs::write(&dump, dumped(&mesh, samples, &sources))?;
            let run = Command::new(peer).arg(&dump).arg(THREADS.to_string()).output();
            std::fs::remove_file(&dump)?;
            let said = String::from_utf8(run?.stdout)?;
            let numbers: Vec<f64> = said.split_whitespace().map(str::parse).collect::<Result<_, _>>()?;
            let [build, single, packets] = numbers[..] else { return Err("the peer said nothing".into()) };
            let best = rate(single.min(packets) + build);
            format!("{:.1} | {:.1} | **{:.2}**", rate(single + build), rate(packets + build), ours / best)
        }
        _ => "– | – | –".into(),
    };
    let name = std::path::Path::new(file).file_stem().map_or("model".into(), |s| s.to_string_lossy());
    println!(
        "| {name} | {:.2} | {:.2} | {:.1} | {ours:.1} | {embree} | {:.0} |",
        mesh.faces().len() as f64 * 1e-6,
        samples.len() as f64 * 1e-6,
        rate(traced + tree_built),
        point * 1e3 / (samples.len() as f64 * 1e-6),
    );
    Ok(())
}

/// A spiral over the upper half of the sphere.
fn direction(k: usize) -> Unit<Vector3<f64>> {
    let z = (k as f64 + 0.5) / DIRECTIONS as f64;
    let turn = k as f64 * std::f64::consts::PI * (3.0 - 5.0_f64.sqrt());
    let r = (1.0 - z * z).sqrt();
    Unit::new_normalize(Vector3::new(r * turn.cos(), r * turn.sin(), z))
}

/// What the peer reads.
fn dumped(mesh: &Mesh, samples: &Samples, sources: &[Source]) -> Vec<u8> {
    let mut out = Vec::new();
    for n in [mesh.positions().len(), mesh.faces().len(), samples.len(), sources.len()] {
        out.extend((n as u32).to_le_bytes());
    }
    out.extend(mesh.positions().iter().flat_map(|p| p.iter()).flat_map(|x| x.to_le_bytes()));
    out.extend(mesh.faces().iter().flatten().flat_map(|x| x.to_le_bytes()));
    out.extend(samples.origin.iter().flat_map(|p| p.iter()).flat_map(|x| x.to_le_bytes()));
    out.extend(samples.normal.iter().flat_map(|p| p.iter()).flat_map(|x| x.to_le_bytes()));
    out.extend((0..samples.len()).map(|i| u8::from(!samples.buried.get(i))));
    for s in sources {
        out.extend(s.toward(Point3::origin()).iter().flat_map(|x| x.to_le_bytes()));
    }
    out
}

/// Every triangle in four, as binary STL.
fn subdivided(mesh: &Mesh) -> Vec<u8> {
    let mut out = vec![0; 80];
    out.extend((mesh.faces().len() as u32 * 4).to_le_bytes());
    for face in mesh.faces() {
        let [a, b, c] = face.map(|v| mesh.positions()[v as usize].coords);
        let (ab, bc, ca) = ((a + b) * 0.5, (b + c) * 0.5, (c + a) * 0.5);
        for t in [[a, ab, ca], [ab, b, bc], [ca, bc, c], [ab, bc, ca]] {
            out.extend([0; 12]);
            out.extend(t.iter().flat_map(|p| p.iter()).flat_map(|x| x.to_le_bytes()));
            out.extend([0; 2]);
        }
    }
    out
}

//! Times the engines on one STL file, midpoint-subdivided to a size.
//!
//! `cargo run --release -p grisaille-sight --example engines -- FILE [TRIANGLES] [DIRECTIONS]`

use grisaille_base::Watch;
use grisaille_mesh::{ReadSettings, read};
use grisaille_sight::{
    Bits, FaceMask, Occluders, Sight, Source, SurfaceSettings, SweepSight, TreeSight, surface,
};
use nalgebra::{Unit, Vector3};
use std::sync::Arc;
use std::time::Instant;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut args = std::env::args().skip(1);
    let file = args.next().ok_or("which file?")?;
    let wanted: usize = args.next().map_or(Ok(0), |a| a.parse())?;
    let directions: usize = args.next().map_or(Ok(64), |a| a.parse())?;
    let watch = Watch::with_threads(2)?;
    let mut bytes = std::fs::read(&file)?;
    let mut mesh = read(&bytes, &ReadSettings::default(), &watch)?.0;
    while mesh.faces().len() * 2 < wanted {
        bytes = subdivided(&mesh);
        mesh = read(&bytes, &ReadSettings::default(), &watch)?.0;
    }
    println!("{} triangles in {} pieces", mesh.faces().len(), mesh.pieces().len());
    let occluders = Arc::new(Occluders::of(&mesh));
    let now = Instant::now();
    let tree = TreeSight::new(Arc::clone(&occluders), &watch);
    println!("tree built in {:.3} s", now.elapsed().as_secs_f64());
    let now = Instant::now();
    let sweep = SweepSight::new(Arc::clone(&occluders), &watch);
    let built = now.elapsed().as_secs_f64();
    println!("sweep built in {built:.3} s");
    let settings =
        SurfaceSettings { refine: false, crease_degrees: 180.0, ..SurfaceSettings::for_mesh(&mesh) };
    let (surface, _) = surface(&mesh, &settings, &tree, &watch)?;
    let samples = &surface.samples;
    println!("{} samples, {} buried", samples.len(), samples.buried.count());
    let sources: Vec<Source> = (0..directions)
        .map(|k| {
            let z: f64 = (k as f64 + 0.5) / directions as f64;
            let turn = k as f64 * 2.399_963_229_728_653;
            let r = (1.0 - z * z).sqrt();
            Source::Direction(Unit::new_normalize(Vector3::new(r * turn.cos(), r * turn.sin(), z)))
        })
        .collect();
    if let Ok(dump) = std::env::var("DUMP") {
        std::fs::write(dump, dumped(&mesh, samples, &sources))?;
    }
    let mut bits = Bits::new(samples.len());
    let pairs: usize =
        sources.iter().map(|s| (0..samples.len()).filter(|i| s.faces(samples, *i)).count()).sum();
    let now = Instant::now();
    let busy = cpu_seconds();
    for s in &sources {
        sweep.visible(samples, *s, &FaceMask::All, &mut bits, &watch)?;
    }
    let took = now.elapsed().as_secs_f64();
    println!(
        "sweep: {pairs} pairs in {took:.3} s: {:.1} M pairs/s; with its build {:.1}",
        pairs as f64 / took * 1e-6,
        pairs as f64 / (took + built) * 1e-6
    );
    println!("processor time per pair: {:.1} ns", (cpu_seconds() - busy) * 1e9 / pairs as f64);
    let b = mesh.bounds();
    let c = b.centre();
    let mut checked = vec![];
    checked.extend(sources.iter().step_by((directions / 4).max(1)).copied());
    for at in
        [[c[0], f64::from(b.low[1]) - 5.0, f64::from(b.high[2])], [c[0] + 0.3 * b.extents()[0], c[1], c[2]]]
    {
        checked.push(Source::Point { at: at.into(), clear: 0.0 });
        checked.push(Source::Point { at: at.into(), clear: 0.1 * b.extents()[2] });
    }
    if std::env::args().count() > 4 {
        return Ok(());
    }
    let mut other = Bits::new(samples.len());
    for s in &checked {
        let now = Instant::now();
        sweep.visible(samples, *s, &FaceMask::All, &mut bits, &watch)?;
        let one = now.elapsed().as_secs_f64();
        let now = Instant::now();
        tree.visible(samples, *s, &FaceMask::All, &mut other, &watch)?;
        let two = now.elapsed().as_secs_f64();
        let apart = (0..samples.len()).filter(|i| bits.get(*i) != other.get(*i)).count();
        println!(
            "{s:?}: {apart} apart, {} lit; sweep {:.1} ms, tree {:.1} ms",
            bits.count(),
            one * 1e3,
            two * 1e3
        );
    }
    Ok(())
}

/// What the Embree peer reads.
fn dumped(mesh: &grisaille_mesh::Mesh, samples: &grisaille_sight::Samples, sources: &[Source]) -> Vec<u8> {
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
        let l = s.toward([0.0; 3].into());
        out.extend(l.iter().flat_map(|x| x.to_le_bytes()));
    }
    out
}

/// Processor time of this process so far (Linux).
fn cpu_seconds() -> f64 {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let fields: Vec<&str> = stat.rsplit(')').next().unwrap_or("").split_whitespace().collect();
    [11, 12].iter().filter_map(|k| fields.get(*k)?.parse::<f64>().ok()).sum::<f64>() / 100.0
}

/// Every triangle in four, as binary STL.
fn subdivided(mesh: &grisaille_mesh::Mesh) -> Vec<u8> {
    let mut out = vec![0; 80];
    out.extend((mesh.faces().len() as u32 * 4).to_le_bytes());
    for face in mesh.faces() {
        let [a, b, c] = face.map(|v| mesh.positions()[v as usize].coords);
        let (ab, bc, ca) = ((a + b) * 0.5, (b + c) * 0.5, (c + a) * 0.5);
        for t in [[a, ab, ca], [ab, b, bc], [ca, bc, c], [ab, bc, ca]] {
            out.extend([0; 12]);
            for p in t {
                for x in p.iter() {
                    out.extend(x.to_le_bytes());
                }
            }
            out.extend([0; 2]);
        }
    }
    out
}

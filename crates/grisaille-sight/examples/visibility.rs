//! Dumps what each sample of a model sees, for a check by another ray engine:
//! `visibility <model.stl> <output> <height in mm, 0 for as it is> [up axis: z or y]`.
//!
//! The sources are 24 directions spread evenly over the whole sphere and one
//! point light before the model. `tests/oracles/rays.py` reads the file:
//!
//! ```text
//! 8 bytes   "grisight"
//! 4 × u32   samples S, mesh vertices V, mesh faces F, directions D
//! S × 3 f32 positions of the samples, mm
//! S × 3 f32 normals
//! S × 3 f32 origins of the rays: positions moved off the surface
//! S × u8    1 where buried
//! V × 3 f32 vertices of the mesh, F × 3 u32 its faces: what blocks
//! D × 3 f64 directions toward the light, 3 f64 the point light
//! (D + 1) × ⌈S / 64⌉ u64  what is seen, one bit for each sample
//! ```
//!
//! All little endian.

use grisaille_base::Watch;
use grisaille_mesh::{ReadSettings, UpAxis, read};
use grisaille_sight::{
    Bits, FaceMask, Occluders, Sight, Source, SurfaceSettings, SweepSight, TreeSight, surface,
};
use nalgebra::{Point3, Unit, Vector3};
use std::error::Error;
use std::process::ExitCode;
use std::sync::Arc;

const DIRECTIONS: u32 = 24;

fn main() -> ExitCode {
    let args: Vec<String> = std::env::args().skip(1).collect();
    match dump(&args) {
        Ok(()) => ExitCode::SUCCESS,
        Err(why) => {
            eprintln!("{why}");
            ExitCode::FAILURE
        }
    }
}

fn dump(args: &[String]) -> Result<(), Box<dyn Error>> {
    let [model, output, height, rest @ ..] = args else {
        return Err("give a model, an output file and a height in mm (0: as it is)".into());
    };
    let height: f64 = height.parse()?;
    let settings = ReadSettings {
        up: if rest.first().is_some_and(|a| a == "y") { UpAxis::Y } else { UpAxis::Z },
        height: (height > 0.0).then_some(height),
        ..ReadSettings::default()
    };
    let watch = Watch::quiet();
    let (mesh, _) = read(&std::fs::read(model)?, &settings, &watch)?;
    let occluders = Arc::new(Occluders::of(&mesh));
    let tree = TreeSight::new(Arc::clone(&occluders), &watch);
    let (surface, _) = surface(&mesh, &SurfaceSettings::for_mesh(&mesh), &tree, &watch)?;
    let sight = SweepSight::new(occluders, &watch);
    let samples = &surface.samples;

    let directions: Vec<Unit<Vector3<f64>>> = (0..DIRECTIONS).map(direction).collect();
    let [width, depth, height] = mesh.bounds().extents();
    let middle = mesh.bounds().centre();
    // To the right of the front, a little above the middle, clear of the model.
    let lamp = Point3::new(
        middle[0] + 0.4 * width,
        middle[1] - 0.7 * depth - 0.1 * height,
        middle[2] + 0.2 * height,
    );
    let sources = directions
        .iter()
        .map(|d| Source::Direction(*d))
        .chain(std::iter::once(Source::Point { at: lamp, clear: 0.0 }));

    let mut out = b"grisight".to_vec();
    for n in [samples.len(), mesh.positions().len(), mesh.faces().len(), directions.len()] {
        out.extend(u32::try_from(n)?.to_le_bytes());
    }
    let points = samples.position.iter().map(|p| p.coords);
    let origins = samples.origin.iter().map(|p| p.coords);
    for v in points.chain(samples.normal.iter().copied()).chain(origins) {
        out.extend(v.iter().flat_map(|x| x.to_le_bytes()));
    }
    out.extend((0..samples.len()).map(|i| u8::from(samples.buried.get(i))));
    out.extend(mesh.positions().iter().flat_map(|p| p.coords.data.0[0]).flat_map(f32::to_le_bytes));
    out.extend(mesh.faces().iter().flatten().flat_map(|v| v.to_le_bytes()));
    for v in directions.iter().map(|d| d.into_inner()).chain(std::iter::once(lamp.coords)) {
        out.extend(v.iter().flat_map(|x| x.to_le_bytes()));
    }
    let mut bits = Bits::new(samples.len());
    for source in sources {
        sight.visible(samples, source, &FaceMask::All, &mut bits, &watch)?;
        out.extend(bits.words().iter().flat_map(|w| w.to_le_bytes()));
    }
    std::fs::write(output, out)?;
    Ok(())
}

/// Even over the sphere: equal steps of height, each turned on by the golden angle.
fn direction(k: u32) -> Unit<Vector3<f64>> {
    let z = 1.0 - (2.0 * f64::from(k) + 1.0) / f64::from(DIRECTIONS);
    let turn = f64::from(k) * std::f64::consts::PI * (3.0 - 5.0_f64.sqrt());
    let level = (1.0 - z * z).sqrt();
    Unit::new_normalize(Vector3::new(level * turn.cos(), level * turn.sin(), z))
}

//! Dumps what each sample of a model sees, for a check by another ray engine:
//! `visibility <model.stl> <output> <height in mm, 0 for as it is> <up axis: z or y> <directions>`.
//!
//! The sources are directions spread evenly over the whole sphere and four
//! point lights: before the model, within its bounds, in its narrowest gap,
//! and far away. `tests/oracles/rays.py` reads the file:
//!
//! ```text
//! 8 bytes   "grisight"
//! 5 × u32   samples S, mesh vertices V, mesh faces F, directions D, points P
//! S × 3 f32 positions of the samples, mm
//! S × 3 f32 normals
//! S × 3 f32 origins of the rays: positions moved off the surface
//! S × u8    1 where buried
//! V × 3 f32 vertices of the mesh, F × 3 u32 its faces: what blocks
//! F × u8    1 where the face belongs to a closed piece
//! D × 3 f64 directions toward the light, P × 3 f64 the point lights
//! (D + P) × ⌈S / 64⌉ u64  what is seen, one bit for each sample
//! ```
//!
//! All little endian.

use grisaille_base::{PieceId, Watch};
use grisaille_mesh::{Mesh, ReadSettings, UpAxis, read};
use grisaille_sight::{
    Bits, FaceMask, Occluders, Samples, Sight, Source, SurfaceSettings, SweepSight, TreeSight, surface,
};
use nalgebra::{Point3, Unit, Vector3};
use std::error::Error;
use std::process::ExitCode;
use std::sync::Arc;

/// Places that are asked how hemmed in they are.
const PLACES: usize = 256;

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
    let [model, output, height, up, count] = args else {
        return Err(
            "give a model, an output file, a height in mm (0: as it is), z or y, and how many directions"
                .into(),
        );
    };
    let height: f64 = height.parse()?;
    let count: u32 = count.parse()?;
    let settings = ReadSettings {
        up: if up == "y" { UpAxis::Y } else { UpAxis::Z },
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

    let directions: Vec<Unit<Vector3<f64>>> = (0..count).map(|k| direction(k, count)).collect();
    let lamps = lamps(&mesh, samples, &sight, &watch)?;
    let sources =
        directions.iter().map(|d| Source::Direction(*d)).chain(lamps.iter().map(|at| Source::point(*at)));

    let mut out = b"grisight".to_vec();
    for n in [samples.len(), mesh.positions().len(), mesh.faces().len(), directions.len(), lamps.len()] {
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
    let closed = |piece: &PieceId| u8::from(mesh.pieces()[piece.index()].closed);
    out.extend(mesh.piece_of_face().iter().map(closed));
    for v in directions.iter().map(|d| d.into_inner()).chain(lamps.iter().map(|at| at.coords)) {
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

/// Before the model, to the right and a little above the middle; within its
/// bounds, near their upper front right corner; between its parts, a hair off
/// its surface where most of the surroundings are hidden; far away.
fn lamps(
    mesh: &Mesh,
    samples: &Samples,
    sight: &dyn Sight,
    watch: &Watch,
) -> Result<[Point3<f64>; 4], Box<dyn Error>> {
    let [width, depth, height] = mesh.bounds().extents();
    let size = mesh.bounds().diagonal();
    let middle = Point3::from(mesh.bounds().centre());
    let open: Vec<usize> = (0..samples.len()).filter(|i| !samples.buried.get(*i)).collect();
    let places: Vec<Point3<f32>> = open
        .iter()
        .step_by((open.len() / PLACES).max(1))
        .map(|&i| samples.position[i] + samples.normal[i] * (0.015 * size) as f32)
        .collect();
    let mut hidden = vec![0; places.len()];
    let mut bits = Bits::new(places.len());
    for k in 0..24 {
        let toward = direction(k, 24);
        let normals = vec![toward.into_inner().cast(); places.len()];
        let asked = Samples::new(places.clone(), normals, places.clone(), 0.0);
        sight.visible(&asked, Source::Direction(toward), &FaceMask::All, &mut bits, watch)?;
        for (i, hidden) in hidden.iter_mut().enumerate() {
            *hidden += usize::from(!bits.get(i));
        }
    }
    let gap = (0..places.len()).max_by_key(|i| hidden[*i]).ok_or("the model has no open surface")?;
    let from_middle = |x, y, z| middle + Vector3::new(x, y, z);
    Ok([
        from_middle(0.4 * width, -0.7 * depth - 0.1 * height, 0.2 * height),
        from_middle(0.45 * width, -0.45 * depth, 0.45 * height),
        places[gap].cast(),
        from_middle(12.0 * size, -9.0 * size, 20.0 * size),
    ])
}

/// Even over the sphere: equal steps of height, each turned on by the golden angle.
fn direction(k: u32, count: u32) -> Unit<Vector3<f64>> {
    let z = 1.0 - (2.0 * f64::from(k) + 1.0) / f64::from(count);
    let turn = f64::from(k) * std::f64::consts::PI * (3.0 - 5.0_f64.sqrt());
    let level = (1.0 - z * z).sqrt();
    Unit::new_normalize(Vector3::new(level * turn.cos(), level * turn.sin(), z))
}

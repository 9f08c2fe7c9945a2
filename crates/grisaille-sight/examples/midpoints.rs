//! Cuts every triangle of models in four at the middles of its edges, which
//! changes no shape, and counts the answers that change with it:
//! `midpoints FILE.stl ...`.
//!
//! Asked are the old vertices, toward directions over the whole sphere and one
//! lamp. A pair of sample and source is counted where the sample is open and
//! turned to the light. Middles are rounded to `f32`, as in a file, so a ray
//! that passes an edge within a rounding may change sides. Ends with failure
//! when that happens to more than one pair in a million, of one model or in all.

use grisaille_base::Watch;
use grisaille_bodies::{Triangle, halved, stl};
use grisaille_mesh::{ReadSettings, read};
use grisaille_sight::{
    Bits, FaceMask, Occluders, Sight, Source, SurfaceSettings, SweepSight, TreeSight, surface,
};
use nalgebra::{Point3, Unit, Vector3};
use std::error::Error;
use std::sync::Arc;

/// So many pairs are asked of a small model, if that takes no more directions.
const PAIRS: usize = 1_000_000;
const DIRECTIONS: std::ops::RangeInclusive<usize> = 64..=4096;

fn main() -> Result<(), Box<dyn Error>> {
    let (mut pairs, mut flips) = (0, 0);
    println!("| model | triangles before | samples | pairs | flipped |");
    println!("| --- | ---: | ---: | ---: | ---: |");
    for file in std::env::args().skip(1) {
        let name = std::path::Path::new(&file).file_stem().map_or("model".into(), |s| s.to_string_lossy());
        let (p, f) = compare(&std::fs::read(&file)?, &name)?;
        if f * 1_000_000 > p.max(1_000_000) {
            return Err(format!("{file}: {f} of {p} answers changed").into());
        }
        pairs += p;
        flips += f;
    }
    println!("| *all* | | | {pairs} | {flips} |");
    if pairs == 0 || flips * 1_000_000 > pairs {
        return Err(format!("{flips} of {pairs} answers changed").into());
    }
    Ok(())
}

/// Pairs that were asked, and those that changed.
fn compare(file: &[u8], name: &str) -> Result<(usize, usize), Box<dyn Error>> {
    let watch = Watch::quiet();
    let (mesh, _) = read(file, &ReadSettings::default(), &watch)?;
    let corner = |v: u32| mesh.positions()[v as usize].coords.cast::<f64>().into();
    let soup: Vec<Triangle> = mesh.faces().iter().map(|f| f.map(corner)).collect();
    let (finer, _) = read(&stl(&halved(&soup)), &ReadSettings::default(), &watch)?;
    let occluders = Arc::new(Occluders::of(&mesh));
    let tree = TreeSight::new(Arc::clone(&occluders), &watch);
    let settings =
        SurfaceSettings { refine: false, crease_degrees: 180.0, ..SurfaceSettings::for_mesh(&mesh) };
    let (surface, _) = surface(&mesh, &settings, &tree, &watch)?;
    let samples = &surface.samples;
    let (before, after) =
        (SweepSight::new(occluders, &watch), SweepSight::new(Arc::new(Occluders::of(&finer)), &watch));
    let count = (2 * PAIRS / samples.len().max(1)).clamp(*DIRECTIONS.start(), *DIRECTIONS.end());
    let lamp = Point3::from(mesh.bounds().centre()) + Vector3::new(0.4, -0.7, 0.2) * mesh.bounds().diagonal();
    let sources = (0..count).map(|k| Source::Direction(direction(k, count))).chain([Source::point(lamp)]);
    let (mut one, mut two) = (Bits::new(samples.len()), Bits::new(samples.len()));
    let (mut pairs, mut flips) = (0, 0);
    for source in sources {
        before.visible(samples, source, &FaceMask::All, &mut one, &watch)?;
        after.visible(samples, source, &FaceMask::All, &mut two, &watch)?;
        pairs += (0..samples.len()).filter(|i| source.faces(samples, *i)).count();
        flips +=
            one.words().iter().zip(two.words()).map(|(a, b)| (a ^ b).count_ones() as usize).sum::<usize>();
    }
    println!("| {name} | {} | {} | {pairs} | {flips} |", mesh.faces().len(), samples.len());
    Ok((pairs, flips))
}

/// Even over the sphere: equal steps of height, each turned on by the golden angle.
fn direction(k: usize, count: usize) -> Unit<Vector3<f64>> {
    let z = 1.0 - (2.0 * k as f64 + 1.0) / count as f64;
    let turn = k as f64 * std::f64::consts::PI * (3.0 - 5.0_f64.sqrt());
    let level = (1.0 - z * z).sqrt();
    Unit::new_normalize(Vector3::new(level * turn.cos(), level * turn.sin(), z))
}

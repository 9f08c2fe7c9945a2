//! Prints what each step takes on a model: `form_speed MODEL.stl [RADIUS_MM] [SPACING_MM]`.

use grisaille_base::{Millimetres, Watch};
use grisaille_form::{Shape, curvature};
use grisaille_mesh::{ReadSettings, read};
use grisaille_sight::{Occluders, SurfaceSettings, TreeSight, surface};
use std::sync::Arc;
use std::time::Instant;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut args = std::env::args().skip(1);
    let path = args.next().ok_or("a model, please")?;
    let radius = args.next().map(|r| r.parse::<f64>()).transpose()?;
    let spacing = args.next().map(|r| r.parse::<f64>()).transpose()?;
    let watch = Watch::with_threads(2)?;
    let (mesh, _) = read(&std::fs::read(path)?, &ReadSettings::default(), &watch)?;
    let sight = TreeSight::new(Arc::new(Occluders::of(&mesh)), &watch);
    let mut settings = SurfaceSettings::for_mesh(&mesh);
    if let Some(spacing) = spacing {
        settings.spacing = Millimetres(spacing);
    }
    let (surface, _) = surface(&mesh, &settings, &sight, &watch)?;
    let begun = Instant::now();
    let shape = Shape::of(&surface);
    println!("shape: {:.2} s, {} faces", begun.elapsed().as_secs_f64(), shape.faces().len());
    let radius = radius.unwrap_or(3.0 * settings.spacing.0);
    let begun = Instant::now();
    let curved = curvature(&shape, Millimetres(radius), &watch)?;
    println!("curvature at {radius} mm: {:.2} s", begun.elapsed().as_secs_f64());
    let mut most = curved.most;
    most.sort_by(f32::total_cmp);
    println!("median {:.3} per mm", most[most.len() / 2]);
    Ok(())
}

//! Prints what each step takes on a model: `form_speed MODEL.stl [BRUSH_MM] [SPACING_MM]`.

use grisaille_base::{Millimetres, Watch};
use grisaille_form::{Curvature, Line, LineSettings, Shape, curvature, edges, recesses};
use grisaille_mesh::{ReadSettings, read};
use grisaille_sight::{Occluders, SurfaceSettings, TreeSight, surface};
use std::sync::Arc;
use std::time::Instant;

type Find = fn(&Shape, &Curvature, &LineSettings, &Watch) -> Result<Vec<Line>, grisaille_base::Stop>;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut args = std::env::args().skip(1);
    let path = args.next().ok_or("a model, please")?;
    let brush = args.next().map(|r| r.parse::<f64>()).transpose()?;
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
    let lines = LineSettings::for_brush(Millimetres(brush.unwrap_or(1.5 * settings.spacing.0)));
    let radius = lines.radius();
    let begun = Instant::now();
    let curved = curvature(&shape, radius, &watch)?;
    let rounds: u64 = watch.records().iter().filter_map(|(_, record)| record.counts.get("rounds")).sum();
    println!("curvature at {radius}: {:.2} s, {rounds} rounds", begun.elapsed().as_secs_f64());
    for (name, find) in [("recesses", recesses as Find), ("edges", edges)] {
        let begun = Instant::now();
        let found = find(&shape, &curved, &lines, &watch)?;
        println!("{name}: {:.2} s, {} lines", begun.elapsed().as_secs_f64(), found.len());
    }
    let mut most = curved.most;
    most.sort_by(f32::total_cmp);
    println!("median {:.3} per mm", most[most.len() / 2]);
    Ok(())
}

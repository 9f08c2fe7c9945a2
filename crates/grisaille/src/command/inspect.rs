//! `inspect`: what is in a model file.

use crate::args::Inspect;
use crate::failure::Failure;
use crate::files::print;
use crate::job::Run;
use crate::scene::Scene;
use grisaille_base::{Finding, Place};
use grisaille_mesh::{Mesh, Parts, parts};
use serde_json::json;
use std::fmt::Write;

pub(crate) fn inspect(args: &Inspect) -> Result<(), Failure> {
    let scene = Scene::of(&args.model)?;
    let run = Run::start(&args.run, &scene.inputs(), &[])?;
    let (mesh, findings) = scene.load(&run.watch)?;
    let parts = parts(&mesh);
    let name = scene.model_names();
    let text = if args.json {
        in_json(&name, &mesh, &parts, &findings)?
    } else {
        in_words(&name, &mesh, &parts, &findings)
    };
    print(&text)?;
    run.finish()
}

fn in_json(name: &str, mesh: &Mesh, parts: &Parts, findings: &[Finding]) -> Result<String, Failure> {
    let counts = mesh.counts();
    let value = json!({
        "file": name,
        "triangles": counts.triangles,
        "vertices": counts.vertices,
        "pieces": mesh.pieces().len(),
        "closed_pieces": mesh.pieces().iter().filter(|p| p.closed).count(),
        "boundary_edges": counts.boundary_edges,
        "non_manifold_edges": counts.non_manifold_edges,
        "inconsistent_edges": counts.inconsistent_edges,
        "zero_area_faces": counts.zero_area_faces,
        "extents_mm": mesh.bounds().extents(),
        "bounds_mm": mesh.bounds(),
        "volume_mm3": mesh.volume_mm3(),
        "area_mm2": mesh.area_mm2(),
        "base_top_mm": parts.base_top_mm,
        "findings": findings,
    });
    serde_json::to_string_pretty(&value).map(|t| t + "\n").map_err(|e| Failure::Other(e.to_string()))
}

fn in_words(name: &str, mesh: &Mesh, parts: &Parts, findings: &[Finding]) -> String {
    let [width, depth, height] = mesh.bounds().extents();
    let counts = mesh.counts();
    let pieces = mesh.pieces();
    let open = pieces.iter().filter(|p| !p.closed).count();
    let mut text = String::new();
    // Writing to a string cannot fail.
    let mut line = |label: &str, value: String| {
        let _ = writeln!(text, "{label:<11}{value}");
    };
    line("Model", name.to_owned());
    line("Size", format!("{width:.1} × {depth:.1} × {height:.1} mm, {height:.1} mm tall"));
    line("Triangles", format!("{} on {} points", counts.triangles, counts.vertices));
    line(
        "Pieces",
        match (pieces.len(), open) {
            (1, 0) => "1, closed".into(),
            (1, _) => "1, with open edges".into(),
            (n, 0) => format!("{n}, all closed"),
            (n, open) => format!("{n}, of which {open} with open edges"),
        },
    );
    line("Surface", format!("{:.0} mm²", mesh.area_mm2()));
    line("Volume", format!("{:.0} mm³", mesh.volume_mm3()));
    line(
        "Base",
        match parts.base_top_mm {
            Some(top) => format!("recognised, {top:.1} mm high"),
            None => "none recognised".into(),
        },
    );
    line("Findings", if findings.is_empty() { "none".into() } else { findings.len().to_string() });
    for f in findings {
        let place = match f.place {
            Some(Place::Point([x, y, z])) => format!(" (first at {x:.1}, {y:.1}, {z:.1} mm)"),
            Some(Place::Line(n)) => format!(" (first at line {n})"),
            Some(Place::Byte(n)) => format!(" (at byte {n})"),
            None => String::new(),
        };
        let _ = writeln!(text, "  {} × {}: {}{place}", f.count, f.code.as_str(), f.hint);
    }
    text
}

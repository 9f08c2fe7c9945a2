//! `reach`: what a brush cannot come to, and what to paint before gluing.

use crate::args::Reach as Args;
use crate::failure::Failure;
use crate::files::{json_text, print};
use crate::job::Run;
use crate::scene::Scene;
use grisaille_base::Watch;
use grisaille_form::{BrushShape, FLOWS_IN, Reach, RegionReach, reach, reach_by_region};
use grisaille_guide::percent;
use grisaille_mesh::{Mesh, Part};
use grisaille_picture::region_number;
use grisaille_plan::{AssembledFile, Ground, Loaded, Products, assembly, ground, regions_of, side_in_words};
use grisaille_words::Words;
use nalgebra::Vector3;
use serde_json::{Value, json};
use std::fmt::Write;
use std::sync::Arc;

pub(crate) fn tell(args: &Args) -> Result<(), Failure> {
    let scene = Scene::of(&args.model)?;
    let run = Run::start(&args.run, &scene.inputs(), &[])?;
    let (mut models, findings) = scene.load_apart(&run.watch)?;
    let Loaded { mesh, .. } = scene.assemble(&mut models, findings, &run.watch)?;
    let ground = ground(&scene.document.scheme, &mut Products::new(Arc::new(mesh)), &run.watch)?;
    let brush = BrushShape::detail();
    let together = reach(&ground.mesh, &ground.surface, &brush, FLOWS_IN, &run.watch)?;
    let rows = [Part::Figure, Part::Base].map(|part| (part, share(&ground, &together, part)));
    let (_, regions) = regions_of(&scene.document.scheme.regions, &ground.surface, &ground.mesh, &run.watch)?;
    let by_region = reach_by_region(&ground.surface, &regions.of_face, &together);
    let glued = glued((&scene, &models), &ground, &together, &brush, &run.watch)?;
    let by_region: Vec<Row> = by_region
        .into_iter()
        .map(|row| (regions.regions.get(row.region.index()).map_or("", |r| r.name.as_str()), row))
        .collect();
    let text = match args.json {
        true => in_json(&rows, &by_region, &glued)?,
        false => in_words(&rows, &by_region, &glued),
    };
    print(&text)?;
    run.finish()
}

/// A region is told of from so large a share out of reach.
const POOR: f64 = 0.05;

/// A region's name, and what of it is reached.
type Row<'a> = (&'a str, RegionReach);

/// The painted area of a part in mm², and its share, 0 to 1, that the brush
/// reaches from no side.
fn share(ground: &Ground, reach: &Reach, part: Part) -> (f64, f64) {
    let (mut out, mut all) = (0.0, 0.0);
    for (s, area) in ground.area.iter().enumerate().filter(|(s, _)| ground.part_of_sample[*s] == part) {
        all += f64::from(*area);
        out += if reach.reaches(s) { 0.0 } else { f64::from(*area) };
    }
    (all, if all > 0.0 { out / all } else { 0.0 })
}

/// What becomes of each file when all are assembled; nothing of one alone.
fn glued(
    (scene, models): (&Scene, &[Mesh]),
    ground: &Ground,
    together: &Reach,
    brush: &BrushShape,
    watch: &Watch,
) -> Result<Vec<AssembledFile>, Failure> {
    if models.is_empty() {
        return Ok(Vec::new());
    }
    let whole = (&*ground.mesh, &*ground.surface, &*ground.tree);
    Ok(assembly(whole, together, (&scene.each_name(), models), brush, watch)?.files)
}

/// A side that the brush comes from, in words.
fn from_words(side: &Vector3<f64>) -> String {
    let height = side.z.clamp(-1.0, 1.0).asin().to_degrees();
    if height > 70.0 {
        return "from straight above".into();
    }
    // Front is −Y, and the angle goes round toward the viewer's right.
    let round = side_in_words(side.x.atan2(-side.y).to_degrees(), Words::english());
    match (height / 10.0).round() as i32 {
        0 => format!("level, {round}"),
        tens if tens > 0 => format!("{round}, {}° above level", 10 * tens),
        tens => format!("{round}, {}° below level", -10 * tens),
    }
}

fn in_words(parts: &[(Part, (f64, f64))], by_region: &[Row], glued: &[AssembledFile]) -> String {
    let mut text = String::new();
    // Writing to a string cannot fail.
    let mut line = |label: &str, words: String| _ = writeln!(text, "{label:<15}{words}");
    for (part, (area, share)) in parts.iter().filter(|(_, (area, _))| *area > 0.0) {
        let label = if *part == Part::Base { "Base" } else { "Figure" };
        let words = "of its surface are out of reach of a pointed brush, whatever side it comes from";
        line(label, format!("{} {words} ({:.0} mm²)", percent(*share), share * area));
    }
    let mut label = "Regions";
    let poor = |r: &RegionReach| r.out_of_reach_mm2 >= FLOWS_IN.max(POOR * r.area_mm2);
    let mut poor: Vec<&Row> = by_region.iter().filter(|(_, r)| poor(r)).collect();
    poor.sort_by(|a, b| b.1.out_of_reach_mm2.total_cmp(&a.1.out_of_reach_mm2));
    for (name, row) in poor {
        let [x, y, z] = row.place.unwrap_or_default().into();
        let side = row.best_side.map_or_else(String::new, |s| format!("; the rest best {}", from_words(&s)));
        let share = percent(row.out_of_reach_mm2 / row.area_mm2.max(f64::MIN_POSITIVE));
        line(
            std::mem::take(&mut label),
            format!(
                "{name}: {share} out of reach ({:.0} mm²) round {x:.1}, {y:.1}, {z:.1} mm{side}",
                row.out_of_reach_mm2
            ),
        );
    }
    if glued.is_empty() {
        return text;
    }
    let mut first = "Before gluing";
    for file in glued {
        let AssembledFile { name, assembled: row } = file;
        if let (Some([x, y, z]), true) = (row.place, file.closes_up()) {
            let share = percent(row.closes_mm2 / row.open_mm2.max(f64::MIN_POSITIVE));
            let words = format!(
                "{name}: paint {:.0} mm² ({share}) that close up, most of it round {x:.1}, {y:.1}, {z:.1} mm",
                row.closes_mm2
            );
            line(std::mem::take(&mut first), words);
        }
    }
    if !first.is_empty() {
        line(std::mem::take(&mut first), "nothing closes up: glue first, if you like".into());
    }
    let mut first = "Keep bare";
    for AssembledFile { name, assembled: row } in glued.iter().filter(|f| f.is_glued()) {
        line(
            std::mem::take(&mut first),
            format!("{name}: {:.0} mm² of joint, so that glue holds", row.joint_mm2),
        );
    }
    let _ = writeln!(
        text,
        "\nGlue gives off vapour and bonds skin: work in fresh air, as the product's safety data sheet says."
    );
    text
}

fn in_json(
    parts: &[(Part, (f64, f64))],
    by_region: &[Row],
    glued: &[AssembledFile],
) -> Result<String, Failure> {
    let parts: Vec<Value> = parts
        .iter()
        .filter(|(_, (area, _))| *area > 0.0)
        .map(|(part, (area, share))| json!({ "part": part, "area_mm2": area, "out_of_reach_share": share }))
        .collect();
    let glued: Vec<Value> = glued
        .iter()
        .map(|AssembledFile { name, assembled: row }| {
            json!({
                "file": name,
                "open_mm2": row.open_mm2,
                "closes_mm2": row.closes_mm2,
                "closes_at": row.place,
                "never_mm2": row.never_mm2,
                "joint_mm2": row.joint_mm2,
            })
        })
        .collect();
    let regions: Vec<Value> = by_region
        .iter()
        .map(|(name, row)| {
            json!({
                "id": region_number(row.region),
                "name": name,
                "area_mm2": row.area_mm2,
                "out_of_reach_mm2": row.out_of_reach_mm2,
                "place_mm": row.place.map(|p| [p.x, p.y, p.z]),
                "best_side": row.best_side.map(|s| [s.x, s.y, s.z]),
            })
        })
        .collect();
    let value = json!({ "parts": parts, "regions": regions, "before_gluing": glued });
    json_text(&value)
}

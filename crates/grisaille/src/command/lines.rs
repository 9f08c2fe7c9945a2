//! `lines`: recesses to line, edges to catch, spots to touch and deep areas for a wash.

use crate::args::Lines as Args;
use crate::command::lines_picture::draw;
use crate::command::map::regions_of;
use crate::command::view::open;
use crate::failure::Failure;
use crate::files::{json_text, print};
use crate::job::{Planned, Run, plan_scene};
use crate::scene::Scene;
use grisaille_base::{Millimetres, RegionId};
use grisaille_form::{Hollow, Line, Regions, Spot, parted};
use grisaille_picture::region_number;
use grisaille_plan::{Lining, line_width, lining};
use serde_json::{Value, json};
use std::fmt::Write;

pub(crate) fn lines(args: &Args) -> Result<(), Failure> {
    if args.width.is_some_and(|w| !(w > 0.0 && w.is_finite())) {
        return Err(Failure::Usage("--width: use a number of mm above 0".into()));
    }
    let scene = Scene::of(&args.model)?;
    let inputs = scene.inputs();
    let run = Run::start(&args.run, &inputs, args.picture.as_slice())?;
    let picture = args.picture.as_deref().map(|path| open(path, &inputs)).transpose()?;
    let name = scene.model_names();
    let planned = plan_scene(scene, &run.watch)?;
    let width = args.width.map_or_else(|| line_width(&planned.scheme, &planned.plan), Millimetres);
    let found = lining(&planned.plan, width, &run.watch)?;
    let regions = regions_of(&planned, &run.watch)?;
    if let Some(output) = picture {
        let (sheet, fineness) =
            draw(&planned.scheme.title, &planned.plan, &found, f64::from(args.pixels), &run.watch)?;
        output.keep(|mut out| sheet.write_png(&mut out, fineness))?;
    }
    let text = if args.json {
        let value = in_json(&name, &planned, &found, &regions);
        json_text(&value)?
    } else {
        in_words(&name, &found, &regions)
    };
    print(&text)?;
    run.finish()
}

fn in_json(name: &str, planned: &Planned, found: &Lining, regions: &Regions) -> Value {
    json!({
        "file": name,
        "width_mm": found.width,
        "recesses": rows(&found.recesses, planned, regions),
        "edges": rows(&found.edges, planned, regions),
        "spots": spot_rows(&found.spots),
        "grain": found.grain,
        "hollow_reach_mm": found.hollow_reach.0,
        "hollows": hollow_rows(&found.hollows, regions),
    })
}

fn rows(lines: &[Line], planned: &Planned, regions: &Regions) -> Vec<Value> {
    let surface = &planned.plan.surface;
    let row = |(i, l): (usize, &Line)| {
        json!({
            "rank": i + 1,
            "length_mm": l.length,
            "width_mm": l.width,
            "depth_mm": l.depth,
            "bounded": l.bounded,
            "turn_degrees": l.turn,
            "radius_mm": l.radius,
            "closed": l.closed,
            "piece": l.faces.first().map(|f| surface.piece[*f as usize].0 + 1),
            "parts": parted(l, &regions.of_face).map(|pair| pair.map(region_number)),
            "points_mm": l.points.iter().map(|p| [p.x, p.y, p.z]).collect::<Vec<_>>(),
        })
    };
    lines.iter().enumerate().map(row).collect()
}

fn spot_rows(spots: &[Spot]) -> Vec<Value> {
    let row = |(i, s): (usize, &Spot)| json!({ "rank": i + 1, "point_mm": [s.point.x, s.point.y, s.point.z], "curvature_per_mm": s.strength });
    spots.iter().enumerate().map(row).collect()
}

fn hollow_rows(hollows: &[Hollow], regions: &Regions) -> Vec<Value> {
    let row = |(i, h): (usize, &Hollow)| {
        json!({
            "rank": i + 1,
            "area_mm2": h.area_mm2,
            "openness": h.openness,
            "place_mm": [h.place.x, h.place.y, h.place.z],
            "regions": regions_in(h, regions).into_iter().map(region_number).collect::<Vec<u32>>(),
        })
    };
    hollows.iter().enumerate().map(row).collect()
}

/// The regions that a deep area reaches into.
fn regions_in(hollow: &Hollow, regions: &Regions) -> Vec<RegionId> {
    let mut own: Vec<RegionId> =
        hollow.faces.iter().filter_map(|f| regions.of_face.get(*f as usize).copied()).collect();
    own.sort_unstable();
    own.dedup();
    own
}

fn in_words(name: &str, found: &Lining, regions: &Regions) -> String {
    let mut text = String::new();
    // Writing to a string cannot fail.
    let _ = writeln!(text, "{:<11}{name}", "Model");
    for (label, lines, deep) in [("Recesses", &found.recesses, "deep"), ("Edges", &found.edges, "high")] {
        let all: f64 = lines.iter().map(|l| l.length).sum();
        // Plus zero: none add up to −0.
        let _ = writeln!(
            text,
            "{label:<11}{}, {:.0} mm in all, for a line of {:.2} mm",
            lines.len(),
            all + 0.0,
            found.width
        );
        for (i, l) in lines.iter().take(10).enumerate() {
            let p = l.points[l.points.len() / 2];
            let across = match l.bounded {
                true => format!("{:.2} mm wide, {:.2} {deep}", l.width, l.depth),
                false => format!("a corner of {:.0}°", 180.0 - l.turn),
            };
            let parts = parted(l, &regions.of_face)
                .map(|pair| pair.map(|r| regions.regions.get(r.index()).map_or("", |r| r.name.as_str())))
                .map_or(String::new(), |[a, b]| format!(", between {a} and {b}"));
            let _ = writeln!(
                text,
                "  {:>3}  {:>6.1} mm long, {across}, at {:.1}, {:.1}, {:.1}{parts}",
                i + 1,
                l.length,
                p.x,
                p.y,
                p.z
            );
        }
    }
    if found.grain > 0 {
        let _ = writeln!(
            text,
            "{:<11}{} lines left out: steps of layers, or scars of supports",
            "Grain", found.grain
        );
    }
    let places: Vec<String> =
        found.spots.iter().map(|s| format!("{:.1}, {:.1}, {:.1}", s.point.x, s.point.y, s.point.z)).collect();
    let _ = writeln!(
        text,
        "{:<11}{}",
        "Spots",
        if places.is_empty() { "none".into() } else { places.join("; ") }
    );
    let all: f64 = found.hollows.iter().map(|h| h.area_mm2).sum();
    if found.hollows.is_empty() {
        let _ = writeln!(text, "{:<11}none, within {:.1} mm", "Deep areas", found.hollow_reach.0);
        return text;
    }
    let _ = writeln!(
        text,
        "{:<11}{}, {all:.0} mm² in all, shut in within {:.1} mm: for a wash",
        "Deep areas",
        found.hollows.len(),
        found.hollow_reach.0
    );
    for (i, h) in found.hollows.iter().take(5).enumerate() {
        let p = h.place;
        let _ =
            writeln!(text, "  {:>3}  {:>6.1} mm², at {:.1}, {:.1}, {:.1}", i + 1, h.area_mm2, p.x, p.y, p.z);
    }
    text
}

//! `inspect`: what is in a model file, and what light does on it.

use crate::args::{Inspect, PlanArgs};
use crate::command::inspect_picture::{Shown, draw};
use crate::command::map::{Wanted, completed};
use crate::command::view::open;
use crate::failure::Failure;
use crate::files::{Output, json_text, print};
use crate::job::{Planned, Run, plan_model};
use crate::scene::Scene;
use grisaille_base::{Code, Finding, Place, Watch};
use grisaille_export::summary;
use grisaille_guide::percent;
use grisaille_mesh::{Mark, Mesh, Supports, Upright, face_cross, parts, supports, upright};
use grisaille_plan::{Loaded, Plan};
use serde_json::{Value, json};
use std::fmt::Write;
use std::path::PathBuf;

pub(crate) fn inspect(args: &Inspect) -> Result<(), Failure> {
    if args.lit || args.plan != PlanArgs::default() {
        return inspect_lit(args);
    }
    let scene = Scene::of(&args.model)?;
    let inputs = scene.inputs();
    let run = Run::start(&args.run, &inputs, args.picture.as_slice())?;
    let picture = opened(args, &inputs)?;
    let Loaded { mesh, mut findings, .. } = scene.load(&run.watch)?;
    let parts = parts(&mesh, supports(&mesh, &run.watch)?);
    findings.extend(parts.supports.as_ref().map(Supports::finding));
    let tilt = run.watch.run(|| upright(&mesh, parts.supports.as_ref()));
    findings.extend(tilt.map(|t| tilted(&t)));
    if let Some(output) = picture {
        let title = &scene.document.scheme.title;
        keep(output, &Shown { title, mesh: &mesh, parts: &parts, findings: &findings }, args, &run.watch)?;
    }
    let name = scene.model_names();
    let text = if args.json {
        let mut value = in_json(&name, &mesh, (parts.base_top_mm, parts.supports.as_ref()), &findings);
        value["tilt"] = tilt_in_json(tilt);
        json_text(&value)?
    } else {
        in_words(&name, &mesh, (parts.base_top_mm, parts.supports.as_ref()), "", &findings)
    };
    print(&text)?;
    run.finish()
}

fn tilt_in_json(tilt: Option<Upright>) -> Value {
    json!(tilt.map(|t| json!({
        "degrees": t.degrees,
        "down": t.down,
        "base_mm2": t.area_mm2,
        "confidence": t.confidence,
    })))
}

/// Opens the picture, if one is wanted.
fn opened(args: &Inspect, inputs: &[PathBuf]) -> Result<Option<Output>, Failure> {
    args.picture.as_deref().map(|path| open(path, inputs)).transpose()
}

/// Draws the picture and keeps it.
fn keep(output: Output, shown: &Shown, args: &Inspect, watch: &Watch) -> Result<(), Failure> {
    let (sheet, fineness) = draw(shown, f64::from(args.pixels), watch)?;
    output.keep(|mut out| sheet.write_png(&mut out, fineness))
}

/// What is said of a model that seems to be tilted.
fn tilted(tilt: &Upright) -> Finding {
    let hint = format!(
        "the model seems to be tilted by {:.0}°, as for printing: --upright, or upright = true in a scheme, stands \
         it on the flat side of {:.0} mm² that is taken for its base's underside ({:.0} % sure)",
        tilt.degrees,
        tilt.area_mm2,
        100.0 * tilt.confidence
    );
    Finding::new(Code::Tilted, 1, hint)
}

/// The model and what the light does on it.
fn inspect_lit(args: &Inspect) -> Result<(), Failure> {
    let outputs = args.picture.as_slice();
    let (run, mut planned, picture) =
        plan_model(&args.model, (&args.plan, false), &args.run, outputs, |_, inputs| opened(args, inputs))?;
    completed(&mut planned, Wanted::default(), &run.watch)?;
    let Planned { plan, settings, scheme, .. } = &planned;
    let tilt = run.watch.run(|| upright(&plan.mesh, plan.supports.as_ref()));
    let findings: Vec<Finding> = planned.findings.iter().cloned().chain(tilt.map(|t| tilted(&t))).collect();
    let findings = &findings;
    if let Some(output) = picture {
        let parts = run.watch.run(|| parts(&plan.mesh, plan.supports.clone()));
        let shown = Shown { title: &scheme.title, mesh: &plan.mesh, parts: &parts, findings };
        keep(output, &shown, args, &run.watch)?;
    }
    let text = if args.json {
        let mut value =
            in_json(&settings.model, &plan.mesh, (plan.base_top_mm, plan.supports.as_ref()), findings);
        value["tilt"] = tilt_in_json(tilt);
        let lit = summary(plan, settings, &[], None).map_err(|e| Failure::Other(e.to_string()))?;
        // The summary's own keys are those of a map's; what stands above is not said twice.
        if let Value::Object(mut lit) = lit {
            lit.retain(|key, _| value.get(key).is_none());
            value["plan"] = lit.into();
        }
        json_text(&value)?
    } else {
        in_words(
            &settings.model,
            &plan.mesh,
            (plan.base_top_mm, plan.supports.as_ref()),
            &light_in_words(plan),
            findings,
        )
    };
    print(&text)?;
    run.finish()
}

fn in_json(
    name: &str,
    mesh: &Mesh,
    (base_top_mm, supports): (Option<f64>, Option<&Supports>),
    findings: &[Finding],
) -> Value {
    let counts = mesh.counts();
    json!({
        "file": name,
        "triangles": counts.triangles,
        "vertices": counts.vertices,
        "pieces": counts.pieces,
        "closed_pieces": mesh.pieces().iter().filter(|p| p.closed).count(),
        "boundary_edges": counts.boundary_edges,
        "non_manifold_edges": counts.non_manifold_edges,
        "inconsistent_edges": counts.inconsistent_edges,
        "zero_area_faces": counts.zero_area_faces,
        "extents_mm": mesh.bounds().extents(),
        "bounds_mm": mesh.bounds(),
        "volume_mm3": mesh.volume_mm3(),
        "area_mm2": mesh.area_mm2(),
        "base_top_mm": base_top_mm,
        "supports": supports.map(|s| json!({
            "stands": s.stands,
            "tips": s.tips,
            "column_mm": s.column_mm,
            "raft_top_mm": s.raft_mm,
            "area_mm2": s.area_mm2,
            "at_mm": s.at,
            "confidence": s.confidence,
            "sure": s.is_sure(),
        })),
        "marks": marked(mesh).iter().map(|m| json!({
            "name": m.mark.name,
            "colour": m.mark.colour.map(hexadecimal),
            "faces": m.faces,
            "area_mm2": m.area_mm2,
            "at_mm": m.at_mm,
        })).collect::<Vec<_>>(),
        "findings": findings,
    })
}

/// What the file itself says of a part of the surface.
struct Marked<'a> {
    mark: &'a Mark,
    faces: u64,
    area_mm2: f64,
    /// The middle of its largest face, where a region could be put down.
    at_mm: [f64; 3],
}

/// The named or coloured parts of a mesh, largest first.
fn marked(mesh: &Mesh) -> Vec<Marked<'_>> {
    let mut all: Vec<Marked> =
        mesh.marks().iter().map(|mark| Marked { mark, faces: 0, area_mm2: 0.0, at_mm: [0.0; 3] }).collect();
    let mut largest = vec![0.0; all.len()];
    for (face, mark) in mesh.faces().iter().zip(mesh.mark_of_face()) {
        let (m, area) = (*mark as usize, 0.5 * face_cross(mesh.positions(), *face).norm());
        all[m].faces += 1;
        all[m].area_mm2 += area;
        if area > largest[m] {
            largest[m] = area;
            let sum: [f64; 3] = face
                .iter()
                .map(|v| mesh.positions()[*v as usize].cast::<f64>().coords)
                .fold([0.0; 3], |sum, p| [sum[0] + p.x, sum[1] + p.y, sum[2] + p.z]);
            all[m].at_mm = sum.map(|x| x / 3.0);
        }
    }
    all.retain(|m| m.mark.name.is_some() || m.mark.colour.is_some());
    all.sort_by(|a, b| b.area_mm2.total_cmp(&a.area_mm2));
    all
}

fn hexadecimal([r, g, b]: [u8; 3]) -> String {
    format!("#{r:02x}{g:02x}{b:02x}")
}

/// How many parts are listed in words; JSON has them all.
const LISTED: usize = 8;

/// The parts that the file names or colours, one a line.
fn marks_in_words(mesh: &Mesh) -> String {
    let mut text = String::new();
    let marks = marked(mesh);
    for (i, m) in marks.iter().take(LISTED).enumerate() {
        let colour = m.mark.colour.map(hexadecimal);
        let what = match (&m.mark.name, colour) {
            // A name from a file may hold anything.
            (Some(name), colour) => {
                let name: String = name.chars().filter(|c| !c.is_control()).take(60).collect();
                colour.map_or_else(|| name.clone(), |colour| format!("{name}, {colour}"))
            }
            (None, colour) => colour.unwrap_or_default(),
        };
        let [x, y, z] = m.at_mm;
        let said = format!("{what}: {:.0} mm², such as at {x:.1}, {y:.1}, {z:.1} mm", m.area_mm2);
        line(&mut text, if i == 0 { "Marked" } else { "" }, &said);
    }
    if marks.len() > LISTED {
        line(&mut text, "", &format!("and {} more (--json lists all)", marks.len() - LISTED));
    }
    text
}

/// A label, and what stands beside it.
fn line(text: &mut String, label: &str, value: &str) {
    // Writing to a string cannot fail.
    let _ = writeln!(text, "{label:<11}{value}");
}

/// What each light reaches, where two compete, what is too dark or too bright.
fn light_in_words(plan: &Plan) -> String {
    let mut text = String::new();
    let name = |id| plan.lights.iter().find(|l| l.id == id).map_or("", |l| l.name.as_str());
    for (i, light) in plan.lights.iter().enumerate() {
        let reached = percent(light.answer.reached_share);
        let zone = plan.zones.rows.iter().find(|z| z.light == light.id);
        let leads = percent(zone.map_or(0.0, |z| z.share));
        let label = if i == 0 { "Lights" } else { "" };
        line(
            &mut text,
            label,
            &format!("{}: reaches {reached} of the surface, leads on {leads}", light.name),
        );
    }
    let contests: Vec<_> = plan.answers.contests.iter().filter(|c| c.share >= 0.01).collect();
    for (i, contest) in contests.iter().enumerate() {
        let [x, y, z] = contest.at.into();
        let [one, two] = contest.lights.map(name);
        let said = format!(
            "{one} and {two} are as strong as each other on {}, such as at {x:.1}, {y:.1}, {z:.1} mm",
            percent(contest.share)
        );
        line(&mut text, if i == 0 { "Compete" } else { "" }, &said);
    }
    if contests.is_empty() {
        line(&mut text, "Compete", "no two lights, on 1 % of the surface or more");
    }
    for (i, spot) in plan.answers.flat_spots.iter().enumerate() {
        let letter = plan.bands.rows.get(usize::from(spot.band)).map_or('?', |b| b.letter);
        let [x, y, z] = spot.at.into();
        let said = format!(
            "{} of the surface turns by {:.0}° nearly all in band {letter}: model it, round {x:.1}, {y:.1}, {z:.1} mm",
            percent(spot.share),
            spot.turns
        );
        line(&mut text, if i == 0 { "Flat" } else { "" }, &said);
    }
    line(&mut text, "Left black", &format!("{} of the surface", percent(plan.answers.black_share)));
    if plan.answers.held_share > 0.0 {
        let held = percent(plan.answers.held_share);
        line(&mut text, "Held", &format!("{held}, on the base, brighter than the figure's brightest spot"));
    }
    if let Some(outshone) = plan.lights.iter().find_map(|l| l.answer.outshone_share) {
        let said = match outshone > 0.0 {
            true => format!("{} is painted lighter than the lamp itself", percent(outshone)),
            false => "nothing is painted lighter than the lamp itself".into(),
        };
        line(&mut text, "Outshone", &said);
    }
    text
}

fn in_words(
    name: &str,
    mesh: &Mesh,
    (base_top_mm, supports): (Option<f64>, Option<&Supports>),
    of_light: &str,
    findings: &[Finding],
) -> String {
    let [width, depth, height] = mesh.bounds().extents();
    let counts = mesh.counts();
    let pieces = mesh.pieces();
    let open = pieces.iter().filter(|p| !p.closed).count();
    let mut text = String::new();
    let mut line = |label: &str, value: String| line(&mut text, label, &value);
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
        match base_top_mm {
            Some(top) => format!("recognised, {top:.1} mm high"),
            None => "none recognised".into(),
        },
    );
    if let Some(s) = supports {
        let on = s.raft_mm.map_or_else(String::new, |top| format!(" on a raft {top:.1} mm high"));
        let sure = if s.is_sure() { "recognised" } else { "perhaps" };
        let said = format!(
            "{sure}: {} columns, {:.1} mm thick{on}, {} tips on the figure ({:.0} % sure)",
            s.stands,
            s.column_mm,
            s.tips,
            100.0 * s.confidence
        );
        line("Supports", said);
    }
    text += &marks_in_words(mesh);
    text += of_light;
    let mut line = |label: &str, value: String| self::line(&mut text, label, &value);
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

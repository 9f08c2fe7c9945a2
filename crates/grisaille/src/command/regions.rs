//! `regions`: the surface divided into named areas, each painted as one material.

use crate::args::Regions as Args;
use crate::command::scheme;
use crate::command::view::{cropped, open};
use crate::failure::Failure;
use crate::files::{json_text, print};
use crate::job::{Run, divided};
use crate::region_steps::region_choice;
use crate::scene::Scene;
use crate::view_args::pixels_per_mm;
use grisaille_base::{RegionId, Stop, Watch};
use grisaille_form::{Edit, Ground, GroundSettings, Regions, repeats};
use grisaille_mesh::Mesh;
use grisaille_picture::{Canvas, Frame, Image, SheetStyle, View, region_legends, region_number, region_view};
use grisaille_plan::division;
use grisaille_scheme::RegionChoice;
use grisaille_sight::Surface;
use serde_json::{Value, json};
use std::fmt::Write;
use std::path::PathBuf;

pub(crate) fn regions(args: &Args) -> Result<(), Failure> {
    let mut scene = Scene::of(&args.model)?;
    let scheme = &mut scene.document.scheme;
    scheme.regions = region_choice(args, std::mem::take(&mut scheme.regions))?;
    scheme.check().map_err(|e| Failure::Usage(e.to_string()))?;
    let inputs = scene.inputs();
    let outputs: Vec<PathBuf> = args.picture.iter().chain(&args.output).cloned().collect();
    let run = Run::start(&args.run, &inputs, &outputs)?;
    let kept = args.output.as_deref().map(|path| scheme::open(path, &inputs)).transpose()?;
    let picture = args.picture.as_deref().map(|path| open(path, &inputs)).transpose()?;
    let mesh = scene.load(&run.watch)?.mesh;
    let (surface, _) = divided(&scene.document.scheme, &mesh, &run.watch)?;
    let ground = Ground::of(&surface, &mesh, &GroundSettings::for_mesh(&mesh), &run.watch)?;
    near_enough(&ground, &mesh, &scene.document.scheme.regions, args.seed.len() + args.step.len())?;
    let regions = ground.divide(&division(&scene.document.scheme.regions), &run.watch)?;
    let of_face: Vec<Option<RegionId>> = regions.of_face.iter().copied().map(Some).collect();
    let alike = repeats(ground.shape(), &of_face, &run.watch)?;
    let name = scene.model_names();
    if let Some(output) = picture {
        let title = &scene.document.scheme.title;
        let (sheet, fineness) = draw(title, &mesh, &surface, &regions, f64::from(args.pixels), &run.watch)?;
        output.keep(|mut out| sheet.write_png(&mut out, fineness))?;
    }
    if let (Some(path), Some(output)) = (&args.output, kept) {
        scheme::write(&scene, path, output)?;
    }
    let faces = model_faces(&surface, &regions, mesh.faces().len());
    let text = if args.json {
        let value = in_json(&name, &regions, &faces, &alike);
        json_text(&value)?
    } else {
        in_words(&name, &regions, &alike)
    };
    print(&text)?;
    run.finish()
}

/// Whether the points of the last `given` steps, those of the options, lie on
/// the model or nearly so: one far from it was meant for another place.
fn near_enough(ground: &Ground, mesh: &Mesh, choice: &RegionChoice, given: usize) -> Result<(), Failure> {
    let from = choice.steps.len().saturating_sub(given);
    let steps = RegionChoice { steps: choice.steps[from..].to_vec(), ..RegionChoice::default() };
    let most = 0.05 * mesh.bounds().diagonal();
    for anchor in division(&steps).edits.iter().flat_map(Edit::anchors) {
        if let Some(off) = ground.off_surface(anchor).filter(|off| *off > most) {
            let [x, y, z]: [f32; 3] = anchor.point.into();
            return Err(Failure::Usage(format!(
                "the point {x}, {y}, {z} lies {off:.1} mm off the surface: give a point on the region that is meant"
            )));
        }
    }
    Ok(())
}

/// How many faces of the model lie in each region: each counts where most of it lies.
fn model_faces(surface: &Surface, regions: &Regions, count: usize) -> Vec<u64> {
    let mut parts: Vec<(u32, RegionId, f64)> = (0..surface.faces.len())
        .map(|f| (surface.source_face[f].0, regions.of_face[f], surface.face_area(f)))
        .collect();
    parts.sort_by_key(|p| (p.0, p.1));
    let mut most = vec![(f64::NEG_INFINITY, RegionId(0)); count];
    for run in parts.chunk_by(|a, b| (a.0, a.1) == (b.0, b.1)) {
        let area = run.iter().map(|p| p.2).sum::<f64>();
        if let Some(best) = most.get_mut(run[0].0 as usize)
            && area > best.0
        {
            *best = (area, run[0].1);
        }
    }
    let mut faces = vec![0; regions.regions.len()];
    for (area, region) in most {
        if area >= 0.0
            && let Some(n) = faces.get_mut(region.index())
        {
            *n += 1;
        }
    }
    faces
}

fn in_json(name: &str, regions: &Regions, faces: &[u64], alike: &[Vec<RegionId>]) -> Value {
    let rows: Vec<Value> = regions
        .regions
        .iter()
        .enumerate()
        .map(|(i, r)| {
            let beside: Vec<Value> = r
                .neighbours
                .iter()
                .map(|n| json!({ "id": region_number(n.region), "border_mm": n.border_mm }))
                .collect();
            let [red, green, blue] = r.swatch;
            json!({
                "id": i + 1,
                "name": r.name,
                "area_mm2": r.area_mm2,
                "faces": faces.get(i),
                "swatch": format!("#{red:02x}{green:02x}{blue:02x}"),
                "place_mm": r.place,
                "locked": r.locked,
                "neighbours": beside,
            })
        })
        .collect();
    let alike: Vec<Vec<u32>> =
        alike.iter().map(|group| group.iter().map(|r| region_number(*r)).collect()).collect();
    json!({ "file": name, "regions": rows, "alike": alike })
}

fn in_words(name: &str, regions: &Regions, alike: &[Vec<RegionId>]) -> String {
    let all: f64 = regions.regions.iter().map(|r| r.area_mm2).sum();
    let mut text = String::new();
    // Writing to a string cannot fail.
    let _ = writeln!(text, "{:<11}{name}", "Model");
    let _ = writeln!(text, "{:<11}{}, {all:.0} mm² to paint", "Regions", regions.regions.len());
    for (i, r) in regions.regions.iter().enumerate() {
        let mut beside = r.neighbours.clone();
        beside.sort_by(|a, b| b.border_mm.total_cmp(&a.border_mm));
        let beside: Vec<String> =
            beside.iter().take(5).map(|n| region_number(n.region).to_string()).collect();
        let beside = match beside.is_empty() {
            true => "stands alone".to_owned(),
            false => format!("beside {}", beside.join(", ")),
        };
        let [x, y, z] = r.place;
        let share = if all > 0.0 { 100.0 * r.area_mm2 / all } else { 0.0 };
        let _ = writeln!(
            text,
            "  {:>3}  {:<22} {:>8.1} mm² {share:>3.0} %  at {x:.1}, {y:.1}, {z:.1} mm, {beside}",
            i + 1,
            r.name,
            r.area_mm2
        );
    }
    for (i, group) in alike.iter().enumerate() {
        let numbers: Vec<String> = group.iter().map(|r| region_number(*r).to_string()).collect();
        let label = if i == 0 { "Alike" } else { "" };
        let _ = writeln!(text, "{label:<11}{}: paint them as one, if you like", numbers.join(", "));
    }
    text
}

/// The regions from the front and from behind with their numbers, and a legend.
/// Also gives the pixels on a millimetre of the figure.
pub(crate) fn draw(
    title: &str,
    mesh: &Mesh,
    surface: &Surface,
    regions: &Regions,
    height_px: f64,
    watch: &Watch,
) -> Result<(Image, f64), Stop> {
    let pixels_per_mm = pixels_per_mm(mesh, height_px);
    // Lines and letters as on a sheet of paper printed at 254 dpi.
    let fineness = 10.0;
    let views = [View::front(), View::back()];
    let span = watch.span("pictures", views.len() as u64);
    let style = SheetStyle { width_px: 1 << 14, ..SheetStyle::default() };
    let mut canvas =
        Canvas::new(style).title(title).note("Regions: each is painted as one material. Numbers name them.");
    for view in views {
        let frame = Frame::fit(mesh.positions(), view, pixels_per_mm, 10.0 / pixels_per_mm);
        canvas = canvas.view(region_view(surface, regions, &frame, style.body_px, fineness, watch)?, &frame);
        span.advance(1);
    }
    Ok((cropped(&region_legends(regions).into_iter().fold(canvas, Canvas::legend).compose()), pixels_per_mm))
}

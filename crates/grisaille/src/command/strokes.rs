//! `strokes`: how hatching and dry brush run over each region.

use crate::args::Strokes as Args;
use crate::command::view::{cropped, open};
use crate::failure::Failure;
use crate::files::{json_text, print};
use crate::job::{Run, divided};
use crate::scene::Scene;
use crate::view_args::pixels_per_mm;
use grisaille_base::{Millimetres, RegionId, Stop, Watch};
use grisaille_colour::LinearRgb;
use grisaille_form::{Regions, Stroke, StrokeCount, blends_at, curvature, strokes as strokes_of};
use grisaille_mesh::Mesh;
use grisaille_picture::{
    Canvas, CourseStyle, Frame, Image, ItemBuffer, SheetStyle, View, region_legends, region_number,
    region_view,
};
use grisaille_plan::regions_of;
use grisaille_sight::Surface;
use nalgebra::{Point3, Vector3};
use serde_json::{Value, json};
use std::fmt::Write;

/// Curvature is taken over so much of the figure's height: a stroke follows the form, not its grain.
const OVER: f64 = 1.0 / 20.0;
/// Arrows stand so much of its height apart.
const APART: f64 = 1.0 / 7.0;
/// What reads as level.
const LEVEL: f32 = 0.35;

pub(crate) fn strokes(args: &Args) -> Result<(), Failure> {
    if !(args.distance > 0.0 && args.distance.is_finite()) {
        return Err(Failure::Usage(format!(
            "--distance {}: give a distance of more than 0 mm",
            args.distance
        )));
    }
    let scene = Scene::of(&args.model)?;
    let inputs = scene.inputs();
    let run = Run::start(&args.run, &inputs, args.picture.as_slice())?;
    let picture = args.picture.as_deref().map(|path| open(path, &inputs)).transpose()?;
    let mesh = scene.load(&run.watch)?.mesh;
    let (surface, _) = divided(&scene.document.scheme, &mesh, &run.watch)?;
    let (ground, regions) = regions_of(&scene.document.scheme.regions, &surface, &mesh, &run.watch)?;
    let radius = Millimetres(OVER * mesh.bounds().extents()[2].max(f64::MIN_POSITIVE));
    let curved = curvature(ground.shape(), radius, &run.watch)?;
    let shown: Vec<Option<RegionId>> = (regions.of_face.iter().enumerate())
        .map(|(f, region)| (surface.open_corners(f) > 0).then_some(*region))
        .collect();
    let apart = Millimetres(APART * mesh.bounds().extents()[2]);
    let count = StrokeCount { apart, most: args.most.into() };
    let found = strokes_of(ground.shape(), &curved, &shown, count, &run.watch)?;
    let blends = blends_at(Millimetres(args.distance));
    if let Some(output) = picture {
        let title = &scene.document.scheme.title;
        let (sheet, fineness) =
            draw(title, (&mesh, &surface), &regions, &found, f64::from(args.pixels), &run.watch)?;
        output.keep(|mut out| sheet.write_png(&mut out, fineness))?;
    }
    let name = scene.model_names();
    let text = if args.json {
        let value = in_json(&name, args.distance, blends, &found);
        json_text(&value)?
    } else {
        in_words(&name, args.distance, blends, &regions, &found)
    };
    print(&text)?;
    run.finish()
}

fn in_json(name: &str, distance: f64, blends: Millimetres, found: &[Stroke]) -> Value {
    let vector = |v: &Vector3<f32>| [v.x, v.y, v.z];
    let rows: Vec<Value> = found
        .iter()
        .map(|s| {
            json!({
                "region": region_number(s.region),
                "at_mm": [s.at.x, s.at.y, s.at.z],
                "along": vector(&s.along),
                "across": vector(&s.across),
                "sure": s.sure,
            })
        })
        .collect();
    json!({ "file": name, "distance_mm": distance, "blends_mm": blends.0, "strokes": rows })
}

fn in_words(name: &str, distance: f64, blends: Millimetres, regions: &Regions, found: &[Stroke]) -> String {
    let mut text = String::new();
    // Writing to a string cannot fail.
    let _ = writeln!(text, "{:<11}{name}", "Model");
    let _ = writeln!(
        text,
        "{:<11}lines and dots of {:.2} mm and less, as far apart, blend for an eye {distance:.0} mm away",
        "Fineness", blends.0
    );
    for group in found.chunk_by(|a, b| a.region == b.region) {
        // The one for which the form asks most stands for the region.
        let most = group.iter().max_by(|a, b| a.sure.total_cmp(&b.sure));
        let Some(stroke) = most else { continue };
        let region = regions.regions.get(stroke.region.index()).map_or("", |r| r.name.as_str());
        let why = match stroke.sure > 0.0 {
            true => "",
            false => " (downhill: the form asks for no other way)",
        };
        let _ = writeln!(
            text,
            "  {:>3}  {region:<22} hatch {}{why}, dry brush {}",
            region_number(stroke.region),
            way(&stroke.along),
            across_words(&stroke.along, &stroke.across)
        );
    }
    text
}

/// A way over the surface in words, seen from the front.
fn way(along: &Vector3<f32>) -> String {
    let side = match (along.x, along.y) {
        (x, y) if x.abs() < LEVEL && y.abs() < LEVEL => "",
        (x, y) if x.abs() >= y.abs() => {
            if x > 0.0 {
                "to your right"
            } else {
                "to your left"
            }
        }
        (_, y) => {
            if y > 0.0 {
                "to the back"
            } else {
                "to the front"
            }
        }
    };
    match (along.z.abs() < LEVEL, side) {
        (true, side) => format!("level {side}").trim_end().to_owned(),
        (false, "") => "straight down".into(),
        (false, side) => format!("down and {side}"),
    }
}

/// How a dry brush goes that crosses the strokes.
fn across_words(along: &Vector3<f32>, across: &Vector3<f32>) -> &'static str {
    match (along.z.abs() < LEVEL, across.z.abs() < LEVEL) {
        (false, true) => "from side to side",
        (true, false) => "up and down",
        _ => "across",
    }
}

/// The regions from the front, three-quarters and behind, with arrows on them. Also gives the pixels on a
/// millimetre of the figure.
fn draw(
    title: &str,
    (mesh, surface): (&Mesh, &Surface),
    regions: &Regions,
    found: &[Stroke],
    height_px: f64,
    watch: &Watch,
) -> Result<(Image, f64), Stop> {
    let pixels_per_mm = pixels_per_mm(mesh, height_px);
    // Lines and letters as on a sheet of paper printed at 254 dpi.
    let fineness = 10.0;
    let views = [View::front(), View::three_quarter(), View::back()];
    let span = watch.span("pictures", views.len() as u64);
    let style = SheetStyle { width_px: 1 << 14, ..SheetStyle::default() };
    let note = "Arrows: how hatching runs. A dry brush goes across them. Numbers name the regions.";
    let mut canvas = Canvas::new(style).title(title).note(note);
    let length = 0.06 * mesh.bounds().extents()[2];
    let scale = (height_px / 900.0).sqrt() as f32;
    for view in views {
        let frame = Frame::fit(mesh.positions(), view, pixels_per_mm, 10.0 / pixels_per_mm);
        let mut image = region_view(surface, regions, &frame, style.body_px, fineness, watch)?;
        let keep = |f: grisaille_base::FaceId| surface.open_corners(f.index()) > 0;
        let items = ItemBuffer::draw(&surface.samples.position, &surface.faces, keep, &frame, 2, watch)?;
        let toward = frame.view().toward().cast::<f32>();
        // What is half hidden or seen on end would look like a crumb.
        let clear = |s: &&Stroke| {
            let ends = [-0.5, 0.0, 0.5].map(|k| s.at + s.along * (k * length as f32));
            s.along.dot(&toward).abs() < 0.85 && ends.iter().all(|p| items.shows(*p, 0.25 * length))
        };
        for stroke in found.iter().filter(clear) {
            // A pale edge, so that it is seen on dark and pale.
            for (width, ink) in [(6.0, LinearRgb::WHITE), (2.6, LinearRgb::BLACK)] {
                let style = CourseStyle { width_px: width * scale, ink, behind_mm: 0.25 * length };
                for part in arrow(stroke, length as f32) {
                    items.course(&mut image, &part, false, style);
                }
            }
        }
        canvas = canvas.view(image, &frame);
        span.advance(1);
    }
    Ok((cropped(&region_legends(regions).into_iter().fold(canvas, Canvas::legend).compose()), pixels_per_mm))
}

/// An arrow of a length in mm: its shaft, and its head.
fn arrow(stroke: &Stroke, length: f32) -> [Vec<Point3<f32>>; 2] {
    let (tail, tip) = (stroke.at - stroke.along * (0.5 * length), stroke.at + stroke.along * (0.5 * length));
    let barb = |side: f32| tip - stroke.along * (0.28 * length) + stroke.across * (side * 0.17 * length);
    [vec![tail, tip], vec![barb(-1.0), tip, barb(1.0)]]
}

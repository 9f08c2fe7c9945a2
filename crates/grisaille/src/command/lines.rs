//! `lines`: recesses to line and edges to catch.

use crate::args::Lines as Args;
use crate::command::view::{cropped, open, pixels_per_mm};
use crate::failure::Failure;
use crate::files::print;
use crate::job::{Run, divided};
use crate::scene::Scene;
use grisaille_base::{Millimetres, Stop, Watch};
use grisaille_colour::LinearRgb;
use grisaille_form::{
    Line, LineSettings, Shape, Spot, SpotSettings, curvature, edges, rank_by_light, recesses, seams, spots,
};
use grisaille_mesh::{Mesh, parts};
use grisaille_picture::{
    Canvas, CourseStyle, Frame, Image, ItemBuffer, Legend, LineStyle, Pattern, SheetStyle, Swatch, View,
};
use grisaille_sight::Surface;
use serde_json::{Value, json};
use std::fmt::Write;

/// Dark blue and orange are told apart by every kind of colour vision (M. Okabe, K. Ito, 2008).
const RECESS: [u8; 3] = [0, 45, 120];
const EDGE: [u8; 3] = [213, 94, 0];
const SPOT: [u8; 3] = [240, 228, 66];
/// Spot highlights are few (common practice), and an eighth of the height apart.
const SPOTS: usize = 12;

/// The share of all importance that is drawn: on a detailed figure the rest is a thicket of
/// short lines that a painter leaves to a wash and a dry brush.
const DRAWN: f64 = 0.8;

pub(crate) fn lines(args: &Args) -> Result<(), Failure> {
    if args.width.is_some_and(|w| !(w > 0.0 && w.is_finite())) {
        return Err(Failure::Usage("--width: use a number of mm above 0".into()));
    }
    let scene = Scene::of(&args.model)?;
    let inputs = scene.inputs();
    let run = Run::start(&args.run, &inputs, args.picture.as_slice())?;
    let picture = args.picture.as_deref().map(|path| open(path, &inputs)).transpose()?;
    let mesh = scene.load(&run.watch)?.mesh;
    let (surface, settings) = divided(&scene.document.scheme, &mesh, &run.watch)?;
    let found = Found::of(&surface, &mesh, (args.width, settings.spacing), &run.watch)?;
    if let Some(output) = picture {
        let title = &scene.document.scheme.title;
        let (sheet, fineness) = draw(title, &mesh, &surface, &found, f64::from(args.pixels), &run.watch)?;
        output.keep(|mut out| sheet.write_png(&mut out, fineness))?;
    }
    let name = scene.model_names();
    let text = if args.json {
        let value = json!({ "file": name, "width_mm": found.width, "recesses": rows(&found.recesses, &surface),
            "edges": rows(&found.edges, &surface), "spots": spot_rows(&found.spots) });
        serde_json::to_string_pretty(&value).map(|t| t + "\n").map_err(|e| Failure::Other(e.to_string()))?
    } else {
        in_words(&name, &found)
    };
    print(&text)?;
    run.finish()
}

struct Found {
    width: f64,
    recesses: Vec<Line>,
    edges: Vec<Line>,
    spots: Vec<Spot>,
}

impl Found {
    /// Lines on what can be seen, for a brush's width: one and a half spacings if not given.
    fn of(
        surface: &Surface,
        mesh: &Mesh,
        (width, spacing): (Option<f64>, Millimetres),
        watch: &Watch,
    ) -> Result<Self, Stop> {
        let shape = Shape::of(surface);
        let width = Millimetres(width.unwrap_or(1.5 * spacing.0));
        let settings = LineSettings::for_brush(width);
        let curved = curvature(&shape, settings.radius(), watch)?;
        let shown = |line: &Line| {
            let hidden = line.faces.iter().filter(|f| surface.open_corners(**f as usize) == 0).count();
            2 * hidden < line.faces.len()
        };
        let mut recesses = recesses(&shape, &curved, &settings, watch)?;
        recesses.extend(seams(surface, &shape, &curved, &settings, watch)?);
        recesses.sort_by(|a, b| b.importance.total_cmp(&a.importance));
        let mut edges = edges(&shape, &curved, &settings, watch)?;
        recesses.retain(shown);
        edges.retain(shown);
        // What an open surface gets from an even sky; what is hidden gets none.
        let sky = |f: usize| {
            let up = shape.normals().get(f).map_or(0.0, |n| n.z);
            if surface.open_corners(f) > 0 { 0.5 * (1.0 + up) } else { 0.0 }
        };
        let mut light: Vec<f32> = (0..surface.faces.len()).map(sky).collect();
        rank_by_light(&mut edges, &light);
        // A base never takes the figure's highlights.
        if let Some(top) = parts(mesh).base_top_mm {
            for (light, face) in light.iter_mut().zip(&surface.faces) {
                if face.iter().all(|s| f64::from(surface.samples.position[*s as usize].z) <= top) {
                    *light = 0.0;
                }
            }
        }
        let wanted = SpotSettings { most: SPOTS, apart_mm: mesh.bounds().extents()[2] / 8.0 };
        let spots = spots(&shape, &curved, (&settings, &wanted), Some(&light), watch)?;
        Ok(Self { width: width.0, recesses, edges, spots })
    }
}

/// How many lines, the best first, make up so large a share of all importance.
fn leading(lines: &[Line], share: f64) -> usize {
    let whole: f64 = lines.iter().map(|l| l.importance).sum();
    let mut sum = 0.0;
    let count = lines.iter().take_while(|l| {
        let more = sum < share * whole;
        sum += l.importance;
        more
    });
    count.count()
}

fn rows(lines: &[Line], surface: &Surface) -> Vec<Value> {
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
            "points_mm": l.points.iter().map(|p| [p.x, p.y, p.z]).collect::<Vec<_>>(),
        })
    };
    lines.iter().enumerate().map(row).collect()
}

fn spot_rows(spots: &[Spot]) -> Vec<Value> {
    let row = |(i, s): (usize, &Spot)| json!({ "rank": i + 1, "point_mm": [s.point.x, s.point.y, s.point.z], "curvature_per_mm": s.strength });
    spots.iter().enumerate().map(row).collect()
}

fn in_words(name: &str, found: &Found) -> String {
    let mut text = String::new();
    // Writing to a string cannot fail.
    let _ = writeln!(text, "{:<11}{name}", "Model");
    for (label, lines, deep) in [("Recesses", &found.recesses, "deep"), ("Edges", &found.edges, "high")] {
        let all: f64 = lines.iter().map(|l| l.length).sum();
        let _ = writeln!(
            text,
            "{label:<11}{}, {all:.0} mm in all, for a line of {:.2} mm",
            lines.len(),
            found.width
        );
        for (i, l) in lines.iter().take(10).enumerate() {
            let p = l.points[l.points.len() / 2];
            let across = match l.bounded {
                true => format!("{:.2} mm wide, {:.2} {deep}", l.width, l.depth),
                false => format!("a corner of {:.0}°", 180.0 - l.turn),
            };
            let _ = writeln!(
                text,
                "  {:>3}  {:>6.1} mm long, {across}, at {:.1}, {:.1}, {:.1}",
                i + 1,
                l.length,
                p.x,
                p.y,
                p.z
            );
        }
    }
    let places: Vec<String> =
        found.spots.iter().map(|s| format!("{:.1}, {:.1}, {:.1}", s.point.x, s.point.y, s.point.z)).collect();
    let _ = writeln!(
        text,
        "{:<11}{}",
        "Spots",
        if places.is_empty() { "none".into() } else { places.join("; ") }
    );
    text
}

/// The lines on a pale figure from three sides.
fn draw(
    title: &str,
    mesh: &Mesh,
    surface: &Surface,
    found: &Found,
    height_px: f64,
    watch: &Watch,
) -> Result<(Image, f64), Stop> {
    let pixels_per_mm = pixels_per_mm(mesh, height_px);
    let height = mesh.bounds().extents()[2];
    let style = SheetStyle { width_px: 1 << 14, ..SheetStyle::default() };
    let [recess, edge] = [RECESS, EDGE].map(LinearRgb::from_srgb8);
    let mut canvas = Canvas::new(style)
        .title(title)
        .note("Recesses to line and edges to catch. Thick lines come first: they are long and deep. The least important are left out.");
    for view in [View::front(), View::three_quarter(), View::back()] {
        let frame = Frame::fit(mesh.positions(), view.clone(), pixels_per_mm, 10.0 / pixels_per_mm);
        let keep = |f: grisaille_base::FaceId| surface.open_corners(f.index()) > 0;
        let items = ItemBuffer::draw(&surface.samples.position, &surface.faces, keep, &frame, 2, watch)?;
        let toward = view.toward().cast::<f32>();
        let clay = |hit: &grisaille_picture::Hit| {
            let facing = hit.mix_vectors(&surface.samples.normal).normalize().dot(&toward).abs();
            LinearRgb::grey(f64::from(0.45 + 0.4 * facing))
        };
        let mut image = items.shade(LinearRgb::WHITE, clay, watch)?;
        let outline = LineStyle::on_paper(0.12, 10.0, LinearRgb::BLACK, 0.5);
        items.outline(&mut image, (0.02 * height) as f32, outline, watch)?;
        for (lines, ink) in [(&found.edges, edge), (&found.recesses, recess)] {
            // The least important first, so that none covers a better one.
            let count = leading(lines, DRAWN);
            for (i, line) in lines[..count].iter().enumerate().rev() {
                watch.check()?;
                let width_px =
                    if i < count.div_ceil(4) { 2.6 } else { 1.4 } * (height_px / 900.0).sqrt() as f32;
                let style = CourseStyle { width_px, ink, behind_mm: found.width };
                items.course(&mut image, &line.points, line.closed, style);
            }
        }
        let scale = (height_px / 900.0).sqrt() as f32;
        for spot in &found.spots {
            // A dark rim, so that it is seen on a pale figure.
            for (width_px, ink) in [(11.0, LinearRgb::BLACK), (8.0, LinearRgb::from_srgb8(SPOT))] {
                let style = CourseStyle { width_px: width_px * scale, ink, behind_mm: 0.5 * found.width };
                items.spot(&mut image, spot.point, style);
            }
        }
        canvas = canvas.view(image, &frame);
    }
    let swatch = |colour, name: &str| Swatch {
        letter: String::new(),
        colour,
        pattern: Pattern::Plain,
        name: name.into(),
        range: String::new(),
    };
    let rows = vec![
        swatch(recess, "Recess: a thin dark line"),
        swatch(edge, "Edge: a thin light line"),
        swatch(LinearRgb::from_srgb8(SPOT), "Spot: a near-white touch"),
    ];
    canvas = canvas.legend(Legend::Swatches { title: "Lines".into(), rows });
    Ok((cropped(&canvas.compose()), pixels_per_mm))
}

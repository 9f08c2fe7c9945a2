//! The picture of `lines`: the figure from three sides with what to line, to catch and to wash.

use crate::command::view::cropped;
use crate::view_args::pixels_per_mm;
use grisaille_base::{Stop, Watch};
use grisaille_colour::LinearRgb;
use grisaille_form::Line;
use grisaille_picture::{
    Canvas, CourseStyle, Frame, Hit, Image, ItemBuffer, Legend, LineStyle, Pattern, SheetStyle, Swatch, View,
};
use grisaille_plan::{Lining, Plan};

/// Dark blue and orange are told apart by every kind of colour vision (M. Okabe, K. Ito, 2008).
const RECESS: [u8; 3] = [0, 45, 120];
const EDGE: [u8; 3] = [213, 94, 0];
const SPOT: [u8; 3] = [240, 228, 66];
/// A pale blue: deep areas must leave the dark lines in them to be seen.
const DEEP: [u8; 3] = [150, 190, 225];

/// The share of all importance that is drawn: on a detailed figure the rest is a thicket of
/// short lines that a painter leaves to a wash and a dry brush.
const DRAWN: f64 = 0.8;

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

/// The lines on a pale figure from three sides. Also gives the pixels on a millimetre of it.
pub(crate) fn draw(
    title: &str,
    plan: &Plan,
    found: &Lining,
    height_px: f64,
    watch: &Watch,
) -> Result<(Image, f64), Stop> {
    let (mesh, surface) = (&plan.mesh, &plan.surface);
    let pixels_per_mm = pixels_per_mm(mesh, height_px);
    let mut deep = vec![false; surface.faces.len()];
    for f in found.hollows.iter().flat_map(|h| &h.faces) {
        deep[*f as usize] = true;
    }
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
        let blue = LinearRgb::from_srgb8(DEEP);
        let clay = |hit: &Hit| {
            let facing = hit.mix_vectors(&surface.samples.normal).normalize().dot(&toward).abs();
            let light = 0.45 + 0.4 * facing;
            if deep[hit.face.index()] { blue.scaled(1.2 * light) } else { LinearRgb::grey(f64::from(light)) }
        };
        let mut image = items.shade(LinearRgb::WHITE, clay, watch)?;
        let outline = LineStyle::on_paper(0.12, 10.0, LinearRgb::BLACK, 0.5);
        items.outline(&mut image, (0.02 * height) as f32, outline, watch)?;
        // A base never takes the figure's highlights.
        let edges = &found.edges[..found.figure_edges];
        for (lines, ink) in [(edges, edge), (&found.recesses[..], recess)] {
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
        swatch(LinearRgb::from_srgb8(DEEP), "Deep area: a wash finds it"),
    ];
    canvas = canvas.legend(Legend::Swatches { title: "Lines".into(), rows });
    Ok((cropped(&canvas.compose()), pixels_per_mm))
}

//! The picture of `inspect`: the model as it came from its file, from six sides, and on it what was found.

use crate::command::view::cropped;
use grisaille_base::{Code, FaceId, Finding, Place, Stop, Watch};
use grisaille_colour::LinearRgb;
use grisaille_mesh::{Corners, Faults, Mesh, Part, Parts, Supports, corners, faults};
use grisaille_picture::{
    Canvas, CourseStyle, Frame, Hit, Image, ItemBuffer, Legend, LineStyle, Pattern, SheetStyle, Swatch,
    TextStyle, View, Weight,
};
use nalgebra::{Point3, Vector3};

/// These are told apart by every kind of colour vision (M. Okabe, K. Ito, 2008).
const SUPPORT: [u8; 3] = [86, 180, 233];
const INSIDE: [u8; 3] = [204, 121, 167];
const OPEN: [u8; 3] = [213, 94, 0];
const CROWDED: [u8; 3] = [0, 50, 140];
const PLACE: [u8; 3] = [240, 228, 66];
/// Of a figure in full light, and how much of that a base gets.
const CLAY: f32 = 0.62;
const BASE: f32 = 0.6;
/// Edges meet at an angle where faces turn by more than this.
const CREASE: f64 = 40.0;
/// The widest that a model is drawn, as a share of the asked height.
const WIDEST: f64 = 1.5;
/// The narrowest view in ems: its caption fits below it.
const NARROWEST: f32 = 20.0;

/// What is shown.
pub(crate) struct Shown<'a> {
    pub(crate) title: &'a str,
    pub(crate) mesh: &'a Mesh,
    pub(crate) parts: &'a Parts,
    pub(crate) findings: &'a [Finding],
}

/// What is drawn the same way in all views.
struct Drawn<'a> {
    shown: &'a Shown<'a>,
    corners: Corners,
    positions: Vec<Point3<f32>>,
    faults: Faults,
    /// Findings with a point, in their order; the first is number 1.
    places: Vec<(&'a Finding, Point3<f32>)>,
}

/// What has come into view from one side or another.
struct Seen {
    supports: bool,
    base: bool,
    inside: bool,
    open: Vec<bool>,
    crowded: Vec<bool>,
    places: Vec<bool>,
}

/// The six sides, what is found in colour, a legend. Also gives the pixels on a millimetre of the model.
pub(crate) fn draw(shown: &Shown, height_px: f64, watch: &Watch) -> Result<(Image, f64), Stop> {
    let [width, depth, height] = shown.mesh.bounds().extents();
    let pixels_per_mm = height_px / height.max(width.max(depth) / WIDEST).max(1e-6);
    let drawn = watch.run(|| Drawn::of(shown));
    let mut seen = Seen::nothing(&drawn);
    let span = watch.span("pictures", 6);
    let style = SheetStyle::default();
    let (mut pictures, mut row_px) = (Vec::new(), 0);
    let (side, plan) = ([width, height], [width, depth]);
    for (view, more, [across, up]) in [
        (View::front(), "", side),
        (View::left_side(), "", [depth, height]),
        (View::back(), "", side),
        (View::right_side(), "", [depth, height]),
        (View::above(), ", front down", plan),
        (View::below(), ", front up", plan),
    ] {
        let words = format!("{}{more}: {} × {} mm", view.words(), rounded(across), rounded(up));
        let frame = Frame::fit(shown.mesh.positions(), view.clone(), pixels_per_mm, 10.0 / pixels_per_mm);
        let least = (NARROWEST * style.body_px) as u32;
        let wide = frame.width().max(least);
        let frame = Frame::new(view, frame.mm_per_pixel(), wide, frame.height(), frame.centre());
        let image = drawn.side(&frame, style.body_px, &mut seen, watch)?;
        row_px += if pictures.len() < 4 { image.width() } else { 0 };
        pictures.push((image, words, frame.mm_per_pixel()));
        span.advance(1);
    }
    // Four sides as one walks round it, then the two others; the rest is gaps and margins.
    let style = SheetStyle { width_px: row_px + (15.0 * style.body_px) as u32, ..style };
    let canvas = Canvas::new(style).title(shown.title).note(note(shown));
    let canvas = pictures.into_iter().fold(canvas, |c, (image, words, mm)| c.picture(image, words, mm));
    let canvas = drawn.legends(&seen).into_iter().fold(canvas, Canvas::legend);
    Ok((cropped(&canvas.compose()), pixels_per_mm))
}

/// The line under the title.
fn note(shown: &Shown) -> String {
    let [width, depth, height] = shown.mesh.bounds().extents().map(rounded);
    let pieces = match shown.mesh.pieces().len() {
        1 => "1 piece".into(),
        n => format!("{n} pieces"),
    };
    let count = shown.mesh.counts().triangles;
    format!("{width} mm wide, {depth} mm deep, {height} mm high. {count} triangles, {pieces}.")
}

/// Three digits, as far as a painter measures.
fn rounded(mm: f64) -> String {
    match mm {
        x if x >= 9.95 => format!("{x:.1}"),
        x if x >= 0.0995 => format!("{x:.2}"),
        x => format!("{x:.4}"),
    }
}

impl Seen {
    fn nothing(drawn: &Drawn) -> Self {
        Self {
            supports: false,
            base: false,
            inside: false,
            open: vec![false; drawn.faults.open.len()],
            crowded: vec![false; drawn.faults.crowded.len()],
            places: vec![false; drawn.places.len()],
        }
    }
}

impl<'a> Drawn<'a> {
    fn of(shown: &'a Shown<'a>) -> Self {
        let mesh = shown.mesh;
        let corners = corners(mesh.positions(), mesh.faces(), CREASE);
        let positions = corners.vertex.iter().map(|v| mesh.positions()[*v as usize]).collect();
        let places = shown.findings.iter().filter_map(|f| match f.place {
            // Supports have their colour.
            Some(Place::Point(at)) if f.code != Code::PrintSupports => Some((f, at.into())),
            _ => None,
        });
        Self { shown, corners, positions, faults: faults(mesh.faces()), places: places.collect() }
    }

    fn supports(&self) -> Option<&Supports> {
        self.shown.parts.supports.as_ref()
    }

    fn is_support(&self, face: FaceId) -> bool {
        self.supports().is_some_and(|s| s.of_face.get(face.index()).copied().unwrap_or(false))
    }

    fn is_base(&self, face: FaceId) -> bool {
        self.shown.parts.of_face.get(face.index()) == Some(&Part::Base)
    }

    /// One side, with all that is seen of what was found.
    fn side(&self, frame: &Frame, body_px: f32, seen: &mut Seen, watch: &Watch) -> Result<Image, Stop> {
        let items = ItemBuffer::draw(&self.positions, &self.corners.faces, |_| true, frame, 2, watch)?;
        let mut image = items.shade(LinearRgb::WHITE, |hit| self.colour(hit, frame.view()), watch)?;
        self.note_colours(&items, seen, watch)?;
        let outline = LineStyle::on_paper(0.12, 10.0, LinearRgb::BLACK, 0.7);
        let height = self.shown.mesh.bounds().extents()[2];
        items.outline(&mut image, (0.02 * height) as f32, outline, watch)?;
        let vertices = self.shown.mesh.positions();
        let lines =
            [(&self.faults.crowded, &mut seen.crowded, CROWDED), (&self.faults.open, &mut seen.open, OPEN)];
        let behind_mm = 2.0 * frame.mm_per_pixel();
        for (edges, seen, ink) in lines {
            let ink = LinearRgb::from_srgb8(ink);
            for (i, (edge, seen)) in edges.iter().zip(seen).enumerate() {
                if i % 1024 == 0 {
                    watch.check()?;
                }
                let [a, b] = edge.map(|v| vertices[v as usize]);
                *seen |= items.shows(nalgebra::center(&a, &b), behind_mm);
                items.course(&mut image, &[a, b], false, CourseStyle { width_px: 3.0, ink, behind_mm });
                // One that is shorter than a pixel is seen all the same.
                let spot = CourseStyle { width_px: 5.0, ink, behind_mm };
                items.spot(&mut image, nalgebra::center(&a, &b), spot);
            }
        }
        self.number(&items, &mut image, body_px, &mut seen.places);
        Ok(image)
    }

    /// The colour of a spot, shaded by light from over the viewer's left shoulder.
    fn colour(&self, hit: &Hit, view: &View) -> LinearRgb {
        let light: Vector3<f64> = (view.toward() + 0.6 * view.up() - 0.4 * view.right()).normalize();
        let normal = hit.mix_vectors(&self.corners.normal).cast::<f64>();
        let facing = (normal.dot(&light) / normal.norm().max(f64::MIN_POSITIVE)).abs().min(1.0);
        let shade = (0.3 + 0.7 * facing) as f32;
        match self.tint(hit) {
            Some(tint) => LinearRgb::from_srgb8(tint).scaled(shade),
            None if self.is_base(hit.face) => LinearRgb::grey(f64::from(BASE * CLAY * shade)),
            None => LinearRgb::grey(f64::from(CLAY * shade)),
        }
    }

    /// The colour of what is no figure.
    fn tint(&self, hit: &Hit) -> Option<[u8; 3]> {
        match hit {
            // A closed mesh shows its outside only.
            h if h.backside => Some(INSIDE),
            h if self.is_support(h.face) => Some(SUPPORT),
            _ => None,
        }
    }

    /// Notes which colours this side shows.
    fn note_colours(&self, items: &ItemBuffer, seen: &mut Seen, watch: &Watch) -> Result<(), Stop> {
        for row in 0..items.rows() {
            watch.check()?;
            for hit in (0..items.columns()).filter_map(|column| items.hit(column, row)) {
                let tint = self.tint(&hit);
                seen.inside |= tint == Some(INSIDE);
                seen.supports |= tint == Some(SUPPORT);
                seen.base |= tint.is_none() && self.is_base(hit.face);
            }
        }
        Ok(())
    }

    /// Puts numbers to the places of findings that are seen.
    fn number(&self, items: &ItemBuffer, image: &mut Image, body_px: f32, seen: &mut [bool]) {
        let mm = items.frame().mm_per_pixel();
        let ink = LinearRgb::BLACK;
        let mut taken: Vec<[f32; 2]> = Vec::new();
        for (i, ((_, point), seen)) in self.places.iter().zip(seen).enumerate() {
            if !items.shows(*point, 2.0 * mm) {
                continue;
            }
            *seen = true;
            let [x, y, _] = items.frame().project(*point).map(|v| v as f32);
            // Beside its place, joined to it, so that the place itself stays in sight.
            let away = 1.3 * body_px;
            let side = |at: f32, size: u32| if at + 2.0 * away < size as f32 { away } else { -away };
            let mut u = x + side(x, image.width());
            let v = y - side(image.height() as f32 - y, image.height());
            // Several of one place stand in a row.
            let step = 1.6 * body_px;
            while taken.iter().any(|t| (t[0] - u).hypot(t[1] - v) < step) {
                u += step;
            }
            taken.push([u, v]);
            image.stroke([x, y], [u, v], 2.0, ink);
            for (radius, colour) in [(0.75, ink), (0.66, LinearRgb::from_srgb8(PLACE))] {
                disc(image, [u, v], radius * body_px, colour);
            }
            let style = TextStyle::new(0.95 * body_px, Weight::Bold, ink);
            image.letter(u, v, &(i + 1).to_string(), &style, None);
        }
    }

    /// What the colours mean, and what the numbers stand for.
    fn legends(&self, seen: &Seen) -> Vec<Legend> {
        let mut rows = vec![swatch(LinearRgb::grey(f64::from(CLAY)), "Figure", String::new())];
        if seen.base {
            rows.push(swatch(LinearRgb::grey(f64::from(BASE * CLAY)), "Base", String::new()));
        }
        if let (Some(s), true) = (self.supports(), seen.supports) {
            let name = if s.is_sure() { "Print supports" } else { "Perhaps print supports" };
            let said = format!("{}, {:.0} % sure", s.stands, 100.0 * s.confidence);
            rows.push(swatch(LinearRgb::from_srgb8(SUPPORT), name, said));
        }
        if seen.inside {
            let said = "gaps, or turned round".into();
            rows.push(swatch(LinearRgb::from_srgb8(INSIDE), "Inside of the surface", said));
        }
        let edges =
            [(OPEN, "Open edges", &seen.open), (CROWDED, "Edges of more than two faces", &seen.crowded)];
        for (ink, name, seen) in edges.into_iter().filter(|e| !e.2.is_empty()) {
            rows.push(swatch(LinearRgb::from_srgb8(ink), name, counted(seen)));
        }
        let mut legends = vec![Legend::Swatches { title: "What is seen".into(), rows }];
        let numbered = self.places.iter().zip(&seen.places).enumerate().map(|(i, ((finding, at), seen))| {
            let [x, y, z] = [at.x, at.y, at.z].map(signed);
            let hidden = if *seen { "" } else { ", hidden" };
            let said = format!("{}, first at {x}, {y}, {z} mm{hidden}", finding.count);
            let number = (i + 1).to_string();
            Swatch { letter: number, ..swatch(LinearRgb::from_srgb8(PLACE), finding.code.as_str(), said) }
        });
        let others =
            self.shown.findings.iter().filter(|f| !self.places.iter().any(|p| std::ptr::eq(p.0, *f)));
        let others = others.map(|f| swatch(LinearRgb::WHITE, f.code.as_str(), f.count.to_string()));
        let rows: Vec<Swatch> = numbered.chain(others).collect();
        if !rows.is_empty() {
            legends.push(Legend::Swatches { title: "Findings".into(), rows });
        }
        legends
    }
}

/// A coordinate; none reads −0.
fn signed(mm: f32) -> String {
    let text = format!("{mm:.1}");
    if text == "-0.0" { "0.0".into() } else { text }
}

/// How many edges there are, and how many of them no side shows.
fn counted(seen: &[bool]) -> String {
    match seen.iter().filter(|s| !**s).count() {
        0 => seen.len().to_string(),
        hidden => format!("{}, {hidden} of them out of sight", seen.len()),
    }
}

fn swatch(colour: LinearRgb, name: &str, range: String) -> Swatch {
    Swatch { letter: String::new(), colour, pattern: Pattern::Plain, name: name.into(), range }
}

/// A filled circle.
fn disc(image: &mut Image, [x, y]: [f32; 2], radius: f32, colour: LinearRgb) {
    let [left, top] = [x, y].map(|at| (at - radius - 1.0).floor() as i64);
    let size = (2.0 * radius).ceil() as i64 + 3;
    for (u, v) in (0..size * size).map(|i| (left + i % size, top + i / size)) {
        let far = (u as f32 + 0.5 - x).hypot(v as f32 + 0.5 - y);
        image.mix_light(u, v, colour, (radius + 0.5 - far).clamp(0.0, 1.0));
    }
}

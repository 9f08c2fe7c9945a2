//! Views as SVG: areas and lines as outlines, sharp at any size, lengths in mm of paper.
//!
//! What is flat in a look (bands, zones, reach) is filled outlines; what is smooth is a picture under the lines.

use crate::trace::{Border, Traced};
use crate::{Image, Placed, Stroke, Swatch};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use grisaille_base::{Stop, Watch};
use grisaille_colour::LinearRgb;
use std::fmt::Write;

/// Width of a drawn line in mm of paper: a fine pen.
const PEN: f64 = 0.12;
/// Of a border between two areas.
const FINE: f64 = 0.08;
/// Borders on print leave their line by no more than this, mm.
const LOOSE: f64 = 0.04;
/// A ring no longer than this, mm, is a dot.
const RING: f64 = 0.6;
/// Height of letters and of text in mm of paper.
const LETTER: f64 = 2.4;
/// White round a view, and between views.
const GAP: f64 = 4.0;

/// The numbers of an SVG: how many pixels a mm of paper has, how many of the SVG's own units, and how many places to
/// round to a unit has.
#[derive(Clone, Copy, Debug)]
struct Grid {
    pixels_per_mm: f64,
    units_per_mm: f64,
    places_per_unit: i64,
}

impl Grid {
    /// Units are mm, with two digits behind the point: for files that a painter may edit.
    fn in_mm(pixels_per_mm: f64) -> Self {
        Self { pixels_per_mm, units_per_mm: 1.0, places_per_unit: 100 }
    }

    /// Whole numbers of 0.02 mm, as fine as printers print: short, since a guide has a hundred thousand of them.
    fn in_short(pixels_per_mm: f64) -> Self {
        Self { pixels_per_mm, units_per_mm: 50.0, places_per_unit: 1 }
    }

    /// The size of a picture in units.
    fn size(self, size_px: [u32; 2]) -> [f64; 2] {
        size_px.map(|px| f64::from(px) / self.pixels_per_mm * self.units_per_mm)
    }

    /// A length on a picture in places.
    fn places(self, px: f64) -> i64 {
        (px / self.pixels_per_mm * self.units_per_mm * self.places_per_unit as f64).round() as i64
    }

    /// Places as the SVG writes them, without needless digits.
    fn write(self, places: i64) -> String {
        let (whole, rest) = (places.abs() / self.places_per_unit, places.abs() % self.places_per_unit);
        let sign = if places < 0 { "-" } else { "" };
        match rest {
            0 => format!("{sign}{whole}"),
            // Units have a hundred places where they have more than one.
            rest => format!("{sign}{whole}.{rest:02}").trim_end_matches('0').to_owned(),
        }
    }
}

/// How borders between areas are drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BorderPen {
    /// The width of the line in mm of paper.
    pub width: f64,
    /// How black it is, 0 to 1.
    pub strength: f64,
}

impl BorderPen {
    /// Fine, for areas that fill the figure.
    pub const FINE: Self = Self { width: FINE, strength: 0.5 };
}

/// How contours and creases are drawn.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Contours {
    /// As what is to be seen.
    #[default]
    Plain,
    /// Pale, under lines that matter more.
    Faint,
}

impl Contours {
    /// How black they are, 0 to 1.
    fn strength(self) -> f64 {
        match self {
            Self::Plain => 0.85,
            Self::Faint => 0.3,
        }
    }
}

/// A view to be written as SVG.
#[derive(Clone, Debug)]
pub struct SvgView {
    /// Such as "From the front".
    pub words: String,
    /// Its size in pixels.
    pub size_px: [u32; 2],
    /// The shading, where the look is smooth.
    pub shading: Option<Image>,
    /// Areas with their names and colours, and their borders.
    pub areas: Option<SvgAreas>,
    /// Contours and creases.
    pub strokes: Vec<Stroke>,
    /// Letters with their ink and where they stand.
    pub letters: Vec<(Placed, String, LinearRgb)>,
}

/// Flat areas of a view.
#[derive(Clone, Debug)]
pub struct SvgAreas {
    /// Their outlines.
    pub traced: Traced,
    /// Label, name and colour of each that is filled.
    pub fills: Vec<(u16, String, LinearRgb)>,
}

/// A whole SVG file: title, views side by side, list of colours. `pixels_per_mm` is the fineness of the views on paper.
///
/// # Errors
/// [`Stop`] when cancelled.
pub fn svg(
    title: &str,
    note: &str,
    views: &[SvgView],
    rows: &[Swatch],
    pixels_per_mm: f64,
    watch: &Watch,
) -> Result<String, Stop> {
    let mm = |px: u32| f64::from(px) / pixels_per_mm;
    let head = 4.0 * LETTER;
    let tall = views.iter().map(|v| mm(v.size_px[1])).fold(0.0, f64::max);
    let wide = views.iter().map(|v| mm(v.size_px[0]) + GAP).sum::<f64>() + GAP;
    let legend = if rows.is_empty() { 0.0 } else { (rows.len() as f64 + 1.0) * 2.0 * LETTER };
    let (width, height) = (wide.max(90.0), head + tall + 3.0 * LETTER + legend + GAP);
    let mut out = String::new();
    // Writing to a string cannot fail.
    let _ = writeln!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width:.2}mm\" height=\"{height:.2}mm\" \
         viewBox=\"0 0 {width:.2} {height:.2}\" font-family=\"Noto Sans, sans-serif\" font-size=\"{LETTER}\">\n\
         <title>{}</title>\n<desc>{}</desc>\n<rect width=\"100%\" height=\"100%\" fill=\"#ffffff\"/>",
        escaped(title),
        escaped(note)
    );
    text(&mut out, [GAP, 1.6 * LETTER], 1.5 * LETTER, "start", "#1f1f1f", title);
    text(&mut out, [GAP, 3.1 * LETTER], LETTER, "start", "#5a5a5a", note);
    let mut left = GAP;
    for view in views {
        watch.check()?;
        let _ = writeln!(
            out,
            "<g id=\"{}\" transform=\"translate({left:.3} {:.3})\">\n<title>{}</title>",
            id_of(&view.words),
            head + tall - mm(view.size_px[1]),
            escaped(&view.words)
        );
        one(&mut out, view, pixels_per_mm, watch)?;
        let at = [0.5 * mm(view.size_px[0]), mm(view.size_px[1]) + 1.6 * LETTER];
        text(&mut out, at, LETTER, "middle", "#1f1f1f", &view.words);
        out.push_str("</g>\n");
        left += mm(view.size_px[0]) + GAP;
    }
    let mut down = head + tall + 4.0 * LETTER;
    for row in rows {
        let _ = writeln!(
            out,
            "<rect x=\"{GAP}\" y=\"{:.3}\" width=\"6\" height=\"{:.2}\" fill=\"{}\" stroke=\"#5a5a5a\" stroke-width=\"{FINE}\"/>",
            down - 1.2 * LETTER,
            1.6 * LETTER,
            hex(row.colour)
        );
        let words = [row.letter.as_str(), row.name.as_str(), row.range.as_str()];
        let words: Vec<&str> = words.into_iter().filter(|w| !w.is_empty()).collect();
        text(&mut out, [GAP + 8.0, down], LETTER, "start", "#1f1f1f", &words.join("  "));
        down += 2.0 * LETTER;
    }
    out.push_str("</svg>\n");
    Ok(out)
}

/// The lines of a view alone, on nothing, to be laid over a picture of it: contours and creases, and borders between
/// areas, so wide in mm of paper.
#[must_use]
pub fn line_svg(
    size_px: [u32; 2],
    (strokes, drawn): (&[Stroke], Contours),
    borders: Option<(&Traced, BorderPen)>,
    pixels_per_mm: f64,
) -> String {
    let grid = Grid::in_short(pixels_per_mm);
    let mut out = begun(size_px, grid);
    if let Some((traced, pen)) = borders {
        // Nothing is filled up to them here, so that they may be as loose as contours.
        let traced = traced.loosened(LOOSE * pixels_per_mm);
        inner_borders(&mut out, &traced, pen, grid);
    }
    contours(&mut out, strokes, drawn, grid);
    out.push_str("</svg>\n");
    out
}

/// How lines that are marked on a figure are drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LinePen {
    /// The width of the line in mm of paper.
    pub width: f64,
    /// Its colour.
    pub ink: LinearRgb,
    /// Whether it is dashed, so that it is told apart without its colour.
    pub dashed: bool,
}

/// Lines that are marked on a figure, on nothing, to be laid over a picture of it; the last drawn lie on top.
#[must_use]
pub fn marked_svg(size_px: [u32; 2], marked: &[(&[Stroke], LinePen)], pixels_per_mm: f64) -> String {
    let grid = Grid::in_short(pixels_per_mm);
    let mut out = begun(size_px, grid);
    for (strokes, pen) in marked.iter().filter(|(strokes, _)| !strokes.is_empty()) {
        let width = pen.width * grid.units_per_mm;
        let dash = if pen.dashed { format!("{:.0} {:.0}", 3.5 * width, 2.5 * width) } else { "none".into() };
        // Writing to a string cannot fail.
        let _ = write!(
            out,
            "<path fill=\"none\" stroke=\"{}\" stroke-width=\"{width:.1}\" stroke-dasharray=\"{dash}\" \
             stroke-linecap=\"{}\" stroke-linejoin=\"round\" d=\"",
            hex(pen.ink),
            if pen.dashed { "butt" } else { "round" }
        );
        for stroke in *strokes {
            path(&mut out, &stroke.points, stroke.closed, grid);
        }
        out.push_str("\"/>\n");
    }
    out.push_str("</svg>\n");
    out
}

/// The head of an SVG of lines alone.
fn begun(size_px: [u32; 2], grid: Grid) -> String {
    let [w, h] = grid.size(size_px);
    let [wide, high] = [w, h].map(|units| units / grid.units_per_mm);
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{wide:.3}mm\" height=\"{high:.3}mm\" viewBox=\"0 0 {w:.2} {h:.2}\">\n"
    )
}

/// Borders between areas; what meets paper is the contour's.
fn inner_borders(out: &mut String, traced: &Traced, pen: BorderPen, grid: Grid) {
    // What is no longer than the pen is wide would be a dot, and so is a ring of no more than this.
    let is_line = |b: &&Border| {
        let steps = b.points.windows(2).map(|w| (w[1][0] - w[0][0]).hypot(w[1][1] - w[0][1]));
        steps.sum::<f64>() / grid.pixels_per_mm > if b.closed { RING } else { pen.width.max(FINE) }
    };
    let inner = traced.borders.iter().filter(|b| !b.sides.contains(&crate::Areas::NONE)).filter(is_line);
    lines(out, inner.map(|b| (b.points.as_slice(), b.closed)), pen.width, pen.strength, grid);
}

fn contours(out: &mut String, strokes: &[Stroke], drawn: Contours, grid: Grid) {
    lines(out, strokes.iter().map(|s| (s.points.as_slice(), s.closed)), PEN, drawn.strength(), grid);
}

fn one(out: &mut String, view: &SvgView, pixels_per_mm: f64, watch: &Watch) -> Result<(), Stop> {
    let grid = Grid::in_mm(pixels_per_mm);
    if let Some(image) = &view.shading {
        let data = STANDARD.encode(image.png(pixels_per_mm, watch)?);
        let [w, h] = grid.size(view.size_px);
        let _ = writeln!(
            out,
            "<image width=\"{w:.3}\" height=\"{h:.3}\" preserveAspectRatio=\"none\" href=\"data:image/png;base64,{data}\"/>"
        );
    }
    if let Some(areas) = &view.areas {
        for (label, name, colour) in &areas.fills {
            watch.check()?;
            let rings = areas.traced.rings(*label);
            if rings.is_empty() {
                continue;
            }
            let _ = write!(out, "<path fill=\"{}\" fill-rule=\"evenodd\" d=\"", hex(*colour));
            for ring in &rings {
                path(out, ring, true, grid);
            }
            let _ = writeln!(out, "\"><title>{}</title></path>", escaped(name));
        }
        inner_borders(out, &areas.traced, BorderPen::FINE, grid);
    }
    contours(out, &view.strokes, Contours::Plain, grid);
    for (place, words, ink) in &view.letters {
        let [x, y] = [place.x_px, place.y_px].map(|px| f64::from(px) / pixels_per_mm);
        let at = [x, y + 0.36 * LETTER];
        text(out, at, LETTER, "middle", &hex(*ink), words);
    }
    Ok(())
}

/// All of one kind of line as one path.
fn lines<'a>(
    out: &mut String,
    lines: impl Iterator<Item = (&'a [[f64; 2]], bool)>,
    width: f64,
    strength: f64,
    grid: Grid,
) {
    let width = width * grid.units_per_mm;
    let _ = write!(
        out,
        "<path fill=\"none\" stroke=\"#000000\" stroke-opacity=\"{strength}\" stroke-width=\"{width}\" \
         stroke-linecap=\"round\" stroke-linejoin=\"round\" d=\""
    );
    for (points, closed) in lines {
        path(out, points, closed, grid);
    }
    out.push_str("\"/>\n");
}

/// A line in a path's own words: absolute start, then steps from place to place.
fn path(out: &mut String, points: &[[f64; 2]], closed: bool, grid: Grid) {
    let mut places: Vec<[i64; 2]> = points.iter().map(|p| p.map(|px| grid.places(px))).collect();
    places.dedup();
    let Some(first) = places.first() else { return };
    let _ = write!(out, "M{} {}", grid.write(first[0]), grid.write(first[1]));
    if places.len() > 1 {
        out.push('l');
    }
    for (n, w) in places.windows(2).enumerate() {
        let space = if n > 0 { " " } else { "" };
        let [x, y] = [0, 1].map(|k| grid.write(w[1][k] - w[0][k]));
        let _ = write!(out, "{space}{x} {y}");
    }
    if closed {
        out.push('z');
    }
}

fn text(out: &mut String, [x, y]: [f64; 2], size: f64, anchor: &str, ink: &str, words: &str) {
    let _ = writeln!(
        out,
        "<text x=\"{x:.2}\" y=\"{y:.2}\" font-size=\"{size:.2}\" text-anchor=\"{anchor}\" fill=\"{ink}\">{}</text>",
        escaped(words)
    );
}

fn hex(colour: LinearRgb) -> String {
    let [r, g, b] = colour.to_srgb8();
    format!("#{r:02x}{g:02x}{b:02x}")
}

/// Text within XML: its five signs spelled, and what XML 1.0 does not allow left out.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&apos;"),
            '\t' | '\n' | '\r' => out.push(' '),
            c if u32::from(c) < 0x20 || matches!(u32::from(c), 0xFFFE | 0xFFFF) => {}
            c => out.push(c),
        }
    }
    out
}

/// Words as an id: small letters and hyphens.
fn id_of(words: &str) -> String {
    let small = words.to_lowercase();
    let parts: Vec<&str> =
        small.split(|c: char| !c.is_ascii_alphanumeric()).filter(|p| !p.is_empty()).collect();
    format!("view-{}", parts.join("-"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short_and_text_is_safe() {
        let (mm, short) = (Grid::in_mm(6.0), Grid::in_short(6.0));
        let places = [0, 5, -5, 100, -120, 12_345];
        assert_eq!(places.map(|n| mm.write(n)), ["0", "0.05", "-0.05", "1", "-1.2", "123.45"]);
        assert_eq!(places.map(|n| short.write(n)), ["0", "5", "-5", "100", "-120", "12345"]);
        assert_eq!([mm.places(12.0), short.places(12.0)], [200, 100]);
        assert_eq!(
            escaped("a<b> & \"c\" 'd'\u{0}\u{FFFF}\n"),
            "a&lt;b&gt; &amp; &quot;c&quot; &apos;d&apos; "
        );
        assert_eq!(id_of("From your left, 20° above"), "view-from-your-left-20-above");
    }

    #[test]
    fn a_path_comes_back_to_its_places() {
        let mut out = String::new();
        path(&mut out, &[[0.0, 0.0], [10.0, 0.0], [10.0, 5.0]], true, Grid::in_mm(10.0));
        assert_eq!(out, "M0 0l1 0 0 0.5z");
        // Rounding never adds up: steps are between rounded places.
        let places: Vec<[f64; 2]> = (0..1000).map(|i| [0.0334 * f64::from(i), 0.0]).collect();
        let mut out = String::new();
        path(&mut out, &places, false, Grid::in_mm(1.0));
        let sum: f64 = out[5..].split(' ').step_by(2).map(|x| x.parse::<f64>().unwrap()).sum();
        assert!((sum - 33.37).abs() < 1e-6, "{sum}");
    }
}

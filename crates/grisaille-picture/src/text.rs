//! Text on a picture, in Noto Sans (SIL Open Font License 1.1).

use crate::{Image, Placed};
use ab_glyph::{Font, FontRef, Glyph, GlyphId, PxScale, ScaleFont, point};
use grisaille_colour::LinearRgb;
use std::sync::LazyLock;

/// The most characters of one line of text that are drawn.
const LONGEST: usize = 400;

static REGULAR: LazyLock<Option<FontRef<'static>>> =
    LazyLock::new(|| FontRef::try_from_slice(notosans::REGULAR_TTF).ok());
static BOLD: LazyLock<Option<FontRef<'static>>> =
    LazyLock::new(|| FontRef::try_from_slice(notosans::BOLD_TTF).ok());

/// How heavy the letters are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// Book weight, for reading.
    Regular,
    /// Bold, for titles and for letters on a figure.
    Bold,
}

impl Weight {
    fn font(self) -> Option<&'static FontRef<'static>> {
        match self {
            Self::Regular => REGULAR.as_ref(),
            Self::Bold => BOLD.as_ref(),
        }
    }
}

/// How a line of text is set.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TextStyle {
    /// Size of the em square in pixels; small letters are 0.54 of that.
    pub size_px: f32,
    /// How heavy the letters are.
    pub weight: Weight,
    /// Their colour.
    pub ink: LinearRgb,
}

impl TextStyle {
    /// A style of this size (held to 1..=400 px), weight and colour.
    #[must_use]
    pub fn new(size_px: f32, weight: Weight, ink: LinearRgb) -> Self {
        Self { size_px: if size_px.is_nan() { 1.0 } else { size_px.clamp(1.0, 400.0) }, weight, ink }
    }

    /// The width of a line of text in pixels.
    #[must_use]
    pub fn width(&self, text: &str) -> f32 {
        self.set(text).1
    }

    /// The text itself if it is at most `width_px` wide, or else its
    /// beginning and an ellipsis that together are.
    #[must_use]
    pub fn shortened(&self, text: &str, width_px: f32) -> String {
        if self.width(text) <= width_px {
            return text.to_owned();
        }
        let mut kept: Vec<char> = text.chars().take(LONGEST).collect();
        while kept.pop().is_some() {
            let shorter = format!("{}…", kept.iter().collect::<String>().trim_end());
            if self.width(&shorter) <= width_px {
                return shorter;
            }
        }
        String::new()
    }

    /// The glyphs of a line from x = 0 on, and how far it runs.
    fn set(&self, text: &str) -> (Vec<Glyph>, f32) {
        let Some(font) = self.weight.font() else { return (Vec::new(), 0.0) };
        let em = font.units_per_em().unwrap_or(1000.0);
        let scale = PxScale::from(self.size_px * font.height_unscaled() / em);
        let scaled = font.as_scaled(scale);
        let (mut glyphs, mut x) = (Vec::new(), 0.0);
        let mut before = None;
        for c in printable(font, text).chars().take(LONGEST) {
            let id = font.glyph_id(c);
            if let Some(before) = before {
                x += scaled.kern(before, id);
            }
            glyphs.push(id.with_scale_and_position(scale, point(x, 0.0)));
            x += scaled.h_advance(id);
            before = Some(id);
        }
        (glyphs, x)
    }
}

/// The characters that the font lacks, each once, in order of appearance.
/// They are drawn as [U+XXXX].
#[must_use]
pub fn missing_glyphs(text: &str) -> Vec<char> {
    let mut missing = Vec::new();
    if let Some(font) = Weight::Regular.font() {
        for c in text.chars() {
            if !c.is_whitespace() && font.glyph_id(c) == GlyphId(0) && !missing.contains(&c) {
                missing.push(c);
            }
        }
    }
    missing
}

/// The text with white space as plain spaces and each missing glyph as [U+XXXX].
fn printable(font: &FontRef<'_>, text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if c.is_whitespace() {
            out.push(' ');
        } else if font.glyph_id(c) == GlyphId(0) {
            out.push_str(&format!("[U+{:04X}]", u32::from(c)));
        } else {
            out.push(c);
        }
    }
    out
}

impl Image {
    /// Sets a line of text with its left end at `x` and its baseline at `y`
    /// pixels, and answers where it ends. What leaves the picture is cut off.
    pub fn text(&mut self, x: f32, y: f32, text: &str, style: &TextStyle) -> f32 {
        let (glyphs, width) = style.set(text);
        // A baseline on whole pixels keeps the feet of the letters crisp.
        self.glyphs(&glyphs, style, x, y.round(), style.ink, 1.0);
        x + width
    }

    /// Sets a short text, such as a band's letter, with the middle of its
    /// shape at `x`, `y`; with a `halo` it stands on a rim of that colour.
    pub fn letter(&mut self, x: f32, y: f32, text: &str, style: &TextStyle, halo: Option<LinearRgb>) {
        let (glyphs, _) = style.set(text);
        let Some(font) = style.weight.font() else { return };
        let mut bounds: Option<ab_glyph::Rect> = None;
        for outline in glyphs.iter().filter_map(|g| font.outline_glyph(g.clone())) {
            let b = outline.px_bounds();
            bounds = Some(bounds.map_or(b, |all| ab_glyph::Rect {
                min: point(all.min.x.min(b.min.x), all.min.y.min(b.min.y)),
                max: point(all.max.x.max(b.max.x), all.max.y.max(b.max.y)),
            }));
        }
        let Some(bounds) = bounds else { return };
        let left = x - 0.5 * (bounds.min.x + bounds.max.x);
        let base = (y - 0.5 * (bounds.min.y + bounds.max.y)).round();
        if let Some(halo) = halo {
            let rim = (style.size_px * 0.09).max(1.5);
            for k in 0..16_u8 {
                let (sin, cos) = (f32::from(k) * std::f32::consts::TAU / 16.0).sin_cos();
                self.glyphs(&glyphs, style, left + rim * cos, base + rim * sin, halo, 0.55);
            }
        }
        self.glyphs(&glyphs, style, left, base, style.ink, 1.0);
    }

    /// Sets a letter at each place. `of` gives the text of a label, its ink
    /// and, where wanted, a halo; `size_px` is the em size. A letter larger
    /// than its place is set as large as the place allows.
    pub fn letters(
        &mut self,
        places: &[Placed],
        size_px: f32,
        of: impl Fn(u16) -> (String, LinearRgb, Option<LinearRgb>),
    ) {
        for place in places {
            let (text, ink, halo) = of(place.label);
            // A capital is about 0.72 em high; its corners lie 0.5 em from its middle.
            let style = TextStyle::new(size_px.min(place.radius_px * 2.0), Weight::Bold, ink);
            self.letter(place.x_px, place.y_px, &text, &style, halo);
        }
    }

    fn glyphs(&mut self, glyphs: &[Glyph], style: &TextStyle, x: f32, y: f32, ink: LinearRgb, share: f32) {
        let Some(font) = style.weight.font() else { return };
        for glyph in glyphs {
            let mut glyph = glyph.clone();
            glyph.position = point(glyph.position.x + x, glyph.position.y + y);
            if !(glyph.position.x.abs() < 1e6 && glyph.position.y.abs() < 1e6) {
                continue;
            }
            if let Some(outline) = font.outline_glyph(glyph) {
                let corner = outline.px_bounds().min;
                let (left, top) = (corner.x as i64, corner.y as i64);
                outline.draw(|gx, gy, cover| {
                    self.mix_stored(left + i64::from(gx), top + i64::from(gy), ink, cover * share);
                });
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn body() -> TextStyle {
        TextStyle::new(20.0, Weight::Regular, LinearRgb::BLACK)
    }

    /// The box of pixels that are darker than half.
    fn inked(image: &Image) -> Option<(u32, u32, u32, u32)> {
        let dark = |x: u32, y: u32| image.pixel(x, y).is_some_and(|p| p[0] < 128);
        let all: Vec<(u32, u32)> = (0..image.height())
            .flat_map(|y| (0..image.width()).map(move |x| (x, y)))
            .filter(|&(x, y)| dark(x, y))
            .collect();
        Some((
            all.iter().map(|p| p.0).min()?,
            all.iter().map(|p| p.1).min()?,
            all.iter().map(|p| p.0).max()?,
            all.iter().map(|p| p.1).max()?,
        ))
    }

    #[test]
    fn both_weights_are_there_and_small_letters_are_ten_pixels_high() {
        assert!(Weight::Regular.font().is_some() && Weight::Bold.font().is_some());
        let mut image = Image::new(60, 60, LinearRgb::WHITE);
        image.text(10.0, 40.0, "x", &body());
        let (_, top, _, bottom) = inked(&image).unwrap();
        assert_eq!(bottom, 39);
        assert!(bottom + 1 - top >= 10, "{top} {bottom}");
    }

    #[test]
    fn a_letter_sits_in_the_middle() {
        for text in ["A", "g", "Q", "12"] {
            let mut image = Image::new(101, 101, LinearRgb::WHITE);
            image.letter(50.5, 50.5, text, &TextStyle::new(40.0, Weight::Bold, LinearRgb::BLACK), None);
            let (left, top, right, bottom) = inked(&image).unwrap();
            assert!((left + right).abs_diff(100) <= 2 && (top + bottom).abs_diff(100) <= 2, "{text}");
        }
    }

    #[test]
    fn what_the_font_lacks_is_named_and_drawn_by_number() {
        assert_eq!(missing_glyphs("Kupfer æøå ñ Ω я – … ° × 10 %"), Vec::<char>::new());
        assert_eq!(missing_glyphs("a銅b銅\u{1F41F}\n"), ['銅', '\u{1F41F}']);
        assert_eq!(body().width("a銅"), body().width("a[U+9285]"));
    }

    #[test]
    fn long_text_is_shortened_to_fit() {
        let name = "Copper helmet with the three round windows";
        let short = body().shortened(name, 150.0);
        assert!(short.ends_with('…') && body().width(&short) <= 150.0, "{short}");
        assert_eq!(body().shortened("rope", 150.0), "rope");
        assert_eq!(body().shortened(name, 1.0), "");
    }

    #[test]
    fn text_off_the_picture_does_no_harm() {
        let mut image = Image::new(9, 9, LinearRgb::WHITE);
        let blank = image.clone();
        for (x, y) in [(1e30, 0.0), (f32::NAN, 0.0), (-500.0, f32::NEG_INFINITY), (0.0, 900.0)] {
            image.text(x, y, "reef", &body());
            image.letter(x, y, "A", &body(), Some(LinearRgb::BLACK));
        }
        image.letter(4.0, 4.0, "", &body(), None);
        image.letter(4.0, 4.0, " ", &body(), None);
        assert_eq!(image, blank);
    }
}

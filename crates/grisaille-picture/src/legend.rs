//! Legends: what the colours, greys, letters and patterns of a picture mean.

use crate::{Image, Pattern, TextStyle, Weight};
use grisaille_colour::LinearRgb;

/// A mark on a continuous scale.
#[derive(Clone, Debug, PartialEq)]
pub struct Tick {
    /// Where on the scale, 0 (lower end) to 1 (upper end).
    pub at: f64,
    /// The number, such as "50 %"; may be empty.
    pub number: String,
    /// What it means in words, such as "half light"; may be empty.
    pub words: String,
}

/// One line of a list of swatches.
#[derive(Clone, Debug, PartialEq)]
pub struct Swatch {
    /// The letter that stands on the figure; may be empty.
    pub letter: String,
    /// The flat colour of the swatch.
    pub colour: LinearRgb,
    /// The pattern over it.
    pub pattern: Pattern,
    /// Its name.
    pub name: String,
    /// Its range or share, such as "L* 22–36"; may be empty.
    pub range: String,
}

/// A legend with its heading.
#[derive(Clone, Debug)]
pub enum Legend {
    /// A continuous scale as an upright bar, the upper end on top.
    Scale {
        /// Heading.
        title: String,
        /// The colour at 0 to 1.
        colour: fn(f64) -> LinearRgb,
        /// Numbers and words beside it.
        ticks: Vec<Tick>,
    },
    /// Swatches, one below the other: bands, or zones with their patterns.
    Swatches {
        /// Heading.
        title: String,
        /// The lines from the top.
        rows: Vec<Swatch>,
    },
}

/// Sizes and colours shared by all legends of a sheet.
#[derive(Clone, Copy, Debug)]
pub(crate) struct LegendStyle {
    /// Em size of body text in pixels: the unit of everything here.
    pub(crate) body_px: f32,
    /// Distance between the marks of patterns in pixels.
    pub(crate) pitch_px: f32,
    /// Colour of names and headings.
    pub(crate) ink: LinearRgb,
    /// Colour of ranges and thin lines.
    pub(crate) quiet: LinearRgb,
}

/// Height of one line, in ems.
const LINE: f32 = 2.1;
/// From the top of a legend to its first line, in ems.
const HEADING: f32 = 2.3;
/// Width of a swatch, and of the bar of a scale, in ems.
const SWATCH: f32 = 2.9;
/// Height of a swatch, in ems.
const SWATCH_HEIGHT: f32 = 1.6;
/// The widest name or heading, in ems.
const WIDEST: f32 = 17.0;
/// Ticks closer than this, in ems, are moved apart.
const TICK: f32 = 1.5;

impl LegendStyle {
    fn plain(&self) -> TextStyle {
        TextStyle::new(self.body_px, Weight::Regular, self.ink)
    }

    fn bold(&self) -> TextStyle {
        TextStyle::new(self.body_px, Weight::Bold, self.ink)
    }

    fn quiet(&self) -> TextStyle {
        TextStyle::new(self.body_px, Weight::Regular, self.quiet)
    }
}

impl Legend {
    fn title(&self) -> &str {
        match self {
            Self::Scale { title, .. } | Self::Swatches { title, .. } => title,
        }
    }

    /// The two columns of text beside the bar or the swatches.
    fn columns(&self) -> Vec<(&str, &str)> {
        match self {
            Self::Scale { ticks, .. } => {
                ticks.iter().map(|t| (t.number.as_str(), t.words.as_str())).collect()
            }
            Self::Swatches { rows, .. } => rows.iter().map(|r| (r.name.as_str(), r.range.as_str())).collect(),
        }
    }

    fn lines(&self) -> f32 {
        self.columns().len().max(1) as f32
    }

    /// Where the second column begins, and the whole width, in pixels.
    fn widths(&self, style: &LegendStyle) -> (f32, f32) {
        let u = style.body_px;
        let widest = |w: f32, text: &str, s: &TextStyle| w.max(s.width(&s.shortened(text, WIDEST * u)));
        let columns = self.columns();
        let first = columns.iter().fold(0.0, |w, c| widest(w, c.0, &self.first_style(style)));
        let second = columns.iter().fold(0.0, |w, c| widest(w, c.1, &style.quiet()));
        let begins = (SWATCH + 0.8) * u + first + if second > 0.0 && first > 0.0 { u } else { 0.0 };
        (begins, widest(begins + second, self.title(), &style.bold()))
    }

    fn first_style(&self, style: &LegendStyle) -> TextStyle {
        match self {
            Self::Scale { .. } => style.bold(),
            Self::Swatches { .. } => style.plain(),
        }
    }

    /// Width and height in pixels.
    pub(crate) fn size(&self, style: &LegendStyle) -> (f32, f32) {
        (self.widths(style).1.ceil(), ((HEADING + self.lines() * LINE) * style.body_px).ceil())
    }

    /// Draws the legend with its upper left corner at `x`, `y`.
    pub(crate) fn draw(&self, image: &mut Image, x: f32, y: f32, style: &LegendStyle) {
        let u = style.body_px;
        let bold = style.bold();
        image.text(x, y + u, &bold.shortened(self.title(), WIDEST * u), &bold);
        let top = y + HEADING * u;
        match self {
            Self::Scale { colour, ticks, .. } => self.draw_scale(image, x, top, *colour, ticks, style),
            Self::Swatches { rows, .. } => {
                for (i, row) in rows.iter().enumerate() {
                    let middle = top + (i as f32 + 0.5) * LINE * u;
                    swatch(image, x, middle, row, style);
                    self.draw_words(image, x, middle, (&row.name, &row.range), style);
                }
            }
        }
    }

    /// The two columns of one line, centred on `middle` by the height of small letters.
    fn draw_words(&self, image: &mut Image, x: f32, middle: f32, words: (&str, &str), style: &LegendStyle) {
        let u = style.body_px;
        let base = middle + 0.34 * u;
        let (first, quiet) = (self.first_style(style), style.quiet());
        let left = x + (SWATCH + 0.8) * u;
        image.text(left, base, &first.shortened(words.0, WIDEST * u), &first);
        let second = x + self.widths(style).0;
        image.text(second, base, &quiet.shortened(words.1, WIDEST * u), &quiet);
    }

    fn draw_scale(
        &self,
        image: &mut Image,
        x: f32,
        top: f32,
        colour: fn(f64) -> LinearRgb,
        ticks: &[Tick],
        style: &LegendStyle,
    ) {
        let u = style.body_px;
        // The bar begins and ends level with the first and the last swatch of
        // a list beside it.
        let inset = 0.5 * (LINE - SWATCH_HEIGHT);
        let (from, to) = ((top + inset * u).round(), (top + self.lines() * LINE * u - inset * u).round());
        let wide = (1.5 * u).round();
        let left = x.round();
        let high = (to - from).max(1.0);
        for row in 0..high as i64 {
            let t = 1.0 - (row as f64 + 0.5) / f64::from(high);
            let c = colour(t);
            for column in 0..wide as i64 {
                image.mix_light(left as i64 + column, from as i64 + row, c, 1.0);
            }
        }
        rim(image, left, from, left + wide, to, style.quiet);
        let mut sorted: Vec<&Tick> = ticks.iter().filter(|t| t.at.is_finite()).collect();
        sorted.sort_by(|a, b| b.at.total_cmp(&a.at));
        let ideal: Vec<f32> =
            sorted.iter().map(|t| (to - t.at.clamp(0.0, 1.0) as f32 * high).round()).collect();
        let mut set = ideal.clone();
        for i in 1..set.len() {
            set[i] = set[i].max(set[i - 1] + TICK * u);
        }
        let mut limit = to;
        for place in set.iter_mut().rev() {
            *place = place.min(limit);
            limit = *place - TICK * u;
        }
        for ((tick, middle), ideal) in sorted.iter().zip(set).zip(ideal) {
            let (start, end) = (left + wide, x + (SWATCH + 0.4) * u);
            let elbow = start + 0.5 * u;
            image.stroke([start, ideal], [elbow, ideal], 2.0, style.quiet);
            image.stroke([elbow, ideal], [end, middle], 2.0, style.quiet);
            self.draw_words(image, x, middle, (&tick.number, &tick.words), style);
        }
    }
}

/// One swatch with its pattern and letter, left edge at `x`, centred on `middle`.
fn swatch(image: &mut Image, x: f32, middle: f32, row: &Swatch, style: &LegendStyle) {
    let u = style.body_px;
    let (left, right) = (x.round(), (x + SWATCH * u).round());
    let top = (middle - 0.5 * SWATCH_HEIGHT * u).round();
    let bottom = top + (SWATCH_HEIGHT * u).round();
    let marks = Pattern::ink_on(row.colour);
    for py in top as i64..bottom as i64 {
        for px in left as i64..right as i64 {
            // Counted from the swatch's corner, so that equal swatches are equal.
            let (dx, dy) = ((px - left as i64) as u32, (py - top as i64) as u32);
            image.mix_light(px, py, row.colour, 1.0);
            image.mix_light(px, py, marks, row.pattern.cover(dx, dy, style.pitch_px));
        }
    }
    rim(image, left, top, right, bottom, style.quiet);
    if !row.letter.is_empty() {
        let ink = TextStyle::new(u * 1.1, Weight::Bold, row.colour.ink());
        let halo = (row.pattern != Pattern::Plain).then_some(row.colour);
        let text = ink.shortened(&row.letter, SWATCH * u);
        image.letter(0.5 * (left + right), 0.5 * (top + bottom), &text, &ink, halo);
    }
}

/// A thin rim inside a rectangle.
fn rim(image: &mut Image, left: f32, top: f32, right: f32, bottom: f32, ink: LinearRgb) {
    for (a, b) in [
        ([left, top + 0.5], [right, top + 0.5]),
        ([left, bottom - 0.5], [right, bottom - 0.5]),
        ([left + 0.5, top], [left + 0.5, bottom]),
        ([right - 0.5, top], [right - 0.5, bottom]),
    ] {
        image.stroke(a, b, 1.0, ink);
    }
}

//! A sheet: title, views side by side, a size bar and legends, laid out with
//! room around them.

use crate::legend::LegendStyle;
use crate::{Frame, Image, Legend, TextStyle, Weight};
use grisaille_base::Lightness;
use grisaille_colour::{LinearRgb, luminance_from_lightness};

/// Sizes and colours of a sheet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SheetStyle {
    /// Em size of body text in pixels, held to 6..=100. At 20 small letters
    /// are 10 pixels high, which is 7 point at 300 dots an inch.
    pub body_px: f32,
    /// The widest that a sheet gets in pixels before views and legends go
    /// into the next row; a single view that is wider still is not cut.
    pub width_px: u32,
    /// Distance between the marks of patterns in pixels; give
    /// [`crate::Areas::patterns`] the same.
    pub pitch_px: f32,
    /// The ground.
    pub paper: LinearRgb,
    /// Text.
    pub ink: LinearRgb,
}

impl Default for SheetStyle {
    fn default() -> Self {
        Self {
            body_px: 22.0,
            width_px: 2400,
            pitch_px: 11.0,
            paper: LinearRgb::WHITE,
            ink: LinearRgb::grey(luminance_from_lightness(Lightness(12.0))),
        }
    }
}

struct Picture {
    image: Image,
    caption: String,
    mm_per_pixel: f64,
}

/// Composes a sheet. Add what it shows in reading order, then [`Canvas::compose`].
pub struct Canvas {
    style: SheetStyle,
    title: String,
    note: String,
    pictures: Vec<Picture>,
    legends: Vec<Legend>,
}

/// A box of the layout: its size, and where its upper left corner is put.
#[derive(Clone, Copy)]
struct Cell {
    size: (f32, f32),
    at: (f32, f32),
}

impl Canvas {
    /// An empty sheet.
    #[must_use]
    pub fn new(style: SheetStyle) -> Self {
        let body_px = if style.body_px.is_nan() { 22.0 } else { style.body_px.clamp(6.0, 100.0) };
        Self {
            style: SheetStyle { body_px, ..style },
            title: String::new(),
            note: String::new(),
            pictures: Vec::new(),
            legends: Vec::new(),
        }
    }

    /// The title, set large and bold on one line.
    #[must_use]
    pub fn title(mut self, text: impl Into<String>) -> Self {
        self.title = text.into();
        self
    }

    /// A line below the title: what to look at or what to do.
    #[must_use]
    pub fn note(mut self, text: impl Into<String>) -> Self {
        self.note = text.into();
        self
    }

    /// A view with its caption. `mm_per_pixel` is the frame's, for the size bar.
    #[must_use]
    pub fn picture(mut self, image: Image, caption: impl Into<String>, mm_per_pixel: f64) -> Self {
        self.pictures.push(Picture { image, caption: caption.into(), mm_per_pixel });
        self
    }

    /// A view captioned with the words of its frame's view.
    #[must_use]
    pub fn view(self, image: Image, frame: &Frame) -> Self {
        self.picture(image, frame.view().words(), frame.mm_per_pixel())
    }

    /// A legend; legends stand side by side below the views.
    #[must_use]
    pub fn legend(mut self, legend: Legend) -> Self {
        self.legends.push(legend);
        self
    }

    /// Draws the sheet. Long titles and captions are shortened to fit.
    #[must_use]
    pub fn compose(&self) -> Image {
        let u = self.style.body_px;
        let margin = 3.0 * u;
        let most = self.style.width_px.clamp(64, Image::MAX_SIDE) as f32 - 2.0 * margin;
        let legend_style = LegendStyle {
            body_px: u,
            pitch_px: self.style.pitch_px,
            ink: self.style.ink,
            quiet: self.quiet(),
        };

        let head = TextStyle::new(1.75 * u, Weight::Bold, self.style.ink);
        let note = TextStyle::new(u, Weight::Regular, self.quiet());
        let mut y = margin;
        let title_base = y + 1.35 * u;
        if !self.title.is_empty() {
            y += 2.1 * u;
        }
        let note_base = y + 1.1 * u;
        if !self.note.is_empty() {
            y += 1.8 * u;
        }
        if y > margin {
            y += 1.4 * u;
        }

        let one_scale = self.one_scale();
        let under = if one_scale.is_some() { 2.4 * u } else { 5.0 * u };
        let sizes: Vec<(f32, f32)> =
            self.pictures.iter().map(|p| (p.image.width() as f32, p.image.height() as f32 + under)).collect();
        let (views, mut wide) = flow(&sizes, y, most, (2.6 * u, 2.0 * u), true);
        if let Some(bottom) = bottom(&views) {
            y = bottom;
        }
        let bar_y = y + 1.2 * u;
        if one_scale.is_some() {
            y += 2.8 * u;
        }
        let rule_y = y + 1.2 * u;
        if !self.legends.is_empty() {
            y += 3.2 * u;
        }
        let sizes: Vec<(f32, f32)> = self.legends.iter().map(|l| l.size(&legend_style)).collect();
        let (legends, legends_wide) = flow(&sizes, y, most, (3.5 * u, 2.0 * u), false);
        wide = wide.max(legends_wide);
        if let Some(bottom) = bottom(&legends) {
            y = bottom;
        }
        wide = wide.max(head.width(&self.title).min(most)).max(note.width(&self.note).min(most));

        let mut page =
            Image::new((wide + 2.0 * margin).ceil() as u32, (y + margin).ceil() as u32, self.style.paper);
        page.text(margin, title_base, &head.shortened(&self.title, wide), &head);
        page.text(margin, note_base, &note.shortened(&self.note, wide), &note);
        let caption = TextStyle::new(u, Weight::Regular, self.style.ink);
        for (picture, cell) in self.pictures.iter().zip(&views) {
            let (x, top) = ((margin + cell.at.0).round(), cell.at.1.round());
            page.paste(&picture.image, x as i64, top as i64);
            let text = caption.shortened(&picture.caption, cell.size.0);
            let middle = x + 0.5 * (cell.size.0 - caption.width(&text));
            let base = top + picture.image.height() as f32 + 1.9 * u;
            page.text(middle, base, &text, &caption);
            if one_scale.is_none() {
                self.size_bar(&mut page, x, base + 1.6 * u, picture.mm_per_pixel, cell.size.0);
            }
        }
        if let Some(mm_per_pixel) = one_scale {
            self.size_bar(&mut page, margin, bar_y, mm_per_pixel, wide.min(14.0 * u));
        }
        if !self.legends.is_empty() {
            let faint = self.style.paper.lerp(self.style.ink, 0.25);
            page.stroke([margin, rule_y], [margin + wide, rule_y], 1.5, faint);
        }
        for (legend, cell) in self.legends.iter().zip(&legends) {
            legend.draw(&mut page, margin + cell.at.0, cell.at.1, &legend_style);
        }
        page
    }

    /// Text that stands back: about L* 38 on white, a contrast above 7.
    fn quiet(&self) -> LinearRgb {
        self.style.paper.lerp(self.style.ink, 0.915)
    }

    /// The scale, if all views share one.
    fn one_scale(&self) -> Option<f64> {
        let first = self.pictures.first()?.mm_per_pixel;
        let same = |p: &Picture| ((p.mm_per_pixel - first) / first).abs() < 1e-6;
        self.pictures.iter().all(same).then_some(first)
    }

    /// A bar of a round number of millimetres of the figure, at most `room` pixels long.
    fn size_bar(&self, page: &mut Image, x: f32, y: f32, mm_per_pixel: f64, room: f32) {
        let u = self.style.body_px;
        let Some(mm) = round_length(f64::from(room) * 0.9 * mm_per_pixel) else { return };
        let long = (mm / mm_per_pixel) as f32;
        let (x, y) = (x.round(), y.round());
        let (ink, tick) = (self.style.ink, 0.35 * u);
        page.stroke([x, y], [x + long, y], 3.0, ink);
        for end in [x + 1.0, x + long - 1.0] {
            page.stroke([end, y - tick], [end, y + tick], 2.0, ink);
        }
        let words = format!("{mm} mm on the figure");
        let style = TextStyle::new(u, Weight::Regular, ink);
        page.text(x + long + 0.7 * u, y + 0.34 * u, &words, &style);
    }
}

/// The longest of 1, 2, 5, 10, ... mm (down to 0.001) that is not longer than `mm`.
fn round_length(mm: f64) -> Option<f64> {
    let steps = [0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5]
        .into_iter()
        .chain((0..9).flat_map(|k| [1.0, 2.0, 5.0].map(|s| s * 10_f64.powi(k))));
    if mm.is_finite() { steps.take_while(|s| *s <= mm).last() } else { None }
}

/// Puts boxes into rows no wider than `most`, from `top` down. With `foot`
/// the boxes of a row stand on one line, else they hang from one. Answers
/// the boxes and the width of the widest row.
fn flow(sizes: &[(f32, f32)], top: f32, most: f32, gap: (f32, f32), foot: bool) -> (Vec<Cell>, f32) {
    let mut cells: Vec<Cell> = Vec::with_capacity(sizes.len());
    let (mut y, mut wide, mut begin) = (top, 0.0_f32, 0);
    while begin < sizes.len() {
        let (mut x, mut high, mut end) = (0.0, 0.0_f32, begin);
        while let Some(&size) = sizes.get(end) {
            if end > begin && x + size.0 > most {
                break;
            }
            cells.push(Cell { size, at: (x, y) });
            x += size.0 + gap.0;
            high = high.max(size.1);
            end += 1;
        }
        if foot {
            for cell in &mut cells[begin..end] {
                cell.at.1 += high - cell.size.1;
            }
        }
        wide = wide.max(x - gap.0);
        y += high + gap.1;
        begin = end;
    }
    (cells, wide)
}

/// The lowest edge of the boxes.
fn bottom(cells: &[Cell]) -> Option<f32> {
    cells.iter().map(|c| c.at.1 + c.size.1).reduce(f32::max)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Pattern, Swatch, Tick};
    use grisaille_colour::FalseColour;

    fn legend() -> Legend {
        Legend::Scale {
            title: "Daylight".into(),
            colour: FalseColour::at,
            ticks: vec![
                Tick { at: 1.0, number: "100 %".into(), words: "full light".into() },
                Tick { at: 0.0, number: "0 %".into(), words: "none".into() },
                Tick { at: 0.01, number: "1 %".into(), words: "a trace".into() },
                Tick { at: f64::NAN, number: "?".into(), words: String::new() },
            ],
        }
    }

    #[test]
    fn size_bars_are_round_numbers() {
        for (room, bar) in
            [(0.0007, None), (0.3, Some(0.2)), (4.99, Some(2.0)), (31.0, Some(20.0)), (5e9, Some(5e8))]
        {
            assert_eq!(round_length(room), bar);
        }
        assert_eq!(round_length(f64::NAN), None);
    }

    #[test]
    fn the_size_bar_is_true_to_scale() {
        let picture = Image::new(400, 50, LinearRgb::WHITE);
        let style = SheetStyle { ink: LinearRgb::BLACK, ..SheetStyle::default() };
        let page = Canvas::new(style).picture(picture, "", 0.05).compose();
        // The longest unbroken run of black in any row is the bar.
        let longest = page
            .rgb()
            .chunks(3)
            .collect::<Vec<_>>()
            .chunks(page.width() as usize)
            .map(|row| {
                row.chunk_by(|a, b| a == b).filter(|r| r[0] == [0; 3]).map(<[_]>::len).max().unwrap_or(0)
            })
            .max();
        assert_eq!(longest, Some((10.0_f64 / 0.05) as usize));
    }

    #[test]
    fn views_that_do_not_fit_go_into_the_next_row() {
        let view = || Image::new(500, 300, LinearRgb::BLACK);
        let narrow = SheetStyle { width_px: 1300, ..SheetStyle::default() };
        let of = |style: SheetStyle| {
            (0..3).fold(Canvas::new(style), |c, _| c.picture(view(), "View", 0.1)).compose()
        };
        let (one_row, two_rows) = (of(SheetStyle::default()), of(narrow));
        assert!(two_rows.width() < 1300 && two_rows.height() > one_row.height() + 300);
        let black = |p: &Image| p.rgb().chunks(3).filter(|p| *p == [0; 3]).count();
        assert!(black(&one_row) >= 450_000 && black(&two_rows) >= 450_000);
    }

    #[test]
    fn odd_sheets_are_composed_all_the_same() {
        let empty = Canvas::new(SheetStyle::default()).compose();
        assert!(empty.width() > 1);
        let rows = vec![Swatch {
            letter: "銅".into(),
            colour: LinearRgb::grey(0.2),
            pattern: Pattern::Dots,
            name: "x".repeat(3000),
            range: "y".repeat(3000),
        }];
        for body_px in [f32::NAN, -1.0, 1e9, 22.0] {
            let style = SheetStyle { body_px, width_px: 0, pitch_px: f32::NAN, ..SheetStyle::default() };
            let page = Canvas::new(style)
                .title("t".repeat(5000))
                .note("n".repeat(5000))
                .picture(Image::new(1, 1, LinearRgb::BLACK), "caption", f64::NAN)
                .picture(Image::new(3, 9, LinearRgb::BLACK), "caption", 0.0)
                .legend(legend())
                .legend(Legend::Scale { title: String::new(), colour: FalseColour::at, ticks: vec![] })
                .legend(Legend::Swatches { title: "Bands".into(), rows: rows.clone() })
                .legend(Legend::Swatches { title: String::new(), rows: vec![] })
                .compose();
            assert!(page.height() > 50);
        }
    }

    #[test]
    fn the_same_sheet_is_the_same_bytes() {
        let of = || Canvas::new(SheetStyle::default()).title("Reef base").legend(legend()).compose();
        assert_eq!(of(), of());
    }
}

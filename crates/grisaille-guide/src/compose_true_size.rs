//! True size: what is larger than a sheet, in parts that are laid together by register marks.

use crate::compose::{ABOVE, Composer, FRONT, SMOOTH};
use crate::sheets::{Picture, ViewPicture};
use crate::view_sheet::{NamedView, ViewSheet};
use grisaille_base::Stop;
use grisaille_colour::LinearRgb;
use grisaille_picture::{BorderPen, Contours, Frame, LineKind, LinePen, Look, Stroke, View, marked_svg};
use grisaille_words::say;

/// Parts overlap by this much, mm, so that their marks can be laid over each other.
const OVERLAP: f64 = 10.0;
/// Half the length of a mark's arms, mm.
const ARM: f64 = 4.0;
/// What takes more parts than this is not printed at true size.
const MOST: usize = 24;

impl Composer<'_> {
    /// The front, and the figure from above, at true size in parts; nothing for what fits on one sheet.
    pub(crate) fn true_size_sheets(&mut self) -> Result<Vec<ViewSheet>, Stop> {
        let mut sheets = Vec::new();
        let words = self.words;
        let room = self.paper.view();
        let (wide, tall) = (room.width.0, room.height.0 - 4.0);
        for view in [FRONT, ABOVE] {
            let extent = self.extents[view];
            if extent[0] <= wide && extent[1] <= tall {
                continue;
            }
            let parts = [parts(extent[0], wide), parts(extent[1], tall)];
            let count = parts[0].len() * parts[1].len();
            if count > MOST {
                continue;
            }
            for (row, down) in parts[1].iter().enumerate() {
                for (column, across) in parts[0].iter().enumerate() {
                    let picture = self.part(view, extent, [*across, *down])?;
                    let of = |k: usize| parts[k].len().to_string();
                    let name = say!(
                        words,
                        "true-size-part",
                        row = (row + 1).to_string(),
                        rows = of(1),
                        column = (column + 1).to_string(),
                        columns = of(0),
                    );
                    let view = ViewPicture { name, caption: String::new(), picture };
                    sheets.push(ViewSheet {
                        key: "true-size",
                        part: say!(words, "part-true-size"),
                        title: say!(words, "true-size-title"),
                        lead: say!(words, "true-size-lead"),
                        views: vec![NamedView { view, tags: Vec::new() }],
                        ..ViewSheet::default()
                    });
                }
            }
        }
        Ok(sheets)
    }

    /// One part of a view, `[from, to]` mm across and down from its upper left corner, with crosses where it meets
    /// others.
    fn part(
        &mut self,
        view: usize,
        extent: [f64; 2],
        [across, down]: [[f64; 2]; 2],
    ) -> Result<Picture, Stop> {
        let all = View::all();
        let whole = self.frame(&all[view], 1.0, SMOOTH);
        let from_middle =
            [0.5 * (across[0] + across[1]) - 0.5 * extent[0], 0.5 * (down[0] + down[1]) - 0.5 * extent[1]];
        let centre = whole.centre() + all[view].right() * from_middle[0] - all[view].up() * from_middle[1];
        let pixels = |[a, b]: [f64; 2]| ((b - a) * SMOOTH).round().max(1.0) as u32;
        let frame = Frame::new(all[view].clone(), 1.0 / SMOOTH, pixels(across), pixels(down), centre);
        let scene = self.scene(&frame, SMOOTH)?;
        let mut image = scene.shade_bare(Look::Tones, self.watch)?.image;
        image.to_grey();
        let mut lines = scene.lines_over(None, BorderPen::FINE, Contours::Plain, self.watch)?;
        let size = [across[1] - across[0], down[1] - down[0]];
        // In the middle of each overlap, a quarter of the way along it.
        let mut spots = Vec::new();
        for k in 0..2 {
            let (range, other) = if k == 0 { (across, size[1]) } else { (down, size[0]) };
            let inner = [
                (range[0] > 0.0).then_some(0.5 * OVERLAP),
                // The last part ends at the rim, but for what rounding leaves.
                (range[1] < extent[k] - 0.5 * OVERLAP).then_some(size[k] - 0.5 * OVERLAP),
            ];
            for at in inner.into_iter().flatten() {
                for share in [0.25, 0.75] {
                    spots.push(if k == 0 { [at, share * other] } else { [share * other, at] });
                }
            }
        }
        let line = |a: [f64; 2], b: [f64; 2]| Stroke {
            kind: LineKind::Course,
            points: vec![a.map(|mm| mm * SMOOTH), b.map(|mm| mm * SMOOTH)],
            closed: false,
        };
        let crosses: Vec<Stroke> = spots
            .iter()
            .flat_map(|[x, y]| [line([x - ARM, *y], [x + ARM, *y]), line([*x, y - ARM], [*x, y + ARM])])
            .collect();
        let pen = |width, ink| LinePen { width, ink, dashed: false };
        let layers = [
            (crosses.as_slice(), pen(0.9, LinearRgb::WHITE)),
            (crosses.as_slice(), pen(0.25, LinearRgb::BLACK)),
        ];
        lines.push(marked_svg([frame.width(), frame.height()], &layers, SMOOTH));
        let alt = say!(self.words, "alt-true-size", side = self.side(&all[view]));
        Ok(self.printed((&frame, SMOOTH, 1.0), image.jpeg(SMOOTH, self.watch)?, alt, lines))
    }
}

/// A length in parts no longer than `room`, each `[from, to]`, that overlap by [`OVERLAP`] and are equally long.
fn parts(length: f64, room: f64) -> Vec<[f64; 2]> {
    let count = ((length - OVERLAP) / (room - OVERLAP)).ceil().max(1.0);
    // What is no number has no parts.
    if !count.is_finite() || count > 1e4 {
        return vec![[0.0, room]; MOST + 1];
    }
    let each = (length + (count - 1.0) * OVERLAP) / count;
    (0..count as usize).map(|k| k as f64 * (each - OVERLAP)).map(|from| [from, from + each]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_cover_the_whole_and_overlap() {
        for (length, room, count) in
            [(100.0, 174.0, 1), (180.0, 174.0, 2), (338.0, 174.0, 2), (339.0, 174.0, 3)]
        {
            let parts = parts(length, room);
            assert_eq!(parts.len(), count, "{length}");
            assert!(parts[0][0] == 0.0 && (parts[count - 1][1] - length).abs() < 1e-9);
            assert!(parts.iter().all(|p| p[1] - p[0] <= room + 1e-9));
            assert!(parts.windows(2).all(|w| (w[0][1] - w[1][0] - OVERLAP).abs() < 1e-9));
        }
        assert!(parts(1e30, 174.0).len() > MOST);
    }
}

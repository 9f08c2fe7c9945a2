//! How views share a sheet: the largest whole enlargement that fits, and the
//! arrangement that leaves the least paper empty.

use crate::paper::{GAP, Paper};

/// White round a figure, in millimetres of paper.
pub(crate) const MARGIN: f64 = 1.0;
/// A column for legend and words beside the pictures, with its gutter.
const ASIDE: f64 = 35.0;
/// A caption of one line with the white under it.
const CAPTION: f64 = 10.5;
/// No view's column is narrower than this.
const NARROWEST: f64 = 38.0;
/// No view is enlarged more than this.
const LARGEST: u32 = 20;

/// Views on one sheet: their places in the order of the composer's views, how
/// many stand side by side, and the enlargement.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Arranged {
    pub(crate) views: Vec<usize>,
    pub(crate) columns: usize,
    /// A whole number, or less than 1 where even life size is too large.
    pub(crate) scale: f64,
}

/// The room for the pictures of a sheet, mm.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Field {
    pub(crate) width: f64,
    pub(crate) height: f64,
}

/// Views `views`, `columns` side by side, as large as the paper allows.
/// `extents` are widths and heights in figure millimetres.
pub(crate) fn on_field(extents: &[[f64; 2]], views: &[usize], columns: usize, field: Field) -> Arranged {
    let fits = |scale: f64| {
        let mut height = 0.0;
        for row in views.chunks(columns.max(1)) {
            let (mut wide, mut tall) = (0.0, 0.0_f64);
            for (i, v) in row.iter().enumerate() {
                // Pictures are rounded up to whole pixels.
                let [w, h] = extents[*v].map(|mm| mm * scale + 2.0 * MARGIN + 0.2);
                let column = if row.len() > 1 { w.max(NARROWEST) } else { w };
                wide += column + if i > 0 { GAP } else { 0.0 };
                tall = tall.max(h);
            }
            if wide > field.width {
                return false;
            }
            height += tall + CAPTION;
        }
        height <= field.height
    };
    let whole = (1..=LARGEST).rev().map(f64::from).find(|s| fits(*s));
    let scale = whole.unwrap_or_else(|| {
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..40 {
            let middle = f64::midpoint(low, high);
            if fits(middle) { low = middle } else { high = middle }
        }
        low
    });
    Arranged { views: views.to_vec(), columns, scale }
}

/// Views side by side or one above the other, whichever lets them be larger.
pub(crate) fn largest(extents: &[[f64; 2]], views: &[usize], field: Field) -> Arranged {
    let beside = on_field(extents, views, views.len(), field);
    let stacked = on_field(extents, views, 1, field);
    if stacked.scale > beside.scale { stacked } else { beside }
}

/// The same on a whole sheet: with the legend in a column beside the pictures,
/// or as a strip of `strip` mm above them where that lets them be larger.
pub(crate) fn on_sheet(
    extents: &[[f64; 2]],
    views: &[usize],
    columns: usize,
    (paper, strip): (Paper, f64),
) -> Arranged {
    let (width, height) = (paper.wide(), paper.tall());
    let beside = on_field(extents, views, columns, Field { width: width - ASIDE, height });
    let under = on_field(extents, views, columns, Field { width, height: height - strip });
    if under.scale > beside.scale { under } else { beside }
}

/// The share of a sheet that its views cover, 0 to 1.
fn covered(extents: &[[f64; 2]], sheet: &Arranged, paper: Paper) -> f64 {
    let area: f64 = sheet.views.iter().map(|v| extents[*v][0] * extents[*v][1]).sum();
    area * sheet.scale * sheet.scale / (paper.wide() * paper.tall())
}

/// Of several ways to spread views over sheets (views and columns of each
/// sheet) the one that fills them best; the first in a draw.
pub(crate) fn best(
    extents: &[[f64; 2]],
    ways: &[&[(&[usize], usize)]],
    (paper, strip): (Paper, f64),
) -> Vec<Arranged> {
    let mut best = (f64::NEG_INFINITY, Vec::new());
    for way in ways {
        let sheets: Vec<Arranged> =
            way.iter().map(|(views, columns)| on_sheet(extents, views, *columns, (paper, strip))).collect();
        let mean =
            sheets.iter().map(|s| covered(extents, s, paper)).sum::<f64>() / sheets.len().max(1) as f64;
        if mean > best.0 {
            best = (mean, sheets);
        }
    }
    best.1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tall_figure_stands_alone_and_a_wide_one_is_stacked() {
        let ways: [&[(&[usize], usize)]; 2] = [&[(&[0], 1), (&[1], 1)], &[(&[0, 1], 1)]];
        let tall = best(&[[30.0, 54.0]; 2], &ways, (Paper::default(), 30.0));
        assert_eq!((tall.len(), tall[0].scale), (2, 4.0));
        let wide = best(&[[50.0, 29.0]; 2], &ways, (Paper::default(), 30.0));
        assert_eq!((wide.len(), wide[0].scale), (1, 3.0));
    }

    #[test]
    fn nothing_is_larger_than_its_paper() {
        let field = Field { width: 174.0, height: 130.0 };
        for [w, h] in [[30.0, 54.0], [400.0, 20.0], [5.0, 900.0], [0.001, 0.001], [1e6, 1e6], [3.0, 3.0]] {
            for columns in 1..4 {
                let made = on_field(&[[w, h]; 4], &[0, 1, 2, 3], columns, field);
                assert!(made.scale >= 0.0 && made.scale <= 20.0);
                assert!(made.scale < 1.0 || made.scale.fract() == 0.0);
                let across = columns.min(4) as f64;
                assert!(across * (w * made.scale + 2.0) <= 174.0, "{w} {h} {columns}");
                assert!((4.0 / columns as f64).ceil() * (h * made.scale + 2.0) <= 130.0, "{w} {h} {columns}");
            }
        }
    }
}

//! Bars at the edges of a picture: what a film frame or a scan adds, and no part of
//! its colours.

use crate::Picture;
use std::ops::Range;

/// Channels of one bar differ by no more than this, as JPEG leaves them.
const EVEN: u8 = 14;
/// The share of the pixels of a line that must be so.
const NEARLY_ALL: f64 = 0.985;
/// Lines beside a bar that are left out with it: what JPEG smears, in blocks of eight.
const SMEARED: usize = 8;
/// A bar takes no more than this share of the picture.
const WIDEST: f64 = 0.35;

/// The columns and rows between bars. Bars stand in pairs, left and right or top and
/// bottom, in the same near-black, near-white or grey and about as wide as each other;
/// a sky or a floor alone is none.
pub(crate) fn within_bars(picture: &Picture) -> (Range<usize>, Range<usize>) {
    let (width, height) = (picture.width(), picture.height());
    let rows = between(height, |y| line(picture.row(y).iter().copied()));
    // Columns are judged without the bars above and below, which cross them.
    let columns = between(width, |x| line(rows.clone().map(|y| picture.row(y)[x])));
    (columns, rows)
}

/// What is between the bars of `count` lines, by the grey of a line that is even.
fn between(count: usize, grey: impl Fn(usize) -> Option<u8>) -> Range<usize> {
    let whole = 0..count;
    let most = (count as f64 * WIDEST) as usize;
    let (Some(first), Some(last)) = (grey(0), count.checked_sub(1).and_then(&grey)) else { return whole };
    if first.abs_diff(last) > EVEN {
        return whole;
    }
    let same = |i: usize| grey(i).is_some_and(|g| g.abs_diff(first) <= EVEN);
    let wide = |from_end: bool| {
        (0..count).take(most + 1).take_while(|i| same(if from_end { count - 1 - i } else { *i })).count()
    };
    let (start, end) = (wide(false), wide(true));
    let alike = start.abs_diff(end) * 4 <= start.max(end) + 4;
    if start > most || end > most || !alike || start.min(end) < 2 {
        return whole;
    }
    let smeared = SMEARED.min(count / 50);
    start + smeared..count - end - smeared
}

/// The grey of a line of pixels that is even and near-black, near-white or grey.
fn line(pixels: impl Iterator<Item = [u8; 3]> + Clone) -> Option<u8> {
    let (mut sum, mut count) = ([0_u64; 3], 0_u64);
    for pixel in pixels.clone() {
        (0..3).for_each(|k| sum[k] += u64::from(pixel[k]));
        count += 1;
    }
    let mean = sum.map(|s| (s / count.max(1)) as u8);
    let spread = mean.iter().max()?.abs_diff(*mean.iter().min()?);
    let even = pixels.filter(|p| (0..3).all(|k| p[k].abs_diff(mean[k]) <= EVEN)).count();
    let bar = spread <= EVEN && even as f64 >= NEARLY_ALL * count as f64 && count > 0;
    bar.then_some(mean[1])
}

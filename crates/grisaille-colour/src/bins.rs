//! The colours of a picture, counted: a few thousand bins in place of millions of
//! pixels.

use crate::bars::within_bars;
use crate::{LinearRgb, Picture, oklab};
use grisaille_base::{Stop, Watch};

/// Bits of each channel that tell one bin from another.
const BITS: u32 = 6;
/// Into so many bands a picture is divided, each counted by itself.
const BANDS: usize = 16;
/// About so many pixels are counted, evenly spread, of a picture that has more.
const COUNTED: usize = 2_000_000;
/// Neighbours whose channels differ by no more than this are the same surface: a pixel
/// counts as the mean of those, which takes noise away and leaves edges.
const SURFACE: u8 = 40;
/// Channels that change by more than this from pixel to pixel on both sides, in one
/// direction, are a blend at an edge.
const EDGE: i16 = 16;

/// Pixels of nearly one colour.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Bin {
    /// Their mean in Oklab, times 100.
    pub(crate) at: [f64; 3],
    /// Their share of all that was counted.
    pub(crate) share: f64,
}

/// Sums of channels, in eighths of a level, and how many pixels.
#[derive(Clone, Copy, Default)]
struct Count {
    sum: [u64; 3],
    pixels: u64,
}

/// The colours of a picture as bins, whose shares sum to 1. Bars at the edges,
/// transparent pixels and the blends at edges are not counted (unless there is
/// nothing else).
///
/// # Errors
/// [`Stop`] on request.
pub(crate) fn bins(picture: &Picture, watch: &Watch) -> Result<Vec<Bin>, Stop> {
    let plain = counted(picture, true, watch)?;
    let counts = if plain.iter().all(|c| c.pixels == 0) { counted(picture, false, watch)? } else { plain };
    let all: u64 = counts.iter().map(|c| c.pixels).sum();
    let bin = |c: &Count| {
        let mean = c.sum.map(|s| s as f64 / c.pixels as f64 / 8.0 / 255.0);
        let [r, g, b] = mean.map(|m| crate::linear_from_srgb(m) as f32);
        Bin { at: oklab(LinearRgb::new(r, g, b)).map(|x| 100.0 * x), share: c.pixels as f64 / all as f64 }
    };
    Ok(counts.iter().filter(|c| c.pixels > 0).map(bin).collect())
}

fn counted(picture: &Picture, plain: bool, watch: &Watch) -> Result<Vec<Count>, Stop> {
    let (columns, rows) = within_bars(picture);
    let every = ((columns.len() * rows.len()) as f64 / COUNTED as f64).sqrt().ceil().max(1.0) as usize;
    let lines: Vec<usize> = rows.clone().step_by(every).collect();
    let band = lines.len().div_ceil(BANDS).max(1);
    // Each band's own counts are added up in order: they are whole numbers.
    let each = watch.map(lines.len().div_ceil(band), |i| {
        let mut counts = vec![Count::default(); 1 << (3 * BITS)];
        for &y in lines.iter().skip(i * band).take(band) {
            let near = [y.max(rows.start + 1) - 1, y, (y + 1).min(rows.end - 1)].map(|y| picture.row(y));
            for x in columns.clone().step_by(every) {
                let across = [x.max(columns.start + 1) - 1, x, (x + 1).min(columns.end - 1)];
                let [above, row, below] = near;
                let pixel = row[x];
                let blend = plain
                    && (blends(row[across[0]], pixel, row[across[2]]) || blends(above[x], pixel, below[x]));
                if blend || !picture.is_seen(x, y) {
                    continue;
                }
                let smooth = surface(pixel, near, across);
                let [r, g, b] = smooth.map(|c| usize::from(c >> (11 - BITS)));
                let count = &mut counts[(r << (2 * BITS)) | (g << BITS) | b];
                (0..3).for_each(|k| count.sum[k] += u64::from(smooth[k]));
                count.pixels += 1;
            }
        }
        counts
    })?;
    let mut sum = vec![Count::default(); 1 << (3 * BITS)];
    for counts in each {
        for (to, from) in sum.iter_mut().zip(counts) {
            (0..3).for_each(|k| to.sum[k] += from.sum[k]);
            to.pixels += from.pixels;
        }
    }
    Ok(sum)
}

/// The mean of a pixel and those round it that are like it, in eighths of a level.
fn surface(pixel: [u8; 3], near: [&[[u8; 3]]; 3], across: [usize; 3]) -> [u16; 3] {
    let (mut sum, mut count) = ([0_u32; 3], 0_u32);
    for other in near.iter().flat_map(|row| across.map(|x| row[x])) {
        if (0..3).all(|k| other[k].abs_diff(pixel[k]) <= SURFACE) {
            (0..3).for_each(|k| sum[k] += 8 * u32::from(other[k]));
            count += 1;
        }
    }
    sum.map(|s| (s / count.max(1)) as u16)
}

/// Whether the middle one of three pixels is on the way from the first to the last.
fn blends(first: [u8; 3], middle: [u8; 3], last: [u8; 3]) -> bool {
    (0..3).any(|k| {
        let (up, on) =
            (i16::from(middle[k]) - i16::from(first[k]), i16::from(last[k]) - i16::from(middle[k]));
        (up > EDGE && on > EDGE) || (up < -EDGE && on < -EDGE)
    })
}

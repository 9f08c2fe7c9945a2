//! Places for letters: the roomiest spot of each area that is large enough to
//! carry one.

use crate::Areas;
use grisaille_base::{Stop, Watch};
use rayon::prelude::*;

/// A spot for a letter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placed {
    /// The label of the area.
    pub label: u16,
    /// Middle of the spot, pixels from the left edge.
    pub x_px: f32,
    /// Middle of the spot, pixels from the upper edge.
    pub y_px: f32,
    /// Distance from there to the nearest border of the area in pixels.
    pub radius_px: f32,
}

/// Finds spots for letters in a picture of `width` pixels whose pixels are
/// labelled ([`Areas::NONE`] for none; a last row that is not full is left out).
///
/// Areas are connected by their sides. Each gets at most one spot, the point
/// farthest from its border, and only if a circle of `radius_px` fits there.
/// The roomiest come first, at most `limit` for each label; equal ones in
/// reading order.
///
/// # Errors
/// [`Stop`] when cancelled.
pub fn places(
    pixels: &[u16],
    width: usize,
    radius_px: f32,
    limit: usize,
    watch: &Watch,
) -> Result<Vec<Placed>, Stop> {
    let height = pixels.len().checked_div(width).unwrap_or(0);
    let pixels = &pixels[..width * height];
    if pixels.is_empty() {
        return Ok(Vec::new());
    }
    let room = squared_room(pixels, width, height, watch)?;
    let mut best: Vec<(u32, usize)> = Vec::new();
    let mut seen = vec![false; pixels.len()];
    let mut open = Vec::new();
    let mut popped = 0_usize;
    for start in 0..pixels.len() {
        if seen[start] || pixels[start] == Areas::NONE {
            continue;
        }
        seen[start] = true;
        open.push(start);
        let mut top = (room[start], start);
        while let Some(at) = open.pop() {
            if room[at] > top.0 || (room[at] == top.0 && at < top.1) {
                top = (room[at], at);
            }
            popped += 1;
            if popped.is_multiple_of(65_536) {
                watch.check()?;
            }
            let x = at % width;
            let beside = [
                (x > 0).then(|| at - 1),
                (x + 1 < width).then(|| at + 1),
                at.checked_sub(width),
                (at + width < pixels.len()).then(|| at + width),
            ];
            for next in beside.into_iter().flatten() {
                if !seen[next] && pixels[next] == pixels[start] {
                    seen[next] = true;
                    open.push(next);
                }
            }
        }
        best.push(top);
    }
    best.sort_unstable_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(&b.1)));
    let mut used = std::collections::BTreeMap::<u16, usize>::new();
    let mut placed = Vec::new();
    for (squared, at) in best {
        // Distances run between middles of pixels; the border lies half a pixel on.
        let radius = (squared as f32).sqrt() + 0.5;
        if radius_px.is_nan() || radius < radius_px {
            continue;
        }
        let count = used.entry(pixels[at]).or_default();
        if *count < limit {
            *count += 1;
            let (x_px, y_px) = ((at % width) as f32 + 0.5, (at / width) as f32 + 0.5);
            placed.push(Placed { label: pixels[at], x_px, y_px, radius_px: radius });
        }
    }
    Ok(placed)
}

/// The squared distance from each pixel to the nearest pixel on a border
/// (beside another label or at the picture's rim), exact.
///
/// Columns first, then rows by the lower envelope of parabolas: P. F.
/// Felzenszwalb, D. P. Huttenlocher, "Distance Transforms of Sampled
/// Functions", Theory of Computing 8:415-428, 2012.
fn squared_room(pixels: &[u16], width: usize, height: usize, watch: &Watch) -> Result<Vec<u32>, Stop> {
    let border = |x: usize, y: usize| {
        let at = y * width + x;
        let l = pixels[at];
        x == 0
            || y == 0
            || x + 1 == width
            || y + 1 == height
            || pixels[at - 1] != l
            || pixels[at + 1] != l
            || pixels[at - width] != l
            || pixels[at + width] != l
    };
    // Up and down: every column ends on the rim, so a border is always met.
    let mut vertical = vec![0_u32; pixels.len()];
    for y in 1..height {
        watch.check()?;
        for x in 0..width {
            let at = y * width + x;
            vertical[at] = if border(x, y) { 0 } else { vertical[at - width] + 1 };
        }
    }
    for y in (0..height.saturating_sub(1)).rev() {
        watch.check()?;
        for x in 0..width {
            let at = y * width + x;
            vertical[at] = vertical[at].min(vertical[at + width] + 1);
        }
    }
    let mut room = vec![0_u32; pixels.len()];
    watch.run(|| {
        vertical.par_chunks_exact(width).zip(room.par_chunks_exact_mut(width)).try_for_each_init(
            || Vec::with_capacity(width),
            |hull, (heights, out)| {
                watch.check()?;
                along_row(heights, hull, out);
                Ok(())
            },
        )
    })?;
    Ok(room)
}

/// The least of `heights[p]` squared plus the squared distance to p, for each
/// place of a row. `hull` is room to work in: the parabolas on the lower
/// envelope, and where each begins to be the lowest.
fn along_row(heights: &[u32], hull: &mut Vec<(usize, f64)>, out: &mut [u32]) {
    hull.clear();
    let square = |q: usize| f64::from(heights[q]).powi(2);
    for q in 0..heights.len() {
        let mut begins = f64::NEG_INFINITY;
        while let Some(&(p, from)) = hull.last() {
            let (pf, qf) = (p as f64, q as f64);
            begins = (square(q) + qf * qf - square(p) - pf * pf) / (2.0 * (qf - pf));
            if begins > from {
                break;
            }
            hull.pop();
            begins = f64::NEG_INFINITY;
        }
        hull.push((q, begins));
    }
    let mut k = 0;
    for (q, cell) in out.iter_mut().enumerate() {
        while k + 1 < hull.len() && hull[k + 1].1 < q as f64 {
            k += 1;
        }
        let p = hull[k].0;
        *cell = heights[p] * heights[p] + (q.abs_diff(p) * q.abs_diff(p)) as u32;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spots(pixels: &[u16], width: usize, radius_px: f32, limit: usize) -> Vec<Placed> {
        places(pixels, width, radius_px, limit, &Watch::quiet()).unwrap()
    }

    /// Labels from ASCII art: a digit is its label, anything else none.
    fn art(rows: &[&str]) -> (Vec<u16>, usize) {
        let label = |b: u8| if b.is_ascii_digit() { u16::from(b - b'0') } else { Areas::NONE };
        (rows.iter().flat_map(|r| r.bytes().map(label)).collect(), rows[0].len())
    }

    #[test]
    fn a_known_blob_is_lettered_in_its_middle() {
        let (pixels, width) = art(&[
            "................",
            ".1111111....22..",
            ".1111111....22..",
            ".1111111........",
            ".1111111...1111.",
            ".1111111...1111.",
            ".1111111...1111.",
            ".1111111........",
            "................",
        ]);
        let found = spots(&pixels, width, 1.5, 9);
        assert_eq!(
            found,
            [
                Placed { label: 1, x_px: 4.5, y_px: 4.5, radius_px: 3.5 },
                Placed { label: 1, x_px: 12.5, y_px: 5.5, radius_px: 1.5 },
            ]
        );
        assert_eq!(spots(&pixels, width, 1.5, 1).len(), 1);
        assert_eq!(spots(&pixels, width, 0.5, 9).len(), 3);
        assert_eq!(spots(&pixels, width, 4.0, 9).len(), 0);
    }

    #[test]
    fn the_distance_is_the_one_found_by_trying_all() {
        let (width, height) = (37, 23);
        let pixels: Vec<u16> = (0..width * height)
            .map(|i| {
                let (x, y) = ((i % width) as i32, (i / width) as i32);
                u16::from((x - 15) * (x - 15) + 2 * (y - 11) * (y - 11) < 150) + u16::from(x > 29)
            })
            .collect();
        let room = squared_room(&pixels, width, height, &Watch::quiet()).unwrap();
        let at = |x: usize, y: usize| pixels[y * width + x];
        let border = |x: usize, y: usize| {
            x == 0
                || y == 0
                || x + 1 == width
                || y + 1 == height
                || [at(x - 1, y), at(x + 1, y), at(x, y - 1), at(x, y + 1)].iter().any(|l| *l != at(x, y))
        };
        let borders: Vec<(usize, usize)> =
            (0..width * height).map(|i| (i % width, i / width)).filter(|&(x, y)| border(x, y)).collect();
        for y in 0..height {
            for x in 0..width {
                let least = borders.iter().map(|b| b.0.abs_diff(x).pow(2) + b.1.abs_diff(y).pow(2)).min();
                assert_eq!(room[y * width + x] as usize, least.unwrap(), "{x} {y}");
            }
        }
    }

    #[test]
    fn odd_pictures_give_no_spots() {
        assert!(spots(&[], 0, 1.0, 3).is_empty());
        assert!(spots(&[1, 1, 1], 0, 1.0, 3).is_empty());
        assert!(spots(&[1], 5, 0.0, 3).is_empty());
        assert!(spots(&[1; 9], 3, f32::NAN, 3).is_empty());
        assert_eq!(spots(&[1; 9], 3, 0.0, 3).len(), 1);
        assert!(spots(&[Areas::NONE; 9], 3, 0.0, 3).is_empty());
    }
}

//! What each side of the figure shows, and from where to look at something marked so that all of it is seen large.

use crate::mark::{BESIDE, Marking};
use grisaille_base::{FaceId, Stop, Watch};
use grisaille_picture::{Frame, ItemBuffer, View};
use grisaille_plan::Plan;
use nalgebra::Point3;
use std::collections::HashSet;

/// Pixels along the height of the figure in pictures that only measure.
const MEASURED: f64 = 160.0;
/// Cells along the height of the figure: what lies in one cell is one place, whichever side it is seen from.
const CELLS: f64 = 60.0;
/// Paper round what is marked, mm: enough to see where it ends.
const ROUND: f64 = 3.0;
/// Paper shown round it where there is room, mm: enough to see what it belongs to.
const CONTEXT: f64 = 12.0;
/// A picture shows no less than this share of the figure's height.
const LEAST_SHOWN: f64 = 0.28;
/// No part is enlarged more than this.
const LARGEST: u32 = 6;
/// Close-ups that show this share of all that is seen of it are enough; the next are tried where none do.
const ENOUGH: [f64; 2] = [0.7, 0.5];
/// One more picture is worth its paper where it shows this share of all that is seen.
const WORTH: f64 = 0.05;
/// How gladly a figure is looked at from each side, in the order of [`View::all`]: held level in the hand, turned a
/// little, and only for what is seen from nowhere else from above.
const GLADLY: [f64; 6] = [1.1, 1.0, 0.97, 0.97, 0.95, 0.7];

/// Small pictures of the figure from all sides, to measure what each shows.
pub(crate) struct Survey {
    views: Vec<ItemBuffer>,
    /// By view and pixel the cell of space that is seen there.
    cells: Vec<Vec<Cell>>,
}

type Cell = [i32; 3];

/// What a side shows of something marked: where its places stand, in pixels of the survey.
struct Side {
    view: usize,
    spots: Vec<(Place, [f64; 2])>,
}

/// A place of something marked, the same from all sides.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
enum Place {
    Cell(Cell),
    Point(u32),
}

/// A box of a side, in pixels of the survey.
#[derive(Clone, Copy)]
struct Boxed {
    side: usize,
    low: [f64; 2],
    high: [f64; 2],
}

impl Boxed {
    fn holds(&self, at: [f64; 2]) -> bool {
        (0..2).all(|k| (self.low[k]..=self.high[k]).contains(&at[k]))
    }
}

/// A picture to take: its frame and enlargement.
pub(crate) struct CloseUp {
    pub(crate) frame: Frame,
    pub(crate) scale: f64,
}

impl Survey {
    /// Looks at a plan's figure from all named sides.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub(crate) fn of(plan: &Plan, extents: &[[f64; 2]], watch: &Watch) -> Result<Self, Stop> {
        let tallest = extents.iter().map(|e| e[0].max(e[1])).fold(1e-3, f64::max);
        let surface = &plan.surface;
        let positions = &surface.samples.position;
        let keep = |f: FaceId| surface.open_corners(f.index()) > 0;
        let views = View::all().into_iter().map(|view| {
            let frame = Frame::fit(plan.mesh.positions(), view, MEASURED / tallest, 0.0);
            ItemBuffer::draw(positions, &surface.faces, keep, &frame, 1, watch)
        });
        let views = views.collect::<Result<Vec<_>, Stop>>()?;
        let cells = views.iter().map(|items| {
            let at = |i: usize| {
                let Some(hit) = items.hit(i % items.columns(), i / items.columns()) else { return [0; 3] };
                let corner = |k: usize| positions[hit.corners[k] as usize].coords * hit.barycentric[k];
                let point = corner(0) + corner(1) + corner(2);
                [0, 1, 2].map(|k| (f64::from(point[k]) * CELLS / tallest).floor() as i32)
            };
            watch.map(items.columns() * items.rows(), at)
        });
        let cells = cells.collect::<Result<_, Stop>>()?;
        Ok(Self { views, cells })
    }

    /// For each side how many pixels each of `count` parts has; `of` gives the part of a face.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub(crate) fn counts(
        &self,
        count: usize,
        of: impl Fn(usize) -> Option<usize>,
        watch: &Watch,
    ) -> Result<Vec<Vec<usize>>, Stop> {
        let sides = self.views.iter().map(|items| {
            watch.check()?;
            let mut counts = vec![0; count];
            for row in 0..items.rows() {
                for column in 0..items.columns() {
                    let part = items.hit(column, row).and_then(|hit| of(hit.face.index()));
                    if let Some(n) = part.and_then(|part| counts.get_mut(part)) {
                        *n += 1;
                    }
                }
            }
            Ok(counts)
        });
        sides.collect()
    }

    /// The pictures that show what is marked: as large as a whole enlargement allows, and of those that show as much
    /// of it the fewest; each `height` mm high at most on paper, and as wide as `widths` say for one, for each of two,
    /// and so on. None where nothing of it is seen.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub(crate) fn close_ups(
        &self,
        plan: &Plan,
        marking: &Marking<'_>,
        (height, widths): (f64, &[f64]),
        watch: &Watch,
    ) -> Result<Vec<CloseUp>, Stop> {
        let sides = self.shown(marking, watch)?;
        let all: HashSet<Place> = sides.iter().flat_map(|s| s.spots.iter().map(|spot| spot.0)).collect();
        if all.is_empty() {
            return Ok(Vec::new());
        }
        let tall = plan.mesh.bounds().extents()[2].max(1e-3);
        let most = (height / (LEAST_SHOWN * tall)).floor().clamp(1.0, f64::from(LARGEST)) as u32;
        for enough in ENOUGH {
            for scale in (1..=most).rev().map(f64::from) {
                for (n, width) in widths.iter().enumerate() {
                    watch.check()?;
                    let (boxes, seen) = self.greedy(&sides, [*width, height], (scale, n + 1));
                    if seen as f64 >= enough * all.len() as f64 {
                        let each = boxes.iter().map(|b| self.window(&sides, b, [*width, height], scale));
                        return Ok(each.collect());
                    }
                }
            }
        }
        // A figure larger than the paper: the side that shows most, as large as the room allows.
        let room = [widths[0], height];
        let worth = |s: &&Side| s.spots.len() as f64 * GLADLY[s.view];
        let first = sides.iter().enumerate().max_by(|a, b| worth(&a.1).total_cmp(&worth(&b.1)));
        Ok(first.map(|(side, _)| self.fitted(&sides, side, room)).into_iter().collect())
    }

    /// What each side shows of a marking.
    fn shown(&self, marking: &Marking<'_>, watch: &Watch) -> Result<Vec<Side>, Stop> {
        let points = marking.lines.iter().flat_map(|(line, _)| line.points.iter().copied());
        let points: Vec<Point3<f32>> = points.chain(marking.spots.iter().map(|s| s.0)).collect();
        let mut sides = Vec::new();
        for (view, items) in self.views.iter().enumerate() {
            watch.check()?;
            // The first pixel of each cell stands for it.
            let mut known: HashSet<Place> = HashSet::new();
            let mut spots = Vec::new();
            for row in 0..items.rows() {
                for column in 0..items.columns() {
                    let label = items.hit(column, row).and_then(|hit| marking.label(&hit));
                    if label.is_none_or(|label| label >= BESIDE) {
                        continue;
                    }
                    let place = Place::Cell(self.cells[view][row * items.columns() + column]);
                    if known.insert(place) {
                        spots.push((place, [column as f64 + 0.5, row as f64 + 0.5]));
                    }
                }
            }
            let behind = 2.0 * items.frame().mm_per_pixel();
            for (n, point) in points.iter().enumerate().filter(|(_, p)| items.shows(**p, behind)) {
                let [x, y, _] = items.frame().project(*point);
                spots.push((Place::Point(n as u32), [x, y]));
            }
            sides.push(Side { view, spots });
        }
        Ok(sides)
    }

    /// The best `n` boxes that fit a room on paper at a scale, one after the other, and how many places they show.
    fn greedy(&self, sides: &[Side], room: [f64; 2], (scale, n): (f64, usize)) -> (Vec<Boxed>, usize) {
        let all = sides.iter().map(|s| s.spots.len()).max().unwrap_or(0) as f64;
        let mut seen: HashSet<Place> = HashSet::new();
        let mut boxes = Vec::new();
        for _ in 0..n {
            let mut best: Option<(f64, Boxed)> = None;
            for (k, side) in sides.iter().enumerate() {
                let frame = self.views[side.view].frame();
                let size = room.map(|mm| (mm - 2.0 * ROUND) / scale / frame.mm_per_pixel());
                let fresh: Vec<[f64; 2]> =
                    side.spots.iter().filter(|s| !seen.contains(&s.0)).map(|s| s.1).collect();
                let Some((low, count)) = fullest(&fresh, size, [frame.width(), frame.height()]) else {
                    continue;
                };
                let worth = count as f64 * GLADLY[side.view];
                if best.as_ref().is_none_or(|(most, _)| worth > *most) {
                    let high = [low[0] + size[0], low[1] + size[1]];
                    best = Some((worth, Boxed { side: k, low, high }));
                }
            }
            match best {
                Some((worth, found)) if worth >= WORTH * all => {
                    let spots = &sides[found.side].spots;
                    seen.extend(spots.iter().filter(|s| found.holds(s.1)).map(|s| s.0));
                    boxes.push(found);
                }
                _ => break,
            }
        }
        (boxes, seen.len())
    }

    /// The picture of a box: round what is marked in it, with as much of the figure as there is room for.
    fn window(&self, sides: &[Side], boxed: &Boxed, room: [f64; 2], scale: f64) -> CloseUp {
        let Side { view, spots } = &sides[boxed.side];
        let frame = self.views[*view].frame();
        let mm = frame.mm_per_pixel();
        let whole = [f64::from(frame.width()), f64::from(frame.height())].map(|px| px * mm);
        let (low, high) = rim(spots.iter().map(|s| s.1).filter(|at| boxed.holds(*at)));
        let margin = 1.0 / scale;
        let size = [0, 1].map(|k| {
            let wanted = (high[k] - low[k]) * mm + 2.0 * CONTEXT / scale;
            // Not so narrow that its name does not fit below it.
            let least = (0.6 * room[k]) / scale;
            wanted.max(least).min(room[k] / scale).min(whole[k] + 2.0 * margin)
        });
        // The middle of what is marked, as far as the picture stays on the figure.
        let middle = [0, 1].map(|k| {
            let wanted = f64::midpoint(low[k], high[k]) * mm;
            let (low, high) = (0.5 * size[k] - margin, whole[k] + margin - 0.5 * size[k]);
            if low < high { wanted.clamp(low, high) } else { 0.5 * whole[k] }
        });
        CloseUp { frame: part_of(frame, middle, size, scale), scale }
    }

    /// A whole side, as large as a room on paper allows.
    fn fitted(&self, sides: &[Side], side: usize, room: [f64; 2]) -> CloseUp {
        let frame = self.views[sides[side].view].frame();
        let whole = [frame.width(), frame.height()].map(|px| f64::from(px) * frame.mm_per_pixel());
        let fit = |k: usize| (room[k] - 2.0) / whole[k];
        let scale = fit(0).min(fit(1)).clamp(1e-6, 1.0);
        let size = whole.map(|mm| mm + 2.0 / scale);
        CloseUp { frame: part_of(frame, whole.map(|mm| 0.5 * mm), size, scale), scale }
    }
}

/// The frame of a part of a view, its middle and size in mm of the figure from the view's corner.
fn part_of(of: &Frame, middle: [f64; 2], size: [f64; 2], scale: f64) -> Frame {
    use crate::compose::{SMALLEST, SMOOTH};
    let whole = [of.width(), of.height()].map(|px| f64::from(px) * of.mm_per_pixel());
    let from_centre = [middle[0] - 0.5 * whole[0], middle[1] - 0.5 * whole[1]];
    let centre = of.centre() + of.view().right() * from_centre[0] - of.view().up() * from_centre[1];
    let pixels = |mm: f64| ((mm * scale * SMOOTH).floor() as u32).max((SMALLEST * SMOOTH) as u32);
    Frame::new(of.view().clone(), 1.0 / (SMOOTH * scale), pixels(size[0]), pixels(size[1]), centre)
}

/// The box round points.
fn rim(points: impl Iterator<Item = [f64; 2]>) -> ([f64; 2], [f64; 2]) {
    points.fold(([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]), |(low, high), at| {
        ([0, 1].map(|k| at[k].min(low[k])), [0, 1].map(|k| at[k].max(high[k])))
    })
}

/// The corner of the box of a size (pixels) that holds the most points, and how many; of several the first from above
/// and from the left.
fn fullest(points: &[[f64; 2]], size: [f64; 2], across: [u32; 2]) -> Option<([f64; 2], usize)> {
    let (low, high) = rim(points.iter().copied());
    if points.is_empty() {
        return None;
    }
    if (0..2).all(|k| high[k] - low[k] <= size[k]) {
        // All of them, in the middle.
        return Some(([0, 1].map(|k| f64::midpoint(low[k], high[k]) - 0.5 * size[k]), points.len()));
    }
    // Sums of all above and to the left of each pixel.
    let [columns, rows] = across.map(|n| n as usize + 1);
    let mut sums = vec![0_u32; (columns + 1) * (rows + 1)];
    for at in points {
        let [x, y] = [0, 1].map(|k| at[k].max(0.0) as usize);
        sums[(y.min(rows - 1) + 1) * (columns + 1) + x.min(columns - 1) + 1] += 1;
    }
    for y in 1..=rows {
        for x in 1..=columns {
            let at = y * (columns + 1) + x;
            sums[at] = sums[at] + sums[at - 1] + sums[at - columns - 1] - sums[at - columns - 2];
        }
    }
    let [wide, high] = size.map(|px| (px.floor() as usize).max(1));
    let (wide, high) = (wide.min(columns), high.min(rows));
    let mut best = ([0.0; 2], 0);
    for y in 0..=rows - high {
        for x in 0..=columns - wide {
            let (a, b) = (y * (columns + 1) + x, (y + high) * (columns + 1) + x);
            let count = (sums[b + wide] + sums[a] - sums[b] - sums[a + wide]) as usize;
            if count > best.1 {
                best = ([x as f64, y as f64], count);
            }
        }
    }
    Some(best)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_fullest_box_is_found() {
        let mut points: Vec<[f64; 2]> = (0..10).map(|i| [f64::from(i) + 0.5, 3.5]).collect();
        points.extend((0..30).map(|i| [60.5 + f64::from(i % 6), 40.5 + f64::from(i / 6)]));
        let (low, count) = fullest(&points, [8.0, 8.0], [100, 80]).unwrap();
        assert_eq!(count, 30);
        assert!((53.0..=60.0).contains(&low[0]) && (33.0..=40.0).contains(&low[1]), "{low:?}");
        // What fits as a whole stands in the middle.
        assert_eq!(fullest(&points[..10], [20.0, 10.0], [100, 80]), Some(([-5.0, -1.5], 10)));
        assert_eq!(fullest(&[], [8.0, 8.0], [100, 80]), None);
        // By brute force.
        let spread: Vec<[f64; 2]> =
            (0..200_u32).map(|i| [f64::from(i * 37 % 50) + 0.5, f64::from(i * 53 % 40) + 0.5]).collect();
        let (_, count) = fullest(&spread, [9.0, 7.0], [50, 40]).unwrap();
        let within = |x: u32, y: u32| {
            let inside = |p: &&[f64; 2]| {
                (f64::from(x)..f64::from(x + 9)).contains(&p[0])
                    && (f64::from(y)..f64::from(y + 7)).contains(&p[1])
            };
            spread.iter().filter(inside).count()
        };
        let most = (0..44).flat_map(|x| (0..36).map(move |y| (x, y))).map(|(x, y)| within(x, y)).max();
        assert_eq!(Some(count), most);
    }
}

//! What each side of the figure shows, and from where to look at something marked so that all of it is seen large.

use crate::boxes::{fullest, fullest_of_islands, islands, on_islands_within, rim};
use crate::mark::{BESIDE, Marking};
use grisaille_base::{FaceId, Stop, Watch};
use grisaille_picture::{Frame, ItemBuffer, View};
use grisaille_plan::Plan;
use nalgebra::Point3;
use std::collections::HashSet;

/// Pixels along the height of the figure in pictures that only measure.
pub(crate) const MEASURED: f64 = 160.0;
/// Cells along the height of the figure: what lies in one cell is one place, whichever side it is seen from.
const CELLS: f64 = 60.0;
/// Paper round what is marked, mm: enough to see where it ends.
const ROUND: f64 = 3.0;
/// Paper shown round it where there is room, beside and above it, mm: enough to see what it belongs to.
const CONTEXT: [f64; 2] = [8.0, 6.0];
/// A picture shows no less than this share of the figure's height; of several tones in one place less is enough, as
/// it was found before.
const LEAST_SHOWN: [f64; 2] = [0.28, 0.18];
/// No part is enlarged more than this.
const LARGEST: u32 = 6;
/// Close-ups that show this share of all that is seen of it are enough; the next are tried where none do.
const ENOUGH: [f64; 2] = [0.7, 0.5];
/// The same for lines and touches: each of them is to be found.
const ENOUGH_LINES: [f64; 2] = [0.95, 0.8];
/// So many points of a line stand for it, however long it is.
const POINTS: usize = 16;
/// More pictures, or larger ones, are taken at the same enlargement where they show so much more of all.
const MORE: f64 = 0.13;
/// A part with this share of all places of the figure is better seen whole than in parts.
const LARGE: f64 = 0.12;
/// One more picture is worth its paper where it shows this share of all that is seen.
const WORTH: f64 = 0.05;
/// So many pictures may cut what is marked: together they still show where it goes on.
const CUT: usize = 2;
/// How gladly a figure is looked at from each side, in the order of [`View::all`]: held level in the hand, turned a
/// little, and only for what is seen from nowhere else from above.
const GLADLY: [f64; 6] = [1.1, 1.0, 0.97, 0.97, 0.95, 0.7];

/// Small pictures of the figure from all sides, to measure what each shows.
pub(crate) struct Survey {
    views: Vec<ItemBuffer>,
    /// By view and pixel the cell of space that is seen there.
    cells: Vec<Vec<Cell>>,
    /// How many cells are seen from any side.
    places: usize,
}

type Cell = [i32; 3];

/// What a side shows of something marked: where its places stand, in pixels of the survey.
struct Side {
    view: usize,
    spots: Vec<Spot>,
}

/// Something marked that a side shows.
struct Spot {
    place: Place,
    at: [f64; 2],
    /// What it is seen in one piece with: of areas with all of their regions, of lines each with itself.
    island: usize,
}

/// Room for pictures on paper, mm: as high as that at most, and as wide for one, for each of two, and so on.
#[derive(Clone, Copy)]
pub(crate) struct RowRoom<'a> {
    pub(crate) high: f64,
    pub(crate) widths: &'a [f64],
}

impl RowRoom<'_> {
    /// The width and the height of one picture.
    fn alone(&self) -> [f64; 2] {
        [self.widths.first().copied().unwrap_or(self.high), self.high]
    }
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

/// Boxes, and the width and the height of the room for each on paper, mm.
type Placed = (Vec<Boxed>, [f64; 2]);

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
        let cells = cells.collect::<Result<Vec<Vec<Cell>>, Stop>>()?;
        let places = cells.iter().flatten().collect::<HashSet<_>>().len();
        Ok(Self { views, cells, places })
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
    /// of it the fewest. They stand in the first of the rooms; what is too large for it stands in one of the others
    /// if that shows it larger than life. None where nothing of it is seen.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub(crate) fn close_ups(
        &self,
        plan: &Plan,
        marking: &Marking<'_>,
        rooms: &[RowRoom<'_>],
        watch: &Watch,
    ) -> Result<Vec<CloseUp>, Stop> {
        let sides = self.shown(marking, watch)?;
        let all: HashSet<Place> = sides.iter().flat_map(|s| s.spots.iter().map(|spot| spot.place)).collect();
        let Some(first) = rooms.first().filter(|_| !all.is_empty()) else { return Ok(Vec::new()) };
        let tall = plan.mesh.bounds().extents()[2].max(1e-3);
        let least_shown = LEAST_SHOWN[usize::from(marking.areas() > 1)];
        let most = |room: &RowRoom<'_>| {
            (room.high / (least_shown * tall)).floor().clamp(1.0, f64::from(LARGEST)) as u32
        };
        let enlarged = |room, enough| (room, enough, 2..=most(room));
        let enough = if marking.areas() == 0 { ENOUGH_LINES } else { ENOUGH };
        let is_large = all.len() as f64 >= LARGE * self.places as f64;
        let in_parts = !is_large && self.comes_in_pieces(&sides, first);
        let mut ways = vec![enlarged(first, enough[0])];
        ways.extend(in_parts.then(|| enlarged(first, enough[1])));
        ways.extend(rooms[1..].iter().flat_map(|room| enough.map(|enough| enlarged(room, enough))));
        ways.extend(enough.map(|enough| (first, enough, 1..=most(first))));
        for (room, enough, scales) in ways {
            for scale in scales.rev().map(f64::from) {
                for (n, width) in room.widths.iter().enumerate() {
                    watch.check()?;
                    let (boxes, seen) = self.greedy(&sides, [*width, room.high], (scale, n + 1));
                    if seen as f64 >= enough * all.len() as f64 {
                        let least = seen as f64 + MORE * all.len() as f64;
                        // Where a picture more is worth its paper there is another room for it.
                        let more = match rooms {
                            [_] => None,
                            rooms => self.fuller(&sides, rooms, (scale, least), watch)?,
                        };
                        let (boxes, room) = more.unwrap_or((boxes, [*width, room.high]));
                        return Ok(boxes.iter().map(|b| self.window(&sides, b, room, scale)).collect());
                    }
                }
            }
        }
        // A figure larger than the paper: the side that shows most, as large as the room allows.
        let worth = |s: &&Side| s.spots.len() as f64 * GLADLY[s.view];
        let best = sides.iter().enumerate().max_by(|a, b| worth(&a.1).total_cmp(&worth(&b.1)));
        Ok(best.map(|(side, _)| self.fitted(&sides, side, first.alone())).into_iter().collect())
    }

    /// Boxes at a scale that show so many places at least, as many as any room allows, if there are any.
    fn fuller(
        &self,
        sides: &[Side],
        rooms: &[RowRoom<'_>],
        (scale, least): (f64, f64),
        watch: &Watch,
    ) -> Result<Option<Placed>, Stop> {
        let mut best: Option<(usize, Placed)> = None;
        for room in rooms {
            for (n, width) in room.widths.iter().enumerate() {
                watch.check()?;
                let size = [*width, room.high];
                let (boxes, seen) = self.greedy(sides, size, (scale, n + 1));
                let most = best.as_ref().map_or(0, |(most, _)| *most);
                if seen as f64 >= least && seen > most {
                    best = Some((seen, (boxes, size)));
                }
            }
        }
        Ok(best.map(|(_, placed)| placed))
    }

    /// Whether most of what is marked lies in pieces that a room holds whole when they are drawn twice as large. What
    /// does not is better seen whole than in parts.
    fn comes_in_pieces(&self, sides: &[Side], room: &RowRoom<'_>) -> bool {
        let held = sides.iter().map(|side| {
            let size = self.within(side, room.alone(), 2.0);
            on_islands_within(side.spots.iter().map(|s| (s.at, s.island)), size)
        });
        let held: usize = held.sum();
        let all: usize = sides.iter().map(|s| s.spots.len()).sum();
        2 * held >= all
    }

    /// The size of what a room on paper holds of a side at a scale, pixels of the survey.
    fn within(&self, side: &Side, room: [f64; 2], scale: f64) -> [f64; 2] {
        room.map(|mm| (mm - 2.0 * ROUND) / scale / self.views[side.view].frame().mm_per_pixel())
    }

    /// What each side shows of a marking.
    fn shown(&self, marking: &Marking<'_>, watch: &Watch) -> Result<Vec<Side>, Stop> {
        let lines = marking.lines.iter().enumerate();
        let lines = lines.flat_map(|(n, marked)| evenly(&marked.line.points).map(move |point| (point, n)));
        let touches = marking.spots.iter().zip(marking.lines.len()..).map(|(spot, n)| (spot.0, n));
        let points: Vec<(Point3<f32>, usize)> = lines.chain(touches).collect();
        let mut sides = Vec::new();
        for (view, items) in self.views.iter().enumerate() {
            watch.check()?;
            let columns = items.columns();
            let label = |i: usize| items.hit(i % columns, i / columns).and_then(|hit| marking.label(&hit));
            let labels: Vec<Option<u16>> = (0..columns * items.rows()).map(label).collect();
            let set: Vec<bool> = labels.iter().map(Option::is_some).collect();
            let (island, count) = islands(&set, columns);
            // The first pixel of each cell stands for it.
            let mut known: HashSet<Place> = HashSet::new();
            let mut spots = Vec::new();
            for (i, _) in labels.iter().enumerate().filter(|(_, label)| label.is_some_and(|l| l < BESIDE)) {
                let place = Place::Cell(self.cells[view][i]);
                if known.insert(place) {
                    let at = [(i % columns) as f64 + 0.5, (i / columns) as f64 + 0.5];
                    spots.push(Spot { place, at, island: island[i] });
                }
            }
            let behind = 2.0 * items.frame().mm_per_pixel();
            for (n, (point, piece)) in points.iter().enumerate().filter(|(_, p)| items.shows(p.0, behind)) {
                let [x, y, _] = items.frame().project(*point);
                spots.push(Spot { place: Place::Point(n as u32), at: [x, y], island: count + piece });
            }
            sides.push(Side { view, spots });
        }
        Ok(sides)
    }

    /// The best `n` boxes that fit a room on paper at a scale, one after the other, and how many places they show.
    /// From three on they are narrow: each shows whole pieces.
    fn greedy(&self, sides: &[Side], room: [f64; 2], (scale, n): (f64, usize)) -> (Vec<Boxed>, usize) {
        let all = sides.iter().map(|s| s.spots.len()).max().unwrap_or(0) as f64;
        let mut seen: HashSet<Place> = HashSet::new();
        let mut boxes = Vec::new();
        for _ in 0..n {
            let mut best: Option<(f64, Boxed)> = None;
            for (k, side) in sides.iter().enumerate() {
                let frame = self.views[side.view].frame();
                let size = self.within(side, room, scale);
                let found = if n <= CUT {
                    let fresh = side.spots.iter().filter(|s| !seen.contains(&s.place));
                    fullest(&fresh.map(|s| s.at).collect::<Vec<_>>(), size, [frame.width(), frame.height()])
                } else {
                    let each = side.spots.iter().map(|s| (s.at, s.island, !seen.contains(&s.place)));
                    fullest_of_islands(each, size)
                };
                let Some((low, count)) = found else { continue };
                let worth = count as f64 * GLADLY[side.view];
                if best.as_ref().is_none_or(|(most, _)| worth > *most) {
                    let high = [low[0] + size[0], low[1] + size[1]];
                    best = Some((worth, Boxed { side: k, low, high }));
                }
            }
            match best {
                Some((worth, found)) if worth >= WORTH * all => {
                    let spots = &sides[found.side].spots;
                    seen.extend(spots.iter().filter(|s| found.holds(s.at)).map(|s| s.place));
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
        let (low, high) = rim(spots.iter().map(|s| s.at).filter(|at| boxed.holds(*at)));
        let margin = 1.0 / scale;
        let size = [0, 1].map(|k| {
            let wanted = (high[k] - low[k]) * mm + 2.0 * CONTEXT[k] / scale;
            // Not so narrow that its name does not fit below it, nor a strip.
            let least = [0.6, 0.25][k] * room[k] / scale;
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

/// Points of a line at even steps.
fn evenly(points: &[Point3<f32>]) -> impl Iterator<Item = Point3<f32>> + '_ {
    let last = points.len().saturating_sub(1);
    let count = points.len().min(POINTS);
    (0..count).map(move |i| points[(i * last) / (count - 1).max(1)])
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

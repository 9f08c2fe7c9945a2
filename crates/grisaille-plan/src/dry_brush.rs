//! Where a dry brush catches.
//!
//! The model, argued from what bristles do (no published source):
//!
//! 1. *The tuft rides.* The bristles of a dry brush clump to tufts. Where a
//!    square of a tuft's width cannot enter, the tuft stays on top: the heights
//!    seen from the brush's side are closed by that square.
//! 2. *It jumps.* Drawn across an edge, bristles do not turn the corner: they
//!    fall by 45° against the stroke, so that there is a gap behind what stands
//!    out, and they meet the next edge that faces the stroke.
//! 3. *What hangs in the gap catches less.* Bristles are uneven: the share of
//!    them that reaches the depth g is exp(−g/δ). The load sets δ.
//! 4. *What is touched shares the paint.* One stroke leaves so much paint on
//!    each mm² that it passes; where it touches a tenth only, that gets ten
//!    times as much. Hence edges and crests light up, and a flat plate gets
//!    evenly little: 1 − exp(−q), q by the load.
//! 5. *Bristles push forward and down alike,* so a surface that faces the
//!    stroke gets more: the amount goes with n·(a − s), 1 on the level, for the
//!    normal n, the side a of the brush and the direction s of the stroke.
//!
//! The brush comes from seventeen sides, each spot being brushed from those
//! that it faces. Amounts of several strokes add up, and cover as spray does
//! ([`coverage`]).

use crate::coat::coverage;
use grisaille_base::{Stop, Watch};
use grisaille_form::{HeightMap, NOTHING, closed};
use grisaille_mesh::Mesh;
use grisaille_sight::Samples;
use rayon::prelude::*;

/// A tuft's width on a 32 mm figure is 1 mm: in spacings of the surface.
const TUFT: f64 = 5.0;
/// The brush is three tufts wide; over that it shares its paint.
const BRUSH: usize = 3;
/// Cells in a tuft's width, to each side of the middle one.
const REACH: usize = 5;
/// However little it touches, a brush puts no more than so much of its paint there.
const SHARPEST: f32 = 0.05;
/// Sides from which nothing is brushed that faces them by less than this cosine.
const ASLANT: f64 = 0.25;
/// A cancel is looked for after so many samples.
const STRETCH: usize = 4096;
/// A spot is brushed from the sides that it faces squarely: a side at 45°
/// counts 1/64, two at 22.5° count alike.
const SQUARELY: i32 = 12;

/// The way a stroke runs, for a painter who looks at the side being brushed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stroke {
    /// From top to foot; on level tops from back to front.
    Down,
    /// From foot to top.
    Up,
    /// From the painter's left to the right.
    Rightward,
    /// From the painter's right to the left.
    Leftward,
    /// To and fro over what faces up, and nothing else.
    OverTops,
}

impl Stroke {
    /// All five.
    pub const ALL: [Self; 5] = [Self::Down, Self::Up, Self::Rightward, Self::Leftward, Self::OverTops];

    /// In a painter's words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Down => "downward",
            Self::Up => "upward",
            Self::Rightward => "from left to right",
            Self::Leftward => "from right to left",
            Self::OverTops => "to and fro over the tops only",
        }
    }

    /// One word, for files.
    #[must_use]
    pub fn token(self) -> &'static str {
        match self {
            Self::Down => "down",
            Self::Up => "up",
            Self::Rightward => "rightward",
            Self::Leftward => "leftward",
            Self::OverTops => "over-tops",
        }
    }
}

/// How much paint is left on the brush.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Load {
    /// Nearly dry: edges only.
    Light,
    /// Wiped as for a usual dry brush.
    Medium,
    /// An overbrush: most of what stands out.
    Heavy,
}

impl Load {
    /// All three, the least first.
    pub const ALL: [Self; 3] = [Self::Light, Self::Medium, Self::Heavy];

    /// The amount q on a flat plate, and δ in tufts' widths.
    fn amount_and_depth(self) -> (f64, f64) {
        match self {
            Self::Light => (0.12, 0.02),
            Self::Medium => (0.4, 0.05),
            Self::Heavy => (1.2, 0.1),
        }
    }

    /// How much of a flat plate one stroke covers, 0 to 1.
    #[must_use]
    pub fn on_a_plate(self) -> f64 {
        coverage(self.amount_and_depth().0, 1.0)
    }

    /// In a painter's words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Light => "nearly dry: wipe until a flat place takes a tenth",
            Self::Medium => "dry brush: wipe until a flat place takes a third",
            Self::Heavy => "overbrush: wipe little, a flat place takes two thirds",
        }
    }

    /// One word, for files.
    #[must_use]
    pub fn token(self) -> &'static str {
        match self {
            Self::Light => "light",
            Self::Medium => "medium",
            Self::Heavy => "heavy",
        }
    }
}

/// A figure as the brush meets it from every side.
pub(crate) struct Brushed {
    sides: Vec<(HeightMap, Vec<f32>)>,
}

impl Brushed {
    /// Maps the heights of a mesh. `spacing` is that of its surface in mm.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub(crate) fn new(mesh: &Mesh, spacing: f64, watch: &Watch) -> Result<Self, Stop> {
        let mut sides = vec![[0.0, 0.0]];
        for tilt in [45.0, 90.0] {
            sides.extend((0..8).map(|k| [tilt, 45.0 * f64::from(k)]));
        }
        let (cell, rim) = cells(spacing);
        let sides = sides
            .into_par_iter()
            .map(|side| {
                let map = HeightMap::of(mesh, side, cell, rim, watch)?;
                let closed = closed(&map, REACH);
                Ok((map, closed))
            })
            .collect::<Result<_, Stop>>()?;
        Ok(Self { sides })
    }

    /// What one stroke all round covers of each sample, 0 to 1.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub(crate) fn catch(
        &self,
        samples: &Samples,
        stroke: Stroke,
        load: Load,
        watch: &Watch,
    ) -> Result<Vec<f32>, Stop> {
        let (amount, depth) = load.amount_and_depth();
        let depth = |map: &HeightMap| depth * (2 * REACH + 1) as f64 * map.cell;
        // The first side is from straight above.
        let (sides, ways) = match stroke {
            Stroke::OverTops => (&self.sides[..1], &[Way::Down, Way::Up][..]),
            Stroke::Down => (&self.sides[..], &[Way::Down][..]),
            Stroke::Up => (&self.sides[..], &[Way::Up][..]),
            Stroke::Rightward => (&self.sides[..], &[Way::Rightward][..]),
            Stroke::Leftward => (&self.sides[..], &[Way::Leftward][..]),
        };
        let touches: Vec<Touch<'_>> = sides
            .par_iter()
            .flat_map(|side| ways.par_iter().map(move |way| (side, *way)))
            .map(|((map, closed), way)| {
                watch.check()?;
                Ok(touch(map, closed, way, depth(map)))
            })
            .collect::<Result<_, Stop>>()?;
        watch.check()?;
        let tops = stroke == Stroke::OverTops;
        let one = |i: usize| {
            if samples.buried.get(i) {
                return 0.0;
            }
            let n = samples.normal[i].cast::<f64>();
            let (mut sum, mut weights) = (0.0, 0.0);
            for touch in &touches {
                let facing = n.dot(&touch.map.toward);
                if facing > ASLANT {
                    // Over the tops there is no other side that what lies aslant
                    // could turn to: it gets less, by the fourth power.
                    let weight = facing.powi(if tops { 4 } else { SQUARELY });
                    weights += weight;
                    let push = n.dot(&(touch.map.toward - touch.way)).max(0.0);
                    sum += weight * push * touch.at(samples.position[i], facing);
                }
            }
            if tops {
                weights = touches.len() as f64;
            }
            if weights > 0.0 { coverage(amount, sum / weights) as f32 } else { 0.0 }
        };
        let mut caught = vec![0.0_f32; samples.len()];
        caught.par_chunks_mut(STRETCH).enumerate().try_for_each(|(k, stretch)| {
            watch.check()?;
            for (i, caught) in stretch.iter_mut().enumerate() {
                *caught = one(k * STRETCH + i);
            }
            Ok(())
        })?;
        Ok(caught)
    }
}

/// The side of a cell and the empty rim of a map, mm.
fn cells(spacing: f64) -> (f64, f64) {
    let tuft = TUFT * spacing;
    (tuft / (2 * REACH + 1) as f64, (BRUSH + 1) as f64 * tuft)
}

/// The way of a stroke over one side.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Way {
    Down,
    Up,
    Rightward,
    Leftward,
}

/// What a stroke leaves on each cell of a map, in parts of what a flat plate gets.
struct Touch<'a> {
    map: &'a HeightMap,
    /// The direction of the stroke.
    way: nalgebra::Vector3<f64>,
    left: Vec<f32>,
}

fn touch<'a>(map: &'a HeightMap, closed: &[f32], way: Way, depth: f64) -> Touch<'a> {
    let direction = match way {
        Way::Down => -map.up,
        Way::Up => map.up,
        Way::Rightward => map.right,
        Way::Leftward => -map.right,
    };
    let ride = ride(map, closed, way);
    let reaching: Vec<f32> = map
        .height
        .iter()
        .zip(&ride)
        .map(|(h, e)| if *h == NOTHING { 0.0 } else { (-(e - h) / depth as f32).exp() })
        .collect();
    let shared = mean_over_brush(map, &reaching);
    let left = reaching.iter().zip(shared).map(|(k, f)| k / f.max(SHARPEST)).collect();
    Touch { map, way: direction, left }
}

/// Where bristles ride: over the closed heights, falling by 45° along the stroke.
fn ride(map: &HeightMap, closed: &[f32], way: Way) -> Vec<f32> {
    let mut ride = closed.to_vec();
    let fall = map.cell as f32;
    let (columns, rows) = (map.columns, map.rows);
    let (lines, length) = match way {
        Way::Down | Way::Up => (columns, rows),
        Way::Rightward | Way::Leftward => (rows, columns),
    };
    for line in 0..lines {
        let at = |i: usize| match way {
            Way::Up => i * columns + line,
            Way::Down => (rows - 1 - i) * columns + line,
            Way::Rightward => line * columns + i,
            Way::Leftward => line * columns + columns - 1 - i,
        };
        let mut height = NOTHING;
        for i in 0..length {
            height = ride[at(i)].max(height - fall);
            ride[at(i)] = height;
        }
    }
    ride
}

/// The mean of a field over the brush round each cell; beyond the map is 0.
fn mean_over_brush(map: &HeightMap, field: &[f32]) -> Vec<f32> {
    let reach = BRUSH * REACH;
    let window = (2 * reach + 1) as f64;
    let (columns, rows) = (map.columns, map.rows);
    let mut across = vec![0.0_f32; field.len()];
    let mut out = vec![0.0_f32; field.len()];
    let mut sums = vec![0.0_f64; columns.max(rows) + 1];
    let mut line = |from: &[f32], to: &mut [f32], start: usize, step: usize, length: usize| {
        for i in 0..length {
            sums[i + 1] = sums[i] + f64::from(from[start + i * step]);
        }
        for i in 0..length {
            let (low, high) = (i.saturating_sub(reach), (i + reach + 1).min(length));
            to[start + i * step] = ((sums[high] - sums[low]) / window) as f32;
        }
    };
    for y in 0..rows {
        line(field, &mut across, y * columns, 1, columns);
    }
    for x in 0..columns {
        line(&across, &mut out, x, columns, rows);
    }
    out
}

impl Touch<'_> {
    /// What a point gets that faces the brush by this cosine: between the four
    /// cells about it, of those that show its own surface.
    fn at(&self, p: nalgebra::Point3<f32>, facing: f64) -> f64 {
        let [x, y, z] = self.map.place(p);
        let (x0, y0) = (x.floor(), y.floor());
        // A cell away the surface itself may be this much higher or lower.
        let slack = self.map.cell * (1.5 + 1.5 * (1.0 / (facing * facing) - 1.0).max(0.0).sqrt());
        let (mut sum, mut all) = (0.0, 0.0);
        for (dx, dy) in [(0.0, 0.0), (1.0, 0.0), (0.0, 1.0), (1.0, 1.0)] {
            let (cx, cy) = (x0 + dx, y0 + dy);
            if cx < 0.0 || cy < 0.0 || cx >= self.map.columns as f64 || cy >= self.map.rows as f64 {
                continue;
            }
            let cell = cy as usize * self.map.columns + cx as usize;
            let weight = (1.0 - (x - cx).abs()) * (1.0 - (y - cy).abs()) + 1e-6;
            if (f64::from(self.map.height[cell]) - z).abs() <= slack {
                sum += weight * f64::from(self.left[cell]);
                all += weight;
            }
        }
        if all > 0.0 { sum / all } else { 0.0 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use grisaille_bodies::{Triangle, cuboid, icosphere, notched_block, scaled, stl};
    use grisaille_mesh::{ReadSettings, read};
    use nalgebra::{Point3, Vector3};

    /// With this spacing a tuft is 1 mm wide.
    const SPACING: f64 = 0.2;

    fn brushed(soup: &[Triangle]) -> Brushed {
        let watch = Watch::quiet();
        let (mesh, _) = read(&stl(soup), &ReadSettings::default(), &watch).unwrap();
        Brushed::new(&mesh, SPACING, &watch).unwrap()
    }

    /// What points of level tops catch.
    fn on_tops(b: &Brushed, points: &[[f32; 3]], stroke: Stroke, load: Load) -> Vec<f64> {
        let normals = vec![Vector3::z(); points.len()];
        catch(b, points, normals, stroke, load)
    }

    fn catch(
        b: &Brushed,
        points: &[[f32; 3]],
        normals: Vec<Vector3<f32>>,
        stroke: Stroke,
        load: Load,
    ) -> Vec<f64> {
        let points: Vec<Point3<f32>> = points.iter().map(|p| Point3::from(*p)).collect();
        let samples = Samples::new(points.clone(), normals, points, 1e-4);
        let caught = b.catch(&samples, stroke, load, &Watch::quiet()).unwrap();
        caught.into_iter().map(f64::from).collect()
    }

    /// The amount behind a cover.
    fn amount(cover: f64) -> f64 {
        -(1.0 - cover).ln()
    }

    #[test]
    fn a_flat_plate_catches_evenly_what_the_load_says() {
        let plate = brushed(&cuboid([-12.0, -12.0, 0.0], [12.0, 12.0, 2.0]));
        let inner: Vec<[f32; 3]> =
            (0..49).map(|i| [(i % 7) as f32 * 1.7 - 5.1, (i / 7) as f32 * 1.7 - 5.1, 2.0]).collect();
        for stroke in Stroke::ALL {
            for load in Load::ALL {
                for caught in on_tops(&plate, &inner, stroke, load) {
                    // From the eight sides at 45° the stroke runs up or down the
                    // level, which gets nothing or √2; they count 1/64 each.
                    let spread = if stroke == Stroke::OverTops { 1e-3 } else { 0.12 };
                    assert!(
                        (amount(caught) / amount(load.on_a_plate()) - 1.0).abs() < spread,
                        "{stroke:?}: {caught}"
                    );
                }
            }
        }
        // To and fro from above is the closed form itself: 1 − exp(−q).
        let light = on_tops(&plate, &inner, Stroke::OverTops, Load::Light)[24];
        assert!((light - (1.0 - (-0.12_f64).exp())).abs() < 1e-3, "{light}");
    }

    #[test]
    fn a_ridge_takes_the_share_of_all_that_is_touched() {
        // 0.4 mm wide, 1 mm high, along y. The brush is 3 mm wide; behind the
        // ridge it falls by 45° and comes down after 1 mm, so it touches 0.4 mm
        // of ridge, 1.3 mm before it and 0.3 mm behind: 2 of 3 mm, and the
        // ridge gets half as much again as the plate. At 11 cells a tuft the
        // mean over 3 tufts knows that to 1/33.
        let mut soup = cuboid([-12.0, -12.0, 0.0], [12.0, 12.0, 2.0]);
        soup.extend(cuboid([-0.2, -12.0, 1.5], [0.2, 12.0, 3.0]));
        let b = brushed(&soup);
        let (map, closed) = &b.sides[0];
        let touch = touch(map, closed, Way::Rightward, 1e-3);
        let at = |x: f32, z: f32| touch.at(Point3::new(x, 0.0, z), 1.0);
        assert!((at(0.0, 3.0) - 1.5).abs() < 0.1, "{}", at(0.0, 3.0));
        assert!((at(-6.0, 2.0) - 1.0).abs() < 1e-6);
        // What stands right behind it gets nothing, what lies before it does.
        assert!(at(0.7, 2.0) < 1e-6 && at(-0.7, 2.0) > 0.9, "{} {}", at(0.7, 2.0), at(-0.7, 2.0));
    }

    #[test]
    fn the_far_wall_of_a_groove_catches_down_to_where_the_fall_meets_it() {
        // Walls 4 mm deep that lean by 30° from upright: half width w = 4 tan 30°,
        // slope m = cot 30°. Falling by 45° from the near rim, z = −(x + w), it
        // meets the far wall z = −(w − x)·m at x = w (m − 1)/(m + 1).
        let lean = 30.0_f64.to_radians();
        let (w, m) = (4.0 * lean.tan(), 1.0 / lean.tan());
        let b = brushed(&notched_block(30.0));
        let (map, closed) = &b.sides[0];
        for (way, sign) in [(Way::Rightward, 1.0), (Way::Leftward, -1.0)] {
            let ride = ride(map, closed, way);
            let mut seen = 0;
            for column in 0..map.columns {
                let [x0, row, _] = map.place(Point3::new(0.0, 0.0, 0.0));
                let x = sign * (column as f64 - x0) * map.cell;
                if x.abs() > w - 2.0 * map.cell {
                    continue;
                }
                let cell = row.round() as usize * map.columns + column;
                let wall = -(w - x.abs()) * m;
                let want = wall.max(-(x + w));
                // Two cells: the rim lies between two, and so does the row.
                assert!((f64::from(ride[cell]) - want).abs() < 2.0 * map.cell, "{x}: {} {want}", ride[cell]);
                let touched = (f64::from(ride[cell]) - wall).abs() < 1e-3;
                let meets = w * (m - 1.0) / (m + 1.0);
                if (x - meets).abs() > 3.0 * map.cell {
                    assert_eq!(touched, x > meets, "{x} of {meets}");
                }
                seen += 1;
            }
            assert!(seen > 40);
        }
    }

    #[test]
    fn a_shallow_groove_catches_on_both_walls_but_where_a_tuft_cannot_enter() {
        // Walls 50° from upright fall by less than 45°: only the last of the
        // groove, narrower than the tuft, stays untouched.
        let slope = 1.0 / 50.0_f64.to_radians().tan();
        let b = brushed(&notched_block(50.0));
        let (map, closed) = &b.sides[0];
        let ride = ride(map, closed, Way::Rightward);
        let [x0, row, _] = map.place(Point3::new(0.0, 0.0, 0.0));
        for column in 0..map.columns {
            let x = (column as f64 - x0) * map.cell;
            let cell = row.round() as usize * map.columns + column;
            if x.abs() < 4.5 && map.height[cell] > NOTHING {
                let gap = f64::from(ride[cell] - map.height[cell]);
                let want = ((0.5 - x.abs()) * slope).max(0.0);
                assert!((gap - want).abs() < map.cell, "{x}: {gap} {want}");
            }
        }
    }

    #[test]
    fn a_recess_narrower_than_the_tuft_catches_nothing() {
        // Two blocks 0.6 mm and two 4 mm apart on a plate, 1.5 mm high.
        for (gap, some) in [(0.6, false), (5.0, true)] {
            let mut soup = cuboid([-12.0, -12.0, 0.0], [12.0, 12.0, 2.0]);
            soup.extend(cuboid([-9.0, -9.0, 1.5], [-0.5 * gap, 9.0, 3.5]));
            soup.extend(cuboid([0.5 * gap, -9.0, 1.5], [9.0, 9.0, 3.5]));
            let b = brushed(&soup);
            for stroke in Stroke::ALL {
                for load in Load::ALL {
                    let floor = on_tops(&b, &[[0.0, 0.0, 2.0]], stroke, load)[0];
                    let top = on_tops(&b, &[[-4.0, 0.0, 3.5]], stroke, load)[0];
                    assert!(top > 0.5 * load.on_a_plate());
                    if some {
                        assert!(floor > 0.3 * load.on_a_plate(), "{stroke:?} {load:?}: {floor}");
                    } else {
                        assert!(floor < 1e-6, "{stroke:?} {load:?}: {floor}");
                    }
                }
            }
        }
    }

    #[test]
    fn a_ball_catches_alike_on_both_sides_of_the_stroke() {
        let b = brushed(&scaled(icosphere(5), 8.0));
        let mut points = Vec::new();
        for i in 0..60 {
            let (z, turn) = (f64::from(i) / 30.0 - 0.98, 2.4 * f64::from(i));
            let r = (1.0 - z * z).max(0.0).sqrt();
            points.push([r * turn.cos(), r * turn.sin(), z].map(|x| x as f32));
        }
        let of = |turn: &dyn Fn([f32; 3]) -> [f32; 3], stroke| {
            let normals: Vec<[f32; 3]> = points.iter().map(|p| turn(*p)).collect();
            let places: Vec<[f32; 3]> = normals.iter().map(|n| n.map(|x| 8.0 * x)).collect();
            catch(&b, &places, normals.into_iter().map(Vector3::from).collect(), stroke, Load::Medium)
        };
        let same = |[x, y, z]: [f32; 3]| [x, y, z];
        let mirrored = |[x, y, z]: [f32; 3]| [-x, y, z];
        for (stroke, other) in [
            (Stroke::Down, Stroke::Down),
            (Stroke::Up, Stroke::Up),
            (Stroke::Rightward, Stroke::Leftward),
            (Stroke::OverTops, Stroke::OverTops),
        ] {
            let (one, two) = (of(&same, stroke), of(&mirrored, other));
            let most = one.iter().zip(&two).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
            // A cell is a hundredth of the ball's width, and lies otherwise on it.
            assert!(most < 0.05, "{stroke:?}: {most}");
            assert!(one.iter().any(|c| *c > 0.2));
        }
    }
}

//! Where a brush can reach, and from which side: tip, hair, ferrule and handle
//! must all find room.
//!
//! Seen from the side that the brush comes from, the figure is a map of
//! heights H. A brush whose radius is r at the height h above its tip stands
//! clear with its tip at the height T over a place x if T ≥ H(y) − h(|y − x|)
//! for every other place y, h(ρ) being how high above its tip the brush is as
//! wide as ρ: T is the dilation of the heights by the upturned brush (grey-scale
//! morphology, J. Serra, "Image Analysis and Mathematical Morphology", 1982; for
//! cutters known as the inverse tool offset, e.g. K. Suzuki et al., 1991, from
//! memory). The place is reached if T is no higher than the surface there.

use crate::height_map::{HeightMap, NOTHING};
use crate::patches::Patches;
use grisaille_base::{Stop, Watch};
use grisaille_light::sphere_points;
use grisaille_mesh::Mesh;
use grisaille_sight::{Bits, Samples, Surface};
use nalgebra::{Unit, Vector3};
use rayon::prelude::*;

/// Sides that the brush comes from: about 20° apart.
const SIDES: usize = 96;
/// Sides from further below than this are left out: there is the hand or stick
/// that holds the figure.
const LOWEST: f64 = -0.5;
/// A tip is set down on a surface no flatter to it than this cosine.
const FLATTEST: f64 = 0.35;
/// The most cells along a side of the figure.
const MOST_CELLS: f64 = 420.0;
/// Samples between two questions whether to stop.
const STRETCH: usize = 1 << 14;
/// Patches of less than so many mm² take paint by flowing in (common practice).
pub const FLOWS_IN: f64 = 0.5;
/// No side reaches.
const FROM_NONE: u8 = u8::MAX;

/// A round brush as a solid of revolution, straight between its points.
#[derive(Clone, Debug, PartialEq)]
pub struct BrushShape {
    /// Height above the tip and radius there in mm, both rising.
    points: Vec<[f64; 2]>,
}

impl BrushShape {
    /// A pointed brush for details: a tip that makes a line of 0.2 mm, hair of
    /// 11 mm with a belly of 2.2, a ferrule of 3.2 and a handle of 6 mm (common
    /// practice, from memory).
    #[must_use]
    pub fn detail() -> Self {
        Self { points: vec![[0.0, 0.1], [6.0, 1.0], [11.0, 1.1], [12.0, 1.4], [36.0, 1.6], [60.0, 3.0]] }
    }

    /// A brush of points: height above the tip and radius there in mm. Radii
    /// that fall are held, as the widest part below them decides. `None` without
    /// a point, and where a number is negative, not finite, or a height falls.
    #[must_use]
    pub fn new(points: &[[f64; 2]]) -> Option<Self> {
        let sound = |p: &[f64; 2]| p.iter().all(|x| x.is_finite() && *x >= 0.0);
        let rising = points.windows(2).all(|w| w[0][0] <= w[1][0]);
        if points.is_empty() || !points.iter().all(sound) || !rising {
            return None;
        }
        let mut widest = 0.0_f64;
        let points = points
            .iter()
            .map(|&[h, r]| {
                widest = widest.max(r);
                [h, widest]
            })
            .collect();
        Some(Self { points })
    }

    /// How high above its tip, in mm, the brush is first as wide as a radius;
    /// infinite beyond its widest part.
    #[must_use]
    pub fn height_at(&self, radius: f64) -> f64 {
        let Some(&[first, tip]) = self.points.first() else { return f64::INFINITY };
        if radius <= tip {
            return first;
        }
        for w in self.points.windows(2) {
            let ([low, thin], [high, wide]) = (w[0], w[1]);
            if radius <= wide && wide > thin {
                return low + (high - low) * (radius - thin) / (wide - thin);
            }
        }
        f64::INFINITY
    }

    /// The radius of the widest part in mm.
    #[must_use]
    pub fn widest(&self) -> f64 {
        self.points.last().map_or(0.0, |p| p[1])
    }
}

/// From where each sample is reached.
#[derive(Clone, Debug, PartialEq)]
pub struct Reach {
    /// The sides that were tried: unit vectors from the figure toward the brush.
    pub sides: Vec<Unit<Vector3<f64>>>,
    /// For each sample the side that it faces most squarely of those that reach
    /// it, or [`FROM_NONE`].
    from: Vec<u8>,
}

impl Reach {
    /// The side from which a sample is reached most squarely; `None` if none does.
    #[must_use]
    pub fn from(&self, sample: usize) -> Option<Unit<Vector3<f64>>> {
        self.sides.get(self.side(sample)?).copied()
    }

    /// The number of that side.
    pub(crate) fn side(&self, sample: usize) -> Option<usize> {
        Some(usize::from(*self.from.get(sample)?)).filter(|side| *side < self.sides.len())
    }

    /// Whether a sample is reached from any side.
    #[must_use]
    pub fn reaches(&self, sample: usize) -> bool {
        self.from.get(sample).is_some_and(|from| *from != FROM_NONE)
    }
}

/// Finds out where a brush reaches on the surface of a mesh, or on part of it: from 96 sides all round but from below, about 20° apart, with heights
/// in cells of 0.1 mm or a 420th of the figure, whichever is more, to which
/// precision it holds. The hair counts as stiff; one that bends reaches a little
/// further. Buried samples are not reached. Patches out of reach of less than
/// `smallest_mm2` count as reached: paint flows in.
///
/// # Errors
/// [`Stop`] when cancelled.
pub fn reach(
    mesh: &Mesh,
    surface: &Surface,
    brush: &BrushShape,
    smallest_mm2: f64,
    watch: &Watch,
) -> Result<Reach, Stop> {
    reach_of(mesh, (surface, None), brush, smallest_mm2, watch)
}

/// [`reach`] on some of the samples only; the others are not reached.
pub(crate) fn reach_of(
    mesh: &Mesh,
    (surface, only): (&Surface, Option<&Bits>),
    brush: &BrushShape,
    smallest_mm2: f64,
    watch: &Watch,
) -> Result<Reach, Stop> {
    let samples = &surface.samples;
    let sides: Vec<Unit<Vector3<f64>>> = sphere_points(SIDES).into_iter().filter(|d| d.z >= LOWEST).collect();
    let span = watch.span("brush reach", sides.len() as u64);
    let extents = mesh.bounds().extents();
    let cell = (extents.into_iter().fold(0.0, f64::max) / MOST_CELLS).max(0.1);
    // Each side tells which samples it reaches; what they face most is taken after.
    let per_side: Vec<Bits> = watch.run(|| {
        sides
            .par_iter()
            .map(|side| {
                let found = reached(mesh, (samples, only), brush, (side.into_inner(), cell), watch);
                span.advance(1);
                found
            })
            .collect::<Result<_, _>>()
    })?;
    let mut from: Vec<u8> = watch.run(|| {
        (0..samples.len())
            .into_par_iter()
            .map(|s| {
                let normal = samples.normal[s].cast::<f64>();
                let mut best = (f64::NEG_INFINITY, FROM_NONE);
                for (i, side) in sides.iter().enumerate() {
                    let squarely = normal.dot(side);
                    if per_side[i].get(s) && squarely > best.0 {
                        best = (squarely, i as u8);
                    }
                }
                best.1
            })
            .collect()
    });
    flow_in(surface, &mut from, smallest_mm2);
    Ok(Reach { sides, from })
}

/// Gives small patches out of reach the side of a neighbour.
fn flow_in(surface: &Surface, from: &mut [u8], smallest_mm2: f64) {
    let out = |from: &[u8], s: u32| from[s as usize] == FROM_NONE && !surface.samples.buried.get(s as usize);
    let mut patches = Patches::new(from.len());
    for (f, face) in surface.faces.iter().enumerate() {
        patches.add(face.map(|s| (s, out(from, s))), surface.face_area(f) / 3.0);
    }
    let area = patches.areas();
    let mut side = vec![FROM_NONE; from.len()];
    for face in &surface.faces {
        let beside = face.iter().map(|s| from[*s as usize]).min().unwrap_or(FROM_NONE);
        for &s in face.iter().filter(|s| out(from, **s)) {
            let patch = &mut side[patches.of(s as usize)];
            *patch = beside.min(*patch);
        }
    }
    for s in 0..from.len() {
        let patch = patches.of(s);
        if out(from, s as u32) && area[patch] < smallest_mm2 {
            from[s] = side[patch];
        }
    }
}

/// Whether each sample is reached from one side.
fn reached(
    mesh: &Mesh,
    (samples, only): (&Samples, Option<&Bits>),
    brush: &BrushShape,
    (toward, cell): (Vector3<f64>, f64),
    watch: &Watch,
) -> Result<Bits, Stop> {
    let across = if toward.z.abs() > 0.9 { Vector3::x() } else { Vector3::z() };
    let right = across.cross(&toward).normalize();
    let map = HeightMap::across(mesh, toward, right, [cell, cell], watch)?;
    let tip = widened(&map, brush, watch)?;
    let mut out = Bits::new(samples.len());
    for s in 0..samples.len() {
        if s % STRETCH == 0 {
            watch.check()?;
        }
        let facing = samples.normal[s].cast::<f64>().dot(&toward);
        if facing < FLATTEST || samples.buried.get(s) || only.is_some_and(|only| !only.get(s)) {
            continue;
        }
        let [x, y, z] = map.place(samples.position[s]);
        let (x, y) = (x.round().max(0.0) as usize, y.round().max(0.0) as usize);
        if x >= map.columns || y >= map.rows {
            continue;
        }
        // Within its cell and its neighbours' the surface itself rises by this.
        let slope = (1.0 - facing * facing).max(0.0).sqrt() / facing;
        let slack = map.cell * (0.5 + 1.5 * slope);
        out.set(s, f64::from(tip[y * map.columns + x]) <= z + slack);
    }
    Ok(out)
}

/// How low the tip may come over each cell: the heights, each lowered by how
/// high the brush is as wide as their distance.
fn widened(map: &HeightMap, brush: &BrushShape, watch: &Watch) -> Result<Vec<f32>, Stop> {
    let (columns, rows) = (map.columns, map.rows);
    let standing = map.height.iter().copied().filter(|h| *h > NOTHING);
    let (low, high) = standing.fold((f32::INFINITY, NOTHING), |(l, h), x| (l.min(x), h.max(x)));
    let tallest = f64::from(high - low);
    let most = (brush.widest() / map.cell).ceil().min(columns.max(rows) as f64) as i64;
    let mut tip = map.height.clone();
    // A hair's map may be narrower than the brush: nothing of it is further apart than it is wide.
    let [most_x, most_y] = [columns, rows].map(|cells| most.min(cells as i64 - 1));
    for dy in -most_y..=most_y {
        watch.check()?;
        for dx in -most_x..=most_x {
            let distance = map.cell * ((dx * dx + dy * dy) as f64).sqrt();
            let above = brush.height_at(distance);
            // Higher than anything stands over anything else, it is in no way.
            if above >= tallest {
                continue;
            }
            let lower = above as f32;
            for y in dy.max(0)..(rows as i64 + dy.min(0)) {
                // Cell (x, y) of the heights bears on cell (x − dx, y − dy) of the tip.
                let (from_x, to_x) = (dx.max(0), columns as i64 + dx.min(0));
                let heights =
                    &map.height[(y * columns as i64 + from_x) as usize..(y * columns as i64 + to_x) as usize];
                let begin = ((y - dy) * columns as i64 + from_x - dx) as usize;
                for (tip, height) in tip[begin..begin + heights.len()].iter_mut().zip(heights) {
                    *tip = tip.max(height - lower);
                }
            }
        }
    }
    Ok(tip)
}

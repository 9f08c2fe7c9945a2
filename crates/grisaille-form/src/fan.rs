//! The directions around each vertex, laid out flat, and how a direction turns
//! on the way to a neighbour.
//!
//! The angles around a vertex are stretched to a full circle (F. Knöppel,
//! K. Crane, U. Pinkall, P. Schröder, Globally Optimal Direction Fields, ACM
//! TOG 32(4), 2013, section 4), so that a direction is a number, and it keeps its
//! angle with the edge on which it travels. No normals are asked, so a crease
//! is no obstacle.

use crate::Shape;
use grisaille_base::{Stop, Watch};
use grisaille_mesh::{next, prev};
use rayon::prelude::*;
use std::f64::consts::{PI, TAU};

/// How many vertices are worked at a time.
const STRETCH: usize = 2048;

/// A neighbour of a vertex.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Link {
    /// The neighbour.
    pub(crate) to: u32,
    /// A half-edge on the way there: it leaves the vertex, but for the last of
    /// an open fan, where it arrives.
    pub(crate) half: u32,
    /// The direction of the neighbour, laid out, in radians.
    pub(crate) angle: f32,
}

/// What lies around each vertex.
#[derive(Clone, Debug)]
pub(crate) struct Fans {
    begin: Vec<u32>,
    links: Vec<Link>,
    /// By how much the angles were stretched; 1 where the fan is open.
    stretch: Vec<f32>,
    /// What is missing to a flat vertex, in radians.
    defect: Vec<f64>,
    /// The direction of each half-edge at its tail.
    tail: Vec<f32>,
}

impl Fans {
    pub(crate) fn of(shape: &Shape, watch: &Watch) -> Result<Self, Stop> {
        let corners = Corners::of(shape);
        watch.check()?;
        let count = shape.positions().len();
        let stretches: Vec<usize> = (0..count).step_by(STRETCH).collect();
        let made: Vec<Stretch> = watch.run(|| {
            let each = |&from: &usize| {
                let mut out = Stretch::default();
                if !watch.stopped() {
                    for v in from..(from + STRETCH).min(count) {
                        out.vertex(shape, corners.of_vertex(v));
                    }
                }
                out
            };
            stretches.par_iter().map(each).collect()
        });
        watch.check()?;
        let mut fans = Self {
            begin: Vec::with_capacity(count + 1),
            links: Vec::with_capacity(made.iter().map(|m| m.links.len()).sum()),
            stretch: Vec::with_capacity(count),
            defect: Vec::with_capacity(count),
            tail: Vec::new(),
        };
        fans.begin.push(0);
        for one in made {
            let before = fans.links.len() as u32;
            fans.begin.extend(one.ends.iter().map(|end| before + end));
            fans.links.extend(one.links);
            fans.stretch.extend(one.stretch);
            fans.defect.extend(one.defect);
        }
        watch.check()?;
        fans.connect(shape, watch)?;
        Ok(fans)
    }

    /// Finds how directions turn from vertex to vertex.
    fn connect(&mut self, shape: &Shape, watch: &Watch) -> Result<(), Stop> {
        let mut tail = vec![0.0_f32; 3 * shape.faces().len()];
        for v in 0..self.stretch.len() {
            for link in self.around(v as u32) {
                if shape.ends(link.half)[0] == v as u32 {
                    tail[link.half as usize] = link.angle;
                }
            }
        }
        watch.check()?;
        self.tail = tail;
        watch.check()
    }

    /// The direction of a half-edge at its tail, and the way back at its head.
    pub(crate) fn leaving(&self, shape: &Shape, half: u32) -> [f32; 2] {
        let back = match shape.across(half) {
            Some(twin) => self.tail[twin as usize],
            None => {
                let next = next(half);
                let v = shape.ends(next)[0];
                self.tail[next as usize] + corner_angle(shape, next) as f32 * self.stretch[v as usize]
            }
        };
        [self.tail[half as usize], back]
    }

    /// Cosine and sine of twice the angle by which a direction turns on its way
    /// from the neighbour to here.
    pub(crate) fn arrive(&self, shape: &Shape, link: &Link) -> [f32; 2] {
        let there = match shape.across(link.half) {
            Some(twin) => self.tail[twin as usize],
            None if shape.ends(link.half)[1] == link.to => self.leaving(shape, link.half)[1],
            None => self.tail[link.half as usize],
        };
        let (sin, cos) = (2.0 * (link.angle - there)).sin_cos();
        [cos, sin]
    }

    /// All neighbours, those of each vertex one after the other, and where each begins.
    pub(crate) fn links(&self) -> (&[u32], &[Link]) {
        (&self.begin, &self.links)
    }

    /// The neighbours of a vertex, counter-clockwise from outside.
    pub(crate) fn around(&self, vertex: u32) -> &[Link] {
        &self.links[self.begin[vertex as usize] as usize..self.begin[vertex as usize + 1] as usize]
    }

    /// A direction at a vertex as a vector of length 1 in the face on which it
    /// lies, or in that of its opposite, turned round. `None` where neither lies on a face.
    pub(crate) fn direction(&self, shape: &Shape, vertex: u32, angle: f64) -> Option<nalgebra::Vector3<f64>> {
        let links = self.around(vertex);
        let at = |v: u32| shape.positions()[v as usize].cast::<f64>();
        let here = at(vertex);
        for (angle, sign) in [(angle.rem_euclid(TAU), 1.0), ((angle + PI).rem_euclid(TAU), -1.0)] {
            let Some(link) = links.iter().rev().find(|link| f64::from(link.angle) <= angle) else { continue };
            if shape.ends(link.half)[0] != vertex {
                continue;
            }
            let past = (angle - f64::from(link.angle)) / f64::from(self.stretch[vertex as usize]);
            let along = (at(link.to) - here).try_normalize(0.0)?;
            let normal = shape.normals()[link.half as usize / 3].cast::<f64>();
            return Some(sign * (along * past.cos() + normal.cross(&along) * past.sin()));
        }
        None
    }
}

/// What is missing at each vertex to a flat one, in radians: 2π less the
/// angles around it, or π less them where the surface ends there; the latter is how far the border
/// turns. Where several fans meet in one vertex, each counts for itself.
/// The sum over a net is 2πχ, χ its Euler characteristic, fans counted as
/// vertices (Descartes; Gauss and Bonnet).
///
/// # Errors
/// [`Stop`] when cancelled.
pub fn angle_defects(shape: &Shape, watch: &Watch) -> Result<Vec<f64>, Stop> {
    Ok(Fans::of(shape, watch)?.defect)
}

/// The half-edges that leave each vertex.
struct Corners {
    begin: Vec<u32>,
    halves: Vec<u32>,
}

impl Corners {
    fn of(shape: &Shape) -> Self {
        let mut begin = vec![0_u32; shape.positions().len() + 1];
        for v in shape.faces().iter().flatten() {
            begin[*v as usize + 1] += 1;
        }
        for v in 1..begin.len() {
            begin[v] += begin[v - 1];
        }
        let mut filled = begin.clone();
        let mut halves = vec![0; 3 * shape.faces().len()];
        for (half, v) in shape.faces().iter().flatten().enumerate() {
            halves[filled[*v as usize] as usize] = half as u32;
            filled[*v as usize] += 1;
        }
        Self { begin, halves }
    }

    fn of_vertex(&self, vertex: usize) -> &[u32] {
        &self.halves[self.begin[vertex] as usize..self.begin[vertex + 1] as usize]
    }
}

/// The fans of some vertices, one after the other.
#[derive(Default)]
struct Stretch {
    ends: Vec<u32>,
    links: Vec<Link>,
    stretch: Vec<f32>,
    defect: Vec<f64>,
}

impl Stretch {
    /// Goes round one vertex: first the fans that begin at an open edge, then those
    /// that close.
    fn vertex(&mut self, shape: &Shape, corners: &[u32]) {
        let first = self.links.len();
        let (mut total, mut closed, mut defect) = (0.0, corners.is_empty(), 0.0);
        let begins = |half: u32| shape.across(half).is_none();
        let starts = corners.iter().filter(|h| begins(**h)).chain(corners.iter().filter(|h| !begins(**h)));
        for &start in starts {
            if self.links[first..].iter().any(|link| link.half == start) {
                continue;
            }
            let before = total;
            closed = !begins(start);
            let mut half = start;
            // No fan has more faces than the vertex has corners.
            for _ in 0..corners.len() {
                self.links.push(link(half, shape.ends(half)[1], total));
                total += corner_angle(shape, half);
                let back = prev(half);
                match shape.across(back) {
                    Some(twin) if twin != start => half = twin,
                    Some(_) => break,
                    None => {
                        self.links.push(link(back, shape.ends(back)[0], total));
                        break;
                    }
                }
            }
            defect += if closed { TAU } else { PI } - (total - before);
        }
        let stretch = if closed && total > 0.0 { TAU / total } else { 1.0 };
        for link in &mut self.links[first..] {
            link.angle = (f64::from(link.angle) * stretch) as f32;
        }
        self.ends.push(self.links.len() as u32);
        self.stretch.push(stretch as f32);
        self.defect.push(defect);
    }
}

fn link(half: u32, to: u32, angle: f64) -> Link {
    Link { to, half, angle: angle as f32 }
}

/// How much heat flows along an edge: the half sum of the two opposite cotangents, from
/// −1, so that a direction cannot grow on its way round a very blunt
/// triangle. From 0 would spread a tenth too far on nets that are only a little blunt.
pub(crate) fn flow(shape: &Shape, half: u32) -> f32 {
    let opposite = |h: u32| cotangent(shape, prev(h));
    let weight = 0.5 * (opposite(half) + shape.across(half).map_or(0.0, opposite));
    // The cotangents of a needle have no bound.
    weight.clamp(-1.0, 20.0) as f32
}

/// Cross product and dot product of the two sides that leave a half-edge's tail.
fn corner(shape: &Shape, half: u32) -> (f64, f64) {
    let [a, b] = shape.ends(half);
    let c = shape.ends(prev(half))[0];
    let [a, b, c] = [a, b, c].map(|v| shape.positions()[v as usize].cast::<f64>());
    let (u, v) = (b - a, c - a);
    (u.cross(&v).norm(), u.dot(&v))
}

fn corner_angle(shape: &Shape, half: u32) -> f64 {
    let (cross, dot) = corner(shape, half);
    cross.atan2(dot)
}

fn cotangent(shape: &Shape, half: u32) -> f64 {
    let (cross, dot) = corner(shape, half);
    if cross > 0.0 { dot / cross } else { 0.0 }
}

//! The same diver with fewer triangles, for a small file.
//!
//! Edges are collapsed in order of the quadric error of Garland and Heckbert,
//! "Surface simplification using quadric error metrics", 1997, in one queue
//! over all pieces, so that flat metal gives way before folds and rope do.
//! A collapse that would pinch or turn over the surface is passed by: closed
//! shells stay closed.

use crate::diver::{Diver, DiverPiece};
use fast_surface_nets::glam::{DMat3, DVec3, Vec3};
use grisaille_base::{Stop, Watch};
use std::cmp::Reverse;
use std::collections::{BinaryHeap, HashMap};

/// How much dearer an error on the face is than one elsewhere.
const FACE_CARE: f64 = 40.0;
/// Collapses between two looks at the watch.
const STRIDE: usize = 512;

impl Diver {
    /// The diver with about `target` triangles, or as few as can be had
    /// without opening or turning over a shell; never more than it has now.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub fn decimated(&self, target: usize, watch: &Watch) -> Result<Self, Stop> {
        let mut net = Net::of(self);
        let span = watch.span("decimate", net.alive.saturating_sub(target) as u64);
        net.price_all(watch)?;
        let mut turns = 0;
        while net.alive > target {
            turns += 1;
            if turns % STRIDE == 0 {
                watch.check()?;
            }
            let before = net.alive;
            let Some(Reverse(next)) = net.queue.pop() else { break };
            net.collapse(&next);
            span.advance((before - net.alive) as u64);
        }
        let triangles = |range: &std::ops::Range<usize>| {
            let faces = net.faces[range.clone()].iter().flatten();
            faces.map(|f| f.map(|v| net.places[v as usize].as_vec3().to_array())).collect()
        };
        let pieces = self.pieces.iter().zip(&net.ranges);
        Ok(Self {
            pieces: pieces.map(|(p, r)| DiverPiece { name: p.name, triangles: triangles(r) }).collect(),
        })
    }
}

/// All pieces as one indexed net; faces that are gone are `None`.
struct Net {
    places: Vec<DVec3>,
    faces: Vec<Option<[u32; 3]>>,
    /// The faces of each piece.
    ranges: Vec<std::ops::Range<usize>>,
    /// The faces about each vertex.
    about: Vec<Vec<u32>>,
    errors: Vec<Quadric>,
    /// Counts the changes of a vertex, to know an outdated price.
    age: Vec<u32>,
    queue: BinaryHeap<Reverse<Offer>>,
    alive: usize,
}

/// The price of joining `ends` at a place; ordered by price, then by ends.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
struct Offer {
    /// Bits of the non-negative price, which order as the price does.
    price: u64,
    ends: [u32; 2],
    ages: [u32; 2],
    /// Bits of the place.
    place: [u64; 3],
}

/// Sum of squared distances to planes, as a form in the place.
#[derive(Clone, Copy)]
struct Quadric {
    square: DMat3,
    linear: DVec3,
    constant: f64,
}

impl Quadric {
    const NONE: Self = Self { square: DMat3::ZERO, linear: DVec3::ZERO, constant: 0.0 };

    fn plane(normal: DVec3, offset: f64, weight: f64) -> Self {
        let n = normal;
        let square = DMat3::from_cols(n * n.x, n * n.y, n * n.z);
        Self { square: square * weight, linear: n * (offset * weight), constant: offset * offset * weight }
    }

    fn plus(&self, other: &Self) -> Self {
        Self {
            square: self.square + other.square,
            linear: self.linear + other.linear,
            constant: self.constant + other.constant,
        }
    }

    fn at(&self, p: DVec3) -> f64 {
        (p.dot(self.square * p) + 2.0 * self.linear.dot(p) + self.constant).max(0.0)
    }
}

impl Net {
    fn of(diver: &Diver) -> Self {
        let mut net = Self {
            places: Vec::new(),
            faces: Vec::new(),
            ranges: Vec::new(),
            about: Vec::new(),
            errors: Vec::new(),
            age: Vec::new(),
            queue: BinaryHeap::new(),
            alive: 0,
        };
        for piece in &diver.pieces {
            let care = if piece.name == "head" { FACE_CARE } else { 1.0 };
            let from = net.faces.len();
            let mut known: HashMap<[u32; 3], u32> = HashMap::new();
            for t in &piece.triangles {
                let face = t.map(|p| {
                    *known.entry(p.map(f32::to_bits)).or_insert_with(|| {
                        net.places.push(Vec3::from(p).as_dvec3());
                        net.about.push(Vec::new());
                        net.errors.push(Quadric::NONE);
                        (net.places.len() - 1) as u32
                    })
                });
                net.add_face(face, care);
            }
            net.ranges.push(from..net.faces.len());
        }
        net.alive = net.faces.len();
        net.age = vec![0; net.places.len()];
        net
    }

    fn add_face(&mut self, face: [u32; 3], care: f64) {
        let [a, b, c] = face.map(|v| self.places[v as usize]);
        let cross = (b - a).cross(c - a);
        let normal = cross.normalize_or_zero();
        let plane = Quadric::plane(normal, -normal.dot(a), care * cross.length() / 6.0);
        for v in face {
            self.about[v as usize].push(self.faces.len() as u32);
            self.errors[v as usize] = self.errors[v as usize].plus(&plane);
        }
        self.faces.push(Some(face));
    }

    fn price_all(&mut self, watch: &Watch) -> Result<(), Stop> {
        for i in 0..self.faces.len() {
            if i % STRIDE == 0 {
                watch.check()?;
            }
            let Some(face) = self.faces[i] else { continue };
            for k in 0..3 {
                // A closed shell has each edge once in either direction.
                if face[k] < face[(k + 1) % 3] {
                    self.offer(face[k], face[(k + 1) % 3]);
                }
            }
        }
        Ok(())
    }

    fn offer(&mut self, a: u32, b: u32) {
        let ends = [a.min(b), a.max(b)];
        let [pa, pb] = ends.map(|v| self.places[v as usize]);
        let sum = self.errors[a as usize].plus(&self.errors[b as usize]);
        let middle = 0.5 * (pa + pb);
        let reach = pa.distance(pb);
        let mut best = (sum.at(middle), middle);
        for p in [pa, pb] {
            if sum.at(p) < best.0 {
                best = (sum.at(p), p);
            }
        }
        if sum.square.determinant().abs() > 1e-12 {
            let p = sum.square.inverse() * -sum.linear;
            if p.is_finite() && p.distance(middle) < reach && sum.at(p) < best.0 {
                best = (sum.at(p), p);
            }
        }
        // A touch of length keeps flat ground evenly covered.
        let price = best.0 + 1e-7 * reach * reach;
        self.queue.push(Reverse(Offer {
            price: price.to_bits(),
            ends,
            ages: ends.map(|v| self.age[v as usize]),
            place: best.1.to_array().map(f64::to_bits),
        }));
    }

    fn neighbours(&self, v: u32) -> Vec<u32> {
        let faces = self.about[v as usize].iter().filter_map(|&f| self.faces[f as usize]);
        let mut all: Vec<u32> = faces.flatten().filter(|&w| w != v).collect();
        all.sort_unstable();
        all.dedup();
        all
    }

    fn collapse(&mut self, offer: &Offer) {
        let [a, b] = offer.ends;
        if offer.ages != offer.ends.map(|v| self.age[v as usize]) {
            return;
        }
        let place = DVec3::from_array(offer.place.map(f64::from_bits));
        let (around_a, around_b) = (self.neighbours(a), self.neighbours(b));
        let shared = around_a.iter().filter(|v| around_b.binary_search(v).is_ok()).count();
        // Sharing more than the two tips would pinch the shell; a shell with
        // next to no faces would vanish.
        if shared != 2 || around_a.len() + around_b.len() < 8 {
            return;
        }
        if self.turns_over(a, b, place) || self.turns_over(b, a, place) {
            return;
        }
        for f in std::mem::take(&mut self.about[b as usize]) {
            let Some(face) = self.faces[f as usize] else { continue };
            if face.contains(&a) {
                self.faces[f as usize] = None;
                self.alive -= 1;
            } else {
                self.faces[f as usize] = Some(face.map(|v| if v == b { a } else { v }));
                self.about[a as usize].push(f);
            }
        }
        let faces = &self.faces;
        self.about[a as usize].retain(|&f| faces[f as usize].is_some());
        self.places[a as usize] = place;
        self.errors[a as usize] = self.errors[a as usize].plus(&self.errors[b as usize]);
        self.age[a as usize] += 1;
        self.age[b as usize] += 1;
        for v in self.neighbours(a) {
            self.offer(a, v);
        }
    }

    /// Whether moving `v` to `place` turns over or crushes one of its faces
    /// that does not also touch `other`.
    fn turns_over(&self, v: u32, other: u32, place: DVec3) -> bool {
        self.about[v as usize].iter().filter_map(|&f| self.faces[f as usize]).any(|face| {
            if face.contains(&other) {
                return false;
            }
            let old = face.map(|w| self.places[w as usize]);
            let new = face.map(|w| if w == v { place } else { self.places[w as usize] });
            let [before, after] = [old, new].map(|[a, b, c]| (b - a).cross(c - a));
            let longest = (0..3).map(|k| new[k].distance_squared(new[(k + 1) % 3])).fold(0.0, f64::max);
            after.length() < 0.04 * longest || before.dot(after) < 0.3 * before.length() * after.length()
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_quadric_is_the_squared_distance_to_its_planes_wherever_it_lies() {
        for height in [0.0, 54.0] {
            let on = DVec3::new(1.0, 2.0, height);
            let (n, m) = (DVec3::new(0.6, 0.0, 0.8), DVec3::new(0.0, -0.8, 0.6));
            let both = Quadric::NONE.plus(&Quadric::plane(n, -n.dot(on), 2.0)).plus(&Quadric::plane(
                m,
                -m.dot(on),
                0.5,
            ));
            let p = on + DVec3::new(0.3, -0.2, 0.1);
            let expected = 2.0 * n.dot(p - on).powi(2) + 0.5 * m.dot(p - on).powi(2);
            assert!((both.at(p) - expected).abs() < 1e-9, "{} for {expected}", both.at(p));
            assert!(both.at(on) < 1e-9);
        }
    }
}

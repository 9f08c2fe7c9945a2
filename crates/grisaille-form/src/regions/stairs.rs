//! The stairs of a print, folded: how a printed surface faces without the steps of its layers.
//!
//! A slicer cuts a body into level slabs (common practice), so a slope becomes treads and risers, all of one
//! height. Each place of a riser is laid on the middle of its height and the treads are hung between, so that
//! a stair is the slope again that it was cut from; nothing moves by more than half a step. Ground that is neither tread nor
//! riser, and risers higher than a layer, stay as they are.

use super::faces::Faces;
use crate::Shape;
use grisaille_base::{Stop, Watch};
use grisaille_mesh::Layers;
use nalgebra::Vector3;
use std::cmp::{Ordering, Reverse};
use std::collections::BinaryHeap;

/// What faces up or down by more than this, as a cosine, is a tread.
const TREAD: f64 = 0.94;
/// What faces up or down by less is a riser. In between is form: no slicer makes it.
const RISER: f64 = 0.5;
/// A riser is no more faces high than this: what is divided more finely is not looked at.
const MOST: usize = 64;

/// The unit normals of faces without the stairs of these layers: those of `faces` wherever there are
/// none, and zero where nothing has an area.
pub(crate) fn without_stairs(
    shape: &Shape,
    faces: &Faces,
    layers: &[Layers],
    watch: &Watch,
) -> Result<Vec<Vector3<f32>>, Stop> {
    let mut normals = faces.normals.clone();
    for layers in layers {
        let stairs = Stairs::of(shape, faces, layers, watch)?;
        if stairs.middle.iter().any(Option::is_some) {
            stairs.fold(&mut normals, watch)?;
        }
    }
    Ok(normals)
}

/// What of a surface is a stair.
struct Stairs<'a> {
    shape: &'a Shape,
    faces: &'a Faces,
    up: Vector3<f64>,
    /// No riser is higher, in mm.
    grain_mm: f64,
    /// Of each face, how far it looks up: 1 up, −1 down; nothing of another model.
    rise: Vec<Option<f64>>,
    /// Of each riser no higher than a layer the height of its middle, in mm.
    middle: Vec<Option<f64>>,
}

impl<'a> Stairs<'a> {
    fn of(shape: &'a Shape, faces: &'a Faces, layers: &Layers, watch: &Watch) -> Result<Self, Stop> {
        let up = Vector3::from(layers.up);
        let rise = watch.map(shape.faces().len(), |f| {
            let here = layers.bounds.holds(faces.middles[f].cast::<f64>().into());
            here.then(|| shape.normals()[f].cast::<f64>().dot(&up))
        })?;
        let mut stairs = Self { shape, faces, up, grain_mm: layers.grain_mm(), rise, middle: Vec::new() };
        stairs.middle = watch.map(shape.faces().len(), |f| stairs.middle_of(f))?;
        Ok(stairs)
    }

    fn is_tread(&self, f: usize) -> bool {
        self.rise[f].is_some_and(|rise| rise.abs() > TREAD)
    }

    fn is_riser(&self, f: usize) -> bool {
        self.rise[f].is_some_and(|rise| rise.abs() < RISER)
    }

    /// The middle height of the riser that a face is part of, if a tread begins above it and another below it
    /// that look the same way: both sides of a flange or a groove are form.
    fn middle_of(&self, f: usize) -> Option<f64> {
        if !self.is_riser(f) {
            return None;
        }
        let ([high, above], [low, below]) = (self.end(f, 1.0)?, self.end(f, -1.0)?);
        (above * below > 0.0 && high - low <= self.grain_mm).then_some(0.5 * (high + low))
    }

    /// Straight up (1) or down (−1) from the middle of a riser's face: at which height a tread begins, and how
    /// far it looks up.
    fn end(&self, f: usize, sign: f64) -> Option<[f64; 2]> {
        let (mut f, mut at) = (f, self.faces.middles[f].coords.cast::<f64>());
        let begin = at.dot(&self.up);
        for _ in 0..MOST {
            let normal = self.shape.normals()[f].cast::<f64>();
            let way = (self.up - normal * normal.dot(&self.up)) * sign;
            let (half, far) = (3 * f..3 * f + 3)
                .filter_map(|half| {
                    let [a, b] = self.ends(half);
                    let out = (b - a).cross(&normal);
                    let toward = out.dot(&way);
                    (toward > 0.0).then(|| (half, (out.dot(&(a - at)) / toward).max(0.0)))
                })
                .min_by(|a, b| a.1.total_cmp(&b.1))?;
            at += way * far;
            let height = at.dot(&self.up);
            if (height - begin).abs() > self.grain_mm {
                return None;
            }
            f = self.faces.across(half)?;
            if self.is_tread(f) {
                return Some([height, self.rise[f]?]);
            }
            if !self.is_riser(f) {
                return None;
            }
        }
        None
    }

    /// Gives treads and risers the normals of the slopes that they stand for.
    fn fold(&self, normals: &mut [Vector3<f32>], watch: &Watch) -> Result<(), Stop> {
        let lift = self.lifts(watch)?;
        let places = self.shape.positions();
        for (f, face) in self.shape.faces().iter().enumerate() {
            if self.middle[f].is_some() {
                // It is a line now: it faces as what it lies among.
                normals[f] = Vector3::zeros();
            } else if self.is_tread(f) && face.iter().any(|v| lift[*v as usize] != 0.0) {
                let [a, b, c] =
                    face.map(|v| places[v as usize].coords.cast::<f64>() + self.up * lift[v as usize]);
                let normal = (b - a).cross(&(c - a)).try_normalize(0.0).unwrap_or_default();
                normals[f] = normal.cast();
            }
        }
        let mut bare: Vec<usize> = (0..normals.len()).filter(|f| self.middle[*f].is_some()).collect();
        while !bare.is_empty() {
            watch.check()?;
            let found: Vec<(usize, Vector3<f32>)> = bare
                .iter()
                .filter_map(|f| {
                    let beside = (0..3).filter_map(|c| self.faces.across(3 * f + c));
                    let sum: Vector3<f32> = beside.map(|g| normals[g] * self.shape.areas()[g]).sum();
                    Some((*f, sum.try_normalize(0.0)?))
                })
                .collect();
            if found.is_empty() {
                break;
            }
            for (f, normal) in found {
                normals[f] = normal;
            }
            bare.retain(|f| normals[*f] == Vector3::zeros());
        }
        for f in bare {
            normals[f] = self.shape.normals()[f];
        }
        Ok(())
    }

    /// How far each vertex is lifted, in mm: a riser's to the middle of its height, those of a tread by what
    /// is at its borders, the nearer the more; others not at all.
    fn lifts(&self, watch: &Watch) -> Result<Vec<f64>, Stop> {
        let places = self.shape.positions();
        let ways = self.ways();
        watch.check()?;
        let half = 0.5 * self.grain_mm;
        let height = |v: u32| places[v as usize].coords.cast::<f64>().dot(&self.up);
        // Sums of area times lift, and of area, of what is no tread round each vertex.
        let mut sums = vec![[0.0_f64; 2]; places.len()];
        let mut on_tread = vec![false; places.len()];
        for (f, face) in self.shape.faces().iter().enumerate() {
            let area = f64::from(self.shape.areas()[f]).max(f64::MIN_POSITIVE);
            for v in *face {
                if self.is_tread(f) {
                    on_tread[v as usize] = true;
                    continue;
                }
                let lift = self.middle[f].map_or(0.0, |middle| (middle - height(v)).clamp(-half, half));
                let sum = &mut sums[v as usize];
                *sum = [sum[0] + area * lift, sum[1] + area];
            }
        }
        let mut lift: Vec<f64> =
            sums.iter().map(|[lift, area]| if *area > 0.0 { lift / area + 0.0 } else { 0.0 }).collect();
        watch.check()?;
        let is_border = |v: usize| on_tread[v] && sums[v][1] > 0.0;
        // The nearest border that sinks, that stays, and that rises.
        let mut weighed = vec![[0.0_f64; 2]; places.len()];
        for order in [Ordering::Less, Ordering::Equal, Ordering::Greater] {
            let is_of = |v: &u32| is_border(*v as usize) && lift[*v as usize].total_cmp(&0.0) == order;
            let from = (0..places.len() as u32).filter(is_of).collect();
            let found = ways.nearest(from, &is_border, watch)?;
            for (sum, (far, from)) in weighed.iter_mut().zip(found).filter_map(|(sum, at)| Some((sum, at?))) {
                let weight = 1.0 / far.max(1e-9);
                *sum = [sum[0] + weight * lift[from as usize], sum[1] + weight];
            }
        }
        for v in (0..places.len()).filter(|v| sums[*v][1] <= 0.0 && weighed[*v][1] > 0.0) {
            lift[v] = weighed[v][0] / weighed[v][1];
        }
        Ok(lift)
    }

    /// The edges of treads.
    fn ways(&self) -> Ways {
        let halves = || (0..3 * self.rise.len()).filter(|half| self.is_tread(half / 3));
        let mut begin = vec![0_u32; self.shape.positions().len() + 1];
        for v in halves().flat_map(|half| self.shape.ends(half as u32)) {
            begin[v as usize + 1] += 1;
        }
        for v in 1..begin.len() {
            begin[v] += begin[v - 1];
        }
        let mut next = begin.clone();
        let mut to = vec![(0, 0.0); begin.last().map_or(0, |end| *end as usize)];
        for half in halves() {
            let ([a, b], [p, q]) = (self.shape.ends(half as u32), self.ends(half));
            for [from, on] in [[a, b], [b, a]] {
                to[next[from as usize] as usize] = (on, (q - p).norm());
                next[from as usize] += 1;
            }
        }
        Ways { begin, to }
    }

    /// The ends of a half-edge in mm.
    fn ends(&self, half: usize) -> [Vector3<f64>; 2] {
        self.shape.ends(half as u32).map(|v| self.shape.positions()[v as usize].coords.cast())
    }
}

/// Ways from vertex to vertex: those from `v` are `begin[v]..begin[v + 1]` of where they lead to and how long
/// they are in mm.
struct Ways {
    begin: Vec<u32>,
    to: Vec<(u32, f64)>,
}

impl Ways {
    /// For each vertex how far it is to the nearest of some, and which that is; no way leads on over a border.
    fn nearest(
        &self,
        from: Vec<u32>,
        is_border: &dyn Fn(usize) -> bool,
        watch: &Watch,
    ) -> Result<Vec<Option<(f64, u32)>>, Stop> {
        let mut found = vec![None; self.begin.len() - 1];
        // Numbers that are not negative are ordered as their bits.
        let mut queue: BinaryHeap<Reverse<(u64, u32, u32)>> =
            from.into_iter().map(|v| Reverse((0, v, v))).collect();
        let mut asked = 0_usize;
        while let Some(Reverse((far, v, source))) = queue.pop() {
            asked += 1;
            if asked.is_multiple_of(4096) {
                watch.check()?;
            }
            let (far, at) = (f64::from_bits(far), v as usize);
            if found[at].is_some() {
                continue;
            }
            found[at] = Some((far, source));
            if v == source || !is_border(at) {
                let on = &self.to[self.begin[at] as usize..self.begin[at + 1] as usize];
                let on = on.iter().filter(|(to, _)| found[*to as usize].is_none());
                queue.extend(on.map(|(to, way)| Reverse(((far + way).to_bits(), *to, source))));
            }
        }
        Ok(found)
    }
}

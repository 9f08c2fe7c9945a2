//! Which samples lie side by side on the surface, and smoothing along it.
//!
//! Samples on the two sides of a crease are different samples, and buried
//! samples have no neighbours, so nothing is smeared over a sharp edge and
//! nothing dark creeps out of a seam.

use grisaille_base::{Stop, Watch};
use grisaille_sight::Surface;
use rayon::prelude::*;

/// Sums are made in stretches of this many samples, whatever the threads.
const STRETCH: usize = 8192;
/// The most rounds of the solver; real figures need 10 to 40.
const ROUNDS: usize = 200;

/// For each open sample its neighbours along the surface.
pub(crate) struct Neighbours {
    /// Where each sample's neighbours begin in `beside`; one more at the end.
    begin: Vec<u32>,
    beside: Vec<u32>,
    /// How strongly each neighbour is felt, without unit.
    pull: Vec<f32>,
    /// The area in mm² for which each sample stands; 0 for buried ones.
    area: Vec<f64>,
    /// The next open sample at the same place, over a crease, in a ring; the
    /// sample itself where it is alone.
    twin: Vec<u32>,
}

impl Neighbours {
    pub(crate) fn of(surface: &Surface) -> Self {
        let samples = &surface.samples;
        let count = samples.len();
        let open = |s: u32| !samples.buried.get(s as usize);
        let sides = |face: &[u32; 3]| {
            let [a, b, c] = *face;
            [(a, b), (b, c), (c, a)]
        };
        let mut begin = vec![0_u32; count + 1];
        for face in &surface.faces {
            for (a, b) in sides(face).into_iter().filter(|(a, b)| open(*a) && open(*b)) {
                begin[a as usize + 1] += 1;
                begin[b as usize + 1] += 1;
            }
        }
        for i in 0..count {
            begin[i + 1] += begin[i];
        }
        let mut filled = begin.clone();
        let mut links = vec![(0_u32, 0.0_f32); begin[count] as usize];
        let mut area = vec![0.0_f64; count];
        for (f, face) in surface.faces.iter().enumerate() {
            let own = surface.face_area(f);
            for s in face.iter().filter(|s| open(**s)) {
                area[*s as usize] += own / 3.0;
            }
            for (a, b) in sides(face).into_iter().filter(|(a, b)| open(*a) && open(*b)) {
                let ends = [a, b].map(|s| samples.position[s as usize].cast::<f64>());
                let squared = (ends[1] - ends[0]).norm_squared();
                // Exact for equal sides, and never negative as the usual
                // cotangents are on blunt triangles: so no new extremes arise.
                let pull = 2.0 / 3.0 * own / squared;
                let pull = if pull.is_finite() { pull as f32 } else { 0.0 };
                for (one, two) in [(a, b), (b, a)] {
                    links[filled[one as usize] as usize] = (two, pull);
                    filled[one as usize] += 1;
                }
            }
        }
        // An edge is met once from each of its faces: one entry for both.
        drop(filled);
        let mut ends = 0;
        for i in 0..count {
            let row = &mut links[begin[i] as usize..begin[i + 1] as usize];
            row.sort_by_key(|(s, _)| *s);
            ends += row.chunk_by(|a, b| a.0 == b.0).count();
        }
        // Counted first: a list that grows doubles, which at a million samples is felt.
        let mut beside = Vec::with_capacity(ends);
        let mut pulls = Vec::with_capacity(ends);
        let mut merged = vec![0_u32; count + 1];
        for i in 0..count {
            let row = &links[begin[i] as usize..begin[i + 1] as usize];
            for run in row.chunk_by(|a, b| a.0 == b.0) {
                beside.push(run[0].0);
                pulls.push(run.iter().map(|(_, p)| p).sum());
            }
            merged[i + 1] = beside.len() as u32;
        }
        drop((links, begin));
        let twin = twins(surface, &area);
        Self { begin: merged, beside, pull: pulls, area, twin }
    }

    /// The area in mm² for which a sample stands; 0 for a buried one.
    pub(crate) fn area(&self, sample: usize) -> f64 {
        self.area[sample]
    }

    /// How many samples there are, buried ones included.
    pub(crate) fn len(&self) -> usize {
        self.area.len()
    }

    /// The neighbours of a sample along the surface.
    pub(crate) fn beside(&self, sample: usize) -> &[u32] {
        &self.beside[self.row(sample)]
    }

    /// The other open samples at the place of this one, over creases.
    pub(crate) fn twins(&self, sample: usize) -> impl Iterator<Item = usize> {
        std::iter::successors(Some(self.twin[sample] as usize), |at| Some(self.twin[*at] as usize))
            .take_while(move |at| *at != sample)
    }

    fn row(&self, sample: usize) -> std::ops::Range<usize> {
        self.begin[sample] as usize..self.begin[sample + 1] as usize
    }

    /// The field evened out along the surface, about as by the mean over a
    /// disc of `radius_mm`. Its mean over the area stays, and it gets no new
    /// greatest or least value. A radius of 0 gives the field itself.
    ///
    /// Two implicit steps of diffusion, which no short edge can upset: M.
    /// Desbrun, M. Meyer, P. Schröder, A. H. Barr, "Implicit fairing of
    /// irregular meshes using diffusion and curvature flow", SIGGRAPH 1999.
    pub(crate) fn smoothed(&self, field: &[f32], radius_mm: f64, watch: &Watch) -> Result<Vec<f32>, Stop> {
        // A disc of radius r has the variance r²/4 along each axis, heat after
        // a time t has 2t.
        let step = 0.5 * radius_mm * radius_mm / 8.0;
        if !(step > 0.0 && step.is_finite()) {
            return Ok(field.to_vec());
        }
        let inverse: Vec<f64> = (0..self.len())
            .into_par_iter()
            .map(|i| {
                let pulls: f64 = self.pull[self.row(i)].iter().map(|p| f64::from(*p)).sum();
                let whole = self.area[i] + step * pulls;
                if whole > 0.0 { 1.0 / whole } else { 0.0 }
            })
            .collect();
        let mut work = Work::of(field);
        for _ in 0..2 {
            self.step(&mut work, &inverse, step, watch)?;
        }
        Ok(work.x.iter().zip(field).map(|(x, v)| if x.is_finite() { *x as f32 } else { *v }).collect())
    }

    /// Solves (area + step · flow) x = area · field by conjugate gradients,
    /// scaled by the diagonal's `inverse`; `work.x` is the field, then the
    /// solution. Few passes over memory: on large models they are what takes time.
    fn step(&self, work: &mut Work, inverse: &[f64], step: f64, watch: &Watch) -> Result<(), Stop> {
        let flow = |x: &[f64], i: usize| -> f64 {
            let row = self.row(i);
            let pairs = self.beside[row.clone()].iter().zip(&self.pull[row]);
            pairs.map(|(j, p)| f64::from(*p) * (x[i] - x[*j as usize])).sum()
        };
        let Work { x, rest, way, pushed } = work;
        rest.par_iter_mut().enumerate().for_each(|(i, r)| *r = -step * flow(x, i));
        way.par_iter_mut().zip(&*rest).zip(inverse).for_each(|((w, r), d)| *w = r * d);
        let mut size = summed(
            rest.par_chunks(STRETCH)
                .zip(way.par_chunks(STRETCH))
                .map(|(rest, way)| rest.iter().zip(way).map(|(r, w)| r * w).sum()),
        );
        let enough = size * 1e-6;
        for _ in 0..ROUNDS {
            watch.check()?;
            if size.is_nan() || size <= enough || size <= 0.0 {
                break;
            }
            let along = summed(pushed.par_chunks_mut(STRETCH).enumerate().map(|(stretch, pushed)| {
                let each = pushed.iter_mut().zip(stretch * STRETCH..);
                each.map(|(pushed, i)| {
                    *pushed = self.area[i] * way[i] + step * flow(way, i);
                    way[i] * *pushed
                })
                .sum()
            }));
            let length = size / along;
            let stretches = (x.par_chunks_mut(STRETCH), rest.par_chunks_mut(STRETCH)).into_par_iter();
            let given = (way.par_chunks(STRETCH), pushed.par_chunks(STRETCH), inverse.par_chunks(STRETCH));
            let next = summed(stretches.zip(given).map(|((x, rest), (way, pushed, inverse))| {
                let mut sum = 0.0;
                for i in 0..x.len() {
                    x[i] += length * way[i];
                    rest[i] -= length * pushed[i];
                    sum += rest[i] * (rest[i] * inverse[i]);
                }
                sum
            }));
            let turn = next / size;
            way.par_iter_mut().zip(&*rest).zip(inverse).for_each(|((w, r), d)| *w = r * d + turn * *w);
            size = next;
        }
        Ok(())
    }
}

/// What the solver writes to, once for both its steps.
struct Work {
    x: Vec<f64>,
    rest: Vec<f64>,
    way: Vec<f64>,
    pushed: Vec<f64>,
}

impl Work {
    fn of(field: &[f32]) -> Self {
        let empty = || vec![0.0; field.len()];
        Self {
            x: field.iter().map(|v| f64::from(*v)).collect(),
            rest: empty(),
            way: empty(),
            pushed: empty(),
        }
    }
}

/// A sum over stretches, in an order that threads do not change.
fn summed(stretches: impl IndexedParallelIterator<Item = f64>) -> f64 {
    stretches.collect::<Vec<f64>>().iter().sum()
}

/// The rings of samples at one place: a welded mesh has one vertex there.
fn twins(surface: &Surface, area: &[f64]) -> Vec<u32> {
    let place = |i: u32| {
        let p = surface.samples.position[i as usize];
        // Adding 0 makes −0 and +0 one.
        [p.x + 0.0, p.y + 0.0, p.z + 0.0].map(f32::to_bits)
    };
    let mut open: Vec<u32> = (0..area.len() as u32).filter(|i| area[*i as usize] > 0.0).collect();
    open.par_sort_unstable_by_key(|i| (place(*i), *i));
    let mut twin: Vec<u32> = (0..area.len() as u32).collect();
    for ring in open.chunk_by(|a, b| place(*a) == place(*b)) {
        for (k, i) in ring.iter().enumerate() {
            twin[*i as usize] = ring[(k + 1) % ring.len()];
        }
    }
    twin
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use grisaille_mesh::{ReadSettings, read};
    use grisaille_sight::{Occluders, SurfaceSettings, TreeSight, surface};
    use std::sync::Arc;

    /// A surface of some triangles, not divided further.
    pub(crate) fn surface_of(soup: &[grisaille_bodies::Triangle], watch: &Watch) -> Surface {
        let (mesh, _) = read(&grisaille_bodies::stl(soup), &ReadSettings::default(), watch).unwrap();
        let sight = TreeSight::new(Arc::new(Occluders::of(&mesh)), watch);
        let settings = SurfaceSettings { refine: false, ..SurfaceSettings::for_mesh(&mesh) };
        surface(&mesh, &settings, &sight, watch).unwrap().0
    }

    /// A cube of side 10 with n × n squares on each side.
    pub(crate) fn fine_cube(n: usize) -> Vec<grisaille_bodies::Triangle> {
        let side = 10.0;
        let mut soup = Vec::new();
        for axis in 0..3 {
            for (at, turned) in [(0.0, true), (side, false)] {
                for i in 0..n * n {
                    let p = |u: usize, v: usize| {
                        let mut p = [at; 3];
                        p[(axis + 1) % 3] = side * (i % n + u) as f64 / n as f64;
                        p[(axis + 2) % 3] = side * (i / n + v) as f64 / n as f64;
                        p
                    };
                    let mut quad = [p(0, 0), p(1, 0), p(1, 1), p(0, 1)];
                    if turned {
                        quad.reverse();
                    }
                    soup.extend([[quad[0], quad[1], quad[2]], [quad[0], quad[2], quad[3]]]);
                }
            }
        }
        soup
    }

    /// The mean of a field over the area.
    fn mean(n: &Neighbours, field: &[f32]) -> f64 {
        let all: f64 = n.area.iter().sum();
        field.iter().zip(&n.area).map(|(v, a)| f64::from(*v) * a).sum::<f64>() / all
    }

    #[test]
    fn a_spike_spreads_as_far_as_a_disc_and_keeps_its_mean() {
        let watch = Watch::quiet();
        let surface = surface_of(&fine_cube(50), &watch);
        let neighbours = Neighbours::of(&surface);
        let top = |i: usize| surface.samples.normal[i].z > 0.9;
        let middle = (0..neighbours.len())
            .filter(|i| top(*i))
            .min_by(|a, b| {
                let far = |i: usize| {
                    let p = surface.samples.position[i];
                    (p.x - 5.0).hypot(p.y - 5.0)
                };
                far(*a).total_cmp(&far(*b))
            })
            .unwrap();
        let mut field = vec![0.0_f32; neighbours.len()];
        field[middle] = 1.0;
        for radius in [0.6, 1.2] {
            let even = neighbours.smoothed(&field, radius, &watch).unwrap();
            assert!((mean(&neighbours, &even) / mean(&neighbours, &field) - 1.0).abs() < 1e-3);
            assert!(even.iter().all(|v| (-1e-4..=1.0).contains(v)));
            let (mut sum, mut spread) = (0.0, 0.0);
            for (i, v) in even.iter().enumerate() {
                let p = surface.samples.position[i] - surface.samples.position[middle];
                sum += f64::from(*v) * neighbours.area(i);
                spread += f64::from(v * p.x * p.x) * neighbours.area(i);
            }
            // The variance along one axis: r²/4.
            let off = spread / sum / (0.25 * radius * radius) - 1.0;
            assert!(off.abs() < 0.15, "{radius}: {off}");
        }
    }

    #[test]
    fn nothing_crosses_a_crease_and_threads_do_not_count() {
        let watch = Watch::with_threads(1).unwrap();
        let surface = surface_of(&fine_cube(30), &watch);
        let neighbours = Neighbours::of(&surface);
        let field: Vec<f32> =
            surface.samples.normal.iter().map(|n| if n.z > 0.9 { 90.0 } else { 20.0 }).collect();
        let even = neighbours.smoothed(&field, 1.0, &watch).unwrap();
        assert!(even.iter().zip(&field).all(|(a, b)| (a - b).abs() < 1e-4));
        let rough: Vec<f32> = (0..field.len()).map(|i| (i * 7919 % 101) as f32).collect();
        let one = watch.run(|| neighbours.smoothed(&rough, 1.0, &watch)).unwrap();
        let four = Watch::with_threads(4).unwrap();
        assert_eq!(one, four.run(|| neighbours.smoothed(&rough, 1.0, &four)).unwrap());
        assert_eq!(neighbours.smoothed(&rough, 0.0, &watch).unwrap(), rough);
    }
}

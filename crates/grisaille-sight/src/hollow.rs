//! The inner walls of hollow prints that drain holes join to the outside: no brush
//! comes there and no light.
//!
//! A closed cavity is a piece of its own, and buried as one. With a drain hole its wall is
//! one surface with the figure. It is told by two things: from nearly all of it hardly any
//! way leads out of the scene, and what joins it to the rest is short. Under a cloak or in a mouth
//! it is dark too, but these are as wide where they open as they are deep.

use crate::bits::Bits;
use crate::engine::TreeSight;
use crate::occluder::{FaceMask, Ray};
use crate::surface::Samples;
use grisaille_base::{Stop, Watch};
use grisaille_mesh::{Bounds, find, unite};
use nalgebra::{Point3, Vector3};
use rayon::prelude::*;
use std::collections::{BTreeMap, HashMap, HashSet};

/// Ways that are looked along from each spot, and how many may lead out.
const WAYS: usize = 64;
const OUT: usize = 3;
/// Spots for each length of the model's diagonal: samples of one spot that face alike get one answer.
const SPOTS: f64 = 128.0;
/// An inner wall is at least this share of the model's surface.
const LEAST: f64 = 0.01;
/// Its openings make up at most this share of its area. Of half a ball that is 0.5, of a bore
/// ten times as deep as wide 0.025.
const OPENINGS: f64 = 0.08;

/// What was found.
pub(crate) struct Hollow {
    /// Inner walls, each a connected one.
    pub(crate) walls: u64,
    /// Their openings.
    pub(crate) openings: u64,
    pub(crate) area_mm2: f64,
    /// A place on the outline of an opening.
    pub(crate) at: Point3<f32>,
}

/// Finds inner walls and marks their samples as buried. `free` are samples from which one
/// way leads out for certain.
pub(crate) fn hollow(
    samples: &Samples,
    faces: &[[u32; 3]],
    free: &Bits,
    (sight, bounds): (&TreeSight, Bounds),
    buried: &mut Bits,
    watch: &Watch,
) -> Result<Option<Hollow>, Stop> {
    let dark = dark(samples, (free, buried), (sight, bounds), watch)?;
    let inner: Vec<u32> = (0..faces.len() as u32)
        .filter(|f| faces[*f as usize].iter().all(|s| dark.get(*s as usize)))
        .collect();
    let area = |f: u32| {
        let [a, b, c] = faces[f as usize].map(|s| samples.position[s as usize].cast::<f64>());
        0.5 * (b - a).cross(&(c - a)).norm()
    };
    let all: f64 = (0..faces.len() as u32).map(area).sum();
    if inner.iter().map(|f| area(*f)).sum::<f64>() < LEAST * all {
        return Ok(None);
    }
    watch.check()?;
    let mut net = Net::of(samples, faces);
    let walls = net.walls(&inner, area, LEAST * all);
    watch.check()?;
    if walls.is_empty() {
        return Ok(None);
    }
    let mut within = vec![false; faces.len()];
    for f in walls.iter().flat_map(|w| &w.faces) {
        within[*f as usize] = true;
    }
    net.fill(&mut within, area);
    let mut outside = Bits::new(samples.len());
    for (face, _) in faces.iter().zip(&within).filter(|(_, w)| !**w) {
        face.iter().for_each(|s| outside.set(*s as usize, true));
    }
    for (face, _) in faces.iter().zip(&within).filter(|(_, w)| **w) {
        for s in face.iter().filter(|s| !outside.get(**s as usize)) {
            buried.set(*s as usize, true);
        }
    }
    let area_mm2 = (0..faces.len() as u32).filter(|f| within[*f as usize]).map(area).sum();
    let openings = walls.iter().map(|w| w.openings).sum();
    Ok(walls.first().map(|w| Hollow { walls: walls.len() as u64, openings, area_mm2, at: w.at }))
}

/// Samples from which hardly any way leads out.
fn dark(
    samples: &Samples,
    (free, buried): (&Bits, &Bits),
    (sight, bounds): (&TreeSight, Bounds),
    watch: &Watch,
) -> Result<Bits, Stop> {
    let per_mm = SPOTS / bounds.diagonal().max(f64::MIN_POSITIVE);
    let spot = |i: usize| {
        let (p, n) = (samples.position[i], samples.normal[i]);
        let cell = [0, 1, 2].map(|k| (f64::from(p[k] - bounds.low[k]) * per_mm) as u16);
        (cell, n.iter().fold(0_u8, |octant, x| 2 * octant + u8::from(*x > 0.0)))
    };
    let mut number = HashMap::new();
    let mut first: Vec<u32> = Vec::new();
    let mut of_sample = vec![u32::MAX; samples.len()];
    for i in (0..samples.len()).filter(|i| !free.get(*i) && !buried.get(*i)) {
        let n = *number.entry(spot(i)).or_insert_with(|| {
            first.push(i as u32);
            first.len() as u32 - 1
        });
        of_sample[i] = n;
    }
    let ways = ways();
    let shut: Vec<bool> = watch.run(|| {
        let one = |i: &u32| {
            watch.check()?;
            Ok(out_of(sight, samples, *i as usize, &ways) <= OUT)
        };
        first.par_iter().map(one).collect::<Result<_, Stop>>()
    })?;
    let mut dark = Bits::new(samples.len());
    for (i, n) in of_sample.into_iter().enumerate() {
        dark.set(i, shut.get(n as usize).copied().unwrap_or(false));
    }
    Ok(dark)
}

/// How many ways lead out, counted until there are too many.
fn out_of(sight: &TreeSight, samples: &Samples, i: usize, ways: &[Vector3<f64>]) -> usize {
    let normal = samples.normal[i].cast::<f64>();
    let origin = samples.origin[i].cast();
    let aside = if normal.x.abs() < 0.6 { Vector3::x() } else { Vector3::y() };
    let one = normal.cross(&aside).normalize();
    let two = normal.cross(&one);
    let mut out = 0;
    for way in ways {
        let direction = one * way.x + two * way.y + normal * way.z;
        let ray = Ray { origin, direction, near: 0.0, far: f64::INFINITY };
        out += usize::from(!sight.blocked(&ray, &FaceMask::All, false));
        if out > OUT {
            break;
        }
    }
    out
}

/// Ways over a hemisphere, the more the nearer to its pole, as light falls: a spiral by the
/// golden angle.
fn ways() -> Vec<Vector3<f64>> {
    let golden = std::f64::consts::PI * (3.0 - 5.0_f64.sqrt());
    // Those near the pole and those aside take turns, so that counting ends soon.
    let mixed = (0..WAYS).map(|k| (k * 27) % WAYS);
    mixed
        .map(|k| {
            let square = (k as f64 + 0.5) / WAYS as f64;
            let (sin, cos) = (golden * k as f64).sin_cos();
            Vector3::new(square.sqrt() * cos, square.sqrt() * sin, (1.0 - square).sqrt())
        })
        .collect()
}

/// An inner wall.
struct Wall {
    faces: Vec<u32>,
    openings: u64,
    at: Point3<f32>,
}

/// Faces that hang together by the places of their corners: samples are parted at creases.
struct Net {
    /// The corners of each face by place, the first sample there standing for all.
    corners: Vec<[u32; 3]>,
    place: Vec<Point3<f32>>,
}

impl Net {
    fn of(samples: &Samples, faces: &[[u32; 3]]) -> Self {
        let mut first: HashMap<[u32; 3], u32> = HashMap::new();
        let same: Vec<u32> = (0..samples.len() as u32)
            .map(|s| {
                let p: [f32; 3] = samples.position[s as usize].into();
                *first.entry(p.map(f32::to_bits)).or_insert(s)
            })
            .collect();
        let corners = faces.iter().map(|f| f.map(|s| same[s as usize])).collect();
        Self { corners, place: samples.position.clone() }
    }

    /// Of some faces the edges that only one of them has, and that face.
    fn rim(&self, faces: &[u32]) -> Vec<([u32; 2], u32)> {
        let mut edges: Vec<([u32; 2], u32)> = faces
            .iter()
            .flat_map(|f| {
                let c = self.corners[*f as usize];
                [[c[0], c[1]], [c[1], c[2]], [c[2], c[0]]].map(|e| ([e[0].min(e[1]), e[0].max(e[1])], *f))
            })
            .collect();
        edges.par_sort_unstable();
        edges.chunk_by(|a, b| a.0 == b.0).filter(|same| same.len() == 1).map(|same| same[0]).collect()
    }

    /// Faces in the sets that hang together over their corners.
    fn sets(&self, faces: &[u32]) -> Vec<Vec<u32>> {
        let mut parent: Vec<u32> = (0..self.place.len() as u32).collect();
        for f in faces {
            let [a, b, c] = self.corners[*f as usize];
            unite(&mut parent, a, b);
            unite(&mut parent, a, c);
        }
        let mut number: HashMap<u32, usize> = HashMap::new();
        let mut sets: Vec<Vec<u32>> = Vec::new();
        for f in faces {
            let root = find(&mut parent, self.corners[*f as usize][0]);
            let n = *number.entry(root).or_insert_with(|| {
                sets.push(Vec::new());
                sets.len() - 1
            });
            sets[n].push(*f);
        }
        sets
    }

    /// Sets of dark faces that are large beside their openings.
    fn walls(&mut self, inner: &[u32], area: impl Fn(u32) -> f64, least: f64) -> Vec<Wall> {
        let mut walls = Vec::new();
        let Some(origin) = self.place.first().map(|p| p.cast::<f64>()) else { return walls };
        for faces in self.sets(inner) {
            let own: f64 = faces.iter().map(|f| area(*f)).sum();
            if own < least {
                continue;
            }
            let rim = self.rim(&faces);
            let mut parent: HashMap<u32, u32> = HashMap::new();
            let mut ids: Vec<u32> = rim.iter().flat_map(|r| r.0).collect();
            ids.sort_unstable();
            ids.dedup();
            for (n, v) in ids.iter().enumerate() {
                parent.insert(*v, n as u32);
            }
            let mut loops: Vec<u32> = (0..ids.len() as u32).collect();
            for ([a, b], _) in &rim {
                unite(&mut loops, parent[a], parent[b]);
            }
            // What an outline spans, however ragged it is: half the sum of its sides' products.
            let mut spans: BTreeMap<u32, Vector3<f64>> = BTreeMap::new();
            for ([a, b], f) in &rim {
                let c = self.corners[*f as usize];
                let forward = (0..3).any(|k| (c[k], c[(k + 1) % 3]) == (*a, *b));
                let [p, q] = [a, b].map(|v| self.place[*v as usize].cast::<f64>() - origin);
                let product = 0.5 * if forward { p.cross(&q) } else { q.cross(&p) };
                *spans.entry(find(&mut loops, parent[a])).or_insert_with(Vector3::zeros) += product;
            }
            let spans: BTreeMap<u32, f64> = spans.into_iter().map(|(l, s)| (l, s.norm())).collect();
            // Without any opening it is a closed piece, which buried samples answer for.
            let Some((hole, widest)) = spans.iter().max_by(|a, b| a.1.total_cmp(b.1)) else { continue };
            if spans.values().sum::<f64>() <= OPENINGS * own {
                // Crumbs of light on the wall are small.
                let openings = spans.values().filter(|s| **s >= 0.3 * widest).count() as u64;
                let on_it = rim.iter().find(|r| find(&mut loops, parent[&r.0[0]]) == *hole);
                let Some(([vertex, _], _)) = on_it else { continue };
                let at = self.place[*vertex as usize];
                walls.push(Wall { faces, openings, at });
            }
        }
        walls
    }

    /// Takes in islands that a wall goes round.
    fn fill(&self, within: &mut [bool], area: impl Fn(u32) -> f64) {
        let outside: Vec<u32> = (0..within.len() as u32).filter(|f| !within[*f as usize]).collect();
        let inside: f64 = (0..within.len() as u32).filter(|f| within[*f as usize]).map(&area).sum();
        let wall: HashSet<u32> =
            (0..within.len()).filter(|f| within[*f]).flat_map(|f| self.corners[f]).collect();
        for set in self.sets(&outside) {
            let own: f64 = set.iter().map(|f| area(*f)).sum();
            let touches = || set.iter().any(|f| self.corners[*f as usize].iter().any(|c| wall.contains(c)));
            if own < 0.02 * inside && touches() {
                set.iter().for_each(|f| within[*f as usize] = true);
            }
        }
    }
}

//! Bodies of known parts, fused through their distance field into one closed
//! surface, and how well regions recover the parts.

use fast_surface_nets::ndshape::RuntimeShape;
use fast_surface_nets::{SurfaceNetsBuffer, surface_nets};
use grisaille_base::{RegionId, Watch};
use grisaille_bodies::stl;
use grisaille_form::{Anchor, Ground, GroundSettings, Regions, Seed, Shape};
use grisaille_mesh::{Mesh, ReadSettings, read};
use grisaille_sight::{Occluders, Surface, SurfaceSettings, TreeSight, surface};
use nalgebra::{Point3, Vector3};
use std::sync::Arc;

/// A part: its signed distance in mm.
pub(crate) type Part = Box<dyn Fn(Point3<f64>) -> f64>;

/// A ball, squashed by `flat` along z.
pub(crate) fn ball(at: [f64; 3], radius: f64, flat: f64) -> Part {
    Box::new(move |p| {
        let d = p - Point3::from(at);
        let scaled = Vector3::new(d.x, d.y, d.z / flat);
        (scaled.norm() - radius) * flat.min(1.0)
    })
}

/// A rod with round ends.
pub(crate) fn rod(a: [f64; 3], b: [f64; 3], radius: f64) -> Part {
    let (a, b) = (Point3::from(a), Point3::from(b));
    Box::new(move |p| {
        let t = ((p - a).dot(&(b - a)) / (b - a).norm_squared()).clamp(0.0, 1.0);
        (p - (a + (b - a) * t)).norm() - radius
    })
}

/// A rod with round ends whose radius changes from `radii[0]` to `radii[1]`.
pub(crate) fn taper(a: [f64; 3], b: [f64; 3], radii: [f64; 2]) -> Part {
    let (a, b) = (Point3::from(a), Point3::from(b));
    Box::new(move |p| {
        let t = ((p - a).dot(&(b - a)) / (b - a).norm_squared()).clamp(0.0, 1.0);
        (p - (a + (b - a) * t)).norm() - (radii[0] + (radii[1] - radii[0]) * t)
    })
}

/// An upright disc with a sharp rim.
pub(crate) fn disc(at: [f64; 3], radius: f64, half: f64) -> Part {
    Box::new(move |p| {
        let d = p - Point3::from(at);
        let (x, z) = (d.x.hypot(d.y) - radius, d.z.abs() - half);
        x.max(z).min(0.0) + x.max(0.0).hypot(z.max(0.0))
    })
}

/// A box with sharp edges, turned about z.
pub(crate) fn block(at: [f64; 3], half: [f64; 3], turned: f64) -> Part {
    Box::new(move |p| {
        let d = p - Point3::from(at);
        let (s, c) = turned.sin_cos();
        let q = Vector3::new(c * d.x + s * d.y, c * d.y - s * d.x, d.z).abs() - Vector3::from(half);
        q.max().min(0.0) + q.sup(&Vector3::zeros()).norm()
    })
}

/// A standing figure on a base: base, legs, trunk, head, arms, a pack and a
/// shield. Every join is creased by 20° or more.
pub(crate) fn figure() -> Vec<Part> {
    vec![
        disc([0.0, 0.0, 1.5], 12.0, 1.5),
        rod([-3.0, 0.0, 2.0], [-2.2, 0.0, 15.0], 2.0),
        rod([3.0, 0.0, 2.0], [2.2, 0.0, 15.0], 2.0),
        ball([0.0, 0.0, 21.0], 5.0, 1.5),
        ball([0.0, 0.0, 31.0], 3.5, 1.0),
        rod([-5.0, 0.0, 25.0], [-8.5, -5.0, 17.0], 1.5),
        rod([5.0, 0.0, 25.0], [8.5, -4.0, 19.0], 1.5),
        block([0.0, 5.2, 22.0], [3.0, 2.0, 4.0], 0.0),
        ball([9.0, -6.0, 19.0], 3.0, 1.0),
    ]
}

/// A beast: a long trunk of two balls that meet in a shallow crease, four legs,
/// neck and head in one line, a tail.
pub(crate) fn beast() -> Vec<Part> {
    vec![
        ball([-5.0, 0.0, 12.0], 5.5, 1.0),
        ball([3.5, 0.0, 12.5], 4.6, 1.0),
        rod([-6.0, -3.0, 10.0], [-6.0, -4.0, 1.5], 1.5),
        rod([-6.0, 3.0, 10.0], [-6.0, 4.0, 1.5], 1.5),
        rod([4.0, -3.0, 10.0], [4.0, -3.5, 1.5], 1.4),
        rod([4.0, 3.0, 10.0], [4.0, 3.5, 1.5], 1.4),
        ball([9.0, 0.0, 17.5], 3.6, 1.0),
        rod([-10.0, 0.0, 14.0], [-16.0, 0.0, 19.0], 1.0),
    ]
}

/// A foot, a taper, a spindle and a taper in a row, which meet at two necks in
/// shallow creases of 23°, that of the slopes (1 : 5 on either side).
pub(crate) fn vase() -> Vec<Part> {
    let rising = taper([0.0, 0.0, 10.0], [0.0, 0.0, 18.0], [3.0, 4.6]);
    let falling = taper([0.0, 0.0, 18.0], [0.0, 0.0, 26.0], [4.6, 3.0]);
    vec![
        disc([0.0, 0.0, 1.0], 8.0, 1.0),
        taper([0.0, 0.0, 2.0], [0.0, 0.0, 10.0], [4.6, 3.0]),
        Box::new(move |p| rising(p).min(falling(p))),
        taper([0.0, 0.0, 26.0], [0.0, 0.0, 32.0], [3.0, 4.2]),
    ]
}

/// A fused body: its mesh, surface, ground, and the part of each refined face.
pub(crate) struct Fused {
    pub(crate) mesh: Mesh,
    pub(crate) surface: Surface,
    pub(crate) ground: Ground,
    pub(crate) truth: Vec<usize>,
}

/// Fuses parts on a grid of `cell` mm, with vertices moved by up to `noise` mm.
pub(crate) fn fused(parts: &[Part], cell: f64, noise: f64, watch: &Watch) -> Fused {
    of_soup(&soup(parts, cell, noise), parts, watch)
}

/// The same for a body that is given by its triangles.
pub(crate) fn of_soup(soup: &[grisaille_bodies::Triangle], parts: &[Part], watch: &Watch) -> Fused {
    let (mesh, _) = read(&stl(soup), &ReadSettings::default(), watch).expect("a body reads");
    let sight = TreeSight::new(Arc::new(Occluders::of(&mesh)), watch);
    let (surface, _) =
        surface(&mesh, &SurfaceSettings::for_mesh(&mesh), &sight, watch).expect("nobody cancels");
    let ground =
        Ground::of(&surface, &mesh, &GroundSettings::for_mesh(&mesh), watch).expect("nobody cancels");
    let shape = ground.shape();
    let truth = shape.faces().iter().map(|f| nearest(parts, middle(shape, f))).collect();
    Fused { mesh, surface, ground, truth }
}

/// The middle of a face.
pub(crate) fn middle(shape: &Shape, face: &[u32; 3]) -> Point3<f64> {
    let [a, b, c] = face.map(|v| shape.positions()[v as usize].coords.cast::<f64>());
    Point3::from((a + b + c) / 3.0)
}

fn nearest(parts: &[Part], p: Point3<f64>) -> usize {
    (0..parts.len()).min_by(|a, b| parts[*a](p).total_cmp(&parts[*b](p))).unwrap_or(0)
}

fn soup(parts: &[Part], cell: f64, noise: f64) -> Vec<grisaille_bodies::Triangle> {
    let (low, high) = ([-19.0, -14.0, -1.0], [15.0, 14.0, 37.0]);
    let size = [0, 1, 2].map(|k| ((high[k] - low[k]) / cell) as u32 + 1);
    let distance = |p: Point3<f64>| parts.iter().map(|part| part(p)).fold(f64::INFINITY, f64::min);
    let mut values = Vec::new();
    for z in 0..size[2] {
        for y in 0..size[1] {
            for x in 0..size[0] {
                let at = [x, y, z].map(f64::from);
                values.push(distance(Point3::from([0, 1, 2].map(|k| low[k] + cell * at[k]))) as f32);
            }
        }
    }
    let mut net = SurfaceNetsBuffer::default();
    let shape = RuntimeShape::<u32, 3>::new(size);
    surface_nets(&values, &shape, [0; 3], size.map(|n| n - 1), &mut net);
    let mut state = 7_u64;
    let mut next = || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 40) as f64 / f64::from(1_u32 << 24) * 2.0 - 1.0
    };
    let places: Vec<[f64; 3]> = net
        .positions
        .iter()
        .map(|p| [0, 1, 2].map(|k| low[k] + cell * f64::from(p[k]) + noise * next()))
        .collect();
    net.indices.chunks_exact(3).map(|t| [0, 1, 2].map(|k| places[t[k] as usize])).collect()
}

/// The area of each face in mm², and of all.
pub(crate) fn areas(shape: &Shape) -> (Vec<f64>, f64) {
    let areas: Vec<f64> = shape.areas().iter().map(|a| f64::from(*a)).collect();
    let all = areas.iter().sum();
    (areas, all)
}

/// The mean over parts, weighed by their area, of the intersection over union
/// of each part with the region matched to it, by the best matching.
pub(crate) fn overlap(fused: &Fused, regions: &Regions) -> f64 {
    let (areas, all) = areas(fused.ground.shape());
    let parts = fused.truth.iter().max().map_or(0, |p| p + 1);
    let count = regions.regions.len();
    let mut both = vec![vec![0.0; count]; parts];
    let (mut part, mut region) = (vec![0.0; parts], vec![0.0; count]);
    for (f, area) in areas.iter().enumerate() {
        let (p, r) = (fused.truth[f], regions.of_face[f].index());
        both[p][r] += area;
        part[p] += area;
        region[r] += area;
    }
    let gain = |p: usize, r: usize| both[p][r] / (part[p] + region[r] - both[p][r]) * part[p] / all;
    // The best matching by going through all sets of parts (R. Bellman, M. Held
    // and R. M. Karp, 1962): best[set] is that of the first regions with the set.
    let mut best = vec![f64::NEG_INFINITY; 1 << parts];
    best[0] = 0.0;
    for r in 0..count {
        for set in (0..1_usize << parts).rev() {
            for p in (0..parts).filter(|p| set >> p & 1 == 1) {
                best[set] = best[set].max(best[set & !(1 << p)] + gain(p, r));
            }
        }
    }
    best.into_iter().fold(0.0, f64::max)
}

/// A seed for each part: the point of the part's surface that is farthest from
/// the other parts, or with `random` a point anywhere on it at least 1 mm from them.
pub(crate) fn seeds(fused: &Fused, parts: &[Part], random: Option<usize>) -> Vec<Seed> {
    let shape = fused.ground.shape();
    (0..parts.len())
        .map(|part| {
            let off = |f: usize| {
                let p = middle(shape, &shape.faces()[f]);
                let others = (0..parts.len()).filter(|o| *o != part).map(|o| parts[o](p));
                others.fold(f64::INFINITY, f64::min)
            };
            let own: Vec<usize> = (0..fused.truth.len())
                .filter(|f| fused.truth[*f] == part && fused.surface.open_corners(*f) > 0)
                .collect();
            let face = match random {
                None => own.iter().copied().max_by(|a, b| off(*a).total_cmp(&off(*b)).then(b.cmp(a))),
                Some(n) => {
                    let clear: Vec<usize> = own.iter().copied().filter(|f| off(*f) > 1.0).collect();
                    clear.get((n * 7919 + part * 104_729) % clear.len().max(1)).copied()
                }
            };
            let face = face.expect("a part has faces");
            let anchor = Anchor {
                point: middle(shape, &shape.faces()[face]).cast(),
                normal: Some(shape.normals()[face]),
            };
            Seed { region: RegionId(part as u16), anchor }
        })
        .collect()
}

/// The length in mm of all borders between labels of faces, along the edges.
pub(crate) fn border(shape: &Shape, label: impl Fn(usize) -> usize) -> f64 {
    (0..3 * shape.faces().len() as u32)
        .filter_map(|h| {
            let g = shape.across(h).filter(|g| *g > h)? as usize / 3;
            let [a, b] = shape.ends(h).map(|v| shape.positions()[v as usize].cast::<f64>());
            (label(h as usize / 3) != label(g)).then(|| (b - a).norm())
        })
        .sum()
}

/// The region of a face as a number.
pub(crate) fn region(regions: &Regions) -> impl Fn(usize) -> usize + '_ {
    |f| regions.of_face.get(f).copied().unwrap_or(RegionId(0)).index()
}

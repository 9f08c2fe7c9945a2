//! Bodies of known parts, fused through their distance field into one closed
//! surface, and how well regions recover the parts.

use fast_surface_nets::ndshape::RuntimeShape;
use fast_surface_nets::{SurfaceNetsBuffer, surface_nets};
use grisaille_base::{RegionId, Watch};
use grisaille_bodies::stl;
use grisaille_form::{Anchor, Ground, GroundSettings, Regions, Seed, Shape};
use grisaille_mesh::{Mesh, ReadSettings, read};
use grisaille_sight::{Occluders, Surface, SurfaceSettings, TreeSight, surface};
use nalgebra::Point3;
use std::sync::Arc;

/// A part: its signed distance in mm.
pub(crate) type Part = Box<dyn Fn(Point3<f64>) -> f64>;

/// A fused body: its mesh, surface, ground, and the part of each refined face.
pub(crate) struct Fused {
    pub(crate) mesh: Mesh,
    pub(crate) surface: Surface,
    pub(crate) ground: Ground,
    pub(crate) truth: Vec<usize>,
}

/// Fuses parts within a box on a grid of `cell` mm, with vertices moved by up to `noise` mm.
pub(crate) fn fused(parts: &[Part], room: [[f64; 3]; 2], (cell, noise): (f64, f64), watch: &Watch) -> Fused {
    of_soup(&soup(parts, room, cell, noise), parts, watch)
}

/// The same for a body that is given by its triangles.
pub(crate) fn of_soup(soup: &[grisaille_bodies::Triangle], parts: &[Part], watch: &Watch) -> Fused {
    let (mesh, _) = read(&stl(soup), &ReadSettings::default(), watch).expect("a body reads");
    let sight = TreeSight::new(Arc::new(Occluders::of(&mesh)), watch);
    let (surface, _) =
        surface(&mesh, &SurfaceSettings::for_mesh(&mesh), &sight, watch).expect("nobody cancels");
    let ground =
        Ground::of(&surface, &mesh, &GroundSettings::for_mesh(&mesh), watch).expect("nobody cancels");
    Fused { mesh, surface, ground, truth: Vec::new() }.with_truth(parts)
}

impl Fused {
    /// The same with the part of each face anew: the one inside which it lies deepest.
    pub(crate) fn with_truth(mut self, parts: &[Part]) -> Self {
        let shape = self.ground.shape();
        self.truth = shape.faces().iter().map(|f| nearest(parts, middle(shape, f))).collect();
        self
    }
}

/// The middle of a face.
pub(crate) fn middle(shape: &Shape, face: &[u32; 3]) -> Point3<f64> {
    let [a, b, c] = face.map(|v| shape.positions()[v as usize].coords.cast::<f64>());
    Point3::from((a + b + c) / 3.0)
}

fn nearest(parts: &[Part], p: Point3<f64>) -> usize {
    (0..parts.len()).min_by(|a, b| parts[*a](p).total_cmp(&parts[*b](p))).unwrap_or(0)
}

fn soup(
    parts: &[Part],
    [low, high]: [[f64; 3]; 2],
    cell: f64,
    noise: f64,
) -> Vec<grisaille_bodies::Triangle> {
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
    let gain =
        (0..parts).map(|p| (0..count.max(parts)).map(|r| if r < count { gain(p, r) } else { 0.0 }).collect());
    matched(&gain.collect::<Vec<Vec<f64>>>())
}

/// The greatest sum of gains over all ways to match each row with a column of its own;
/// no more rows than columns (H. W. Kuhn, The Hungarian method for the assignment
/// problem, 1955: shortest ways over prices that leave no match a better one).
pub(crate) fn matched(gain: &[Vec<f64>]) -> f64 {
    let columns = gain.first().map_or(0, Vec::len);
    let (mut row_price, mut price) = (vec![0.0; gain.len()], vec![0.0; columns]);
    let mut row_of: Vec<Option<usize>> = vec![None; columns];
    for new in 0..gain.len() {
        // The cheapest way to each column from the new row, and the column before it.
        let (mut far, mut before) = (vec![f64::INFINITY; columns], vec![None; columns]);
        let mut done = vec![false; columns];
        let (mut row, mut at, mut way) = (new, None, 0.0);
        let last = loop {
            for c in (0..columns).filter(|c| !done[*c]) {
                let cost = way - gain[row][c] - row_price[row] - price[c];
                if cost < far[c] {
                    (far[c], before[c]) = (cost, at);
                }
            }
            let next = (0..columns).filter(|c| !done[*c]).min_by(|a, b| far[*a].total_cmp(&far[*b]));
            let next = next.expect("there are as many columns as rows");
            (done[next], way) = (true, far[next]);
            match row_of[next] {
                Some(taken) => (row, at) = (taken, Some(next)),
                None => break next,
            }
        };
        row_price[new] += way;
        for c in (0..columns).filter(|c| done[*c] && *c != last) {
            if let Some(r) = row_of[c] {
                row_price[r] += way - far[c];
                price[c] -= way - far[c];
            }
        }
        let mut c = last;
        while let Some(from) = before[c] {
            row_of[c] = row_of[from];
            c = from;
        }
        row_of[c] = Some(new);
    }
    row_of.iter().enumerate().filter_map(|(c, r)| r.map(|r| gain[r][c])).sum()
}

/// A seed for each part: the point of the part's surface that is farthest from
/// the other parts, or with `random` a point anywhere on it 1 mm from them, or half as far as it comes.
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
                    let most = own.iter().map(|f| off(*f)).fold(0.0, f64::max);
                    let clear: Vec<usize> =
                        own.iter().copied().filter(|f| off(*f) > most.min(2.0) / 2.0).collect();
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

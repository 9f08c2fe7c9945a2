//! From a signed distance to a closed shell of triangles.
//!
//! Surface nets on a regular grid, with three additions. Empty blocks are
//! skipped by their middle's distance. Corner signs are mended until no grid
//! face or cell is ambiguous, so that every edge is shared by exactly two
//! triangles. Vertices are spread over the surface and walked onto its zero
//! level within their own cells, which keeps curves smooth without folding.

use fast_surface_nets::glam::Vec3;
use fast_surface_nets::ndshape::RuntimeShape;
use fast_surface_nets::{SurfaceNetsBuffer, surface_nets};
use grisaille_base::{Stop, Watch};
use rayon::prelude::*;

/// A signed distance in scene millimetres, negative inside.
type Distance = Box<dyn Fn(Vec3) -> f32 + Send + Sync>;

/// A solid and a box that holds it.
pub(crate) struct Solid {
    low: Vec3,
    high: Vec3,
    distance: Distance,
}

impl Solid {
    pub(crate) fn new(bounds: [Vec3; 2], distance: impl Fn(Vec3) -> f32 + Send + Sync + 'static) -> Self {
        Self { low: bounds[0], high: bounds[1], distance: Box::new(distance) }
    }

    /// Distance to the surface, mm; negative inside.
    pub(crate) fn distance(&self, p: Vec3) -> f32 {
        (self.distance)(p)
    }
}

/// How much a distance may change over a length, at the most.
const STEEPEST: f32 = 1.5;
/// Cells along a block's edge.
const BLOCK: usize = 4;
/// Vertices or blocks between two looks at the watch.
const STRIDE: usize = 256;

struct Grid {
    size: [usize; 3],
    origin: Vec3,
    cell: f32,
    values: Vec<f32>,
}

/// The surface of `solid` as triangles, wound outward, on a grid of `cell`
/// mm. Crumbs and hollows that the surface does not reach are left out.
///
/// # Errors
/// [`Stop`] when cancelled.
pub(crate) fn shell(solid: &Solid, cell: f32, watch: &Watch) -> Result<Vec<[[f32; 3]; 3]>, Stop> {
    let mut grid = sampled(solid, cell, watch)?;
    disambiguate(&mut grid, watch)?;
    let shape = RuntimeShape::<u32, 3>::new(grid.size.map(|n| n as u32));
    let mut net = SurfaceNetsBuffer::default();
    surface_nets(&grid.values, &shape, [0; 3], grid.size.map(|n| n as u32 - 1), &mut net);
    watch.check()?;
    let places = settle(solid, &grid, &net, watch)?;
    Ok(outer_triangles(&places, &net.indices))
}

/// Samples the distance at every grid point, block by block.
fn sampled(solid: &Solid, cell: f32, watch: &Watch) -> Result<Grid, Stop> {
    let margin = 2.5 * cell;
    let origin = solid.low - Vec3::splat(margin);
    let span = solid.high - solid.low + Vec3::splat(2.0 * margin);
    let size = (span / cell).to_array().map(|n| n.ceil() as usize + 1);
    let mut values = vec![0.0_f32; size.iter().product()];
    let layer = size[0] * size[1];
    values.par_chunks_mut(layer * BLOCK).enumerate().try_for_each(|(slab, out)| {
        let z0 = slab * BLOCK;
        let depth = out.len() / layer;
        for y0 in (0..size[1]).step_by(BLOCK) {
            watch.check()?;
            for x0 in (0..size[0]).step_by(BLOCK) {
                let (nx, ny) = (BLOCK.min(size[0] - x0), BLOCK.min(size[1] - y0));
                let at = |x: usize, y: usize, z: usize| {
                    origin + Vec3::new((x0 + x) as f32, (y0 + y) as f32, (z0 + z) as f32) * cell
                };
                let half = (BLOCK as f32 - 1.0) / 2.0;
                let middle = at(0, 0, 0) + Vec3::splat(half * cell);
                let centre = solid.distance(middle);
                // One cell more than the block, so that every cell with a
                // crossing has eight true corners.
                let skip = centre.abs() > STEEPEST * (half * 3.0_f32.sqrt() + 1.0) * cell;
                for z in 0..depth {
                    for y in 0..ny {
                        let row = z * layer + (y0 + y) * size[0] + x0;
                        for x in 0..nx {
                            out[row + x] = if skip { centre } else { solid.distance(at(x, y, z)) };
                        }
                    }
                }
            }
        }
        Ok(())
    })?;
    let mut grid = Grid { size, origin, cell, values };
    grid.seal();
    Ok(grid)
}

impl Grid {
    fn at(&self, x: usize, y: usize, z: usize) -> usize {
        (z * self.size[1] + y) * self.size[0] + x
    }

    /// Makes the grid's skin outside: one layer at the low sides and two at
    /// the high ones, where surface nets draw no faces across the last.
    fn seal(&mut self) {
        let [nx, ny, nz] = self.size;
        let least = 0.1 * self.cell;
        let skin = |k: usize, n: usize| k == 0 || k + 2 >= n;
        for z in 0..nz {
            for y in 0..ny {
                let whole = skin(z, nz) || skin(y, ny);
                for x in 0..nx {
                    if whole || skin(x, nx) {
                        let i = self.at(x, y, z);
                        self.values[i] = self.values[i].max(least);
                    }
                }
            }
        }
    }

    fn inside(&self, i: usize) -> bool {
        self.values[i] < 0.0
    }
}

/// Fills corners until no face of the grid has its two inside corners
/// across from each other, and no cell likewise: only there would surface
/// nets share an edge among four triangles or a vertex between two sheets.
fn disambiguate(grid: &mut Grid, watch: &Watch) -> Result<(), Stop> {
    let [nx, ny, nz] = grid.size;
    let strides = [1, nx, nx * ny];
    let fill = -0.05 * grid.cell;
    let mut work: Vec<[usize; 3]> = Vec::new();
    for z in 1..nz - 3 {
        watch.check()?;
        for y in 1..ny - 3 {
            for x in 1..nx - 3 {
                work.push([x, y, z]);
            }
            while let Some([x, y, z]) = work.pop() {
                let Some(i) = filling(grid, grid.at(x, y, z), strides) else { continue };
                grid.values[i] = fill;
                let spot = [i % nx, i / nx % ny, i / (nx * ny)];
                for k in 0..8 {
                    let near = [spot[0] - (k & 1), spot[1] - (k >> 1 & 1), spot[2] - (k >> 2)];
                    let within = (0..3).all(|a| near[a] >= 1 && near[a] + 3 < grid.size[a]);
                    if within {
                        work.push(near);
                    }
                }
            }
        }
    }
    Ok(())
}

/// The corner to fill in the cell whose lowest corner is `i`, if ambiguous.
fn filling(grid: &Grid, i: usize, strides: [usize; 3]) -> Option<usize> {
    let corner = |k: usize| i + (k & 1) * strides[0] + (k >> 1 & 1) * strides[1] + (k >> 2) * strides[2];
    let count = (0..8).filter(|&k| grid.inside(corner(k))).count();
    if count == 0 || count == 8 {
        return None;
    }
    let lesser = |a: usize, b: usize| if grid.values[a] <= grid.values[b] { a } else { b };
    for (a, b) in [(1, 2), (1, 4), (2, 4)] {
        for base in [0, 7 - a - b] {
            let [p, q, r, s] = [base, base + a, base + b, base + a + b].map(corner);
            let [ip, iq, ir, is] = [p, q, r, s].map(|c| grid.inside(c));
            if ip == is && iq == ir && ip != iq {
                return Some(if ip { lesser(q, r) } else { lesser(p, s) });
            }
        }
    }
    for k in 0..4 {
        let (a, b) = (corner(k), corner(7 - k));
        let alone = |inside: bool| grid.inside(a) == inside && grid.inside(b) == inside;
        if count == 2 && alone(true) || count == 6 && alone(false) {
            // Two opposite corners: fill one neighbour, the faces do the rest.
            return Some(if count == 6 { lesser(a, b) } else { corner(k ^ 1) });
        }
    }
    None
}

/// Puts each vertex where its cell's surface is: on smooth ground spread
/// evenly and walked onto the zero level, at an edge or a corner onto the
/// edge or corner itself.
fn settle(solid: &Solid, grid: &Grid, net: &SurfaceNetsBuffer, watch: &Watch) -> Result<Vec<Vec3>, Stop> {
    let start: Vec<Vec3> = net.positions.iter().map(|&p| grid.origin + Vec3::from(p) * grid.cell).collect();
    let mut around = vec![(Vec3::ZERO, 0.0_f32); start.len()];
    for t in net.indices.chunks_exact(3) {
        for k in 0..3 {
            let (a, b) = (t[k] as usize, t[(k + 1) % 3] as usize);
            around[a].0 += start[b];
            around[a].1 += 1.0;
        }
    }
    let room = 0.02 * grid.cell;
    let settled = |i: usize| {
        let spot = net.surface_points[i].map(|n| n as usize);
        let corner = grid.origin + Vec3::from(net.surface_points[i].map(|n| n as f32)) * grid.cell;
        let (low, high) = (corner + Vec3::splat(room), corner + Vec3::splat(grid.cell - room));
        if bent(grid, spot) {
            let planes = tangents(solid, grid, spot);
            if let Some(p) = edge_or_corner(&planes, low, high) {
                return p;
            }
        }
        let (sum, n) = around[i];
        let even = if n > 0.0 { start[i].lerp(sum / n, 0.5) } else { start[i] };
        let mut p = even.clamp(low, high);
        for _ in 0..3 {
            let (d, slope) = slope(solid, p, 0.05 * grid.cell);
            let steep = slope.length_squared();
            if d.abs() < 1e-4 || steep < 0.01 {
                break;
            }
            p = (p - slope * (d / steep)).clamp(low, high);
        }
        p
    };
    let mut places = start.clone();
    places.par_chunks_mut(STRIDE).enumerate().try_for_each(|(c, chunk)| {
        watch.check()?;
        for (k, place) in chunk.iter_mut().enumerate() {
            *place = settled(c * STRIDE + k);
        }
        Ok(())
    })?;
    Ok(places)
}

/// Whether the distance bends within a cell, as it does about an edge. This
/// spares smooth cells the search for one.
fn bent(grid: &Grid, spot: [usize; 3]) -> bool {
    let v: [f32; 8] = std::array::from_fn(|k| {
        grid.values[grid.at(spot[0] + (k & 1), spot[1] + (k >> 1 & 1), spot[2] + (k >> 2))]
    });
    let mean = v.iter().sum::<f32>() / 8.0;
    let tilt: [f32; 3] = std::array::from_fn(|a| {
        (0..8).map(|k| if k >> a & 1 == 1 { v[k] } else { -v[k] }).sum::<f32>() / 8.0
    });
    let straight =
        |k: usize| mean + (0..3).map(|a| if k >> a & 1 == 1 { tilt[a] } else { -tilt[a] }).sum::<f32>();
    (0..8).any(|k| (v[k] - straight(k)).abs() > 0.07 * grid.cell)
}

/// Where the surface crosses the edges of a cell, and its normals there.
#[derive(Default)]
struct Tangents {
    at: [Vec3; 12],
    normal: [Vec3; 12],
    count: usize,
}

fn tangents(solid: &Solid, grid: &Grid, spot: [usize; 3]) -> Tangents {
    let mut found = Tangents::default();
    for axis in 0..3 {
        for side in 0..4 {
            let mut a = spot;
            a[(axis + 1) % 3] += side & 1;
            a[(axis + 2) % 3] += side >> 1;
            let mut b = a;
            b[axis] += 1;
            let (va, vb) = (grid.values[grid.at(a[0], a[1], a[2])], grid.values[grid.at(b[0], b[1], b[2])]);
            if (va < 0.0) == (vb < 0.0) {
                continue;
            }
            let place = |n: [usize; 3]| grid.origin + Vec3::from(n.map(|k| k as f32)) * grid.cell;
            let (pa, pb) = (place(a), place(b));
            // Two steps of false position: distances are seldom straight.
            let (mut ta, mut tb, mut da, mut db) = (0.0, 1.0, va, vb);
            let mut t = 0.5;
            for _ in 0..2 {
                t = ta + (tb - ta) * (da / (da - db)).clamp(0.05, 0.95);
                let d = solid.distance(pa.lerp(pb, t));
                if (d < 0.0) == (da < 0.0) {
                    (ta, da) = (t, d);
                } else {
                    (tb, db) = (t, d);
                }
            }
            let at = pa.lerp(pb, t);
            let (d, slope) = slope(solid, at, 0.01 * grid.cell);
            let steep = slope.length();
            if steep < 0.1 {
                continue;
            }
            let normal = slope / steep;
            found.at[found.count] = at - normal * (d / steep);
            found.normal[found.count] = normal;
            found.count += 1;
        }
    }
    found
}

/// The place nearest to all tangent planes of a cell, if they turn enough to
/// make an edge or a corner: found by walking from the mean of the crossings
/// a part of the way to each plane, which never runs off where planes are
/// nearly parallel, as solving for the place would.
fn edge_or_corner(planes: &Tangents, low: Vec3, high: Vec3) -> Option<Vec3> {
    let n = planes.count;
    let normals = &planes.normal[..n];
    let sharpest =
        normals.iter().flat_map(|a| normals.iter().map(move |b| a.dot(*b))).fold(1.0_f32, f32::min);
    if n < 3 || sharpest > 0.72 {
        return None;
    }
    let mean = planes.at[..n].iter().sum::<Vec3>() / n as f32;
    let mut p = mean;
    for _ in 0..24 {
        let pull = (0..n).map(|i| normals[i] * normals[i].dot(planes.at[i] - p)).sum::<Vec3>() / n as f32;
        p = (p + pull * 1.4).clamp(low, high);
    }
    Some(p)
}

/// Distance and its slope, by four corners of a tetrahedron about `p`.
fn slope(solid: &Solid, p: Vec3, h: f32) -> (f32, Vec3) {
    let corners =
        [Vec3::new(1.0, -1.0, -1.0), Vec3::new(-1.0, -1.0, 1.0), Vec3::new(-1.0, 1.0, -1.0), Vec3::ONE];
    let mut sum = Vec3::ZERO;
    let mut mean = 0.0;
    for c in corners {
        let d = solid.distance(p + c * h);
        sum += c * d;
        mean += 0.25 * d;
    }
    (mean, sum / (4.0 * h))
}

/// The triangles of every shell that encloses something worth casting.
fn outer_triangles(places: &[Vec3], indices: &[u32]) -> Vec<[[f32; 3]; 3]> {
    let mut parent: Vec<u32> = (0..places.len() as u32).collect();
    for t in indices.chunks_exact(3) {
        let a = root(&mut parent, t[0]);
        for &v in &t[1..] {
            let b = root(&mut parent, v);
            parent[b as usize] = a;
        }
    }
    let mut volume = vec![0.0_f64; places.len()];
    for t in indices.chunks_exact(3) {
        let [a, b, c] = [t[0], t[1], t[2]].map(|v| places[v as usize].as_dvec3());
        volume[root(&mut parent, t[0]) as usize] += a.dot(b.cross(c)) / 6.0;
    }
    // A grain of a twentieth of a cubic millimetre would be lost in printing.
    let least = 0.05;
    indices
        .chunks_exact(3)
        .filter(|t| volume[root(&mut parent, t[0]) as usize] > least)
        .map(|t| [t[0], t[1], t[2]].map(|v| places[v as usize].to_array()))
        .collect()
}

fn root(parent: &mut [u32], mut v: u32) -> u32 {
    while parent[v as usize] != v {
        parent[v as usize] = parent[parent[v as usize] as usize];
        v = parent[v as usize];
    }
    v
}

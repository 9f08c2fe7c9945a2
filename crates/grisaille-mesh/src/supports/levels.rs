//! A mesh cut into level slabs: what hangs together in each, and how wide the
//! necks are from one to the next.
//!
//! This is the Reeb graph of height, sampled at even levels (Singh, Mémoli and
//! Carlsson, Topological Methods for the Analysis of High Dimensional Data
//! Sets, 2007): a node is one connected part of the surface within a slab, a link is where
//! two of them meet in the level plane between their slabs.

use super::basins::Basin;
use crate::edge::{Edges, Half};
use crate::mesh::{Mesh, face_cross};
use crate::section::{Section, section};
use crate::sets::{find, unite};
use grisaille_base::{PieceId, Stop, Watch};
use std::collections::HashMap;

/// Slabs that the height is cut into: 0.15 mm on a figure of 60 mm.
const SLABS: usize = 400;
/// Faces between two questions whether to stop.
const STRETCH: usize = 1 << 14;

/// One connected part of the surface within a slab.
#[derive(Clone, Copy, Debug)]
pub(super) struct Node {
    /// Which slab, from 0 at the floor.
    pub(super) slab: u32,
    /// The piece that it belongs to.
    pub(super) piece: PieceId,
    /// Its lowest and its highest vertex, those of its faces beyond the slab included.
    pub(super) lowest: u32,
    pub(super) highest: u32,
    /// Its share of the surface in mm².
    pub(super) area_mm2: f64,
}

/// The level section between two nodes, one above the other.
#[derive(Clone, Copy, Debug)]
pub(super) struct Link {
    pub(super) below: u32,
    pub(super) above: u32,
    /// What the section encloses in mm², and how long its outline is in mm.
    area: f64,
    outline: f64,
}

impl Link {
    /// Four times the area by the outline: the diameter of a round section, the side
    /// of a square one, twice the thickness of a long one. Infinite where the outline
    /// goes round a hollow.
    pub(super) fn width(&self) -> f64 {
        if self.area > 0.0 { 4.0 * self.area / self.outline } else { f64::INFINITY }
    }
}

/// A mesh cut into level slabs.
pub(super) struct Levels {
    /// The height of a slab in mm.
    pub(super) step: f64,
    pub(super) nodes: Vec<Node>,
    /// In order of their nodes.
    pub(super) links: Vec<Link>,
    /// Of each face the nodes that it lies in, one for each slab: where they begin, with
    /// one more at the end.
    begin: Vec<u32>,
    node_of: Vec<u32>,
}

impl Levels {
    /// The nodes of a face, from below.
    pub(super) fn of_face(&self, f: usize) -> &[u32] {
        &self.node_of[self.begin[f] as usize..self.begin[f + 1] as usize]
    }

    /// Whether most of a face hangs on to the ground.
    pub(super) fn is_ground(&self, f: usize, basin: &[Basin]) -> bool {
        let nodes = self.of_face(f);
        2 * nodes.iter().filter(|n| basin[**n as usize] == Basin::Ground).count() > nodes.len()
    }
}

/// Cuts a mesh; nothing where it has no height.
pub(super) fn levels(mesh: &Mesh, edges: &Edges, watch: &Watch) -> Result<Option<Levels>, Stop> {
    let height = mesh.bounds().extents()[2];
    if height <= 0.0 {
        return Ok(None);
    }
    // Many long faces, each in all slabs, get fewer of them: time and memory stay in
    // proportion to the faces.
    let mut cut = Cut { floor: f64::from(mesh.bounds().low[2]), step: height / SLABS as f64, slabs: SLABS };
    let most = 8 * mesh.faces().len() as u64 + (1 << 20);
    while cut.slabs > 25 && mesh.faces().iter().map(|f| u64::from(cut.span(mesh, f).1)).sum::<u64>() > most {
        cut.slabs /= 2;
        cut.step *= 2.0;
    }
    watch.check()?;
    let mut begin = Vec::with_capacity(mesh.faces().len() + 1);
    let mut lowest = Vec::with_capacity(mesh.faces().len());
    let mut all = 0;
    for (f, face) in mesh.faces().iter().enumerate() {
        if f % STRETCH == 0 {
            watch.check()?;
        }
        let (low, count) = cut.span(mesh, face);
        begin.push(all);
        lowest.push(low);
        all += count;
    }
    begin.push(all);
    let mut parent: Vec<u32> = (0..all).collect();
    for (n, mut group) in edges.groups().enumerate() {
        if n % STRETCH == 0 {
            watch.check()?;
        }
        let Some(first) = group.next() else { continue };
        let (f, c) = (first.face(), first.index as usize % 3);
        let face = mesh.faces()[f];
        let (low, count) = cut.span(mesh, &[face[c], face[(c + 1) % 3]]);
        for g in group.map(Half::face) {
            for slab in low..low + count {
                unite(&mut parent, begin[f] + slab - lowest[f], begin[g] + slab - lowest[g]);
            }
        }
    }
    let (nodes, node_of) = numbered(mesh, (&begin, &lowest), &mut parent, watch)?;
    let links = linked(mesh, &cut, (&begin, &lowest, &node_of), watch)?;
    Ok(Some(Levels { step: cut.step, nodes, links, begin, node_of }))
}

/// Where the planes lie.
struct Cut {
    floor: f64,
    step: f64,
    slabs: usize,
}

impl Cut {
    fn slab(&self, z: f32) -> u32 {
        // A cast from a negative number gives 0.
        (((f64::from(z) - self.floor) / self.step) as usize).min(self.slabs - 1) as u32
    }

    /// The lowest slab of some vertices, and how many they span.
    fn span(&self, mesh: &Mesh, vertices: &[u32]) -> (u32, u32) {
        let of = vertices.iter().map(|v| self.slab(mesh.positions()[*v as usize].z));
        let (low, high) = of.fold((u32::MAX, 0), |(l, h), s| (l.min(s), h.max(s)));
        (low, high - low + 1)
    }
}

/// Sets of parts of faces, numbered in order of their first.
fn numbered(
    mesh: &Mesh,
    (begin, lowest): (&[u32], &[u32]),
    parent: &mut [u32],
    watch: &Watch,
) -> Result<(Vec<Node>, Vec<u32>), Stop> {
    let mut nodes: Vec<Node> = Vec::new();
    let mut node_of = vec![0; parent.len()];
    for (f, face) in mesh.faces().iter().enumerate() {
        if f % STRETCH == 0 {
            watch.check()?;
        }
        let count = begin[f + 1] - begin[f];
        let share = 0.5 * face_cross(mesh.positions(), *face).norm() / f64::from(count);
        for at in begin[f]..begin[f + 1] {
            let root = find(parent, at);
            if root == at {
                // The root is the least of its set, so it is met first.
                node_of[at as usize] = nodes.len() as u32;
                let (slab, piece) = (lowest[f] + at - begin[f], mesh.piece_of_face()[f]);
                nodes.push(Node { slab, piece, lowest: face[0], highest: face[0], area_mm2: 0.0 });
            }
            let n = node_of[root as usize];
            node_of[at as usize] = n;
            let node = &mut nodes[n as usize];
            node.area_mm2 += share;
            for v in face {
                let z = |v: u32| mesh.positions()[v as usize].z;
                if z(*v) < z(node.lowest) {
                    node.lowest = *v;
                }
                if z(*v) > z(node.highest) {
                    node.highest = *v;
                }
            }
        }
    }
    Ok((nodes, node_of))
}

/// The sections between nodes, measured.
fn linked(
    mesh: &Mesh,
    cut: &Cut,
    (begin, lowest, node_of): (&[u32], &[u32], &[u32]),
    watch: &Watch,
) -> Result<Vec<Link>, Stop> {
    let mut number: HashMap<(u32, u32), u32> = HashMap::new();
    let mut links: Vec<Link> = Vec::new();
    let [x, y, _] = mesh.bounds().centre();
    for (f, face) in mesh.faces().iter().enumerate() {
        if f % STRETCH == 0 {
            watch.check()?;
        }
        let corners = face.map(|v| mesh.positions()[v as usize].cast::<f64>());
        let outward = face_cross(mesh.positions(), *face);
        for at in begin[f] + 1..begin[f + 1] {
            let (below, above) = (node_of[at as usize - 1], node_of[at as usize]);
            let n = *number.entry((below, above)).or_insert_with(|| {
                links.push(Link { below, above, area: 0.0, outline: 0.0 });
                links.len() as u32 - 1
            });
            let z = cut.floor + f64::from(lowest[f] + at - begin[f]) * cut.step;
            if let Some(Section { ends: [p, q], area }) = section(&corners, &outward, z, [x, y]) {
                let link = &mut links[n as usize];
                link.area += area;
                link.outline += (q[0] - p[0]).hypot(q[1] - p[1]);
            }
        }
    }
    links.sort_unstable_by_key(|l| (l.below, l.above));
    Ok(links)
}

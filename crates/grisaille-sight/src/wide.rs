//! Rays of every direction, and what they meet first: a tree eight wide.
//!
//! The sweep answers one direction for all samples; light that bounces asks
//! many directions for each. The refined surface is made of small faces of
//! about one size, so no cost model is needed to group them: faces stand along
//! Hilbert's curve, each eight make a leaf, each eight leaves a node, and so on
//! up (I. Kamel and C. Faloutsos, "Hilbert R-tree", VLDB 1994). Eight boxes or
//! eight faces are tested side by side.

use crate::occluder::Occluders;
use crate::order::order;
use crate::surface::Surface;
use grisaille_base::{Stop, Watch};
use nalgebra::{Point3, Vector3};

/// Children of a node, faces of a leaf.
const WIDE: usize = 8;
/// More than any tree over faces numbered by `u32` can need: 11 levels.
const STACK: usize = 96;

/// What a ray meets first.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Meeting {
    /// The face of the surface.
    pub face: u32,
    /// How far from the origin, in lengths of the direction.
    pub distance: f32,
    /// How much each corner of the face counts there; they sum to 1.
    pub weights: [f32; 3],
    /// Whether the ray comes from outside. The inner side is met on open
    /// pieces only: from outside a closed one every ray enters it.
    pub front: bool,
}

/// A tree over the faces of a refined surface.
pub struct SurfaceTree {
    leaves: Vec<Leaf>,
    /// Boxes of the leaves, then of those boxes, up to a single node.
    levels: Vec<Vec<Node>>,
}

/// The boxes of eight children, side by side.
#[derive(Clone, Copy)]
#[repr(align(32))]
struct Node {
    low: [[f32; WIDE]; 3],
    high: [[f32; WIDE]; 3],
}

impl Default for Node {
    /// No children: no ray meets a box that lies without end far away.
    fn default() -> Self {
        Self { low: [[f32::INFINITY; WIDE]; 3], high: [[f32::INFINITY; WIDE]; 3] }
    }
}

impl Node {
    fn bounds(&self) -> [[f32; 3]; 2] {
        let low = self.low.map(|l| l.into_iter().fold(f32::INFINITY, f32::min));
        let there =
            |h: [f32; WIDE]| h.into_iter().filter(|h| h.is_finite()).fold(f32::NEG_INFINITY, f32::max);
        [low, self.high.map(there)]
    }

    fn set(&mut self, child: usize, [low, high]: [[f32; 3]; 2]) {
        for k in 0..3 {
            self.low[k][child] = low[k];
            self.high[k][child] = high[k];
        }
    }
}

/// Eight faces: a corner and the two sides from it.
#[derive(Clone, Copy, Default)]
#[repr(align(32))]
struct Leaf {
    corner: [[f32; WIDE]; 3],
    one: [[f32; WIDE]; 3],
    two: [[f32; WIDE]; 3],
    face: [u32; WIDE],
    /// 1 where the inner side blocks too, of faces of open pieces.
    open: [f32; WIDE],
}

impl SurfaceTree {
    /// Builds it; `occluders` are those of the mesh that the surface was made
    /// from. Time is part of the phase `structure`.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub fn new(surface: &Surface, occluders: &Occluders, watch: &Watch) -> Result<Self, Stop> {
        let faces = &surface.faces;
        let span = watch.span("structure", 3);
        let corners = |f: usize| {
            faces[f].map(|s| surface.samples.position.get(s as usize).copied().unwrap_or_default())
        };
        let (mut low, mut high) = ([f32::INFINITY; 3], [f32::NEG_INFINITY; 3]);
        for p in &surface.samples.position {
            low = [0, 1, 2].map(|k| low[k].min(p[k]));
            high = [0, 1, 2].map(|k| high[k].max(p[k]));
        }
        let size = low.iter().chain(&high).fold(0.0_f32, |m, x| m.max(x.abs()));
        watch.check()?;
        let middle = |f: usize| {
            let [a, b, c] = corners(f);
            ((a.coords + b.coords + c.coords) / 3.0).into()
        };
        let placed = watch.run(|| order(faces.len(), low, high, |f| (middle(f), Vector3::zeros(), false)));
        span.advance(1);
        let leaves = watch.map(placed.len().div_ceil(WIDE), |l| {
            let mut leaf = Leaf::default();
            for (k, f) in placed[WIDE * l..].iter().take(WIDE).map(|f| *f as usize).enumerate() {
                let [a, b, c] = corners(f);
                let (one, two) = (b - a, c - a);
                for axis in 0..3 {
                    leaf.corner[axis][k] = a[axis];
                    leaf.one[axis][k] = one[axis];
                    leaf.two[axis][k] = two[axis];
                }
                leaf.face[k] = f as u32;
                let closed = surface.source_face.get(f).is_some_and(|s| occluders.closed.get(s.index()));
                leaf.open[k] = f32::from(u8::from(!closed));
            }
            leaf
        })?;
        span.advance(1);
        // Boxes are widened by more than the rounding of the tests in `f32`.
        let margin = size * 2.0e-6;
        let bounds_of_leaf = |l: usize| {
            let own = placed[WIDE * l..].iter().take(WIDE).flat_map(|f| corners(*f as usize));
            own.fold([[f32::INFINITY; 3], [f32::NEG_INFINITY; 3]], |[low, high], p| {
                [[0, 1, 2].map(|k| low[k].min(p[k] - margin)), [0, 1, 2].map(|k| high[k].max(p[k] + margin))]
            })
        };
        let mut levels: Vec<Vec<Node>> = Vec::new();
        let mut below = leaves.len();
        while levels.last().is_none_or(|nodes| nodes.len() > 1) {
            let children = levels.last();
            let nodes = watch.map(below.div_ceil(WIDE).max(1), |n| {
                let mut node = Node::default();
                for (k, child) in (WIDE * n..(WIDE * (n + 1)).min(below)).enumerate() {
                    node.set(k, children.map_or_else(|| bounds_of_leaf(child), |c| c[child].bounds()));
                }
                node
            })?;
            below = nodes.len();
            levels.push(nodes);
        }
        span.advance(1);
        Ok(Self { leaves, levels })
    }

    /// What the rays from one origin along each direction meet first, to the
    /// rounding of `f32`; `out` gets one for each direction. On the edge
    /// between two faces either may be told. The same bits whatever vectors
    /// the machine has.
    pub fn nearest(&self, origin: Point3<f32>, directions: &[Vector3<f32>], out: &mut Vec<Option<Meeting>>) {
        out.clear();
        pulp::Arch::new().dispatch(Batch { tree: self, origin, directions, out });
    }

    #[inline(always)]
    fn first(&self, origin: [f32; 3], direction: [f32; 3]) -> Option<Meeting> {
        // A component of zero would make 0 · ∞ where the ray runs in a box's
        // side; a tiny one keeps every product finite and errs outward.
        let inverse = direction.map(|d| 1.0 / if d.abs() < 1e-18 { 1e-18_f32.copysign(d) } else { d });
        let mut best: Option<Meeting> = None;
        let mut far = f32::INFINITY;
        let mut stack = [(0.0_f32, 0_u32, 0_u32); STACK];
        let mut top = 1;
        stack[0] = (0.0, self.levels.len() as u32, 0);
        while top > 0 {
            top -= 1;
            let (near, level, index) = stack[top];
            if near > far {
                continue;
            }
            if level == 0 {
                self.leaves[index as usize].meet(origin, direction, index as usize, &mut far, &mut best);
                continue;
            }
            let node = &self.levels[level as usize - 1][index as usize];
            let entry = node.entry(origin, inverse, far);
            // The nearest child on top: the new ones are put in by falling distance.
            let first = top;
            for (k, near) in entry.into_iter().enumerate() {
                if near < f32::INFINITY && top < STACK {
                    let mut at = top;
                    while at > first && stack[at - 1].0 < near {
                        stack[at] = stack[at - 1];
                        at -= 1;
                    }
                    stack[at] = (near, level - 1, WIDE as u32 * index + k as u32);
                    top += 1;
                }
            }
        }
        best.map(|mut met| {
            met.face = self.leaves[met.face as usize / WIDE].face[met.face as usize % WIDE];
            met
        })
    }
}

impl Node {
    /// Where a ray enters each box, ∞ where it does not before `far`.
    #[inline(always)]
    fn entry(&self, origin: [f32; 3], inverse: [f32; 3], far: f32) -> [f32; WIDE] {
        let mut near = [0.0_f32; WIDE];
        let mut end = [far; WIDE];
        for axis in 0..3 {
            for k in 0..WIDE {
                let one = (self.low[axis][k] - origin[axis]) * inverse[axis];
                let two = (self.high[axis][k] - origin[axis]) * inverse[axis];
                let (enter, leave) = if one < two { (one, two) } else { (two, one) };
                near[k] = if near[k] > enter { near[k] } else { enter };
                end[k] = if end[k] < leave { end[k] } else { leave };
            }
        }
        for k in 0..WIDE {
            near[k] = if near[k] <= end[k] { near[k] } else { f32::INFINITY };
        }
        near
    }
}

impl Leaf {
    /// Tests the faces (T. Möller and B. Trumbore, J. Graphics Tools 2(1),
    /// 1997). Edges are a hair wider than they are, so that no ray slips
    /// between two faces. The face is told by its place until the end.
    #[inline(always)]
    fn meet(&self, o: [f32; 3], d: [f32; 3], own: usize, far: &mut f32, best: &mut Option<Meeting>) {
        const HAIR: f32 = 1e-6;
        let (mut at, mut first, mut second, mut facing) =
            ([f32::INFINITY; WIDE], [0.0_f32; WIDE], [0.0_f32; WIDE], [0.0_f32; WIDE]);
        for k in 0..WIDE {
            let e = [self.one[0][k], self.one[1][k], self.one[2][k]];
            let g = [self.two[0][k], self.two[1][k], self.two[2][k]];
            let s = [o[0] - self.corner[0][k], o[1] - self.corner[1][k], o[2] - self.corner[2][k]];
            let p = cross(d, g);
            let q = cross(s, e);
            let facing_me = dot(e, p);
            let inverse = 1.0 / facing_me;
            let (u, v, t) = (dot(s, p) * inverse, dot(d, q) * inverse, dot(g, q) * inverse);
            // A face that is seen edge-on, or has no area, gives no number and fails.
            let met = (u >= -HAIR)
                & (v >= -HAIR)
                & (u + v <= 1.0 + HAIR)
                & (t > 0.0)
                & ((facing_me > 0.0) | (self.open[k] > 0.0));
            at[k] = if met { t } else { f32::INFINITY };
            first[k] = u;
            second[k] = v;
            facing[k] = facing_me;
        }
        for k in 0..WIDE {
            if at[k] < *far {
                *far = at[k];
                *best = Some(Meeting {
                    face: (WIDE * own + k) as u32,
                    distance: at[k],
                    weights: [1.0 - first[k] - second[k], first[k], second[k]],
                    front: facing[k] > 0.0,
                });
            }
        }
    }
}

#[inline(always)]
fn cross(a: [f32; 3], b: [f32; 3]) -> [f32; 3] {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

#[inline(always)]
fn dot(a: [f32; 3], b: [f32; 3]) -> f32 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// Rays from one origin, to be compiled for each width of vectors and chosen
/// from by what the machine has.
struct Batch<'a> {
    tree: &'a SurfaceTree,
    origin: Point3<f32>,
    directions: &'a [Vector3<f32>],
    out: &'a mut Vec<Option<Meeting>>,
}

impl pulp::WithSimd for Batch<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) {
        let origin = [self.origin.x, self.origin.y, self.origin.z];
        self.out.extend(self.directions.iter().map(|d| self.tree.first(origin, [d.x, d.y, d.z])));
    }
}

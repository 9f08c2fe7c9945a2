//! Where curvature is greatest along its own direction: the raw lines of
//! edges and recesses.
//!
//! A vertex knows its curvature κ and the direction t in which it bends most;
//! the line runs where the derivative of κ along t passes zero from rising to
//! falling (Y. Ohtake, A. Belyaev, H.-P. Seidel, Ridge-valley lines on meshes
//! via implicit surface fitting, ACM TOG 23(3), 2004, section 3). Since κ is already
//! smooth at a stated radius, its derivative is taken from the neighbours.

use crate::{Curvature, Shape};
use grisaille_base::{Stop, Watch};
use grisaille_mesh::{next, prev};
use std::f32::consts::PI;

/// Edges or recesses.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Side {
    /// Convex.
    Edge,
    /// Concave.
    Recess,
}

impl Side {
    /// 1 for edges, −1 for recesses.
    pub(crate) fn sign(self) -> f64 {
        match self {
            Self::Edge => 1.0,
            Self::Recess => -1.0,
        }
    }
}

/// A place on an edge of the net.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Node {
    /// The half-edge with the lower number of the two.
    pub(crate) half: u32,
    /// How far along it, from 0 to 1.
    pub(crate) at: f32,
}

/// Nodes one after the other; where it closes, the first comes again last.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Chain {
    pub(crate) nodes: Vec<Node>,
    pub(crate) closed: bool,
}

/// All lines along which the curvature of a side is greatest and at least
/// `least` per mm.
pub(crate) fn chains(
    shape: &Shape,
    curved: &Curvature,
    side: Side,
    least: f32,
    watch: &Watch,
) -> Result<Vec<Chain>, Stop> {
    let bend: Vec<f32> = match side {
        Side::Edge => curved.most.clone(),
        Side::Recess => curved.least.iter().map(|k| -k).collect(),
    };
    let turned = if side == Side::Edge { 0.0 } else { 0.5 * PI };
    watch.check()?;
    let rise = watch.map(bend.len(), |v| {
        if bend[v] < 0.5 * least { 0.0 } else { derivative(shape, curved, &bend, v as u32, turned) }
    })?;
    let field = Field { shape, curved, bend, rise, turned };
    let found = watch.map(shape.faces().len(), |f| field.segment(f as u32, least))?;
    let segments: Vec<[Node; 2]> = found.into_iter().flatten().collect();
    watch.check()?;
    Ok(chained(&segments))
}

/// The derivative of `bend` along its own direction, by least squares over the
/// neighbours as they are laid out.
fn derivative(shape: &Shape, curved: &Curvature, bend: &[f32], v: u32, turned: f32) -> f32 {
    let here = shape.positions()[v as usize].cast::<f64>();
    let [mut xx, mut xy, mut yy, mut xk, mut yk] = [0.0_f64; 5];
    for link in curved.fans.around(v) {
        let length = (shape.positions()[link.to as usize].cast::<f64>() - here).norm();
        let (sin, cos) = f64::from(link.angle).sin_cos();
        let (x, y) = (length * cos, length * sin);
        let k = f64::from(bend[link.to as usize] - bend[v as usize]);
        xx += x * x;
        xy += x * y;
        yy += y * y;
        xk += x * k;
        yk += y * k;
    }
    let det = xx * yy - xy * xy;
    if det <= 1e-9 * (xx + yy).powi(2) {
        return 0.0;
    }
    let (sin, cos) = f64::from(curved.angle[v as usize] + turned).sin_cos();
    (((yy * xk - xy * yk) * cos + (xx * yk - xy * xk) * sin) / det) as f32
}

struct Field<'a> {
    shape: &'a Shape,
    curved: &'a Curvature,
    bend: Vec<f32>,
    /// The derivative of `bend` along its direction.
    rise: Vec<f32>,
    /// From the direction of `along_most` to ours.
    turned: f32,
}

impl Field<'_> {
    /// Where on an edge the derivative is zero, and the same from either face.
    fn crossing(&self, half: u32) -> Option<Node> {
        let half = self.shape.across(half).map_or(half, |twin| twin.min(half));
        let [i, j] = self.shape.ends(half).map(|v| v as usize);
        let (a, b) = (self.rise[i], self.aligned(half) * self.rise[j]);
        ((a >= 0.0) != (b >= 0.0)).then(|| Node { half, at: a / (a - b) })
    }

    /// 1 where the directions at both ends of a half-edge agree, −1 where one
    /// is to be turned round.
    fn aligned(&self, half: u32) -> f32 {
        let [i, j] = self.shape.ends(half).map(|v| v as usize);
        let [out, back] = self.curved.fans.leaving(self.shape, half);
        let between = (self.curved.angle[j] - back + PI) - (self.curved.angle[i] - out);
        if between.cos() >= 0.0 { 1.0 } else { -1.0 }
    }

    /// The piece of a line that crosses a face.
    fn segment(&self, face: u32, least: f32) -> Option<[Node; 2]> {
        let corners = self.shape.faces()[face as usize].map(|v| v as usize);
        if corners.iter().any(|v| self.bend[*v] < least) || self.shape.areas()[face as usize] <= 0.0 {
            return None;
        }
        let halves = [0, 1, 2].map(|c| 3 * face + c);
        let mut nodes = halves.iter().filter_map(|h| self.crossing(*h));
        let (one, two) = (nodes.next()?, nodes.next()?);
        if nodes.next().is_some() {
            return None;
        }
        // The face laid out with its first side along x.
        let [a, b, c] = corners.map(|v| self.shape.positions()[v].cast::<f64>());
        let x = (b - a).try_normalize(0.0)?;
        let up = self.shape.normals()[face as usize].cast::<f64>();
        let y = up.cross(&x);
        let flat = [a, b, c].map(|p| [(p - a).dot(&x), (p - a).dot(&y)]);
        let signs = [1.0, self.sign_between(halves[0]), self.sign_between(prev(halves[0]))];
        let rise: [f64; 3] = std::array::from_fn(|k| f64::from(signs[k] * self.rise[corners[k]]));
        let mut along = [0.0, 0.0];
        for k in 0..3 {
            let [p, q] = [flat[k], flat[(k + 1) % 3]];
            let side = (q[1] - p[1]).atan2(q[0] - p[0]);
            let [out, _] = self.curved.fans.leaving(self.shape, halves[k]);
            let angle = side + f64::from(self.curved.angle[corners[k]] + self.turned - out);
            along[0] += f64::from(signs[k]) * angle.cos();
            along[1] += f64::from(signs[k]) * angle.sin();
        }
        // Twice the area times the gradient of the derivative: it must fall along the direction.
        let [_, [bx, _], [cx, cy]] = flat;
        let gx = (rise[1] - rise[0]) * cy;
        let gy = (rise[2] - rise[0]) * bx - (rise[1] - rise[0]) * cx;
        (gx * along[0] + gy * along[1] < 0.0).then_some([one, two])
    }

    /// The sign between the first corner of a face and the other end of one of
    /// its sides, the same from either face.
    fn sign_between(&self, half: u32) -> f32 {
        self.aligned(self.shape.across(half).map_or(half, |twin| twin.min(half)))
    }
}

/// Segments joined where they share an edge of the net.
fn chained(segments: &[[Node; 2]]) -> Vec<Chain> {
    let mut ends: Vec<(u32, u32)> =
        segments.iter().enumerate().flat_map(|(s, pair)| pair.map(|n| (n.half, s as u32))).collect();
    ends.sort_unstable();
    let at = |half: u32| {
        let from = ends.partition_point(|e| e.0 < half);
        ends[from..].iter().take_while(move |e| e.0 == half).map(|e| e.1)
    };
    let mut used = vec![false; segments.len()];
    // Follows a line from a node through a segment to its end.
    let follow = |first: u32, begin: Node, used: &mut [bool]| {
        let mut nodes = vec![begin];
        let mut segment = first;
        loop {
            used[segment as usize] = true;
            let [a, b] = segments[segment as usize];
            let last = nodes[nodes.len() - 1];
            let node = if a.half == last.half { b } else { a };
            nodes.push(node);
            match at(node.half).find(|s| !used[*s as usize]) {
                Some(other) => segment = other,
                None => return nodes,
            }
        }
    };
    let mut out = Vec::new();
    for s in 0..segments.len() {
        for node in segments[s] {
            if !used[s] && at(node.half).count() == 1 {
                out.push(Chain { nodes: follow(s as u32, node, &mut used), closed: false });
            }
        }
    }
    for s in 0..segments.len() {
        if !used[s] {
            let nodes = follow(s as u32, segments[s][0], &mut used);
            let closed = nodes.len() > 3 && nodes[0].half == nodes[nodes.len() - 1].half;
            out.push(Chain { nodes, closed });
        }
    }
    out
}

/// Where a node lies, in mm.
pub(crate) fn place(shape: &Shape, node: Node) -> nalgebra::Point3<f64> {
    let [a, b] = shape.ends(node.half).map(|v| shape.positions()[v as usize].cast::<f64>());
    a + (b - a) * f64::from(node.at)
}

/// The third corner of a half-edge's face.
pub(crate) fn apex(shape: &Shape, half: u32) -> u32 {
    shape.ends(next(half))[1]
}

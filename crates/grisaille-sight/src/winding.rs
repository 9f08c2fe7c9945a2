//! The generalised winding number: how often a closed surface goes round a point.

use nalgebra::{Point3, Vector3};

/// A tree of faces whose far parts are summed as dipoles.
///
/// Jacobson, Kavan and Sorkine-Hornung, ACM TOG 32(4), 2013 (the number);
/// Barill et al., ACM TOG 37(4), 2018 (the tree). For a closed surface wound
/// outward the number is 1 inside and 0 outside, so a sum correct to a few
/// hundredths decides.
pub(crate) struct WindingTree {
    triangles: Vec<[Point3<f64>; 3]>,
    nodes: Vec<Node>,
}

struct Node {
    centre: Point3<f64>,
    radius: f64,
    /// Sum of area normals.
    dipole: Vector3<f64>,
    first: u32,
    count: u32,
    /// Index of the second child; the first follows its parent. 0 for a leaf.
    second: u32,
}

const LEAF: usize = 8;
/// A node is far when the point is more than this many radii away.
const FAR: f64 = 2.5;

impl WindingTree {
    /// Builds the tree over some triangles.
    #[must_use]
    pub(crate) fn new(mut triangles: Vec<[Point3<f64>; 3]>) -> Self {
        let mut nodes = Vec::with_capacity(triangles.len() / 2 + 1);
        let count = triangles.len();
        if count > 0 {
            build(&mut triangles, 0, count, &mut nodes);
        }
        Self { triangles, nodes }
    }

    /// The winding number about a point.
    #[must_use]
    pub(crate) fn winding(&self, point: Point3<f64>) -> f64 {
        let mut sum = 0.0;
        let mut stack = vec![0_usize];
        while let Some(at) = stack.pop() {
            let Some(node) = self.nodes.get(at) else { break };
            let to = node.centre - point;
            let distance = to.norm();
            if distance > FAR * node.radius {
                sum += node.dipole.dot(&to) / (distance * distance * distance);
            } else if node.second == 0 {
                let leaf = &self.triangles[node.first as usize..(node.first + node.count) as usize];
                sum += leaf.iter().map(|t| grisaille_mesh::solid_angle(point, *t)).sum::<f64>();
            } else {
                stack.extend([node.second as usize, at + 1]);
            }
        }
        sum / (4.0 * std::f64::consts::PI)
    }
}

fn build(triangles: &mut [[Point3<f64>; 3]], first: usize, count: usize, nodes: &mut Vec<Node>) {
    let own = &triangles[first..first + count];
    let (mut dipole, mut centre, mut area) = (Vector3::zeros(), Vector3::zeros(), 0.0);
    let (mut low, mut high) = (Vector3::repeat(f64::INFINITY), Vector3::repeat(f64::NEG_INFINITY));
    for t in own {
        let normal = 0.5 * (t[1] - t[0]).cross(&(t[2] - t[0]));
        let middle = (t[0].coords + t[1].coords + t[2].coords) / 3.0;
        dipole += normal;
        centre += normal.norm() * middle;
        area += normal.norm();
        low = low.inf(&middle);
        high = high.sup(&middle);
    }
    let centre = Point3::from(if area > 0.0 { centre / area } else { 0.5 * (low + high) });
    let radius = own.iter().flatten().map(|p| (p - centre).norm()).fold(0.0, f64::max);
    let at = nodes.len();
    nodes.push(Node { centre, radius, dipole, first: first as u32, count: count as u32, second: 0 });
    if count <= LEAF {
        return;
    }
    let axis = (high - low).imax();
    let middle = |t: &[Point3<f64>; 3]| t[0][axis] + t[1][axis] + t[2][axis];
    triangles[first..first + count].select_nth_unstable_by(count / 2, |a, b| middle(a).total_cmp(&middle(b)));
    build(triangles, first, count / 2, nodes);
    nodes[at].second = nodes.len() as u32;
    build(triangles, first + count / 2, count - count / 2, nodes);
}

//! Patches as nodes, and what links them: the common border, its length, and
//! how much the surface bends over it.

use super::faces::{Faces, turn};
use super::tree::{Link, Node};
use super::walk::ease;
use crate::Shape;
use grisaille_base::{Stop, Watch};
use nalgebra::Vector3;

/// How much a convex bend parts beside a concave one of the same angle. (D. D.
/// Hoffman, W. A. Richards, "Parts of recognition", Cognition 18, 1984: borders
/// of parts lie in concave creases. How much less a convex one counts is ours.)
pub(crate) const CONVEX: f64 = 0.25;
/// Bends of less than this many radians, between patches, are form and grain.
const LEAST: f64 = 0.1;

/// The nodes and links of patches. `painted` is the area of each face that
/// counts, in mm².
pub(crate) fn net(
    shape: &Shape,
    faces: &Faces,
    painted: &[f32],
    patch: &[u32],
    count: usize,
    watch: &Watch,
) -> Result<(Vec<Node>, Vec<Link>), Stop> {
    let mut nodes = vec![Node::default(); count];
    let mut facing = vec![Vector3::<f64>::zeros(); count];
    let mut weight = vec![0.0_f64; count];
    for (f, p) in patch.iter().enumerate() {
        let (p, own) = (*p as usize, f64::from(shape.areas()[f]));
        weight[p] += own;
        nodes[p].piece = faces.piece[f];
        nodes[p].area += f64::from(painted[f]);
        nodes[p].place += faces.middles[f].coords.cast::<f64>() * own;
        facing[p] += faces.normals[f].cast::<f64>() * own;
    }
    watch.check()?;
    for (p, node) in nodes.iter_mut().enumerate() {
        if weight[p] > 0.0 {
            node.place /= weight[p];
        }
        node.facing = facing[p].try_normalize(0.0).unwrap_or_default();
    }
    for (f, p) in patch.iter().enumerate().filter(|(_, p)| weight[**p as usize] <= 0.0) {
        nodes[*p as usize].place = faces.middles[f].coords.cast();
    }
    let mut borders = Vec::new();
    for half in 0..3 * patch.len() {
        let f = half / 3;
        let Some(g) = faces.across(half).filter(|g| patch[*g] > patch[f]) else { continue };
        let [a, b] = shape.ends(half as u32).map(|v| shape.positions()[v as usize]);
        // A border that nobody sees parts nothing.
        let seen = [f, g].iter().all(|f| painted[*f] > 0.0 || shape.areas()[*f] == 0.0);
        borders.push((patch[f], patch[g], (b - a).norm(), seen));
    }
    watch.check()?;
    borders.sort_by_key(|b| (b.0, b.1));
    let links = borders
        .chunk_by(|a, b| (a.0, a.1) == (b.0, b.1))
        .map(|run| {
            let (a, b) = (run[0].0, run[0].1);
            let length = |seen: bool| run.iter().filter(|e| e.3 == seen).map(|e| f64::from(e.2)).sum::<f64>();
            let (seen, unseen) = (length(true), length(false));
            let bend = bend(&nodes[a as usize], &nodes[b as usize]);
            let mut link = Link { a, b, length: seen, hidden: unseen, bend: seen * bend, ease: 0.0 };
            link.ease = ease(&nodes, &link);
            link
        })
        .collect();
    Ok((nodes, links))
}

/// How much the surface parts between two patches, in radians.
fn bend(a: &Node, b: &Node) -> f64 {
    let angle = turn(&a.facing.cast(), &b.facing.cast());
    let convex = (b.place - a.place).dot(&(b.facing - a.facing)) > 0.0;
    (angle - LEAST).max(0.0) * if convex { CONVEX } else { 1.0 }
}

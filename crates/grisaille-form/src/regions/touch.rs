//! Pieces that touch: what joins regions that no surface joins.

use super::tree::{Merge, Node};
use grisaille_mesh::find;
use std::collections::{BTreeMap, BTreeSet};

/// With more loose things than this, what touches nothing goes to the largest:
/// such a heap of scraps has no nearest that means anything.
const SCRAPS: usize = 500;

/// Adds merges of what hangs together to larger things, until one is left: the
/// smallest first, into what it touches most, or else into what is nearest.
/// Crumbs come before everything else.
pub(crate) fn touches(nodes: &[Node], size: f64, merges: &mut Vec<Merge>) {
    let mut parent: Vec<u32> = (0..nodes.len() as u32).collect();
    for m in merges.iter() {
        grisaille_mesh::unite(&mut parent, m.into, m.from);
    }
    let roots: Vec<u32> = (0..nodes.len() as u32).map(|p| find(&mut parent, p)).collect();
    let mut whole: BTreeMap<u32, f64> = BTreeMap::new();
    for (p, r) in roots.iter().enumerate() {
        *whole.entry(*r).or_default() += nodes[p].area;
    }
    if whole.len() < 2 {
        return;
    }
    // Patches of different things that lie within a patch's size of each other.
    let cell = |p: usize| {
        let at = nodes[p].place / size;
        [at.x, at.y, at.z].map(|x| x.floor() as i64)
    };
    let mut grid: BTreeMap<[i64; 3], Vec<u32>> = BTreeMap::new();
    for p in 0..nodes.len() {
        grid.entry(cell(p)).or_default().push(p as u32);
    }
    let mut contact: BTreeMap<u32, BTreeMap<u32, f64>> = BTreeMap::new();
    for p in 0..nodes.len() {
        let [x, y, z] = cell(p);
        for k in 0..27_i64 {
            let there = [x + k % 3 - 1, y + k / 3 % 3 - 1, z + k / 9 - 1];
            for q in grid.get(&there).into_iter().flatten() {
                let far = (nodes[p].place - nodes[*q as usize].place).norm();
                if roots[p] != roots[*q as usize] && far < size {
                    *contact.entry(roots[p]).or_default().entry(roots[*q as usize]).or_default() += 1.0;
                }
            }
        }
    }
    let least = 1e-4 * whole.values().sum::<f64>();
    let mut crumbs = Vec::new();
    let mut rest = Vec::new();
    let scraps = whole.len() > SCRAPS;
    // Areas are not negative, so their bits stand in their order.
    let mut order: BTreeSet<(u64, u32)> = whole.iter().map(|(r, a)| (a.to_bits(), *r)).collect();
    while order.len() > 1 {
        let Some((_, small)) = order.pop_first() else { break };
        let area = whole[&small];
        let beside = contact.remove(&small).unwrap_or_default();
        let most = beside.iter().max_by(|a, b| a.1.total_cmp(b.1).then(b.0.cmp(a.0))).map(|(r, _)| *r);
        let largest = || order.last().map(|(_, r)| *r);
        let near = || if scraps { largest() } else { nearest(nodes, &roots, &mut parent, small) };
        let Some(into) = most.or_else(near) else { break };
        let merge = Merge { into, from: small, weight: f64::INFINITY };
        if area < least {
            crumbs.push(Merge { weight: 0.0, ..merge });
        } else {
            rest.push(merge);
        }
        parent[small as usize] = into;
        order.remove(&(whole[&into].to_bits(), into));
        let sum = whole[&into] + area;
        whole.insert(into, sum);
        order.insert((sum.to_bits(), into));
        for (other, much) in beside {
            if let Some(of) = contact.get_mut(&other) {
                of.remove(&small);
                if other != into {
                    *of.entry(into).or_default() += much;
                }
            }
            if other != into {
                *contact.entry(into).or_default().entry(other).or_default() += much;
            }
        }
    }
    crumbs.append(merges);
    crumbs.append(&mut rest);
    *merges = crumbs;
}

/// The thing to which a patch lies nearest that is not of `small`.
fn nearest(nodes: &[Node], roots: &[u32], parent: &mut [u32], small: u32) -> Option<u32> {
    let of: Vec<u32> = roots.iter().map(|r| find(parent, *r)).collect();
    let own = nodes.iter().zip(&of).filter(|(_, r)| **r == small).map(|(n, _)| n.place);
    let first = own.clone().next()?;
    let middle = own.clone().fold(nalgebra::Vector3::zeros(), |s, p| s + p) / own.count().max(1) as f64;
    let middle = if middle.norm().is_finite() { middle } else { first };
    nodes
        .iter()
        .zip(&of)
        .filter(|(_, r)| **r != small)
        .map(|(n, r)| ((n.place - middle).norm_squared(), *r))
        .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)))
        .map(|(_, r)| r)
}

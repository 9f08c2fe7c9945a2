//! Islands: bits of a region that lie apart from the rest of it and are too
//! small to paint go to what lies round them.

use super::faces::Faces;
use crate::Shape;
use grisaille_base::{Stop, Watch};
use grisaille_mesh::{find, unite};
use std::collections::BTreeMap;

/// The most rounds: one island in another takes two.
const ROUNDS: usize = 4;

/// Gives islands of less than `least` mm² the label with which they share the
/// longest border. The largest part of a label is never an island, nor is what
/// no other label lies beside, nor a part with a `fixed` face.
pub(crate) fn no_islands(
    shape: &Shape,
    faces: &Faces,
    labels: &mut [u32],
    fixed: &dyn Fn(usize) -> bool,
    least: f64,
    watch: &Watch,
) -> Result<(), Stop> {
    let count = labels.iter().max().map_or(0, |l| *l as usize + 1);
    for _ in 0..ROUNDS {
        watch.check()?;
        let mut parent: Vec<u32> = (0..labels.len() as u32).collect();
        for half in 0..3 * labels.len() {
            let f = half / 3;
            if let Some(g) = faces.across(half).filter(|g| labels[*g] == labels[f]) {
                unite(&mut parent, f as u32, g as u32);
            }
        }
        watch.check()?;
        let mut area = vec![0.0_f64; labels.len()];
        for f in 0..labels.len() {
            let root = find(&mut parent, f as u32) as usize;
            area[root] += f64::from(shape.areas()[f]);
            if fixed(f) {
                area[root] = f64::INFINITY;
            }
        }
        let mut largest = vec![(f64::NEG_INFINITY, 0_u32); count];
        for f in (0..labels.len()).filter(|f| parent[*f] as usize == *f) {
            let best = &mut largest[labels[f] as usize];
            if area[f] > best.0 {
                *best = (area[f], f as u32);
            }
        }
        let island = |root: u32, label: u32| area[root as usize] < least && largest[label as usize].1 != root;
        let mut borders: BTreeMap<(u32, u32), f64> = BTreeMap::new();
        for half in 0..3 * labels.len() {
            let f = half / 3;
            let root = find(&mut parent, f as u32);
            if !island(root, labels[f]) {
                continue;
            }
            if let Some(g) = faces.across(half).filter(|g| labels[*g] != labels[f]) {
                let [p, q] = shape.ends(half as u32).map(|v| shape.positions()[v as usize]);
                *borders.entry((root, labels[g])).or_default() += f64::from((q - p).norm());
            }
        }
        if borders.is_empty() {
            return Ok(());
        }
        let mut to: BTreeMap<u32, (f64, u32)> = BTreeMap::new();
        for ((root, label), length) in borders {
            let best = to.entry(root).or_insert((f64::NEG_INFINITY, 0));
            if length > best.0 {
                *best = (length, label);
            }
        }
        for (f, own) in labels.iter_mut().enumerate() {
            if let Some((_, label)) = to.get(&find(&mut parent, f as u32)) {
                *own = *label;
            }
        }
    }
    Ok(())
}

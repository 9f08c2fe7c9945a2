//! Regions grown from seeds, and what seeds leave alone.

use super::anchor::Seed;
use super::ground::Ground;
use super::result::{Labelled, Regions};
use super::walk::Paths;
use grisaille_base::{RegionId, Stop, Watch};
use grisaille_mesh::{find, unite};
use std::collections::BTreeMap;

/// Patches that are parted by less than this are one to a walker.
const ONE: f64 = 0.004;
/// And by less than this, if they are not of two seeds: a seed on the tip of a thin limb
/// would else hold so little that the limb went to what it grows from.
const NEARLY: f64 = 0.01;

impl Ground {
    /// Grows regions from seeds until they meet: each seed's region takes what
    /// a walker from there is most likely to reach it from, and borders settle
    /// on creases. `names` are those of the regions by the seeds' ids; a region
    /// without a name is called by its number.
    ///
    /// What hangs together with no seed stays as it was `before`, or is a region
    /// for each piece. Locked regions of before stay as they are.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub fn grow(
        &self,
        seeds: &[Seed],
        names: &[String],
        before: Option<&Regions>,
        watch: &Watch,
    ) -> Result<Regions, Stop> {
        let span = watch.span("seeds", 3);
        let count = self.faces.piece.len();
        // Labels: those of before, or of pieces, and then one for each region with seeds.
        let mut labelled = match before {
            Some(before) if before.of_face.len() == count => Labelled::of(before),
            _ => self.pieces_labelled(),
        };
        let first = labelled.names.len() as u32;
        let ids: Vec<RegionId> = {
            let mut ids: Vec<RegionId> = seeds.iter().map(|s| s.region).collect();
            ids.sort_unstable();
            ids.dedup();
            ids
        };
        let label = |id: RegionId| ids.binary_search(&id).map_or(0, |k| k as u32);
        let mut fixed: BTreeMap<u32, u32> = BTreeMap::new();
        for seed in seeds {
            let Some(face) = self.face_at(&seed.anchor) else { continue };
            if !labelled.is_locked(face) {
                // The first of two seeds on one face holds it.
                fixed.entry(face as u32).or_insert(label(seed.region));
            }
        }
        span.advance(1);
        let of_patch = self.walked(&fixed, &labelled, ids.len(), watch)?;
        span.advance(1);
        let mut front: Vec<u32> = Vec::new();
        for f in 0..count {
            let reached = of_patch[self.patch[f] as usize];
            if let Some(label) = reached.filter(|_| !labelled.is_locked(f)) {
                labelled.of_face[f] = first + label;
                front.push(f as u32);
            }
        }
        // What is free of a patch that is locked for the most part goes to what
        // has grown beside it.
        while let Some(f) = front.pop() {
            for half in 3 * f as usize..3 * f as usize + 3 {
                let Some(g) = self.faces.across(half) else { continue };
                if labelled.of_face[g] < first && !labelled.is_locked(g) {
                    labelled.of_face[g] = labelled.of_face[f as usize];
                    front.push(g as u32);
                }
            }
        }
        for (face, label) in &fixed {
            labelled.of_face[*face as usize] = first + label;
        }
        for id in &ids {
            // A region of the same name goes on in the new one.
            let name = names.get(id.index()).cloned();
            for old in labelled.names.iter_mut().filter(|n| name.is_some() && **n == name) {
                *old = None;
            }
            labelled.add(name);
        }
        let mut of_face = std::mem::take(&mut labelled.of_face);
        // Borders that no seed has to do with stay where they are.
        let kept: Vec<bool> = of_face.iter().map(|l| *l < first).collect();
        let stays = |f: usize| kept[f] || fixed.contains_key(&(f as u32));
        let grown = of_face.clone();
        self.smooth(&mut of_face, &stays, watch)?;
        // What is kept takes nothing in, either.
        for (label, before) in of_face.iter_mut().zip(grown) {
            if *label < first {
                *label = before;
            }
        }
        labelled.of_face = of_face;
        Ok(self.numbered(labelled))
    }

    /// For each patch the label that a walker from there most likely meets
    /// first; none where that is to stay as it was.
    fn walked(
        &self,
        fixed: &BTreeMap<u32, u32>,
        labelled: &Labelled,
        labels: usize,
        watch: &Watch,
    ) -> Result<Vec<Option<u32>>, Stop> {
        let patches = self.nodes.len();
        let mut seed: Vec<Option<u32>> = vec![None; patches];
        for (face, label) in fixed {
            seed[self.patch[*face as usize] as usize].get_or_insert(*label);
        }
        // No walker comes through what is locked for the most part.
        let mut free = vec![0.0_f64; patches];
        for (f, p) in self.patch.iter().enumerate() {
            let own = f64::from(self.shape.areas()[f]);
            free[*p as usize] += if labelled.is_locked(f) { -own } else { own };
        }
        let shut = |p: u32| free[p as usize] < 0.0;
        let easy = || self.merges.iter().filter(|m| m.weight < ONE && !shut(m.into) && !shut(m.from));
        let mut parent: Vec<u32> = (0..patches as u32).collect();
        easy().for_each(|m| unite(&mut parent, m.into, m.from));
        // Where seeds of two regions lie in one such area, its patches stay apart.
        let mut met = seed.clone();
        let mut torn = vec![false; patches];
        for (p, own) in seed.iter().enumerate() {
            let root = find(&mut parent, p as u32) as usize;
            match (met[root], *own) {
                (Some(one), Some(two)) if one != two => torn[root] = true,
                (one, two) => met[root] = one.or(two),
            }
        }
        let whole = parent;
        let mut parent: Vec<u32> = (0..patches as u32).collect();
        for p in 0..patches as u32 {
            let mut root = p;
            while whole[root as usize] != root {
                root = whole[root as usize];
            }
            if !torn[root as usize] {
                parent[p as usize] = root;
            }
        }
        self.hold(&mut seed, &mut parent, torn, &shut);
        let mut node = vec![u32::MAX; patches];
        let mut roots = Vec::new();
        for p in 0..patches as u32 {
            let root = find(&mut parent, p) as usize;
            if node[root] == u32::MAX {
                node[root] = roots.len() as u32;
                roots.push(root);
            }
            node[p as usize] = node[root];
        }
        let ways = self
            .links
            .iter()
            .filter(|l| !shut(l.a) && !shut(l.b))
            .map(|l| (node[l.a as usize], node[l.b as usize], l.ease));
        let paths = Paths::of(roots.len(), ways);
        let seeds: Vec<Option<u32>> = roots.iter().map(|r| seed[*r]).collect();
        let met = paths.walk(&seeds, labels, watch)?;
        Ok((0..patches).map(|p| met[node[p] as usize]).collect())
    }

    /// Joins patches that are nearly one as far as seeds of one region, or none, lie among
    /// them. `parent` tells what is one already, and `torn` what of it two regions share.
    fn hold(
        &self,
        seed: &mut [Option<u32>],
        parent: &mut [u32],
        mut torn: Vec<bool>,
        shut: &dyn Fn(u32) -> bool,
    ) {
        let mut held = vec![None; seed.len()];
        for (p, own) in seed.iter().enumerate() {
            let root = find(parent, p as u32) as usize;
            held[root] = held[root].or(*own);
        }
        let nearly = self.merges.iter().filter(|m| (ONE..NEARLY).contains(&m.weight));
        for m in nearly.filter(|m| !shut(m.into) && !shut(m.from)) {
            let [a, b] = [m.into, m.from].map(|p| find(parent, p) as usize);
            let apart = held[a].is_some() && held[b].is_some() && held[a] != held[b];
            if torn[a] || torn[b] || apart {
                // What comes to either later may belong to the other as well.
                (torn[a], torn[b]) = (true, true);
                continue;
            }
            unite(parent, m.into, m.from);
            held[find(parent, m.into) as usize] = held[a].or(held[b]);
        }
        for p in 0..seed.len() {
            seed[p] = held[find(parent, p as u32) as usize];
        }
    }
}

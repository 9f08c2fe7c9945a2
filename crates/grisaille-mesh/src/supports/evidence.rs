//! What speaks for supports and what against.

use super::basins::{Basin, Contact, Limits};
use super::levels::{Levels, Link};
use super::touch::touching;
use crate::mesh::Mesh;
use crate::sets::{find, unite};
use grisaille_base::{PieceId, Stop, Watch};
use nalgebra::Point3;
use std::collections::{BTreeMap, BTreeSet};

/// What was found.
pub(super) struct Evidence {
    /// Of each node whether it is a support's or its raft's, and whether it is a raft's.
    pub(super) holds: Vec<bool>,
    pub(super) raft: Vec<bool>,
    pub(super) stands: u32,
    pub(super) tips: u32,
    pub(super) column: f64,
    pub(super) confidence: f64,
    pub(super) left: u32,
}

/// A tip is at most this many times as wide as the columns.
const TIP: f64 = 0.75;
/// What is this many times as wide as the columns carries the figure itself.
const CARRIES: f64 = 1.3;
/// What is this many times as wide as the columns, most of its way, and has one tip is a pillar.
const PILLAR: f64 = 1.6;
/// Below this nothing is said.
const LEAST: f64 = 0.4;

/// What ends a stand above.
#[derive(Clone, Copy, Debug, PartialEq)]
enum End {
    /// Meets the figure by a neck, or touches it with a tip.
    Tip,
    /// Meets or touches it without growing thinner; whether it is thick.
    Thick(bool),
    /// Goes on in another piece of a support.
    Joint,
    /// Stands free.
    Free,
}

/// Parts of the ground: columns, and the plates under them.
struct Ground {
    /// Of each node its part, by the part's first node; meaningless for what is no ground.
    part: Vec<u32>,
    plate: Vec<bool>,
}

/// Judges what hangs on to the ground; nothing where it is not like supports at all.
pub(super) fn judged(
    mesh: &Mesh,
    levels: &Levels,
    limits: &Limits,
    (basin, contacts): (&[Basin], &[Contact]),
    watch: &Watch,
) -> Result<Option<Evidence>, Stop> {
    let ground = grounds(levels, limits, basin);
    let column = usual_width(levels, &ground, basin);
    if column <= 0.0 {
        return Ok(None);
    }
    let mut ends = necks(&ground, contacts, column);
    for (part, end) in tops(mesh, levels, &ground, basin, column) {
        ends.entry(part).or_default().push(end);
    }
    watch.check()?;
    let widths = own_widths(levels, &ground, basin);
    // A part with a tip is a stand, unless it carries the figure, or is a lone pillar: a staff or a post
    // of the sculpt may narrow where it is held. One that only goes on in another is part of it.
    let is_stand = |part: u32| {
        let ends = ends.get(&part).map_or(&[][..], Vec::as_slice);
        let pillar = widths.get(&part).is_some_and(|w| *w > PILLAR * column);
        if ends == [End::Tip] && pillar {
            return false;
        }
        let held = ends.contains(&End::Tip) || (!ends.is_empty() && ends.iter().all(|e| *e == End::Joint));
        held && !ends.contains(&End::Thick(true))
    };
    let rafts = rafts(mesh, levels, &ground, (basin, contacts), column, &is_stand);
    watch.check()?;
    let kept = |n: usize| {
        basin[n] == Basin::Ground && {
            let part = ground.part[n];
            if ground.plate[n] { rafts.contains(&part) } else { is_stand(part) }
        }
    };
    let holds: Vec<bool> = (0..levels.nodes.len()).map(kept).collect();
    let raft = (0..levels.nodes.len()).map(|n| holds[n] && ground.plate[n]).collect();
    let all = || ends.iter().filter(|(part, _)| !ground.plate[**part as usize]);
    let tips: usize = all()
        .filter(|(part, _)| is_stand(**part))
        .map(|(_, e)| e.iter().filter(|e| **e == End::Tip).count())
        .sum();
    let others: usize = all().flat_map(|(_, e)| e).filter(|e| matches!(e, End::Thick(_) | End::Free)).count();
    let stands = all().filter(|(part, e)| is_stand(**part) && e.contains(&End::Tip)).count() as u32;
    let left =
        all().filter(|(part, e)| !is_stand(**part) && e.iter().any(|e| *e != End::Joint)).count() as u32;
    let number = [0.0, 0.35, 0.6, 0.85, 1.0][tips.min(4)];
    let share = tips as f64 / (tips + others).max(1) as f64;
    let (even, slender) = shafts(levels, &holds, &ground, column, stands);
    let sure = |x: f64, from: f64, to: f64| ((x - from) / (to - from)).clamp(0.0, 1.0);
    let confidence = number * sure(share, 0.2, 0.6) * sure(even, 0.2, 0.45) * sure(slender, 1.0, 3.0);
    if confidence < LEAST {
        return Ok(None);
    }
    Ok(Some(Evidence { holds, raft, stands, tips: tips as u32, column, confidence, left }))
}

/// Parts of the ground, plates apart from what rises from them.
fn grounds(levels: &Levels, limits: &Limits, basin: &[Basin]) -> Ground {
    let mut plate = vec![false; levels.nodes.len()];
    for link in levels.links.iter().filter(|l| l.width() > limits.widest) {
        for n in [link.below, link.above] {
            plate[n as usize] |= basin[n as usize] == Basin::Ground;
        }
    }
    let mut part: Vec<u32> = (0..levels.nodes.len() as u32).collect();
    for link in &levels.links {
        let [a, b] = [link.below as usize, link.above as usize];
        if basin[a] == Basin::Ground && basin[b] == Basin::Ground && plate[a] == plate[b] {
            unite(&mut part, link.below, link.above);
        }
    }
    let part = (0..levels.nodes.len() as u32).map(|n| find(&mut part, n)).collect();
    Ground { part, plate }
}

/// The middle of all widths of what rises from the plates.
fn usual_width(levels: &Levels, ground: &Ground, basin: &[Basin]) -> f64 {
    let is_shaft = |n: u32| basin[n as usize] == Basin::Ground && !ground.plate[n as usize];
    let mut widths: Vec<f64> =
        levels.links.iter().filter(|l| is_shaft(l.below) && is_shaft(l.above)).map(Link::width).collect();
    widths.sort_by(f64::total_cmp);
    widths.get(widths.len() / 2).copied().unwrap_or(0.0)
}

/// The middle of the widths of each part that rises from the plates.
fn own_widths(levels: &Levels, ground: &Ground, basin: &[Basin]) -> BTreeMap<u32, f64> {
    let mut of: BTreeMap<u32, Vec<f64>> = BTreeMap::new();
    let is_shaft = |n: u32| basin[n as usize] == Basin::Ground && !ground.plate[n as usize];
    for link in levels.links.iter().filter(|l| is_shaft(l.below) && is_shaft(l.above)) {
        of.entry(ground.part[link.below as usize]).or_default().push(link.width());
    }
    let middle = |mut widths: Vec<f64>| {
        widths.sort_by(f64::total_cmp);
        widths[widths.len() / 2]
    };
    of.into_iter().map(|(part, widths)| (part, middle(widths))).collect()
}

/// The ends of each part where it is one with the figure.
fn necks(ground: &Ground, contacts: &[Contact], column: f64) -> BTreeMap<u32, Vec<End>> {
    let mut ends: BTreeMap<u32, Vec<End>> = BTreeMap::new();
    for contact in contacts {
        let end = match contact.width {
            w if w <= TIP * column => End::Tip,
            w => End::Thick(w > CARRIES * column),
        };
        ends.entry(ground.part[contact.ground as usize]).or_default().push(end);
    }
    ends
}

/// The upper ends of each part that are ends of their piece.
fn tops(mesh: &Mesh, levels: &Levels, ground: &Ground, basin: &[Basin], column: f64) -> Vec<(u32, End)> {
    let count = levels.nodes.len();
    let mut above = vec![0_u32; count];
    // The widest link that goes down from each node.
    let mut down: Vec<Option<usize>> = vec![None; count];
    for (i, link) in levels.links.iter().enumerate() {
        above[link.below as usize] += 1;
        let best = &mut down[link.above as usize];
        if best.is_none_or(|b| levels.links[b].width() < link.width()) {
            *best = Some(i);
        }
    }
    let mut found: Vec<(u32, f64, (Point3<f64>, PieceId))> = Vec::new();
    for n in (0..count).filter(|n| basin[*n] == Basin::Ground && !ground.plate[*n] && above[*n] == 0) {
        let (mut at, mut length, mut width) = (n, 0.0, 0.0);
        while let Some(link) = down[at].map(|i| levels.links[i]) {
            // A tip is rounded at its very end.
            if length <= 0.35 * column {
                width = link.width();
            }
            length += levels.step;
            at = link.below as usize;
            if above[at] > 1 || ground.plate[at] || length > 1.5 * column {
                break;
            }
        }
        // A shorter one is a grain of the surface.
        if length >= 1.5 * column {
            let node = levels.nodes[n];
            found.push((ground.part[n], width, (mesh.positions[node.highest as usize].cast(), node.piece)));
        }
    }
    let points: Vec<_> = found.iter().map(|f| f.2).collect();
    let mut all = vec![true; mesh.pieces.len()];
    for (node, basin) in levels.nodes.iter().zip(basin) {
        all[node.piece.index()] &= *basin == Basin::Ground;
    }
    let reach = (0.35 * column).max(2.0 * levels.step);
    let is_ground = |f: usize| levels.is_ground(f, basin);
    let figure = touching(mesh, &points, reach, |_, p| !all[p.index()], |f| !is_ground(f));
    let joint = touching(mesh, &points, reach, |_, p| all[p.index()], is_ground);
    let end = |i: usize| match (figure[i], joint[i]) {
        (true, _) if found[i].1 <= TIP * column => End::Tip,
        (_, true) => End::Joint,
        (true, false) => End::Thick(found[i].1 > CARRIES * column),
        (false, false) => End::Free,
    };
    (0..found.len()).map(|i| (found[i].0, end(i))).collect()
}

/// Plates that hold nothing but stands, by their part.
fn rafts(
    mesh: &Mesh,
    levels: &Levels,
    ground: &Ground,
    (basin, contacts): (&[Basin], &[Contact]),
    column: f64,
    is_stand: &impl Fn(u32) -> bool,
) -> BTreeSet<u32> {
    let is_plate = |n: u32| basin[n as usize] == Basin::Ground && ground.plate[n as usize];
    let mut rafts: BTreeMap<u32, bool> = BTreeMap::new();
    for n in (0..levels.nodes.len() as u32).filter(|n| is_plate(*n)) {
        rafts.entry(ground.part[n as usize]).or_insert(false);
    }
    let mut carries: BTreeSet<u32> = BTreeSet::new();
    for link in &levels.links {
        let [a, b] = [link.below, link.above].map(is_plate);
        if a == b {
            continue;
        }
        let (plate, other) = if a { (link.below, link.above) } else { (link.above, link.below) };
        let (plate, other) = (ground.part[plate as usize], other as usize);
        if basin[other] == Basin::Ground && is_stand(ground.part[other]) {
            rafts.insert(plate, true);
        }
    }
    // What it holds in other pieces: stands make it a raft, the figure makes it a base.
    let lowest = super::lowest(levels);
    let resting: Vec<usize> = (0..levels.nodes.len())
        .filter(|n| lowest[*n] && !is_plate(*n as u32))
        .filter(|n| basin[*n] != Basin::Ground || is_stand(ground.part[*n]))
        .collect();
    let mut top: BTreeMap<u32, u32> = BTreeMap::new();
    for n in (0..levels.nodes.len()).filter(|n| is_plate(*n as u32)) {
        let top = top.entry(ground.part[n]).or_insert(0);
        *top = levels.nodes[n].slab.max(*top);
    }
    for (plate, holds) in &mut rafts {
        // No higher than the plate: tips of the same piece touch the figure, too.
        let low: Vec<usize> =
            resting.iter().copied().filter(|n| levels.nodes[*n].slab <= top[plate] + 1).collect();
        let points: Vec<_> = low
            .iter()
            .map(|n| (mesh.positions[levels.nodes[*n].lowest as usize].cast(), levels.nodes[*n].piece))
            .collect();
        let own = levels.nodes[*plate as usize].piece;
        let touches = touching(mesh, &points, levels.step, |_, p| p == own, |f| mesh.piece_of_face[f] == own);
        for (n, _) in low.iter().zip(touches).filter(|(_, t)| *t) {
            match basin[*n] {
                Basin::Ground => *holds = true,
                _ => {
                    carries.insert(*plate);
                }
            }
        }
    }
    // What is one with the figure by more than a tip.
    for contact in contacts.iter().filter(|c| c.width > CARRIES * column) {
        carries.insert(ground.part[contact.ground as usize]);
        let stand = ground.part[contact.ground as usize];
        for link in &levels.links {
            let (below, above) = (link.below as usize, link.above as usize);
            if is_plate(link.below) && basin[above] == Basin::Ground && ground.part[above] == stand {
                carries.insert(ground.part[below]);
            }
        }
    }
    rafts
        .into_iter()
        .filter(|(plate, holds)| *holds && !carries.contains(plate))
        .map(|(plate, _)| plate)
        .collect()
}

/// Which share of the columns' sections is as wide as usual, and how many times as high as
/// wide a stand is.
fn shafts(levels: &Levels, holds: &[bool], ground: &Ground, column: f64, stands: u32) -> (f64, f64) {
    let is_shaft = |n: u32| holds[n as usize] && !ground.plate[n as usize];
    let (mut all, mut even) = (0_u32, 0_u32);
    for link in levels.links.iter().filter(|l| is_shaft(l.below) && is_shaft(l.above)) {
        all += 1;
        even += u32::from((link.width() / column - 1.0).abs() < 0.3);
    }
    let share = f64::from(even) / f64::from(all.max(1));
    (share, f64::from(all) * levels.step / column / f64::from(stands.max(1)))
}

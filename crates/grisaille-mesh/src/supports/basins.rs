//! Which parts of a cut mesh hang on to the ground by something wider than what
//! they hang on to the figure by.
//!
//! Sections are taken in order of falling width, as water would part two
//! valleys (the watershed as a forest of greatest spanning trees; Meyer, 1994):
//! what meets by a wider section belongs together. Where ground and figure would
//! meet is a contact: the narrowest neck between them.

use super::levels::Levels;
use crate::sets::find;

/// What a part is taken to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Basin {
    /// Hangs on to the ground.
    Ground,
    /// Too wide, too high up, to be anything that only holds.
    Figure,
    /// Thin and hanging on to nothing yet.
    Loose,
}

/// What ground is.
pub(super) struct Limits {
    /// Sections wider than this are no column's, in mm.
    pub(super) widest: f64,
    /// The slab up to which a plate or a foot may be wider.
    pub(super) plate_slab: u32,
}

/// A neck between ground and figure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Contact {
    /// The nodes on either side.
    pub(super) ground: u32,
    pub(super) figure: u32,
    /// How wide it is in mm.
    pub(super) width: f64,
}

/// A part and its neck: a bulge this many times as wide as the way to it is a part
/// of its own.
const BULGE: f64 = 1.5;

/// Of each node where it belongs, and the necks. `grounded` names the nodes that
/// stand on the ground.
pub(super) fn basins(levels: &Levels, limits: &Limits, grounded: &[bool]) -> (Vec<Basin>, Vec<Contact>) {
    let mut sets = Sets {
        parent: (0..levels.nodes.len() as u32).collect(),
        basin: grounded.iter().map(|g| if *g { Basin::Ground } else { Basin::Loose }).collect(),
        widest: vec![0.0; levels.nodes.len()],
        area: levels.nodes.iter().map(|n| n.area_mm2).collect(),
    };
    let mut order: Vec<(f64, u32)> =
        levels.links.iter().enumerate().map(|(n, l)| (l.width(), n as u32)).collect();
    order.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    let mut contacts = Vec::new();
    for (width, n) in order {
        let link = levels.links[n as usize];
        let [below, above] = [link.below, link.above].map(|n| find(&mut sets.parent, n));
        let high = levels.nodes[link.above as usize].slab > limits.plate_slab;
        if width > limits.widest && high {
            // Whatever it stood on belongs to the figure.
            sets.join(below, above, Basin::Figure, width);
            continue;
        }
        if below == above {
            continue;
        }
        let [one, two] = [below, above].map(|s| sets.settle(s, width));
        match (one, two) {
            (Basin::Ground, Basin::Figure) => {
                contacts.push(Contact { ground: link.below, figure: link.above, width });
            }
            (Basin::Figure, Basin::Ground) => {
                contacts.push(Contact { ground: link.above, figure: link.below, width });
            }
            (Basin::Loose, other) | (other, Basin::Loose) => sets.join(below, above, other, width),
            (same, _) => sets.join(below, above, same, width),
        }
    }
    let basin = (0..levels.nodes.len() as u32)
        .map(|n| {
            let root = find(&mut sets.parent, n);
            sets.basin[root as usize]
        })
        .collect();
    (basin, contacts)
}

/// Sets of nodes with what they are.
struct Sets {
    parent: Vec<u32>,
    basin: Vec<Basin>,
    /// The widest section within, and the surface.
    widest: Vec<f64>,
    area: Vec<f64>,
}

impl Sets {
    /// What a set is where it meets another by a section of this width.
    fn settle(&mut self, set: u32, width: f64) -> Basin {
        let s = set as usize;
        // A crumb on a tip is no figure.
        let bulges = self.widest[s] > BULGE * width && self.area[s] > 4.0 * self.widest[s] * self.widest[s];
        if self.basin[s] == Basin::Loose && bulges {
            self.basin[s] = Basin::Figure;
        }
        self.basin[s]
    }

    fn join(&mut self, a: u32, b: u32, basin: Basin, width: f64) {
        let (low, high) = (a.min(b) as usize, a.max(b) as usize);
        self.basin[low] = basin;
        if low != high {
            self.parent[high] = low as u32;
            self.widest[low] = self.widest[low].max(self.widest[high]);
            self.area[low] += self.area[high];
        }
        self.widest[low] = self.widest[low].max(width);
    }
}

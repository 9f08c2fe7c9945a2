//! The merge tree: patches grow together, what is parted least first, until
//! one region is left. Any count of regions is a cut through it.
//!
//! After P. F. Felzenszwalb, D. P. Huttenlocher, "Efficient Graph-Based Image
//! Segmentation", IJCV 59(2), 2004, borders are judged beside the size of what
//! they part. How far two regions are parts of their own is their salience as D.
//! D. Hoffman and M. Singh put it ("Salience of visual parts", Cognition 63,
//! 1997): the strength of the border, the size of the smaller one beside the
//! whole, and how far it stands out from its foot.

use grisaille_base::{PieceId, Stop, Watch};
use nalgebra::Vector3;
use std::cmp::Reverse;
use std::collections::{BTreeMap, BinaryHeap};

/// A patch.
#[derive(Clone, Debug, Default)]
pub(crate) struct Node {
    pub(crate) piece: PieceId,
    /// What of it counts, in mm².
    pub(crate) area: f64,
    /// Its middle.
    pub(crate) place: Vector3<f64>,
    /// The unit normal of the whole; zero where it faces nowhere.
    pub(crate) facing: Vector3<f64>,
}

/// Two patches or regions side by side, `a` less than `b`.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Link {
    pub(crate) a: u32,
    pub(crate) b: u32,
    /// The length of the common border that is seen, in mm.
    pub(crate) length: f64,
    /// And of that which is not.
    pub(crate) hidden: f64,
    /// The sum over the border of length times bend, mm · radians.
    pub(crate) bend: f64,
    /// How easily a walker crosses it.
    pub(crate) ease: f64,
}

/// Two regions become one: the root of the second becomes that of the first.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Merge {
    pub(crate) into: u32,
    pub(crate) from: u32,
    /// How far they were parts of their own, radians beside size and shape;
    /// infinite between pieces.
    pub(crate) weight: f64,
}

#[derive(Clone, Copy, Debug, Default)]
struct Border {
    length: f64,
    hidden: f64,
    bend: f64,
}

/// All merges, in their order: one less than there are parts that hang
/// together by links, for each.
pub(crate) fn merge(nodes: &[Node], links: &[Link], watch: &Watch) -> Result<Vec<Merge>, Stop> {
    let whole: f64 = nodes.iter().map(|n| n.area).sum::<f64>().max(f64::MIN_POSITIVE);
    let mut area: Vec<f64> = nodes.iter().map(|n| n.area).collect();
    let mut beside: Vec<BTreeMap<u32, Border>> = vec![BTreeMap::new(); nodes.len()];
    for l in links {
        let border = Border { length: l.length, hidden: l.hidden, bend: l.bend };
        beside[l.a as usize].insert(l.b, border);
        beside[l.b as usize].insert(l.a, border);
    }
    let weigh = |area: &[f64], a: u32, b: u32, border: &Border| {
        Rank(weight(area[a as usize].min(area[b as usize]), whole, border))
    };
    let mut gone = vec![false; nodes.len()];
    let mut queue: BinaryHeap<Reverse<(Rank, u32, u32)>> = links
        .iter()
        .map(|l| Reverse((weigh(&area, l.a, l.b, &beside[l.a as usize][&l.b]), l.a, l.b)))
        .collect();
    let mut merges = Vec::with_capacity(nodes.len());
    let mut asked = 0_usize;
    while let Some(Reverse((rank, a, b))) = queue.pop() {
        asked += 1;
        if asked.is_multiple_of(4096) {
            watch.check()?;
        }
        if gone[a as usize] || gone[b as usize] {
            continue;
        }
        let Some(border) = beside[a as usize].get(&b) else { continue };
        // Regions have grown since: their turn comes later. Where the border has
        // become weaker, a newer entry has been met already or comes yet.
        let now = weigh(&area, a, b, border);
        if now > rank {
            queue.push(Reverse((now, a, b)));
        }
        if now != rank {
            continue;
        }
        // The one with more neighbours takes in the other.
        let more = beside[a as usize].len() >= beside[b as usize].len();
        let (into, from) = if more { (a, b) } else { (b, a) };
        merges.push(Merge { into, from, weight: rank.0 });
        gone[from as usize] = true;
        area[into as usize] += area[from as usize];
        for (other, border) in std::mem::take(&mut beside[from as usize]) {
            beside[other as usize].remove(&from);
            if other == into {
                continue;
            }
            let sum = beside[into as usize].entry(other).or_default();
            sum.length += border.length;
            sum.hidden += border.hidden;
            sum.bend += border.bend;
            let sum = *sum;
            beside[other as usize].insert(into, sum);
            queue.push(Reverse((weigh(&area, into, other, &sum), into.min(other), into.max(other))));
        }
    }
    Ok(merges)
}

/// How far two regions are parts of their own, by what they share.
fn weight(smaller: f64, whole: f64, border: &Border) -> f64 {
    if border.length <= 0.0 {
        // Parted by nothing that is seen.
        return 0.0;
    }
    let bend = border.bend / border.length + 0.01;
    let size = (smaller / whole).max(0.0).powf(SIZE);
    let stands_out = (smaller.max(0.0).sqrt() / border.length).min(4.0).powf(STANDS_OUT);
    bend * size * stands_out
}

/// How much size counts.
const SIZE: f64 = 0.4;
/// How much standing out counts.
const STANDS_OUT: f64 = 0.4;

/// A weight that can be ordered.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Rank(f64);

impl Eq for Rank {}

impl PartialOrd for Rank {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Rank {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.0.total_cmp(&other.0)
    }
}

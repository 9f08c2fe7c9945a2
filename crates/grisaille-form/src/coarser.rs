//! Ever coarser nets for a step of heat, so that it spreads in few rounds however
//! fine a net is and however thin its triangles.
//!
//! Vertices between which more flows than they hold are joined, two by two and
//! twice over, the strongest tie first (aggregation by matching: Y. Notay, An
//! aggregation-based algebraic multigrid method, ETNA 37, 2010), so that the short
//! ways across needles go first. A direction is carried from the joined vertex
//! to each that it stands for along the tie that joined them.

use crate::heat::{Fields, Heat, Kind, STRETCH, Tie, each, turned};
use grisaille_base::{Stop, Watch};
use rayon::prelude::*;

/// Two are joined if more than this share of what one of them takes flows between them.
const STRONG: f32 = 0.1;
/// Ties that differ by less than this share are as good as each other. On even nets most do, and
/// were the strongest always the best, whole rows would pair one after the other.
const UNEVEN: f32 = 0.25;
/// How often those that are still free look for a partner.
const LOOKS: usize = 4;
/// A net that leaves more than this share of the vertices is not worth having.
const WORTH: f64 = 0.8;
/// The most nets below each other.
const DEEP: usize = 12;
/// Smoothing goes this share of the way; the bound of what it overshoots is twice that.
const WAY: f32 = 0.7;
/// Rounds of smoothing on the coarsest net, whose vertices hold more than flows.
const LAST: usize = 3;
/// No vertex.
const NONE: u32 = u32::MAX;

/// A coarser net and how it lies over the finer.
#[derive(Clone, Debug)]
pub(crate) struct Coarser {
    heat: Heat,
    /// Which vertex stands for each of the finer net, and how a direction turns on
    /// its way from it.
    over: Vec<(u32, [f32; 2])>,
    /// The up to four that each stands for.
    under: Vec<[u32; 4]>,
    /// How far smoothing goes for each unit that is left, for numbers and for directions.
    smooth: Vec<[f32; 2]>,
    rest: Vec<Fields>,
    x: Vec<Fields>,
    next: Vec<Fields>,
}

/// The nets under a net, each coarser than the one before.
pub(crate) fn coarser(fine: &Heat, watch: &Watch) -> Result<Vec<Coarser>, Stop> {
    let mut nets: Vec<Coarser> = Vec::new();
    while nets.len() < DEEP {
        let from = nets.last().map_or(fine, |net| &net.heat);
        let Some(net) = Coarser::of(from, watch)? else { break };
        nets.push(net);
    }
    Ok(nets)
}

impl Coarser {
    fn of(fine: &Heat, watch: &Watch) -> Result<Option<Self>, Stop> {
        let first = Pairs::of(fine, watch)?;
        let between = first.heat(fine, watch)?;
        let second = Pairs::of(&between, watch)?;
        if second.pairs.len() as f64 > WORTH * fine.count() as f64 {
            return Ok(None);
        }
        let heat = second.heat(&between, watch)?;
        let over = watch.map(fine.count(), |v| {
            let (half, turn) = first.over[v];
            let (whole, before) = second.over[half as usize];
            (whole, times(turn, before))
        })?;
        let under = second.pairs.iter().map(|pair| {
            let [a, b] = pair.map(|half| first.pairs.get(half as usize).copied().unwrap_or([NONE; 2]));
            [a[0], a[1], b[0], b[1]]
        });
        let smooth = watch.map(heat.count(), |v| {
            // No smoothing may overshoot by more than double (Gershgorin), or the rounds would not meet.
            let lengths = heat.around(v).iter().map(|tie| {
                let [cos, sin] = tie.arrive;
                [tie.weight.abs(), (tie.weight * cos.hypot(sin)).abs()]
            });
            let bound = lengths.fold([0.0; 2], |sum, part| [sum[0] + part[0], sum[1] + part[1]]);
            let own = heat.own(v);
            [0, 1].map(|k| if own[k] > 0.0 { 2.0 * WAY / (own[k] + bound[k].max(own[k])) } else { 0.0 })
        })?;
        let room = vec![[0.0; 4]; heat.count()];
        let under = under.collect();
        Ok(Some(Self { heat, over, under, smooth, rest: room.clone(), x: room.clone(), next: room }))
    }

    /// What the coarse net makes of a vertex of the finer one.
    pub(crate) fn carried(&self, kind: Kind, v: usize) -> Fields {
        let (over, turn) = self.over[v];
        let x = self.x[over as usize];
        match kind {
            Kind::Plain => x,
            Kind::Directed => turned(x, turn),
        }
    }
}

/// Answers what is left, `rest` at a vertex of the finer net, roughly, as far as the coarser nets see it
/// ([`Coarser::carried`]); the first of them `beside` the others, each for itself, which takes
/// no product with its system, and those below it one after the other, there and back. Gives
/// the product of what is left and the answer.
pub(crate) fn answer(
    nets: &mut [Coarser],
    (kind, beside): (Kind, bool),
    rest: &(dyn Fn(usize) -> Fields + Sync),
    watch: &Watch,
) -> f64 {
    let Some((net, below)) = nets.split_first_mut() else { return 0.0 };
    let Coarser { heat, over, under, smooth, rest: left, x, next } = net;
    let (heat, over, under, smooth) = (&*heat, &*over, &*under, &*smooth);
    work(left, watch, |v, left| {
        *left = [0.0; 4];
        for &v in under[v].iter().filter(|v| **v != NONE) {
            let [cos, sin] = over[v as usize].1;
            let part = match kind {
                Kind::Plain => rest(v as usize),
                Kind::Directed => turned(rest(v as usize), [cos, -sin]),
            };
            for k in 0..4 {
                left[k] += part[k];
            }
        }
        0.0
    });
    let left = &*left;
    let alone = |v: usize| -> Fields {
        let smooth = each(smooth[v], kind);
        std::array::from_fn(|k| smooth[k] * left[v][k])
    };
    let dot = |v: usize, x: &Fields| (0..4).map(|k| f64::from(x[k]) * f64::from(left[v][k])).sum();
    if beside && !below.is_empty() {
        answer(below, (kind, false), &|v| left[v], watch);
        return work(x, watch, |v, x| {
            let (alone, more) = (alone(v), below[0].carried(kind, v));
            *x = std::array::from_fn(|k| alone[k] + more[k]);
            dot(v, x)
        });
    }
    work(x, watch, |v, x| {
        *x = alone(v);
        0.0
    });
    let unanswered = |v: usize, x: &[Fields]| -> Fields {
        let have = heat.apply(kind, v, x);
        std::array::from_fn(|k| left[v][k] - have[k])
    };
    if !below.is_empty() {
        answer(below, (kind, false), &|v| unanswered(v, x), watch);
        work(x, watch, |v, x| {
            let more = below[0].carried(kind, v);
            for k in 0..4 {
                x[k] += more[k];
            }
            0.0
        });
    }
    for _ in 0..if below.is_empty() { LAST } else { 1 } {
        work(next, watch, |v, next| {
            let (smooth, more) = (each(smooth[v], kind), unanswered(v, x));
            *next = std::array::from_fn(|k| x[v][k] + smooth[k] * more[k]);
            0.0
        });
        std::mem::swap(x, next);
    }
    work(x, watch, |v, x| dot(v, x))
}

/// Works on every vertex and adds up what each gives.
pub(crate) fn work(
    fields: &mut [Fields],
    watch: &Watch,
    of: impl Fn(usize, &mut Fields) -> f64 + Sync + Send,
) -> f64 {
    let part = |(c, part): (usize, &mut [Fields])| {
        if watch.stopped() {
            return 0.0;
        }
        part.iter_mut().enumerate().map(|(i, field)| of(c * STRETCH + i, field)).sum::<f64>()
    };
    let parts: Vec<f64> = watch.run(|| fields.par_chunks_mut(STRETCH).enumerate().map(part).collect());
    parts.iter().sum()
}

/// Vertices joined two by two.
struct Pairs {
    /// Which pair each vertex belongs to, and how a direction turns on its way from it.
    over: Vec<(u32, [f32; 2])>,
    /// The two of each pair; the second is [`NONE`] for one that is alone.
    pairs: Vec<[u32; 2]>,
}

impl Pairs {
    fn of(fine: &Heat, watch: &Watch) -> Result<Self, Stop> {
        let count = fine.count();
        let mut partner = vec![NONE; count];
        for _ in 0..LOOKS {
            let best =
                watch.map(count, |v| if partner[v] == NONE { best(fine, &partner, v) } else { NONE })?;
            watch.run(|| {
                partner.par_iter_mut().enumerate().for_each(|(v, partner)| {
                    let to = best[v];
                    if to != NONE && best[to as usize] as usize == v {
                        *partner = to;
                    }
                });
            });
            watch.check()?;
        }
        let mut pairs = Vec::with_capacity(count);
        let mut over = vec![(0, [1.0, 0.0]); count];
        for v in 0..count {
            // A pair is met first, and numbered, at its first vertex.
            if partner[v] as usize >= v {
                over[v].0 = pairs.len() as u32;
                pairs.push([v as u32, partner[v]]);
            } else {
                let first = partner[v] as usize;
                let tie = fine.around(v).iter().find(|tie| tie.to as usize == first);
                let [cos, sin] = tie.map_or([0.0; 2], |tie| tie.arrive);
                let length = cos.hypot(sin);
                let turn = if length > 0.0 { [cos / length, sin / length] } else { [1.0, 0.0] };
                over[v] = (over[first].0, turn);
            }
        }
        watch.check()?;
        Ok(Self { over, pairs })
    }

    /// The net of the pairs: what each pair holds and what flows between pairs.
    fn heat(&self, fine: &Heat, watch: &Watch) -> Result<Heat, Stop> {
        Heat::gathered(self.pairs.len(), watch, |pair, ties| {
            let before = ties.len();
            let mut area = [0.0; 2];
            for &v in self.pairs[pair].iter().filter(|v| **v != NONE) {
                let (_, [cos, sin]) = self.over[v as usize];
                for (sum, part) in area.iter_mut().zip(fine.area[v as usize]) {
                    *sum += part;
                }
                for tie in fine.around(v as usize) {
                    let (to, there) = self.over[tie.to as usize];
                    // From the other pair to its vertex, over the tie, and on to this pair.
                    let arrive = times(times([cos, -sin], tie.arrive), there);
                    if to as usize == pair {
                        area[1] += tie.weight * (1.0 - arrive[0]);
                        continue;
                    }
                    let at = (before..ties.len()).find(|at| ties[*at].to == to).unwrap_or_else(|| {
                        ties.push(Tie { to, ..Tie::default() });
                        ties.len() - 1
                    });
                    // Weighed sums, to be divided below.
                    ties[at].weight += tie.weight;
                    for (sum, part) in ties[at].arrive.iter_mut().zip(arrive) {
                        *sum += tie.weight * part;
                    }
                }
            }
            for tie in &mut ties[before..] {
                // Where flow and counterflow cancel, no mean is left.
                let sure = tie.weight.abs() > 1e-3 * tie.arrive[0].hypot(tie.arrive[1]);
                tie.arrive = if sure { tie.arrive.map(|x| x / tie.weight) } else { [0.0; 2] };
            }
            area
        })
    }
}

/// The free neighbour to which most flows, if that is much for one of both.
fn best(fine: &Heat, partner: &[u32], v: usize) -> u32 {
    let own = fine.own(v)[0];
    let mut found = (0.0, NONE);
    for tie in fine.around(v) {
        let to = tie.to as usize;
        if to == v || partner[to] != NONE || tie.weight <= STRONG * own.min(fine.own(to)[0]) {
            continue;
        }
        let (low, high) = (v.min(to) as u32, v.max(to) as u32);
        // Only multiplied, neighbours in a row would be mixed to numbers in a row, and pair one after the other.
        let mut mixed = low.wrapping_mul(2_654_435_761) ^ high;
        for _ in 0..2 {
            mixed = (mixed ^ (mixed >> 15)).wrapping_mul(2_654_435_761);
        }
        let key = tie.weight * (1.0 + UNEVEN * (mixed >> 8) as f32 / 16_777_216.0);
        if key > found.0 {
            found = (key, tie.to);
        }
    }
    found.1
}

/// One turn after the other.
fn times([a, b]: [f32; 2], [c, d]: [f32; 2]) -> [f32; 2] {
    [a * c - b * d, a * d + b * c]
}

//! Mixes along a ramp that share paints, so that few pots stand open; and a ramp
//! picked from single paints.

use crate::mix::{Mix, Part};
use crate::mix_search::Mixes;
use crate::{Finish, Lab, Paint, difference};
use grisaille_base::{Stop, Watch};
use std::collections::BTreeMap;

/// Paints that share a ramp, sorted; and a mix for each of its steps.
#[derive(Clone, Debug, PartialEq)]
pub struct SharedMixes {
    /// The paints, by their place in the list.
    pub paints: Vec<usize>,
    /// A mix of some of them for each step, in order.
    pub steps: Vec<Mix>,
}

/// A mix for a step.
#[derive(Clone, Debug)]
struct Step {
    /// ΔE00 to what was wanted, with what measuring by eye adds: as lengths at right angles.
    off: f64,
    /// ΔE00 to what was wanted.
    apart: f64,
    parts: Vec<Part>,
    colour: Lab,
}

/// For each set of paints the best of its mixes (that use all of them) for each step, best first.
type Candidates = BTreeMap<Vec<u16>, Vec<Vec<Step>>>;

/// So many mixes of one set are kept for a step: in up to four parts they are all there are.
const KEPT: usize = 5;

/// How much nearer a further paint must bring the steps, root of the mean square.
const MEAN_NEARER: f64 = 0.5;

/// Mixes for a whole ramp, and what they are off by.
#[derive(Clone, Debug)]
struct Chosen {
    steps: Vec<Step>,
    /// The sum of squares.
    sum: f64,
    worst: f64,
}

/// Mixes for the steps of a ramp, darkest first, from as few paints as serve: the three
/// (or fewer, as the mixes were made) with the least sum of squares, and
/// further ones, up to `most` in all, as long as each brings the worst step nearer by 1, or all
/// of them by half that in the root of the mean square. What is squared is the difference to what was wanted and how
/// far the mix moves when it is measured by eye ([`crate::sway`]): of two mixes that come as near, the one whose paints
/// lie closer to it is surer, and easier to meet again. A step that rises in L* by less than half of what was wanted is
/// off by what lies between the two that were wanted, if that is more: a ramp is no ramp with one tone twice. Of equal
/// sets the first by the order of the list. `None` without steps or mixes.
///
/// # Errors
/// [`Stop`] on request.
pub fn share_paints(
    mixes: &Mixes,
    wanted: &[Lab],
    most: usize,
    watch: &Watch,
) -> Result<Option<SharedMixes>, Stop> {
    if wanted.is_empty() {
        return Ok(None);
    }
    let candidates = candidates(mixes, wanted, watch)?;
    let between = Between::steps(wanted);
    let mut best: Option<(Vec<u16>, Chosen)> = None;
    for set in candidates.keys() {
        watch.check()?;
        let upto = best.as_ref().map_or(f64::INFINITY, |(_, b)| b.sum);
        if let Some(chosen) = best_within(&candidates, set, &between, upto) {
            best = Some((set.clone(), chosen));
        }
    }
    let Some((mut set, mut chosen)) = best else { return Ok(None) };
    let mean = |c: &Chosen| (c.sum / wanted.len() as f64).sqrt();
    while set.len() < most {
        watch.check()?;
        let wider = (0..=u16::MAX).take(mixes.listed()).filter(|p| !set.contains(p)).filter_map(|p| {
            let mut wider = set.clone();
            wider.push(p);
            wider.sort_unstable();
            Some((best_within(&candidates, &wider, &between, f64::INFINITY)?, wider))
        });
        let found = wider.min_by(|a, b| a.0.sum.total_cmp(&b.0.sum).then(a.0.worst.total_cmp(&b.0.worst)));
        match found {
            Some((nearer, wider))
                if nearer.worst <= chosen.worst - 1.0 || mean(&nearer) <= mean(&chosen) - MEAN_NEARER =>
            {
                (set, chosen) = (wider, nearer);
            }
            _ => break,
        }
    }
    // A paint that no step uses need not stand open.
    let used =
        |p: &u16| chosen.steps.iter().any(|s| s.parts.iter().any(|part| part.paint == usize::from(*p)));
    let steps = chosen.steps.iter();
    Ok(Some(SharedMixes {
        paints: set.iter().filter(|p| used(p)).map(|p| usize::from(*p)).collect(),
        steps: steps.map(|s| Mix { parts: s.parts.clone(), colour: s.colour, apart: s.apart }).collect(),
    }))
}

/// The best mixes of each set of paints for each step.
fn candidates(mixes: &Mixes, wanted: &[Lab], watch: &Watch) -> Result<Candidates, Stop> {
    let mut all = Candidates::new();
    for (n, (parts, colour, sway)) in mixes.each().enumerate() {
        if n % 4096 == 0 {
            watch.check()?;
        }
        let mut set: Vec<u16> = parts.iter().map(|p| p.paint as u16).collect();
        set.sort_unstable();
        let steps = all.entry(set).or_insert_with(|| vec![Vec::new(); wanted.len()]);
        for (kept, wanted) in steps.iter_mut().zip(wanted) {
            let full = kept.len() == KEPT;
            if full && kept.last().is_some_and(|k| sway >= k.off) {
                continue;
            }
            let apart = difference(*wanted, colour);
            let off = apart.hypot(sway);
            let place = kept.partition_point(|k| k.off <= off);
            if place < KEPT {
                kept.truncate(KEPT - 1);
                kept.insert(place, Step { off, apart, parts: parts.clone(), colour });
            }
        }
    }
    Ok(all)
}

/// The ramp with the least sum of squares that uses none but these paints, if it is less than `upto`: step after
/// step, each mix after the best that can stand before it. Of equally good mixes that of the fewest paints.
fn best_within(all: &Candidates, set: &[u16], between: &[Between], upto: f64) -> Option<Chosen> {
    let subsets = subsets(set);
    let of_step = |i: usize| -> Vec<&Step> {
        subsets.iter().filter_map(|s| all.get(s)).flat_map(|steps| &steps[i]).collect()
    };
    let each: Vec<Vec<&Step>> = (0..=between.len()).map(of_step).collect();
    let least = each.iter().map(|c| c.iter().map(|s| s.off).fold(f64::INFINITY, f64::min).powi(2));
    if least.sum::<f64>() >= upto {
        return None;
    }
    // For each candidate the least sum that ends in it, and which candidate stands before it.
    let mut table: Vec<Vec<(f64, usize)>> = vec![each[0].iter().map(|s| (s.off.powi(2), 0)).collect()];
    for i in 1..each.len() {
        let ways = |here: &Step| {
            let before = table[i - 1].iter().zip(&each[i - 1]).enumerate();
            let sums =
                before.map(|(k, ((sum, _), prior))| (sum + between[i - 1].off(here, prior).powi(2), k));
            sums.min_by(|a, b| a.0.total_cmp(&b.0))
        };
        let row = each[i].iter().map(|here| ways(here)).collect::<Option<Vec<_>>>()?;
        table.push(row);
    }
    let last = table.last()?.iter().enumerate().min_by(|a, b| a.1.0.total_cmp(&b.1.0))?;
    let (mut at, sum) = (last.0, last.1.0);
    if sum >= upto {
        return None;
    }
    let mut steps = Vec::new();
    for i in (0..each.len()).rev() {
        steps.push(each[i][at].clone());
        at = table[i][at].1;
    }
    steps.reverse();
    let later = between.iter().zip(steps.windows(2)).map(|(b, w)| b.off(&w[1], &w[0]));
    let worst = later.fold(steps[0].off, f64::max);
    Some(Chosen { steps, sum, worst })
}

/// What lies between two neighbouring steps that are wanted: the rise in L*, and ΔE00.
#[derive(Clone, Copy)]
struct Between {
    rise: f64,
    apart: f64,
}

impl Between {
    fn steps(wanted: &[Lab]) -> Vec<Self> {
        let pair = |w: &[Lab]| Self { rise: w[1].l - w[0].l, apart: difference(w[1], w[0]) };
        wanted.windows(2).map(pair).collect()
    }

    /// What a step is off by after another.
    fn off(self, here: &Step, before: &Step) -> f64 {
        let stays = here.colour.l - before.colour.l < 0.5 * self.rise;
        if stays { here.off.max(self.apart) } else { here.off }
    }
}

/// The sets of one to three of these paints, the smallest first.
fn subsets(set: &[u16]) -> Vec<Vec<u16>> {
    let mut subsets: Vec<Vec<u16>> = Vec::new();
    for (i, a) in set.iter().enumerate() {
        subsets.push(vec![*a]);
        for (j, b) in set.iter().enumerate().skip(i + 1) {
            subsets.push(vec![*a, *b]);
            subsets.extend(set.iter().skip(j + 1).map(|c| vec![*a, *b, *c]));
        }
    }
    subsets.sort_by_key(Vec::len);
    subsets
}

/// A ramp from single paints at hand, without mixing: for each step, darkest first, a
/// paint lighter than that of the step before, with the least sum of squared
/// differences; metallic and transparent paints are left out. `None` without steps or
/// with fewer paints than steps.
#[must_use]
pub fn pick_paints(paints: &[Paint], wanted: &[Lab]) -> Option<Vec<Mix>> {
    let mut usable: Vec<usize> =
        (0..paints.len()).filter(|i| paints[*i].finish == Finish::Opaque && paints[*i].at_hand()).collect();
    usable.sort_by(|a, b| paints[*a].colour.l.total_cmp(&paints[*b].colour.l));
    if wanted.is_empty() || usable.len() < wanted.len() {
        return None;
    }
    // The least sum up to each step with the last paint among the first so many, and
    // that paint.
    let mut rows: Vec<Vec<(f64, usize)>> = Vec::new();
    for (step, want) in wanted.iter().enumerate() {
        let mut row = vec![(f64::INFINITY, 0); usable.len() + 1];
        for (k, paint) in usable.iter().enumerate() {
            let before = if step == 0 { 0.0 } else { rows[step - 1][k].0 };
            let here = before + difference(*want, paints[*paint].colour).powi(2);
            row[k + 1] = if here < row[k].0 { (here, k) } else { row[k] };
        }
        rows.push(row);
    }
    let mut upto = usable.len();
    let mut picked = Vec::new();
    for (row, want) in rows.iter().zip(wanted).rev() {
        let (sum, k) = row[upto];
        if !sum.is_finite() {
            return None;
        }
        let colour = paints[usable[k]].colour;
        let parts = vec![Part { paint: usable[k], parts: 1 }];
        picked.push(Mix { parts, colour, apart: difference(*want, colour) });
        upto = k;
    }
    picked.reverse();
    Some(picked)
}

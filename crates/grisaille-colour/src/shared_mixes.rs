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

/// A mix for a step: ΔE00 to what was wanted, its parts, its colour.
type Step = (f64, Vec<Part>, Lab);
/// The nearest mix of each set of paints to each step.
type Nearest = BTreeMap<Vec<u16>, Vec<Step>>;

/// How much nearer a further paint must bring the steps, root of the mean square.
const MEAN_NEARER: f64 = 0.5;

/// Mixes for the steps of a ramp, darkest first, from as few paints as serve: the three
/// (or fewer, as the mixes were made) with the least sum of squared differences, and
/// further ones, up to `most` in all, as long as each brings the worst step nearer by 1, or all
/// of them by half that in the root of the mean square. A step that rises in L* by less than half of what was wanted is off by what
/// lies between the two that were wanted, if that is more: a ramp is no ramp with one
/// tone twice. Of equal sets the first by the order of the list. `None` without steps or mixes.
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
    let nearest = nearest_of_sets(mixes, wanted, watch)?;
    let off = |steps: &[Step], i: usize| {
        let stays = i > 0 && steps[i].2.l - steps[i - 1].2.l < 0.5 * (wanted[i].l - wanted[i - 1].l);
        if stays { steps[i].0.max(difference(wanted[i], wanted[i - 1])) } else { steps[i].0 }
    };
    let sum = |steps: &[Step]| (0..steps.len()).map(|i| off(steps, i).powi(2)).sum::<f64>();
    let mean = |steps: &[Step]| (sum(steps) / steps.len() as f64).sqrt();
    let worst = |steps: &[Step]| (0..steps.len()).map(|i| off(steps, i)).fold(0.0, f64::max);
    let mut best: Option<(Vec<u16>, Vec<Step>)> = None;
    for set in nearest.keys() {
        watch.check()?;
        let steps = best_within(&nearest, set);
        if best.as_ref().is_none_or(|(_, b)| sum(&steps) < sum(b)) {
            best = Some((set.clone(), steps));
        }
    }
    let Some((mut set, mut steps)) = best else { return Ok(None) };
    while set.len() < most {
        watch.check()?;
        let wider = (0..=u16::MAX).take(mixes.listed()).filter(|p| !set.contains(p)).map(|p| {
            let mut wider = set.clone();
            wider.push(p);
            wider.sort_unstable();
            let steps = best_within(&nearest, &wider);
            (wider, steps)
        });
        let found =
            wider.min_by(|a, b| sum(&a.1).total_cmp(&sum(&b.1)).then(worst(&a.1).total_cmp(&worst(&b.1))));
        match found {
            Some((wider, nearer))
                if worst(&nearer) <= worst(&steps) - 1.0 || mean(&nearer) <= mean(&steps) - MEAN_NEARER =>
            {
                (set, steps) = (wider, nearer);
            }
            _ => break,
        }
    }
    // A paint that no step uses need not stand open.
    let used =
        |p: &u16| steps.iter().any(|(_, parts, _)| parts.iter().any(|part| part.paint == usize::from(*p)));
    Ok(Some(SharedMixes {
        paints: set.iter().filter(|p| used(p)).map(|p| usize::from(*p)).collect(),
        steps: steps.into_iter().map(|(apart, parts, colour)| Mix { parts, colour, apart }).collect(),
    }))
}

/// For each set of paints that mixes are made of, the nearest of its mixes (that use
/// all of them) to each step.
fn nearest_of_sets(mixes: &Mixes, wanted: &[Lab], watch: &Watch) -> Result<Nearest, Stop> {
    let mut nearest = Nearest::new();
    for (n, (parts, colour)) in mixes.each().enumerate() {
        if n % 4096 == 0 {
            watch.check()?;
        }
        let mut set: Vec<u16> = parts.iter().map(|p| p.paint as u16).collect();
        set.sort_unstable();
        let far = || (f64::INFINITY, Vec::new(), colour);
        let steps = nearest.entry(set).or_insert_with(|| wanted.iter().map(|_| far()).collect());
        for (step, wanted) in steps.iter_mut().zip(wanted) {
            let apart = difference(*wanted, colour);
            if apart < step.0 {
                *step = (apart, parts.clone(), colour);
            }
        }
    }
    Ok(nearest)
}

/// The nearest mix to each step that uses none but these paints; of equally near
/// ones that of the fewest paints.
fn best_within(nearest: &Nearest, set: &[u16]) -> Vec<Step> {
    let mut subsets: Vec<Vec<u16>> = Vec::new();
    for (i, a) in set.iter().enumerate() {
        subsets.push(vec![*a]);
        for (j, b) in set.iter().enumerate().skip(i + 1) {
            subsets.push(vec![*a, *b]);
            subsets.extend(set.iter().skip(j + 1).map(|c| vec![*a, *b, *c]));
        }
    }
    subsets.sort_by_key(Vec::len);
    let mut best: Vec<Step> = Vec::new();
    for steps in subsets.iter().filter_map(|s| nearest.get(s)) {
        if best.is_empty() {
            best.clone_from(steps);
            continue;
        }
        for (best, step) in best.iter_mut().zip(steps) {
            if step.0 < best.0 {
                best.clone_from(step);
            }
        }
    }
    best
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

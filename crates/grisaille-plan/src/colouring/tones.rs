//! Few tones for what a lamp lights.

use grisaille_colour::Lab;
use std::ops::Range;

/// So many tones at most does a lamp's light have on a row: its rim, its body and its core. What a lamp lights is
/// often a few millimetres wide, where no brush lays six (common practice; the number is ours).
pub(super) const LIT_TONES: usize = 3;

/// Parts steps, each a colour with the area that it covers, darkest first, into at most so many tones: the parting
/// that leaves the least sum of area times squared distance from the mean colours of the tones. Every tone covers
/// something if anything does. Gives the steps of each tone and its colour.
pub(super) fn few_tones(steps: &[(Lab, f64)], most: usize) -> Vec<(Range<usize>, Lab)> {
    let covering: Vec<usize> = (0..steps.len()).filter(|i| steps[*i].1 > 0.0).collect();
    let count = covering.len().min(most).max(1);
    let mut cuts: Vec<usize> = (1..count).collect();
    let mut best: Option<(f64, Vec<Range<usize>>)> = None;
    // A ramp has at most 6 steps: all ways to cut them are few.
    loop {
        let ranges = ranges_between(&cuts, &covering, steps.len());
        let off: f64 = ranges.iter().map(|tone| spread(&steps[tone.clone()])).sum();
        if best.as_ref().is_none_or(|(least, _)| off < *least) {
            best = Some((off, ranges));
        }
        if !next_cuts(&mut cuts, covering.len()) {
            break;
        }
    }
    let ranges = best.map(|(_, ranges)| ranges).unwrap_or_default();
    ranges.into_iter().map(|tone| (tone.clone(), mean(&steps[tone]))).collect()
}

/// Ranges of all steps that begin at the first and at those covering steps that are cut before.
fn ranges_between(cuts: &[usize], covering: &[usize], all: usize) -> Vec<Range<usize>> {
    let starts = std::iter::once(0).chain(cuts.iter().map(|cut| covering[*cut]));
    let ends = cuts.iter().map(|cut| covering[*cut]).chain([all]);
    starts.zip(ends).map(|(from, to)| from..to).collect()
}

/// The next way to cut so many in order, each cut before one of 1 .. `count`; `false` after the last.
fn next_cuts(cuts: &mut [usize], count: usize) -> bool {
    for i in (0..cuts.len()).rev() {
        if cuts[i] + (cuts.len() - i) < count {
            cuts[i] += 1;
            for j in i + 1..cuts.len() {
                cuts[j] = cuts[j - 1] + 1;
            }
            return true;
        }
    }
    false
}

/// The mean colour by area; where nothing is covered, of all alike.
fn mean(steps: &[(Lab, f64)]) -> Lab {
    let all: f64 = steps.iter().map(|(_, area)| area).sum();
    let weight = |area: f64| if all > 0.0 { area / all } else { 1.0 / steps.len().max(1) as f64 };
    steps.iter().fold(Lab::new(0.0, 0.0, 0.0), |sum, (colour, area)| {
        let w = weight(*area);
        Lab { l: sum.l + w * colour.l, a: sum.a + w * colour.a, b: sum.b + w * colour.b }
    })
}

fn spread(steps: &[(Lab, f64)]) -> f64 {
    let middle = mean(steps);
    let off = |c: &Lab| (c.l - middle.l).powi(2) + (c.a - middle.a).powi(2) + (c.b - middle.b).powi(2);
    steps.iter().map(|(colour, area)| area * off(colour)).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn greys(list: &[(f64, f64)]) -> Vec<(Lab, f64)> {
        list.iter().map(|(l, area)| (Lab::new(*l, 0.0, 0.0), *area)).collect()
    }

    #[test]
    fn steps_that_lie_near_are_one_tone() {
        let steps = greys(&[(20.0, 5.0), (24.0, 5.0), (50.0, 1.0), (52.0, 3.0), (80.0, 1.0), (90.0, 0.0)]);
        let tones = few_tones(&steps, 3);
        assert_eq!(tones.iter().map(|t| t.0.clone()).collect::<Vec<_>>(), [0..2, 2..4, 4..6]);
        for ((_, colour), l) in tones.iter().zip([22.0, 51.5, 80.0]) {
            assert!((colour.l - l).abs() < 1e-9, "{colour:?}");
        }
    }

    #[test]
    fn what_covers_nothing_is_no_tone_of_its_own() {
        let steps = greys(&[(20.0, 0.0), (30.0, 2.0), (40.0, 0.0), (50.0, 0.0)]);
        let tones = few_tones(&steps, 3);
        assert_eq!(tones, [(0..4, Lab::new(30.0, 0.0, 0.0))]);
        assert_eq!(few_tones(&greys(&[(20.0, 0.0), (40.0, 0.0)]), 3), [(0..2, Lab::new(30.0, 0.0, 0.0))]);
    }

    proptest! {
        /// Tones follow on each other, cover all steps, rise in lightness and each covers something.
        #[test]
        fn tones_part_the_steps(list in prop::collection::vec((0.0..100.0_f64, 0_u8..4), 3..7), most in 1_usize..5) {
            let mut list: Vec<(f64, f64)> = list.into_iter().map(|(l, area)| (l, f64::from(area))).collect();
            list.sort_by(|a, b| a.0.total_cmp(&b.0));
            let steps = greys(&list);
            let tones = few_tones(&steps, most);
            prop_assert!(tones.len() <= most && tones[0].0.start == 0 && tones.last().unwrap().0.end == steps.len());
            prop_assert!(tones.windows(2).all(|t| t[0].0.end == t[1].0.start && t[0].1.l <= t[1].1.l));
            let covered = |tone: &Range<usize>| list[tone.clone()].iter().map(|s| s.1).sum::<f64>();
            let anything = covered(&(0..list.len())) > 0.0;
            prop_assert!(tones.iter().all(|t| covered(&t.0) > 0.0) == anything);
        }
    }
}

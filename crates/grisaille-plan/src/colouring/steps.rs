//! Where the steps of a region's ramp lie on it.

use super::StepColour;
use crate::band::{Bands, Painted};
use crate::cut::cut;
use grisaille_colour::Lab;
use grisaille_scheme::BandChoice;

/// The shares of so many steps, darkest first, that sum to 1: those of the figure's bands
/// spread over more or fewer steps. Of the share s that lies at or above a border,
/// s to the power `narrow` is left to it.
pub(crate) fn step_shares(choice: &BandChoice, bands: &Bands, count: usize, narrow: f64) -> Vec<f64> {
    let shares: Vec<f64> = match choice {
        BandChoice::Shares(shares) => shares.clone(),
        BandChoice::Levels(_) => bands.rows.iter().map(|b| b.share).collect(),
    };
    let all: f64 = shares.iter().sum();
    // Below the place x of the way through the bands lies this share.
    let below = |x: f64| {
        let at = x * shares.len() as f64;
        let whole = (at.floor() as usize).min(shares.len());
        let begun = shares.get(whole).map_or(0.0, |s| s * (at - whole as f64));
        let sum = (shares[..whole].iter().sum::<f64>() + begun) / all;
        1.0 - (1.0 - sum).max(0.0).powf(narrow)
    };
    let at = |i: usize| if i >= count { 1.0 } else { below(i as f64 / count as f64) };
    // A step that levels leave nothing of still has a sliver, as no share may be 0.
    (0..count).map(|i| (at(i + 1) - at(i)).max(1e-6)).collect()
}

/// The step whose lightness is nearest to the base colour's, counted from 0; the first of equals.
pub(super) fn base_step(steps: impl Iterator<Item = Lab>, base: Lab) -> Option<usize> {
    let off = steps.map(|s| (s.l - base.l).abs()).enumerate();
    off.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(i, _)| i)
}

/// The mean of what stands on the figure by area; of what covers nothing, black.
pub(crate) fn mean_by_area<'a>(steps: impl Iterator<Item = &'a StepColour>) -> Lab {
    let mut sum = [0.0; 4];
    for step in steps {
        let c = step.shown();
        for (sum, x) in sum.iter_mut().zip([c.l, c.a, c.b, 1.0]) {
            *sum += x * step.area_mm2;
        }
    }
    let all = sum[3].max(f64::MIN_POSITIVE);
    Lab::new(sum[0] / all, sum[1] / all, sum[2] / all)
}

/// Of an area with less than this share of its region hardly anything is seen (the share is ours).
const HARDLY: f64 = 0.05;

/// The step that a region's base coat has, counted from 0: the one whose lightness is nearest to the base colour's, or
/// where hardly any of that is left to see, the one that covers most.
pub(super) fn base_coat(ramp: &[StepColour], base: Lab) -> usize {
    let nearest = base_step(ramp.iter().map(|s| s.wanted), base).unwrap_or(0);
    let area = |i: usize| ramp.get(i).map_or(0.0, |s| s.area_mm2);
    let all: f64 = ramp.iter().map(|s| s.area_mm2).sum();
    if area(nearest) >= HARDLY * all {
        return nearest;
    }
    // Of equals the darker: lights are laid over it.
    (0..ramp.len()).rev().max_by(|a, b| area(*a).total_cmp(&area(*b))).unwrap_or(nearest)
}

/// No paint is mixed for a few dots: a step that covers no more than `dots` in mm² takes the colour and the mix of the
/// next one toward the base coat that covers more.
pub(super) fn without_dots(ramp: &mut [StepColour], base: Lab, dots: f64) {
    let coat = base_coat(ramp, base);
    let upward: Vec<usize> = (coat + 1..ramp.len()).collect();
    let downward: Vec<usize> = (0..coat).rev().collect();
    for away in [upward, downward] {
        let mut from = coat;
        // Those passed that cover next to nothing.
        let mut passed = Vec::new();
        for to in away {
            passed.push(to);
            match ramp[to].area_mm2 {
                area if area > dots => {
                    from = to;
                    passed.clear();
                }
                area if area > 0.0 => {
                    // What lies between has it too, so that tones never turn back.
                    for i in passed.drain(..) {
                        (ramp[i].wanted, ramp[i].mix) = (ramp[from].wanted, ramp[from].mix.clone());
                    }
                }
                _ => {}
            }
        }
    }
}

/// Steps whose mixes are less than this apart in L* do not read as two.
const LEAST_STEP: f64 = 2.0;

/// Neighbouring steps of two mixes that are as light as each other are one: that which covers less, but never the base
/// coat, takes the colour and the mix of the other.
pub(super) fn without_equals(ramp: &mut [StepColour], base: Lab) {
    let coat = base_coat(ramp, base);
    for i in 1..ramp.len() {
        let (below, own) = (&ramp[i - 1], &ramp[i]);
        let two = below.mix.as_ref().map(|m| &m.parts) != own.mix.as_ref().map(|m| &m.parts);
        if !two || own.shown().l - below.shown().l >= LEAST_STEP {
            continue;
        }
        let keeps_own = i == coat || i - 1 != coat && own.area_mm2 >= below.area_mm2;
        let given = if keeps_own { i } else { i - 1 };
        let (wanted, mix) = (ramp[given].wanted, ramp[given].mix.clone());
        if keeps_own {
            // Those below that are one with it already follow it.
            let old = ramp[i - 1].mix.as_ref().map(|m| m.parts.clone());
            let same = |step: &StepColour| step.mix.as_ref().map(|m| m.parts.clone()) == old;
            let run = (0..i).rev().take_while(|k| same(&ramp[*k]) && *k != coat).count();
            for step in &mut ramp[i - run..i] {
                (step.wanted, step.mix) = (wanted, mix.clone());
            }
        } else {
            (ramp[i].wanted, ramp[i].mix) = (wanted, mix);
        }
    }
}

/// L* at the borders between steps: halfway between where the shares fall on the
/// region's own surface and where they fall on the whole figure. A strap in the shade
/// so keeps a light and a dark side of its own, and yet stays darker than one in the
/// light. `figure` is where the shares fall on the whole figure; it is left out for a region that
/// has light of its own.
pub(crate) fn step_borders(shares: &[f64], own: &[Painted], figure: Option<&[f64]>) -> Vec<f64> {
    let own = cut(shares, own);
    match figure {
        None => own,
        Some(figure) => own.iter().zip(figure).map(|(a, b)| f64::midpoint(*a, *b)).collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use grisaille_colour::{Mix, Part as MixPart};
    use grisaille_mesh::Part;

    fn no_bands() -> Bands {
        Bands { rows: Vec::new(), borders: Vec::new(), lightness: Vec::new() }
    }

    fn ramp(list: &[(f64, f64)]) -> Vec<StepColour> {
        let step = |(l, area): &(f64, f64)| StepColour {
            wanted: Lab::new(*l, 0.0, 0.0),
            mix: None,
            area_mm2: *area,
            value: *l,
        };
        list.iter().map(step).collect()
    }

    #[test]
    fn a_few_dots_take_the_colour_of_their_neighbour_toward_the_base_coat() {
        let mut steps = ramp(&[(10.0, 0.5), (20.0, 4.0), (30.0, 9.0), (40.0, 0.0), (50.0, 0.9), (60.0, 2.0)]);
        without_dots(&mut steps, Lab::new(31.0, 0.0, 0.0), 1.0);
        let shown: Vec<f64> = steps.iter().map(|s| s.wanted.l).collect();
        // What covers nothing gives its colour to none, and has its neighbour's too where it lies between.
        assert_eq!(shown, [20.0, 20.0, 30.0, 30.0, 30.0, 60.0]);
        assert_eq!(steps.iter().map(|s| s.area_mm2).sum::<f64>(), 16.4);
    }

    #[test]
    fn steps_that_are_as_light_as_each_other_are_one() {
        let mixed = |l: f64, a: f64, paint: usize, area_mm2: f64| {
            let colour = Lab::new(l, a, 0.0);
            let mix = Mix { parts: vec![MixPart { paint, parts: 1 }], colour, apart: 0.0 };
            StepColour { wanted: colour, mix: Some(mix), area_mm2, value: l }
        };
        let paints = |steps: &[StepColour]| -> Vec<usize> {
            steps.iter().map(|s| s.mix.as_ref().unwrap().parts[0].paint).collect()
        };
        let base = Lab::new(42.0, 0.0, 0.0);
        // The two darkest differ in hue alone: that which covers more is laid, and so is what was one with the other.
        let mut steps = [
            mixed(31.0, 20.0, 0, 2.0),
            mixed(31.0, 20.0, 0, 3.0),
            mixed(32.0, 9.0, 1, 9.0),
            mixed(42.0, 9.0, 2, 5.0),
            mixed(50.0, 9.0, 3, 5.0),
        ];
        without_equals(&mut steps, base);
        assert_eq!(paints(&steps), [1, 1, 1, 2, 3]);
        // The base coat stays what it is, however little of it is seen.
        let mut steps = [mixed(41.0, 20.0, 0, 9.0), mixed(42.0, 0.0, 1, 1.0), mixed(43.0, 20.0, 2, 9.0)];
        without_equals(&mut steps, base);
        assert_eq!(paints(&steps), [1, 1, 1]);
    }

    #[test]
    fn steps_share_as_the_bands_do() {
        let choice = BandChoice::Shares(vec![20.0, 25.0, 25.0, 20.0, 10.0]);
        let same = step_shares(&choice, &no_bands(), 5, 1.0);
        for (got, want) in same.iter().zip([0.2, 0.25, 0.25, 0.2, 0.1]) {
            assert!((got - want).abs() < 1e-12, "{same:?}");
        }
        for count in 3..=6 {
            let shares = step_shares(&choice, &no_bands(), count, 1.3);
            assert_eq!(shares.len(), count);
            assert!((shares.iter().sum::<f64>() - 1.0).abs() < 1e-9);
            // Narrow lights: less at the top than the plain ones.
            let plain = step_shares(&choice, &no_bands(), count, 1.0);
            assert!(shares[count - 1] < plain[count - 1] && shares[0] > plain[0], "{shares:?} {plain:?}");
        }
    }

    #[test]
    fn a_region_in_the_shade_keeps_light_and_dark_and_stays_darker() {
        let spread = |low: f64, high: f64| -> Vec<Painted> {
            let tone = |i: i32| low + (high - low) * f64::from(i) / 200.0;
            let face =
                |i| Painted { part: Part::Figure, area: 1.0, values: [tone(i), tone(i), tone(i) + 0.01] };
            (0..200).map(face).collect()
        };
        let (figure, dark) = (spread(10.0, 90.0), spread(10.0, 40.0));
        let shares = [0.25, 0.25, 0.25, 0.25];
        let whole = cut(&shares, &figure);
        let borders = step_borders(&shares, &dark, Some(&whole));
        let alone = step_borders(&shares, &dark, None);
        for ((b, a), w) in borders.iter().zip(&alone).zip(&whole) {
            assert!((b - f64::midpoint(*a, *w)).abs() < 1e-9);
        }
        // Its own light side reaches the second step at least, its mean is below the figure's.
        assert!(borders[0] < 40.0 && borders[2] > alone[2]);
    }
}

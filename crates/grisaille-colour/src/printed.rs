//! The ladder of printed greys: one flat grey for each band, far enough apart
//! to be told from each other on paper and to carry a letter.

use crate::{LinearRgb, lightness_from_luminance, luminance_from_lightness, srgb_from_linear};
use grisaille_base::Lightness;

/// L* of the darkest printed grey: any darker and ink fills the paper.
const DARKEST: f64 = 22.0;
/// L* of the lightest printed grey: still seen against white paper.
const LIGHTEST: f64 = 94.0;

/// The lightness that band `step` (0 is the darkest) of `of` bands is printed
/// in: evenly spread from L* 22 to 94, so that six bands stand 14.4 apart.
/// A step past the last is taken as the last; a single band is the middle.
#[must_use]
pub fn printed_lightness(step: usize, of: usize) -> Lightness {
    let last = of.saturating_sub(1);
    if last == 0 {
        return Lightness(0.5 * (DARKEST + LIGHTEST));
    }
    Lightness(DARKEST + (LIGHTEST - DARKEST) * step.min(last) as f64 / last as f64)
}

/// The greys of one ladder stand this far apart in L*, so that neighbours are told apart on paper.
const APART: f64 = 8.0;

/// The grey that stands for a colour where there is no colour: the step of a fixed ladder that is nearest in
/// lightness. Its ten steps, from L* 22 to 94, stand 8 apart.
#[must_use]
pub fn printed_in_grey(colour: LinearRgb) -> LinearRgb {
    rung(rung_of(colour).round().max(0.0) as usize)
}

/// So many greys has the ladder.
const RUNGS: usize = ((LIGHTEST - DARKEST) / APART) as usize + 1;

/// A grey of the ladder; past the lightest that.
fn rung(step: usize) -> LinearRgb {
    LinearRgb::from_srgb8([printed_grey(step, RUNGS); 3])
}

/// Where a colour stands on the ladder, between its greys too: 0 is its darkest.
fn rung_of(colour: LinearRgb) -> f64 {
    let lightness = lightness_from_luminance(colour.luminance()).0;
    (lightness - DARKEST) / (LIGHTEST - DARKEST) * (RUNGS - 1) as f64
}

/// The greys that tones are printed in, darkest first: their own, as far as they lie from L* 22 to 94 and 8 apart, so
/// that what is held beside them can be matched; else as near to that as lets them stand apart (least squares, as in
/// [`printed_apart`]). More tones than that leaves room for share it evenly.
#[must_use]
pub fn printed_tones(tones: &[Lightness]) -> Vec<u8> {
    let last = tones.len().saturating_sub(1);
    let apart = APART.min((LIGHTEST - DARKEST) / last.max(1) as f64);
    let left = not_falling(tones.iter().enumerate().map(|(i, tone)| tone.0 - i as f64 * apart));
    let highest = LIGHTEST - last as f64 * apart;
    let each = left.iter().enumerate().map(|(i, at)| at.clamp(DARKEST, highest) + i as f64 * apart);
    each.map(|l| eight_bit(Lightness(l))).collect()
}

/// The numbers that do not fall and are nearest to these: least squares, by pooling adjacent violators.
fn not_falling(numbers: impl Iterator<Item = f64>) -> Vec<f64> {
    let mut pools: Vec<(f64, usize)> = Vec::new();
    for number in numbers {
        pools.push((number, 1));
        while let [.., (a, of_a), (b, of_b)] = pools[..]
            && a > b
        {
            pools.truncate(pools.len() - 2);
            let of = of_a + of_b;
            pools.push(((a * of_a as f64 + b * of_b as f64) / of as f64, of));
        }
    }
    pools.into_iter().flat_map(|(at, of)| std::iter::repeat_n(at, of)).collect()
}

/// Greys of the ladder that tell colours apart which lie side by side: in their order of lightness, at least two
/// greys apart where they are five at most, one where they are nine, and none of them the lightest, which is
/// nearly that of paper; as near to their own as that allows (least squares, by isotonic regression: Barlow and others, Statistical
/// Inference under Order Restrictions, 1972, pool adjacent violators). One grey for each, in their order; the
/// same for colours that are the same. More than nine keep their own.
#[must_use]
pub fn printed_apart(colours: &[LinearRgb]) -> Vec<LinearRgb> {
    const TOP: usize = RUNGS - 2;
    let lightness = |c: &LinearRgb| c.luminance();
    let mut sorted: Vec<LinearRgb> = colours.to_vec();
    sorted.sort_by(|a, b| lightness(a).total_cmp(&lightness(b)));
    sorted.dedup_by(|a, b| lightness(a) == lightness(b));
    let gaps = sorted.len().saturating_sub(1);
    let apart = TOP.checked_div(gaps).map_or(0, |rungs| rungs.min(2));
    if gaps > 0 && apart == 0 {
        return colours.iter().map(|c| printed_in_grey(*c)).collect();
    }
    // What is left once each has its distance only must not fall.
    let left = not_falling(sorted.iter().enumerate().map(|(i, c)| rung_of(*c) - (i * apart) as f64));
    let highest = (TOP - gaps * apart) as f64;
    let rungs: Vec<usize> =
        left.iter().enumerate().map(|(i, at)| at.round().clamp(0.0, highest) as usize + i * apart).collect();
    let own = |c: &LinearRgb| sorted.iter().position(|s| lightness(s) == lightness(c)).unwrap_or(0);
    colours.iter().map(|c| rung(rungs[own(c)])).collect()
}

/// The 8-bit sRGB grey that band `step` (0 is the darkest) of `of` bands is
/// printed in: [`printed_lightness`] to the nearest of 256 greys.
#[must_use]
pub fn printed_grey(step: usize, of: usize) -> u8 {
    eight_bit(printed_lightness(step, of))
}

fn eight_bit(lightness: Lightness) -> u8 {
    (srgb_from_linear(luminance_from_lightness(lightness)) * 255.0).round() as u8
}

/// The 8-bit grey, 0 (black) or 255 (white), for a letter on a printed grey,
/// with a contrast of at least 4.5.
#[must_use]
pub fn ink_on(grey: u8) -> u8 {
    LinearRgb::from_srgb8([grey; 3]).ink().to_srgb8()[0]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of_grey(grey: u8) -> f64 {
        LinearRgb::from_srgb8([grey; 3]).lightness().0
    }

    #[test]
    fn tones_far_enough_apart_are_printed_as_they_are() {
        let tones = [24.0, 36.5, 52.0, 61.0, 90.0];
        let greys = printed_tones(&tones.map(Lightness));
        for (grey, tone) in greys.iter().zip(tones) {
            assert!((of_grey(*grey) - tone).abs() < 0.3, "{greys:?}");
        }
    }

    #[test]
    fn tones_too_near_or_beyond_print_stand_apart() {
        for tones in [&[0.0, 2.0, 50.0, 51.0, 100.0][..], &[40.0; 6], &[99.0, 99.0, 99.0], &[0.0, 0.0]] {
            let tones: Vec<Lightness> = tones.iter().map(|l| Lightness(*l)).collect();
            let greys = printed_tones(&tones);
            assert_eq!(greys.len(), tones.len());
            assert!(greys.windows(2).all(|w| of_grey(w[1]) - of_grey(w[0]) > 7.5), "{greys:?}");
            assert!(greys.iter().all(|g| (21.5..94.5).contains(&of_grey(*g))), "{greys:?}");
        }
        // 50 and 51 part to both sides of their middle; more than there is room for share it.
        let pair = printed_tones(&[50.0, 51.0].map(Lightness));
        assert!((of_grey(pair[0]) - 46.5).abs() < 0.4 && (of_grey(pair[1]) - 54.5).abs() < 0.4, "{pair:?}");
        let many = printed_tones(&[Lightness(30.0); 13]);
        assert!(many.windows(2).all(|w| of_grey(w[1]) - of_grey(w[0]) > 5.0), "{many:?}");
        assert!(printed_tones(&[]).is_empty());
    }

    #[test]
    fn greys_for_colours_keep_their_order_and_stand_apart() {
        let of = |rgb: [u8; 3]| {
            lightness_from_luminance(printed_in_grey(LinearRgb::from_srgb8(rgb)).luminance()).0
        };
        let mut greys: Vec<f64> = (0..=255_u8).map(|g| of([g; 3])).collect();
        assert!(greys.windows(2).all(|w| w[0] <= w[1]));
        greys.dedup();
        assert_eq!(greys.len(), 10);
        // Rounded to one of 256 greys each.
        assert!(greys.windows(2).all(|w| w[1] - w[0] > APART - 0.5));
        assert!(of([220, 200, 60]) > of([40, 60, 160]));
    }

    fn lightness(c: &LinearRgb) -> f64 {
        lightness_from_luminance(c.luminance()).0
    }

    #[test]
    fn what_lies_side_by_side_stands_apart_and_near_its_own() {
        let grey = |l: f64| LinearRgb::grey(luminance_from_lightness(Lightness(l)));
        // Where they are apart already each has its own grey.
        let own = [grey(30.0), grey(46.0), grey(70.0)];
        assert_eq!(printed_apart(&own), own.map(printed_in_grey));
        // Three of nearly one lightness are spread about it, whatever their order.
        let spread = printed_apart(&[grey(51.0), grey(50.0), grey(49.0)]);
        for (got, want) in spread.iter().map(lightness).zip([62.0, 46.0, 30.0]) {
            assert!((got - want).abs() < 8.5, "{got} for {want}");
        }
        assert_eq!(printed_apart(&[grey(60.0), grey(60.0)]), [grey(60.0); 2].map(printed_in_grey));
        assert_eq!(printed_apart(&[]), []);
    }

    proptest::proptest! {
        #[test]
        fn greys_told_apart_keep_their_order(list in proptest::collection::vec(0_u8..=255, 1..14)) {
            let colours: Vec<LinearRgb> = list.iter().map(|g| LinearRgb::from_srgb8([*g; 3])).collect();
            let shown: Vec<f64> = printed_apart(&colours).iter().map(lightness).collect();
            let distinct = list.iter().collect::<std::collections::BTreeSet<_>>().len();
            let least = match distinct {
                0..=5 => 2.0 * APART - 0.5,
                6..=9 => APART - 0.5,
                _ => 0.0,
            };
            for (a, x) in list.iter().zip(&shown) {
                for (b, y) in list.iter().zip(&shown) {
                    proptest::prop_assert!(if a == b { x == y } else { a > b || y - x >= least }, "{list:?} {shown:?}");
                }
            }
        }
    }
}

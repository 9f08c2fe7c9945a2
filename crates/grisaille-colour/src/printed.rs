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
    let mut pools: Vec<(f64, usize)> = Vec::new();
    for (i, colour) in sorted.iter().enumerate() {
        pools.push((rung_of(*colour) - (i * apart) as f64, 1));
        while let [.., (a, of_a), (b, of_b)] = pools[..]
            && a > b
        {
            pools.truncate(pools.len() - 2);
            let of = of_a + of_b;
            pools.push(((a * of_a as f64 + b * of_b as f64) / of as f64, of));
        }
    }
    let left = pools.iter().flat_map(|(at, of)| std::iter::repeat_n(*at, *of));
    let highest = (TOP - gaps * apart) as f64;
    let rungs: Vec<usize> =
        left.enumerate().map(|(i, at)| at.round().clamp(0.0, highest) as usize + i * apart).collect();
    let own = |c: &LinearRgb| sorted.iter().position(|s| lightness(s) == lightness(c)).unwrap_or(0);
    colours.iter().map(|c| rung(rungs[own(c)])).collect()
}

/// The 8-bit sRGB grey that band `step` (0 is the darkest) of `of` bands is
/// printed in: [`printed_lightness`] to the nearest of 256 greys.
#[must_use]
pub fn printed_grey(step: usize, of: usize) -> u8 {
    let linear = luminance_from_lightness(printed_lightness(step, of));
    (srgb_from_linear(linear) * 255.0).round() as u8
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

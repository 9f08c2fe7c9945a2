//! The search for two or three coats whose layers come closest to the planned
//! values.

use crate::coat::{Tone, Tones};
use grisaille_base::{Stop, Watch};
use grisaille_colour::lightness_from_luminance;
use rayon::prelude::*;

/// What is to be met: planned values at spots, and the tones to meet them with.
pub(crate) struct Aim<'a> {
    /// L* at each spot.
    pub(crate) target: &'a [f32],
    /// The share of the figure for which each spot stands; the sum is 1.
    pub(crate) share: &'a [f32],
    pub(crate) tones: Tones,
}

/// What one coat could cover at each spot, 0 to 1.
pub(crate) type Cover = Vec<f32>;

/// One coat of a choice: a tone, and the place of its cover among the options.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Laid {
    pub(crate) tone: Tone,
    pub(crate) option: usize,
}

/// Coats in the order mid to light, and the mean squared error in L* that is
/// left, over the spots they were sought on.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Choice {
    pub(crate) coats: Vec<Laid>,
    pub(crate) squared: f64,
}

/// Pairs are tried on every so many-th spot first.
const SKIP: usize = 2;
/// As many of the best pairs are then measured on all spots, and tried with
/// each third coat.
const KEPT: usize = 24;
/// Steps in the table of L*; between them the error stays below 0.02 L* for
/// reflectances above 0.9 %, below that it is a straight line anyway.
const STEPS: usize = 4096;

impl Aim<'_> {
    /// The lightness at a spot under coats.
    fn lightness(&self, coats: &[Laid], options: &[Cover], spot: usize) -> f64 {
        lightness_from_luminance(self.reflectance(coats, options, spot)).0
    }

    fn reflectance(&self, coats: &[Laid], options: &[Cover], spot: usize) -> f64 {
        coats.iter().fold(self.tones.reflectance(Tone::Dark), |under, coat| {
            crate::coat::layered(
                under,
                self.tones.reflectance(coat.tone),
                f64::from(options[coat.option][spot]),
            )
        })
    }

    /// The mean squared error in L* of coats, over all spots.
    fn squared(&self, coats: &[Laid], options: &[Cover]) -> f64 {
        let tones = coats.iter().map(|c| self.tones.reflectance(c.tone)).collect::<Vec<f64>>();
        let dark = self.tones.reflectance(Tone::Dark);
        (0..self.target.len())
            .map(|i| {
                let y = coats.iter().zip(&tones).fold(dark, |under, (coat, tone)| {
                    crate::coat::layered(under, *tone, f64::from(options[coat.option][i]))
                });
                let off = lightness_from_luminance(y).0 - f64::from(self.target[i]);
                off * off * f64::from(self.share[i])
            })
            .sum()
    }

    fn measured(&self, coats: Vec<Laid>, options: &[Cover]) -> Choice {
        let squared = self.squared(&coats, options);
        Choice { coats, squared }
    }

    /// All pairs of a mid and a light coat, the best first, of equals the
    /// first; the mid coat is of `mids`, the light one of `lights`.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub(crate) fn pairs(&self, options: &[Cover], watch: &Watch) -> Result<Vec<Choice>, Stop> {
        let some: Vec<usize> = (0..self.target.len()).step_by(SKIP).collect();
        let bare: Vec<Vec<f32>> =
            options.iter().map(|cover| some.iter().map(|i| 1.0 - cover[*i]).collect()).collect();
        let target: Vec<f32> = some.iter().map(|i| self.target[*i]).collect();
        let share: Vec<f32> = some.iter().map(|i| self.share[*i]).collect();
        let tone = |t| self.tones.reflectance(t) as f32;
        let (dark, mid, light) = (tone(Tone::Dark), tone(Tone::Mid), tone(Tone::Light));
        let table = table();
        let rows: Vec<Vec<(f64, usize)>> = bare
            .par_iter()
            .map(|under| {
                watch.check()?;
                // What the light coat finds, less the light tone.
                let under: Vec<f32> = under.iter().map(|u| mid + (dark - mid) * u - light).collect();
                let mut row: Vec<(f64, usize)> = bare
                    .iter()
                    .enumerate()
                    .map(|(option, over)| {
                        let mut sum = 0.0_f32;
                        for (((u, o), t), s) in under.iter().zip(over).zip(&target).zip(&share) {
                            let off = look_up(&table, light + u * o) - t;
                            sum += off * off * s;
                        }
                        (f64::from(sum), option)
                    })
                    .collect();
                row.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
                row.truncate(KEPT);
                Ok(row)
            })
            .collect::<Result<_, Stop>>()?;
        let mut all: Vec<(f64, usize, usize)> =
            rows.iter().enumerate().flat_map(|(m, row)| row.iter().map(move |(e, l)| (*e, m, *l))).collect();
        all.sort_by(|a, b| a.0.total_cmp(&b.0).then((a.1, a.2).cmp(&(b.1, b.2))));
        all.truncate(KEPT);
        let laid = |tone, option| Laid { tone, option };
        let mut best: Vec<Choice> = all
            .par_iter()
            .map(|(_, m, l)| self.measured(vec![laid(Tone::Mid, *m), laid(Tone::Light, *l)], options))
            .collect();
        best.sort_by(|a, b| a.squared.total_cmp(&b.squared));
        Ok(best)
    }

    /// The best of these choices with one more coat, mid or light, and each
    /// coat then exchanged in turn as long as that helps. Never worse than the
    /// best of `from`: where no third coat helps, that is the answer.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub(crate) fn with_one_more(
        &self,
        from: &[Choice],
        options: &[Cover],
        watch: &Watch,
    ) -> Result<Option<Choice>, Stop> {
        let more: Vec<Vec<Laid>> = from
            .iter()
            .flat_map(|choice| {
                (0..options.len()).flat_map(move |option| {
                    [Tone::Mid, Tone::Light].map(|tone| in_order(&choice.coats, Laid { tone, option }))
                })
            })
            .collect();
        let found = self.least(&more, options, watch)?;
        let best = from.iter().chain(&found).min_by(|a, b| a.squared.total_cmp(&b.squared)).cloned();
        match best {
            Some(best) => self.exchanged(best, options, watch).map(Some),
            None => Ok(None),
        }
    }

    /// Each coat exchanged for whichever option helps most, in turn, until
    /// nothing helps.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub(crate) fn exchanged(
        &self,
        mut best: Choice,
        options: &[Cover],
        watch: &Watch,
    ) -> Result<Choice, Stop> {
        // Each round lowers the error or is the last; eight are plenty.
        for _ in 0..8 {
            let before = best.squared;
            for k in 0..best.coats.len() {
                let others = (0..options.len()).map(|option| {
                    let mut coats = best.coats.clone();
                    coats[k].option = option;
                    coats
                });
                if let Some(found) = self.least(&others.collect::<Vec<_>>(), options, watch)?
                    && found.squared < best.squared
                {
                    best = found;
                }
            }
            if best.squared >= before {
                break;
            }
        }
        Ok(best)
    }

    /// The coats that come closest: sought on some of the spots, the best of
    /// those measured on all.
    fn least(&self, tried: &[Vec<Laid>], options: &[Cover], watch: &Watch) -> Result<Option<Choice>, Stop> {
        let some: Vec<usize> = (0..self.target.len()).step_by(SKIP).collect();
        let table = table();
        let tone = |t| self.tones.reflectance(t) as f32;
        let dark = tone(Tone::Dark);
        let mut rough: Vec<(f64, usize)> = tried
            .par_iter()
            .enumerate()
            .map(|(k, coats)| {
                watch.check()?;
                let mut sum = 0.0_f32;
                let coats: Vec<(f32, &[f32])> =
                    coats.iter().map(|c| (tone(c.tone), options[c.option].as_slice())).collect();
                for i in &some {
                    let y =
                        coats.iter().fold(dark, |under, (tone, cover)| under + (tone - under) * cover[*i]);
                    let off = look_up(&table, y) - self.target[*i];
                    sum += off * off * self.share[*i];
                }
                Ok((f64::from(sum), k))
            })
            .collect::<Result<_, Stop>>()?;
        rough.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        rough.truncate(KEPT);
        let measured: Vec<Choice> =
            rough.par_iter().map(|(_, k)| self.measured(tried[*k].clone(), options)).collect();
        Ok(measured.into_iter().min_by(|a, b| a.squared.total_cmp(&b.squared)))
    }

    /// What is left over, told.
    pub(crate) fn left(&self, coats: &[Laid], options: &[Cover]) -> Vec<f32> {
        (0..self.target.len())
            .into_par_iter()
            .map(|i| (self.lightness(coats, options, i) - f64::from(self.target[i])) as f32)
            .collect()
    }
}

/// The coats with one more, mid before light.
fn in_order(coats: &[Laid], more: Laid) -> Vec<Laid> {
    let mut all = coats.to_vec();
    let at = all.iter().position(|c| c.tone > more.tone).unwrap_or(all.len());
    all.insert(at, more);
    all
}

/// L* at even steps of reflectance.
fn table() -> Vec<f32> {
    (0..=STEPS + 1).map(|i| lightness_from_luminance(i as f64 / STEPS as f64).0 as f32).collect()
}

fn look_up(table: &[f32], reflectance: f32) -> f32 {
    let at = reflectance.clamp(0.0, 1.0) * STEPS as f32;
    let low = (at as usize).min(STEPS);
    table[low] + (table[low + 1] - table[low]) * (at - low as f32)
}

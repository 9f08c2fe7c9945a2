//! Bands: one value step each, from deep shadow to highlight.

use crate::brush::Evener;
use crate::cut::cut;
use crate::field::{area_below, open_corners};
use grisaille_base::{Lightness, Stop, Watch};
use grisaille_colour::printed_tones;
use grisaille_mesh::Part;
use grisaille_scheme::BandChoice;
use grisaille_sight::Surface;

/// One band.
#[derive(Clone, Debug, PartialEq)]
pub struct Band {
    /// Its letter on sheets, A the darkest.
    pub letter: char,
    /// Its name in a painter's words.
    pub name: &'static str,
    /// Where it begins.
    pub low: Lightness,
    /// Where it ends.
    pub high: Lightness,
    /// The value to paint it in: the mean lightness over its area.
    pub tone: Lightness,
    /// The grey that it is printed in, sRGB: its tone's, as far as that stands apart from its neighbours'
    /// ([`printed_tones`]).
    pub grey: u8,
    /// Painted area on the figure in mm².
    pub figure_mm2: f64,
    /// Painted area on the base in mm².
    pub base_mm2: f64,
    /// Its share of the painted area, figure and base, 0 to 1.
    pub share: f64,
}

/// All bands and the borders between them.
#[derive(Clone, Debug, PartialEq)]
pub struct Bands {
    /// Darkest first, 3 to 6.
    pub rows: Vec<Band>,
    /// L* at the borders between them, one less than bands, not falling.
    pub borders: Vec<f64>,
    /// The L* of each sample that bands are read from: the value, evened out
    /// over the brush tip, without areas too small to paint.
    pub lightness: Vec<f32>,
}

impl Bands {
    /// The band of a lightness on a part, counted from 0. A base never takes
    /// the brightest band: highlights are the figure's.
    #[must_use]
    pub fn of(&self, lightness: f32, part: Part) -> u8 {
        let band = self.borders.iter().filter(|b| f64::from(lightness) >= **b).count();
        let top = self.borders.len();
        (if part == Part::Figure { band } else { band.min(top.saturating_sub(1)) }) as u8
    }

    /// The band, counted from 0, that the tone of a paint belongs to: beyond all bands, the one at that end.
    #[must_use]
    pub fn of_paint(&self, tone: Lightness) -> usize {
        self.rows.iter().rposition(|b| tone.0 >= b.low.0).unwrap_or(0)
    }
}

const NAMES: [&[&str]; 4] = [
    &["shadow", "midtone", "highlight"],
    &["shadow", "midtone", "light", "highlight"],
    &["deep shadow", "shadow", "midtone", "light", "highlight"],
    &["deep shadow", "shadow", "low midtone", "high midtone", "light", "highlight"],
];

pub(crate) fn bands(
    choice: &BandChoice,
    surface: &Surface,
    part_of_face: &[Part],
    values: &[f32],
    evener: &Evener,
    watch: &Watch,
) -> Result<Bands, Stop> {
    let mut lightness = evener.even(values, watch)?;
    let borders = match choice {
        BandChoice::Levels(levels) => levels.clone(),
        BandChoice::Shares(shares) => cut(shares, &painted(surface, part_of_face, &lightness)),
    };
    for k in 0..borders.len() {
        tidy(&mut lightness, &borders, k, evener, watch)?;
    }
    let faces = painted(surface, part_of_face, &lightness);
    let top = borders.len();
    let mut edges = vec![0.0];
    edges.extend(&borders);
    edges.push(100.0);
    let names = NAMES[(top + 1).clamp(3, 6) - 3];
    let all: f64 = faces.iter().map(|f| f.area).sum();
    // A band that nothing falls into has a tone within the planned ones too.
    let (least, most) = faces
        .iter()
        .flat_map(|f| f.values)
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)));
    let empty = |low: f64, high: f64| {
        let tone = f64::midpoint(low, high);
        // Where nothing is painted at all there is none to keep within.
        if least <= most { tone.clamp(least, most) } else { tone }
    };
    let rows = (0..=top)
        .map(|b| {
            let (mut figure, mut base, mut sum) = (0.0, 0.0, 0.0);
            for f in &faces {
                let last = f.part == Part::Base && b + 1 == top;
                let high = if b == top || last { f64::INFINITY } else { edges[b + 1] };
                if f.part == Part::Base && b == top {
                    continue;
                }
                let low = if b == 0 { f64::NEG_INFINITY } else { edges[b] };
                let area = f.area * (area_below(f.values, high) - area_below(f.values, low));
                sum += area * (f.values.iter().sum::<f64>() / 3.0).clamp(edges[b], edges[b + 1]);
                if f.part == Part::Base { base += area } else { figure += area }
            }
            let area = figure + base;
            Band {
                letter: char::from(b'A' + b as u8),
                name: names.get(b).copied().unwrap_or("band"),
                low: Lightness(edges[b]),
                high: Lightness(edges[b + 1]),
                tone: Lightness(if area > 0.0 { sum / area } else { empty(edges[b], edges[b + 1]) }),
                grey: 0,
                figure_mm2: figure,
                base_mm2: base,
                share: if all > 0.0 { area / all } else { 0.0 },
            }
        })
        .collect();
    let mut rows: Vec<Band> = rows;
    let tones: Vec<Lightness> = rows.iter().map(|band| band.tone).collect();
    for (band, grey) in rows.iter_mut().zip(printed_tones(&tones)) {
        band.grey = grey;
    }
    Ok(Bands { rows, borders, lightness })
}

/// Lifts or drops what is too small to paint across one border between bands,
/// to just beyond it. The lines between areas then still run smoothly through
/// the faces.
fn tidy(
    lightness: &mut [f32],
    borders: &[f64],
    k: usize,
    evener: &Evener,
    watch: &Watch,
) -> Result<(), Stop> {
    // Far enough to survive rounding, never as far as the next border.
    let hair = |to: Option<&f64>| to.map_or(0.01, |b| (0.25 * (b - borders[k]).abs()).min(0.01));
    let above = (borders[k] + hair(borders.get(k + 1))) as f32;
    let below = (borders[k] - hair(k.checked_sub(1).and_then(|j| borders.get(j)))) as f32;
    let is_above = |l: f32| u8::from(f64::from(l) >= borders[k]);
    let mut side: Vec<u8> = lightness.iter().map(|l| is_above(*l)).collect();
    evener.tidy(&mut side, watch)?;
    for (l, side) in lightness.iter_mut().zip(side) {
        if side != is_above(*l) {
            *l = if side == 1 { above } else { below };
        }
    }
    Ok(())
}

/// A painted face: its open area and its corner values.
pub(crate) struct Painted {
    pub(crate) part: Part,
    pub(crate) area: f64,
    pub(crate) values: [f64; 3],
}

fn painted(surface: &Surface, part_of_face: &[Part], lightness: &[f32]) -> Vec<Painted> {
    painted_where(surface, part_of_face, lightness, |_| true)
}

/// The painted faces among those of one's own.
pub(crate) fn painted_where(
    surface: &Surface,
    part_of_face: &[Part],
    lightness: &[f32],
    own: impl Fn(usize) -> bool,
) -> Vec<Painted> {
    (0..surface.faces.len())
        .filter(|f| part_of_face[*f].is_painted() && own(*f))
        .filter_map(|f| {
            let values = open_corners(surface, f, lightness)?.map(f64::from);
            let open = surface.open_corners(f) as f64 / 3.0;
            Some(Painted { part: part_of_face[f], area: surface.face_area(f) * open, values })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::brush::Brush;
    use crate::island::areas;
    use crate::kept::Kept;
    use crate::neighbours::Neighbours;
    use crate::neighbours::tests::{fine_cube, surface_of};

    const NONE: Brush = Brush { radius_mm: 0.0, smallest_mm2: 0.0, thinnest_shadow_mm: 0.0 };
    const SHARES: [f64; 5] = [20.0, 25.0, 25.0, 20.0, 10.0];

    fn banded(surface: &Surface, lightness: &[f32], brush: Brush) -> Bands {
        let parts = vec![Part::Figure; surface.faces.len()];
        let choice = BandChoice::Shares(SHARES.to_vec());
        bands(
            &choice,
            surface,
            &parts,
            lightness,
            &Evener::new(brush, Kept::default(), surface),
            &Watch::quiet(),
        )
        .unwrap()
    }

    #[test]
    fn empty_bands_keep_within_the_planned_tones_and_unpainted_models_have_some() {
        let surface = surface_of(&fine_cube(3), &Watch::quiet());
        let evener = Evener::new(NONE, Kept::default(), &surface);
        let of = |part| {
            let parts = vec![part; surface.faces.len()];
            let even = vec![70.0; surface.samples.len()];
            let choice = BandChoice::Levels(vec![30.0, 80.0]);
            let bands = bands(&choice, &surface, &parts, &even, &evener, &Watch::quiet()).unwrap();
            bands.rows.iter().map(|b| b.tone.0).collect::<Vec<f64>>()
        };
        // Nothing is darker than 30 or lighter than 80: all at the only tone there is.
        assert!(of(Part::Figure).iter().all(|tone| (tone - 70.0).abs() < 1e-9));
        // Nothing is painted: the middles of the bands.
        assert_eq!(of(Part::Underside), [15.0, 55.0, 90.0]);
    }

    /// How many connected areas of one band are smaller than `smallest` mm².
    fn islands(surface: &Surface, bands: &Bands, smallest: f64) -> usize {
        let of: Vec<u8> = bands.lightness.iter().map(|l| bands.of(*l, Part::Figure)).collect();
        areas(&Neighbours::of(surface), &of).1.iter().filter(|a| **a < smallest).count()
    }

    #[test]
    fn a_speckled_sphere_gets_clean_bands_of_the_same_share() {
        let ball: Vec<_> =
            grisaille_bodies::icosphere(5).into_iter().map(|t| t.map(|p| p.map(|x| 10.0 * x))).collect();
        let surface = surface_of(&ball, &Watch::quiet());
        // Dark below, light above, and every sample off by up to 8 L*.
        let lightness: Vec<f32> = surface
            .samples
            .position
            .iter()
            .enumerate()
            .map(|(i, p)| 50.0 + 3.5 * p.z + (i * 7919 % 17) as f32 - 8.0)
            .collect();
        let brush = Brush { radius_mm: 0.8, smallest_mm2: 4.0, ..NONE };
        let rough = banded(&surface, &lightness, NONE);
        let clean = banded(&surface, &lightness, brush);
        let before = islands(&surface, &rough, 4.0);
        assert!(before > 500, "{before}");
        assert_eq!(rough.lightness, lightness);
        assert_eq!(islands(&surface, &clean, 4.0), 0);
        for ((band, before), share) in clean.rows.iter().zip(&rough.rows).zip(SHARES) {
            assert!((before.share - share / 100.0).abs() < 1e-6, "{before:?}");
            // Stated tolerance: one part in a hundred of the whole surface.
            assert!((band.share - share / 100.0).abs() < 0.01, "{band:?}");
        }
        let all: f64 = clean.rows.iter().map(|b| b.share).sum();
        assert!((all - 1.0).abs() < 1e-9);
    }

    #[test]
    fn no_border_runs_through_a_plate() {
        // Six plates, one of 30, three of 50, two of 70 L*, each with a trace
        // of noise: running shares of 20, 45, 70 and 90 % would cut 50 three
        // times or twice and 70 once.
        let surface = surface_of(&fine_cube(24), &Watch::quiet());
        let lightness: Vec<f32> = surface
            .samples
            .normal
            .iter()
            .enumerate()
            .map(|(i, n)| {
                let tone = if n.z > 0.9 {
                    30.0
                } else if n.x.abs() > 0.9 {
                    70.0
                } else {
                    50.0
                };
                tone + (i * 7919 % 17) as f32 * 0.02
            })
            .collect();
        let bands = banded(&surface, &lightness, NONE);
        for tone in [30.0, 50.0, 70.0] {
            let [low, high] = [tone, tone + 0.34].map(|l| bands.of(l, Part::Figure));
            assert_eq!(low, high, "{tone}: {:?}", bands.borders);
        }
        let shares: Vec<f64> = bands.rows.iter().map(|b| b.share).filter(|s| *s > 1e-9).collect();
        assert!(shares.iter().zip([1.0, 3.0, 2.0]).all(|(s, n)| (s - n / 6.0).abs() < 1e-6), "{shares:?}");
        assert!(bands.borders.is_sorted());
    }

    #[test]
    fn a_sharp_edge_stays_sharp() {
        let surface = surface_of(&fine_cube(24), &Watch::quiet());
        let lightness: Vec<f32> =
            surface.samples.normal.iter().map(|n| if n.z > 0.9 { 90.0 } else { 30.0 }).collect();
        let clean = banded(&surface, &lightness, Brush { radius_mm: 1.0, smallest_mm2: 6.0, ..NONE });
        let (low, high) = (clean.of(30.0, Part::Figure), clean.of(90.0, Part::Figure));
        assert_ne!(low, high);
        for (n, l) in surface.samples.normal.iter().zip(&clean.lightness) {
            assert_eq!(clean.of(*l, Part::Figure), if n.z > 0.9 { high } else { low });
        }
    }
}

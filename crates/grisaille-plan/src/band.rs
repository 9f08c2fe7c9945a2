//! Bands: one value step each, from deep shadow to highlight.

use crate::field::{area_below, open_corners};
use grisaille_base::Lightness;
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
    lightness: &[f32],
) -> Bands {
    let faces = painted(surface, part_of_face, lightness);
    let borders = match choice {
        BandChoice::Levels(levels) => levels.clone(),
        BandChoice::Shares(shares) => cut(shares, &faces),
    };
    let top = borders.len();
    let mut edges = vec![0.0];
    edges.extend(&borders);
    edges.push(100.0);
    let names = NAMES[(top + 1).clamp(3, 6) - 3];
    let all: f64 = faces.iter().map(|f| f.area).sum();
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
                tone: Lightness(if area > 0.0 { sum / area } else { f64::midpoint(edges[b], edges[b + 1]) }),
                figure_mm2: figure,
                base_mm2: base,
                share: if all > 0.0 { area / all } else { 0.0 },
            }
        })
        .collect();
    Bands { rows, borders }
}

/// A painted face: its open area and its corner values.
struct Painted {
    part: Part,
    area: f64,
    values: [f64; 3],
}

fn painted(surface: &Surface, part_of_face: &[Part], lightness: &[f32]) -> Vec<Painted> {
    (0..surface.faces.len())
        .filter(|f| part_of_face[*f] != Part::Underside)
        .filter_map(|f| {
            let values = open_corners(surface, f, lightness)?.map(f64::from);
            let open = surface.open_corners(f) as f64 / 3.0;
            Some(Painted { part: part_of_face[f], area: surface.face_area(f) * open, values })
        })
        .collect()
}

/// The L* below which each running share of the figure's painted area lies.
fn cut(shares: &[f64], faces: &[Painted]) -> Vec<f64> {
    let has_figure = faces.iter().any(|f| f.part == Part::Figure);
    let figure: Vec<&Painted> = faces.iter().filter(|f| !has_figure || f.part == Part::Figure).collect();
    let area: f64 = figure.iter().map(|f| f.area).sum();
    let total: f64 = shares.iter().sum();
    let mut running = 0.0;
    shares[..shares.len().saturating_sub(1)]
        .iter()
        .map(|share| {
            running += share / total;
            // Bisection: the area below a level never falls as the level rises.
            let (mut low, mut high) = (0.0, 100.0);
            for _ in 0..40 {
                let level = f64::midpoint(low, high);
                let below: f64 = figure.iter().map(|f| f.area * area_below(f.values, level)).sum();
                if below < running * area { low = level } else { high = level }
            }
            high
        })
        .collect()
}

//! Washes: thin paint that runs. How thick it comes to lie is ours; what a thickness does is Kubelka and Munk's.

use super::{Shelf, StepColour, ground_of};
use crate::openness::Openness;
use grisaille_colour::{Curve, Lab, Mix, colour_of_curve, pigment_of};
use grisaille_scheme::Material;
use grisaille_sight::Surface;

/// A wash on an open level surface, in coats of unthinned paint: a film.
const FILM: f64 = 0.06;
/// What it gathers to where the surface is shut in.
const POOL: f64 = 0.6;
/// How much of the film stays on a side that stands upright or hangs over: the rest runs off.
const STAYS: f64 = 0.4;
/// A pin wash lies only where the surface sees less than this of what it faces.
const PINNED: f64 = 0.6;
/// Thicknesses at which it is reckoned what a wash makes of a step, in shares of [`POOL`].
const DEPTHS: [f64; 6] = [0.0, 0.125, 0.25, 0.5, 0.75, 1.0];

/// A wash over a region's ramp.
#[derive(Clone, Debug, PartialEq)]
pub struct Wash {
    /// What it is mixed from.
    pub mix: Mix,
    /// Whether it goes into recesses only.
    pub pin: bool,
    /// For each step of the ramp what the wash makes of it where it pools.
    pub pooled: Vec<Lab>,
    /// For each step, at each of [`DEPTHS`], how much of its light is left, in linear red, green and blue.
    left: Vec<[[f64; 3]; DEPTHS.len()]>,
}

/// Whether a wash suits a material, and if so whether into recesses only: where it pools it makes texture, on smooth
/// things it stains (common practice).
pub(super) fn takes_wash(material: Material) -> Option<bool> {
    match material {
        Material::Matte
        | Material::Cloth
        | Material::Leather
        | Material::Hair
        | Material::Chain
        | Material::Tmm => Some(false),
        Material::Satin => Some(true),
        Material::Skin | Material::Nmm | Material::Glow => None,
    }
}

impl Wash {
    /// The wash for a ramp: the transparent paint nearest to its line's colour, else its line's mix thinned;
    /// `None` without paints.
    pub(super) fn of(ramp: &[StepColour], line: &StepColour, shelf: &Shelf, pin: bool) -> Option<Self> {
        let stain = shelf.stain(line.wanted);
        // A stain of another hue spoils what lies under it: then the line's own mix, thinned.
        let mix = stain.filter(|m| m.apart < 25.0).or_else(|| line.mix.clone())?;
        let pigment = pigment_of(&mix.parts, &shelf.paints)?;
        let grounds: Vec<Curve> = ramp.iter().map(|s| ground_of(shelf, s.mix.as_ref(), s.shown())).collect();
        let over = |ground: &Curve, coats: f64| colour_of_curve(&pigment.over(ground, coats));
        let left = |ground: &Curve| {
            let bare = over(ground, 0.0).to_linear();
            DEPTHS.map(|depth| {
                let washed = over(ground, depth * POOL).to_linear();
                // Where there is next to no light, nothing can be told of what is left of it.
                [0, 1, 2].map(|k| if bare[k] > 1e-4 { (washed[k] / bare[k]).max(0.0) } else { 1.0 })
            })
        };
        let pooled = grounds.iter().map(|g| over(g, POOL)).collect();
        Some(Self { mix, pin, pooled, left: grounds.iter().map(left).collect() })
    }

    /// A colour at a place of the ramp (a step and how far it is to the next, 0 to 1) under so many coats of the wash.
    pub(super) fn over(&self, colour: Lab, (low, t): (usize, f64), coats: f64) -> Lab {
        let at = (coats / POOL).clamp(0.0, 1.0);
        let deep = DEPTHS.iter().rposition(|d| *d <= at).unwrap_or(0).min(DEPTHS.len() - 2);
        let s = (at - DEPTHS[deep]) / (DEPTHS[deep + 1] - DEPTHS[deep]);
        let mixed = |a: f64, b: f64, t: f64| a + (b - a) * t;
        let of_step = |step: usize, k: usize| {
            let left = &self.left[step.min(self.left.len() - 1)];
            mixed(left[deep][k], left[deep + 1][k], s)
        };
        let light = colour.to_linear();
        Lab::from_linear([0, 1, 2].map(|k| light[k] * mixed(of_step(low, k), of_step(low + 1, k), t)))
    }
}

/// How thick a wash lies, in coats of unthinned paint, where the surface is so open (0 to 1) and its unit normal rises
/// by `up`: a film that gathers where the surface is shut in, and runs off what does not face up. A pin wash lies in
/// recesses only.
fn thickness(open: f64, up: f64, pin: bool) -> f64 {
    if pin {
        return gathered(open, up, true);
    }
    // Level surfaces keep the film; the rest runs into what lies below it.
    FILM * (STAYS + (1.0 - STAYS) * up.clamp(0.0, 1.0)) + gathered(open, up, false)
}

/// Of a region that lies deep as a whole, this much open is taken to be its middle: a wash runs together in what is deep
/// in its own surroundings, not all over a cap below a brim (ours).
const MIDDLE: f64 = 0.6;

/// How open a spot is for a wash on a region of a mean openness.
pub(crate) fn open_for_wash(open: f64, mean: f64) -> f64 {
    (open * (MIDDLE / mean.max(1e-3)).max(1.0)).min(1.0)
}

/// How much of that has run together: what is left of a wash once the open forms are painted anew.
pub(super) fn gathered(open: f64, up: f64, pin: bool) -> f64 {
    let open = open.clamp(0.0, 1.0);
    if pin {
        return POOL * ((PINNED - open) / PINNED).max(0.0).sqrt();
    }
    (POOL - FILM) * (1.0 - open).powi(2) * (0.6 + 0.4 * up.clamp(0.0, 1.0))
}

/// How thick a wash lies at each sample, in coats of unthinned paint: a film that gathers where the
/// surface is shut in, and runs off what does not face up. A pin wash lies in recesses only.
#[must_use]
pub fn wash_thickness(surface: &Surface, open: &Openness, pin: bool) -> Vec<f64> {
    let each = open.values.iter().zip(&surface.samples.normal);
    each.map(|(open, normal)| thickness(f64::from(*open), f64::from(normal.z), pin)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use grisaille_base::Watch;
    use grisaille_colour::{Finish, Paint, colour_from_text, difference};
    use grisaille_scheme::PaintChoice;

    #[test]
    fn a_wash_leaves_what_kubelka_and_munk_say() {
        let paint = |name: &str, hex: &str, finish| Paint {
            finish,
            ..Paint::of_colour(name, colour_from_text(hex).unwrap())
        };
        let paints = vec![
            paint("Sailcloth", "#c9b892", Finish::Opaque),
            paint("Boot leather", "#6b4429", Finish::Opaque),
            paint("Silt brown stain", "#7a5230", Finish::Transparent),
        ];
        let choice = PaintChoice { file: "paints.csv".into(), most: 3, parts: 4, unmixed: false };
        let shelf = Shelf::of(paints, &choice, &Watch::quiet()).unwrap();
        let step = |hex: &str| {
            let wanted = colour_from_text(hex).unwrap();
            StepColour { wanted, mix: shelf.nearest(wanted), area_mm2: 1.0, value: 50.0 }
        };
        let ramp = [step("#6b4429"), step("#a58a66"), step("#c9b892")];
        let line = step("#4a3018");
        let wash = Wash::of(&ramp, &line, &shelf, false).unwrap();
        let pigment = pigment_of(&wash.mix.parts, &shelf.paints).unwrap();
        let mut darkest = 100.0;
        for (i, step) in ramp.iter().enumerate() {
            let ground = ground_of(&shelf, step.mix.as_ref(), step.shown());
            for k in 0..=20 {
                let coats = POOL * f64::from(k) / 20.0;
                let want = colour_of_curve(&pigment.over(&ground, coats));
                let got = wash.over(step.shown(), (i, 0.0), coats);
                // Between two thicknesses it is on a straight line.
                assert!(difference(want, got) < 0.7, "{i} {coats} {want:?} {got:?}");
                darkest = f64::min(darkest, got.l - step.shown().l);
            }
            assert!(difference(wash.over(step.shown(), (i, 0.0), 0.0), step.shown()) < 1e-6);
            assert!(difference(wash.over(step.shown(), (i, 0.0), POOL), wash.pooled[i]) < 0.2);
        }
        assert!(darkest < -15.0, "{darkest}");
        // Halfway between two steps the light that is left is halfway too.
        let got = wash.over(Lab::new(60.0, 5.0, 20.0), (1, 0.5), POOL).to_linear();
        let bare = Lab::new(60.0, 5.0, 20.0).to_linear();
        for k in 0..3 {
            let half = f64::midpoint(wash.left[1][5][k], wash.left[2][5][k]);
            assert!((got[k] / bare[k] - half).abs() < 1e-9);
        }
    }
}

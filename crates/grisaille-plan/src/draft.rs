//! A draft: light and values at once, before anything is evened out, for a
//! window in which a lamp is being dragged.
//!
//! [`draft`] is built from the best that is known of each light; what is not
//! known, and a light in the hand, is estimated from one direction, the sky's
//! light as if nothing stood in its way. [`draft_in_rounds`] then gives better
//! and better drafts, and leaves behind all the light that a plan needs.

use crate::plan::{Plan, kind_of, light_in_rounds, light_of, parts_of, surface_of, sweep_of, tree_of};
use crate::products::Products;
use crate::value::{Fit, share};
use crate::zone::strongest;
use grisaille_base::{LightId, Lightness, Stop, Watch};
use grisaille_colour::luminance_from_lightness;
use grisaille_light::{
    Cache, Exposure, ExposureSettings, Kind, Light, Round, ambient_open, exposure, ring_open,
};
use grisaille_mesh::{Mesh, Part};
use grisaille_scheme::{BandChoice, LightChoice, LightEntry, Scheme, ValueChoice};
use grisaille_sight::{Surface, TreeSight};
use rayon::prelude::*;
use std::sync::Arc;

/// How well a light of a draft is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Effort {
    /// From one direction or point, the sky's as if nothing stood in its way:
    /// tens of milliseconds for a million samples.
    Instant,
    /// From a share of the directions that the scheme asks for.
    Quick,
    /// As the scheme says.
    Fine,
}

/// The directions of [`Effort::Instant`].
const INSTANT: ExposureSettings =
    ExposureSettings { ambient_directions: 1, ring_directions: 1, soft_directions: 1 };

/// What a draft stands on: the divided surface of one model.
#[derive(Clone)]
pub struct Ground {
    /// The model.
    pub mesh: Arc<Mesh>,
    /// The surface that all numbers of a draft belong to.
    pub surface: Arc<Surface>,
    /// For picking.
    pub tree: Arc<TreeSight>,
    /// The part of each face of the surface.
    pub part_of_face: Arc<Vec<Part>>,
    /// The part of each sample: the figure's wherever it touches the figure.
    pub part_of_sample: Arc<Vec<Part>>,
    /// The painted area in mm² for which each sample stands.
    pub area: Arc<Vec<f32>>,
    /// The height of the base's top above the lowest point in mm, if a base was found.
    pub base_top_mm: Option<f64>,
}

/// One light of a draft.
#[derive(Clone, Debug, PartialEq)]
pub struct DraftLight {
    /// Which light.
    pub id: LightId,
    /// What it is, with all defaults filled in.
    pub kind: Kind,
    /// How well it is known.
    pub effort: Effort,
    /// Exposure of each sample.
    pub exposure: Arc<Vec<f32>>,
    /// What it adds to each sample's sum of light.
    pub shares: Arc<Vec<f32>>,
}

/// Light and values at once.
#[derive(Clone, Debug)]
pub struct Draft {
    /// The lights, in the scheme's order.
    pub lights: Vec<DraftLight>,
    /// L* of each sample; where the last plan lifted it, lifted.
    pub lightness: Vec<f32>,
    /// How sums of light become lightness.
    pub fit: Fit,
    /// L* at the borders between bands.
    pub borders: Vec<f64>,
}

/// What is known of a light on one surface.
#[derive(Clone)]
pub(crate) struct Known {
    surface: u64,
    id: LightId,
    choice: LightChoice,
    through: Vec<[f64; 3]>,
    effort: Effort,
    exposure: Arc<Vec<f32>>,
    weighed: Option<(f64, bool, Arc<Vec<f32>>)>,
}

impl Known {
    fn is_of(&self, entry: &LightEntry, surface: u64) -> bool {
        self.surface == surface
            && self.id == entry.id
            && self.choice == entry.choice
            && self.through == entry.through
    }
}

/// Makes ready what drafts stand on. The first call divides the surface; later
/// ones take what is there.
///
/// # Errors
/// [`Stop`] when cancelled.
pub fn ground(scheme: &Scheme, products: &mut Products, watch: &Watch) -> Result<Ground, Stop> {
    let (surface, _) = surface_of(scheme, products, watch)?;
    let tree = tree_of(products, watch)?;
    sweep_of(products, watch)?;
    if let Some(ground) = &products.ground
        && Arc::ptr_eq(&ground.surface, &surface)
    {
        return Ok(ground.clone());
    }
    let mesh = Arc::clone(&products.mesh);
    let parts = parts_of(products, watch)?;
    let part_of_face: Vec<Part> = surface.source_face.iter().map(|f| parts.of_face[f.index()]).collect();
    watch.check()?;
    let mut part_of_sample = vec![Part::Underside; surface.samples.len()];
    let mut area = vec![0.0_f32; surface.samples.len()];
    for (f, (face, part)) in surface.faces.iter().zip(&part_of_face).enumerate() {
        let third = surface.face_area(f) / 3.0;
        for s in face.iter().map(|s| *s as usize) {
            let now = &mut part_of_sample[s];
            if *part == Part::Figure || !now.is_painted() {
                *now = *part;
            }
            if part.is_painted() && !surface.samples.buried.get(s) {
                area[s] += third as f32;
            }
        }
    }
    let ground = Ground {
        mesh,
        surface,
        tree,
        part_of_face: Arc::new(part_of_face),
        part_of_sample: Arc::new(part_of_sample),
        area: Arc::new(area),
        base_top_mm: parts.base_top_mm,
    };
    products.ground = Some(ground.clone());
    Ok(ground)
}

/// Drafts a scheme at once: lights of which nothing is known are estimated, and
/// so is the one named `moving`, which will have changed again in a moment.
///
/// # Errors
/// [`Stop`] when cancelled.
pub fn draft(
    scheme: &Scheme,
    moving: Option<LightId>,
    products: &mut Products,
    watch: &Watch,
) -> Result<Draft, Stop> {
    let ground = ground(scheme, products, watch)?;
    let mut lights = Vec::with_capacity(scheme.lights.len());
    for entry in &scheme.lights {
        lights.push(light(entry, &scheme.value, moving, &ground, products, watch)?);
    }
    let print = ground.surface.fingerprint;
    products.known.retain(|k| k.surface == print && scheme.lights.iter().any(|l| l.id == k.id));
    watch.check()?;
    let rough = moving.is_some();
    Ok(watch.run(|| compose(scheme, lights, &ground, products.strength.as_deref(), rough)))
}

/// Drafts a scheme better and better, round by round, until all its light is
/// known as the scheme says; `hear` gets each draft. A plan after it finds all
/// light ready.
///
/// # Errors
/// [`Stop`] when cancelled; what was found out until then is kept, and the next
/// call goes on from there.
pub fn draft_in_rounds(
    scheme: &Scheme,
    products: &mut Products,
    watch: &Watch,
    hear: &mut dyn FnMut(Draft),
) -> Result<(), Stop> {
    let ground = ground(scheme, products, watch)?;
    let strength = products.strength.clone();
    let mut shown = |exposure: &Exposure, round: Round| {
        let effort = if round.is_last() { Effort::Fine } else { Effort::Quick };
        let draft = watch.run(|| {
            let lights = exposure.lights.iter().zip(&scheme.lights).map(|(light, entry)| DraftLight {
                id: light.id,
                kind: light.kind,
                effort,
                shares: Arc::new(shares(&light.values, &scheme.value, entry.weight, &light.kind)),
                exposure: Arc::clone(&light.values),
            });
            compose(scheme, lights.collect(), &ground, strength.as_deref(), false)
        });
        hear(draft);
    };
    let found = light_in_rounds(scheme, products, watch, &mut |_, exposure, round| shown(exposure, round))?;
    products.remember(scheme, &found, ground.surface.fingerprint);
    Ok(())
}

fn shares(exposure: &[f32], value: &ValueChoice, weight: f64, kind: &Kind) -> Vec<f32> {
    exposure.par_iter().map(|e| share(value, weight, kind, *e)).collect()
}

fn light(
    entry: &LightEntry,
    value: &ValueChoice,
    moving: Option<LightId>,
    ground: &Ground,
    products: &mut Products,
    watch: &Watch,
) -> Result<DraftLight, Stop> {
    let surface = &ground.surface;
    let found = products.known.iter().position(|k| k.is_of(entry, surface.fingerprint));
    let place = match found {
        Some(place) => place,
        None => {
            // While a light is moved what is known of it as it was stays, for
            // the step back to it.
            let exposure = estimate(entry, ground, products, watch)?;
            let known = Known {
                surface: surface.fingerprint,
                id: entry.id,
                choice: entry.choice,
                through: entry.through.clone(),
                effort: Effort::Instant,
                exposure,
                weighed: None,
            };
            let moves = moving == Some(entry.id);
            products.known.retain(|k| k.id != entry.id || (moves && k.effort == Effort::Fine));
            products.known.push(known);
            products.known.len() - 1
        }
    };
    let kind = kind_of(entry, &ground.mesh);
    let known = &mut products.known[place];
    let shares = match &known.weighed {
        Some((weight, shoulder, shares)) if (*weight, *shoulder) == (entry.weight, value.lamp_shoulder) => {
            Arc::clone(shares)
        }
        _ => {
            let shares = Arc::new(watch.run(|| shares(&known.exposure, value, entry.weight, &kind)));
            known.weighed = Some((entry.weight, value.lamp_shoulder, Arc::clone(&shares)));
            shares
        }
    };
    Ok(DraftLight { id: entry.id, kind, effort: known.effort, exposure: Arc::clone(&known.exposure), shares })
}

/// A light from one direction or point.
fn estimate(
    entry: &LightEntry,
    ground: &Ground,
    products: &mut Products,
    watch: &Watch,
) -> Result<Arc<Vec<f32>>, Stop> {
    let surface = &ground.surface;
    let mut light: Light = light_of(entry, &ground.mesh);
    let up = |i: usize| f64::from(surface.samples.normal[i].z);
    let open = |of: &(dyn Fn(usize) -> f64 + Sync)| -> Arc<Vec<f32>> {
        let buried = &surface.samples.buried;
        let each = |i: usize| if buried.get(i) { 0.0 } else { of(i) as f32 };
        Arc::new(watch.run(|| (0..surface.samples.len()).into_par_iter().map(each).collect()))
    };
    match &mut light.kind {
        Kind::Ring => return Ok(open(&|i| ring_open(up(i)))),
        Kind::Ambient { sky } => {
            let sky = *sky;
            return Ok(open(&|i| ambient_open(up(i), sky)));
        }
        Kind::Zenithal { radius, .. } => *radius = 0.0,
        // A point in place of the glass; its light is the same where all of
        // the glass is in view.
        Kind::Point { radius, clear, .. } => {
            clear.0 = clear.0.max(radius.0);
            radius.0 = 0.0;
        }
    }
    let sight = sweep_of(products, watch)?;
    let found = exposure(surface, &*sight, &[light], &INSTANT, &mut Cache::default(), watch)?;
    Ok(found.lights.into_iter().next().map(|l| l.values).unwrap_or_default())
}

/// Puts the lights of a draft together. A `rough` one reads its lightness from a
/// table, wrong by less than a hundredth of an L*: the hand that waits for it
/// will have moved on.
fn compose(
    scheme: &Scheme,
    lights: Vec<DraftLight>,
    ground: &Ground,
    strength: Option<&[f32]>,
    rough: bool,
) -> Draft {
    let count = ground.surface.samples.len();
    let sums: Vec<f64> = (0..count)
        .into_par_iter()
        .map(|i| lights.iter().map(|l| f64::from(l.shares[i])).sum::<f64>())
        .collect();
    let brightest_of = |part: Part| {
        let own = sums.par_iter().zip(ground.part_of_sample.par_iter()).filter(|(_, of)| **of == part);
        own.map(|(sum, _)| *sum).reduce(|| 0.0, f64::max)
    };
    let mut brightest = brightest_of(Part::Figure);
    if brightest == 0.0 {
        brightest = brightest_of(Part::Base);
    }
    let fit = Fit {
        dark: luminance_from_lightness(scheme.value.darkest),
        light: luminance_from_lightness(scheme.value.lightest),
        brightest,
    };
    let strength = strength.filter(|s| s.len() == count);
    let table = rough.then(|| Table::of(&fit));
    let lightness: Vec<f32> = (0..count)
        .into_par_iter()
        .map(|i| {
            let plain = table.as_ref().map_or_else(|| fit.lightness(sums[i]), |t| t.lightness(sums[i]));
            strength.map_or(plain, |s| fit.lifted(plain, f64::from(s[i]))).0 as f32
        })
        .collect();
    let borders = match &scheme.bands {
        BandChoice::Levels(levels) => levels.clone(),
        BandChoice::Shares(shares) => borders(shares, &lightness, ground),
    };
    Draft { lights, lightness, fit, borders }
}

/// Lightness by sum of light, at even steps up to the brightest.
struct Table {
    steps: Vec<f64>,
    per_sum: f64,
}

impl Table {
    /// L* is the steepest and the most bent just above where it leaves the
    /// straight line (CIE 15:2018), with a second derivative of −7·10⁴ there: so
    /// many steps keep straight lines between them within 0.001 L*.
    const STEPS: usize = 4096;

    fn of(fit: &Fit) -> Self {
        let step = fit.brightest / Self::STEPS as f64;
        let steps = (0..=Self::STEPS).map(|k| fit.lightness(k as f64 * step).0).collect();
        Self { steps, per_sum: if step > 0.0 { 1.0 / step } else { 0.0 } }
    }

    fn lightness(&self, sum: f64) -> Lightness {
        let at = (sum * self.per_sum).clamp(0.0, Self::STEPS as f64);
        let below = (at as usize).min(Self::STEPS - 1);
        let share = at - below as f64;
        Lightness(self.steps[below] + share * (self.steps[below + 1] - self.steps[below]))
    }
}

/// Where bands of these shares part, to a fortieth of an L*: counted over the
/// figure's samples by their area, without evening.
fn borders(shares: &[f64], lightness: &[f32], ground: &Ground) -> Vec<f64> {
    const BINS: usize = 4000;
    let mut area = [0.0_f64; BINS];
    for (i, l) in lightness.iter().enumerate() {
        if ground.part_of_sample[i] == Part::Figure {
            area[((f64::from(*l) / 100.0 * BINS as f64) as usize).min(BINS - 1)] += f64::from(ground.area[i]);
        }
    }
    let all: f64 = area.iter().sum();
    let whole: f64 = shares.iter().sum();
    let (mut below, mut bin) = (0.0, 0);
    let mut wanted = 0.0;
    shares[..shares.len().saturating_sub(1)]
        .iter()
        .map(|share| {
            wanted += share / whole * all;
            while bin < BINS && below + area[bin] <= wanted {
                below += area[bin];
                bin += 1;
            }
            bin as f64 * 100.0 / BINS as f64
        })
        .collect()
}

impl Draft {
    /// The place in the scheme's order, counted from 1, of the light that adds
    /// the most at each sample; 0 where none arrives.
    #[must_use]
    pub fn zones(&self) -> Vec<u8> {
        (0..self.lightness.len())
            .into_par_iter()
            .map(|i| strongest(self.lights.iter().map(|l| l.shares[i])))
            .collect()
    }
}

impl Products {
    /// Takes over what a plan for this scheme found out, so that drafts after
    /// it begin from there.
    pub fn learn(&mut self, scheme: &Scheme, plan: &Plan) {
        self.remember(scheme, &plan.exposure, plan.surface.fingerprint);
        self.strength.clone_from(&plan.values.strength);
    }

    fn remember(&mut self, scheme: &Scheme, exposure: &Exposure, surface: u64) {
        for (entry, light) in scheme.lights.iter().zip(&exposure.lights) {
            self.known.retain(|k| k.id != entry.id);
            self.known.push(Known {
                surface,
                id: entry.id,
                choice: entry.choice,
                through: entry.through.clone(),
                effort: Effort::Fine,
                exposure: Arc::clone(&light.values),
                weighed: None,
            });
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_is_the_curve() {
        for (dark, light, brightest) in
            [(0.0, 1.0, 1.0), (0.019, 0.876, 1.7), (0.2, 0.3, 0.01), (0.1, 0.9, 0.0)]
        {
            let fit = Fit { dark, light, brightest };
            let table = Table::of(&fit);
            for k in 0..20_011 {
                let sum = f64::from(k) * brightest.max(0.5) * 1.1 / 20_011.0;
                let (true_one, read) = (fit.lightness(sum).0, table.lightness(sum).0);
                assert!((true_one - read).abs() < 0.001, "{sum}: {true_one} {read}");
            }
        }
    }
}

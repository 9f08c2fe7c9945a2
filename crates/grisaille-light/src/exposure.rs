//! Exposure of every sample to every light.

use crate::closed_form::{ambient_open, ring_open};
use crate::kept::{Applied, Cache, Entry, Held, Key, Sum};
use crate::light::{Kind, Light};
use crate::open::lamp_open;
use crate::rounds::Round;
use crate::sides::Sides;
use grisaille_base::{LightId, Span, Stop, Watch};
use grisaille_sight::{FaceMask, Sight, Source, Surface};
use rayon::prelude::*;
use std::sync::Arc;

/// How finely the sky and the lamps are sampled.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ExposureSettings {
    /// Directions over the upper hemisphere for ambient light.
    pub ambient_directions: usize,
    /// Directions round the ring.
    pub ring_directions: usize,
    /// Directions within the cap of a zenithal light that has a radius, and
    /// points on a lamp that has one.
    pub soft_directions: usize,
}

impl Default for ExposureSettings {
    fn default() -> Self {
        Self { ambient_directions: 256, ring_directions: 48, soft_directions: 64 }
    }
}

/// The exposure of all samples to one light.
#[derive(Clone, Debug, PartialEq)]
pub struct LightExposure {
    /// Which light.
    pub id: LightId,
    /// Its name.
    pub name: String,
    /// Its kind.
    pub kind: Kind,
    /// One number ≥ 0 for each sample, linear in light.
    pub values: Arc<Vec<f32>>,
}

/// The exposure of all samples to all lights.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Exposure {
    /// In the order in which the lights were given.
    pub lights: Vec<LightExposure>,
}

impl Exposure {
    /// One light's exposure.
    #[must_use]
    pub fn of(&self, id: LightId) -> Option<&LightExposure> {
        self.lights.iter().find(|l| l.id == id)
    }
}

/// Computes the exposure to each light; what `kept` holds of it is taken from
/// there, and `kept` holds it all afterwards, as far as its bound allows.
///
/// # Errors
/// [`Stop`] when cancelled; `kept` then holds what was finished, and what was
/// begun goes on from there the next time.
pub fn exposure(
    surface: &Surface,
    sight: &dyn Sight,
    lights: &[Light],
    settings: &ExposureSettings,
    kept: &mut Cache,
    watch: &Watch,
) -> Result<Exposure, Stop> {
    let scene = Scene { surface, sight, settings, watch };
    with_kept(&scene, lights, kept, |ways| {
        for way in ways.iter_mut() {
            way.go(&scene, usize::MAX, None)?;
        }
        shown(&scene, ways)
    })
}

/// The same in rounds: `hear` gets a first answer from a few directions, then
/// better ones, each with the word which round it is. What it gets in the last
/// is what is returned, bit for bit what [`exposure`] gives. Call it on a worker
/// and hand a clone of what `hear` gets to the window (the numbers are shared,
/// not copied).
///
/// In round k each light is looked at from 4ᵏ of its directions or points at
/// most, except that a soft light is sharp in the first; docs/exposure.md states
/// how far each round is from the last. A light that `kept` holds is shown in
/// full from the first round on, and when it holds all there is one round.
/// Progress is told as the phase `light`, in directions and points.
///
/// # Errors
/// [`Stop`] when cancelled, between rounds or within one; `kept` then holds
/// what was finished, and what was begun goes on from there the next time.
pub fn exposure_in_rounds(
    surface: &Surface,
    sight: &dyn Sight,
    lights: &[Light],
    settings: &ExposureSettings,
    kept: &mut Cache,
    watch: &Watch,
    hear: &mut dyn FnMut(&Exposure, Round),
) -> Result<Exposure, Stop> {
    let scene = Scene { surface, sight, settings, watch };
    with_kept(&scene, lights, kept, |ways| {
        let open = ways.iter().filter(|w| w.is_open());
        let of = open.map(|w| Round::needed(w.sides.len())).max().unwrap_or(1);
        let span = watch.span("light", ways.iter().map(|w| w.left(of) as u64).sum());
        for number in 1..=of {
            let round = Round { number, of };
            let most = if round.is_last() { usize::MAX } else { round.most() };
            for way in ways.iter_mut() {
                if number == 1 && way.is_soft() && way.done() == 0 && most < way.sides.len() {
                    way.stand_in(&scene, &span)?;
                } else {
                    way.go(&scene, most, Some(&span))?;
                }
            }
            let exposure = shown(&scene, ways)?;
            watch.check()?;
            hear(&exposure, round);
            if round.is_last() {
                return Ok(exposure);
            }
        }
        shown(&scene, ways)
    })
}

/// What light falls on, and how finely.
struct Scene<'a> {
    surface: &'a Surface,
    sight: &'a dyn Sight,
    settings: &'a ExposureSettings,
    watch: &'a Watch,
}

/// A light on its way to its exposure.
struct Way<'a> {
    light: &'a Light,
    sides: Sides,
    entry: Entry,
    /// The share that is seen of the light if it were sharp, until more is known.
    sharp: Option<Vec<f32>>,
}

/// Takes what is kept of the lights, works, and puts it back, finished or not.
fn with_kept<R>(
    scene: &Scene<'_>,
    lights: &[Light],
    kept: &mut Cache,
    work: impl FnOnce(&mut [Way<'_>]) -> Result<R, Stop>,
) -> Result<R, Stop> {
    let mut ways: Vec<Way<'_>> = lights
        .iter()
        .map(|light| {
            let key = Key::of(scene.surface, light, scene.settings);
            let entry =
                kept.take(&key).unwrap_or(Entry { key, held: Held::Part(Sum::default()), made: None });
            Way { light, sides: Sides::of(&light.kind, scene.settings), entry, sharp: None }
        })
        .collect();
    let done = work(&mut ways);
    for way in ways {
        kept.put(way.entry);
    }
    done
}

fn shown(scene: &Scene<'_>, ways: &mut [Way<'_>]) -> Result<Exposure, Stop> {
    let lights = ways.iter_mut().map(|way| {
        let Light { id, name, kind, .. } = way.light;
        Ok(LightExposure { id: *id, name: name.clone(), kind: *kind, values: way.values(scene)? })
    });
    Ok(Exposure { lights: lights.collect::<Result<_, Stop>>()? })
}

impl Way<'_> {
    /// Whether something is left to be looked at.
    fn is_open(&self) -> bool {
        matches!(self.entry.held, Held::Part(_))
    }

    fn is_soft(&self) -> bool {
        self.has_edge() && self.sides.len() > 1
    }

    fn is_sharp(&self) -> bool {
        self.has_edge() && self.sides.len() == 1
    }

    /// Whether its shadows have one edge that softness widens.
    fn has_edge(&self) -> bool {
        matches!(self.light.kind, Kind::Zenithal { .. } | Kind::Point { .. })
    }

    /// From how many sides it was looked at.
    fn done(&self) -> usize {
        match &self.entry.held {
            Held::Part(sum) => sum.done,
            Held::Whole(_) => self.sides.len(),
        }
    }

    /// How many sides are left to look at in so many rounds.
    fn left(&self, rounds: u32) -> usize {
        let first = Round { number: 1, of: rounds }.most();
        let stand_in = self.is_soft() && self.done() == 0 && rounds > 1 && first < self.sides.len();
        self.sides.len() - self.done() + usize::from(stand_in)
    }

    /// Looks at the light as if it were sharp.
    fn stand_in(&mut self, scene: &Scene<'_>, span: &Span<'_>) -> Result<(), Stop> {
        let sides = self.sides.middle();
        let mut sum = Sum::default();
        gather(scene, &sides, 1, &self.light.mask, &mut sum, span)?;
        self.sharp = Some(share(&sum, scene.watch)?);
        Ok(())
    }

    /// Looks at the light from more of its sides, up to `most` in all. Without
    /// a span it opens one, if there is work.
    fn go(&mut self, scene: &Scene<'_>, most: usize, span: Option<&Span<'_>>) -> Result<(), Stop> {
        let sharp_and_new = self.is_sharp() && self.done() == 0;
        let Held::Part(sum) = &mut self.entry.held else { return Ok(()) };
        let to = most.min(self.sides.len());
        if sharp_and_new {
            let own = span.is_none().then(|| scene.watch.span(self.sides.phase(), 1));
            if let Some(span) = span.or(own.as_ref()) {
                let whole = sharp(scene, &self.sides, &self.light.mask, span)?;
                self.entry.held = Held::Whole(Arc::new(whole));
            }
            return Ok(());
        }
        if sum.done < to {
            let own = span.is_none().then(|| scene.watch.span(self.sides.phase(), (to - sum.done) as u64));
            if let Some(span) = span.or(own.as_ref()) {
                gather(scene, &self.sides, to, &self.light.mask, sum, span)?;
            }
            self.sharp = None;
        }
        if sum.done == self.sides.len() {
            let whole = Arc::new(self.seen(scene)?);
            self.entry.held = Held::Whole(whole);
        }
        Ok(())
    }

    /// What is known so far: the exposure, or of a lamp the share of its light
    /// that is seen.
    fn seen(&self, scene: &Scene<'_>) -> Result<Vec<f32>, Stop> {
        let normal = &scene.surface.samples.normal;
        let sum = match &self.entry.held {
            Held::Whole(values) => return Ok(values.to_vec()),
            Held::Part(sum) => sum,
        };
        let up = |i: usize| f64::from(normal[i].z);
        match self.light.kind {
            Kind::Zenithal { .. } => match &self.sharp {
                Some(sharp) => {
                    let axis = self.sides.axis();
                    let facing = |i: usize| normal[i].cast::<f64>().dot(&axis).max(0.0);
                    scene.watch.map(sharp.len(), |i| (facing(i) * f64::from(sharp[i])) as f32)
                }
                None => {
                    let open = self.sides.facing(sum.done);
                    scene.watch.map(sum.seen.len(), |i| (sum.seen[i] / open) as f32)
                }
            },
            Kind::Ring => open_times_share(sum, scene.watch, |i| ring_open(up(i))),
            Kind::Ambient { sky } => open_times_share(sum, scene.watch, |i| ambient_open(up(i), sky)),
            Kind::Point { .. } => match &self.sharp {
                Some(sharp) => Ok(sharp.clone()),
                None => share(sum, scene.watch),
            },
        }
    }

    /// The exposure, as far as the light has come.
    fn values(&mut self, scene: &Scene<'_>) -> Result<Arc<Vec<f32>>, Stop> {
        let Kind::Point { at, reference, radius, falloff, .. } = self.light.kind else {
            return match &self.entry.held {
                Held::Whole(values) => Ok(Arc::clone(values)),
                Held::Part(_) => self.seen(scene).map(Arc::new),
            };
        };
        let applied = Applied { reference, falloff };
        if let (false, Some((how, values))) = (self.is_open(), &self.entry.made)
            && *how == applied
        {
            return Ok(Arc::clone(values));
        }
        let partly;
        let seen: &[f32] = match &self.entry.held {
            Held::Whole(share) => share,
            Held::Part(_) => {
                partly = self.seen(scene)?;
                &partly
            }
        };
        let samples = &scene.surface.samples;
        let values = Arc::new(scene.watch.map(seen.len(), |i| {
            if seen[i] > 0.0 {
                let (position, normal) = (samples.position[i].cast(), samples.normal[i].cast());
                (lamp_open(at, reference, radius, falloff, position, normal) * f64::from(seen[i])) as f32
            } else {
                0.0
            }
        })?);
        if !self.is_open() {
            self.entry.made = Some((applied, Arc::clone(&values)));
        }
        Ok(values)
    }
}

/// The share of the weight that is seen.
fn share(sum: &Sum, watch: &Watch) -> Result<Vec<f32>, Stop> {
    open_times_share(sum, watch, |_| 1.0)
}

/// The closed form of the open surface times the share of the weight that is seen.
fn open_times_share(sum: &Sum, watch: &Watch, open: impl Fn(usize) -> f64 + Sync) -> Result<Vec<f32>, Stop> {
    let Sum { seen, all, .. } = sum;
    watch.map(seen.len(), |i| if all[i] > 0.0 { (open(i) * seen[i] / all[i]) as f32 } else { 0.0 })
}

/// What a light with one side gives, a lamp as the share of it that is seen: the
/// numbers that [`gather`] would lead to, without sums in between, as a lamp in
/// a painter's hand waits for them.
fn sharp(scene: &Scene<'_>, sides: &Sides, mask: &FaceMask, span: &Span<'_>) -> Result<Vec<f32>, Stop> {
    let Scene { surface, sight, watch, .. } = *scene;
    let samples = &surface.samples;
    let source = sides.source(0);
    let bits = sight.visible_from(samples, &[source], mask, watch)?;
    let bits = bits.first().ok_or(Stop)?;
    let open = sides.facing(1);
    let mut values = vec![0.0_f32; samples.len()];
    let pairs: u64 = watch.run(|| {
        let chunks = values.par_chunks_mut(CHUNK).enumerate();
        chunks
            .map(|(chunk, values)| {
                if watch.stopped() {
                    return 0;
                }
                let mut pairs = 0;
                for (i, value) in (CHUNK * chunk..).zip(values) {
                    if source.faces(samples, i) {
                        pairs += 1;
                        if bits.get(i) {
                            *value = (sides.weight(samples, 0, i) / open) as f32;
                        }
                    }
                }
                pairs
            })
            .sum()
    });
    watch.check()?;
    span.advance(1);
    span.count("samples", samples.len() as u64);
    span.count("directions", 1);
    span.count("pairs", pairs);
    Ok(values)
}

/// Samples that one thread adds up before it asks whether to stop.
const CHUNK: usize = 4096;

/// Sides that are looked at at once: enough to keep all threads busy, few
/// enough that progress moves.
const AT_ONCE: usize = 4;

/// Adds to the sums, for each sample, the weights of the sides that it sees
/// and of all that it is turned toward, up to side `to`.
fn gather(
    scene: &Scene<'_>,
    sides: &Sides,
    to: usize,
    mask: &FaceMask,
    sum: &mut Sum,
    span: &Span<'_>,
) -> Result<(), Stop> {
    let Scene { surface, sight, watch, .. } = *scene;
    let samples = &surface.samples;
    let from = sum.done;
    sum.seen.resize(samples.len(), 0.0);
    sum.all.resize(samples.len(), 0.0);
    let mut pairs = 0;
    for first in (from..to).step_by(AT_ONCE) {
        let some = first..(first + AT_ONCE).min(to);
        let sources: Vec<Source> = some.clone().map(|k| sides.source(k)).collect();
        let bits = sight.visible_from(samples, &sources, mask, watch)?;
        sum.torn = true;
        // Each sample adds up its own sources in their order, so the sum does
        // not depend on how the samples are dealt out.
        pairs += watch.run(|| {
            sum.seen
                .par_chunks_mut(CHUNK)
                .zip(sum.all.par_chunks_mut(CHUNK))
                .enumerate()
                .map(|(chunk, (seen, all))| {
                    if watch.stopped() {
                        return 0;
                    }
                    let mut pairs = 0_u64;
                    for (i, (seen, all)) in (CHUNK * chunk..).zip(seen.iter_mut().zip(all)) {
                        for (k, (source, bits)) in some.clone().zip(sources.iter().zip(&bits)) {
                            if source.faces(samples, i) {
                                let w = sides.weight(samples, k, i);
                                *all += w;
                                if bits.get(i) {
                                    *seen += w;
                                }
                                pairs += 1;
                            }
                        }
                    }
                    pairs
                })
                .sum::<u64>()
        });
        watch.check()?;
        (sum.torn, sum.done) = (false, some.end);
        for _ in some {
            span.advance(1);
        }
    }
    span.count("samples", samples.len() as u64);
    span.count("directions", (to - from) as u64);
    span.count("pairs", pairs);
    Ok(())
}

//! What was computed before and still holds.

use crate::exposure::ExposureSettings;
use crate::falloff::Falloff;
use crate::light::{Kind, Light, Sky};
use grisaille_base::Millimetres;
use grisaille_sight::{FaceMask, Surface};
use nalgebra::Point3;
use std::sync::Arc;

/// What was computed before and still holds: nothing is computed twice for an
/// unchanged light on an unchanged surface.
///
/// What a light sees is kept by what decides it: the surface, the faces that let
/// the light through, and where it comes from and from how many sides. How
/// strong a lamp is and how it falls with distance is applied afterwards, so
/// changing that traces nothing. The kept numbers take no more bytes than the
/// bound; what was not asked for the longest goes first.
#[derive(Debug)]
pub struct Cache {
    bound: usize,
    /// The least recently asked for first.
    entries: Vec<Entry>,
}

impl Default for Cache {
    /// Bounded by [`Cache::BOUND`].
    fn default() -> Self {
        Self::bounded(Self::BOUND)
    }
}

/// Where a light comes from, as far as that decides who sees it.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Key {
    surface: u64,
    mask: FaceMask,
    seen_from: Place,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Place {
    Cap { tilt: f64, azimuth: f64, radius: f64, count: usize },
    Ring { count: usize },
    Sky { sky: Sky, count: usize },
    Glass { at: Point3<f64>, radius: Millimetres, clear: Millimetres, count: usize },
}

impl Key {
    pub(crate) fn of(surface: &Surface, light: &Light, settings: &ExposureSettings) -> Self {
        // A sharp light is one direction or one point, whatever the settings.
        let soft = |radius: f64| if radius > 0.0 { settings.soft_directions.max(1) } else { 1 };
        let seen_from = match light.kind {
            Kind::Zenithal { tilt, azimuth, radius } => {
                Place::Cap { tilt, azimuth, radius, count: soft(radius) }
            }
            Kind::Ring => Place::Ring { count: settings.ring_directions.max(1) },
            Kind::Ambient { sky } => Place::Sky { sky, count: settings.ambient_directions.max(1) },
            Kind::Point { at, radius, clear, .. } => {
                Place::Glass { at, radius, clear, count: soft(radius.0) }
            }
        };
        Self { surface: surface.fingerprint, mask: light.mask.clone(), seen_from }
    }
}

/// How a lamp's light is applied to what is seen of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Applied {
    pub(crate) reference: Millimetres,
    pub(crate) falloff: Falloff,
}

/// The sums of a light that has been looked at from some of its sides.
#[derive(Clone, Debug, Default)]
pub(crate) struct Sum {
    /// How many sides.
    pub(crate) done: usize,
    /// The weights of those that each sample sees.
    pub(crate) seen: Vec<f64>,
    /// The weights of those that it is turned toward.
    pub(crate) all: Vec<f64>,
    /// Being added to: of no use if that was interrupted.
    pub(crate) torn: bool,
}

/// How far a light has come.
#[derive(Clone, Debug)]
pub(crate) enum Held {
    /// Some of its sides.
    Part(Sum),
    /// All: the exposure itself, or of a lamp the share of its light that is seen.
    Whole(Arc<Vec<f32>>),
}

/// One light's numbers.
#[derive(Clone, Debug)]
pub(crate) struct Entry {
    pub(crate) key: Key,
    pub(crate) held: Held,
    /// A lamp's exposure, and how it was applied.
    pub(crate) made: Option<(Applied, Arc<Vec<f32>>)>,
}

impl Entry {
    fn bytes(&self) -> usize {
        let held = match &self.held {
            Held::Part(sum) => 8 * (sum.seen.len() + sum.all.len()),
            Held::Whole(values) => 4 * values.len(),
        };
        held + self.made.as_ref().map_or(0, |(_, values)| 4 * values.len())
    }
}

impl Cache {
    /// 128 MiB: twenty lights, or ten lamps, on 1.6 million samples.
    pub const BOUND: usize = 128 << 20;

    /// Nothing kept yet, and never more than so many bytes of numbers.
    #[must_use]
    pub fn bounded(bytes: usize) -> Self {
        Self { bound: bytes, entries: Vec::new() }
    }

    /// A second cache that holds what this one holds in full; the numbers are
    /// shared, not copied.
    #[must_use]
    pub fn fork(&self) -> Self {
        let whole = self.entries.iter().filter(|e| matches!(e.held, Held::Whole(_)));
        Self { bound: self.bound, entries: whole.cloned().collect() }
    }

    /// How many bytes the kept numbers take.
    #[must_use]
    pub fn bytes(&self) -> usize {
        self.entries.iter().map(Entry::bytes).sum()
    }

    /// What is kept of a light, taken out.
    pub(crate) fn take(&mut self, key: &Key) -> Option<Entry> {
        let at = self.entries.iter().position(|e| e.key == *key)?;
        Some(self.entries.remove(at))
    }

    /// Keeps a light, as the most recently asked for.
    pub(crate) fn put(&mut self, entry: Entry) {
        if matches!(&entry.held, Held::Part(sum) if sum.torn || sum.done == 0) {
            return;
        }
        // The same light may stand twice in a scene.
        self.entries.retain(|e| e.key != entry.key);
        self.entries.push(entry);
        while self.bytes() > self.bound {
            self.entries.remove(0);
        }
    }
}

//! The mixes of a list of paints, and the nearest of them to a colour.

use crate::difference::at_least;
use crate::mix::{Mix, Part};
use crate::{
    Curve, Finish, Lab, Nearness, Paint, Pigment, SAMPLES, colour_of_curve, difference, oklab_of,
    thick_reflectance,
};
use grisaille_base::{Stop, Watch};

/// What mixes are tried.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct MixSettings {
    /// Up to how many paints, 1 to 3.
    pub paints: usize,
    /// Up to how many parts in all. 4 gives what painters mix by eye: 1:1, 2:1, 3:1,
    /// 1:1:1 and 2:1:1; 16 at the most.
    pub parts: u8,
}

impl Default for MixSettings {
    fn default() -> Self {
        Self { paints: 3, parts: 4 }
    }
}

/// Why mixes cannot be searched.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum MixError {
    /// More mixes than fit in the memory of a small machine.
    #[error(
        "{paints} paints give {mixes} mixes; {most} are the most: mark with stock 0 what is not at hand, \
         mix fewer paints, or in fewer parts"
    )]
    TooMany {
        /// Paints that mix.
        paints: usize,
        /// Their mixes.
        mixes: u64,
        /// The most that are tried.
        most: u64,
    },
    /// No opaque paint at hand.
    #[error(
        "there is no opaque paint at hand: a mix needs one, and metallic or transparent paint alone is none"
    )]
    NoPaint,
    /// Stopped on request.
    #[error(transparent)]
    Stop(#[from] Stop),
}

/// The most mixes that are kept.
const MOST: u64 = 3_000_000;

/// A mix that was worked out: parts of paints (those not used have 0).
#[derive(Clone, Copy, Debug)]
struct Entry {
    colour: Lab,
    oklab: [f64; 3],
    /// How far it moves when it is measured by eye, in ΔE00.
    sway: f64,
    paints: [u16; 3],
    parts: [u8; 3],
}

/// All mixes of a list of paints, ready to be searched.
///
/// Left out are metallic paints, whose look no reflectance curve tells; paints that
/// the list says are used up; and mixes that are transparent for more than half their
/// parts, which hardly cover.
#[derive(Clone, Debug)]
pub struct Mixes {
    /// By the number of paints in them, from one; each in order of lightness.
    by_count: Vec<Vec<Entry>>,
    /// How many paints the list holds.
    listed: usize,
}

impl Mixes {
    /// Works out all mixes of the paints.
    ///
    /// # Errors
    /// When there are too many, no opaque paint is at hand, or on request.
    pub fn of(paints: &[Paint], settings: MixSettings, watch: &Watch) -> Result<Self, MixError> {
        let usable: Vec<(u16, &Paint)> =
            (0..=u16::MAX).zip(paints).filter(|(_, p)| p.at_hand() && p.finish != Finish::Metallic).collect();
        if !usable.iter().any(|(_, p)| p.finish == Finish::Opaque) {
            return Err(MixError::NoPaint);
        }
        let shares = (1..=settings.paints.clamp(1, 3)).map(|n| shares(n, settings.parts.min(16)));
        let shares: Vec<Vec<[u8; 3]>> = shares.collect();
        let counted = count(usable.len() as u64, &shares);
        if counted > MOST {
            return Err(MixError::TooMany { paints: usable.len(), mixes: counted, most: MOST });
        }
        let pigments: Vec<(u16, Pigment)> = usable.iter().map(|(i, p)| (*i, Pigment::of(p))).collect();
        let span = watch.span("mixes", counted);
        let mut by_count = Vec::new();
        for shares in &shares {
            let of_first = watch.map(pigments.len(), |first| entries(&pigments, first, shares))?;
            let all = watch.leave(move |_| {
                let mut all: Vec<Entry> = of_first.into_iter().flatten().collect();
                // Stable, so that equally light mixes stay in the order of the list.
                all.sort_by(|a, b| a.colour.l.total_cmp(&b.colour.l));
                all
            })?;
            span.advance(all.len() as u64);
            span.count("mixes", all.len() as u64);
            by_count.push(all);
        }
        Ok(Self { by_count, listed: paints.len() })
    }

    /// How many mixes there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.by_count.iter().map(Vec::len).sum()
    }

    /// Whether there is none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The nearest mix of one paint, of two and of three, as far as the settings go.
    /// Nearest is by ΔE00; where that is out of reach (above 6) by the distance in Oklab,
    /// since ΔE00 is made for small differences and far off prefers a grey to a paler
    /// purple. Of equally near ones the darker, then the first by the order of the list.
    #[must_use]
    pub fn nearest_by_count(&self, wanted: Lab) -> Vec<Mix> {
        self.by_count.iter().filter_map(|entries| nearest(entries, wanted)).collect()
    }

    /// The mix to make: of the nearest mixes the one of the fewest paints that is no
    /// more than 1 (which is just seen) farther off than the nearest of all; where all are
    /// out of reach, no more than a hundredth of Oklab.
    #[must_use]
    pub fn nearest(&self, wanted: Lab) -> Option<Mix> {
        let found = self.nearest_by_count(wanted);
        let within = |m: &Mix| m.nearness() != Nearness::OutOfReach;
        let off = |m: &Mix| match found.iter().any(within) {
            true => m.apart,
            false => 100.0 * apart(oklab_of(m.colour), oklab_of(wanted)),
        };
        let least = found.iter().map(off).fold(f64::INFINITY, f64::min);
        found.iter().find(|m| off(m) <= least + 1.0).cloned()
    }

    /// Every mix as its parts, its colour and its [`sway`], for those that choose by other means.
    pub(crate) fn each(&self) -> impl Iterator<Item = (Vec<Part>, Lab, f64)> {
        self.by_count.iter().flatten().map(|e| (e.in_parts(), e.colour, e.sway))
    }

    /// How many paints the list holds.
    pub(crate) fn listed(&self) -> usize {
        self.listed
    }
}

impl Entry {
    fn in_parts(&self) -> Vec<Part> {
        let each = self.paints.iter().zip(self.parts).filter(|(_, parts)| *parts > 0);
        let mut parts: Vec<Part> =
            each.map(|(paint, parts)| Part { paint: usize::from(*paint), parts }).collect();
        parts.sort_by_key(|p| std::cmp::Reverse(p.parts));
        parts
    }
}

/// The nearest of entries in order of lightness: from the wanted lightness outward,
/// until lightness alone is too far off.
fn nearest(entries: &[Entry], wanted: Lab) -> Option<Mix> {
    let start = entries.partition_point(|e| e.colour.l < wanted.l);
    // (15) and (18) of CIEDE2000: S_L is 1.75 at the most.
    let too_far = |e: &Entry, best: f64| (e.colour.l - wanted.l).abs() > 1.75 * best + 1e-6;
    let (mut best, mut found): (f64, Option<usize>) = (f64::INFINITY, None);
    let mut look = |i: usize, best: &mut f64| {
        if at_least(wanted, entries[i].colour) <= *best {
            let apart = difference(wanted, entries[i].colour);
            if apart < *best || (apart == *best && found.is_none_or(|f| i < f)) {
                (*best, found) = (apart, Some(i));
            }
        }
    };
    let (mut below, mut above) = (start, start);
    loop {
        let down = below > 0 && !too_far(&entries[below - 1], best);
        let up = above < entries.len() && !too_far(&entries[above], best);
        if down {
            below -= 1;
            look(below, &mut best);
        }
        if up {
            look(above, &mut best);
            above += 1;
        }
        if !down && !up {
            break;
        }
    }
    let mut entry = &entries[found?];
    if Nearness::of(best) == Nearness::OutOfReach {
        let there = oklab_of(wanted);
        let off = |e: &&Entry| apart(e.oklab, there);
        entry = entries.iter().min_by(|a, b| off(a).total_cmp(&off(b)))?;
        best = difference(wanted, entry.colour);
    }
    Some(Mix { parts: entry.in_parts(), colour: entry.colour, apart: best })
}

/// The distance of two points.
fn apart(one: [f64; 3], other: [f64; 3]) -> f64 {
    (0..3).map(|k| (one[k] - other[k]).powi(2)).sum::<f64>().sqrt()
}

/// All ways to share up to `most` parts among so many paints that cannot be said in
/// smaller numbers.
fn shares(paints: usize, most: u8) -> Vec<[u8; 3]> {
    let upto = |used: bool| if used { 1..=most } else { 0..=0 };
    let mut out = Vec::new();
    for a in 1..=most {
        for b in upto(paints > 1) {
            for c in upto(paints > 2) {
                let sum = u32::from(a) + u32::from(b) + u32::from(c);
                if gcd(a, gcd(b, c)) == 1 && (paints == 1 || sum <= u32::from(most)) {
                    out.push([a, b, c]);
                }
            }
        }
    }
    out
}

fn gcd(a: u8, b: u8) -> u8 {
    if b == 0 { a } else { gcd(b, a % b) }
}

/// How many mixes n paints give.
fn count(n: u64, shares: &[Vec<[u8; 3]>]) -> u64 {
    let choices = [n, n * n.saturating_sub(1) / 2, n * n.saturating_sub(1) / 2 * n.saturating_sub(2) / 3];
    choices.iter().zip(shares).map(|(c, s)| c * s.len() as u64).sum()
}

/// The mixes whose first paint is `first`.
fn entries(pigments: &[(u16, Pigment)], first: usize, shares: &[[u8; 3]]) -> Vec<Entry> {
    let used = shares.first().map_or(0, |s| s.iter().filter(|p| **p > 0).count());
    let mut out = Vec::new();
    let mut add = |chosen: [usize; 3]| {
        let of = chosen.map(|i| &pigments[i]);
        let ids = of.map(|(id, _)| *id);
        for parts in shares {
            let covers = |i: usize| parts[i] * u8::from(of[i].1.numbers().1 > 0.0);
            if 2 * (covers(0) + covers(1) + covers(2)) < parts.iter().sum() {
                continue;
            }
            let (of, share) = (of.map(|(_, pigment)| pigment), parts.map(f64::from));
            if let Some(colour) = colour_of_shares(of, share) {
                let sway = swayed(colour, of, share);
                out.push(Entry { colour, oklab: oklab_of(colour), sway, paints: ids, parts: *parts });
            }
        }
    };
    match used {
        1 => add([first; 3]),
        2 => (first + 1..pigments.len()).for_each(|i| add([first, i, first])),
        _ => {
            for i in first + 1..pigments.len() {
                (i + 1..pigments.len()).for_each(|j| add([first, i, j]));
            }
        }
    }
    out
}

/// The colour of a mix; `None` without an opaque paint in it.
fn colour_of_shares(pigments: [&Pigment; 3], share: [f64; 3]) -> Option<Lab> {
    let [(k1, s1), (k2, s2), (k3, s3)] = pigments.map(Pigment::numbers);
    let scatters = share[0] * s1 + share[1] * s2 + share[2] * s3;
    if scatters <= 0.0 {
        return None;
    }
    let [x, y, z] = share.map(|s| s / scatters);
    let curve: [f64; SAMPLES] = std::array::from_fn(|i| thick_reflectance(x * k1[i] + y * k2[i] + z * k3[i]));
    Some(colour_of_curve(&Curve::new(curve)))
}

/// What measuring by eye is off by: a part is a quarter more than was meant (our assumption of what a brush picks up).
const MEASURED: f64 = 1.25;

/// How far a mix moves, in ΔE00, when its parts are measured by eye: the root of the sum of squares over its paints,
/// each a quarter more than was meant. A single paint does not move; a little black in white moves most. The
/// prediction is off in the same way where a paint's strength is not what was assumed, so that a mix that sways little
/// is also one that is known better.
///
/// `None` for no paints or more than three, for one that is not in the list, and without an opaque one.
#[must_use]
pub fn sway(parts: &[Part], paints: &[Paint]) -> Option<f64> {
    let pigments = parts.iter().map(|p| paints.get(p.paint).map(Pigment::of)).collect::<Option<Vec<_>>>()?;
    let first = pigments.first().filter(|_| pigments.len() <= 3)?;
    let of = std::array::from_fn(|i| pigments.get(i).unwrap_or(first));
    let share = std::array::from_fn(|i| parts.get(i).map_or(0.0, |p| f64::from(p.parts)));
    colour_of_shares(of, share).map(|colour| swayed(colour, of, share))
}

/// How far the colour of a mix moves when its shares are measured by eye.
fn swayed(colour: Lab, of: [&Pigment; 3], share: [f64; 3]) -> f64 {
    if share.iter().filter(|s| **s > 0.0).count() < 2 {
        return 0.0;
    }
    let moved = (0..3).filter(|i| share[*i] > 0.0).filter_map(|i| {
        let mut more = share;
        more[i] *= MEASURED;
        colour_of_shares(of, more)
    });
    moved.map(|m| difference(colour, m).powi(2)).sum::<f64>().sqrt()
}

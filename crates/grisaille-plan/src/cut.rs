//! Where bands are cut, so that each gets its share of the figure.

use crate::band::Painted;
use crate::field::area_below;
use grisaille_mesh::Part;

/// A border lies in a crowd where more than this share of the area lies within
/// [`NEAR`] of it: that is a plate or a floor, which has one value all over.
const CROWD: f64 = 0.08;
/// What lies so near a border, L*, falls to either side of it by chance.
const NEAR: f64 = 0.5;
/// How far a border moves out of a crowd at most, L*.
const ASIDE: f64 = 2.0;
/// In steps of so much.
const STEP: f64 = 0.1;

/// The L* below which each running share of the figure's painted area lies.
///
/// Where such a border would run through a crowd, it moves to the emptiest
/// place close by: a plate belongs to one band, or its border would follow
/// nothing but the last trace of noise on it. The shares of the bands above
/// then keep their proportions in what is left.
pub(crate) fn cut(shares: &[f64], faces: &[Painted]) -> Vec<f64> {
    let has_figure = faces.iter().any(|f| f.part == Part::Figure);
    let figure = faces.iter().filter(|f| !has_figure || f.part == Part::Figure);
    let mut all = Below { settled: 0.0, open: figure.collect() };
    let area: f64 = all.open.iter().map(|f| f.area).sum();
    // What lies below the last border, and the shares of the bands above it.
    let (mut reached, mut left) = (0.0, shares.iter().sum::<f64>());
    let mut borders: Vec<f64> = Vec::new();
    for share in &shares[..shares.len().saturating_sub(1)] {
        // A plate may have taken more than its band's share: the others divide
        // what it leaves, and none stays empty.
        let running = reached + share / left * (1.0 - reached);
        left -= share;
        let last = borders.last().copied();
        // Where a plate took all that is left, nothing lies above it.
        let border = level_of(&all, running * area).max(last.unwrap_or(0.0));
        let least = last.map_or(0.0, |b| b + NEAR);
        let around = all.within(border - ASIDE - NEAR, border + ASIDE + NEAR);
        let clear = beside_crowd(border, least, running, |level| around.at(level) / area);
        reached = if clear == border { running } else { around.at(clear) / area };
        borders.push(clear);
        all = all.within(clear - ASIDE - NEAR, f64::INFINITY);
    }
    borders
}

/// The level, 0 to 100, below which lies so much area: by bisection, as the
/// area below a level never falls while the level rises.
fn level_of(all: &Below<'_>, area: f64) -> f64 {
    let (mut low, mut high) = (0.0, 100.0);
    let mut near = all.within(low, high);
    for _ in 0..40 {
        let level = f64::midpoint(low, high);
        if near.at(level) < area {
            low = level;
        } else {
            high = level;
        }
        near = near.within(low, high);
    }
    high
}

/// How much area lies below a level, where only some faces are open to question.
struct Below<'f> {
    /// What lies below any level that may be asked.
    settled: f64,
    /// What a level may run through.
    open: Vec<&'f Painted>,
}

impl<'f> Below<'f> {
    /// The area in mm² below a level.
    fn at(&self, level: f64) -> f64 {
        self.settled + self.open.iter().map(|f| f.area * area_below(f.values, level)).sum::<f64>()
    }

    /// The same for levels above `low`, up to `high`: each face that no such
    /// level runs through is settled, so that asking costs less.
    fn within(&self, low: f64, high: f64) -> Self {
        let mut settled = self.settled;
        let mut open = Vec::new();
        for face in &self.open {
            let [a, b, c] = face.values;
            if a.max(b).max(c) <= low {
                settled += face.area;
            } else if a.min(b).min(c) < high {
                open.push(*face);
            }
        }
        Self { settled, open }
    }
}

/// A border out of the crowd that it lies in, if it does: on either side of it
/// the place with the least near it, the nearest of several, at `least` or
/// above; of the two the one that leaves nearer to the `wanted` share below it.
/// `below` is the share of the area below a level.
fn beside_crowd(border: f64, least: f64, wanted: f64, below: impl Fn(f64) -> f64) -> f64 {
    let near = |level: f64| below(level + NEAR) - below(level - NEAR);
    let crowd = near(border);
    if crowd.is_nan() || crowd <= CROWD {
        return border;
    }
    let steps = (ASIDE / STEP).round() as i32;
    let emptiest = |way: f64| {
        (1..=steps)
            .map(|k| border + way * f64::from(k) * STEP)
            .filter(|level| *level >= least && *level <= 100.0)
            .map(|level| (level, near(level)))
            .filter(|(_, near)| *near <= CROWD)
            .reduce(|best, next| if next.1 < best.1 { next } else { best })
    };
    let off = |level: f64| (below(level) - wanted).abs();
    match (emptiest(-1.0), emptiest(1.0)) {
        (Some((low, _)), Some((high, _))) => {
            if off(high) < off(low) {
                high
            } else {
                low
            }
        }
        (Some((level, _)), None) | (None, Some((level, _))) => level,
        (None, None) => border,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_settled_changes_no_answer() {
        let faces: Vec<Painted> = (0..400_u32)
            .map(|i| Painted {
                part: Part::Figure,
                area: f64::from(i * 7919 % 31 + 1),
                // A third of them level all over.
                values: [0, 1, 2].map(|k| f64::from((i + (i % 3) * k * 57) * 104_729 % 1000) / 10.0),
            })
            .collect();
        let all = Below { settled: 0.0, open: faces.iter().collect() };
        for (low, high) in [(0.0, 100.0), (20.0, 60.0), (40.0, 40.5), (99.9, 200.0)] {
            let near = all.within(low, high).within(low, high);
            for k in 1..=20 {
                let level = low + (high - low) * f64::from(k) / 20.0;
                assert!((near.at(level) - all.at(level)).abs() < 1e-9, "{low} {high} {level}");
            }
        }
        // All on one plate: borders still rise.
        for tone in [0.0, 0.3, 50.0, 99.8, 100.0] {
            let plate = [Painted { part: Part::Figure, area: 3.0, values: [tone; 3] }];
            let borders = cut(&[20.0, 25.0, 25.0, 20.0, 10.0], &plate);
            assert!(borders.is_sorted() && borders.iter().all(|b| (0.0..=100.0).contains(b)), "{borders:?}");
        }
        assert!(cut(&[1.0, 1.0, 1.0], &[]).is_sorted());
        // By its definition: as much lies below each border as its shares say.
        let area: f64 = faces.iter().map(|f| f.area).sum();
        let borders = cut(&[20.0, 25.0, 25.0, 20.0, 10.0], &faces);
        for (border, share) in borders.iter().zip([0.2, 0.45, 0.7, 0.9]) {
            // Levels held in tenths: a border falls on one that many faces have.
            assert!((all.at(*border) / area - share).abs() < 0.01, "{border}");
        }
    }
}

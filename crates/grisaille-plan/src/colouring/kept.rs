//! Rows that need not be made anew: what each was made from, and what came of it.

use super::RegionColours;
use super::wording::Words;
use grisaille_base::{Finding, RegionId};
use grisaille_colour::Lab;
use grisaille_scheme::{
    BandChoice, FaceChoice, LightEntry, Material, MoodChoice, RegionPaint, RegionSpot, Route, Scheme, Skipped,
};

/// What [`colouring_keeping`](super::colouring_keeping) has made of one plan, one division into regions, one shelf
/// and what lies open and is seen; with any other of these a new one is needed. A row that comes from here is
/// the one that would be made anew, bit for bit.
#[derive(Debug, Default)]
pub struct KeptRows {
    rows: Vec<Kept>,
    /// Borders between steps on the whole figure, for each set of shares.
    figure: Vec<(Vec<f64>, Vec<f64>)>,
    /// What materials that light themselves show at each sample, and from which side.
    light: Vec<((Material, f64), Vec<f32>)>,
    /// Which entry paints which region, and what entries said of that.
    which: Option<(Vec<Names>, Which)>,
    round: u64,
}

/// By what an entry names its regions.
type Names = (String, Vec<RegionSpot>, bool);
/// For each region its entry; what was noticed.
type Which = (Vec<Option<usize>>, Vec<Finding>);

#[derive(Debug)]
struct Kept {
    of: Inputs,
    row: RegionColours,
    used: u64,
}

/// What one row is made from, beside what a [`KeptRows`] is for.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Inputs {
    entry: RegionPaint,
    regions: Vec<RegionId>,
    base: Lab,
    /// What words mean; of one that means nothing, nothing.
    ramp: Vec<Option<Lab>>,
    line: Option<Lab>,
    faces: Vec<(FaceChoice, Option<Lab>)>,
    mood: Option<MoodChoice>,
    route: Route,
    skip: Vec<Skipped>,
    lights: Vec<LightEntry>,
    bands: BandChoice,
}

impl Inputs {
    /// The inputs of an entry's row, with what its words mean.
    pub(super) fn of(
        scheme: &Scheme,
        entry: &RegionPaint,
        regions: Vec<RegionId>,
        base: Lab,
        words: &Words<'_>,
    ) -> Self {
        let colour = |word: &String| words.colour(&entry.name, word).ok();
        let skin = entry.material == Material::Skin;
        let faces = scheme.colours.faces.iter().filter(|_| skin);
        let faces = faces.map(|face| (face.clone(), face.eyes.as_ref().and_then(colour)));
        Self {
            // Which regions it paints is known, and what its colour means.
            entry: RegionPaint { at: Vec::new(), rest: false, colour: String::new(), ..entry.clone() },
            regions,
            base,
            ramp: entry.ramp.iter().map(colour).collect(),
            line: entry.line.as_ref().and_then(colour),
            faces: faces.collect(),
            mood: scheme.colours.mood.clone(),
            route: scheme.colours.route,
            skip: scheme.colours.skip.clone(),
            lights: scheme.lights.clone(),
            bands: scheme.bands.clone(),
        }
    }
}

impl KeptRows {
    /// Begins a colouring; what was not used for long makes room, so that there are never more rows than three times
    /// the scheme's entries.
    pub(super) fn begin(&mut self, entries: usize) {
        self.round += 1;
        self.rows.sort_by_key(|kept| std::cmp::Reverse(kept.used));
        self.rows.truncate(2 * entries);
        self.figure.truncate(16);
    }

    /// Which entry paints which region, made by `make` if that was not asked before.
    pub(super) fn which(&mut self, entries: &[RegionPaint], make: impl FnOnce() -> Which) -> Which {
        let names: Vec<Names> = entries.iter().map(|e| (e.name.clone(), e.at.clone(), e.rest)).collect();
        match &self.which {
            Some((of, which)) if *of == names => which.clone(),
            _ => self.which.insert((names, make())).1.clone(),
        }
    }

    /// The row of some inputs, if it was made.
    pub(super) fn row(&mut self, of: &Inputs) -> Option<RegionColours> {
        let kept = self.rows.iter_mut().find(|kept| kept.of == *of)?;
        kept.used = self.round;
        Some(kept.row.clone())
    }

    /// Keeps a row.
    pub(super) fn keep(&mut self, of: Inputs, row: &RegionColours) {
        self.rows.push(Kept { of, row: row.clone(), used: self.round });
    }

    /// Borders on the whole figure for some shares, made by `make` if there are none.
    pub(super) fn figure(&mut self, shares: &[f64], make: impl FnOnce() -> Vec<f64>) -> &[f64] {
        let at = match self.figure.iter().position(|(of, _)| of == shares) {
            Some(at) => at,
            None => {
                self.figure.push((shares.to_vec(), make()));
                self.figure.len() - 1
            }
        };
        &self.figure[at].1
    }

    /// What a material shows by itself, looked at from a side, made by `make` if that was not asked before.
    pub(super) fn light<E>(
        &mut self,
        of: (Material, f64),
        make: impl FnOnce() -> Result<Option<Vec<f32>>, E>,
    ) -> Result<Option<Vec<f32>>, E> {
        /// Each is a number for each sample.
        const MOST: usize = 6;
        if let Some((_, light)) = self.light.iter().find(|(known, _)| *known == of) {
            return Ok(Some(light.clone()));
        }
        let made = make()?;
        if let Some(made) = &made {
            if self.light.len() >= MOST {
                self.light.remove(0);
            }
            self.light.push((of, made.clone()));
        }
        Ok(made)
    }
}

//! The shelf: the painter's paints, and what can be mixed from them.

use crate::stage::Bottle;
use grisaille_base::Watch;
use grisaille_colour::{
    Finish, Lab, Mix, MixError, MixSettings, Mixes, Paint, Part, difference, pick_paints, share_paints,
};
use grisaille_scheme::PaintChoice;

/// The most paints that the steps of one ramp share.
const OPEN_POTS: usize = 5;

/// A line is darker by so much than what it parts, L*, as far as there are paints for it.
const DARKER: f64 = 2.0;
/// So many ever darker lines are sought where paints do not come near.
const LINE_TRIES: u32 = 4;
/// A dark line of less chroma (CIELAB) than this is plain black.
const LEAST_CHROMA: f64 = 3.0;
/// Metallic paints farther apart than this in ΔE00 are two metals, not two tones of one.
const SAME_METAL: f64 = 15.0;

/// Paints and their mixes.
#[derive(Clone, Debug)]
pub struct Shelf {
    /// The list of paints.
    pub paints: Vec<Paint>,
    mixes: Option<Mixes>,
    unmixed: bool,
}

impl Shelf {
    /// Works out all mixes of a list of paints.
    ///
    /// # Errors
    /// When there are too many mixes, no opaque paint is at hand, or on request.
    pub fn of(paints: Vec<Paint>, choice: &PaintChoice, watch: &Watch) -> Result<Self, MixError> {
        let settings = MixSettings { paints: choice.most.into(), parts: choice.parts };
        let mixes = Mixes::of(&paints, settings, watch)?;
        Ok(Self { paints, mixes: Some(mixes), unmixed: choice.unmixed })
    }

    /// A shelf without paints: colours alone are planned.
    #[must_use]
    pub fn empty() -> Self {
        Self { paints: Vec::new(), mixes: None, unmixed: false }
    }

    /// Whether there is nothing to mix.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.mixes.is_none()
    }

    /// A mix for each step of a ramp, darkest first, that share their paints; none without paints.
    ///
    /// # Errors
    /// On request.
    pub fn ramp(&self, wanted: &[Lab], watch: &Watch) -> Result<Vec<Option<Mix>>, grisaille_base::Stop> {
        let Some(mixes) = &self.mixes else { return Ok(vec![None; wanted.len()]) };
        let picked = if self.unmixed { pick_paints(&self.paints, wanted) } else { None };
        let steps = match picked {
            Some(steps) => steps,
            // Too few single paints for so many steps: mixed after all.
            None => share_paints(mixes, wanted, OPEN_POTS, watch)?.map(|s| s.steps).unwrap_or_default(),
        };
        let mut steps: Vec<Option<Mix>> = steps.into_iter().map(Some).collect();
        steps.resize(wanted.len(), None);
        Ok(steps)
    }

    /// The nearest mix to one colour.
    #[must_use]
    pub fn nearest(&self, wanted: Lab) -> Option<Mix> {
        self.mixes.as_ref()?.nearest(wanted)
    }

    /// The mix for a dark line: the nearest that is no plain black and darker than `below`, L*, as far as the paints
    /// go; else the nearest that is one of the two.
    #[must_use]
    pub fn line(&self, wanted: Lab, below: f64) -> Option<Mix> {
        let mixes = self.mixes.as_ref()?;
        // Where what comes nearest is too light, what comes nearest to darker lines may do.
        let darker = (0..LINE_TRIES)
            .map(|n| Lab { l: wanted.l * (1.0 - f64::from(n) / f64::from(LINE_TRIES)), ..wanted });
        let found: Vec<Mix> = darker.flat_map(|wanted| mixes.nearest_by_count(wanted)).collect();
        let nearest = |coloured: bool, dark: bool| {
            let fits = found.iter().filter(|m| {
                (!coloured || m.colour.chroma() >= LEAST_CHROMA) && (!dark || m.colour.l <= below - DARKER)
            });
            let apart = |m: &Mix| difference(wanted, m.colour);
            fits.min_by(|a, b| apart(a).total_cmp(&apart(b)))
        };
        let best = nearest(true, true).or_else(|| nearest(false, true));
        let best = best.or_else(|| nearest(true, false)).or_else(|| nearest(false, false));
        best.map(|mix| Mix { apart: difference(wanted, mix.colour), ..mix.clone() })
    }

    /// For each step of a metal the metallic paint at hand that comes nearest, alone: of those that look like the
    /// one nearest to its base colour; none without any.
    #[must_use]
    pub fn metals(&self, base: Lab, wanted: &[Lab]) -> Vec<Option<Mix>> {
        let apart = |i: usize, want: Lab| difference(want, self.paints[i].colour);
        let nearest = |want: Lab, among: &dyn Fn(usize) -> bool| {
            let metals = self.single(Finish::Metallic).filter(|i| among(*i));
            metals.min_by(|a, b| apart(*a, want).total_cmp(&apart(*b, want)))
        };
        let Some(own) = nearest(base, &|_| true) else { return vec![None; wanted.len()] };
        let alike = |i: usize| apart(i, self.paints[own].colour) <= SAME_METAL;
        wanted.iter().map(|want| nearest(*want, &alike).map(|p| self.alone(p, *want))).collect()
    }

    /// The transparent paint at hand that comes nearest to a colour, alone.
    #[must_use]
    pub fn stain(&self, wanted: Lab) -> Option<Mix> {
        let apart = |i: &usize| difference(wanted, self.paints[*i].colour);
        let nearest = self.single(Finish::Transparent).min_by(|a, b| apart(a).total_cmp(&apart(b)))?;
        Some(self.alone(nearest, wanted))
    }

    /// A mix in words; nothing where there are no paints.
    #[must_use]
    pub fn in_words(&self, mix: Option<&Mix>) -> Option<String> {
        mix.map(|m| m.in_words(&self.paints))
    }

    /// The paints of a mix, the main one first; none where there are no paints.
    #[must_use]
    pub fn bottles(&self, mix: Option<&Mix>) -> Vec<Bottle> {
        let paints = mix.iter().flat_map(|m| &m.parts).filter_map(|part| self.paints.get(part.paint));
        paints
            .map(|p| Bottle {
                name: p.name.clone(),
                colour: p.colour,
                metallic: p.finish == Finish::Metallic,
            })
            .collect()
    }

    fn single(&self, finish: Finish) -> impl Iterator<Item = usize> {
        let usable = move |p: &Paint| p.finish == finish && p.at_hand();
        (0..self.paints.len()).filter(move |i| usable(&self.paints[*i]))
    }

    fn alone(&self, paint: usize, wanted: Lab) -> Mix {
        let colour = self.paints[paint].colour;
        Mix { parts: vec![Part { paint, parts: 1 }], colour, apart: difference(wanted, colour) }
    }
}

//! Which step of which row stands at a spot of the surface.

use super::wash::{gathered, open_for_wash};
use super::{Colouring, EyePart, Face, FaceColours, RegionColours, StepColour};
use crate::plan::Plan;
use grisaille_base::Lightness;
use grisaille_colour::{Lab, Mix, Oklch, oklab_of};
use grisaille_scheme::Material;
use nalgebra::{Point3, Vector3};

/// The step of a lightness between borders, counted from 0.
pub(crate) fn step_of(borders: &[f64], lightness: f64) -> usize {
    borders.iter().filter(|b| lightness >= **b).count()
}

/// The row and the step, counted from 0, at a spot of a face given by the weights of its
/// corners; `None` where the scheme paints nothing.
#[must_use]
pub fn step_at(colouring: &Colouring, plan: &Plan, face: usize, weights: [f32; 3]) -> Option<(usize, usize)> {
    let row = colouring.row_of_face(face)?;
    let lightness = colouring.rows[row].lightness_at(plan, face, weights);
    Some((row, step_of(&colouring.rows[row].borders, lightness)))
}

impl RegionColours {
    /// What its steps are cut from, at a spot.
    fn lightness_at(&self, plan: &Plan, face: usize, weights: [f32; 3]) -> f64 {
        let corners = plan.corners(face, self.cut_from(plan)).unwrap_or([0.0; 3]);
        (0..3).map(|i| f64::from(corners[i]) * f64::from(weights[i])).sum()
    }

    /// What its steps are cut from: an L* for each sample of the surface, the planned value unless its
    /// material lights itself.
    #[must_use]
    pub fn cut_from<'a>(&'a self, plan: &'a Plan) -> &'a [f32] {
        self.field.as_ref().unwrap_or(&plan.bands.lightness)
    }

    /// Whether its steps are cut from the same numbers as another row's of the same plan.
    #[must_use]
    pub fn lights_itself_as(&self, other: &Self) -> bool {
        self.field == other.field
    }

    /// Its steps where a zone's light rules.
    #[must_use]
    pub fn steps_in(&self, plan: &Plan, zone: u8) -> &[StepColour] {
        let light = usize::from(zone).checked_sub(1).and_then(|z| plan.lights.get(z));
        let lit = light.and_then(|l| self.lit.iter().find(|r| r.light == l.id));
        lit.map_or(&self.ramp, |r| &r.steps)
    }
}

/// What comes out in a band.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BandCover {
    /// Of the painted surface, 0 to 1.
    pub share: f64,
    /// The mean tone of it by area; none where there is nothing.
    pub tone: Option<Lightness>,
}

impl Colouring {
    /// The colour of one step, as it will stand at a spot, in the light that rules there, or of what of an eye is
    /// painted there; `None` where the scheme paints nothing.
    #[must_use]
    pub fn flat_at(&self, plan: &Plan, face: usize, weights: [f32; 3]) -> Option<Lab> {
        let (row, step) = step_at(self, plan, face, weights)?;
        let row = &self.rows[row];
        if let Some((nearest, at)) = row.nearest_face(plan, face, weights)
            && let Some(part) = nearest.eye_at(at)
        {
            return Some(row.eye_colour(&nearest.colours, part));
        }
        Some(row.steps_in(plan, plan.zone_at(face, weights))[step].shown())
    }

    /// The names of what is painted as true metal: it shows light by itself.
    #[must_use]
    pub fn true_metal(&self) -> Vec<String> {
        let metal = self.rows.iter().filter(|row| row.material == Material::Tmm);
        metal.map(|row| row.name.clone()).collect()
    }

    /// Whether a face is painted as true metal.
    #[must_use]
    pub fn is_true_metal(&self, face: usize) -> bool {
        self.row_of_face(face).is_some_and(|row| self.rows[row].material == Material::Tmm)
    }

    /// The band, counted from 0, that the step at a spot comes out in once it is painted; where the scheme paints
    /// nothing, that of the planned value.
    #[must_use]
    pub fn band_at(&self, plan: &Plan, face: usize, weights: [f32; 3]) -> usize {
        match self.flat_at(plan, face, weights) {
            Some(colour) => plan.bands.of_paint(Lightness(colour.l)),
            None => usize::from(plan.band_at(face, weights)),
        }
    }

    /// What comes out in each band, darkest first: each step of each row by the tone of its mix, what is not painted
    /// by its planned value.
    #[must_use]
    pub fn band_covers(&self, plan: &Plan) -> Vec<BandCover> {
        // Areas, and sums of L* over them.
        let mut sums = vec![(0.0, 0.0); plan.bands.rows.len()];
        let mut add = |band: usize, area: f64, l: f64| {
            sums[band].0 += area;
            sums[band].1 += area * l;
        };
        for row in &self.rows {
            for step in row.ramp.iter().chain(row.lit.iter().flat_map(|lit| &lit.steps)) {
                let l = step.shown().l;
                add(plan.bands.of_paint(Lightness(l)), step.area_mm2, l);
            }
        }
        let surface = &plan.surface;
        let bare = |f: &usize| plan.part_of_face[*f].is_painted() && self.row_of_face(*f).is_none();
        for f in (0..surface.faces.len()).filter(bare) {
            for s in
                surface.faces[f].map(|s| s as usize).into_iter().filter(|s| !surface.samples.buried.get(*s))
            {
                let band = plan.band_of_sample(s, plan.part_of_face[f]);
                add(usize::from(band), surface.face_area(f) / 3.0, f64::from(plan.bands.lightness[s]));
            }
        }
        let all: f64 = sums.iter().map(|(area, _)| area).sum();
        let cover = |(area, sum): (f64, f64)| BandCover {
            share: area / all.max(f64::MIN_POSITIVE),
            tone: (area > 0.0).then(|| Lightness(sum / area)),
        };
        sums.into_iter().map(cover).collect()
    }

    /// The colour at a spot once steps and zones are blended: in Oklab between the middles of the steps, and
    /// from daylight to the light of a lamp where they add alike; with what a wash leaves in recesses.
    #[must_use]
    pub fn blended_at(&self, plan: &Plan, face: usize, weights: [f32; 3]) -> Option<Lab> {
        let row = &self.rows[self.row_of_face(face)?];
        let place = place_on_ramp(&row.borders, row.lightness_at(plan, face, weights));
        let mut colour = row.between(&row.ramp, place);
        for lit in &row.lit {
            let Some(lamp) = plan.lights.iter().position(|l| l.id == lit.light) else { continue };
            let share = plan.zones.share_at(&plan.surface, face, weights, lamp);
            let t = ((share - FEATHER.0) / (FEATHER.1 - FEATHER.0)).clamp(0.0, 1.0);
            let t = t * t * (3.0 - 2.0 * t);
            colour = lerp(colour, row.between(&lit.steps, place), t);
        }
        let [l, a, b] = row.faced(plan, face, weights, colour);
        let colour = Lab::from(Oklch { l, chroma: a.hypot(b), hue: b.atan2(a).to_degrees() });
        Some(row.washed(plan, (face, weights), colour, place))
    }
}

impl RegionColours {
    /// Of several faces on one skin the nearest to a spot, and where the spot is; `None` without faces.
    fn nearest_face(&self, plan: &Plan, face: usize, weights: [f32; 3]) -> Option<(&Face, Point3<f64>)> {
        let first = self.faces.first()?;
        let corners =
            plan.surface.faces[face].map(|s| plan.surface.samples.position[s as usize].coords.cast::<f64>());
        let at = Point3::from((0..3).map(|i| corners[i] * f64::from(weights[i])).sum::<Vector3<f64>>());
        let far = |f: &Face| (f.nose - at).norm();
        let nearest = self.faces.iter().min_by(|a, b| far(a).total_cmp(&far(b))).unwrap_or(first);
        Some((nearest, at))
    }

    /// What of an eye is painted at a spot, if anything.
    #[must_use]
    pub fn eye_at(&self, plan: &Plan, face: usize, weights: [f32; 3]) -> Option<EyePart> {
        let (nearest, at) = self.nearest_face(plan, face, weights)?;
        nearest.eye_at(at)
    }

    /// The colour of a part of an eye, as it is mixed.
    fn eye_colour(&self, colours: &FaceColours, part: EyePart) -> Lab {
        let as_mixed = |(wanted, mix): &(Lab, Option<Mix>)| mix.as_ref().map_or(*wanted, |m| m.colour);
        match part {
            EyePart::White => as_mixed(&colours.white),
            EyePart::Iris => as_mixed(&colours.iris),
            EyePart::Liner => as_mixed(&colours.liner),
            EyePart::Catchlight => self.spot.shown(),
        }
    }

    /// A colour in Oklab with what a face has on top of the ramp: red, lips, beard, eyes.
    fn faced(&self, plan: &Plan, face: usize, weights: [f32; 3], colour: [f64; 3]) -> [f64; 3] {
        let Some((nearest, at)) = self.nearest_face(plan, face, weights) else { return colour };
        let colours = &nearest.colours;
        if let Some(part) = nearest.eye_at(at) {
            return oklab_of(self.eye_colour(colours, part));
        }
        // Laid over as glazes: each shifts the step by what it differs from the base.
        let base = oklab_of(self.base);
        let features = nearest.features(at);
        let laid =
            [(features.red, &colours.red), (features.lips, &colours.lips), (features.cool, &colours.cool)];
        laid.into_iter().fold(colour, |colour, (much, own)| {
            let own = oklab_of(own.0);
            [0, 1, 2].map(|k| colour[k] + much * (own[k] - base[k]))
        })
    }
}

impl RegionColours {
    /// How open a spot of it is for a wash, 0 to 1, from how open it lies: where it lies deep as a whole, beside its own
    /// middle.
    #[must_use]
    pub fn open_for_wash(&self, open: f64) -> f64 {
        open_for_wash(open, self.open)
    }

    /// A colour with what is left of its wash. Lights are painted after the wash and cover it, from the base step to
    /// the next; a pin wash comes after them.
    fn washed(&self, plan: &Plan, at: (usize, [f32; 3]), colour: Lab, place: (usize, f64)) -> Lab {
        let (Some(wash), Some(open)) = (&self.wash, &plan.openness) else { return colour };
        let (face, weights) = at;
        let corner = |i: usize| {
            let s = plan.surface.faces[face][i] as usize;
            let up = f64::from(plan.surface.samples.normal[s].z);
            let open = self.open_for_wash(f64::from(open.values[s]));
            f64::from(weights[i]) * gathered(open, up, wash.pin)
        };
        let coats: f64 = (0..3).map(corner).sum();
        let covered = (place.0 as f64 + place.1 - self.base_step() as f64).clamp(0.0, 1.0);
        wash.over(colour, place, if wash.pin { coats } else { coats * (1.0 - covered) })
    }
}

/// The shares of all light between which a lamp takes over from daylight.
const FEATHER: (f64, f64) = (0.3, 0.6);

impl RegionColours {
    /// What a step looks like on the figure: metal is one paint that light shades by itself.
    fn look_of(&self, step: &StepColour) -> Lab {
        let shown = step.shown();
        match self.material {
            Material::Tmm => Lab { l: step.wanted.l, ..shown }.within_srgb(),
            _ => shown,
        }
    }

    /// The colour in Oklab between two steps.
    fn between(&self, steps: &[StepColour], (low, t): (usize, f64)) -> [f64; 3] {
        let at = |i: usize| oklab_of(self.look_of(&steps[i.min(steps.len() - 1)]));
        lerp(at(low), at(low + 1), t)
    }
}

fn lerp(one: [f64; 3], other: [f64; 3], t: f64) -> [f64; 3] {
    [0, 1, 2].map(|k| one[k] + (other[k] - one[k]) * t)
}

/// The step below a lightness, counted from 0, and how far it is on the way to the next one, 0 to 1: steps
/// stand in the middle between their borders, the outer ones as far beyond theirs as the next one's before it.
fn place_on_ramp(borders: &[f64], lightness: f64) -> (usize, f64) {
    let last = borders.len();
    let middle = |i: usize| match (i.checked_sub(1).map(|b| borders[b]), borders.get(i)) {
        (Some(low), Some(high)) => f64::midpoint(low, *high),
        (Some(low), None) => low + 0.5 * last_gap(borders, true),
        (None, Some(high)) => high - 0.5 * last_gap(borders, false),
        (None, None) => lightness,
    };
    match (0..=last).position(|i| middle(i) >= lightness) {
        None => (last, 0.0),
        Some(0) => (0, 0.0),
        Some(i) => {
            let (low, high) = (middle(i - 1), middle(i));
            (i - 1, ((lightness - low) / (high - low).max(1e-9)).clamp(0.0, 1.0))
        }
    }
}

/// The distance between the two outermost borders on one end; 20 L* of a lone border.
fn last_gap(borders: &[f64], top: bool) -> f64 {
    let n = borders.len();
    match (n, top) {
        (0 | 1, _) => 20.0,
        (_, true) => borders[n - 1] - borders[n - 2],
        (_, false) => borders[1] - borders[0],
    }
}

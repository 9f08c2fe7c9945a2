//! Colouring: what each region is painted with, step by step, in each light.
//!
//! ```text
//! scheme's words -> base colour -> mood -> ramp -> tinted in each light's zone -> mixes
//! regions + values -> borders between the steps on each region
//! ```

mod face;
mod find;
mod kept;
mod layers;
mod material;
mod own_light;
mod row;
mod seen;
mod shelf;
mod steps;
mod tones;
mod wash;
mod which;
mod wording;

pub use face::{EyePart, Face, FaceColours, FacePart, Features};
pub(crate) use find::step_of;
pub use find::{BandCover, step_at};
pub use kept::KeptRows;
pub use layers::{ThinLayer, ground_of, thin_layer};
pub use material::{MaterialRule, material_rule};
pub(crate) use material::{brush, technique};
pub use seen::seen;
pub use shelf::Shelf;
pub use wash::{Wash, wash_thickness};
pub(crate) use which::entries_of_regions;
pub use wording::ColourWordError;

use crate::openness::Openness;
use crate::plan::Plan;
use grisaille_base::{Code, Finding, LightId, Place, RegionId, Stop, Watch};
use grisaille_colour::{Lab, Mix};
use grisaille_form::{Ground, Regions};
use grisaille_scheme::{Material, Scheme};
use nalgebra::Point3;
use row::RowMaker;
use std::ops::Range;
pub(crate) use steps::mean_by_area;
use wording::Words;

/// A step of a ramp.
#[derive(Clone, Debug, PartialEq)]
pub struct StepColour {
    /// The colour that is wanted.
    pub wanted: Lab,
    /// The mix for it, if there are paints.
    pub mix: Option<Mix>,
    /// Painted area in mm².
    pub area_mm2: f64,
    /// The mean planned value of what it covers; of a step that covers nothing, 0.
    pub value: f64,
}

impl StepColour {
    /// What will stand on the figure: the mix, or without paints what was wanted.
    #[must_use]
    pub fn shown(&self) -> Lab {
        self.mix.as_ref().map_or(self.wanted, |m| m.colour)
    }
}

/// The darkest that stands on a ramp: as it is wanted, or what its mixes or glaze make of it where that is darker.
pub(crate) fn darkest(ramp: &[StepColour]) -> Lab {
    let seen = ramp.iter().filter(|step| step.area_mm2 > 0.0).map(StepColour::shown);
    let all = seen.chain([ramp[0].wanted]);
    all.min_by(|a, b| a.l.total_cmp(&b.l)).unwrap_or(ramp[0].wanted)
}

/// The steps of a ramp where one lamp is the strongest light.
#[derive(Clone, Debug, PartialEq)]
pub struct LitRamp {
    /// Which lamp.
    pub light: LightId,
    /// Its name.
    pub name: String,
    /// Darkest first, as many as the ramp has. Those of one tone are of one colour and one mix.
    pub steps: Vec<StepColour>,
    /// The tones that it is painted with, darkest first: which steps each stands for, as ranges that follow on each
    /// other and cover all steps.
    pub tones: Vec<Range<usize>>,
    /// Painted area in mm².
    pub area_mm2: f64,
}

impl LitRamp {
    /// The tone that stands for a step, both counted from 0.
    #[must_use]
    pub fn tone_of(&self, step: usize) -> usize {
        self.tones.iter().position(|steps| steps.contains(&step)).unwrap_or(0)
    }
}

/// What some regions are painted with.
#[derive(Clone, Debug, PartialEq)]
pub struct RegionColours {
    /// Which entry of the scheme it follows, counted from 0.
    pub entry: usize,
    /// The name at the bench.
    pub name: String,
    /// The regions, by their ids.
    pub regions: Vec<RegionId>,
    /// What it is made of.
    pub material: Material,
    /// The base colour, in the mood.
    pub base: Lab,
    /// Darkest first, 3 to 6, in daylight: the light of the rig.
    pub ramp: Vec<StepColour>,
    /// On the transparent route the glaze over the primer's greys in daylight.
    pub glaze: Option<ThinLayer>,
    /// L* at the borders between steps, one less than steps, not falling.
    pub borders: Vec<f64>,
    /// Steps where lamps rule, as far as they cover enough to be painted.
    pub lit: Vec<LitRamp>,
    /// The line in its recesses.
    pub line: StepColour,
    /// The last touch of light on it.
    pub spot: StepColour,
    /// The wash over it, where its material takes one, the scheme skips none and there are paints.
    pub wash: Option<Wash>,
    /// Painted area in mm².
    pub area_mm2: f64,
    /// Its share of what the main views show of the figure and its base, 0 to 1.
    pub seen_share: f64,
    /// The mean openness of its surface, 0 to 1.
    pub open: f64,
    /// The share of its area that is the base's.
    pub on_base: f64,
    /// Faces on it, if it is skin.
    pub faces: Vec<Face>,
    /// The ramp before light fell on it.
    plain: Vec<Lab>,
    /// What its steps are cut from at each sample, where that is not the planned value.
    field: Option<Vec<f32>>,
}

impl RegionColours {
    /// Its ramp in white light, darkest first: what a ramp by hand begins with.
    #[must_use]
    pub fn plain_ramp(&self) -> &[Lab] {
        &self.plain
    }

    /// The one colour that it goes by: that of its base coat, or where it is glazed the mean by area of what stands
    /// there.
    #[must_use]
    pub fn middle(&self) -> Lab {
        match self.ramp.get(self.base_step()) {
            Some(_) if self.glaze.is_some() => mean_by_area(self.ramp.iter()),
            Some(base) => base.shown(),
            None => self.base,
        }
    }

    /// Whether a step, counted from 0, is left as the base coat has it.
    pub(crate) fn stays_base_coat(&self, step: usize) -> bool {
        let (own, coat) = (&self.ramp[step], &self.ramp[self.base_step()]);
        own.wanted == coat.wanted && own.mix == coat.mix
    }

    /// The step of its ramp that its base coat has, counted from 0: the one whose lightness is nearest to the base
    /// colour's, or where hardly any of that is left to see, the one that covers most.
    #[must_use]
    pub fn base_step(&self) -> usize {
        steps::base_coat(&self.ramp, self.base)
    }
}

/// The planned colours of a figure.
#[derive(Clone, Debug, PartialEq)]
pub struct Colouring {
    /// What is painted, in the order of the scheme.
    pub rows: Vec<RegionColours>,
    /// For each region, by its id, its row.
    pub row_of_region: Vec<Option<usize>>,
    /// Region entries that fit nothing, regions without a colour.
    pub findings: Vec<Finding>,
    region_of_face: Vec<RegionId>,
}

/// Why a figure cannot be coloured.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ColouringError {
    /// A word of the scheme that names no colour.
    #[error(transparent)]
    Word(#[from] ColourWordError),
    /// Stopped on request.
    #[error(transparent)]
    Stop(#[from] Stop),
}

/// What a figure is coloured from, beside its scheme and plan.
#[derive(Clone, Copy)]
pub struct ColouringGround<'a> {
    /// Where regions' places are looked up.
    pub ground: &'a Ground,
    /// The regions.
    pub regions: &'a Regions,
    /// The paints.
    pub shelf: &'a Shelf,
    /// How much the main views show of each sample.
    pub seen: &'a [f32],
    /// How open each sample lies.
    pub open: &'a Openness,
}

/// Colours a planned figure.
///
/// # Errors
/// When the scheme calls a colour by a word that nothing is called by, or on request.
pub fn colouring(
    scheme: &Scheme,
    plan: &Plan,
    from: ColouringGround<'_>,
    watch: &Watch,
) -> Result<Colouring, ColouringError> {
    colouring_keeping(scheme, plan, from, &mut KeptRows::default(), watch)
}

/// The same, where only rows whose inputs changed are made anew. What is kept must be of the same plan and ground.
///
/// # Errors
/// As of [`colouring`]; the rows that were made until then are kept.
pub fn colouring_keeping(
    scheme: &Scheme,
    plan: &Plan,
    from: ColouringGround<'_>,
    known: &mut KeptRows,
    watch: &Watch,
) -> Result<Colouring, ColouringError> {
    rows_of(scheme, plan, from, (known, true), watch)
}

/// The same at once: a row that is not kept is in the colours that are wanted, without mixes. Nothing more is kept by it.
///
/// # Errors
/// As of [`colouring`].
pub fn colouring_at_once(
    scheme: &Scheme,
    plan: &Plan,
    from: ColouringGround<'_>,
    known: &mut KeptRows,
    watch: &Watch,
) -> Result<Colouring, ColouringError> {
    rows_of(scheme, plan, from, (known, false), watch)
}

/// Makes all rows; those that are not kept are mixed and kept, or neither.
fn rows_of(
    scheme: &Scheme,
    plan: &Plan,
    from: ColouringGround<'_>,
    (known, mixes): (&mut KeptRows, bool),
    watch: &Watch,
) -> Result<Colouring, ColouringError> {
    let choice = &scheme.colours;
    let words = Words::of(choice, &from.shelf.paints);
    let which = || entries_of_regions(&choice.regions, from.ground, from.regions);
    let (row_of_region, mut findings) = known.which(&choice.regions, which);
    let bases: Vec<Lab> =
        choice.regions.iter().map(|entry| words.base(entry)).collect::<Result<_, ColourWordError>>()?;
    let bare = Shelf::empty();
    let unmixed = ColouringGround { shelf: if mixes { from.shelf } else { &bare }, ..from };
    let maker =
        RowMaker { scheme, plan, from: unmixed, row_of_region: &row_of_region, words: &words, keeps: mixes };
    known.begin(choice.regions.len());
    let span = watch.span("colours", choice.regions.len() as u64);
    let mut rows = Vec::new();
    let mut kept = vec![None; choice.regions.len()];
    for (k, entry) in choice.regions.iter().enumerate() {
        watch.check()?;
        if let Some(row) = maker.row(k, entry, bases[k], known, watch)? {
            kept[k] = Some(rows.len());
            rows.push(row);
        }
        span.advance(1);
    }
    let marked: usize = rows.iter().map(|r: &RegionColours| r.faces.len()).sum();
    if marked < choice.faces.len() {
        let hint =
            "a marked face lies on no region of the material skin: check its place, or the region's material";
        findings.push(Finding::new(Code::FaceWithoutSkin, (choice.faces.len() - marked) as u64, hint));
    }
    let faces = rows.iter().flat_map(|r| &r.faces);
    for face in faces.filter(|f| f.eye_misplaced) {
        let hint = "the eye marked for this face lies on no face of its size, turned this way: mark it again, or set \
                    where the face looks and its height; its eyes are painted where they usually are";
        findings.push(Finding::new(Code::EyeOffFace, 1, hint).at(Place::Point(face.nose.cast().into())));
    }
    let seen: f64 = rows.iter().map(|r| r.seen_share).sum();
    for row in &mut rows {
        row.seen_share /= seen.max(f64::MIN_POSITIVE);
    }
    let row_of_region = row_of_region.iter().map(|k| k.and_then(|k| kept[k])).collect();
    let region_of_face = from.regions.of_face.clone();
    Ok(Colouring { rows, row_of_region, findings, region_of_face })
}

impl Colouring {
    /// Where a part of the faces on a row is glazed, scene mm; empty where none of it is seen. What a lamp lights is
    /// painted over with its tones: there it would be in vain.
    #[must_use]
    pub fn face_places(&self, plan: &Plan, row: usize, part: FacePart) -> Vec<Point3<f32>> {
        let surface = &plan.surface;
        let own = surface.faces.iter().enumerate().filter(|(f, _)| self.row_of_face(*f) == Some(row));
        let mut corners: Vec<u32> = own.flat_map(|(_, corners)| *corners).collect();
        corners.sort_unstable();
        corners.dedup();
        let lit = |corner: u32| {
            let zone = plan.zones.of_sample[corner as usize];
            let lamp = plan.lamp_of_zone(zone).map(|lamp| plan.lights[lamp].id);
            lamp.is_some_and(|id| self.rows[row].lit.iter().any(|ramp| ramp.light == id))
        };
        let plain = corners.into_iter().filter(|corner| !lit(*corner));
        let points: Vec<Point3<f32>> = plain.map(|c| surface.samples.position[c as usize]).collect();
        self.rows[row].faces.iter().flat_map(|face| face.places(part, &points)).collect()
    }

    /// The row that paints a face of the surface.
    #[must_use]
    pub fn row_of_face(&self, face: usize) -> Option<usize> {
        let region = self.region_of_face.get(face)?;
        *self.row_of_region.get(region.index())?
    }
}

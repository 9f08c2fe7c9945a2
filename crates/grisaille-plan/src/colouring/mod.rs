//! Colouring: what each region is painted with, step by step, in each light.
//!
//! ```text
//! scheme's words -> base colour -> mood -> ramp -> tinted in each light's zone -> mixes
//! regions + values -> borders between the steps on each region
//! ```

mod find;
mod material;
mod own_light;
mod seen;
mod shelf;
mod steps;
mod which;
mod wording;

pub use find::step_at;
pub use material::{MaterialRule, material_rule};
pub use seen::seen;
pub use shelf::Shelf;
pub use wording::ColourWordError;

use crate::band::Painted;
use crate::field::open_corners;
use crate::openness::Openness;
use crate::plan::Plan;
use grisaille_base::{Finding, LightId, RegionId, Stop, Watch};
use grisaille_colour::{Lab, LinearRgb, Mix, Mood, RampSettings, line_colour, ramp, spot_colour, tinted};
use grisaille_form::{Ground, Regions};
use grisaille_mesh::Part;
use grisaille_scheme::{LightEntry, Material, RegionPaint, Scheme};
use wording::Words;

/// A zone of less than this share of a region, and of fewer touches of the brush than
/// [`TOUCHES`], gets no steps of its own.
const LEAST_ZONE: f64 = 0.03;
/// How many touches of the brush tip are too few.
const TOUCHES: f64 = 6.0;

/// A step of a ramp.
#[derive(Clone, Debug, PartialEq)]
pub struct StepColour {
    /// The colour that is wanted.
    pub wanted: Lab,
    /// The mix for it, if there are paints.
    pub mix: Option<Mix>,
    /// Painted area in mm².
    pub area_mm2: f64,
}

impl StepColour {
    /// What will stand on the figure: the mix, or without paints what was wanted.
    #[must_use]
    pub fn shown(&self) -> Lab {
        self.mix.as_ref().map_or(self.wanted, |m| m.colour)
    }
}

/// The steps of a ramp where one light is the strongest.
#[derive(Clone, Debug, PartialEq)]
pub struct LitRamp {
    /// Which light.
    pub light: LightId,
    /// Its name.
    pub name: String,
    /// Darkest first, as many as the ramp has.
    pub steps: Vec<StepColour>,
    /// Painted area in mm².
    pub area_mm2: f64,
}

/// What some regions are painted with.
#[derive(Clone, Debug, PartialEq)]
pub struct RegionColours {
    /// The name at the bench.
    pub name: String,
    /// The regions, by their ids.
    pub regions: Vec<RegionId>,
    /// What it is made of.
    pub material: Material,
    /// The base colour, in the mood.
    pub base: Lab,
    /// Darkest first, 3 to 6.
    pub ramp: Vec<StepColour>,
    /// L* at the borders between steps, one less than steps, not falling.
    pub borders: Vec<f64>,
    /// Steps in the zones of coloured lights.
    pub lit: Vec<LitRamp>,
    /// The line in its recesses.
    pub line: StepColour,
    /// The last touch of light on it.
    pub spot: StepColour,
    /// Painted area in mm².
    pub area_mm2: f64,
    /// Its share of what the main views show of the figure and its base, 0 to 1.
    pub seen_share: f64,
    /// The mean openness of its surface, 0 to 1.
    pub open: f64,
    /// The share of its area that is the base's.
    pub on_base: f64,
    /// What its steps are cut from at each sample, where that is not the planned value.
    field: Option<Vec<f32>>,
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
    let choice = &scheme.colours;
    let words = Words::of(choice, &from.shelf.paints);
    let (row_of_region, findings) = which::entries_of_regions(&choice.regions, from.ground, from.regions);
    let bases: Vec<Lab> =
        choice.regions.iter().map(|entry| words.base(entry)).collect::<Result<_, ColourWordError>>()?;
    let coloured = CutFrom {
        scheme,
        plan,
        from,
        row_of_region: &row_of_region,
        figure: painted_faces(plan, &plan.bands.lightness, |_| true),
    };
    let span = watch.span("colours", choice.regions.len() as u64);
    let mut rows = Vec::new();
    let mut kept = vec![None; choice.regions.len()];
    for (k, entry) in choice.regions.iter().enumerate() {
        watch.check()?;
        if let Some(row) = coloured.row(k, entry, bases[k], &words, watch)? {
            kept[k] = Some(rows.len());
            rows.push(row);
        }
        span.advance(1);
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
    /// The row that paints a face of the surface.
    #[must_use]
    pub fn row_of_face(&self, face: usize) -> Option<usize> {
        let region = self.region_of_face.get(face)?;
        *self.row_of_region.get(region.index())?
    }
}

/// What rows are made from.
struct CutFrom<'a> {
    scheme: &'a Scheme,
    plan: &'a Plan,
    from: ColouringGround<'a>,
    row_of_region: &'a [Option<usize>],
    figure: Vec<Painted>,
}

/// Sums over a row's painted surface.
#[derive(Default)]
struct Sums {
    area: f64,
    on_base: f64,
    seen: f64,
    open: f64,
}

impl CutFrom<'_> {
    /// A row of the colouring; `None` where it paints nothing.
    fn row(
        &self,
        k: usize,
        entry: &RegionPaint,
        base: Lab,
        words: &Words<'_>,
        watch: &Watch,
    ) -> Result<Option<RegionColours>, ColouringError> {
        let ids = (0..=u16::MAX).zip(self.row_of_region).filter(|(_, of)| **of == Some(k));
        let regions: Vec<RegionId> = ids.map(|(id, _)| RegionId(id)).collect();
        let own = |f: usize| {
            let region = self.from.regions.of_face.get(f);
            region.is_some_and(|r| self.row_of_region[r.index()] == Some(k))
        };
        let sums = self.sums(own);
        if sums.area <= 0.0 {
            return Ok(None);
        }
        let rule = material_rule(entry.material);
        let on_base = sums.on_base / sums.area;
        let wanted = self.wanted_ramp(entry, base, (&rule, on_base > 0.5), words)?;
        let azimuth = entry.seen_from.unwrap_or(0.0);
        let field = own_light::light_of_its_own(self.plan, self.from.open, entry.material, azimuth, watch)?;
        let shares = steps::step_shares(&self.scheme.bands, &self.plan.bands, wanted.len(), rule.narrow);
        let lightness = field.as_ref().unwrap_or(&self.plan.bands.lightness);
        let faces = painted_faces(self.plan, lightness, own);
        let figure = (!material::has_light_of_its_own(entry.material)).then_some(self.figure.as_slice());
        let borders = steps::step_borders(&shares, &faces, figure);
        let (areas, zones) = self.areas(own, lightness, &borders);
        let shelf = self.from.shelf;
        let metal = entry.material == Material::Tmm;
        let mixed = |wanted: &[Lab]| if metal { Ok(shelf.metals(wanted)) } else { shelf.ramp(wanted, watch) };
        let steps = |wanted: Vec<Lab>, areas: &[f64]| -> Result<Vec<StepColour>, Stop> {
            let mixes = mixed(&wanted)?;
            let each = wanted.into_iter().zip(mixes).zip(areas);
            Ok(each
                .map(|((wanted, mix), area_mm2)| StepColour { wanted, mix, area_mm2: *area_mm2 })
                .collect())
        };
        let mut lit = Vec::new();
        for (light, in_steps) in self.scheme.lights.iter().zip(zones) {
            let area: f64 = in_steps.iter().sum();
            let touch = std::f64::consts::PI * self.plan.brush.radius_mm.powi(2);
            if light.colour != LightEntry::WHITE && area > LEAST_ZONE * sums.area && area > TOUCHES * touch {
                let tint = LinearRgb::from_srgb8(light.colour);
                let wanted = wanted.iter().map(|c| tinted(*c, tint, 1.0)).collect();
                let steps = steps(wanted, &in_steps)?;
                lit.push(LitRamp { light: light.id, name: light.name.clone(), steps, area_mm2: area });
            }
        }
        let ramp = steps(wanted, &areas)?;
        let alone = |wanted: Lab| StepColour { wanted, mix: shelf.nearest(wanted), area_mm2: 0.0 };
        let line = match &entry.line {
            Some(word) => words.colour(&entry.name, word)?,
            None => line_colour(ramp[0].wanted, ramp[0].wanted),
        };
        Ok(Some(RegionColours {
            name: entry.name.clone(),
            regions,
            material: entry.material,
            base,
            borders,
            lit,
            line: alone(line),
            spot: alone(spot_colour(LinearRgb::from_srgb8(self.ruling_light(own)))),
            area_mm2: sums.area,
            seen_share: sums.seen,
            open: sums.open / sums.area,
            on_base,
            field,
            ramp,
        }))
    }

    fn wanted_ramp(
        &self,
        entry: &RegionPaint,
        base: Lab,
        (rule, on_base): (&MaterialRule, bool),
        words: &Words<'_>,
    ) -> Result<Vec<Lab>, ColourWordError> {
        if !entry.ramp.is_empty() {
            return entry.ramp.iter().map(|word| words.colour(&entry.name, word)).collect();
        }
        let mood = self.scheme.colours.mood.as_ref();
        let mood = mood.and_then(|m| Some((Mood::named(&m.name)?, m.strength)));
        let settings = RampSettings {
            steps: entry.steps.map(usize::from),
            light: Lab::from(LinearRgb::from_srgb8(self.sky_colour())),
            mood,
            contrast: entry.contrast.unwrap_or(rule.contrast),
            skin: entry.material == Material::Skin,
            ..RampSettings::default()
        };
        let mut wanted = ramp(base, &settings);
        // A base never takes the figure's highlights.
        if on_base && entry.steps.is_none() && wanted.len() > 3 {
            wanted.pop();
        }
        Ok(wanted)
    }

    /// The colour of the strongest light of the rig: lights bend toward it all over the figure.
    fn sky_colour(&self) -> [u8; 3] {
        let rig = self
            .scheme
            .lights
            .iter()
            .filter(|l| !matches!(l.choice, grisaille_scheme::LightChoice::Lamp { .. }));
        rig.max_by(|a, b| a.weight.total_cmp(&b.weight)).map_or(LightEntry::WHITE, |l| l.colour)
    }

    /// The colour of the light that rules the most of a row.
    fn ruling_light(&self, own: impl Fn(usize) -> bool) -> [u8; 3] {
        let mut areas = vec![0.0; self.scheme.lights.len() + 1];
        self.each_corner(own, |_, s, third| {
            if let Some(area) = areas.get_mut(usize::from(self.plan.zones.of_sample[s])) {
                *area += third;
            }
        });
        let lights = self.scheme.lights.iter().zip(&areas[1..]);
        lights.max_by(|a, b| a.1.total_cmp(b.1)).map_or(LightEntry::WHITE, |(l, _)| l.colour)
    }

    fn sums(&self, own: impl Fn(usize) -> bool) -> Sums {
        let mut sums = Sums::default();
        self.each_corner(own, |f, s, third| {
            sums.area += third;
            sums.on_base += if self.plan.part_of_face[f] == Part::Base { third } else { 0.0 };
            sums.seen += third * f64::from(self.from.seen.get(s).copied().unwrap_or(0.0));
            sums.open += third * f64::from(self.from.open.values.get(s).copied().unwrap_or(1.0));
        });
        sums
    }

    /// The area of each step, and of each step in the zone of each light.
    fn areas(
        &self,
        own: impl Fn(usize) -> bool,
        lightness: &[f32],
        borders: &[f64],
    ) -> (Vec<f64>, Vec<Vec<f64>>) {
        let mut areas = vec![0.0; borders.len() + 1];
        let mut zones = vec![areas.clone(); self.scheme.lights.len()];
        self.each_corner(own, |_, s, third| {
            let step = find::step_of(borders, f64::from(lightness[s]));
            areas[step] += third;
            let zone = usize::from(self.plan.zones.of_sample[s]).checked_sub(1);
            if let Some(zone) = zone.and_then(|z| zones.get_mut(z)) {
                zone[step] += third;
            }
        });
        (areas, zones)
    }

    /// Every open corner of the painted faces: its face, its sample, a third of the face's area in mm².
    fn each_corner(&self, own: impl Fn(usize) -> bool, mut hear: impl FnMut(usize, usize, f64)) {
        let surface = &self.plan.surface;
        for f in (0..surface.faces.len()).filter(|f| self.plan.part_of_face[*f] != Part::Underside && own(*f))
        {
            let third = surface.face_area(f) / 3.0;
            for s in surface.faces[f].map(|s| s as usize) {
                if !surface.samples.buried.get(s) {
                    hear(f, s, third);
                }
            }
        }
    }
}

/// Faces to cut borders from; a base counts as a figure here.
fn painted_faces(plan: &Plan, lightness: &[f32], own: impl Fn(usize) -> bool) -> Vec<Painted> {
    let surface = &plan.surface;
    let faces = (0..surface.faces.len()).filter(|f| plan.part_of_face[*f] != Part::Underside && own(*f));
    faces
        .filter_map(|f| {
            let values = open_corners(surface, f, lightness)?.map(f64::from);
            let open = surface.open_corners(f) as f64 / 3.0;
            Some(Painted { part: Part::Figure, area: surface.face_area(f) * open, values })
        })
        .collect()
}

//! One row of a colouring: from an entry of the scheme to steps, borders and areas.

use super::kept::{Inputs, KeptRows};
use super::wash::takes_wash;
use super::wording::Words;
use super::{
    ColouringError, ColouringGround, Face, FaceColours, LitRamp, MaterialRule, RegionColours, Shelf,
    StepColour, ThinLayer, Wash, darkest, find, material, material_rule, own_light, steps, thin_layer, tones,
};
use crate::band::{Painted, painted_where};
use crate::cut::cut;
use crate::plan::Plan;
use grisaille_base::{RegionId, Stop, Watch};
use grisaille_colour::{
    Curve, Lab, LinearRgb, Mix, Mood, Nearness, RampSettings, curve_of, difference, line_colour, ramp,
    spot_colour, tinted,
};
use grisaille_form::Anchor;
use grisaille_light::Kind;
use grisaille_mesh::Part;
use grisaille_scheme::{LightEntry, Material, RegionPaint, Route, Scheme, Skipped};
use nalgebra::Point3;
use std::ops::Range;

/// A lamp's zone of less than this share of a row, or of but a few dots of the brush, gets no steps of its own.
const LEAST_ZONE: f64 = 0.03;

/// What rows are made from.
pub(super) struct RowMaker<'a> {
    pub(super) scheme: &'a Scheme,
    pub(super) plan: &'a Plan,
    pub(super) from: ColouringGround<'a>,
    /// The entry that paints each region.
    pub(super) row_of_region: &'a [Option<usize>],
    pub(super) words: &'a Words<'a>,
    /// Whether rows that are made are kept.
    pub(super) keeps: bool,
}

/// What a step covers.
#[derive(Clone, Copy, Default)]
struct Covered {
    area: f64,
    /// Planned values times area.
    values: f64,
}

/// What a row covers in one light: its steps, and the sum of light on it in linear red, green and blue.
#[derive(Clone, Default)]
struct Zone {
    steps: Vec<Covered>,
    light: [f64; 3],
}

impl Covered {
    /// The mean planned value of what it covers; of nothing, 0.
    fn value(&self) -> f64 {
        self.values / self.area.max(f64::MIN_POSITIVE)
    }
}

impl Zone {
    fn area(&self) -> f64 {
        self.steps.iter().map(|c| c.area).sum()
    }

    fn add(&mut self, other: &Self) {
        for (a, b) in self.steps.iter_mut().zip(&other.steps) {
            a.area += b.area;
            a.values += b.values;
        }
        for (a, b) in self.light.iter_mut().zip(other.light) {
            *a += b;
        }
    }

    /// The mean colour of all light that falls there, for tinting.
    fn tint(&self) -> LinearRgb {
        let [r, g, b] = self.light;
        let most = r.max(g).max(b);
        if most > 0.0 {
            let of = |x: f64| (x / most) as f32;
            LinearRgb { r: of(r), g: of(g), b: of(b) }
        } else {
            LinearRgb::WHITE
        }
    }
}

/// Sums over a row's painted surface.
#[derive(Default)]
struct Sums {
    area: f64,
    on_base: f64,
    seen: f64,
    open: f64,
}

impl RowMaker<'_> {
    /// A row of the colouring, the kept one if there is one; `None` where it paints nothing.
    pub(super) fn row(
        &self,
        k: usize,
        entry: &RegionPaint,
        base: Lab,
        known: &mut KeptRows,
        watch: &Watch,
    ) -> Result<Option<RegionColours>, ColouringError> {
        let ids = (0..=u16::MAX).zip(self.row_of_region).filter(|(_, of)| **of == Some(k));
        let regions: Vec<RegionId> = ids.map(|(id, _)| RegionId(id)).collect();
        let inputs = Inputs::of(self.scheme, entry, regions.clone(), base, self.words);
        if let Some(row) = known.row(&inputs) {
            return Ok(Some(RegionColours { entry: k, ..row }));
        }
        let made = self.made(k, (entry, regions), base, known, watch)?;
        if let Some(row) = made.as_ref().filter(|_| self.keeps) {
            known.keep(inputs, row);
        }
        Ok(made)
    }

    fn made(
        &self,
        k: usize,
        (entry, regions): (&RegionPaint, Vec<RegionId>),
        base: Lab,
        known: &mut KeptRows,
        watch: &Watch,
    ) -> Result<Option<RegionColours>, ColouringError> {
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
        let wanted = self.wanted_ramp(entry, base, (&rule, on_base > 0.5))?;
        let azimuth = entry.seen_from.unwrap_or(0.0);
        let faces =
            if entry.material == Material::Skin { self.faces(&entry.name, base, own)? } else { Vec::new() };
        let field = if faces.is_empty() {
            let (plan, open, material) = (self.plan, self.from.open, entry.material);
            known.light((material, azimuth), || {
                own_light::light_of_its_own(plan, open, material, azimuth, watch)
            })?
        } else {
            Some(self.relieved(&faces))
        };
        let shares = steps::step_shares(&self.scheme.bands, &self.plan.bands, wanted.len(), rule.narrow);
        let lightness = field.as_ref().unwrap_or(&self.plan.bands.lightness);
        let surface = painted_faces(self.plan, lightness, own);
        let on_figure = || cut(&shares, &painted_faces(self.plan, &self.plan.bands.lightness, |_| true));
        let figure = match material::has_light_of_its_own(entry.material) {
            true => None,
            false => Some(known.figure(&shares, on_figure)),
        };
        let borders = steps::step_borders(&shares, &surface, figure);
        let (mut daylight, zones) = self.zones(own, lightness, &borders);
        let metal = entry.material == Material::Tmm;
        let dots = self.plan.brush.few_dots_mm2();
        let mut lit = Vec::new();
        for (light, zone) in self.plan.lights.iter().zip(zones) {
            let area = zone.area();
            // Metal shows a lamp's light by itself; what shines needs none.
            let plain = metal || entry.material == Material::Glow;
            if plain || area <= LEAST_ZONE * sums.area || area <= dots {
                daylight.add(&zone);
                continue;
            }
            let wanted: Vec<Lab> = wanted.iter().map(|c| tinted(*c, zone.tint(), 1.0)).collect();
            let (steps, tones) = self.lit(&wanted, &zone, dots, watch)?;
            lit.push(LitRamp { light: light.id, name: light.name.clone(), steps, tones, area_mm2: area });
        }
        let tint = if metal || entry.material == Material::Glow { LinearRgb::WHITE } else { daylight.tint() };
        let lit_by_day = wanted.iter().map(|c| tinted(*c, tint, 1.0)).collect();
        // A glaze lightens nothing: what shines is painted, to be the lightest of all.
        let thin = !metal && entry.material != Material::Glow;
        let transparent = self.scheme.colours.route == Route::Transparent && thin;
        let (mut ramp, glaze) = self.mixed(lit_by_day, &daylight, (metal, transparent), base, watch)?;
        if glaze.is_none() {
            steps::without_dots(&mut ramp, base, dots);
            if !metal {
                steps::without_equals(&mut ramp, base);
            }
        }
        let alone = |wanted: Lab, mix: Option<Mix>| StepColour { wanted, mix, area_mm2: 0.0, value: 0.0 };
        let line = match &entry.line {
            Some(word) => self.words.colour(&entry.name, word)?,
            None => line_colour(darkest(&ramp), darkest(&ramp)),
        };
        let spot = spot_colour(daylight.tint());
        let spot = alone(spot, self.from.shelf.nearest(spot));
        let line = alone(line, self.from.shelf.line(line, darkest(&ramp).l));
        let skipped = self.scheme.colours.skip.contains(&Skipped::Wash) || on_base > 0.5;
        let takes = takes_wash(entry.material).filter(|_| !skipped);
        let wash = takes.and_then(|pin| Wash::of(&ramp, &line, self.from.shelf, pin));
        Ok(Some(RegionColours {
            entry: k,
            name: entry.name.clone(),
            regions,
            material: entry.material,
            base,
            borders,
            lit,
            line,
            spot,
            wash,
            area_mm2: sums.area,
            seen_share: sums.seen,
            open: sums.open / sums.area,
            on_base,
            glaze,
            faces,
            plain: wanted,
            field,
            ramp,
        }))
    }

    /// The marked faces on a row: those whose nose lies on it.
    fn faces(&self, name: &str, base: Lab, own: impl Fn(usize) -> bool) -> Result<Vec<Face>, ColouringError> {
        let mut faces = Vec::new();
        for choice in &self.scheme.colours.faces {
            let nose = Anchor { point: Point3::from(choice.at).cast(), normal: None };
            if !self.from.ground.face_at(&nose).is_some_and(&own) {
                continue;
            }
            let iris = match &choice.eyes {
                Some(word) => self.words.colour(name, word)?,
                None => Lab::new(24.0, 8.0, 12.0),
            };
            let colours = FaceColours::of(base, iris, &|wanted| self.from.shelf.nearest(wanted));
            faces.push(Face::of(choice, self.plan, colours));
        }
        Ok(faces)
    }

    /// Planned values with the planes of faces in relief.
    fn relieved(&self, faces: &[Face]) -> Vec<f32> {
        let samples = &self.plan.surface.samples;
        let each = self.plan.bands.lightness.iter().zip(&samples.position).zip(&samples.normal);
        each.map(|((lightness, at), normal)| {
            let relief: f64 = faces.iter().map(|f| f.relief(at.cast(), normal.cast())).sum();
            (f64::from(*lightness) + relief).clamp(0.0, 100.0) as f32
        })
        .collect()
    }

    /// Steps with their mixes and what they cover, and where they are to be transparent and a glaze serves, that glaze.
    /// Opaque steps are not held to the greys of the primer.
    fn mixed(
        &self,
        wanted: Vec<Lab>,
        zone: &Zone,
        (metal, transparent): (bool, bool),
        base: Lab,
        watch: &Watch,
    ) -> Result<(Vec<StepColour>, Option<ThinLayer>), Stop> {
        let shelf = self.from.shelf;
        if transparent {
            let wanted = no_lighter_than_below(&wanted, zone);
            let mut mixes = shelf.ramp(&wanted, watch)?;
            if let Some(glaze) = glazed(shelf, &wanted, zone, base, &mut mixes) {
                return Ok((steps_over(wanted, mixes, &zone.steps), Some(glaze)));
            }
        }
        let mixes = if metal { shelf.metals(base, &wanted) } else { shelf.ramp(&wanted, watch)? };
        Ok((steps_over(wanted, mixes, &zone.steps), None))
    }

    /// Steps where a lamp rules, in few tones, and which steps each tone stands for; what covers no more than `dots` in
    /// mm² makes no tone. What a lamp lights is painted over what is there, on every route.
    fn lit(
        &self,
        wanted: &[Lab],
        zone: &Zone,
        dots: f64,
        watch: &Watch,
    ) -> Result<(Vec<StepColour>, Vec<Range<usize>>), Stop> {
        let areas = zone.steps.iter().map(|c| if c.area > dots { c.area } else { 0.0 });
        let steps: Vec<(Lab, f64)> = wanted.iter().copied().zip(areas).collect();
        let (tones, colours): (Vec<_>, Vec<Lab>) =
            tones::few_tones(&steps, tones::LIT_TONES).into_iter().unzip();
        let mixes = self.from.shelf.ramp(&colours, watch)?;
        let each = tones.iter().zip(colours).zip(mixes);
        let steps = each.flat_map(|((tone, wanted), mix)| {
            let (wanted, mixes) = (vec![wanted; tone.len()], vec![mix; tone.len()]);
            steps_over(wanted, mixes, &zone.steps[tone.clone()])
        });
        Ok((steps.collect(), tones))
    }

    fn wanted_ramp(
        &self,
        entry: &RegionPaint,
        base: Lab,
        (rule, on_base): (&MaterialRule, bool),
    ) -> Result<Vec<Lab>, ColouringError> {
        if !entry.ramp.is_empty() {
            let each = entry.ramp.iter().map(|word| self.words.colour(&entry.name, word));
            return Ok(each.collect::<Result<_, _>>()?);
        }
        let mood = self.scheme.colours.mood.as_ref();
        let settings = RampSettings {
            steps: entry.steps.map(usize::from),
            light: Lab::from(self.sky_colour()),
            mood: mood.and_then(|m| Some((Mood::named(&m.name)?, m.strength))),
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

    /// The colour of the strongest light of the rig: the lights of ramps bend toward it.
    fn sky_colour(&self) -> LinearRgb {
        let lights = self.plan.lights.iter().zip(&self.scheme.lights);
        let rig = lights.filter(|(l, _)| !matches!(l.kind, Kind::Point { .. }));
        let strongest = rig.max_by(|a, b| a.1.weight.total_cmp(&b.1.weight));
        LinearRgb::from_srgb8(strongest.map_or(LightEntry::WHITE, |(_, entry)| entry.colour))
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

    /// What the row covers in daylight, and where each light of the plan rules that is a lamp.
    fn zones(&self, own: impl Fn(usize) -> bool, lightness: &[f32], borders: &[f64]) -> (Zone, Vec<Zone>) {
        let empty = Zone { steps: vec![Covered::default(); borders.len() + 1], light: [0.0; 3] };
        let mut daylight = empty.clone();
        let mut zones = vec![empty; self.plan.lights.len()];
        let colours: Vec<[f64; 3]> = self
            .scheme
            .lights
            .iter()
            .map(|l| LinearRgb::from_srgb8(l.colour))
            .map(|c| [c.r, c.g, c.b].map(|x| f64::from(x) / c.luminance().max(1e-6)))
            .collect();
        self.each_corner(own, |_, s, third| {
            let step = find::step_of(borders, f64::from(lightness[s]));
            let zone = match self.plan.lamp_of_zone(self.plan.zones.of_sample[s]) {
                Some(lamp) => &mut zones[lamp],
                None => &mut daylight,
            };
            zone.steps[step].area += third;
            zone.steps[step].values += third * f64::from(self.plan.bands.lightness[s]);
            for (share, colour) in self.plan.zones.shares_of(s).zip(&colours) {
                for (sum, c) in zone.light.iter_mut().zip(colour) {
                    *sum += third * f64::from(share) * c;
                }
            }
        });
        (daylight, zones)
    }

    /// Every open corner of the painted faces: its face, its sample, a third of the face's area in mm².
    fn each_corner(&self, own: impl Fn(usize) -> bool, mut hear: impl FnMut(usize, usize, f64)) {
        let surface = &self.plan.surface;
        for f in (0..surface.faces.len()).filter(|f| self.plan.part_of_face[*f].is_painted() && own(*f)) {
            let third = surface.face_area(f) / 3.0;
            for s in surface.faces[f].map(|s| s as usize) {
                if !surface.samples.buried.get(s) {
                    hear(f, s, third);
                }
            }
        }
    }
}

/// Steps with their colours, mixes and what they cover.
fn steps_over(wanted: Vec<Lab>, mixes: Vec<Option<Mix>>, covered: &[Covered]) -> Vec<StepColour> {
    let each = wanted.into_iter().zip(mixes).zip(covered);
    each.map(|((wanted, mix), c)| StepColour { wanted, mix, area_mm2: c.area, value: c.value() }).collect()
}

/// Thin paint lightens nothing: on the transparent route no step is lighter than the primer's grey below it, and what
/// is darkened keeps its saturation.
fn no_lighter_than_below(wanted: &[Lab], zone: &Zone) -> Vec<Lab> {
    let each = wanted.iter().zip(&zone.steps).map(|(colour, c)| {
        let l = if c.area > 0.0 { colour.l.min(c.value()) } else { colour.l };
        let s = l / colour.l.max(1.0);
        Lab { l, a: s * colour.a, b: s * colour.b }
    });
    each.collect()
}

/// A glaze of which less than this share of a region is left to see, the rest being painted over, is work for nothing
/// (the share is ours).
const WORTHWHILE: f64 = 0.5;

/// A correction over a glaze that comes no nearer by this, CIEDE2000, is not seen at arm's length (ours).
const NEARER: f64 = 3.0;

/// Tones that a glaze leaves within this of each other, L*, read as one: less than a band (ours).
const FLAT: f64 = 10.0;

/// On the transparent route: where one glaze over the primer's grey of a step comes near enough, it takes the place
/// of the opaque mix. Gives the glaze; `None` where it would nearly all be painted over, or would leave one even
/// tone: a base coat does that in half the coats.
fn glazed(
    shelf: &Shelf,
    wanted: &[Lab],
    zone: &Zone,
    base: Lab,
    mixes: &mut [Option<Mix>],
) -> Option<ThinLayer> {
    let grey = |c: &Covered| curve_of(Lab::new(c.value(), 0.0, 0.0));
    let grounds: Vec<Curve> = zone.steps.iter().map(grey).collect();
    let areas: Vec<f64> = zone.steps.iter().map(|c| c.area).collect();
    let own = steps::base_step(wanted.iter().copied(), base).and_then(|i| mixes[i].clone());
    let layer = thin_layer(shelf, own.as_ref(), &grounds, wanted, &areas)?;
    let reached =
        |colour: &Lab, wanted: &Lab| Nearness::of(difference(*colour, *wanted)) != Nearness::OutOfReach;
    let each = layer.over.iter().zip(wanted).zip(&areas);
    let of_it: f64 = each.filter(|((colour, wanted), _)| reached(colour, wanted)).map(|(_, area)| area).sum();
    let seen = || layer.over.iter().zip(&areas).filter(|(_, area)| **area > 0.0).map(|(colour, _)| colour.l);
    let flat = seen().fold(f64::NEG_INFINITY, f64::max) - seen().fold(f64::INFINITY, f64::min) < FLAT;
    if flat || of_it < WORTHWHILE * areas.iter().sum::<f64>() {
        return None;
    }
    for ((mix, colour), wanted) in mixes.iter_mut().zip(&layer.over).zip(wanted) {
        let apart = difference(*colour, *wanted);
        // What an opaque mix would not bring nearer to is not painted once more.
        let no_nearer = mix.as_ref().is_some_and(|m| apart - m.apart < NEARER);
        if no_nearer || Nearness::of(apart) != Nearness::OutOfReach {
            *mix = Some(Mix { parts: layer.mix.parts.clone(), colour: *colour, apart });
        }
    }
    Some(layer)
}

/// Faces to cut borders from; a base counts as a figure here.
fn painted_faces(plan: &Plan, lightness: &[f32], own: impl Fn(usize) -> bool) -> Vec<Painted> {
    let faces = painted_where(&plan.surface, &plan.part_of_face, lightness, own);
    faces.into_iter().map(|face| Painted { part: Part::Figure, ..face }).collect()
}

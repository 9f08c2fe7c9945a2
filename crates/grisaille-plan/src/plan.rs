//! The plan, and the function that makes it.

use crate::answer::{Answers, LightAnswer, answers, light_answers, painted_area};
use crate::assembly::Assembly;
use crate::band::{Bands, bands};
use crate::bounce::{Thrown, add, thrown};
use crate::brush::{Brush, Evener};
use crate::colouring::Colouring;
use crate::emphasis::strengths;
use crate::enclosed::enclosed;
use crate::field::open_corners;
use crate::kept::Kept;
use crate::lift::region_lifts;
use crate::openness::Openness;
use crate::primer::{Primer, PrimerGround, primer};
use crate::products::{Products, Refined};
use crate::shadow::without_thin_shadows;
use crate::through::through;
use crate::value::{Values, share, shares, values};
use crate::zone::{Zones, zones};
use grisaille_base::{Code, Finding, LightId, Millimetres, Place, Stop, Watch};
use grisaille_form::Reach;
use grisaille_light::{
    Exposure, ExposureSettings, Falloff, Kind, Light, Round, Sky, exposure, exposure_in_rounds, open_exposure,
};
use grisaille_mesh::{Mesh, Part, Parts, Supports, parts, supports};
use grisaille_scheme::{BrushChoice, LightChoice, LightEntry, PrimerTones, Scheme, SkyChoice};
use grisaille_sight::{Surface, SurfaceSettings, SweepSight, TreeSight, surface};
use nalgebra::Point3;
use std::sync::Arc;

/// A light of the plan: what was asked and what it does.
#[derive(Clone, Debug, PartialEq)]
pub struct PlannedLight {
    /// Which light.
    pub id: LightId,
    /// Its name.
    pub name: String,
    /// What it is, with all defaults filled in.
    pub kind: Kind,
    /// How much it counts.
    pub weight: f64,
    /// What it reaches.
    pub answer: LightAnswer,
}

/// What follows from a scheme and a model.
#[derive(Clone, Debug)]
pub struct Plan {
    /// The model.
    pub mesh: Arc<Mesh>,
    /// The surface that samples, values, bands and zones belong to.
    pub surface: Arc<Surface>,
    /// The part of each face of the surface.
    pub part_of_face: Vec<Part>,
    /// The height of the base's top above the lowest point in mm, if a base was found.
    pub base_top_mm: Option<f64>,
    /// Print supports, if there are any: sure ones are not painted.
    pub supports: Option<Supports>,
    /// The lights, in the scheme's order.
    pub lights: Vec<PlannedLight>,
    /// Exposure of each sample to each light.
    pub exposure: Exposure,
    /// Values.
    pub values: Values,
    /// How fine bands and zones may be.
    pub brush: Brush,
    /// Bands.
    pub bands: Bands,
    /// Zones.
    pub zones: Zones,
    /// What the painter asks of the light.
    pub answers: Answers,
    /// How to prime, if the scheme wants that planned.
    pub primer: Option<Primer>,
    /// How open each spot lies, once [`crate::look_round`] has been asked for it.
    pub openness: Option<Openness>,
    /// Where a brush reaches, once it has been asked for.
    pub reach: Option<Reach>,
    /// The files that it comes in, where there are several and it has been asked for: [`crate::assemble`].
    pub assembly: Option<Arc<Assembly>>,
    /// What its regions are painted with, once it has been coloured.
    pub colouring: Option<Arc<Colouring>>,
    /// What was noticed while planning.
    pub findings: Vec<Finding>,
}

/// Plans. This function reads as the whole program.
///
/// # Errors
/// [`Stop`] when cancelled; what was finished until then is kept in `products`.
pub fn plan(scheme: &Scheme, products: &mut Products, watch: &Watch) -> Result<Plan, Stop> {
    let mesh = Arc::clone(&products.mesh);
    let (surface, findings) = surface_of(scheme, products, watch)?;
    let parts = parts_of(products, watch)?;

    let lights: Vec<Light> = scheme.lights.iter().map(|entry| light_of(entry, &mesh)).collect();
    let sight = sweep_of(products, watch)?;
    let exposure = exposure(&surface, &*sight, &lights, &settings_of(scheme), &mut products.kept, watch)?;

    let direct = watch.run(|| shares(scheme, &exposure));
    let bounced = thrown(&scheme.bounce, &surface, &direct, products, watch)?;
    let lifts = region_lifts(scheme, &surface, products, watch)?;
    let light = Lit { mesh, surface, parts, lights, exposure, direct, bounced, lifts };
    // Sums over all samples ask seldom whether to stop, so the caller leaves them.
    let copy = scheme.clone();
    let mut plan = watch.leave(move |watch| planned(&copy, light, findings, watch))??;
    if let (true, Some(tones)) = (scheme.primer.wanted, scheme.primer.tones) {
        plan.primer = primed(tones, &plan, &sight, products, watch)?;
    }
    Ok(plan)
}

/// Light alone, in rounds: what a window shows while a lamp is dragged. `hear`
/// gets the surface and a first exposure from a few directions, then better
/// ones; the last is what [`plan`] takes, which then finds it in `products` and
/// computes only what follows. Call it on a worker; a cancel between rounds or
/// within one loses nothing that was done.
///
/// # Errors
/// [`Stop`] when cancelled; what was finished until then is kept in `products`.
pub fn light_in_rounds(
    scheme: &Scheme,
    products: &mut Products,
    watch: &Watch,
    hear: &mut dyn FnMut(&Arc<Surface>, &Exposure, Round),
) -> Result<Exposure, Stop> {
    let (surface, _) = surface_of(scheme, products, watch)?;
    let lights: Vec<Light> = scheme.lights.iter().map(|entry| light_of(entry, &products.mesh)).collect();
    let sight = sweep_of(products, watch)?;
    let (settings, kept) = (settings_of(scheme), &mut products.kept);
    exposure_in_rounds(&surface, &*sight, &lights, &settings, kept, watch, &mut |exposure, round| {
        hear(&surface, exposure, round);
    })
}

/// All that light has to say.
struct Lit {
    mesh: Arc<Mesh>,
    surface: Arc<Surface>,
    parts: Arc<Parts>,
    lights: Vec<Light>,
    exposure: Exposure,
    direct: Vec<Vec<f32>>,
    bounced: Option<Thrown>,
    /// The painter's lift of each sample by its region.
    lifts: Option<Vec<f32>>,
}

/// From light to values, bands, zones and answers.
fn planned(scheme: &Scheme, lit: Lit, mut findings: Vec<Finding>, watch: &Watch) -> Result<Plan, Stop> {
    let Lit { mesh, surface, parts, lights, exposure, direct, bounced, lifts } = lit;
    let span = watch.span("plan", 6);
    let part_of_face: Vec<Part> = surface.source_face.iter().map(|f| parts.of_face[f.index()]).collect();
    let brush = Brush::of(&scheme.brush, &mesh);
    let (kept, noticed) = Kept::of(&scheme.brush.keep, &surface, 2.0 * brush.radius_mm);
    findings.extend(noticed);
    let evener = watch.run(|| Evener::new(brush, kept, &surface));
    watch.check()?;
    span.advance(1);
    let (strength, noticed) = watch.run(|| {
        let lights = (lights.as_slice(), &exposure);
        let tip = Brush::of(&BrushChoice::default(), &mesh).radius_mm;
        let on = (&*surface, part_of_face.as_slice(), evener.neighbours());
        strengths(scheme, on, lights, lifts.as_deref(), tip, watch)
    })?;
    findings.extend(noticed);
    let values = watch.run(|| values(scheme, &surface, &part_of_face, (direct, bounced), strength));
    watch.check()?;
    span.advance(1);
    let painted = watch.run(|| painted_shares(scheme, &surface, &exposure, &values, &evener, watch))?;
    span.advance(1);
    let lightness = watch.run(|| values.lightness_of(&painted));
    let bands = watch.run(|| bands(&scheme.bands, &surface, &part_of_face, &lightness, &evener, watch))?;
    span.advance(1);
    let named: Vec<(LightId, String)> = lights.iter().map(|l| (l.id, l.name.clone())).collect();
    let zones = watch.run(|| zones(&surface, &part_of_face, &named, &painted, &evener, watch))?;
    watch.check()?;
    span.advance(1);
    let of_lights = light_answers(&surface, &part_of_face, &exposure, &values);
    let answers =
        watch.run(|| answers(&surface, &part_of_face, (&exposure, &values, &bands), evener.neighbours()));
    let lights: Vec<PlannedLight> = lights
        .into_iter()
        .zip(&scheme.lights)
        .zip(of_lights)
        .map(|((l, entry), answer)| PlannedLight {
            id: l.id,
            name: l.name,
            kind: l.kind,
            weight: entry.weight,
            answer,
        })
        .collect();
    findings.extend(watch.run(|| notice(&mesh, &lights, parts.base_top_mm)));
    findings.extend(parts.supports.as_ref().map(Supports::finding));
    watch.check()?;
    span.advance(1);
    Ok(Plan {
        mesh,
        surface,
        part_of_face,
        base_top_mm: parts.base_top_mm,
        supports: parts.supports.clone(),
        lights,
        exposure,
        values,
        brush,
        bands,
        zones,
        answers,
        primer: None,
        openness: None,
        reach: None,
        assembly: None,
        colouring: None,
        findings,
    })
}

impl Plan {
    /// Corner values of a face with buried corners filled in from the open
    /// ones; `None` when the whole face is buried and is not to be drawn.
    #[must_use]
    pub fn corners(&self, face: usize, values: &[f32]) -> Option<[f32; 3]> {
        open_corners(&self.surface, face, values)
    }

    /// The band of a sample, counted from 0, on a given part.
    #[must_use]
    pub fn band_of_sample(&self, sample: usize, part: Part) -> u8 {
        self.bands.of(self.bands.lightness[sample], part)
    }

    /// The band, counted from 0, at a spot of a face given by the weights of
    /// its corners.
    #[must_use]
    pub fn band_at(&self, face: usize, weights: [f32; 3]) -> u8 {
        let corners = self.corners(face, &self.bands.lightness).unwrap_or([0.0; 3]);
        // In f64, so that no rounding shows where a corner lies on a border.
        let lightness: f64 = (0..3).map(|i| f64::from(corners[i]) * f64::from(weights[i])).sum();
        self.bands.of(lightness as f32, self.part_of_face[face])
    }

    /// The share of the painted surface, 0 to 1, that the brush reaches from no
    /// side; 0 as long as its reach has not been asked for.
    #[must_use]
    pub fn out_of_reach_share(&self) -> f64 {
        let Some(reach) = &self.reach else { return 0.0 };
        let area = painted_area(&self.surface, &self.part_of_face);
        let out: f64 = (0..area.len()).filter(|s| !reach.reaches(*s)).map(|s| area[s]).sum();
        out / area.iter().sum::<f64>().max(f64::MIN_POSITIVE)
    }

    /// The place among the lights, from 0, of the lamp that a zone number stands for; `None` for
    /// lights of the rig and where no light reaches.
    #[must_use]
    pub fn lamp_of_zone(&self, zone: u8) -> Option<usize> {
        let place = usize::from(zone).checked_sub(1)?;
        self.lights.get(place).filter(|l| matches!(l.kind, Kind::Point { .. })).map(|_| place)
    }

    /// The zone number at a spot of a face given by the weights of its
    /// corners. Zone borders run where two lights add the same.
    #[must_use]
    pub fn zone_at(&self, face: usize, weights: [f32; 3]) -> u8 {
        self.zones.at(&self.surface, face, weights)
    }
}

/// How to prime toward the values of a plan.
fn primed(
    tones: PrimerTones,
    plan: &Plan,
    sweep: &SweepSight,
    products: &mut Products,
    watch: &Watch,
) -> Result<Option<Primer>, Stop> {
    let tree = tree_of(products, watch)?;
    let ground = PrimerGround {
        mesh: &plan.mesh,
        surface: &plan.surface,
        part_of_face: &plan.part_of_face,
        exposure: &plan.exposure,
        values: &plan.values,
        planned: &plan.bands.lightness,
        stage_mid: plan.bands.rows[plan.bands.rows.len() / 2].tone,
        sweep,
        tree: &*tree,
    };
    primer(&ground, tones, &mut products.spray, watch)
}

/// How finely a scheme has a mesh divided.
#[must_use]
pub fn surface_settings(scheme: &Scheme, mesh: &Mesh) -> SurfaceSettings {
    let defaults = SurfaceSettings::for_mesh(mesh);
    SurfaceSettings {
        spacing: scheme.surface.spacing.unwrap_or(defaults.spacing),
        cap: scheme.surface.cap,
        refine: scheme.surface.refine,
        ..defaults
    }
}

pub(crate) fn surface_of(
    scheme: &Scheme,
    products: &mut Products,
    watch: &Watch,
) -> Result<(Arc<Surface>, Vec<Finding>), Stop> {
    let mesh = Arc::clone(&products.mesh);
    let settings = surface_settings(scheme, &mesh);
    if products.surface.as_ref().is_none_or(|r| r.settings != settings) {
        let sight = tree_of(products, watch)?;
        let (made, findings) = watch.leave(move |watch| surface(&mesh, &settings, &sight, watch))??;
        products.surface = Some(Refined { settings, surface: Arc::new(made), findings });
    }
    match &products.surface {
        Some(r) => Ok((Arc::clone(&r.surface), r.findings.clone())),
        None => Err(Stop),
    }
}

/// For single rays: which samples are buried.
pub(crate) fn tree_of(products: &mut Products, watch: &Watch) -> Result<Arc<TreeSight>, Stop> {
    if let Some(tree) = &products.tree {
        return Ok(Arc::clone(tree));
    }
    let occluders = Arc::clone(&products.occluders);
    let tree = Arc::new(watch.leave(move |watch| TreeSight::new(occluders, watch))?);
    Ok(Arc::clone(products.tree.insert(tree)))
}

/// For light: whole batches.
pub(crate) fn sweep_of(products: &mut Products, watch: &Watch) -> Result<Arc<SweepSight>, Stop> {
    if let Some(sweep) = &products.sweep {
        return Ok(Arc::clone(sweep));
    }
    let occluders = Arc::clone(&products.occluders);
    let sweep = Arc::new(watch.leave(move |watch| SweepSight::new(occluders, watch))?);
    Ok(Arc::clone(products.sweep.insert(sweep)))
}

pub(crate) fn parts_of(products: &mut Products, watch: &Watch) -> Result<Arc<Parts>, Stop> {
    if let Some(parts) = &products.parts {
        return Ok(Arc::clone(parts));
    }
    let mesh = Arc::clone(&products.mesh);
    let parts = watch.leave(move |watch| Ok::<_, Stop>(parts(&mesh, supports(&mesh, watch)?)))??;
    let parts = Arc::new(parts);
    Ok(Arc::clone(products.parts.insert(parts)))
}

/// What each light adds to each sample as far as it is painted: without cast
/// shadows too narrow for the brush.
fn painted_shares(
    scheme: &Scheme,
    surface: &Surface,
    exposure: &Exposure,
    values: &Values,
    evener: &Evener,
    watch: &Watch,
) -> Result<Vec<Vec<f32>>, Stop> {
    let width = evener.brush().thinnest_shadow_mm;
    let each = exposure.lights.iter().zip(&scheme.lights).zip(&values.shares).enumerate();
    each.map(|(k, ((light, entry), as_it_falls))| {
        watch.check()?;
        let open = if width > 0.0 {
            open_exposure(surface, &light.kind, &settings_of(scheme), watch)?
        } else {
            None
        };
        let Some(open) = open else { return Ok(as_it_falls.clone()) };
        let lit = without_thin_shadows(surface, evener.neighbours(), &light.values, &open, width, watch)?;
        let lit = evener.kept().brought_back(lit, &light.values);
        let mut lit: Vec<f32> =
            lit.into_iter().map(|e| share(&scheme.value, entry.weight, &light.kind, e)).collect();
        // What bounces casts no thin shadow of its own.
        if let Some(bounced) = &values.bounced {
            add(&mut lit, &bounced[k]);
        }
        Ok(lit)
    })
    .collect()
}

pub(crate) fn settings_of(scheme: &Scheme) -> ExposureSettings {
    ExposureSettings {
        ambient_directions: scheme.fineness.ambient_directions,
        ring_directions: scheme.fineness.ring_directions,
        soft_directions: scheme.fineness.soft_directions,
    }
}

pub(crate) fn light_of(entry: &LightEntry, mesh: &Mesh) -> Light {
    let mask = through(&entry.through, mesh);
    Light { id: entry.id, name: entry.name.clone(), kind: kind_of(entry, mesh), mask }
}

/// What a light is, with all defaults filled in.
pub(crate) fn kind_of(entry: &LightEntry, mesh: &Mesh) -> Kind {
    match entry.choice {
        LightChoice::Zenithal { tilt, azimuth, radius } => Kind::Zenithal { tilt, azimuth, radius },
        LightChoice::Ring => Kind::Ring,
        LightChoice::Ambient { sky } => Kind::Ambient {
            sky: match sky {
                SkyChoice::Uniform => Sky::Uniform,
                SkyChoice::Overcast => Sky::Overcast,
            },
        },
        LightChoice::Lamp { at, reference, radius, clear, falloff } => Kind::Point {
            at: Point3::from(at),
            reference: reference.unwrap_or(Millimetres(mesh.bounds().extents()[2].max(1e-6) / 5.0)),
            radius,
            clear,
            falloff: Falloff {
                exponent: falloff.exponent,
                reach: falloff.reach.unwrap_or(Falloff::PHYSICAL.reach),
                softness: falloff.softness,
            },
        },
    }
}

fn notice(mesh: &Mesh, lights: &[PlannedLight], base_top_mm: Option<f64>) -> Vec<Finding> {
    let mut findings = Vec::new();
    if base_top_mm.is_none() {
        findings.push(Finding::new(
            Code::NoBase,
            1,
            "no base was recognised: the whole model is planned as the figure",
        ));
    }
    let lamps: Vec<(&PlannedLight, Point3<f64>)> = lights
        .iter()
        .filter_map(|l| match l.kind {
            Kind::Point { at, .. } => Some((l, at)),
            _ => None,
        })
        .collect();
    for (light, at) in lamps {
        if enclosed(mesh, at) {
            findings.push(
                Finding::new(
                    Code::LightInsideModel,
                    1,
                    format!(
                        "the light '{}' lies inside the model and is walled in: move it out by a millimetre or two",
                        light.name
                    ),
                )
                .at(Place::Point(at.cast::<f32>().into())),
            );
        }
    }
    for light in lights.iter().filter(|l| l.answer.reached_share < 0.001) {
        findings.push(Finding::new(
            Code::LightReachesNothing,
            1,
            format!(
                "the light '{}' reaches almost nothing: check its place, its reach and its weight",
                light.name
            ),
        ));
    }
    findings
}

//! Looks: what a view of the plan shows at each spot.

use crate::{
    Areas, BorderPen, Contours, DrawingSettings, Frame, Hit, Image, ItemBuffer, Legend, LineStyle, Pattern,
    Stroke, SvgAreas, Swatch, Tick, ViewLines, drawing, line_svg,
};
use grisaille_base::{LightId, Lightness, Stop, Watch};
use grisaille_colour::{FalseColour, Lab, LinearRgb, luminance_from_lightness};
use grisaille_light::Kind;
use grisaille_plan::{
    Band, NO_ZONE, Plan, RegionColours, Tone, Zone, coverage, layered, step_at, tone_colour,
};
use std::sync::OnceLock;

/// What a view shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Look {
    /// Bands in printed greys.
    Values,
    /// Planned values as smooth greys, without bands.
    Tones,
    /// The values that the planned colours come to, in bands; the planned values where nothing is painted.
    ColourValues,
    /// The exposure to one light in false colour.
    Exposure(LightId),
    /// Which light rules where.
    Zones,
    /// How open each spot lies, in false colour, if the plan knows it.
    Openness,
    /// Where a brush reaches, if the plan knows it.
    Reach,
    /// The planned colours, blended, if the plan is coloured.
    Colours,
    /// The planned colours step by step, as they are laid down, if the plan is coloured.
    Steps,
    /// As primed: with the coats up to this one.
    Primed(Coat),
    /// After so many of the advised passes of spray; 0 for the ground alone.
    Sprayed(usize),
    /// After one light coat from the direction that reveals the most form.
    SprayedOnce,
    /// After so many rounds of dry-brush strokes.
    DryBrushed(usize),
}

/// The coats of three-tone priming, in order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Coat {
    /// Dark all over.
    Dark,
    /// And mid grey from all round.
    Mid,
    /// And light from above.
    Light,
}

/// One view of a plan, drawn once and shaded once for each look.
pub struct Scene<'p> {
    plan: &'p Plan,
    items: ItemBuffer,
    pixels_per_paper_mm: f64,
    strokes: OnceLock<Vec<Stroke>>,
}

/// A shaded view, with the areas that its borders and labels follow, if it has any.
pub struct Shaded {
    /// The picture.
    pub image: Image,
    /// Bands counted from 0, or zone numbers; `None` for smooth looks.
    pub areas: Option<Areas>,
}

/// A view in lines.
pub struct InLines {
    /// The shading, where the look is more than flat areas.
    pub shading: Option<Image>,
    /// The areas as pixels, for placing letters.
    pub areas: Option<Areas>,
    /// The same as outlines.
    pub outlines: Option<SvgAreas>,
    /// Contours and creases.
    pub strokes: Vec<Stroke>,
}

/// Name and colour of each label of a look whose areas are flat; none where their colour tells more than their label.
fn fills(plan: &Plan, look: Look) -> Vec<(u16, String, LinearRgb)> {
    match look {
        Look::Values | Look::ColourValues => {
            let rows = plan.bands.rows.iter().enumerate();
            rows.map(|(i, b)| (i as u16, format!("{} {}", b.letter, b.name), band_grey(plan, i))).collect()
        }
        Look::Reach => vec![(0, "reached".into(), tone(90.0)), (1, "out of reach".into(), no_brush())],
        Look::Zones => {
            let rows = plan.zones.rows.iter();
            let none = (0, "no light rules".into(), zone_style(plan, 0).colour);
            let each = rows.map(|z| (u16::from(z.number), z.name.clone(), zone_style(plan, z.number).colour));
            std::iter::once(none).chain(each).collect()
        }
        _ => Vec::new(),
    }
}

impl<'p> Scene<'p> {
    /// Draws a view. Faces buried on all three corners are left out.
    /// `pixels_per_paper_mm` is the fineness of the print, for line widths.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub fn new(plan: &'p Plan, frame: &Frame, pixels_per_paper_mm: f64, watch: &Watch) -> Result<Self, Stop> {
        let surface = &plan.surface;
        let keep = |f: grisaille_base::FaceId| surface.open_corners(f.index()) > 0;
        let items = ItemBuffer::draw(&surface.samples.position, &surface.faces, keep, frame, 2, watch)?;
        Ok(Self { plan, items, pixels_per_paper_mm, strokes: OnceLock::new() })
    }

    /// The frame that was drawn.
    #[must_use]
    pub fn frame(&self) -> &Frame {
        self.items.frame()
    }

    /// What is nearest where, for drawing lines and spots over a shaded view.
    #[must_use]
    pub fn items(&self) -> &ItemBuffer {
        &self.items
    }

    pub(crate) fn plan(&self) -> &'p Plan {
        self.plan
    }

    /// The fineness of the print.
    #[must_use]
    pub fn pixels_per_paper_mm(&self) -> f64 {
        self.pixels_per_paper_mm
    }

    /// Shades the view in one look, with outlines and borders.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub fn shade(&self, look: Look, watch: &Watch) -> Result<Shaded, Stop> {
        let Shaded { mut image, areas } = self.shade_bare(look, watch)?;
        let line = LineStyle::on_paper(0.12, self.pixels_per_paper_mm, LinearRgb::BLACK, 0.85);
        if let Some(areas) = &areas {
            areas.borders(&mut image, LineStyle { strength: 0.45, ..line }, watch)?;
        }
        let height = self.plan.mesh.bounds().extents()[2];
        self.items.outline(&mut image, (0.02 * height) as f32, line, watch)?;
        Ok(Shaded { image, areas })
    }

    /// The same without outlines and borders, for those who lay [`Scene::lines`] over it.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub fn shade_bare(&self, look: Look, watch: &Watch) -> Result<Shaded, Stop> {
        let plan = self.plan;
        let areas = self.areas(look, watch)?;
        let own = |hit: &Hit| colour_of_hit(plan, look, hit);
        let mut image = match (&areas, look) {
            (Some(areas), Look::Values | Look::ColourValues) => {
                let flat = |band: u16| Some(band_grey(plan, usize::from(band)));
                self.items.shade_areas((LinearRgb::WHITE, areas), flat, own, watch)?
            }
            _ => self.items.shade(LinearRgb::WHITE, own, watch)?,
        };
        let pitch = (self.pixels_per_paper_mm * 1.0) as f32;
        match (&areas, look) {
            (Some(areas), Look::Zones) => areas.patterns(
                &mut image,
                pitch,
                |z| {
                    let style = zone_style(plan, z as u8);
                    Some((style.pattern, Pattern::ink_on(style.colour)))
                },
                watch,
            )?,
            (Some(areas), Look::Reach) => {
                let over = |label| (label == 1).then_some((Pattern::Crossed, Pattern::ink_on(no_brush())));
                areas.patterns(&mut image, pitch, over, watch)?;
            }
            _ => {}
        }
        Ok(Shaded { image, areas })
    }

    /// The lines over a bare picture as SVGs of its size: borders between its areas, if it has any, and the contours
    /// and creases, the same for every look.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub fn lines_over(
        &self,
        areas: Option<&Areas>,
        pen: BorderPen,
        contours: Contours,
        watch: &Watch,
    ) -> Result<Vec<String>, Stop> {
        let size = [self.frame().width(), self.frame().height()];
        let fine = self.pixels_per_paper_mm;
        let borders = areas.map(|a| a.traced(watch)).transpose()?;
        let borders = borders.map(|traced| line_svg(size, (&[], contours), Some((&traced, pen)), fine));
        let contours = line_svg(size, (self.lines(watch)?, contours), None, fine);
        Ok(borders.into_iter().chain([contours]).collect())
    }

    /// Takes the lines of the view from those that are known of its side, instead of finding them.
    #[must_use]
    pub fn with_lines(self, known: &ViewLines) -> Self {
        let settings = DrawingSettings::on_paper(self.pixels_per_paper_mm);
        let strokes = OnceLock::from(known.in_frame(self.items.frame(), &settings));
        Self { strokes, ..self }
    }

    /// Contours and creases of the view, hidden parts removed; worked out once.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub fn lines(&self, watch: &Watch) -> Result<&[Stroke], Stop> {
        if let Some(known) = self.strokes.get() {
            return Ok(known);
        }
        let settings = DrawingSettings::on_paper(self.pixels_per_paper_mm);
        let (_, strokes) = drawing(&self.plan.mesh, |_| true, self.items.frame(), &settings, watch)?;
        Ok(self.strokes.get_or_init(|| strokes))
    }

    /// The areas that a look is made of, if it has any.
    fn areas(&self, look: Look, watch: &Watch) -> Result<Option<Areas>, Stop> {
        let plan = self.plan;
        Ok(match look {
            Look::Values => Some(Areas::of(&self.items, |hit| Some(u16::from(band(plan, hit))), watch)?),
            Look::ColourValues => {
                Some(Areas::of(&self.items, |hit| Some(painted_band(plan, hit) as u16), watch)?)
            }
            Look::Reach => {
                Some(Areas::of(&self.items, |hit| Some(u16::from(out_of_reach(plan, hit))), watch)?)
            }
            Look::Zones => Some(Areas::of(&self.items, |hit| Some(u16::from(zone(plan, hit))), watch)?),
            Look::Steps => Some(Areas::of(&self.items, |hit| Some(step_label(plan, hit)), watch)?),
            _ => None,
        })
    }

    /// The view in one look, its lines as outlines: contours and creases with hidden parts removed, and the borders of
    /// areas.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub fn in_lines(&self, look: Look, watch: &Watch) -> Result<InLines, Stop> {
        let plan = self.plan;
        let areas = self.areas(look, watch)?;
        let named = areas.as_ref().map_or_else(Vec::new, |_| fills(plan, look));
        let traced = areas.as_ref().map(|a| a.traced(watch)).transpose()?;
        let shading = match named.is_empty() {
            true => Some(self.items.shade(LinearRgb::WHITE, |hit| colour_of_hit(plan, look, hit), watch)?),
            false => None,
        };
        let strokes = self.lines(watch)?.to_vec();
        let outlines = traced.map(|traced| SvgAreas { traced, fills: named });
        Ok(InLines { shading, areas, outlines, strokes })
    }
}

fn mix(plan: &Plan, hit: &Hit, values: &[f32]) -> f64 {
    let corners = plan.corners(hit.face.index(), values).unwrap_or([0.0; 3]);
    (0..3).map(|c| f64::from(corners[c]) * f64::from(hit.barycentric[c])).sum()
}

fn band(plan: &Plan, hit: &Hit) -> u8 {
    plan.band_at(hit.face.index(), hit.barycentric)
}

/// The band that what is painted there comes out in.
fn painted_band(plan: &Plan, hit: &Hit) -> usize {
    match &plan.colouring {
        Some(colouring) => colouring.band_at(plan, hit.face.index(), hit.barycentric),
        None => usize::from(band(plan, hit)),
    }
}

fn zone(plan: &Plan, hit: &Hit) -> u8 {
    plan.zone_at(hit.face.index(), hit.barycentric)
}

/// The colour of a spot of the planned surface in one look, without patterns; the hit's face is one of the surface.
#[must_use]
pub fn colour_of_hit(plan: &Plan, look: Look, hit: &Hit) -> LinearRgb {
    match look {
        Look::Values => band_grey(plan, usize::from(band(plan, hit))),
        Look::ColourValues => band_grey(plan, painted_band(plan, hit)),
        Look::Tones => tone(mix(plan, hit, &plan.values.lightness)),
        Look::Exposure(id) => {
            let e = plan.exposure.of(id).map_or(0.0, |l| mix(plan, hit, &l.values));
            FalseColour::at(e.clamp(0.0, 1.0))
        }
        Look::Reach if out_of_reach(plan, hit) => no_brush(),
        // The form, pale, so that what is out of reach stands out.
        Look::Reach => tone(60.0 + 0.4 * mix(plan, hit, &plan.values.lightness)),
        Look::Openness => {
            let open = plan.openness.as_ref().map_or(1.0, |o| mix(plan, hit, &o.values));
            FalseColour::at(open.clamp(0.0, 1.0))
        }
        Look::Zones => {
            // A little of the value shows the form under the flat colour.
            let lightness = mix(plan, hit, &plan.values.lightness);
            zone_style(plan, zone(plan, hit)).colour.scaled((0.72 + 0.28 * lightness / 100.0) as f32)
        }
        Look::Colours | Look::Steps => painted(plan, look, hit),
        Look::Primed(coat) => LinearRgb::grey(primed(plan, hit, coat)),
        Look::Sprayed(_) | Look::SprayedOnce | Look::DryBrushed(_) => layers(plan, look, hit),
    }
}

/// The planned colour of a spot; its value where nothing is painted.
fn painted(plan: &Plan, look: Look, hit: &Hit) -> LinearRgb {
    let (face, weights) = (hit.face.index(), hit.barycentric);
    let colour = plan.colouring.as_ref().and_then(|c| match look {
        Look::Steps => c.flat_at(plan, face, weights),
        _ => c.blended_at(plan, face, weights),
    });
    colour.map_or_else(|| tone(mix(plan, hit, &plan.values.lightness)), Lab::shown)
}

/// A number for each area of one step of one row.
fn step_label(plan: &Plan, hit: &Hit) -> u16 {
    let step = plan.colouring.as_ref().and_then(|c| step_at(c, plan, hit.face.index(), hit.barycentric));
    step.map_or(u16::MAX, |(row, step)| (row * 8 + step) as u16)
}

/// A row of a colouring: its base step, its name, and the values that it runs through.
fn row_swatch(row: &RegionColours) -> Swatch {
    let used = || row.ramp.iter().filter(|s| s.area_mm2 > 0.0).map(|s| s.shown().l);
    let (dark, light) = (used().fold(100.0, f64::min), used().fold(0.0, f64::max));
    let range = match light - dark < 0.5 {
        // Metal is one paint that light shades by itself.
        true => format!("one paint, L* {light:.0}"),
        false => format!("{} steps, L* {dark:.0}–{light:.0}", used().count()),
    };
    let name = row.name.clone();
    Swatch { letter: String::new(), colour: row.base.shown(), pattern: Pattern::Plain, name, range }
}

/// Where no brush comes.
fn no_brush() -> LinearRgb {
    LinearRgb::from_srgb8([196, 92, 60])
}

/// Whether a spot is out of the brush's reach: by the nearest of its three samples.
fn out_of_reach(plan: &Plan, hit: &Hit) -> bool {
    let Some(reach) = &plan.reach else { return false };
    let face = plan.surface.faces[hit.face.index()];
    let near = (0..3).max_by(|a, b| hit.barycentric[*a].total_cmp(&hit.barycentric[*b])).unwrap_or(0);
    !reach.reaches(face[near] as usize)
}

pub(crate) fn tone(lightness: f64) -> LinearRgb {
    LinearRgb::grey(luminance_from_lightness(Lightness(lightness)))
}

/// Luminance after the coats of primer up to `coat`.
fn primed(plan: &Plan, hit: &Hit, coat: Coat) -> f64 {
    let fit = &plan.values.fit;
    let mid_tone = luminance_from_lightness(plan.bands.rows[plan.bands.rows.len() / 2].tone);
    let mut luminance = fit.dark;
    let mut spray = |target: f64, is: fn(&Kind) -> bool| {
        for light in plan.exposure.lights.iter().filter(|l| is(&l.kind)) {
            luminance = sprayed(luminance, target, mix(plan, hit, &light.values));
        }
    };
    if coat >= Coat::Mid {
        spray(mid_tone, |k| matches!(k, Kind::Ring));
    }
    if coat >= Coat::Light {
        spray(fit.light, |k| matches!(k, Kind::Zenithal { .. }));
    }
    luminance
}

/// The luminance of a spot after primer of the luminance `target` was sprayed
/// over it from a light's directions, which it sees by `exposure`.
///
/// Paint arrives in proportion to exposure and covers as
/// [`grisaille_plan::coverage`] says. Three coats of mid grey and of light reach
/// where spray falls straight and freely, so that it covers by 95 %: level tops
/// come out as light as the paint, which is what a painter stops at (common
/// practice).
#[must_use]
pub fn sprayed(luminance: f64, target: f64, exposure: f64) -> f64 {
    const COATS: f64 = 3.0;
    layered(luminance, target, coverage(COATS, exposure))
}

/// The colour after the coats of a primer plan; the ground's where there is none.
fn layers(plan: &Plan, look: Look, hit: &Hit) -> LinearRgb {
    let Some(primer) = &plan.primer else { return LinearRgb::grey(plan.values.fit.dark) };
    let colour = |tone| tone_colour(primer.set, &primer.tones, tone);
    let once = [(Tone::Light, &primer.once_cover)];
    let sprayed = primer.advised().passes.iter().map(|p| p.tone).zip(&primer.covers);
    let brushed = primer.dry_brush.passes.iter().map(|p| p.tone).zip(&primer.dry_brush.covers);
    let lay = |coats: &mut dyn Iterator<Item = (Tone, &Vec<f32>)>| {
        coats.fold(colour(Tone::Dark), |under, (tone, cover)| {
            under.lerp(colour(tone), mix(plan, hit, cover) as f32)
        })
    };
    match look {
        Look::Sprayed(count) => lay(&mut sprayed.take(count)),
        Look::DryBrushed(count) => lay(&mut brushed.take(count)),
        _ => lay(&mut once.into_iter()),
    }
}

/// The printed grey of a band ([`Band::grey`]).
#[must_use]
pub fn band_grey(plan: &Plan, band: usize) -> LinearRgb {
    let grey = plan.bands.rows.get(band).map_or(0, |band| band.grey);
    LinearRgb::from_srgb8([grey; 3])
}

/// How a zone is shown: a colour and a pattern, so that zones are told apart
/// in monochrome too.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ZoneStyle {
    /// Its flat colour.
    pub colour: LinearRgb,
    /// The pattern over it.
    pub pattern: Pattern,
}

/// The style of a zone number; [`NO_ZONE`] is dark and plain.
#[must_use]
pub fn zone_style(plan: &Plan, number: u8) -> ZoneStyle {
    if number == NO_ZONE {
        return light_style(None, 0);
    }
    let place = usize::from(number) - 1;
    let lamps_before = plan.lights[..place.min(plan.lights.len())]
        .iter()
        .filter(|l| matches!(l.kind, Kind::Point { .. }))
        .count();
    match plan.lights.get(place) {
        Some(light) => light_style(Some(&light.kind), lamps_before),
        None => light_style(None, 0),
    }
}

/// The style of the zone that a light rules, with so many lamps before it in
/// the scheme; `None` for where no light arrives.
#[must_use]
pub fn light_style(kind: Option<&Kind>, lamps_before: usize) -> ZoneStyle {
    // Sea light from above is pale, lamps are warm, what the sky alone lights is deep.
    const LAMPS: [[u8; 3]; 4] = [[240, 170, 84], [222, 118, 96], [214, 148, 186], [196, 178, 92]];
    const PATTERNS: [Pattern; 4] = [Pattern::Rising, Pattern::Crossed, Pattern::Upright, Pattern::Level];
    let style = |rgb, pattern| ZoneStyle { colour: LinearRgb::from_srgb8(rgb), pattern };
    match kind {
        None => style([52, 54, 66], Pattern::Plain),
        Some(Kind::Zenithal { .. }) => style([226, 232, 214], Pattern::Plain),
        Some(Kind::Ring) => style([150, 186, 186], Pattern::Dots),
        Some(Kind::Ambient { .. }) => style([92, 116, 150], Pattern::Falling),
        Some(Kind::Point { .. }) => {
            let n = lamps_before % LAMPS.len();
            style(LAMPS[n], PATTERNS[n])
        }
    }
}

/// The ticks of an exposure scale in words and numbers, and where they stand.
pub const EXPOSURE_TICKS: [(f64, &str, &str); 5] = [
    (0.0, "0 %", "no light"),
    (0.25, "25 %", "a little"),
    (0.5, "50 %", "half"),
    (0.75, "75 %", "strong"),
    (1.0, "100 %", "full light"),
];

/// A zone's light in words: where it comes from, for the lights of the rig.
fn in_words(plan: &Plan, zone: &Zone) -> String {
    let from = match plan.lights.iter().find(|l| l.id == zone.light).map(|l| l.kind) {
        Some(Kind::Zenithal { .. }) => ", from above",
        Some(Kind::Ring) => ", from all round",
        Some(Kind::Ambient { .. }) => ", dim from everywhere",
        _ => "",
    };
    format!("{}{from}", zone.name)
}

/// The bands, lightest first, each with its share of the painted surface, 0 to 1, given darkest first.
fn bands_legend(plan: &Plan, shares: &[f64]) -> Legend {
    let rows = plan.bands.rows.iter().zip(shares).enumerate().rev();
    let swatch = |(i, (b, share)): (usize, (&Band, &f64))| Swatch {
        letter: b.letter.to_string(),
        colour: band_grey(plan, i),
        pattern: Pattern::Plain,
        name: b.name.into(),
        range: format!("L* {:.0}–{:.0}, {:.0} %", b.low.0, b.high.0, 100.0 * share),
    };
    Legend::Swatches { title: "Bands".into(), rows: rows.map(swatch).collect() }
}

/// The legend of a look; `None` where a look explains itself.
#[must_use]
pub fn legend(plan: &Plan, look: Look) -> Option<Legend> {
    match look {
        Look::Values => {
            Some(bands_legend(plan, &plan.bands.rows.iter().map(|b| b.share).collect::<Vec<_>>()))
        }
        Look::ColourValues => plan.colouring.as_ref().map(|c| {
            let shares: Vec<f64> = c.band_covers(plan).iter().map(|band| band.share).collect();
            bands_legend(plan, &shares)
        }),
        Look::Exposure(id) => plan.lights.iter().find(|l| l.id == id).map(|_| Legend::Scale {
            title: "How much light arrives".into(),
            colour: FalseColour::at,
            ticks: EXPOSURE_TICKS
                .iter()
                .map(|(at, number, words)| Tick { at: *at, number: (*number).into(), words: (*words).into() })
                .collect(),
        }),
        Look::Reach => Some(Legend::Swatches {
            title: "Reach of the brush".into(),
            rows: [(tone(90.0), Pattern::Plain, "reached"), (no_brush(), Pattern::Crossed, "out of reach")]
                .map(|(colour, pattern, name)| Swatch {
                    letter: String::new(),
                    colour,
                    pattern,
                    name: name.into(),
                    range: String::new(),
                })
                .into(),
        }),
        Look::Openness => Some(Legend::Scale {
            title: "How open it lies".into(),
            colour: FalseColour::at,
            ticks: [(0.0, "0 %", "shut in"), (0.5, "50 %", "half open"), (1.0, "100 %", "open all round")]
                .map(|(at, number, words)| Tick { at, number: number.into(), words: words.into() })
                .into(),
        }),
        Look::Zones => Some(Legend::Swatches {
            title: "Strongest light".into(),
            rows: plan
                .zones
                .rows
                .iter()
                .map(|z| {
                    let style = zone_style(plan, z.number);
                    Swatch {
                        letter: z.number.to_string(),
                        colour: style.colour,
                        pattern: style.pattern,
                        name: in_words(plan, z),
                        range: format!("{:.0} % of the surface", 100.0 * z.share),
                    }
                })
                .collect(),
        }),
        Look::Colours | Look::Steps => plan.colouring.as_ref().map(|colouring| Legend::Swatches {
            title: "Regions, base colours".into(),
            rows: colouring.rows.iter().map(row_swatch).collect(),
        }),
        Look::Tones | Look::Primed(_) | Look::Sprayed(_) | Look::SprayedOnce | Look::DryBrushed(_) => None,
    }
}

//! From a plan to sheets: draws the pictures, writes the words.

use crate::arrange::{Arranged, Field, MARGIN, best, largest, on_field};
use crate::compose_zones::{METAL, zone_mark};
use crate::lettering::{DOT, Ground, lettered};
use crate::paper::Paper;
use crate::recipe_rows::called;
use crate::sheets::{
    BandRow, Fact, Legend, LegendStep, LightSheet, Picture, Sheets, Srgb, Swatch, ValueSheet, ViewPicture,
    Warning,
};
use crate::survey::Survey;
use crate::zone_numbers::number_regions;
use grisaille_base::{Code, Finding, LightId, Lightness, Millimetres, Place, Stop, Watch};
use grisaille_colour::{
    Lab, LinearRgb, lightness_from_luminance, luminance_from_lightness, luminance_from_munsell,
    munsell_value, printed_in_grey,
};
use grisaille_form::Regions;
use grisaille_light::{Kind, Sky};
use grisaille_picture::{
    BorderPen, Coat, Contours, DrawingSettings, EXPOSURE_TICKS, Frame, Hit, Look, Mark, Pattern, Scene,
    Shaded, View, ViewLines, band_grey,
};
use grisaille_plan::{
    BandCover, Coloured, Lining, NO_ZONE, Plan, PlannedLight, Stage, falloff_in_words, priming, side_in_words,
};
use grisaille_scheme::{Ink, Material, Scheme, SheetKind};
use grisaille_words::{Said, Words, messages, say};
use nalgebra::Point3;
use std::borrow::Cow;

/// What the sheets say beside the plan.
#[derive(Clone, Debug, Default)]
pub struct Heading {
    /// The name of the guide.
    pub title: String,
    /// The model's file name, without its folder.
    pub model_file: String,
    /// The program and its version.
    pub made_with: String,
}

/// Pixels on a millimetre of paper where borders and letters are looked for: 254 dpi.
pub(crate) const FINENESS: f64 = 10.0;
/// And of smooth shading, the lines of which lie over it: 152 dpi, as fine as printers at home show in greys.
pub(crate) const SMOOTH: f64 = 6.0;
/// Levels of each channel in small pictures with lines in them.
pub(crate) const LEVELS: u16 = 48;
/// Em size of letters on pictures, in millimetres of paper (9 pt).
pub(crate) const LETTER: f64 = 3.2;
/// The smallest side of a picture that is printed, in millimetres.
pub(crate) const SMALLEST: f64 = 5.2;

/// Height of the value scale, and of the table of bands: a row of greys, and a row for each band.
const BAND_TABLE: f64 = 88.0;
/// The height of the legend where it stands above the pictures.
const STRIP: f64 = 34.0;
/// L* of no light and of full light on the sheets of lights: the dark is pale enough for lines to be seen on it, and to
/// spare ink.
const UNLIT: f64 = 40.0;
const LIT: f64 = 95.0;

// Places in `View::all`.
pub(crate) const FRONT: usize = 0;
pub(crate) const BACK: usize = 1;
pub(crate) const LEFT: usize = 2;
pub(crate) const RIGHT: usize = 3;
pub(crate) const ABOVE: usize = 4;
pub(crate) const THREE_QUARTER: usize = 5;
/// What they are called in keys of sentences.
const VIEWS: [&str; 6] = ["front", "back", "left", "right", "above", "three-quarter"];

/// Draws and words all sheets of a plan.
///
/// # Errors
/// [`Stop`] when cancelled.
pub fn compose(subject: &Subject<'_>, heading: &Heading, watch: &Watch) -> Result<Sheets, Stop> {
    watch.run(|| Composer::new(subject, watch).sheets(heading, subject.findings))
}

/// What the sheets are about.
#[derive(Clone, Copy)]
pub struct Subject<'a> {
    /// The plan.
    pub plan: &'a Plan,
    /// What the painter decided.
    pub scheme: &'a Scheme,
    /// What was noticed on the way.
    pub findings: &'a [Finding],
    /// All that follows from the scheme's colours, if it has any.
    pub coloured: Option<&'a Coloured>,
    /// Regions and lines of a plan without colours, if they are to be printed.
    pub form: Option<(&'a Regions, &'a Lining)>,
    /// The language of the sheets.
    pub words: &'a Words,
}

/// Draws pictures for one plan, each view at one size only once.
pub(crate) struct Composer<'a> {
    pub(crate) plan: &'a Plan,
    pub(crate) paper: Paper,
    pub(crate) scheme: &'a Scheme,
    pub(crate) coloured: Option<&'a Coloured>,
    pub(crate) regions: Option<&'a Regions>,
    pub(crate) lining: Option<&'a Lining>,
    pub(crate) words: &'a Words,
    /// What to do, in order.
    pub(crate) stages: Cow<'a, [Stage]>,
    pub(crate) watch: &'a Watch,
    pub(crate) span: grisaille_base::Span<'a>,
    /// Widths and heights of the views, in figure millimetres, in the order of [`View::all`].
    pub(crate) extents: Vec<[f64; 2]>,
    /// By view and bits of scale and fineness.
    pub(crate) scenes: Vec<((usize, [u64; 2]), Scene<'a>)>,
    /// The lines of each side from which something was drawn.
    pub(crate) lines: Vec<ViewLines>,
    /// What each side shows, once it is asked for.
    pub(crate) survey: Option<Survey>,
}

impl<'a> Composer<'a> {
    fn new(subject: &Subject<'a>, watch: &'a Watch) -> Self {
        let Subject { plan, scheme, coloured, form, words, .. } = *subject;
        let (regions, lining) = match coloured {
            Some(coloured) => (Some(&coloured.regions), Some(&coloured.lining)),
            None => form.unzip(),
        };
        let extents = View::all().iter().map(|view| extent(plan, view)).collect();
        let primer = if plan.primer.is_some() { 32 } else { 0 };
        let cards = coloured.map_or(0, |c| 2 * c.stages.len() as u64);
        let pictures = 34 + primer + 4 * plan.lights.len() as u64 + cards;
        let span = watch.span("pictures", pictures);
        Self {
            plan,
            paper: Paper(scheme.print.paper),
            scheme,
            coloured,
            regions,
            lining,
            words,
            stages: match coloured {
                Some(coloured) => Cow::Borrowed(&coloured.stages),
                None => Cow::Owned(priming(plan, words)),
            },
            watch,
            span,
            extents,
            scenes: Vec::new(),
            lines: Vec::new(),
            survey: None,
        }
    }

    fn sheets(mut self, heading: &Heading, findings: &[Finding]) -> Result<Sheets, Stop> {
        let plan = self.plan;
        let room = self.paper.cover();
        let cover = on_field(
            &self.extents,
            &[THREE_QUARTER],
            1,
            Field { width: room.width.0, height: room.height.0 + 10.0 },
        );
        let cover = self.picture(THREE_QUARTER, cover.scale, Look::Primed(Coat::Light))?;
        let scheme = self.scheme;
        let prints = |kind| scheme.print.prints(kind);
        let wanted = [SheetKind::Summary, SheetKind::Primer, SheetKind::Stages].map(prints);
        let [summary, primer, stages] = wanted;
        let summary = if summary { Some(self.summary()?) } else { None };
        let (values, scale) = self.value_sheets()?;
        let lights = self.light_sheets()?;
        let band_pictures = self.band_pictures()?;
        let zone_pictures = self.zone_pictures()?;
        let zones = if zone_pictures.is_empty() { Vec::new() } else { self.zones() };
        let mut maps = Vec::new();
        if prints(SheetKind::Regions) {
            maps.extend(self.region_sheets()?);
        }
        if prints(SheetKind::Lines) {
            maps.extend(self.line_sheets()?);
        }
        if prints(SheetKind::Gluing) {
            maps.extend(self.gluing_sheets()?);
        }
        let primer = if primer { self.primer_sheets()? } else { Vec::new() };
        let stages = if stages { self.stage_cards()? } else { Vec::new() };
        let handout = if prints(SheetKind::Handout) { self.handout_cards()? } else { Vec::new() };
        let mut extras = Vec::new();
        if prints(SheetKind::Values) {
            extras.extend(self.true_size_sheets()?);
        }
        if prints(SheetKind::Faces) {
            extras.extend(self.face_sheets()?);
        }
        if prints(SheetKind::Freehand) {
            extras.extend(self.freehand_sheets()?);
        }
        if prints(SheetKind::Outlines) {
            extras.extend(self.outline_sheets()?);
        }
        if prints(SheetKind::Photo) {
            extras.extend(self.photo_sheets()?);
        }
        Ok(Sheets {
            paper: self.paper,
            lengths: self.scheme.print.lengths,
            ink: self.ink(),
            title: heading.title.clone(),
            model_file: heading.model_file.clone(),
            made_with: heading.made_with.clone(),
            height: Millimetres(plan.mesh.bounds().extents()[2]),
            facts: self.facts(scale),
            cover,
            summary,
            values,
            lights,
            bands: self.bands(),
            bands_are_legend: band_pictures.is_empty(),
            value_scale: value_scale(),
            band_pictures,
            zones,
            zone_pictures,
            zones_note: self.zones_note(),
            maps,
            primer,
            stages,
            extras,
            handout,
            warnings: findings.iter().map(|f| warning(f, self.words)).collect(),
            words: printed_words(self.words),
            language: self.words.language(),
        })
    }

    /// The sheets of values, and the largest enlargement on them.
    fn value_sheets(&mut self) -> Result<(Vec<ValueSheet>, u32), Stop> {
        if !self.scheme.print.prints(SheetKind::Values) {
            return Ok((Vec::new(), 0));
        }
        let ways: [&[(&[usize], usize)]; 3] = [
            &[(&[FRONT], 1), (&[BACK], 1), (&[THREE_QUARTER], 1), (&[LEFT, RIGHT, ABOVE], 2)],
            &[(&[FRONT, BACK], 1), (&[THREE_QUARTER, ABOVE], 1), (&[LEFT, RIGHT], 1)],
            &[(&[FRONT, BACK], 2), (&[THREE_QUARTER, ABOVE], 2), (&[LEFT, RIGHT], 2)],
        ];
        let mut values = Vec::new();
        let mut scale = 0;
        for sheet in best(&self.extents, &ways, (self.paper, STRIP)) {
            scale = scale.max(sheet.scale as u32);
            values.push(self.value_sheet(&sheet)?);
            // Large views are needed once; small ones serve several sheets.
            self.scenes.clear();
        }
        Ok((values, scale))
    }

    fn light_sheets(&mut self) -> Result<Vec<LightSheet>, Stop> {
        let mut lights = Vec::new();
        if !self.scheme.print.prints(SheetKind::Lights) {
            return Ok(lights);
        }
        let ways: [&[(&[usize], usize)]; 5] = [
            &[(&[FRONT, BACK, LEFT, RIGHT], 2)],
            &[(&[FRONT, BACK, LEFT], 1)],
            &[(&[FRONT, BACK], 1)],
            &[(&[FRONT, BACK], 2)],
            &[(&[FRONT, THREE_QUARTER, BACK], 3)],
        ];
        let light_sheet = best(&self.extents, &ways, (self.paper, 2.0 * STRIP));
        for number in 0..self.plan.lights.len() {
            for sheet in &light_sheet {
                lights.push(self.light_sheet(number, sheet)?);
            }
        }
        self.scenes.clear();
        Ok(lights)
    }

    fn band_pictures(&mut self) -> Result<Vec<ViewPicture>, Stop> {
        let mut pictures = Vec::new();
        if !self.scheme.print.prints(SheetKind::Bands) {
            return Ok(pictures);
        }
        let field = self.field_under(BAND_TABLE);
        // One more at true size, where it takes no more than a third of the width.
        let own = self.extents[FRONT][0] + 2.0 * MARGIN + 0.2;
        let beside = Field { width: field.width - own.max(38.0) - 5.0, ..field };
        let beside = largest(&self.extents, &[FRONT, BACK], beside);
        let true_size =
            3.0 * own <= field.width && self.extents[FRONT][1] <= field.height && beside.scale > 1.0;
        let scale = if true_size { beside } else { largest(&self.extents, &[FRONT, BACK], field) }.scale;
        let caption = if self.coloured.is_some() { "caption-mixes-in-grey" } else { "caption-tones" };
        for view in [FRONT, BACK] {
            let picture = self.in_smooth_greys(view, scale)?;
            pictures.push(named(self.words, view, caption, picture));
        }
        if true_size {
            let picture = self.in_smooth_greys(FRONT, 1.0)?;
            pictures.push(ViewPicture {
                name: say!(self.words, "view-true-size"),
                caption: say!(self.words, "caption-true-size"),
                picture,
            });
        }
        Ok(pictures)
    }

    /// The room under a table of `rows` mm.
    pub(crate) fn field_under(&self, rows: f64) -> Field {
        Field { width: self.paper.wide(), height: self.paper.under(rows) }
    }

    /// What a painter compares with: the values that the planned colours come to, before there are any those of the
    /// light.
    pub(crate) fn values_look(&self) -> Look {
        if self.coloured.is_some() { Look::ColourValues } else { Look::Values }
    }

    fn value_sheet(&mut self, sheet: &Arranged) -> Result<ValueSheet, Stop> {
        let mut pictures = Vec::new();
        for view in &sheet.views {
            let picture = self.picture(*view, sheet.scale, self.values_look())?;
            pictures.push(named(self.words, *view, "", picture));
        }
        let title = match sheet.views.as_slice() {
            [one] => say!(self.words, &format!("values-title-{}", VIEWS[*one])),
            [one, other] => {
                say!(self.words, &format!("values-title-{}-and-{}", VIEWS[*one], VIEWS[*other]))
            }
            _ => say!(self.words, "values-title-other-sides"),
        };
        Ok(ValueSheet { title, pictures, columns: sheet.columns as u32 })
    }

    /// A view, by its place in [`View::all`], at a scale and in a look.
    pub(crate) fn picture(&mut self, view: usize, scale: f64, look: Look) -> Result<Picture, Stop> {
        self.picture_in(view, scale, look, self.ink())
    }

    /// The tones before they are cut into bands: those of the planned colours, if there are any.
    fn in_smooth_greys(&mut self, view: usize, scale: f64) -> Result<Picture, Stop> {
        match self.coloured {
            Some(_) => self.colours_in_grey(view, scale),
            None => self.picture(view, scale, Look::Tones),
        }
    }

    /// The planned colours as they read to who squints: as light and dark as the mixes come to.
    pub(crate) fn colours_in_grey(&mut self, view: usize, scale: f64) -> Result<Picture, Stop> {
        let picture = self.picture_in(view, scale, Look::Colours, Ink::Grey)?;
        let side = self.side(&View::all()[view]);
        Ok(Picture { alt: say!(self.words, "alt-colours-in-grey", side = side), ..picture })
    }

    fn picture_in(&mut self, view: usize, scale: f64, look: Look, ink: Ink) -> Result<Picture, Stop> {
        let in_steps = matches!(look, Look::Exposure(_));
        let flat = in_steps
            || matches!(look, Look::Values | Look::ColourValues | Look::Zones | Look::Reach | Look::Steps);
        // Nothing is measured on a light's steps: they are as fine as shading.
        let fineness = if flat && !in_steps { FINENESS } else { SMOOTH };
        let key = (view, [scale, fineness].map(f64::to_bits));
        let place = match self.scenes.iter().position(|(k, _)| *k == key) {
            Some(place) => place,
            None => {
                let frame = self.frame(&View::all()[view], scale, fineness);
                let scene = self.scene(&frame, fineness)?;
                self.scenes.push((key, scene));
                self.scenes.len() - 1
            }
        };
        let scene = &self.scenes[place].1;
        // Lines are as sharp as print can be, and what lies under them is smooth or flat and packs well.
        let Shaded { mut image, areas } = match (ink, look) {
            // How far a light comes is seen by its steps, not by shading.
            (ink, Look::Exposure(id)) => {
                let (plan, own) = (self.plan, self.own_colour(id));
                scene.marked(|hit| exposed(plan, id, hit), |step| exposed_in(own, ink, step), self.watch)?
            }
            (ink, Look::Zones) => {
                let zone = |hit: &Hit| Some(self.zone_painted(hit));
                scene.marked(zone, |zone| zone_mark(self.plan, ink, zone), self.watch)?
            }
            _ => scene.shade_bare(look, self.watch)?,
        };
        if ink == Ink::Grey {
            image.to_grey();
        }
        let (plan, watch, regions) = (self.plan, self.watch, self.regions);
        let text = |label: u16| match look {
            Look::Zones if label == u16::from(NO_ZONE) || label >= METAL => String::new(),
            Look::Zones => label.to_string(),
            _ => plan.bands.rows.get(usize::from(label)).map_or('?', |b| b.letter).to_string(),
        };
        let size_px = [image.width(), image.height()];
        // The steps of a light are far enough apart to need no lines between them.
        let areas = areas.filter(|_| !in_steps);
        let over = || {
            let lines = scene.lines_over(areas.as_ref(), BorderPen::FINE, Contours::Plain, watch)?;
            let Some(areas) = &areas else { return Ok((lines, Vec::new())) };
            let pixels = areas.per_pixel(watch)?;
            let ground = Ground { pixels: &pixels, size_px, fineness, least: DOT };
            let mut labels = lettered(&ground, 5, text, Vec::new(), watch)?;
            if let (Look::Zones, Some(regions)) = (look, regions) {
                number_regions((scene.items(), regions), &ground, &mut labels, watch)?;
            }
            Ok((lines, labels))
        };
        // Flat greys match the legend's to the bit.
        let pack = || if flat { image.png(fineness, watch) } else { image.jpeg(fineness, watch) };
        let (file, over) = watch.both(pack, over);
        let (file, (lines, labels)) = (file?, over?);
        self.span.advance(1);
        Ok(Picture {
            width: Millimetres(f64::from(image.width()) / fineness),
            height: Millimetres(f64::from(image.height()) / fineness),
            file,
            // Less than life size is no whole enlargement and goes unstated.
            scale: scale as u32,
            alt: self.alt(&View::all()[view], look),
            lines,
            labels,
        })
    }

    /// A picture in a frame with so many pixels on a mm of paper: its file, its enlargement, what it shows, and the
    /// lines over it.
    pub(crate) fn printed(
        &self,
        (frame, fineness, scale): (&Frame, f64, f64),
        file: Vec<u8>,
        alt: String,
        lines: Vec<String>,
    ) -> Picture {
        self.span.advance(1);
        Picture {
            width: Millimetres(f64::from(frame.width()) / fineness),
            height: Millimetres(f64::from(frame.height()) / fineness),
            file,
            // Less than life size is no whole enlargement and goes unstated.
            scale: scale as u32,
            alt,
            lines,
            labels: Vec::new(),
        }
    }

    /// What the printer has.
    pub(crate) fn ink(&self) -> Ink {
        self.scheme.print.ink
    }

    /// A scene in a frame, with the lines of its side.
    pub(crate) fn scene(&mut self, frame: &Frame, fineness: f64) -> Result<Scene<'a>, Stop> {
        let scene = Scene::new(self.plan, frame, fineness, self.watch)?;
        let place = match self.lines.iter().position(|known| known.view() == frame.view()) {
            Some(place) => place,
            None => {
                let crease = DrawingSettings::on_paper(fineness).crease;
                let found = ViewLines::of(&self.plan.mesh, |_| true, frame.view(), crease, self.watch)?;
                self.lines.push(found);
                self.lines.len() - 1
            }
        };
        Ok(scene.with_lines(&self.lines[place]))
    }

    /// The frame of a view of the whole figure, at a scale, with so many pixels on a mm of paper.
    pub(crate) fn frame(&self, view: &View, scale: f64, fineness: f64) -> Frame {
        let points = self.plan.mesh.positions();
        let scale = scale.max(1e-6);
        let frame = Frame::fit(points, view.clone(), fineness * scale, MARGIN / scale);
        // A blade seen edge-on still gets a picture that can be printed.
        let least = (SMALLEST * fineness) as u32;
        let (width, height) = (frame.width().max(least), frame.height().max(least));
        Frame::new(view.clone(), frame.mm_per_pixel(), width, height, frame.centre())
    }

    /// The colour of a light, as the scheme has it.
    fn own_colour(&self, light: LightId) -> LinearRgb {
        let entry = self.scheme.lights.iter().find(|entry| entry.id == light);
        entry.map_or(LinearRgb::WHITE, |entry| LinearRgb::from_srgb8(entry.colour))
    }

    fn light_sheet(&mut self, number: usize, sheet: &Arranged) -> Result<LightSheet, Stop> {
        let light = &self.plan.lights[number];
        let mut pictures = Vec::new();
        for view in &sheet.views {
            let picture = self.picture(*view, sheet.scale, Look::Exposure(light.id))?;
            pictures.push(named(self.words, *view, "", picture));
        }
        let sketches = match from_where(&light.kind, self.plan) {
            Some((tilt, azimuth)) => self.direction_sketches(tilt, azimuth)?,
            None => Vec::new(),
        };
        let ink = self.ink();
        let steps = EXPOSURE_TICKS.iter().enumerate().rev().map(|(step, (_, number, words))| LegendStep {
            colour: srgb(exposed_in(self.own_colour(light.id), ink, step as u16).colour),
            number: (*number).into(),
            words: self.words.term("exposure", words),
        });
        Ok(LightSheet {
            title: say!(self.words, "light-title-of", name = &light.name),
            lead: say!(
                self.words,
                "light-lead",
                number = (number + 1).to_string(),
                count = self.plan.lights.len().to_string(),
                source = self.source(light),
            ),
            share: light.answer.reached_share,
            legend: Legend { title: say!(self.words, "light-legend"), steps: steps.collect() },
            pictures,
            columns: sheet.columns as u32,
            sketches,
            notes: self.notes(light),
        })
    }
}

/// The step of the exposure scale that a spot is nearest to.
fn exposed(plan: &Plan, light: LightId, hit: &Hit) -> Option<u16> {
    let values = &plan.exposure.of(light)?.values;
    let corners = plan.corners(hit.face.index(), values)?;
    let e: f64 = (0..3).map(|c| f64::from(corners[c]) * f64::from(hit.barycentric[c])).sum();
    Some((e.clamp(0.0, 1.0) * (EXPOSURE_TICKS.len() - 1) as f64).round() as u16)
}

/// How a step of the exposure scale is filled: in a light's own colour, as much of it as the step has light, or by a
/// ladder of greys.
fn exposed_in(light: LinearRgb, ink: Ink, step: u16) -> Mark {
    let colour = match ink {
        Ink::Colour => {
            let light = Lab::from(light);
            let lit = f64::from(step) / (EXPOSURE_TICKS.len() - 1) as f64;
            // Neither the dark nor paper can hold a hue: between them it is fullest.
            let chroma = light.chroma() * (1.0 - (2.0 * lit - 1.0).powi(2)).max(0.15);
            Lab::from_polar(UNLIT + (LIT - UNLIT) * lit, chroma, light.hue()).shown()
        }
        Ink::Grey => {
            let lit = f64::from(step) / (EXPOSURE_TICKS.len() - 1) as f64;
            printed_in_grey(LinearRgb::grey(luminance_from_lightness(Lightness(UNLIT + (LIT - UNLIT) * lit))))
        }
    };
    Mark { colour, pattern: Pattern::Plain }
}

/// The ten steps of the value scale, each in its own grey: a printer at home may come near.
fn value_scale() -> Vec<Swatch> {
    let step = |value: u8| {
        let luminance = luminance_from_munsell(f64::from(value));
        Swatch {
            letter: value.to_string(),
            colour: srgb(LinearRgb::grey(luminance)),
            pattern: Pattern::Plain,
            words: format!("{:.0}", lightness_from_luminance(luminance).0),
        }
    };
    (0..=10).map(step).collect()
}

/// A picture of a side with its name and, if a key is given, its caption.
pub(crate) fn named(words: &Words, view: usize, caption: &str, picture: Picture) -> ViewPicture {
    let caption = if caption.is_empty() { String::new() } else { say!(words, caption) };
    ViewPicture { name: words.term("view", View::all()[view].words()), caption, picture }
}

/// What the template says by itself, by keys.
#[must_use]
pub fn printed_words(words: &Words) -> Vec<(String, String)> {
    let own = messages().into_iter().filter(|m| m.key.starts_with("print-"));
    // What goes into these is known to the typesetter alone: it puts it in place of the sign.
    let said = own.map(|m| {
        let signs: Vec<(&str, Said<'_>)> =
            m.takes.iter().map(|name| (name.as_str(), Said::from(SIGN))).collect();
        (m.key["print-".len()..].to_owned(), words.say(&m.key, &signs))
    });
    said.collect()
}

/// Stands for what the template puts in.
const SIGN: &str = "¤";

pub(crate) fn srgb(colour: LinearRgb) -> Srgb {
    Srgb(colour.to_srgb8())
}

/// Width and height of a view in figure millimetres.
pub(crate) fn extent(plan: &Plan, view: &View) -> [f64; 2] {
    let span = |axis: nalgebra::Vector3<f64>| {
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for p in plan.mesh.positions() {
            let x = p.coords.cast::<f64>().dot(&axis);
            low = low.min(x);
            high = high.max(x);
        }
        (high - low).max(1e-3)
    };
    [span(view.right()), span(view.up())]
}

impl Composer<'_> {
    fn facts(&self, factor: u32) -> Vec<Fact> {
        let (plan, words) = (self.plan, self.words);
        let fact = |key: &str, value: String| Fact { label: say!(words, key), value };
        let [width, depth, height] = plan.mesh.bounds().extents();
        let painted: f64 = plan.bands.rows.iter().map(|b| b.figure_mm2 + b.base_mm2).sum();
        let lights: Vec<String> = plan.lights.iter().map(|l| l.name.clone()).collect();
        let mut facts = vec![
            fact("fact-size", format!("{width:.1} × {depth:.1} × {height:.1} mm")),
            fact("fact-painted", format!("{:.0} cm²", painted / 100.0)),
            fact("fact-shells", plan.mesh.pieces().len().to_string()),
            fact("fact-triangles", plan.mesh.counts().triangles.to_string()),
            fact("fact-lights", words.row(&lights)),
        ];
        // Only a plan in colour has had its files put together.
        if self.coloured.is_some() && plan.assembly.is_none() {
            facts.push(fact("fact-gluing", say!(words, "fact-gluing-none")));
        }
        if factor > 0 {
            facts.push(fact("fact-views", format!("{factor} : 1")));
        }
        if let Some(top) = plan.base_top_mm {
            facts.push(fact("fact-base", say!(words, "fact-base-high", height = format!("{top:.1}"))));
        }
        facts
    }

    /// The bands, lightest first as they stand on the figure, with what each covers: of the planned colours, if there
    /// are any.
    fn bands(&self) -> Vec<BandRow> {
        let plan = self.plan;
        let rows = &plan.bands.rows;
        let painted: f64 = rows.iter().map(|b| b.figure_mm2 + b.base_mm2).sum();
        let covers = match self.coloured {
            Some(coloured) => coloured.colouring.band_covers(plan),
            None => rows.iter().map(|b| BandCover { share: b.share, tone: Some(b.tone) }).collect(),
        };
        let row =
            |(i, (b, BandCover { share, tone })): (usize, (&grisaille_plan::Band, BandCover))| BandRow {
                letter: b.letter.to_string(),
                name: self.words.term("band", b.name),
                from: b.low,
                to: b.high,
                munsell: munsell_value(luminance_from_lightness(tone.unwrap_or(b.tone))),
                grey: srgb(band_grey(plan, i)),
                area: share * painted,
                share,
            };
        rows.iter().zip(covers).enumerate().map(row).rev().collect()
    }

    /// Where a light comes from and its colour, in plain words.
    pub(crate) fn coloured_source(&self, light: &PlannedLight) -> String {
        let entry = self.scheme.lights.iter().find(|entry| entry.id == light.id);
        let colour = LinearRgb::from_srgb8(entry.map_or([255; 3], |entry| entry.colour));
        let (words, source) = (self.words, self.source(light));
        say!(words, "source-colour", source = source, colour = called(Lab::from(colour), words))
    }

    /// Where a light comes from, in plain words.
    pub(crate) fn source(&self, light: &PlannedLight) -> String {
        let words = self.words;
        match light.kind {
            Kind::Zenithal { tilt, .. } if tilt < 1.0 => say!(words, "source-straight-above"),
            Kind::Zenithal { tilt, azimuth, .. } => {
                let side = side_in_words(azimuth, words);
                say!(words, "source-tilted", tilt = format!("{tilt:.0}"), side = side)
            }
            Kind::Ring => say!(words, "source-ring"),
            Kind::Ambient { sky: Sky::Uniform } => say!(words, "source-ambient"),
            Kind::Ambient { sky: Sky::Overcast } => say!(words, "source-overcast"),
            Kind::Point { at, .. } => {
                let bounds = self.plan.mesh.bounds();
                let centre = bounds.centre();
                let azimuth = (at.x - centre[0]).atan2(centre[1] - at.y).to_degrees();
                let up = format!("{:.0}", at.z - f64::from(bounds.low[2]));
                say!(words, "source-lamp", up = up, side = side_in_words(azimuth, words))
            }
        }
    }
}

/// From where a light comes, in degrees from straight above and round from the front toward the viewer's right, seen
/// from the middle of the figure; nothing for what comes from all round.
fn from_where(kind: &Kind, plan: &Plan) -> Option<(f64, f64)> {
    match kind {
        Kind::Zenithal { tilt, azimuth, .. } => Some((*tilt, *azimuth)),
        Kind::Point { at, .. } => {
            let [x, y, z] = plan.mesh.bounds().centre();
            let (dx, dy, dz) = (at.x - x, at.y - y, at.z - z);
            Some((dx.hypot(dy).atan2(dz).to_degrees(), dx.atan2(-dy).to_degrees()))
        }
        Kind::Ring | Kind::Ambient { .. } => None,
    }
}

/// Where a lamp stands, for a hand that holds one there.
fn place_of(at: Point3<f64>, plan: &Plan, words: &Words) -> String {
    let bounds = plan.mesh.bounds();
    let [x, y, _] = bounds.centre();
    let told = |d: f64, less: &str, more: &str| {
        let key = if d < 0.0 { less } else { more };
        (d.abs() >= 0.5).then(|| say!(words, key, mm = format!("{:.0}", d.abs())))
    };
    let round = [told(at.x - x, "place-left", "place-right"), told(at.y - y, "place-before", "place-behind")];
    let round: Vec<String> = round.into_iter().flatten().collect();
    let up = format!("{:.0}", at.z - f64::from(bounds.low[2]));
    match round.as_slice() {
        [] => say!(words, "place-of-lamp-middle", up = up),
        round => say!(words, "place-of-lamp", up = up, round = words.list(round)),
    }
}

impl Composer<'_> {
    /// How light what shines comes out in the planned colours, if anything is to shine.
    fn painted_lamp(&self) -> Option<Lightness> {
        let rows = &self.coloured?.colouring.rows;
        let shining = rows.iter().filter(|row| row.material == Material::Glow).flat_map(|row| &row.ramp);
        let tones = shining.filter(|step| step.area_mm2 > 0.0).map(|step| step.shown().l);
        tones.max_by(f64::total_cmp).map(Lightness)
    }

    fn notes(&self, light: &PlannedLight) -> Vec<String> {
        let (plan, words) = (self.plan, self.words);
        let mut notes = Vec::new();
        if let Kind::Point { at, .. } = light.kind {
            notes.push(place_of(at, plan, words));
        }
        if let Some(zone) = plan.zones.rows.iter().find(|z| z.light == light.id) {
            notes.push(say!(words, "light-strongest", share = format!("{:.0}", 100.0 * zone.share)));
        }
        if let Some(falloff) = falloff_in_words(&light.kind, 1, words) {
            let lamp = self.painted_lamp().unwrap_or(plan.values.fit.lamp());
            let value = format!("{:.1}", munsell_value(luminance_from_lightness(lamp)));
            notes.push(say!(words, "light-falloff", falloff = falloff, value = value));
        }
        notes
    }
}

/// A hint as a sentence.
fn in_full(hint: &str) -> String {
    let mut letters = hint.chars();
    let mut text: String =
        letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect());
    if !text.ends_with(['.', '!', '?']) {
        text.push('.');
    }
    text
}

fn warning(finding: &Finding, words: &Words) -> Warning {
    let place = match finding.place {
        Some(Place::Point(at)) => {
            let [x, y, z] = at.map(|x| format!("{x:.1}"));
            say!(words, "warning-at-point", x = x, y = y, z = z)
        }
        Some(Place::Line(n)) => say!(words, "warning-at-line", line = n.to_string()),
        Some(Place::Byte(n)) => say!(words, "warning-at-byte", byte = n.to_string()),
        None => String::new(),
    };
    let key = format!("finding-{}", finding.code.as_str());
    if words.has(&key) {
        // What samples are is the program's own business; the painter has parts.
        let place = if finding.code == Code::BuriedSamples { String::new() } else { place };
        return Warning { text: words.say(&key, &[("n", Said::Count(finding.count))]), place };
    }
    let mut text = in_full(&finding.hint);
    if finding.count > 1 {
        text = say!(words, "warning-times", text = text, n = finding.count.to_string());
    }
    Warning { text, place }
}

/// Fills nothing, where nothing is marked.
pub(crate) const NOTHING: Mark = Mark { colour: LinearRgb::WHITE, pattern: Pattern::Plain };

impl Composer<'_> {
    /// The name of a side, for the description of a picture.
    pub(crate) fn side(&self, view: &View) -> String {
        self.words.term("view", view.words())
    }

    /// What a painter would take from a picture, for who cannot see it.
    fn alt(&self, view: &View, look: Look) -> String {
        let (plan, words) = (self.plan, self.words);
        let side = self.side(view);
        let percent = |share: f64| format!("{:.0}", 100.0 * share);
        let plain = || say!(words, "alt-plain", side = &side);
        match look {
            Look::Values | Look::ColourValues | Look::Tones => match self.bands().as_slice() {
                [l, .., d] => say!(
                    words,
                    if look == Look::ColourValues { "alt-colour-values" } else { "alt-values" },
                    side = &side,
                    light = &l.letter,
                    light_name = &l.name,
                    light_share = percent(l.share),
                    dark = &d.letter,
                    dark_name = &d.name,
                    dark_share = percent(d.share),
                ),
                _ => plain(),
            },
            Look::Exposure(id) => match plan.lights.iter().find(|l| l.id == id) {
                Some(l) => say!(
                    words,
                    "alt-exposure",
                    side = &side,
                    name = &l.name,
                    source = self.source(l),
                    share = percent(l.answer.reached_share),
                ),
                None => plain(),
            },
            Look::Zones => {
                let share = |z: &grisaille_plan::Zone| {
                    say!(words, "alt-zone-share", name = &z.name, share = percent(z.share))
                };
                let shares = words.row(&plan.zones.rows.iter().map(share).collect::<Vec<_>>());
                say!(words, "alt-zones", side = &side, shares = shares)
            }
            Look::Colours => say!(words, "alt-colours", side = &side),
            Look::Steps => say!(words, "alt-steps", side = &side),
            Look::Reach => say!(words, "alt-reach", side = &side),
            Look::Openness => say!(words, "alt-openness", side = &side),
            Look::Sprayed(usize::MAX) => say!(words, "alt-sprayed-all", side = &side),
            Look::Sprayed(pass) => say!(words, "alt-sprayed", side = &side, n = pass),
            Look::SprayedOnce => say!(words, "alt-sprayed-once", side = &side),
            Look::DryBrushed(usize::MAX) => say!(words, "alt-dry-brushed-all", side = &side),
            Look::DryBrushed(round) => say!(words, "alt-dry-brushed", side = &side, n = round),
            Look::Primed(Coat::Dark) => say!(words, "alt-primed-dark", side = &side),
            Look::Primed(Coat::Mid) => say!(words, "alt-primed-mid", side = &side),
            Look::Primed(Coat::Light) => say!(words, "alt-primed-light", side = &side),
        }
    }
}

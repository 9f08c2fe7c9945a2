//! Pictures for step cards: from the sides that show most of what a stage marks, as near as fits.

use crate::compose::{Composer, LEVELS, SMOOTH};
use crate::lettering::{DOT, Ground, SPECK, lettered};
use crate::mark::{BESIDE, MarkedLine, Marking};
use crate::sheets::{Picture, ViewPicture};
use crate::survey::{CloseUp, MEASURED, RowRoom, Survey};
use grisaille_base::{Millimetres, RegionId, Stop};
use grisaille_colour::{LinearRgb, printed_in_grey};
use grisaille_picture::{
    BorderPen, Contours, Frame, LineKind, LinePen, Mark, Pattern, Scene, Stroke, marked_svg,
};
use grisaille_plan::{MixPlace, Stage, StageKind};
use grisaille_scheme::Ink;
use grisaille_words::say;
use std::collections::BTreeSet;

/// Borders of marked areas on paper, mm.
const BORDER: f64 = 0.28;
/// Every so many pixels is enough to see which region a picture shows.
const SPARSE: usize = 4;
/// A line of which less is seen in one piece is not pointed at, mm.
const SEEN: f64 = 1.2;
/// A touch may lie so far behind what is seen, by the figure's height: two pixels of a survey.
const RIM: f64 = 2.0 / MEASURED;
/// Lines and spots on paper, mm.
const LINE: f64 = 0.5;
const SPOT: f64 = 1.2;

/// A colour as the printer has it.
pub(crate) fn in_ink(colour: LinearRgb, ink: Ink) -> LinearRgb {
    if ink == Ink::Grey { printed_in_grey(colour) } else { colour }
}

/// The patterns of a lamp's tones, darkest first.
const TONE_PATTERNS: [Pattern; 3] = [Pattern::Upright, Pattern::Dots, Pattern::Plain];

/// The pattern of a stage's recipe, where colours do not tell areas apart. A step has the same on all cards, and the
/// base coat none; what is no step has one by its place, neighbours in the order of use different ones. A glaze is one:
/// what it makes of each tone is told by that tone alone. Lines and touches are too small for any.
pub(crate) fn pattern_of(stage: &Stage, recipe: usize, ink: Ink) -> Pattern {
    if ink == Ink::Colour || is_plain(stage.kind) {
        return Pattern::Plain;
    }
    let laid = matches!(stage.kind, StageKind::ShadowsAndLights | StageKind::LampColour(_) | StageKind::Base);
    match stage.recipes.get(recipe).map(|r| r.place) {
        Some(MixPlace::Step(_, step)) if laid => Pattern::of_zone(step + 1),
        // The base's card has both, in no more than seven patterns.
        Some(MixPlace::LitTone(_, _, tone)) if laid => TONE_PATTERNS[tone % TONE_PATTERNS.len()],
        Some(_) => Pattern::of_zone(recipe),
        None => Pattern::Plain,
    }
}

/// What is seen of a line or a touch.
struct Drawn {
    label: u16,
    /// Its width on paper, mm.
    width: f64,
    /// In pixels of the picture.
    strokes: Vec<Stroke>,
    /// What it goes by.
    text: String,
    /// Which touch it is, if it is one.
    touch: Option<usize>,
}

/// A picture of what a stage marks.
pub(crate) struct Marked {
    pub(crate) picture: Picture,
    /// Its side in words.
    pub(crate) side: String,
    /// The one region that is marked on it, where others are called the same; else empty.
    pub(crate) piece: String,
    /// The touches that are seen on it.
    pub(crate) touches: Vec<usize>,
}

impl Drawn {
    /// The middle of the longest part that is seen, mm on the picture of a size; none of a line that is hardly seen.
    fn anchor(&self, size: [f64; 2]) -> Option<[f64; 2]> {
        let inside = |px: &[f64; 2]| (0..2).all(|k| (0.0..=size[k] * SMOOTH).contains(&px[k]));
        let parts = self.strokes.iter().flat_map(|s| s.points.chunk_by(|a, b| inside(a) && inside(b)));
        let length = |part: &[[f64; 2]]| -> f64 {
            part.windows(2).map(|w| (w[1][0] - w[0][0]).hypot(w[1][1] - w[0][1])).sum()
        };
        let longest = parts.filter(|part| inside(&part[0])).max_by(|a, b| length(a).total_cmp(&length(b)))?;
        let seen = self.touch.is_some() || length(longest) / SMOOTH >= SEEN;
        seen.then(|| longest[longest.len() / 2].map(|px| px / SMOOTH))
    }
}

fn is_plain(kind: StageKind) -> bool {
    matches!(kind, StageKind::Glaze | StageKind::Lining | StageKind::Edges | StageKind::Spots)
}

impl Composer<'_> {
    /// Pictures of what a stage marks, as near as shows all of it in few, within the first of the rooms that serves.
    /// `texts` are the letters by label. With how many of the touches none shows.
    pub(crate) fn marked_pictures(
        &mut self,
        about: (StageKind, &str),
        marking: &Marking<'_>,
        texts: &[String],
        rooms: &[RowRoom<'_>],
    ) -> Result<(Vec<ViewPicture>, usize), Stop> {
        let survey = match self.survey.take() {
            Some(survey) => survey,
            None => Survey::of(self.plan, &self.extents, self.watch)?,
        };
        let mut pictures = Vec::new();
        let mut touches = BTreeSet::new();
        for close_up in survey.close_ups(self.plan, marking, rooms, self.watch)? {
            let marked = self.marked(about, marking, texts, &close_up)?;
            touches.extend(marked.touches);
            pictures.push(ViewPicture { name: marked.side, caption: marked.piece, picture: marked.picture });
        }
        self.survey = Some(survey);
        Ok((pictures, marking.spots.len() - touches.len()))
    }

    /// Which of two regions of one name a picture shows the marked part of, such as the left glove; empty where it
    /// shows both, or there are no two.
    fn piece(&self, marking: &Marking<'_>, scene: &Scene<'_>) -> String {
        let (Some(regions), items) = (self.regions, scene.items()) else { return String::new() };
        let mut shown: BTreeSet<RegionId> = BTreeSet::new();
        for row in (0..items.rows()).step_by(SPARSE) {
            for column in (0..items.columns()).step_by(SPARSE) {
                let hit = items.hit(column, row);
                let marked = hit.filter(|hit| marking.label(hit).is_some_and(|label| label < BESIDE));
                shown.extend(marked.and_then(|hit| regions.of_face.get(hit.face.index())));
            }
        }
        let mut shown = shown.into_iter();
        let (Some(region), None) = (shown.next(), shown.next()) else { return String::new() };
        let (own, sided) = (
            self.region_name(region.index()),
            self.sided_name(region.index(), regions, &self.painted_regions(regions)),
        );
        if own == sided { String::new() } else { sided }
    }

    /// What is seen of the lines and spots of a marking.
    fn strokes_of(
        &self,
        marking: &Marking<'_>,
        texts: &[String],
        frame: &Frame,
        behind_mm: f64,
        scene: &Scene<'_>,
    ) -> Result<Vec<Drawn>, Stop> {
        let Some(known) = self.lines.iter().find(|known| known.view() == frame.view()) else {
            return Ok(Vec::new());
        };
        let mut drawn = Vec::new();
        for MarkedLine { line, label, number } in &marking.lines {
            self.watch.check()?;
            let strokes = known.course((&line.points, line.closed), behind_mm, frame);
            let text = number.to_string();
            drawn.push(Drawn { label: *label, width: LINE, strokes, text, touch: None });
        }
        let touches = marking.spots.iter().enumerate();
        // What the survey has seen there is drawn: a touch on the very rim lies a little behind it.
        let behind_mm = behind_mm.max(RIM * self.plan.mesh.bounds().extents()[2]);
        for (n, (point, label)) in touches.filter(|(_, (point, _))| scene.items().shows(*point, behind_mm)) {
            // A pen set down and lifted again.
            let [x, y, _] = frame.project(*point);
            let points = vec![[x, y], [x + 0.02 * SMOOTH, y]];
            let strokes = vec![Stroke { kind: LineKind::Course, points, closed: false }];
            let text = texts.get(usize::from(*label)).cloned().unwrap_or_default();
            drawn.push(Drawn { label: *label, width: SPOT, strokes, text, touch: Some(n) });
        }
        Ok(drawn)
    }

    /// One picture of what a stage marks.
    pub(crate) fn marked(
        &mut self,
        (kind, title): (StageKind, &str),
        marking: &Marking<'_>,
        texts: &[String],
        CloseUp { frame, scale }: &CloseUp,
    ) -> Result<Marked, Stop> {
        let scene = self.scene(frame, SMOOTH)?;
        let ink = self.ink();
        let fill =
            |label| Mark { colour: in_ink(marking.colour(label), ink), pattern: marking.pattern(label) };
        let shaded = scene.marked(|hit| marking.label(hit), fill, self.watch)?;
        let mut image = shaded.image;
        let behind_mm = 2.0 * frame.mm_per_pixel() + 0.002 * self.plan.mesh.bounds().extents()[2];
        let drawn = self.strokes_of(marking, texts, frame, behind_mm, &scene)?;
        let watch = self.watch;
        let size = [image.width(), image.height()].map(|px| f64::from(px) / SMOOTH);
        let spots = drawn.iter().filter_map(|d| Some((d.text.clone(), d.anchor(size)?)));
        let spots: Vec<(String, [f64; 2])> = spots.collect();
        let text = |label: u16| texts.get(usize::from(label)).cloned().unwrap_or_default();
        let size_px = [image.width(), image.height()];
        let patterned = marking.is_patterned();
        let least = if matches!(kind, StageKind::Wash | StageKind::PinWash) { SPECK } else { DOT };
        if ink == Ink::Grey {
            image.to_grey();
        }
        let pack = || match patterned {
            // Borders of areas are lines over it: what is left is smooth.
            false => image.jpeg(SMOOTH, watch),
            // Patterns are not.
            true => {
                image.to_levels(LEVELS);
                image.png(SMOOTH, watch)
            }
        };
        let pen = BorderPen { width: BORDER, strength: 1.0 };
        // Lines and small spots of dark paint are told from those of the drawing.
        let contours = match kind {
            StageKind::Wash
            | StageKind::PinWash
            | StageKind::Lining
            | StageKind::Edges
            | StageKind::Spots => Contours::Faint,
            _ => Contours::Plain,
        };
        let over = || {
            let pixels = match &shaded.areas {
                Some(areas) => areas.per_pixel(watch)?,
                None => Vec::new(),
            };
            let ground = Ground { pixels: &pixels, size_px, fineness: SMOOTH, least };
            let labels = lettered(&ground, 2, text, spots, watch)?;
            Ok((scene.lines_over(shaded.areas.as_ref(), pen, contours, watch)?, labels))
        };
        let (file, over) = watch.both(pack, over);
        let (file, (mut lines, labels)) = (file?, over?);
        if !drawn.is_empty() {
            // What is light needs a dark rim on a pale figure.
            let rimmed = !matches!(kind, StageKind::Lining);
            let mut layers: Vec<(&[Stroke], LinePen)> = Vec::new();
            for rim in [true, false].into_iter().filter(|rim| rimmed || !rim) {
                for Drawn { label, width, strokes, .. } in &drawn {
                    let own = in_ink(marking.colour(*label), ink);
                    let (width, ink) = if rim { (1.7 * width, LinearRgb::BLACK) } else { (*width, own) };
                    layers.push((strokes, LinePen { width, ink, dashed: false }));
                }
            }
            lines.push(marked_svg([frame.width(), frame.height()], &layers, SMOOTH));
        }
        let side = self.side(frame.view());
        let [width, height] = size_px.map(|px| Millimetres(f64::from(px) / SMOOTH));
        let picture = Picture {
            width,
            height,
            file,
            scale: if scale.fract() == 0.0 { *scale as u32 } else { 0 },
            alt: say!(self.words, "alt-marked", side = &side, title = title),
            lines,
            labels,
        };
        self.span.advance(1);
        let piece = self.piece(marking, &scene);
        Ok(Marked { picture, side, piece, touches: drawn.iter().filter_map(|d| d.touch).collect() })
    }
}

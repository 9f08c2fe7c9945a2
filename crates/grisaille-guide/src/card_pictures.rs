//! Pictures for step cards: from the sides that show most of what a stage marks, as near as fits.

use crate::compose::{Composer, LEVELS, SMOOTH};
use crate::lettering::{Ground, lettered};
use crate::mark::{BESIDE, Marking};
use crate::sheets::{Picture, ViewPicture};
use crate::survey::{CloseUp, Survey};
use grisaille_base::{Millimetres, Stop};
use grisaille_colour::{LinearRgb, printed_in_grey};
use grisaille_picture::{BorderPen, Frame, LineKind, LinePen, Mark, Pattern, Scene, Stroke, marked_svg};
use grisaille_plan::StageKind;
use grisaille_scheme::Ink;
use grisaille_words::say;

/// Borders of marked areas on paper, mm.
const BORDER: f64 = 0.28;
/// Lines and spots on paper, mm.
const LINE: f64 = 0.5;
const SPOT: f64 = 1.2;

/// A colour as the printer has it.
pub(crate) fn in_ink(colour: LinearRgb, ink: Ink) -> LinearRgb {
    if ink == Ink::Grey { printed_in_grey(colour) } else { colour }
}

/// The pattern of a label, where colours do not tell areas apart: neighbours in the order of use have different ones.
pub(crate) fn pattern_of(label: u16, ink: Ink) -> Pattern {
    match ink {
        Ink::Grey if label < BESIDE => Pattern::of_zone(usize::from(label)),
        _ => Pattern::Plain,
    }
}

impl Composer<'_> {
    /// Pictures of what a stage marks, as near as shows all of it in few, within `height` mm on paper and `widths` for
    /// one, for each of two, and so on. `texts` are the letters by label.
    pub(crate) fn marked_pictures(
        &mut self,
        about: (StageKind, &str),
        marking: &Marking<'_>,
        texts: &[String],
        (height, widths): (f64, &[f64]),
    ) -> Result<Vec<ViewPicture>, Stop> {
        let survey = match self.survey.take() {
            Some(survey) => survey,
            None => Survey::of(self.plan, &self.extents, self.watch)?,
        };
        let mut pictures = Vec::new();
        for close_up in survey.close_ups(self.plan, marking, (height, widths), self.watch)? {
            let (picture, view) = self.marked(about, marking, texts, &close_up)?;
            pictures.push(ViewPicture { name: view, caption: String::new(), picture });
        }
        self.survey = Some(survey);
        Ok(pictures)
    }

    /// What is seen of the lines and spots of a marking: label, width on paper, strokes.
    fn strokes_of(
        &self,
        marking: &Marking<'_>,
        frame: &Frame,
        behind_mm: f64,
        scene: &Scene<'_>,
    ) -> Result<Vec<(u16, f64, Vec<Stroke>)>, Stop> {
        let Some(known) = self.lines.iter().find(|known| known.view() == frame.view()) else {
            return Ok(Vec::new());
        };
        let mut drawn = Vec::new();
        for (line, label) in &marking.lines {
            self.watch.check()?;
            drawn.push((*label, LINE, known.course((&line.points, line.closed), behind_mm, frame)));
        }
        for (point, label) in marking.spots.iter().filter(|(point, _)| scene.items().shows(*point, behind_mm))
        {
            // A pen set down and lifted again.
            let [x, y, _] = frame.project(*point);
            let points = vec![[x, y], [x + 0.02 * SMOOTH, y]];
            drawn.push((*label, SPOT, vec![Stroke { kind: LineKind::Course, points, closed: false }]));
        }
        Ok(drawn)
    }

    /// One picture of what a stage marks, with its side in words.
    pub(crate) fn marked(
        &mut self,
        (kind, title): (StageKind, &str),
        marking: &Marking<'_>,
        texts: &[String],
        CloseUp { frame, scale }: &CloseUp,
    ) -> Result<(Picture, String), Stop> {
        let scene = self.scene(frame, SMOOTH)?;
        let ink = self.ink();
        let fill =
            |label| Mark { colour: in_ink(marking.colour(label), ink), pattern: pattern_of(label, ink) };
        let shaded = scene.marked(|hit| marking.label(hit), fill, self.watch)?;
        let (mut image, items) = (shaded.image, scene.items());
        let behind_mm = 2.0 * frame.mm_per_pixel() + 0.002 * self.plan.mesh.bounds().extents()[2];
        let drawn = self.strokes_of(marking, frame, behind_mm, &scene)?;
        let pixels = match &shaded.areas {
            Some(areas) => areas.per_pixel(self.watch)?,
            None => Vec::new(),
        };
        // What has no area is named by a spot of it: the middle of a line, a touch.
        let mut spots: Vec<(u16, [f64; 2])> = Vec::new();
        let middles = marking.lines.iter().map(|(line, label)| (line.points[line.points.len() / 2], *label));
        for (point, of) in middles.chain(marking.spots.iter().copied()) {
            let [x, y, _] = frame.project(point);
            let known = spots.iter().any(|(label, _)| *label == of);
            if !known && items.shows(point, behind_mm) {
                spots.push((of, [x / SMOOTH, y / SMOOTH]));
            }
        }
        let text = |label: u16| texts.get(usize::from(label)).cloned().unwrap_or_default();
        let ground = Ground { pixels: &pixels, size_px: [image.width(), image.height()], fineness: SMOOTH };
        let labels = lettered(&ground, 2, text, &spots, self.watch)?;
        let file = match ink {
            // Borders of areas are lines over it: what is left is smooth.
            Ink::Colour => image.jpeg(SMOOTH, self.watch)?,
            // Patterns are not.
            Ink::Grey => {
                image.to_grey();
                image.to_levels(LEVELS);
                image.png(SMOOTH, self.watch)?
            }
        };
        let pen = BorderPen { width: BORDER, strength: 1.0 };
        let mut lines = scene.lines_over(shaded.areas.as_ref(), pen, self.watch)?;
        if !drawn.is_empty() {
            // What is light needs a dark rim on a pale figure.
            let rimmed = !matches!(kind, StageKind::Lining);
            let mut layers: Vec<(&[Stroke], LinePen)> = Vec::new();
            for rim in [true, false].into_iter().filter(|rim| rimmed || !rim) {
                for (label, width, strokes) in &drawn {
                    let own = in_ink(marking.colour(*label), ink);
                    let (width, ink) = if rim { (1.7 * width, LinearRgb::BLACK) } else { (*width, own) };
                    layers.push((strokes, LinePen { width, ink, dashed: false }));
                }
            }
            lines.push(marked_svg([frame.width(), frame.height()], &layers, SMOOTH));
        }
        let view = self.side(frame.view());
        let [width, height] = [image.width(), image.height()].map(|px| Millimetres(f64::from(px) / SMOOTH));
        let picture = Picture {
            width,
            height,
            file,
            scale: if scale.fract() == 0.0 { *scale as u32 } else { 0 },
            alt: say!(self.words, "alt-marked", side = &view, title = title),
            lines,
            labels,
        };
        self.span.advance(1);
        Ok((picture, view))
    }
}

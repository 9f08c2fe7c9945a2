//! Pictures for step cards: from the sides that show most of what a stage marks, as near as fits.

use crate::compose::{Composer, LETTER, LETTER_ROOM, LEVELS, SMALLEST, SMOOTH};
use crate::mark::{BESIDE, Marking};
use crate::sheets::{Label, Picture, ViewPicture};
use grisaille_base::{Millimetres, Stop, Watch};
use grisaille_colour::{LinearRgb, printed_in_grey};
use grisaille_picture::{
    Areas, BorderPen, Frame, ItemBuffer, LineKind, LinePen, Mark, Pattern, Placed, Scene, Stroke, View,
    marked_svg, places,
};
use grisaille_plan::{Plan, StageKind};
use grisaille_scheme::Ink;
use grisaille_words::say;

/// Pixels along the height of the figure in pictures that only measure.
const MEASURED: f64 = 160.0;
/// Paper round a marked area, mm: enough to see what it belongs to.
const ROUND: f64 = 5.0;
/// A picture shows no less than this share of the figure's height.
const LEAST_SHOWN: f64 = 0.4;
/// No part is enlarged more than this.
const LARGEST: u32 = 6;
/// A second side is shown where it has at least this share of what the first one shows.
const WORTH: f64 = 0.4;
/// Borders of marked areas on paper, mm.
const BORDER: f64 = 0.28;
/// Lines and spots on paper, mm.
const LINE: f64 = 0.5;
const SPOT: f64 = 1.2;
/// A tag with its white edge, mm.
const TAG: [f64; 2] = [4.6, 4.2];
/// A letter that finds no room on its area stands so far from it, mm.
const AWAY: [f64; 3] = [6.0, 9.0, 12.0];
/// Areas with less room than this, mm, are left to the colour of the swatch.
const DOT: f64 = 0.25;

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

/// Small pictures of the figure from all sides, to measure what each shows.
pub(crate) struct Survey {
    views: Vec<ItemBuffer>,
}

/// What a side shows of something marked: how much, and within which box, in pixels of the survey.
#[derive(Clone, Copy, Debug)]
struct Shown {
    view: usize,
    amount: f64,
    low: [f64; 2],
    high: [f64; 2],
}

impl Survey {
    /// Looks at a plan's figure from all named sides.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub(crate) fn of(plan: &Plan, extents: &[[f64; 2]], watch: &Watch) -> Result<Self, Stop> {
        let tallest = extents.iter().map(|e| e[0].max(e[1])).fold(1e-3, f64::max);
        let surface = &plan.surface;
        let views = View::all().into_iter().map(|view| {
            let frame = Frame::fit(plan.mesh.positions(), view, MEASURED / tallest, 0.0);
            let keep = |f: grisaille_base::FaceId| surface.open_corners(f.index()) > 0;
            ItemBuffer::draw(&surface.samples.position, &surface.faces, keep, &frame, 1, watch)
        });
        Ok(Self { views: views.collect::<Result<_, Stop>>()? })
    }

    /// For each side how many pixels each of `count` parts has; `of` gives the part of a face.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub(crate) fn counts(
        &self,
        count: usize,
        of: impl Fn(usize) -> Option<usize>,
        watch: &Watch,
    ) -> Result<Vec<Vec<usize>>, Stop> {
        let sides = self.views.iter().map(|items| {
            watch.check()?;
            let mut counts = vec![0; count];
            for row in 0..items.rows() {
                for column in 0..items.columns() {
                    let part = items.hit(column, row).and_then(|hit| of(hit.face.index()));
                    if let Some(n) = part.and_then(|part| counts.get_mut(part)) {
                        *n += 1;
                    }
                }
            }
            Ok(counts)
        });
        sides.collect()
    }

    /// What each side shows of a marking, the most first.
    fn shown(&self, marking: &Marking<'_>, watch: &Watch) -> Result<Vec<Shown>, Stop> {
        let mut sides = Vec::new();
        for (view, items) in self.views.iter().enumerate() {
            watch.check()?;
            let mut side = Shown { view, amount: 0.0, low: [f64::INFINITY; 2], high: [f64::NEG_INFINITY; 2] };
            let mut add = |at: [f64; 2]| {
                side.amount += 1.0;
                for (k, x) in at.into_iter().enumerate() {
                    side.low[k] = side.low[k].min(x);
                    side.high[k] = side.high[k].max(x);
                }
            };
            for row in 0..items.rows() {
                for column in 0..items.columns() {
                    let label = items.hit(column, row).and_then(|hit| marking.label(&hit));
                    if label.is_some_and(|label| label < BESIDE) {
                        add([column as f64 + 0.5, row as f64 + 0.5]);
                    }
                }
            }
            let points = marking.lines.iter().flat_map(|(line, _)| line.points.iter().copied());
            for point in points.chain(marking.spots.iter().map(|s| s.0)) {
                let behind = 2.0 * items.frame().mm_per_pixel();
                if items.shows(point, behind) {
                    let [x, y, _] = items.frame().project(point);
                    add([x, y]);
                }
            }
            if side.amount > 0.0 {
                sides.push(side);
            }
        }
        sides.sort_by(|a, b| b.amount.total_cmp(&a.amount));
        Ok(sides)
    }
}

impl Composer<'_> {
    /// Pictures of what a stage marks: one, or two from opposite sides where both show much of it, within
    /// `height` mm on paper and `widths` for one and for each of two. `texts` are the letters by label.
    pub(crate) fn marked_pictures(
        &mut self,
        (kind, title): (StageKind, &str),
        marking: &Marking<'_>,
        texts: &[String],
        (height, widths): (f64, [f64; 2]),
    ) -> Result<Vec<ViewPicture>, Stop> {
        let survey = match self.survey.take() {
            Some(survey) => survey,
            None => Survey::of(self.plan, &self.extents, self.watch)?,
        };
        let mut sides = survey.shown(marking, self.watch)?;
        let wanted = sides.first().copied().into_iter().chain(second(&sides));
        sides = wanted.collect();
        let width = widths[usize::from(sides.len() > 1)];
        let mut pictures = Vec::new();
        for side in sides {
            let frame = window(self.plan, &survey.views[side.view], &side, [width, height]);
            let (picture, view) = self.marked(kind, title, marking, texts, &frame)?;
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

    fn marked(
        &mut self,
        kind: StageKind,
        title: &str,
        marking: &Marking<'_>,
        texts: &[String],
        (frame, scale): &(Frame, f64),
    ) -> Result<(Picture, String), Stop> {
        let scene = self.scene(frame, SMOOTH)?;
        let ink = self.ink();
        let fill =
            |label| Mark { colour: in_ink(marking.colour(label), ink), pattern: pattern_of(label, ink) };
        let shaded = scene.marked(|hit| marking.label(hit), fill, self.watch)?;
        let (mut image, items) = (shaded.image, scene.items());
        let behind_mm = 2.0 * frame.mm_per_pixel() + 0.002 * self.plan.mesh.bounds().extents()[2];
        let drawn = self.strokes_of(marking, frame, behind_mm, &scene)?;
        let mut found = Vec::new();
        let pixels = match &shaded.areas {
            Some(areas) => areas.per_pixel(self.watch)?,
            None => Vec::new(),
        };
        let across = image.width() as usize;
        let room = (LETTER_ROOM * SMOOTH) as f32;
        let lettered = |p: &Placed| texts.get(usize::from(p.label)).is_some_and(|t| !t.is_empty());
        found.extend(places(&pixels, across, room, 2, self.watch)?.into_iter().filter(lettered));
        let size = [image.width(), image.height()].map(|px| f64::from(px) / SMOOTH);
        let mut labels: Vec<Label> = Vec::new();
        for place in &found {
            let at = [place.x_px, place.y_px].map(|px| f64::from(px) / SMOOTH);
            labels.push(label(at, &texts[usize::from(place.label)], None));
        }
        // What has no room for its letter is named from beside it, and so are lines and spots.
        let small = places(&pixels, across, (DOT * SMOOTH) as f32, 1, self.watch)?;
        let small = small.into_iter().filter(|p| lettered(p) && found.iter().all(|f| f.label != p.label));
        let small = small.map(|p| (p.label, [p.x_px, p.y_px].map(|px| f64::from(px) / SMOOTH)));
        let mut anchors: Vec<(u16, [f64; 2])> = small.collect();
        let middles = marking.lines.iter().map(|(line, label)| (line.points[line.points.len() / 2], *label));
        for (point, of) in middles.chain(marking.spots.iter().copied()) {
            let [x, y, _] = frame.project(point);
            let known = anchors.iter().any(|(label, _)| *label == of);
            if !known && items.shows(point, behind_mm) {
                anchors.push((of, [x / SMOOTH, y / SMOOTH]));
            }
        }
        for (of, at) in anchors {
            let Some(text) = texts.get(usize::from(of)).filter(|t| !t.is_empty()) else { continue };
            let spot = beside(at, &labels, size, |x, y| {
                let (column, row) = ((x * SMOOTH) as usize, (y * SMOOTH) as usize);
                pixels.get(row * across + column).copied().unwrap_or(Areas::NONE)
            });
            if let Some(spot) = spot {
                labels.push(label(spot, text, Some(at)));
            }
        }
        if ink == Ink::Grey {
            image.to_grey();
        }
        image.to_levels(LEVELS);
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
        let [width, height] = size.map(Millimetres);
        let picture = Picture {
            width,
            height,
            file: image.png(SMOOTH, self.watch)?,
            scale: if scale.fract() == 0.0 { *scale as u32 } else { 0 },
            alt: say!(self.words, "alt-marked", side = &view, title = title),
            lines,
            labels,
        };
        self.span.advance(1);
        Ok((picture, view))
    }
}

fn label([x, y]: [f64; 2], text: &str, names: Option<[f64; 2]>) -> Label {
    Label {
        x: Millimetres(x),
        y: Millimetres(y),
        text: text.into(),
        names: names.map(|at| at.map(Millimetres)),
    }
}

/// The side to show beside the first: the one across from it, if it has enough to show.
fn second(sides: &[Shown]) -> Option<Shown> {
    let first = sides.first()?;
    let words: Vec<_> = View::all().iter().map(View::toward).collect();
    let across = |s: &&Shown| words[s.view].dot(&words[first.view]) < -0.5;
    sides.iter().filter(across).find(|s| s.amount >= WORTH * first.amount).copied()
}

/// The frame round what a side shows, as large as `room` (mm of paper) allows at a whole enlargement,
/// and that enlargement.
fn window(plan: &Plan, survey: &ItemBuffer, side: &Shown, room: [f64; 2]) -> (Frame, f64) {
    let frame = survey.frame();
    let mm = frame.mm_per_pixel();
    let whole = [f64::from(frame.width()), f64::from(frame.height())].map(|px| px * mm);
    let span = [0, 1].map(|k| (side.high[k] - side.low[k] + 2.0) * mm);
    let fits = |scale: f64| (0..2).all(|k| span[k] * scale + 2.0 * ROUND <= room[k]);
    let height = plan.mesh.bounds().extents()[2].max(1e-3);
    let most = (room[1] / (LEAST_SHOWN * height)).max(1.0);
    let largest = (1..=LARGEST).rev().map(f64::from).find(|s| *s <= most && fits(*s));
    let edge = 1.0;
    // What does not fit even so is drawn as large as the room allows.
    let scale = largest.unwrap_or_else(|| {
        let fit =
            |k: usize| ((room[k] - 2.0 * edge) / whole[k]).max((room[k] - 2.0 * ROUND) / span[k]).min(1.0);
        fit(0).min(fit(1)).max(1e-6)
    });
    let margin = edge / scale;
    let size = [0, 1].map(|k| (room[k] / scale).min(whole[k] + 2.0 * margin));
    // The middle of what is marked, as far as the picture stays on the figure.
    let middle = [0, 1].map(|k| {
        let wanted = f64::midpoint(side.low[k], side.high[k]) * mm;
        let (low, high) = (0.5 * size[k] - margin, whole[k] + margin - 0.5 * size[k]);
        if low < high { wanted.clamp(low, high) } else { 0.5 * whole[k] }
    });
    let from_centre = [middle[0] - 0.5 * whole[0], middle[1] - 0.5 * whole[1]];
    let centre = frame.centre() + frame.view().right() * from_centre[0] - frame.view().up() * from_centre[1];
    let pixels = |mm: f64| ((mm * scale * SMOOTH).floor() as u32).max((SMALLEST * SMOOTH) as u32);
    let window =
        Frame::new(frame.view().clone(), 1.0 / (SMOOTH * scale), pixels(size[0]), pixels(size[1]), centre);
    (window, scale)
}

/// A place for a tag beside `at`, all in mm on the picture of a size: where it covers least of what is
/// marked, and no other tag.
fn beside(
    at: [f64; 2],
    labels: &[Label],
    size: [f64; 2],
    seen: impl Fn(f64, f64) -> u16,
) -> Option<[f64; 2]> {
    let mut best: Option<(f64, [f64; 2])> = None;
    for (ring, away) in AWAY.into_iter().enumerate() {
        for turn in 0..16 {
            let angle = f64::from(turn) * std::f64::consts::TAU / 16.0;
            let spot = [at[0] + away * angle.cos(), at[1] + away * angle.sin()];
            let inside = (0..2).all(|k| spot[k] >= 0.5 * TAG[k] && spot[k] <= size[k] - 0.5 * TAG[k]);
            let free =
                labels.iter().all(|l| (l.x.0 - spot[0]).abs() > TAG[0] || (l.y.0 - spot[1]).abs() > TAG[1]);
            if !inside || !free {
                continue;
            }
            let mut covered = 0.5 * ring as f64;
            for (u, v) in [(-0.5, -0.5), (0.5, -0.5), (-0.5, 0.5), (0.5, 0.5), (0.0, 0.0)] {
                covered += match seen(spot[0] + u * TAG[0], spot[1] + v * TAG[1]) {
                    Areas::NONE => 0.0,
                    label if label >= BESIDE => 0.3,
                    _ => 1.0,
                };
            }
            if best.is_none_or(|(least, _)| covered < least) {
                best = Some((covered, spot));
            }
        }
    }
    best.map(|(_, spot)| spot)
}

/// The size of a letter on pictures is that of the sheets' tags.
const _: () = assert!(TAG[1] > LETTER);

//! Designs painted by hand: the area laid flat, to draw on paper first.

use crate::compose::{Composer, FINENESS, SMALLEST, SMOOTH, extent};
use crate::compose_extras::angles_of;
use crate::paper::GAP;
use crate::sheets::{Picture, ViewPicture};
use crate::view_sheet::{NamedView, ViewSheet};
use grisaille_base::{FaceId, Stop, Watch};
use grisaille_colour::LinearRgb;
use grisaille_form::{PatchSettings, Shape, Stretch, Unrolled, face_at, unroll};
use grisaille_picture::{
    Frame, Hit, ItemBuffer, LineKind, LinePen, Look, Stroke, View, colour_of_hit, marked_svg,
};
use grisaille_plan::StageKind;
use grisaille_scheme::{FreehandChoice, Ink};
use grisaille_words::{Words, say};
use nalgebra::{Point3, Vector3};
use std::f64::consts::{PI, TAU};

/// Edges that turn by more than this, degrees, end an area: a rim, a hem.
const EDGE: f64 = 60.0;
/// Designs are enlarged by this at most.
const MOST: f64 = 12.0;
/// How large the figure that shows the place is, mm of paper.
const PLACE: [f64; 2] = [56.0, 62.0];
/// Paper round a template, mm.
const ROUND: f64 = 1.0;
/// Lines of the grid stand so far apart on the figure, mm; where they would be too dense on paper, five times that.
const GRID: f64 = 1.0;
/// And no denser than this on paper, mm.
const DENSEST: f64 = 1.5;
/// Half the arms of the cross in the middle, mm of paper.
const ARM: f64 = 1.5;
/// Widths of lines, mm of paper.
const RIM: f64 = 0.4;
const FINE: f64 = 0.12;
/// Paper that differs by less than this shows nothing.
const UNSEEN: f64 = 0.005;

/// A patch grows so much farther than the design reaches, since ways over faces are longer than straight ones.
const FARTHER: f64 = 1.25;
/// Sides of the circle that ends a template.
const SIDES: usize = 96;

/// A patch with a pen's way round what is printed of it.
struct Template {
    patch: Unrolled,
    /// How far from 0, 0 it is printed.
    radius: f64,
    outline: Vec<[f64; 2]>,
    low: [f64; 2],
    high: [f64; 2],
}

impl Composer<'_> {
    /// A sheet for each design that is painted by hand.
    pub(crate) fn freehand_sheets(&mut self) -> Result<Vec<ViewSheet>, Stop> {
        let scheme = self.scheme;
        let designs = &scheme.print.freehand;
        if designs.is_empty() {
            return Ok(Vec::new());
        }
        let shape = Shape::of(&self.plan.surface);
        let mut sheets = Vec::new();
        for design in designs {
            if let Some((template, toward)) = self.template(design, &shape)? {
                let sheet = self.freehand_sheet(design, &template, toward, &shape)?;
                let steps = sheet.steps.into_iter().chain([self.when_to_paint(design, &shape)]);
                sheets.push(ViewSheet { steps: steps.collect(), ..sheet });
            }
        }
        Ok(sheets)
    }

    /// After which stage a design is painted: the last that covers what it lies on.
    fn when_to_paint(&self, design: &FreehandChoice, shape: &Shape) -> String {
        let covers = |kind: StageKind| {
            matches!(
                kind,
                StageKind::BaseCoat
                    | StageKind::Glaze
                    | StageKind::Wash
                    | StageKind::ShadowsAndLights
                    | StageKind::LampColour(_)
                    | StageKind::Metal
                    | StageKind::Base
            )
        };
        let last = || {
            let coloured = self.coloured?;
            let open = |f: u32| self.plan.surface.open_corners(f as usize) > 0;
            let face = face_at(shape, Point3::from(design.at), &open)?;
            let row = &coloured.colouring.rows[coloured.colouring.row_of_face(face as usize)?];
            let stages = (1..).zip(&coloured.stages);
            stages.filter(|(_, s)| covers(s.kind) && s.regions.contains(&row.name)).last()
        };
        match last() {
            Some((number, stage)) => {
                say!(self.words, "freehand-after", number = number.to_string(), stage = &stage.title)
            }
            None => say!(self.words, "freehand-when"),
        }
    }

    /// The area of a design laid flat, and where it is turned to.
    fn template(
        &self,
        design: &FreehandChoice,
        shape: &Shape,
    ) -> Result<Option<(Template, Vector3<f64>)>, Stop> {
        let plan = self.plan;
        let open = |f: u32| plan.surface.open_corners(f as usize) > 0;
        let Some(from) = face_at(shape, Point3::from(design.at), &open) else { return Ok(None) };
        // What is painted as one is one, where there are colours; else a region.
        let part = |f: u32| -> Option<usize> {
            match self.coloured {
                Some(coloured) => coloured.colouring.row_of_face(f as usize),
                None => self.regions.and_then(|r| r.of_face.get(f as usize)).map(|r| r.index()),
            }
        };
        let own = part(from);
        let settings = PatchSettings {
            radius: FARTHER * design.radius.0,
            crease: EDGE.to_radians(),
            own: &|f| open(f) && part(f) == own,
        };
        let Some(patch) = unroll(shape, from, &settings, Vector3::z(), self.watch)? else { return Ok(None) };
        let rim: Vec<[f64; 2]> = patch.rim().iter().map(|p| patch.points[*p as usize]).collect();
        let outline = within_circle(rim, design.radius.0);
        if outline.len() < 3 {
            return Ok(None);
        }
        let bound =
            |k: usize, pick: fn(f64, f64) -> f64, from: f64| outline.iter().map(|p| p[k]).fold(from, pick);
        let low = [0, 1].map(|k| bound(k, f64::min, f64::INFINITY));
        let high = [0, 1].map(|k| bound(k, f64::max, f64::NEG_INFINITY));
        let toward = shape.normals()[from as usize].cast();
        Ok(Some((Template { patch, radius: design.radius.0, outline, low, high }, toward)))
    }

    fn freehand_sheet(
        &mut self,
        design: &FreehandChoice,
        template: &Template,
        toward: Vector3<f64>,
        shape: &Shape,
    ) -> Result<ViewSheet, Stop> {
        let size = [0, 1].map(|k| template.high[k] - template.low[k]);
        let half = 0.5 * (self.paper.wide() - GAP) - 0.2;
        let tall = 0.5 * self.paper.under(52.0) - 8.0;
        let fits = |k: usize, room: f64| (room - 2.0 * ROUND) / size[k].max(1e-6);
        let scale = fits(0, half).min(fits(1, tall)).floor().clamp(1.0, MOST);
        let mut views = Vec::new();
        let words = self.words;
        let mut add = |which: &str, picture: Option<Picture>| {
            let name = say!(words, &format!("freehand-{which}"));
            let caption = say!(words, &format!("freehand-{which}-caption"));
            let shown = |picture| ViewPicture { name, caption, picture };
            views.extend(picture.map(|p| NamedView { view: shown(p), tags: Vec::new() }));
        };
        if scale > 1.0 {
            let blank = self.flat(template, scale, None, &design.name)?;
            add("blank", Some(blank));
        }
        let look = if self.coloured.is_some() { Look::Colours } else { Look::Tones };
        let lit = self.flat(template, scale, Some(look), &design.name)?;
        add("lit", Some(lit));
        let place = self.place_of_template(template, toward, shape, &design.name)?;
        add("place", Some(place));
        let room = self.paper.view();
        let own = (size[0] + 2.0 * ROUND <= room.width.0 && size[1] + 2.0 * ROUND <= room.height.0)
            .then(|| self.flat(template, 1.0, None, &design.name))
            .transpose()?;
        add("own", own);
        Ok(ViewSheet {
            key: "freehand",
            part: say!(words, "part-freehand"),
            title: say!(words, "freehand-title", name = &design.name),
            lead: stretch_in_words(&template.patch.stretch, words),
            views,
            steps: vec![
                say!(words, "freehand-draw"),
                say!(words, "freehand-mark"),
                say!(words, "freehand-paint"),
            ],
            notes: vec![say!(words, "freehand-note")],
            ..ViewSheet::default()
        })
    }

    /// The figure from where the design is seen straight on, with its rim.
    fn place_of_template(
        &mut self,
        template: &Template,
        toward: Vector3<f64>,
        shape: &Shape,
        name: &str,
    ) -> Result<Picture, Stop> {
        let [azimuth, elevation] = angles_of(toward);
        let view = View::from_angles(azimuth, elevation.clamp(-60.0, 60.0));
        let [w, h] = extent(self.plan, &view);
        let fit = (PLACE[0] / w).min(PLACE[1] / h);
        let scale = if fit >= 1.0 { fit.floor() } else { fit };
        let frame = self.frame(&view, scale, SMOOTH);
        let scene = self.scene(&frame, SMOOTH)?;
        let alt = say!(self.words, "alt-freehand-place", name = name);
        let mut picture = self.drawn(&scene, Some(Look::Tones), scale, alt)?;
        let points = self.on_surface(template, shape)?;
        let behind = 2.0 * frame.mm_per_pixel() + 0.002 * self.plan.mesh.bounds().extents()[2];
        let known = self.lines.iter().find(|known| known.view() == frame.view());
        let strokes = known.map_or_else(Vec::new, |known| known.course((&points, true), behind, &frame));
        picture.lines.push(rimmed(&frame, &strokes, &[], SMOOTH));
        Ok(picture)
    }

    /// The template at a scale: in one look, or blank with a grid.
    fn flat(&self, template: &Template, scale: f64, look: Option<Look>, name: &str) -> Result<Picture, Stop> {
        let patch = &template.patch;
        let fineness = if look.is_some() { SMOOTH } else { FINENESS };
        let per_mm = fineness * scale;
        let pixels = |k: usize| {
            let length = (template.high[k] - template.low[k]) * per_mm + 2.0 * ROUND * fineness;
            length.max(SMALLEST * fineness).ceil() as u32
        };
        let frame = template.frame(per_mm, [pixels(0), pixels(1)]);
        let file = match look {
            None => Vec::new(),
            Some(look) => {
                let items = template.items(&frame, self.watch)?;
                let own = |hit: &Hit| Hit { face: FaceId(patch.source[hit.face.index()]), ..*hit };
                let shade = |hit: &Hit| {
                    let [x, y] = template.on_paper(hit);
                    let inside = x.hypot(y) <= template.radius;
                    if inside { colour_of_hit(self.plan, look, &own(hit)) } else { LinearRgb::WHITE }
                };
                let mut image = items.shade(LinearRgb::WHITE, shade, self.watch)?;
                if self.ink() == Ink::Grey {
                    image.to_grey();
                }
                image.jpeg(fineness, self.watch)?
            }
        };
        let at = |p: [f64; 2]| {
            let [x, y, _] = frame.project(upright(&p));
            [x, y]
        };
        let stroke = |points: Vec<[f64; 2]>, closed| Stroke { kind: LineKind::Course, points, closed };
        let outline = stroke(template.outline.iter().map(|p| at(*p)).collect(), true);
        let mut fine = Vec::new();
        if look.is_none() && scale > 1.0 {
            let step = if GRID * scale >= DENSEST { GRID } else { 5.0 * GRID };
            for k in 0..2 {
                for [from, to] in grid(&template.outline, k, step, (template.low[k], template.high[k])) {
                    fine.push(stroke(vec![at(from), at(to)], false));
                }
            }
        }
        let arm = ARM / scale;
        if look.is_none() {
            fine.push(stroke(vec![at([-arm, 0.0]), at([arm, 0.0])], false));
            fine.push(stroke(vec![at([0.0, -arm]), at([0.0, 2.0 * arm])], false));
        }
        let lines = vec![rimmed(&frame, std::slice::from_ref(&outline), &fine, fineness)];
        let what = match (look, scale > 1.0) {
            (Some(_), _) => "alt-freehand-lit",
            (None, true) => "alt-freehand-blank",
            (None, false) => "alt-freehand-own",
        };
        let [across, up] = [0, 1].map(|k| format!("{:.1}", template.high[k] - template.low[k]));
        let alt = say!(self.words, what, name = name, width = across, height = up);
        Ok(self.printed((&frame, fineness, scale), file, alt, lines))
    }
}

impl Composer<'_> {
    /// The outline of a template on the figure.
    fn on_surface(&self, template: &Template, shape: &Shape) -> Result<Vec<Point3<f32>>, Stop> {
        let size = [0, 1].map(|k| template.high[k] - template.low[k]);
        let per_mm = FOUND / size[0].max(size[1]).max(1e-6);
        let frame = template.frame(per_mm, size.map(|mm| (mm * per_mm).ceil() as u32 + 4));
        let items = template.items(&frame, self.watch)?;
        let place = |p: &[f64; 2]| {
            // A little within, so that the rim itself is not missed.
            let [x, y, _] = frame.project(upright(&p.map(|x| 0.99 * x)));
            let n = f64::from(items.supersample());
            let hit = items.hit((x * n).max(0.0) as usize, (y * n).max(0.0) as usize)?;
            let face = shape.faces()[template.patch.source[hit.face.index()] as usize];
            let corners = face.map(|v| shape.positions()[v as usize].coords);
            let at = (0..3).map(|c| corners[c] * hit.barycentric[c]).sum::<Vector3<f32>>();
            Some(Point3::from(at))
        };
        Ok(template.outline.iter().filter_map(place).collect())
    }
}

/// Pixels across where spots of a template are looked for.
const FOUND: f64 = 600.0;

/// Paper stands upright and is looked at from the front.
fn upright(p: &[f64; 2]) -> Point3<f32> {
    Point3::new(p[0] as f32, 0.0, p[1] as f32)
}

impl Template {
    fn frame(&self, pixels_per_mm: f64, [width, height]: [u32; 2]) -> Frame {
        let [x, y] = [0, 1].map(|k| 0.5 * (self.low[k] + self.high[k]));
        Frame::new(View::front(), 1.0 / pixels_per_mm, width, height, Point3::new(x, 0.0, y))
    }

    fn items(&self, frame: &Frame, watch: &Watch) -> Result<ItemBuffer, Stop> {
        let flat: Vec<Point3<f32>> = self.patch.points.iter().map(upright).collect();
        ItemBuffer::draw(&flat, &self.patch.faces, |_| true, frame, 2, watch)
    }

    /// Where a hit lies on paper, mm.
    fn on_paper(&self, hit: &Hit) -> [f64; 2] {
        let face = self.patch.faces[hit.face.index()];
        [0, 1].map(|k| {
            let corner = |c: usize| self.patch.points[face[c] as usize][k] * f64::from(hit.barycentric[c]);
            (0..3).map(corner).sum()
        })
    }
}

/// What of a closed run of points lies within a circle round 0, 0 (Sutherland and Hodgman, Reentrant polygon clipping,
/// CACM 17(1), 1974; the circle as a polygon).
fn within_circle(points: Vec<[f64; 2]>, radius: f64) -> Vec<[f64; 2]> {
    let mut run = points;
    let apothem = radius * (PI / SIDES as f64).cos();
    for side in 0..SIDES {
        let turn = TAU * side as f64 / SIDES as f64;
        let over = |p: [f64; 2]| p[0] * turn.cos() + p[1] * turn.sin() - apothem;
        let mut kept = Vec::with_capacity(run.len() + 2);
        for i in 0..run.len() {
            let (a, b) = (run[i], run[(i + 1) % run.len()]);
            let (from, to) = (over(a), over(b));
            if from <= 0.0 {
                kept.push(a);
            }
            if (from <= 0.0) != (to <= 0.0) {
                let t = from / (from - to);
                kept.push([0, 1].map(|k| a[k] + t * (b[k] - a[k])));
            }
        }
        run = kept;
    }
    run
}

/// A thick line over thin ones.
fn rimmed(frame: &Frame, rim: &[Stroke], fine: &[Stroke], fineness: f64) -> String {
    let pen = |width, ink| LinePen { width, ink, dashed: false };
    let grey = LinearRgb::grey(0.25);
    let layers =
        [(fine, pen(FINE, grey)), (rim, pen(2.0 * RIM, LinearRgb::WHITE)), (rim, pen(RIM, LinearRgb::BLACK))];
    marked_svg([frame.width(), frame.height()], &layers, fineness)
}

/// Lines of a grid along one axis within a closed run of points, through whole multiples of `step` of the other.
fn grid(rim: &[[f64; 2]], k: usize, step: f64, (low, high): (f64, f64)) -> Vec<[[f64; 2]; 2]> {
    let other = 1 - k;
    let mut lines = Vec::new();
    let (first, last) = ((low / step).ceil() as i64, (high / step).floor() as i64);
    for line in first..=last.min(first + 2000) {
        let x = line as f64 * step;
        let mut cuts: Vec<f64> = (0..rim.len())
            .filter_map(|i| {
                let (a, b) = (rim[i], rim[(i + 1) % rim.len()]);
                // Half open, so that a corner on the line counts once.
                ((a[k] <= x) != (b[k] <= x))
                    .then(|| a[other] + (b[other] - a[other]) * (x - a[k]) / (b[k] - a[k]))
            })
            .collect();
        cuts.sort_by(f64::total_cmp);
        for pair in cuts.chunks_exact(2) {
            let end = |y: f64| if k == 0 { [x, y] } else { [y, x] };
            lines.push([end(pair[0]), end(pair[1])]);
        }
    }
    lines
}

/// How far paper and figure agree, for who cuts a template.
fn stretch_in_words(stretch: &Stretch, words: &Words) -> String {
    let percent = |x: f64| format!("{:.0}", 100.0 * x.abs().max(0.01));
    let (longer, shorter) = (percent(stretch.longer), percent(stretch.shorter));
    let worst = match (stretch.longer > UNSEEN, -stretch.shorter > UNSEEN) {
        (false, false) => say!(words, "stretch-none"),
        (true, false) => say!(words, "stretch-longer", longer = longer),
        (false, true) => say!(words, "stretch-shorter", shorter = shorter),
        (true, true) => {
            say!(words, "stretch-both", longer = longer, shorter = shorter, mean = percent(stretch.mean))
        }
    };
    match stretch.folded {
        0 => worst,
        n => say!(words, "stretch-folded", worst = worst, n = n),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_grid_stays_within_its_rim() {
        // An L: 4 by 4 without its upper right quarter.
        let rim = [[0.0, 0.0], [4.0, 0.0], [4.0, 2.0], [2.0, 2.0], [2.0, 4.0], [0.0, 4.0]];
        let upright = grid(&rim, 0, 1.0, (0.0, 4.0));
        let lengths =
            |lines: &[[[f64; 2]; 2]], k: usize| lines.iter().map(|[a, b]| b[k] - a[k]).collect::<Vec<_>>();
        assert_eq!(lengths(&upright, 1), [4.0, 4.0, 2.0, 2.0]);
        assert_eq!(lengths(&grid(&rim, 1, 1.0, (0.0, 4.0)), 0), [4.0, 4.0, 2.0, 2.0]);
    }

    #[test]
    fn a_template_ends_at_its_circle() {
        let square = vec![[-3.0, -3.0], [3.0, -3.0], [3.0, 3.0], [-3.0, 3.0]];
        let area = |run: &[[f64; 2]]| -> f64 {
            let cross = |i: usize| {
                let (a, b) = (run[i], run[(i + 1) % run.len()]);
                a[0] * b[1] - a[1] * b[0]
            };
            0.5 * (0..run.len()).map(cross).sum::<f64>()
        };
        // The area of a regular polygon of 96 sides within a circle: n/2 · r² · sin(2π/n).
        let polygon = 48.0 * 4.0 * (TAU / 96.0).sin();
        assert!((area(&within_circle(square.clone(), 2.0)) - polygon).abs() < 1e-9);
        assert!((area(&within_circle(square.clone(), 9.0)) - 36.0).abs() < 1e-9);
        assert!(within_circle(square.iter().map(|p| [p[0] + 9.0, p[1]]).collect(), 2.0).is_empty());
    }

    #[test]
    fn stretch_is_told_as_it_is() {
        let of = |mean, shorter, longer, folded| {
            stretch_in_words(&Stretch { mean, shorter, longer, folded }, Words::english())
        };
        assert!(of(0.0, -1e-4, 1e-4, 0).contains("without stretching"));
        assert_eq!(
            of(0.02, -0.06, 0.04, 0),
            "Lengths on paper are up to 4 % too long and 6 % too short, 2 % on average."
        );
        assert!(of(0.02, -0.06, 0.04, 3).ends_with("choose a smaller radius."));
    }
}

//! What is looked at, and from where.

use super::Window;
use crate::camera::Camera;
use crate::look::Look;
use crate::pick::Spot;
use crate::side::Side;
use crate::step::{Step, Tool};
use eframe::egui::Context;
use grisaille_base::RegionId;
use grisaille_form::Region;
use grisaille_plan::usual_reach;
use nalgebra::Point3;

/// The farthest that openness looks, in tenths of a millimetre.
pub(crate) const MOST_TENTHS: u16 = 500;

/// What is seen within so much of the figure's height of a spot is that spot.
const SEEN: f64 = 0.01;

impl Window {
    /// Goes on to a step of the work and shows what it asks about.
    pub fn go_to(&mut self, step: Step) {
        self.step = step;
        self.tool = Tool::Turn;
        self.look = match step {
            Step::Figure => Look::Primed,
            Step::Regions => Look::Regions,
            Step::Light => Look::Greys,
            Step::Values => Look::Bands,
            Step::Colours => Look::Colours,
            // Who comes from colours goes on seeing them.
            Step::Sheets if self.look.is_coloured() => self.look,
            Step::Sheets => Look::Primed,
        };
        self.beside = (step == Step::Sheets).then_some(Look::Bands);
    }

    /// The looks that are on screen, one or two.
    pub(crate) fn looks(&self) -> Vec<Look> {
        std::iter::once(self.look).chain(self.beside).collect()
    }

    /// How far openness looks, in tenths of a millimetre: 2 mm on a 32 mm
    /// figure, in proportion on others, unless the painter has set it.
    pub(crate) fn reach_tenths(&self) -> u16 {
        let usual = self.ground().map_or(2.0, |g| usual_reach(&g.mesh).0);
        self.reach.unwrap_or((usual * 10.0).round().clamp(1.0, f64::from(MOST_TENTHS)) as u16)
    }

    /// Sets how far openness looks, wherever it is shown.
    pub(crate) fn set_reach(&mut self, tenths: u16) {
        let tenths = tenths.clamp(1, MOST_TENTHS);
        self.reach = Some(tenths);
        for look in std::iter::once(&mut self.look).chain(&mut self.beside) {
            if let Look::Openness(of) = look {
                *of = tenths;
            }
        }
    }

    /// How open a spot lies, 0 to 1, if that is shown.
    pub(crate) fn openness_at(&self, spot: &Spot) -> Option<f32> {
        let (_, field) = self.fields.iter().find(|(look, _)| matches!(look, Look::Openness(_)))?;
        let face = self.ground()?.surface.faces.get(spot.face)?;
        let corners = face.iter().zip(spot.weights);
        corners.map(|(s, w)| Some(field.values.get(*s as usize)? * w)).sum()
    }

    /// The region under a spot, while regions are shown or listed.
    pub(crate) fn region_at(&self, spot: &Spot) -> Option<&Region> {
        let shown = matches!(self.step, Step::Regions | Step::Colours) || self.look == Look::Regions;
        let (_, regions) = self.regions.as_ref().filter(|_| shown)?;
        regions.regions.get(regions.of_face.get(spot.face)?.index())
    }

    /// The regions round which a line is drawn: those of the chosen colour, or the region that was
    /// clicked if it has none.
    pub(super) fn marked(&self) -> Vec<RegionId> {
        if self.step != Step::Colours {
            return Vec::new();
        }
        if let (Some(entry), Some(painted)) = (self.entry, &self.painted) {
            let row = painted.rows_of_entries().get(entry).copied().flatten();
            return row.and_then(|k| painted.colouring.rows.get(k)).map_or(Vec::new(), |r| r.regions.clone());
        }
        let regions = self.regions.as_ref().map(|(_, regions)| regions);
        let region = self.region_face.and_then(|f| regions?.of_face.get(f).copied());
        region.into_iter().collect()
    }

    /// Chooses what is painted on a face of the surface, and that face's region.
    pub(crate) fn choose_face(&mut self, face: usize) {
        self.region_face = Some(face);
        self.to_entry = true;
        self.entry = self.painted.as_ref().and_then(|p| p.entry_of_face(face));
        let entries = self.desk.scheme().colours.regions.len();
        self.entry = self.entry.filter(|k| *k < entries);
        self.typed = None;
    }

    /// Turns the view to the open spot of the surface that is nearest to a place, looking from where its normal
    /// points, or from where nothing stands before it.
    pub(crate) fn look_at(&mut self, place: Point3<f64>, now: f64) {
        let (Some(picker), Some(camera)) = (self.picker.clone(), self.camera) else { return };
        let samples = &picker.ground().surface.samples;
        let far = |s: usize| (samples.position[s].cast::<f64>() - place).norm_squared();
        let open = (0..samples.len()).filter(|s| !samples.buried.get(*s));
        let Some(nearest) = open.min_by(|a, b| far(*a).total_cmp(&far(*b))) else { return };
        let (spot, normal) = (samples.position[nearest].cast::<f64>(), samples.normal[nearest].cast());
        let near = SEEN * picker.ground().mesh.bounds().extents()[2];
        let seen = |from: &Camera| {
            let line = from.line(self.pane_size.map(|s| 0.5 * s), self.pane_size);
            picker.spot(line, &self.mask).is_some_and(|hit| (hit.point - spot).norm() <= near)
        };
        let mut straight = camera;
        straight.face(spot, normal);
        let goal = std::iter::once(straight).chain(straight.round_about()).find(seen);
        self.glide_to(goal.unwrap_or(straight), now);
    }

    /// Looks from a side.
    pub fn look_from(&mut self, side: Side, now: f64) {
        if let (Some(camera), Some(bounds)) = (self.camera, self.ground().map(|g| g.mesh.bounds())) {
            let mut goal = camera;
            goal.snap(side);
            goal.fill(&bounds, self.pane_size);
            self.glide_to(goal, now);
        }
    }

    /// Shows all of the figure from where it is looked at.
    pub fn fit(&mut self, now: f64) {
        if let (Some(mut goal), Some(bounds)) = (self.camera, self.ground().map(|g| g.mesh.bounds())) {
            goal.fill(&bounds, self.pane_size);
            self.glide_to(goal, now);
        }
    }

    /// Takes the size of the pane in points; a figure that fits in it goes on fitting.
    pub(crate) fn set_pane(&mut self, size: [f64; 2]) {
        if self.pane_size == size {
            return;
        }
        self.pane_size = size;
        let Some(bounds) = self.ground().map(|g| g.mesh.bounds()) else { return };
        for camera in self.camera.iter_mut().chain(self.glide.as_mut().map(|(_, goal, _)| goal)) {
            if camera.fits() {
                camera.fill(&bounds, size);
            }
        }
    }

    fn glide_to(&mut self, goal: Camera, now: f64) {
        if self.taste.calm {
            self.camera = Some(goal);
        } else if let Some(from) = self.camera {
            self.glide = Some((from, goal, now));
        }
    }

    pub(super) fn advance_glide(&mut self, ctx: &Context, now: f64) {
        /// Seconds that a view takes to turn.
        const TAKES: f64 = 0.25;
        let Some((from, to, begun)) = self.glide else { return };
        let t = ((now - begun) / TAKES).clamp(0.0, 1.0);
        let eased = t * t * (3.0 - 2.0 * t);
        self.camera = Some(from.toward(&to, eased));
        if t >= 1.0 {
            self.camera = Some(to);
            self.glide = None;
        } else {
            self.turned_at = now;
        }
        ctx.request_repaint();
    }
}

//! The worker's thread: takes the newest order and serves it.

use super::colours::{Colours, Figure};
use super::{Faces, Kind, Order, Report, Shared, Stage, same_surface};
use crate::bench::{Bench, ReadAlready, Trouble};
use crate::ear::Ear;
use crate::look::{Field, Look, Material, field};
use crate::paint::marks;
use crate::pick::Picker;
use crate::skin::{Hidden, coarse, corners, rims};
use grisaille_base::{Finding, Listener, Millimetres, RegionId};
use grisaille_form::{Division, Ground as Parts, GroundSettings, Regions};
use grisaille_light::{OpennessSettings, openness};
use grisaille_plan::{Ground, Loaded, Plan, Products, draft, draft_in_rounds, ground, plan};
use grisaille_scheme::{
    ColourChoice, Document, ModelEntry, PartChoice, PrimerChoice, RegionChoice, RegionPaint, Scheme,
    SurfaceChoice,
};
use std::sync::atomic::Ordering;
use std::sync::mpsc::Sender;
use std::sync::{Arc, PoisonError};
use std::time::Instant;

/// The thread's own things.
pub(super) struct Hand {
    shared: Arc<Shared>,
    bench: Arc<dyn Bench>,
    ear: Arc<Ear>,
    sender: Sender<Report>,
    wake: Arc<dyn Fn() + Send + Sync>,
    scene: Option<Scene>,
    /// What could not be read: it is not tried again until something changes.
    failed: Option<(u64, Vec<ModelEntry>, PartChoice)>,
}

struct Scene {
    reading: u64,
    models: Vec<ModelEntry>,
    left_out: PartChoice,
    surface: SurfaceChoice,
    products: Products,
    findings: Vec<Finding>,
    ground: Ground,
    rims: Vec<(u32, u32)>,
    hidden: Option<Hidden>,
    openness: Option<Openness>,
    /// What regions are made from, and the regions of a division.
    parts: Option<Parts>,
    divided: Option<(Division, Arc<Regions>)>,
    /// The last plan and the document that it is for.
    planned: Option<(Document, Arc<Plan>)>,
    /// What is known about colours.
    colours: Colours,
    /// What a line is drawn round, and of which division.
    marked: Option<(Vec<RegionId>, Division)>,
}

impl Scene {
    /// What is coloured for an order, once the figure is divided.
    fn figure<'a>(&'a self, order: &'a Order, plan: &'a Arc<Plan>) -> Option<Figure<'a>> {
        let ((_, regions), parts) = (self.divided.as_ref()?, self.parts.as_ref()?);
        let Order { document, paints_reading, .. } = order;
        Some(Figure { document, paints_reading: *paints_reading, plan, parts, regions })
    }
}

/// How open each sample lies.
struct Openness {
    tenths: u16,
    directions: usize,
    values: Vec<f32>,
}

impl Openness {
    fn known(&self) -> (u16, &[f32]) {
        (self.tenths, &self.values)
    }
}

impl Hand {
    /// A hand that holds nothing yet.
    pub(super) fn new(
        shared: Arc<Shared>,
        bench: Arc<dyn Bench>,
        ear: Arc<Ear>,
        sender: Sender<Report>,
        wake: Arc<dyn Fn() + Send + Sync>,
    ) -> Self {
        Self { shared, bench, ear, sender, wake, scene: None, failed: None }
    }

    pub(super) fn run(mut self) {
        loop {
            let (order, begun) = {
                let mut next = self.shared.next.lock().unwrap_or_else(PoisonError::into_inner);
                loop {
                    if next.quit {
                        return;
                    }
                    if let Some(order) = next.order.take() {
                        // Busy until this order has been served.
                        next.running = Some((Arc::default(), Kind::Following, order.0.clone()));
                        break order;
                    }
                    next = self.shared.wake.wait(next).unwrap_or_else(PoisonError::into_inner);
                }
            };
            match self.serve(&order, begun) {
                Ok(()) | Err(Trouble::Stopped) => {}
                Err(Trouble::Said(why)) => self.tell(Report::Trouble(why)),
            }
            self.shared.next.lock().unwrap_or_else(PoisonError::into_inner).running = None;
            (self.wake)();
        }
    }

    fn tell(&self, report: Report) {
        // Nobody hears when the window closes; the thread is about to end then.
        let _ = self.sender.send(report);
        (self.wake)();
    }

    /// A watch for work of a kind, stopped by orders that may stop it.
    fn watch(&self, kind: Kind, order: &Order) -> grisaille_base::Watch {
        let watch = self.bench.watch().heard_by(Arc::clone(&self.ear) as Arc<dyn Listener>);
        let mut next = self.shared.next.lock().unwrap_or_else(PoisonError::into_inner);
        // An order that came in between may already have made it idle.
        let superseded = match (&next.order, kind) {
            (Some(_), Kind::Refining) => true,
            (Some((newer, _)), Kind::Reading) => !same_surface(newer, order),
            _ => false,
        };
        if superseded || next.quit {
            watch.cancel_handle().store(true, Ordering::Relaxed);
        }
        next.running = Some((watch.cancel_handle(), kind, order.clone()));
        watch
    }

    fn serve(&mut self, order: &Order, begun: Instant) -> Result<(), Trouble> {
        self.make_ready(order)?;
        let scheme = &order.document.scheme;
        self.show_faces(&order.hidden);
        let known =
            self.scene.as_ref().and_then(|s| s.planned.clone()).filter(|(of, _)| same_plan(of, order));
        // If it is known, only looks have changed, or a step was undone to what is known.
        let known = known.map(|(_, plan)| plan);
        let stage = if known.is_some() { Stage::Planned } else { Stage::Instant };
        let watch = self.watch(Kind::Following, order);
        self.draft_and_show(order, stage, known.clone(), begun, &watch)?;
        if order.moving.is_some() {
            return Ok(());
        }
        self.divide(order, (stage, known.as_ref()), begun)?;
        self.show_marks(order);
        self.look_round(order, (stage, known.as_ref()), begun)?;
        if let Some(plan) = known {
            return self.colour(order, &plan, begun);
        }
        let watch = self.watch(Kind::Refining, order);
        self.refine(order, begun, &watch)?;
        let Some(scene) = &mut self.scene else { return Ok(()) };
        let made = Arc::new(plan(scheme, &mut scene.products, &watch)?);
        scene.products.learn(scheme, &made);
        scene.planned = Some((order.document.clone(), Arc::clone(&made)));
        self.draft_and_show(order, Stage::Planned, Some(Arc::clone(&made)), begun, &watch)?;
        self.colour(order, &made, begun)
    }

    /// Colours the planned figure if a look on screen asks for it or colours are
    /// told of, and shows what comes of it.
    fn colour(&mut self, order: &Order, plan: &Arc<Plan>, begun: Instant) -> Result<(), Trouble> {
        if !order.wants_colours() {
            return Ok(());
        }
        let plan = &self.with_openness(order, plan)?;
        let Some(scene) = &self.scene else { return Ok(()) };
        let Some(figure) = scene.figure(order, plan) else { return Ok(()) };
        // A hand on a colour goes on giving orders: what it waits for is finished.
        let kind = if scene.colours.follows(figure) { Kind::Following } else { Kind::Refining };
        let watch = self.watch(kind, order);
        let bench = Arc::clone(&self.bench);
        let Order { document, paints_reading, .. } = order;
        let Some(scene) = &mut self.scene else { return Ok(()) };
        let (Some(parts), Some((_, regions))) = (&scene.parts, &scene.divided) else { return Ok(()) };
        let figure = Figure { document, paints_reading: *paints_reading, plan, parts, regions };
        if scene.colours.hurry(figure, &order.looks, &scene.rims, &watch)? {
            self.draft_and_show(order, Stage::Quick, Some(Arc::clone(plan)), begun, &watch)?;
        }
        let Some(scene) = &mut self.scene else { return Ok(()) };
        let (Some(parts), Some((_, regions))) = (&scene.parts, &scene.divided) else { return Ok(()) };
        let figure = Figure { document, paints_reading: *paints_reading, plan, parts, regions };
        let painted = scene.colours.paint(figure, &*bench, &watch)?;
        let seen = scene.colours.make_fields(&order.looks, &scene.rims, &watch);
        if let Some(painted) = painted {
            self.tell(Report::Painted(painted));
        }
        if !seen {
            return Ok(());
        }
        let watch = self.watch(Kind::Following, order);
        self.draft_and_show(order, Stage::Planned, Some(Arc::clone(plan)), begun, &watch)
    }

    /// A plan that knows how open the figure lies, as washes ask; kept in the place of the one that did not.
    fn with_openness(&mut self, order: &Order, plan: &Arc<Plan>) -> Result<Arc<Plan>, Trouble> {
        if plan.openness.is_some() {
            return Ok(Arc::clone(plan));
        }
        let watch = self.watch(Kind::Refining, order);
        let Some(scene) = &mut self.scene else { return Err(Trouble::Stopped) };
        let openness = scene.colours.openness(&order.document.scheme, plan, &watch)?;
        let open = Arc::new(Plan { openness: Some(openness), ..Plan::clone(plan) });
        if let Some((_, planned)) = scene.planned.as_mut().filter(|(_, planned)| Arc::ptr_eq(planned, plan)) {
            *planned = Arc::clone(&open);
        }
        Ok(open)
    }

    /// Where a line runs round what is chosen, if that has changed.
    fn show_marks(&mut self, order: &Order) {
        let Some(scene) = &mut self.scene else { return };
        let Some((division, regions)) = &scene.divided else { return };
        let wanted = (order.marked.clone(), division.clone());
        if scene.marked.as_ref() == Some(&wanted) || (scene.marked.is_none() && order.marked.is_empty()) {
            return;
        }
        let some = !order.marked.is_empty();
        let line = some.then(|| marks(&scene.ground.surface, &regions.of_face, &order.marked));
        scene.marked = Some(wanted);
        self.tell(Report::Marks(line));
    }

    /// Reads the models and divides the surface, unless that is done.
    fn make_ready(&mut self, order: &Order) -> Result<(), Trouble> {
        let Document { models, scheme } = &order.document;
        let Scheme { surface, left_out, .. } = scheme;
        if let Some(scene) = &self.scene
            && scene.reading == order.reading
            && scene.models == *models
            && scene.left_out == *left_out
            && scene.surface == *surface
        {
            return Ok(());
        }
        if self.failed.as_ref().is_some_and(|(n, m, l)| *n == order.reading && m == models && l == left_out) {
            return Err(Trouble::Stopped);
        }
        let watch = self.watch(Kind::Reading, order);
        let Loaded { mesh, findings, whole_height } = match self.bench.load(&order.document, &watch) {
            Ok(read) => read,
            Err(trouble) => {
                if trouble != Trouble::Stopped {
                    self.failed = Some((order.reading, models.clone(), left_out.clone()));
                }
                return Err(trouble);
            }
        };
        self.failed = None;
        let mut products = Products::new(Arc::new(mesh));
        let ground = ground(scheme, &mut products, &watch)?;
        let picker = Arc::new(Picker::new(ground.clone()));
        let reading = order.reading;
        self.tell(Report::Ready { picker, findings: findings.clone(), whole_height, reading });
        let rims = rims(&ground);
        self.scene = Some(Scene {
            reading,
            models: models.clone(),
            left_out: left_out.clone(),
            surface: *surface,
            products,
            findings,
            ground,
            rims,
            hidden: None,
            openness: None,
            parts: None,
            divided: None,
            planned: None,
            colours: Colours::default(),
            marked: None,
        });
        Ok(())
    }

    fn show_faces(&mut self, hidden: &Hidden) {
        let Some(scene) = &mut self.scene else { return };
        if scene.hidden.as_ref() == Some(hidden) {
            return;
        }
        scene.hidden = Some(hidden.clone());
        let fine = corners(&scene.ground, hidden);
        let many = fine.len() / 3 > crate::skin::COARSE_ABOVE;
        let coarse = if many { coarse(&scene.ground, &fine) } else { Vec::new() };
        self.tell(Report::Faces(Arc::new(Faces { fine, coarse })));
    }

    /// Divides the figure into regions if a look on screen asks for them, and
    /// shows what comes of it.
    fn divide(
        &mut self,
        order: &Order,
        (stage, plan): (Stage, Option<&Arc<Plan>>),
        begun: Instant,
    ) -> Result<(), Trouble> {
        let watch = self.watch(Kind::Refining, order);
        let Some(scene) = &mut self.scene else { return Ok(()) };
        let known = scene.divided.as_ref().is_some_and(|(of, _)| *of == order.division);
        if known || !(order.listed || order.wants_colours() || order.looks.contains(&Look::Regions)) {
            return Ok(());
        }
        let (surface, mesh) = (&scene.ground.surface, &scene.ground.mesh);
        let parts = match scene.parts.take() {
            Some(parts) => parts,
            None => Parts::of(surface, mesh, &GroundSettings::for_mesh(mesh), &watch)?,
        };
        let parts = scene.parts.insert(parts);
        let regions = Arc::new(parts.divide(&order.division, &watch)?);
        scene.divided = Some((order.division.clone(), Arc::clone(&regions)));
        self.tell(Report::Regions { division: order.division.clone(), regions });
        let watch = self.watch(Kind::Following, order);
        self.draft_and_show(order, stage, plan.cloned(), begun, &watch)
    }

    /// Looks round every spot if a look on screen asks for it, first in a few
    /// directions, and shows what comes of it.
    fn look_round(
        &mut self,
        order: &Order,
        (stage, plan): (Stage, Option<&Arc<Plan>>),
        begun: Instant,
    ) -> Result<(), Trouble> {
        /// Directions over a hemisphere, round by round.
        const ROUNDS: [usize; 2] = [8, 64];
        let wanted = order.looks.iter().find_map(|l| if let Look::Openness(t) = l { Some(*t) } else { None });
        let Some(tenths) = wanted else { return Ok(()) };
        for directions in ROUNDS {
            let watch = self.watch(Kind::Refining, order);
            let Some(scene) = &mut self.scene else { return Ok(()) };
            if scene.openness.as_ref().is_some_and(|o| o.tenths == tenths && o.directions >= directions) {
                continue;
            }
            let settings = OpennessSettings { reach: Millimetres(f64::from(tenths) / 10.0), directions };
            let Ground { surface, tree, .. } = &scene.ground;
            let values = openness(surface, tree, &settings, &watch)?;
            scene.openness = Some(Openness { tenths, directions, values });
            let watch = self.watch(Kind::Following, order);
            self.draft_and_show(order, stage, plan.cloned(), begun, &watch)?;
        }
        Ok(())
    }

    /// Shows better and better drafts, until all light is known.
    fn refine(
        &mut self,
        order: &Order,
        begun: Instant,
        watch: &grisaille_base::Watch,
    ) -> Result<(), Trouble> {
        let (sender, wake) = (self.sender.clone(), Arc::clone(&self.wake));
        let Some(Scene { products, ground, rims, openness, divided, colours, .. }) = &mut self.scene else {
            return Ok(());
        };
        let regions = divided.as_ref().map(|(_, regions)| regions.as_ref());
        let openness = openness.as_ref().map(Openness::known);
        draft_in_rounds(&order.document.scheme, products, watch, &mut |draft| {
            let draft = Arc::new(draft);
            let material = Material { ground, rims, draft: &draft, plan: None, openness, regions };
            let fields = watch.run(|| fields(order, material, colours));
            let document = Box::new(order.document.clone());
            let took = begun.elapsed();
            let _ = sender.send(Report::Shown {
                stage: Stage::Quick,
                document,
                draft,
                plan: None,
                fields,
                read: None,
                took,
            });
            wake();
        })?;
        Ok(())
    }

    fn draft_and_show(
        &mut self,
        order: &Order,
        stage: Stage,
        plan: Option<Arc<Plan>>,
        begun: Instant,
        watch: &grisaille_base::Watch,
    ) -> Result<(), Trouble> {
        let Some(scene) = &mut self.scene else { return Ok(()) };
        let scheme = &order.document.scheme;
        let draft = Arc::new(draft(scheme, order.moving, &mut scene.products, watch)?);
        let material = Material {
            ground: &scene.ground,
            rims: &scene.rims,
            draft: &draft,
            plan: plan.as_deref(),
            openness: scene.openness.as_ref().map(Openness::known),
            regions: scene.divided.as_ref().map(|(_, regions)| regions.as_ref()),
        };
        let fields = watch.run(|| fields(order, material, &scene.colours));
        let document = Box::new(order.document.clone());
        let read = plan.is_some().then(|| {
            let (products, findings) = (scene.products.fork(), scene.findings.clone());
            Arc::new(ReadAlready { products, findings, reading: scene.reading })
        });
        self.tell(Report::Shown { stage, document, draft, plan, fields, read, took: begun.elapsed() });
        Ok(())
    }
}

/// The fields of all looks of an order that can be made; colours as they were
/// made last, until they follow.
fn fields(order: &Order, material: Material<'_>, colours: &Colours) -> Vec<(Look, Arc<Field>)> {
    let one = |look: Look| match look.is_coloured() {
        true => colours.field(look),
        false => field(look, material).map(Arc::new),
    };
    order.looks.iter().filter_map(|l| one(*l).map(|f| (*l, f))).collect()
}

/// Whether a plan for one document holds for an order: all but the title, the
/// lights' colours, the primer's tones, regions, paints and what is hidden is the same.
fn same_plan(of: &Document, order: &Order) -> bool {
    let plain = |document: &Document| {
        let mut document = document.clone();
        document.scheme.title.clear();
        document.scheme.hidden = PartChoice::default();
        // No primer is planned here.
        document.scheme.primer = PrimerChoice::default();
        let lifts = document.scheme.colours.lifts();
        let paints = std::mem::take(&mut document.scheme.colours.regions);
        document.scheme.colours = ColourChoice::default();
        if lifts {
            // Which regions are lifted counts, and how far.
            let plain = |p: RegionPaint| RegionPaint {
                name: p.name,
                at: p.at,
                rest: p.rest,
                lift: p.lift,
                ..RegionPaint::default()
            };
            document.scheme.colours.regions = paints.into_iter().map(plain).collect();
        } else {
            document.scheme.regions = RegionChoice::default();
        }
        for light in &mut document.scheme.lights {
            light.colour = [0; 3];
        }
        document
    };
    plain(of) == plain(&order.document)
}

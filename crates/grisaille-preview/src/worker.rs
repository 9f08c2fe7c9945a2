//! The worker: all that takes long happens on its thread, newest order first,
//! so that the window only ever shows what is there.
//!
//! ```text
//! Order --> load --> ground --> draft --> drafts in rounds --> plan
//!                      |          |            |             |
//!                    Ready      Shown       Shown…        Shown     -> window
//! ```
//!
//! A new order stops what is under way, with two exceptions: reading a model
//! goes on if the new order is for the same model, and a draft for a moving
//! lamp is always finished, so that the picture follows the hand.

use crate::bench::{Bench, ReadAlready, Trouble};
use crate::look::{Field, Look, Material, field};
use crate::pick::Picker;
use crate::skin::{Hidden, coarse, corners, rims};
use grisaille_base::{Finding, LightId, Listener};
use grisaille_plan::{Draft, Ground, Plan, Products, draft, draft_in_rounds, ground, plan};
use grisaille_scheme::{Document, ModelEntry, SurfaceChoice};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Arc, Condvar, Mutex, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

/// What the window wants to see.
#[derive(Clone, Debug, PartialEq)]
pub struct Order {
    /// The document to plan.
    pub document: Document,
    /// The light in the painter's hand, if one is being dragged.
    pub moving: Option<LightId>,
    /// The looks that are on screen, one or two.
    pub looks: Vec<Look>,
    /// What is out of sight.
    pub hidden: Hidden,
    /// Counts up to have the models read again.
    pub reading: u64,
}

/// How good the picture is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stage {
    /// While the hand moves.
    Instant,
    /// From a few directions.
    Quick,
    /// As it will be printed.
    Planned,
}

/// The faces to draw.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Faces {
    /// All that are shown.
    pub fine: Vec<u32>,
    /// Fewer, for while the figure turns; empty if it is small.
    pub coarse: Vec<u32>,
}

/// What the worker tells.
pub enum Report {
    /// A model was read; the surface stands.
    Ready {
        /// The surface, ready to be picked from.
        picker: Arc<Picker>,
        /// What was noticed while reading.
        findings: Vec<Finding>,
        /// For which count of [`Order::reading`].
        reading: u64,
    },
    /// Faces for what is hidden now.
    Faces(Arc<Faces>),
    /// A picture.
    Shown {
        /// How good it is.
        stage: Stage,
        /// The document that it shows.
        document: Box<Document>,
        /// Light and values.
        draft: Arc<Draft>,
        /// The plan, once made.
        plan: Option<Arc<Plan>>,
        /// One for each look of the order that could be made.
        fields: Vec<(Look, Arc<Field>)>,
        /// The models, with what has been made of them; with every new plan.
        read: Option<Arc<ReadAlready>>,
        /// How long it took from the order on.
        took: Duration,
    },
    /// The models cannot be read or the scheme not planned.
    Trouble(String),
}

/// What is being done, for a line of progress.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Progress {
    /// The phase in a painter's words; `None` when nothing takes long.
    pub words: Option<&'static str>,
    /// The share that is done, 0 to 1, where known.
    pub share: Option<f32>,
}

/// Hears of progress and wakes the window.
pub(crate) struct Ear {
    bench: Arc<dyn Bench>,
    phases: Mutex<Vec<(&'static str, u64, u64, Instant)>>,
    wake: Arc<dyn Fn() + Send + Sync>,
}

impl Ear {
    /// An ear that wakes somebody when there is something to show.
    #[must_use]
    pub(crate) fn new(bench: Arc<dyn Bench>, wake: Arc<dyn Fn() + Send + Sync>) -> Self {
        Self { bench, phases: Mutex::default(), wake }
    }

    /// The phase under way, if it has lasted long enough to be worth a word.
    #[must_use]
    pub(crate) fn progress(&self) -> Progress {
        const PATIENCE: Duration = Duration::from_millis(400);
        let phases = self.phases.lock().unwrap_or_else(PoisonError::into_inner);
        match phases.iter().rev().find(|p| p.3.elapsed() > PATIENCE) {
            Some((phase, done, total, _)) => Progress {
                words: Some(self.bench.phase(phase)),
                share: (*total > 0).then(|| (*done as f32 / *total as f32).min(1.0)),
            },
            None => Progress::default(),
        }
    }
}

impl Listener for Ear {
    fn begin(&self, phase: &'static str, total: u64) {
        self.phases.lock().unwrap_or_else(PoisonError::into_inner).push((phase, 0, total, Instant::now()));
    }

    fn advance(&self, phase: &'static str, done: u64) {
        let mut phases = self.phases.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(p) = phases.iter_mut().rev().find(|p| p.0 == phase) {
            let step = |n: u64| (n * 50).checked_div(p.2).unwrap_or(0);
            let shows = step(p.1) != step(done) && p.3.elapsed() > Duration::from_millis(400);
            p.1 = done;
            if shows {
                (self.wake)();
            }
        }
    }

    fn end(&self, phase: &'static str) {
        let mut phases = self.phases.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(at) = phases.iter().rposition(|p| p.0 == phase) {
            phases.remove(at);
        }
    }
}

/// What both threads share.
struct Shared {
    next: Mutex<Mailbox>,
    wake: Condvar,
}

#[derive(Default)]
struct Mailbox {
    order: Option<(Order, Instant)>,
    quit: bool,
    /// Stops the work under way, and what kind of work it is.
    running: Option<(Arc<AtomicBool>, Kind, Order)>,
}

/// What may stop the work under way.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    /// An order for another model or surface.
    Reading,
    /// Nothing: it is short, and the hand waits for it.
    Following,
    /// Any order.
    Refining,
}

/// The worker, from the window's side.
pub struct Worker {
    shared: Arc<Shared>,
    reports: Receiver<Report>,
    ear: Arc<Ear>,
    thread: Option<JoinHandle<()>>,
}

impl Worker {
    /// Starts the thread; `wake` is called when there is a report.
    ///
    /// # Errors
    /// When the system grants no thread.
    pub fn start(bench: Arc<dyn Bench>, wake: Arc<dyn Fn() + Send + Sync>) -> Result<Self, String> {
        let shared = Arc::new(Shared { next: Mutex::default(), wake: Condvar::new() });
        let ear = Arc::new(Ear::new(Arc::clone(&bench), Arc::clone(&wake)));
        let (sender, reports) = channel();
        let hand = Hand {
            shared: Arc::clone(&shared),
            bench,
            ear: Arc::clone(&ear),
            sender,
            wake,
            scene: None,
            failed: None,
        };
        let thread = std::thread::Builder::new()
            .name("light".into())
            .spawn(move || hand.run())
            .map_err(|e| format!("the work cannot be started: {e}"))?;
        Ok(Self { shared, reports, ear, thread: Some(thread) })
    }

    /// Gives an order; one that waited is forgotten.
    pub fn order(&self, order: Order) {
        let mut next = self.shared.next.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((cancel, kind, under_way)) = &next.running {
            let stops = match kind {
                Kind::Reading => !same_surface(under_way, &order),
                Kind::Following => false,
                Kind::Refining => true,
            };
            if stops {
                cancel.store(true, Ordering::Relaxed);
            }
        }
        next.order = Some((order, Instant::now()));
        drop(next);
        self.shared.wake.notify_one();
    }

    /// What there is to hear.
    pub fn reports(&self) -> impl Iterator<Item = Report> + '_ {
        self.reports.try_iter()
    }

    /// Waits for the next report; for tests and scripts.
    #[must_use]
    pub fn wait(&self, most: Duration) -> Option<Report> {
        self.reports.recv_timeout(most).ok()
    }

    /// What is being done.
    #[must_use]
    pub fn progress(&self) -> Progress {
        self.ear.progress()
    }

    /// Whether an order waits or is under way.
    #[must_use]
    pub fn busy(&self) -> bool {
        let next = self.shared.next.lock().unwrap_or_else(PoisonError::into_inner);
        next.order.is_some() || next.running.is_some()
    }

    /// Stops what is under way; what is shown stays.
    pub fn stop(&self) {
        let mut next = self.shared.next.lock().unwrap_or_else(PoisonError::into_inner);
        next.order = None;
        if let Some((cancel, ..)) = &next.running {
            cancel.store(true, Ordering::Relaxed);
        }
    }
}

impl Drop for Worker {
    fn drop(&mut self) {
        self.stop();
        self.shared.next.lock().unwrap_or_else(PoisonError::into_inner).quit = true;
        self.shared.wake.notify_one();
        if let Some(thread) = self.thread.take() {
            // A worker that panicked has nothing left to lose.
            let _ = thread.join();
        }
    }
}

fn same_surface(one: &Order, other: &Order) -> bool {
    one.reading == other.reading
        && one.document.models == other.document.models
        && one.document.scheme.surface == other.document.scheme.surface
}

/// The thread's own things.
struct Hand {
    shared: Arc<Shared>,
    bench: Arc<dyn Bench>,
    ear: Arc<Ear>,
    sender: Sender<Report>,
    wake: Arc<dyn Fn() + Send + Sync>,
    scene: Option<Scene>,
    /// What could not be read: it is not tried again until something changes.
    failed: Option<(u64, Vec<ModelEntry>)>,
}

struct Scene {
    reading: u64,
    models: Vec<ModelEntry>,
    surface: SurfaceChoice,
    products: Products,
    findings: Vec<Finding>,
    ground: Ground,
    rims: Vec<(u32, u32)>,
    hidden: Option<Hidden>,
    /// The last plan and the document that it is for.
    planned: Option<(Document, Arc<Plan>)>,
}

impl Hand {
    fn run(mut self) {
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
        if let Some((_, plan)) = known {
            // Only looks have changed, or a step was undone to what is known.
            let watch = self.watch(Kind::Following, order);
            return self.draft_and_show(order, Stage::Planned, Some(plan), begun, &watch);
        }
        let watch = self.watch(Kind::Following, order);
        self.draft_and_show(order, Stage::Instant, None, begun, &watch)?;
        if order.moving.is_some() {
            return Ok(());
        }
        let watch = self.watch(Kind::Refining, order);
        self.refine(order, begun, &watch)?;
        let Some(scene) = &mut self.scene else { return Ok(()) };
        let made = Arc::new(plan(scheme, &mut scene.products, &watch)?);
        scene.products.learn(scheme, &made);
        scene.planned = Some((order.document.clone(), Arc::clone(&made)));
        self.draft_and_show(order, Stage::Planned, Some(made), begun, &watch)
    }

    /// Reads the models and divides the surface, unless that is done.
    fn make_ready(&mut self, order: &Order) -> Result<(), Trouble> {
        let models = &order.document.models;
        let surface = order.document.scheme.surface;
        if let Some(scene) = &self.scene
            && scene.reading == order.reading
            && scene.models == *models
            && scene.surface == surface
        {
            return Ok(());
        }
        if self.failed.as_ref().is_some_and(|(n, m)| *n == order.reading && m == models) {
            return Err(Trouble::Stopped);
        }
        let watch = self.watch(Kind::Reading, order);
        let (mesh, findings) = match self.bench.load(&order.document, &watch) {
            Ok(read) => read,
            Err(trouble) => {
                if trouble != Trouble::Stopped {
                    self.failed = Some((order.reading, models.clone()));
                }
                return Err(trouble);
            }
        };
        self.failed = None;
        let mut products = Products::new(Arc::new(mesh));
        let ground = ground(&order.document.scheme, &mut products, &watch)?;
        let picker = Arc::new(Picker::new(ground.clone()));
        self.tell(Report::Ready { picker, findings: findings.clone(), reading: order.reading });
        let rims = rims(&ground);
        self.scene = Some(Scene {
            reading: order.reading,
            models: models.clone(),
            surface,
            products,
            findings,
            ground,
            rims,
            hidden: None,
            planned: None,
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

    /// Shows better and better drafts, until all light is known.
    fn refine(
        &mut self,
        order: &Order,
        begun: Instant,
        watch: &grisaille_base::Watch,
    ) -> Result<(), Trouble> {
        let (sender, wake) = (self.sender.clone(), Arc::clone(&self.wake));
        let Some(Scene { products, ground, rims, .. }) = &mut self.scene else { return Ok(()) };
        draft_in_rounds(&order.document.scheme, products, watch, &mut |draft| {
            let draft = Arc::new(draft);
            let material = Material { ground, rims, draft: &draft, plan: None };
            let fields = watch.run(|| fields(order, material));
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
        let rims = &scene.rims;
        let material = Material { ground: &scene.ground, rims, draft: &draft, plan: plan.as_deref() };
        let fields = watch.run(|| fields(order, material));
        let document = Box::new(order.document.clone());
        let read = plan.is_some().then(|| {
            let (products, findings) = (scene.products.fork(), scene.findings.clone());
            Arc::new(ReadAlready { products, findings, reading: scene.reading })
        });
        self.tell(Report::Shown { stage, document, draft, plan, fields, read, took: begun.elapsed() });
        Ok(())
    }
}

/// The fields of all looks of an order that can be made.
fn fields(order: &Order, material: Material<'_>) -> Vec<(Look, Arc<Field>)> {
    order.looks.iter().filter_map(|l| field(*l, material).map(|f| (*l, Arc::new(f)))).collect()
}

/// Whether a plan for one document holds for an order: all but the title and
/// the lights' colours is the same.
fn same_plan(of: &Document, order: &Order) -> bool {
    let plain = |document: &Document| {
        let mut document = document.clone();
        document.scheme.title.clear();
        for light in &mut document.scheme.lights {
            light.colour = [0; 3];
        }
        document
    };
    plain(of) == plain(&order.document)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::test_scene::{SoupBench, document_of};
    use grisaille_bodies::{cuboid, icosphere, moved, scaled};

    const LONG: Duration = Duration::from_secs(120);

    fn bench() -> Arc<dyn Bench> {
        let mut soup = moved(scaled(icosphere(3), 6.0), [0.0, 0.0, 8.0]);
        soup.extend(cuboid([-10.0, -10.0, 0.0], [10.0, 10.0, 3.0]));
        Arc::new(SoupBench(soup))
    }

    fn order(looks: &[Look]) -> Order {
        Order {
            document: document_of(0.8),
            moving: None,
            looks: looks.to_vec(),
            hidden: Hidden::default(),
            reading: 0,
        }
    }

    fn until_planned(worker: &Worker) -> Vec<Report> {
        let mut all = Vec::new();
        while let Some(report) = worker.wait(LONG) {
            let end = matches!(&report, Report::Shown { stage: Stage::Planned, .. } | Report::Trouble(_));
            all.push(report);
            if end {
                return all;
            }
        }
        panic!("no plan came");
    }

    #[test]
    fn the_picture_gets_better_until_it_is_the_plan() {
        let worker = Worker::start(bench(), Arc::new(|| ())).unwrap();
        worker.order(order(&[Look::Bands, Look::Greys]));
        let reports = until_planned(&worker);
        assert!(matches!(reports[0], Report::Ready { .. }));
        let stages: Vec<Stage> = reports
            .iter()
            .filter_map(|r| match r {
                Report::Shown { stage, fields, .. } => {
                    assert_eq!(fields.len(), 2);
                    Some(*stage)
                }
                _ => None,
            })
            .collect();
        assert!(stages.is_sorted(), "{stages:?}");
        assert_eq!(stages.first(), Some(&Stage::Instant));
        // 256 directions of the sky: rounds of 1, 4, 16, 64 and all.
        assert!(stages.iter().filter(|s| **s == Stage::Quick).count() >= 3, "{stages:?}");
        let Some(Report::Shown { plan: Some(made), draft, .. }) = reports.last() else { panic!("a plan") };
        // The plan is the one that the command line makes, and the draft has learned from it.
        let watch = grisaille_base::Watch::quiet();
        let (mesh, _) = bench().load(&document_of(0.8), &watch).unwrap();
        let other = plan(&document_of(0.8).scheme, &mut Products::new(Arc::new(mesh)), &watch).unwrap();
        assert_eq!(made.values, other.values);
        assert_eq!(made.bands, other.bands);
        assert!(draft.lights.iter().all(|l| l.effort == grisaille_plan::Effort::Fine));
        assert_eq!(draft.lightness, other.values.lightness);
    }

    #[test]
    fn another_look_needs_no_new_light() {
        let worker = Worker::start(bench(), Arc::new(|| ())).unwrap();
        worker.order(order(&[Look::Bands]));
        until_planned(&worker);
        worker.order(order(&[Look::Zones]));
        let reports = until_planned(&worker);
        assert_eq!(reports.len(), 1, "one picture and nothing else");
    }

    #[test]
    fn a_moving_lamp_is_followed_and_not_planned() {
        let worker = Worker::start(bench(), Arc::new(|| ())).unwrap();
        let mut o = order(&[Look::Greys]);
        let id =
            o.document.scheme.add_lamp("lamp", [0.0, -14.0, 14.0], None, grisaille_base::Millimetres(0.0));
        o.moving = id.ok();
        worker.order(o.clone());
        let mut last = None;
        while let Some(report) = worker.wait(Duration::from_secs(if last.is_some() { 1 } else { 120 })) {
            if let Report::Shown { stage, .. } = report {
                last = Some(stage);
            }
        }
        assert_eq!(last, Some(Stage::Instant));
        // The hand rests: the plan comes.
        o.moving = None;
        worker.order(o);
        until_planned(&worker);
    }

    #[test]
    fn the_newest_order_wins_and_trouble_is_told_once() {
        let worker = Worker::start(bench(), Arc::new(|| ())).unwrap();
        for n in 0..20 {
            let mut o = order(&[Look::Greys]);
            o.document.scheme.title = format!("{n}");
            o.document.scheme.lights[0].weight = 0.5 + f64::from(n) / 10.0;
            worker.order(o);
        }
        let mut reports = until_planned(&worker);
        let Some(Report::Shown { document, .. }) = reports.pop() else { panic!("a plan") };
        assert_eq!(document.scheme.title, "19");
        let mut o = order(&[Look::Greys]);
        o.document.models.clear();
        worker.order(o.clone());
        assert!(matches!(until_planned(&worker).last(), Some(Report::Trouble(_))));
        worker.order(o);
        assert!(worker.wait(Duration::from_millis(300)).is_none());
        drop(worker);
    }
}

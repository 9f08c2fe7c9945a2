//! The worker: all that takes long happens on its thread, newest order first,
//! so that the window only ever shows what is there. [`hand`] is the thread,
//! [`colours`] is what it does about colour.
//!
//! ```text
//! Order --> load --> ground --> draft --> drafts in rounds --> plan
//!                      |          |            |             |
//!                    Ready      Shown       Shown…        Shown     -> window
//!                                                          |
//!                                                       colours --> Painted
//! ```
//!
//! A new order stops what is under way, with two exceptions: reading a model
//! goes on if the new order is for the same model, and a draft for a moving
//! lamp is always finished, so that the picture follows the hand.

mod colours;
mod hand;

pub use self::colours::Painted;
use self::hand::Hand;
use crate::bench::{Bench, ReadAlready};
use crate::ear::{Ear, Progress};
use crate::look::{Field, Look};
use crate::pick::Picker;
use crate::skin::Hidden;
use grisaille_base::{Finding, LightId, RegionId};
use grisaille_form::{Division, Regions};
use grisaille_plan::{Draft, Plan};
use grisaille_scheme::Document;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, channel};
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
    /// Whether regions are listed, seen or not.
    pub listed: bool,
    /// Whether colours are told of, seen or not.
    pub coloured: bool,
    /// The regions round which a line is drawn.
    pub marked: Vec<RegionId>,
    /// How the figure is divided into regions.
    pub division: Division,
    /// What is out of sight.
    pub hidden: Hidden,
    /// Counts up to have the models read again.
    pub reading: u64,
    /// Counts up to have the list of paints read again.
    pub paints_reading: u64,
}

impl Order {
    /// Whether planned colours are asked for.
    pub(crate) fn wants_colours(&self) -> bool {
        self.coloured || self.looks.iter().any(|l| l.is_coloured())
    }
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
        /// How tall the models are in mm with what is left out.
        whole_height: f64,
        /// For which count of [`Order::reading`].
        reading: u64,
    },
    /// The figure was divided into regions.
    Regions {
        /// By which division.
        division: Division,
        /// Into these.
        regions: Arc<Regions>,
    },
    /// The figure was coloured.
    Painted(Arc<Painted>),
    /// What is chosen: 1 for each sample of it, 0 for others, a half where both meet.
    Marks(Option<Vec<f32>>),
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
        let hand = Hand::new(Arc::clone(&shared), bench, Arc::clone(&ear), sender, wake);
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
        && one.document.scheme.left_out == other.document.scheme.left_out
        && one.document.scheme.surface == other.document.scheme.surface
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::test_scene::{SoupBench, document_of};
    use grisaille_bodies::{cuboid, icosphere, moved, scaled};
    use grisaille_plan::{Loaded, Products, plan};

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
            listed: false,
            coloured: false,
            marked: Vec::new(),
            division: Division::default(),
            hidden: Hidden::default(),
            reading: 0,
            paints_reading: 0,
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
        let Loaded { mesh, .. } = bench().load(&document_of(0.8), &watch).unwrap();
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
    fn openness_is_looked_for_when_it_is_asked_for() {
        let worker = Worker::start(bench(), Arc::new(|| ())).unwrap();
        worker.order(order(&[Look::Bands]));
        let mut reports = until_planned(&worker);
        let Some(Report::Ready { picker, .. }) = reports.first() else { panic!("a surface") };
        let samples = &picker.ground().surface.samples;
        let look = Look::Openness(20);
        worker.order(order(&[look]));
        // The picture that there is, then from a few directions, then from all.
        let mut found = Vec::new();
        while found.len() < 3 {
            let Some(Report::Shown { fields, .. }) = worker.wait(LONG) else { panic!("a picture") };
            found.push(fields.into_iter().find(|(l, _)| *l == look).map(|(_, field)| field));
        }
        assert!(found[0].is_none());
        let (Some(few), Some(all)) = (&found[1], &found[2]) else { panic!("openness") };
        let rim = |i: usize| samples.buried.get(i);
        let mut recessed = 0;
        for i in (0..samples.len()).filter(|i| !rim(*i)) {
            let p = samples.position[i];
            // Closed form: within 2 mm of the ball's upper half there is nothing
            // but what is convex.
            if p.z > 8.0 {
                assert_eq!((few.values[i], all.values[i]), (1.0, 1.0), "{p}");
            }
            // Where ball and plate meet, each hides a part of the other's view.
            let (across, up) = (p.x.hypot(p.y), samples.normal[i].z);
            if (p.z - 3.0).abs() < 1e-3 && across < 4.0 && up > 0.99 {
                recessed += 1;
                assert!(all.values[i] < 0.8, "{p}: {}", all.values[i]);
            }
        }
        assert!(recessed > 0);
        // Known now: one picture and nothing else.
        worker.order(order(&[look, Look::Greys]));
        reports = until_planned(&worker);
        assert!(matches!(reports.as_slice(), [Report::Shown { fields, .. }] if fields.len() == 2));
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

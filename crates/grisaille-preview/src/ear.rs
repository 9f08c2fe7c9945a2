//! The ear: hears how far long work has come, and wakes the window for it.

use crate::bench::Bench;
use grisaille_base::Listener;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

/// Work that lasts longer is worth a word.
const PATIENCE: Duration = Duration::from_millis(400);

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
            let shows = step(p.1) != step(done) && p.3.elapsed() > PATIENCE;
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

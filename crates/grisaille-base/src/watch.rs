//! The watch over long work: progress out, cancel in, and the thread pool.
//!
//! Every phase takes `&Watch`. It opens a [`Span`] with its amount of work,
//! advances it as work is done, and asks [`Watch::check`] often enough that a
//! cancel is heeded within 20 ms. Spans also record seconds and counts, which
//! is all that timings are made of.

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Instant;

/// The work was cancelled. Nothing was written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("stopped on request")]
pub struct Stop;

/// Hears of progress. Calls may come from any thread and must return quickly.
pub trait Listener: Send + Sync {
    /// A phase begins with `total` units of work (0 if not known).
    fn begin(&self, phase: &'static str, total: u64);
    /// `done` units of the phase are done in all.
    fn advance(&self, phase: &'static str, done: u64);
    /// The phase has ended.
    fn end(&self, phase: &'static str);
}

/// What one phase took: summed over its spans.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PhaseRecord {
    /// Wall-clock seconds.
    pub seconds: f64,
    /// Named counts, such as `samples`, `directions` or `pairs`.
    pub counts: BTreeMap<&'static str, u64>,
}

/// Progress, cancel and threads for one run. Cheap to share by reference.
pub struct Watch {
    cancel: Arc<AtomicBool>,
    listener: Option<Arc<dyn Listener>>,
    pool: Option<rayon::ThreadPool>,
    records: Mutex<Vec<(&'static str, PhaseRecord)>>,
}

impl Watch {
    /// A watch that nobody listens to, on rayon's own pool.
    #[must_use]
    pub fn quiet() -> Self {
        Self {
            cancel: Arc::new(AtomicBool::new(false)),
            listener: None,
            pool: None,
            records: Mutex::new(Vec::new()),
        }
    }

    /// A watch with its own pool of `threads` threads (0: one for each core).
    ///
    /// # Errors
    /// When the system grants no threads; the text says why.
    pub fn with_threads(threads: usize) -> Result<Self, String> {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .map_err(|e| format!("cannot start {threads} threads: {e}"))?;
        Ok(Self { pool: Some(pool), ..Self::quiet() })
    }

    /// The same watch with someone listening to progress.
    #[must_use]
    pub fn heard_by(mut self, listener: Arc<dyn Listener>) -> Self {
        self.listener = Some(listener);
        self
    }

    /// A handle that cancels the work when set to `true`, from any thread or
    /// from a signal handler.
    #[must_use]
    pub fn cancel_handle(&self) -> Arc<AtomicBool> {
        Arc::clone(&self.cancel)
    }

    /// Whether the work has been cancelled.
    #[must_use]
    pub fn stopped(&self) -> bool {
        self.cancel.load(Ordering::Relaxed)
    }

    /// `Err(Stop)` once the work has been cancelled; call it often.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub fn check(&self) -> Result<(), Stop> {
        if self.stopped() { Err(Stop) } else { Ok(()) }
    }

    /// Runs `work` so that rayon's parallel iterators inside it use this
    /// watch's threads.
    pub fn run<R: Send>(&self, work: impl FnOnce() -> R + Send) -> R {
        match &self.pool {
            Some(pool) => pool.install(work),
            None => work(),
        }
    }

    /// Begins a phase with `total` units of work (0 if not known).
    #[must_use]
    pub fn span(&self, phase: &'static str, total: u64) -> Span<'_> {
        if let Some(l) = &self.listener {
            l.begin(phase, total);
        }
        Span { watch: self, phase, begun: Instant::now(), done: AtomicU64::new(0), counts: Mutex::default() }
    }

    /// What every phase took so far, in the order in which phases first ended.
    #[must_use]
    pub fn records(&self) -> Vec<(&'static str, PhaseRecord)> {
        self.records.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }
}

/// One phase under way. Ends when dropped.
pub struct Span<'w> {
    watch: &'w Watch,
    phase: &'static str,
    begun: Instant,
    done: AtomicU64,
    counts: Mutex<BTreeMap<&'static str, u64>>,
}

impl Span<'_> {
    /// `units` more of the phase's work are done.
    pub fn advance(&self, units: u64) {
        let done = self.done.fetch_add(units, Ordering::Relaxed) + units;
        if let Some(l) = &self.watch.listener {
            l.advance(self.phase, done);
        }
    }

    /// Adds `n` to a named count of the phase's record.
    pub fn count(&self, name: &'static str, n: u64) {
        *self.counts.lock().unwrap_or_else(PoisonError::into_inner).entry(name).or_default() += n;
    }
}

impl Drop for Span<'_> {
    fn drop(&mut self) {
        if let Some(l) = &self.watch.listener {
            l.end(self.phase);
        }
        let counts = std::mem::take(&mut *self.counts.lock().unwrap_or_else(PoisonError::into_inner));
        let mut records = self.watch.records.lock().unwrap_or_else(PoisonError::into_inner);
        let at = match records.iter().position(|(p, _)| *p == self.phase) {
            Some(at) => at,
            None => {
                records.push((self.phase, PhaseRecord::default()));
                records.len() - 1
            }
        };
        let record = &mut records[at].1;
        record.seconds += self.begun.elapsed().as_secs_f64();
        for (name, n) in counts {
            *record.counts.entry(name).or_default() += n;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spans_of_one_phase_are_summed() {
        let watch = Watch::quiet();
        for _ in 0..2 {
            let span = watch.span("ring", 10);
            span.advance(5);
            span.count("pairs", 7);
        }
        let records = watch.records();
        assert_eq!(records.len(), 1);
        assert_eq!(records[0].0, "ring");
        assert_eq!(records[0].1.counts["pairs"], 14);
    }

    #[test]
    fn a_cancel_is_seen_by_the_work() {
        let watch = Watch::with_threads(2).unwrap();
        assert_eq!(watch.check(), Ok(()));
        watch.cancel_handle().store(true, Ordering::Relaxed);
        assert_eq!(watch.run(|| watch.check()), Err(Stop));
    }
}

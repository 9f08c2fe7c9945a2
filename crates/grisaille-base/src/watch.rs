//! The watch over long work: progress out, cancel in, and the thread pool.
//!
//! Every phase takes `&Watch`. It opens a [`Span`] with its amount of work,
//! advances it as work is done, and asks [`Watch::check`] often enough that a
//! cancel is heeded within 20 ms. Spans also record seconds and counts, which
//! is all that timings are made of.

use rayon::prelude::*;
use std::collections::BTreeMap;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

/// The work was cancelled. Nothing was written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("stopped on request")]
pub struct Stop;

/// Hears of progress. Calls may come from any thread and must return quickly.
pub trait Listener: Send + Sync {
    /// A phase begins with `total` units of work (0 if not known).
    fn begin(&self, phase: &'static str, total: u64);
    /// `done` units of the phase are done in all; never less than before.
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

/// Progress, cancel and threads for one run. A clone is a second handle on the
/// same.
#[derive(Clone)]
pub struct Watch {
    cancel: Arc<AtomicBool>,
    /// How often it may still be asked before it stops by itself.
    asks: Option<Arc<AtomicU64>>,
    listener: Option<Arc<dyn Listener>>,
    pool: Option<Arc<rayon::ThreadPool>>,
    records: Arc<Mutex<Vec<(&'static str, PhaseRecord)>>>,
}

impl Watch {
    /// A watch that nobody listens to, on rayon's own pool.
    #[must_use]
    pub fn quiet() -> Self {
        Self {
            cancel: Arc::new(AtomicBool::new(false)),
            asks: None,
            listener: None,
            pool: None,
            records: Arc::default(),
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
        Ok(Self { pool: Some(Arc::new(pool)), ..Self::quiet() })
    }

    /// The same watch with someone listening to progress.
    #[must_use]
    pub fn heard_by(mut self, listener: Arc<dyn Listener>) -> Self {
        self.listener = Some(listener);
        self
    }

    /// The same watch, cancelled by itself when it has been asked `asks` times
    /// whether to stop: a cancel in the middle of a phase that tests can repeat.
    #[must_use]
    pub fn stopping_after(mut self, asks: u64) -> Self {
        self.asks = Some(Arc::new(AtomicU64::new(asks)));
        self
    }

    /// How many times it may still be asked before it stops by itself, where
    /// [`Watch::stopping_after`] was set.
    #[must_use]
    pub fn asks_left(&self) -> Option<u64> {
        self.asks.as_ref().map(|asks| asks.load(Ordering::Relaxed))
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
        if let Some(asks) = &self.asks
            && asks.try_update(Ordering::Relaxed, Ordering::Relaxed, |left| left.checked_sub(1)).is_err()
        {
            self.cancel.store(true, Ordering::Relaxed);
        }
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

    /// Both works, side by side on this watch's threads.
    pub fn both<A: Send, B: Send>(
        &self,
        one: impl FnOnce() -> A + Send,
        other: impl FnOnce() -> B + Send,
    ) -> (A, B) {
        self.run(|| rayon::join(one, other))
    }

    /// `of(i)` for each i below `count`, in their order, worked out side by side
    /// on this watch's threads. Asks at every one whether to stop, so what
    /// `of` does is all that a cancel waits for.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub fn map<T: Send + Default>(
        &self,
        count: usize,
        of: impl Fn(usize) -> T + Sync + Send,
    ) -> Result<Vec<T>, Stop> {
        let out = self.run(|| {
            (0..count)
                .into_par_iter()
                .with_min_len(256)
                .map(|i| if self.stopped() { T::default() } else { of(i) })
                .collect()
        });
        self.check()?;
        Ok(out)
    }

    /// Runs work that asks too seldom whether to stop, such as a call into a
    /// library, so that the caller need not wait for it: on a cancel this returns
    /// within a few milliseconds. The work goes on, unheard, on a thread of its
    /// own until it asks next or ends; it owns what it uses, and what it
    /// makes is thrown away.
    ///
    /// Not for use within [`Watch::run`], whose threads it would wait for: there
    /// the work is simply done.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub fn leave<T: Send + 'static>(
        &self,
        work: impl FnOnce(&Self) -> T + Send + 'static,
    ) -> Result<T, Stop> {
        self.check()?;
        if rayon::current_thread_index().is_some() {
            return Ok(work(self));
        }
        let (answer, answered) = channel();
        let work = Arc::new(Mutex::new(Some(work)));
        let (there, watch) = (Arc::clone(&work), self.clone());
        let take = |work: &Mutex<Option<_>>| work.lock().unwrap_or_else(PoisonError::into_inner).take();
        let thread = std::thread::Builder::new().name("left alone".into()).spawn(move || {
            if let Some(work) = take(&there) {
                // Nobody listens any more after a cancel.
                let _ = answer.send(work(&watch));
            }
        });
        let Ok(thread) = thread else {
            // No thread to be had: better late than never.
            return take(&work).map(|work| work(self)).ok_or(Stop);
        };
        loop {
            match answered.recv_timeout(Duration::from_millis(2)) {
                Ok(done) => return Ok(done),
                // Not `check`: how often this asks depends on time, and asks are counted.
                Err(RecvTimeoutError::Timeout) if self.cancel.load(Ordering::Relaxed) => return Err(Stop),
                Err(RecvTimeoutError::Timeout) => {}
                Err(RecvTimeoutError::Disconnected) => match thread.join() {
                    Err(panic) => std::panic::resume_unwind(panic),
                    Ok(()) => return Err(Stop),
                },
            }
        }
    }

    /// Begins a phase with `total` units of work (0 if not known).
    #[must_use]
    pub fn span(&self, phase: &'static str, total: u64) -> Span<'_> {
        if let Some(l) = &self.listener {
            l.begin(phase, total);
        }
        Span { watch: self, phase, begun: Instant::now(), done: Mutex::new(0), counts: Mutex::default() }
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
    done: Mutex<u64>,
    counts: Mutex<BTreeMap<&'static str, u64>>,
}

impl Span<'_> {
    /// `units` more of the phase's work are done.
    pub fn advance(&self, units: u64) {
        if let Some(l) = &self.watch.listener {
            // Told under the lock: two threads must not overtake each other,
            // or progress would seem to go back.
            let mut done = self.done.lock().unwrap_or_else(PoisonError::into_inner);
            *done += units;
            l.advance(self.phase, *done);
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
    fn a_map_keeps_the_order_and_stops_when_asked() {
        for threads in [1, 3] {
            let watch = Watch::with_threads(threads).unwrap();
            let squares: Vec<usize> = (0..5000).map(|i| i * i).collect();
            assert_eq!(watch.map(5000, |i| i * i), Ok(squares));
            assert_eq!(watch.map(0, |i| i), Ok(Vec::new()));
            let cancel = watch.cancel_handle();
            let begun = AtomicU64::new(0);
            let of = |i: usize| {
                begun.fetch_add(1, Ordering::Relaxed);
                cancel.fetch_or(i == 0, Ordering::Relaxed);
            };
            assert_eq!(watch.map(1_000_000, of), Err(Stop));
            // The other threads may do one more each after they saw it, no
            // more; what they did before the first is not bounded by us.
            let before = begun.load(Ordering::Relaxed);
            assert_eq!(watch.map(1_000_000, of), Err(Stop));
            assert_eq!(begun.load(Ordering::Relaxed), before);
        }
    }

    #[test]
    fn a_watch_that_stops_after_some_asks_does() {
        let watch = Watch::quiet().stopping_after(3);
        let asked: Vec<bool> = (0..5).map(|_| watch.check().is_ok()).collect();
        assert_eq!(asked, [true, true, true, false, false]);
        assert_eq!(watch.asks_left(), Some(0));
        assert_eq!(Watch::quiet().asks_left(), None);
    }

    #[test]
    fn work_left_alone_answers_or_is_left() {
        let watch = Watch::quiet();
        assert_eq!(watch.leave(|_| 7), Ok(7));
        let (go, wait) = channel::<()>();
        let (tell, told) = channel();
        let cancel = watch.cancel_handle();
        let left = watch.leave(move |watch| {
            assert_eq!(watch.check(), Ok(()));
            cancel.store(true, Ordering::Relaxed);
            // Held until the caller has come back.
            let _ = wait.recv();
            let _ = tell.send(watch.check());
        });
        assert_eq!(left, Err(Stop));
        go.send(()).unwrap();
        assert_eq!(told.recv(), Ok(Err(Stop)));
        assert_eq!(watch.leave(|_| 7), Err(Stop));
        // On the watch's own single thread nothing can be left.
        let one = Watch::with_threads(1).unwrap();
        assert_eq!(one.run(|| one.leave(|watch| watch.run(|| 8))), Ok(8));
    }

    #[test]
    #[should_panic(expected = "as it was")]
    fn a_panic_in_work_left_alone_is_the_caller_s() {
        let _ = Watch::quiet().leave(|_| std::panic::panic_any("as it was"));
    }

    #[test]
    fn progress_never_goes_back() {
        struct Rising(Mutex<Vec<u64>>);
        impl Listener for Rising {
            fn begin(&self, _: &'static str, _: u64) {}
            fn advance(&self, _: &'static str, done: u64) {
                self.0.lock().unwrap().push(done);
            }
            fn end(&self, _: &'static str) {}
        }
        let heard = Arc::new(Rising(Mutex::default()));
        let watch = Watch::with_threads(3).unwrap().heard_by(Arc::<Rising>::clone(&heard));
        let span = watch.span("all", 3000);
        watch.map(1000, |_| span.advance(3)).unwrap();
        let heard = heard.0.lock().unwrap();
        assert_eq!(*heard, (1..=1000).map(|i| 3 * i).collect::<Vec<u64>>());
    }

    #[test]
    fn a_cancel_is_seen_by_the_work() {
        let watch = Watch::with_threads(2).unwrap();
        assert_eq!(watch.check(), Ok(()));
        watch.cancel_handle().store(true, Ordering::Relaxed);
        assert_eq!(watch.run(|| watch.check()), Err(Stop));
    }
}

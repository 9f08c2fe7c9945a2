//! One number for the whole of a job, from 0 to 1, out of what its phases tell.

use crate::watch::Listener;
use std::sync::{Mutex, PoisonError};

/// A phase of a job, and how much of the job it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leg {
    /// The phase, as its spans are called.
    pub phase: &'static str,
    /// Its work beside that of the others, above 0.
    pub work: f64,
    /// How many spans it is made in, 1 or more.
    pub spans: u32,
}

/// Hears phases and tells the share of the job that is done: it begins at 0,
/// never falls, and is 1 after [`Progress::finish`].
///
/// A phase counts by the units of work that its spans report, not by time. Of
/// a phase that was skipped, since its product was there already, the work
/// counts as done when a later one begins. Phases that are not in the list are
/// not counted.
pub struct Progress<H> {
    legs: Vec<Leg>,
    all: f64,
    state: Mutex<State>,
    hear: H,
}

#[derive(Default)]
struct State {
    /// The leg that goes on, how many of its spans have ended, and how far the
    /// present one is.
    leg: usize,
    ended: u32,
    total: u64,
    told: f64,
}

impl<H: Fn(f64) + Send + Sync> Progress<H> {
    /// For a job of these legs in this order; `hear` gets the share done, 0 to 1,
    /// each time it has risen.
    pub fn new(legs: Vec<Leg>, hear: H) -> Self {
        let all = legs.iter().map(|l| l.work).sum();
        Self { legs, all, state: Mutex::default(), hear }
    }

    /// The share done, 0 to 1.
    pub fn share(&self) -> f64 {
        self.state.lock().unwrap_or_else(PoisonError::into_inner).told
    }

    /// All is done.
    pub fn finish(&self) {
        self.tell(&mut self.state.lock().unwrap_or_else(PoisonError::into_inner), 1.0);
    }

    fn tell(&self, state: &mut State, share: f64) {
        if share > state.told {
            state.told = share.min(1.0);
            (self.hear)(state.told);
        }
    }

    /// Tells with `part` of the present span done.
    fn at(&self, state: &mut State, part: f64) {
        let Some(leg) = self.legs.get(state.leg) else { return };
        let before: f64 = self.legs[..state.leg].iter().map(|l| l.work).sum();
        let of_leg = ((f64::from(state.ended) + part) / f64::from(leg.spans.max(1))).min(1.0);
        self.tell(state, (before + leg.work * of_leg) / self.all);
    }

    /// Does `what` if the phase is the leg that goes on.
    fn within(&self, phase: &'static str, what: impl FnOnce(&mut State)) {
        let mut state = self.state.lock().unwrap_or_else(PoisonError::into_inner);
        if self.legs.get(state.leg).is_some_and(|l| l.phase == phase) {
            what(&mut state);
        }
    }
}

impl<H: Fn(f64) + Send + Sync> Listener for Progress<H> {
    fn begin(&self, phase: &'static str, total: u64) {
        let mut state = self.state.lock().unwrap_or_else(PoisonError::into_inner);
        let ahead = self.legs.iter().skip(state.leg).position(|l| l.phase == phase);
        let Some(ahead) = ahead else { return };
        if ahead > 0 {
            (state.leg, state.ended) = (state.leg + ahead, 0);
        }
        state.total = total;
        self.at(&mut state, 0.0);
    }

    fn advance(&self, phase: &'static str, done: u64) {
        self.within(phase, |state| {
            if state.total > 0 {
                self.at(state, (done as f64 / state.total as f64).min(1.0));
            }
        });
    }

    fn end(&self, phase: &'static str) {
        self.within(phase, |state| {
            state.ended += 1;
            state.total = 0;
            self.at(state, 0.0);
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Watch;
    use std::sync::Arc;

    fn job(hear: impl Fn(f64) + Send + Sync) -> Progress<impl Fn(f64) + Send + Sync> {
        let leg = |phase, work, spans| Leg { phase, work, spans };
        Progress::new(vec![leg("read", 1.0, 1), leg("lamps", 6.0, 2), leg("plan", 1.0, 1)], hear)
    }

    #[test]
    fn it_rises_with_the_work_and_ends_at_one() {
        let told = Arc::new(Mutex::new(Vec::new()));
        let ear = Arc::clone(&told);
        let progress = Arc::new(job(move |share| ear.lock().unwrap().push(share)));
        let watch = Watch::quiet().heard_by(Arc::clone(&progress) as Arc<dyn Listener>);
        assert_eq!(progress.share(), 0.0);
        drop(watch.span("read", 0));
        for _ in 0..2 {
            let span = watch.span("lamps", 3);
            (0..3).for_each(|_| span.advance(1));
        }
        drop(watch.span("unheard", 5));
        drop(watch.span("plan", 1));
        progress.finish();
        assert_eq!(*told.lock().unwrap(), [0.125, 0.25, 0.375, 0.5, 0.625, 0.75, 0.875, 1.0]);
    }

    #[test]
    fn what_is_skipped_counts_as_done_and_what_comes_again_takes_nothing_back() {
        let progress = job(|_| ());
        progress.begin("plan", 2);
        assert_eq!(progress.share(), 0.875);
        progress.begin("read", 1);
        progress.advance("read", 1);
        progress.end("read");
        assert_eq!(progress.share(), 0.875);
        progress.advance("plan", 1);
        assert_eq!(progress.share(), 0.9375);
        // More spans and more units than were foretold stay within the leg.
        progress.advance("plan", 9);
        progress.end("plan");
        progress.begin("plan", 2);
        progress.end("plan");
        assert_eq!(progress.share(), 1.0);
    }
}

//! Undo and redo over whole states. A document is a few kilobytes, so each
//! step keeps one; a drag is one step however many places it passes.

/// At most this many steps are kept.
const MOST: usize = 500;

/// A state with its past and its undone future.
#[derive(Clone, Debug)]
pub struct History<T> {
    now: T,
    past: Vec<Step<T>>,
    future: Vec<Step<T>>,
    gesture: Option<Step<T>>,
}

/// A state, and what was done to it next.
#[derive(Clone, Debug)]
struct Step<T> {
    what: String,
    state: T,
}

impl<T: Clone + PartialEq> History<T> {
    /// Begins with a state and nothing to undo.
    #[must_use]
    pub fn new(now: T) -> Self {
        Self { now, past: Vec::new(), future: Vec::new(), gesture: None }
    }

    /// The state now.
    #[must_use]
    pub fn now(&self) -> &T {
        &self.now
    }

    /// Makes a change that can be undone. Nothing is recorded if it changes
    /// nothing. Within a gesture it joins that.
    pub fn change(&mut self, what: &str, change: impl FnOnce(&mut T)) {
        let before = self.now.clone();
        change(&mut self.now);
        if self.gesture.is_none() && self.now != before {
            self.record(Step { what: what.to_owned(), state: before });
        }
    }

    /// Begins a gesture, such as a drag: all changes until its end are one step.
    pub fn begin(&mut self, what: &str) {
        if self.gesture.is_none() {
            self.gesture = Some(Step { what: what.to_owned(), state: self.now.clone() });
        }
    }

    /// Ends the gesture.
    pub fn end(&mut self) {
        if let Some(step) = self.gesture.take()
            && step.state != self.now
        {
            self.record(step);
        }
    }

    /// Leaves the gesture as if it had not begun.
    pub fn abandon(&mut self) {
        if let Some(step) = self.gesture.take() {
            self.now = step.state;
        }
    }

    /// Whether a gesture is under way.
    #[must_use]
    pub fn in_gesture(&self) -> bool {
        self.gesture.is_some()
    }

    fn record(&mut self, step: Step<T>) {
        self.future.clear();
        self.past.push(step);
        if self.past.len() > MOST {
            self.past.remove(0);
        }
    }

    /// What would be undone.
    #[must_use]
    pub fn undoes(&self) -> Option<&str> {
        self.past.last().map(|s| s.what.as_str())
    }

    /// What would be done again.
    #[must_use]
    pub fn redoes(&self) -> Option<&str> {
        self.future.last().map(|s| s.what.as_str())
    }

    /// Undoes one step; whether there was one.
    pub fn undo(&mut self) -> bool {
        self.end();
        let Some(step) = self.past.pop() else { return false };
        let state = std::mem::replace(&mut self.now, step.state);
        self.future.push(Step { what: step.what, state });
        true
    }

    /// Does an undone step again; whether there was one.
    pub fn redo(&mut self) -> bool {
        self.end();
        let Some(step) = self.future.pop() else { return false };
        let state = std::mem::replace(&mut self.now, step.state);
        self.past.push(Step { what: step.what, state });
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_drag_is_one_step_and_an_idle_one_none() {
        let mut h = History::new(0);
        h.begin("Move");
        for x in 1..50 {
            h.change("inner", |n| *n = x);
        }
        h.end();
        assert_eq!((h.undoes(), *h.now()), (Some("Move"), 49));
        assert!(h.undo());
        assert_eq!((*h.now(), h.redoes()), (0, Some("Move")));
        assert!(h.redo() && *h.now() == 49 && !h.redo());
        h.begin("Idle");
        h.end();
        assert_eq!(h.undoes(), Some("Move"));
        h.begin("Left");
        h.change("", |n| *n = 7);
        h.abandon();
        assert_eq!((*h.now(), h.undoes()), (49, Some("Move")));
        h.change("Nothing", |_| ());
        assert_eq!(h.undoes(), Some("Move"));
    }

    proptest! {
        /// Undoing everything and doing it again gives every state in turn:
        /// checked against a plain list of states.
        #[test]
        fn undo_and_redo_walk_a_list(steps in prop::collection::vec(-3..6_i32, 1..80)) {
            let mut h = History::new(0);
            let mut list = vec![0];
            let mut at = 0;
            for s in steps {
                match s {
                    -1 => { let moved = h.undo(); prop_assert_eq!(moved, at > 0); at -= usize::from(at > 0); }
                    -2 => { let moved = h.redo(); prop_assert_eq!(moved, at + 1 < list.len()); at += usize::from(at + 1 < list.len()); }
                    s => {
                        h.change("set", |n| *n = s);
                        if list[at] != s {
                            list.truncate(at + 1);
                            list.push(s);
                            at += 1;
                        }
                    }
                }
                prop_assert_eq!(*h.now(), list[at]);
            }
        }
    }

    #[test]
    fn the_past_has_a_bound() {
        let mut h = History::new(0);
        for x in 1..2000 {
            h.change("set", |n| *n = x);
        }
        let mut undone = 0;
        while h.undo() {
            undone += 1;
        }
        assert_eq!(undone, MOST);
    }
}

//! What makes no sense in a scheme, and which key of its file holds it.

/// A step of the way to a place in a scheme's file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Step {
    /// Into a table, by a key.
    Key(String),
    /// Into a list, by a number from 0.
    Row(usize),
}

impl From<&str> for Step {
    fn from(key: &str) -> Self {
        Self::Key(key.to_owned())
    }
}

impl From<usize> for Step {
    fn from(row: usize) -> Self {
        Self::Row(row)
    }
}

/// A scheme that makes no sense, in a painter's words.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{why}")]
pub struct SchemeError {
    /// What is wrong and what to do.
    why: String,
    /// Where its file says so, from the top; the innermost step last.
    place: Vec<Step>,
}

impl SchemeError {
    pub(crate) fn new(why: impl Into<String>) -> Self {
        Self { why: why.into(), place: Vec::new() }
    }

    /// Where the file says so.
    pub(crate) fn place(&self) -> &[Step] {
        &self.place
    }
}

/// Says where in a file something stands, from the inside outward.
pub(crate) trait Under {
    /// The same, one step farther down.
    fn under(self, step: impl Into<Step>) -> Self;
}

impl<T> Under for Result<T, SchemeError> {
    fn under(mut self, step: impl Into<Step>) -> Self {
        if let Err(e) = &mut self {
            e.place.insert(0, step.into());
        }
        self
    }
}

/// Checks each of some things that stand in a list.
pub(crate) fn each<T>(
    things: &[T],
    mut check: impl FnMut(&T) -> Result<(), SchemeError>,
) -> Result<(), SchemeError> {
    things.iter().enumerate().try_for_each(|(i, thing)| check(thing).under(i))
}

/// Whether a number lies in its range.
pub(crate) fn in_range(what: &str, x: f64, low: f64, high: f64) -> Result<(), SchemeError> {
    // Written so that a NaN is out of range.
    if x >= low && x <= high {
        Ok(())
    } else {
        Err(SchemeError::new(format!("{what} is {x}: it must lie between {low} and {high}")))
    }
}

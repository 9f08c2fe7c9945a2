//! A palette from a picture, found on a thread of its own, so that the figure still turns.

use crate::bench::{Bench, Trouble};
use grisaille_colour::{PaletteColour, hex_of, palette_of, read_picture};
use grisaille_scheme::PaletteEntry;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, TryRecvError, channel};

/// The endings of pictures that a palette is taken from.
pub(crate) const PICTURE_ENDINGS: [&str; 4] = ["png", "jpg", "jpeg", "webp"];

/// Whether a path names a picture.
#[must_use]
pub(crate) fn is_picture(path: &Path) -> bool {
    path.extension().is_some_and(|e| PICTURE_ENDINGS.iter().any(|p| e.eq_ignore_ascii_case(p)))
}

/// A picture that is being looked at.
pub(crate) struct Looking {
    found: Receiver<Result<Vec<PaletteColour>, Trouble>>,
    cancel: Arc<AtomicBool>,
}

impl Looking {
    /// Begins to look for a palette; `wake` is called when there is an answer.
    pub(crate) fn at(bench: &Arc<dyn Bench>, path: PathBuf, wake: Arc<dyn Fn() + Send + Sync>) -> Self {
        let (sender, found) = channel();
        let watch = bench.watch();
        let (bench, cancel) = (Arc::clone(bench), watch.cancel_handle());
        let look = move || {
            let find = || {
                let bytes = bench.read(&path)?;
                let said = |why: String| Trouble::Said(format!("'{}': {why}", path.display()));
                let picture = read_picture(&bytes).map_err(|e| said(e.to_string()))?;
                Ok(palette_of(&picture, &watch)?)
            };
            // Nobody hears if the window has gone.
            let _ = sender.send(find());
            wake();
        };
        // If no thread can be had, the sender is gone, which is told as an answer.
        let _ = std::thread::Builder::new().name("picture".into()).spawn(look);
        Self { found, cancel }
    }

    /// What was found, once it is there.
    pub(crate) fn answer(&self) -> Option<Result<Vec<PaletteColour>, Trouble>> {
        match self.found.try_recv() {
            Ok(found) => Some(found),
            Err(TryRecvError::Empty) => None,
            Err(TryRecvError::Disconnected) => {
                Some(Err(Trouble::Said("the picture could not be looked at".into())))
            }
        }
    }
}

impl Drop for Looking {
    fn drop(&mut self) {
        self.cancel.store(true, Ordering::Relaxed);
    }
}

/// A picture's colours as a scheme keeps them: named by the part that each plays, shares in percent.
#[must_use]
pub(crate) fn entries(found: &[PaletteColour]) -> Vec<PaletteEntry> {
    let mut entries: Vec<PaletteEntry> = Vec::new();
    for colour in found {
        let role = colour.role.as_str();
        let taken = |name: &str| entries.iter().any(|e| e.name == name);
        let numbered = (2..).map(|n| format!("{role} {n}"));
        let name = std::iter::once(role.to_owned()).chain(numbered).find(|n| !taken(n)).unwrap_or_default();
        // A tenth of a percent is finer than any eye; an accent may be as little.
        let share = ((1000.0 * colour.share).round() / 10.0).max(0.1);
        entries.push(PaletteEntry { name, colour: hex_of(colour.colour), share: Some(share) });
    }
    entries
}

#[cfg(test)]
mod tests {
    use super::*;
    use grisaille_colour::{Lab, with_roles};

    #[test]
    fn colours_of_a_picture_have_names_of_their_own() {
        let shares = [(55.0, 0.0, 0.5), (30.0, 3.0, 0.3), (70.0, -2.0, 0.15), (20.0, 4.0, 0.05)];
        let colours: Vec<(Lab, f64)> = shares.map(|(l, b, share)| (Lab::new(l, -20.0, b), share)).into();
        let entries = entries(&with_roles(&colours));
        let mut names: Vec<&str> = entries.iter().map(|e| e.name.as_str()).collect();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), 4, "{entries:?}");
        assert_eq!(entries.iter().map(|e| e.share.unwrap()).sum::<f64>(), 100.0);
        assert!(
            is_picture(Path::new("a.JPEG"))
                && !is_picture(Path::new("a.stl"))
                && !is_picture(Path::new("png"))
        );
    }
}

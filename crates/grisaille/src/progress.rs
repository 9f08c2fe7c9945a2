//! Progress on the terminal: a line with an estimate for what takes long.

use grisaille_base::Listener;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

/// Shows phases that last longer than a moment on standard error, if that is
/// a terminal; elsewhere nothing is printed.
pub(crate) struct Terminal {
    shown: Mutex<Vec<(&'static str, ProgressBar, Instant, u64)>>,
}

/// A phase shorter than this is never shown.
const PATIENCE: Duration = Duration::from_millis(300);

impl Terminal {
    pub(crate) fn new() -> Self {
        Self { shown: Mutex::new(Vec::new()) }
    }
}

impl Listener for Terminal {
    fn begin(&self, phase: &'static str, total: u64) {
        let bar = ProgressBar::with_draw_target(Some(total), ProgressDrawTarget::hidden());
        let look = if total > 0 {
            "{msg:28} {wide_bar} {percent:>3} %  {eta:>4} left"
        } else {
            "{msg:28} {spinner}"
        };
        if let Ok(style) = ProgressStyle::with_template(look) {
            bar.set_style(style.progress_chars("━╸ "));
        }
        bar.set_message(in_words(phase));
        self.shown.lock().unwrap_or_else(PoisonError::into_inner).push((phase, bar, Instant::now(), total));
    }

    fn advance(&self, phase: &'static str, done: u64) {
        let shown = self.shown.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, bar, begun, total)) = shown.iter().rev().find(|(p, ..)| *p == phase) {
            if bar.is_hidden() && begun.elapsed() > PATIENCE && done < *total {
                bar.set_draw_target(ProgressDrawTarget::stderr());
            }
            bar.set_position(done);
        }
    }

    fn end(&self, phase: &'static str) {
        let mut shown = self.shown.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(at) = shown.iter().rposition(|(p, ..)| *p == phase) {
            shown.remove(at).1.finish_and_clear();
        }
    }
}

/// A phase in a painter's words.
pub(crate) fn in_words(phase: &'static str) -> &'static str {
    match phase {
        "read" => "Reading the model",
        "structure" => "Sorting the surface",
        "surface" => "Dividing the surface",
        "zenithal" => "Light from above",
        "ring" => "Light from all round",
        "ambient" => "Dim light of the sky",
        "lamps" => "Lamps",
        "light" => "Light",
        "openness" => "Looking round every spot",
        "bounce" => "Light from part to part",
        "plan" => "Planning values",
        "primer" => "Planning the primer",
        "spray" => "Trying spray directions",
        "dry brush" => "Trying dry-brush strokes",
        "pictures" => "Drawing",
        "guide" => "Setting the sheets",
        "write" => "Writing",
        "palette" => "Finding the colours",
        "mixes" => "Working out mixes",
        "colours" => "Mixing the colours",
        "net" | "regions" | "borders" => "Finding the regions",
        "model" => "Sculpting the diver",
        other => other,
    }
}

//! The desktop's own file dialog, where there is one. It is asked for on the
//! window's thread, as macOS wants it, and waited for on another, so that the
//! figure still turns.

use crate::desk::SCHEME_ENDING;
use crate::picture_palette::PICTURE_ENDINGS;
use grisaille_mesh::MODEL_ENDINGS;
use std::future::Future;
use std::path::{Path, PathBuf};
use std::pin::Pin;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::time::{Duration, Instant};

/// What is wanted of the desktop.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Wish {
    /// Files to open, beginning in a folder.
    Open(PathBuf),
    /// A place to save to, beginning with one.
    Save(PathBuf),
}

/// The paths that were chosen; none if nothing was, or if there is no dialog.
pub type Chosen = Pin<Box<dyn Future<Output = Vec<PathBuf>> + Send>>;

/// Who shows the dialog.
pub type Desktop = Arc<dyn Fn(&Wish) -> Chosen>;

/// The dialog of Windows and macOS, or of a desktop with a portal.
#[must_use]
pub fn desktop() -> Desktop {
    Arc::new(|wish| {
        let dialog = rfd::AsyncFileDialog::new().set_title("grisaille");
        match wish {
            Wish::Open(folder) => {
                let upper = MODEL_ENDINGS.map(str::to_uppercase);
                let mut endings = [&MODEL_ENDINGS[..], &[SCHEME_ENDING, "csv"], &PICTURE_ENDINGS].concat();
                endings.extend(upper.iter().map(String::as_str));
                let chosen = dialog
                    .add_filter("Prints, schemes, paints, pictures", &endings)
                    .set_directory(folder)
                    .pick_files();
                Box::pin(async {
                    chosen.await.into_iter().flatten().map(|file| file.path().to_owned()).collect()
                })
            }
            Wish::Save(path) => {
                let name = path.file_name().unwrap_or_default().to_string_lossy();
                let folder = path.parent().unwrap_or(Path::new(""));
                let chosen = dialog
                    .add_filter("Scheme", &[SCHEME_ENDING])
                    .set_directory(folder)
                    .set_file_name(name)
                    .save_file();
                Box::pin(async { chosen.await.into_iter().map(|file| file.path().to_owned()).collect() })
            }
        }
    })
}

/// A dialog that was asked for.
pub(crate) struct Asked {
    since: Instant,
    answer: Receiver<Vec<PathBuf>>,
}

/// What came of it.
#[derive(Debug, PartialEq, Eq)]
pub(crate) enum Answer {
    /// It is open still.
    Waiting,
    /// These were chosen.
    Paths(Vec<PathBuf>),
    /// It was closed without a choice.
    Nothing,
    /// There was none.
    NoDialog,
}

impl Asked {
    /// Shows the dialog; `wake` is called when there is an answer.
    pub(crate) fn ask(desktop: &Desktop, wish: &Wish, wake: Arc<dyn Fn() + Send + Sync>) -> Self {
        let (sender, answer) = channel();
        let chosen = desktop(wish);
        let waits = move || {
            // Nobody hears if the window has closed meanwhile.
            let _ = sender.send(pollster::block_on(chosen));
            wake();
        };
        // If no thread can be had, the sender is gone: there is no dialog.
        let _ = std::thread::Builder::new().name("dialog".into()).spawn(waits);
        Self { since: Instant::now(), answer }
    }

    /// What has come of it by now.
    pub(crate) fn answer(&self) -> Answer {
        /// Nobody closes a dialog sooner than this; one that is not there does.
        const GLANCE: Duration = Duration::from_millis(250);
        match self.answer.try_recv() {
            Ok(paths) if !paths.is_empty() => Answer::Paths(paths),
            Ok(_) if self.since.elapsed() > GLANCE => Answer::Nothing,
            Ok(_) | Err(TryRecvError::Disconnected) => Answer::NoDialog,
            Err(TryRecvError::Empty) => Answer::Waiting,
        }
    }
}

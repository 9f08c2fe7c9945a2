//! Keeping work safe: a copy of what is not saved, written every few seconds
//! while it changes, and found again after a crash.
//!
//! Each window holds a lock file open for as long as it lives; the system frees
//! the lock however the window ends. A copy whose lock is free was left behind.

use crate::bench::{Bench, Trouble};
use grisaille_scheme::{Document, read_document, write_document};
use std::fs::{self, File};
use std::path::{Path, PathBuf};

/// Seconds after a change within which the copy is written.
pub(crate) const EVERY: f64 = 2.0;

/// This window's place for its copy.
#[derive(Debug)]
pub struct Keeper {
    copy: PathBuf,
    lock_path: PathBuf,
    /// Held, not used: the lock lives as long as the file is open.
    _lock: File,
}

/// Work that a window which ended without goodbye has left.
#[derive(Clone, Debug, PartialEq)]
pub struct Left {
    /// What was being worked on.
    pub document: Document,
    /// Its scheme file, if it had one.
    pub file: Option<PathBuf>,
    copy: PathBuf,
    lock_path: PathBuf,
}

/// The folder for such copies: the system's place for what programs keep.
#[must_use]
pub fn folder() -> Option<PathBuf> {
    let var = |name: &str| std::env::var_os(name).filter(|v| !v.is_empty()).map(PathBuf::from);
    let base = if cfg!(windows) {
        var("LOCALAPPDATA")
    } else if cfg!(target_os = "macos") {
        var("HOME").map(|h| h.join("Library/Application Support"))
    } else {
        // Source: XDG Base Directory Specification 0.8, XDG_STATE_HOME.
        var("XDG_STATE_HOME").or_else(|| var("HOME").map(|h| h.join(".local/state")))
    };
    base.map(|b| b.join("grisaille"))
}

impl Keeper {
    /// Takes a free place in a folder, which is made if it is not there.
    ///
    /// # Errors
    /// Why there can be no copies.
    pub fn new(folder: &Path) -> Result<Self, String> {
        fs::create_dir_all(folder).map_err(|e| e.to_string())?;
        let own = std::process::id();
        for n in 0..1000 {
            let lock_path = folder.join(format!("window-{own}-{n}.lock"));
            let copy = folder.join(format!("window-{own}-{n}.grisaille"));
            // A copy of that name is somebody's work, rescued or not.
            if copy.exists() {
                continue;
            }
            let Ok(lock) = File::options().create(true).truncate(false).write(true).open(&lock_path) else {
                continue;
            };
            if lock.try_lock().is_ok() {
                return Ok(Self { copy, lock_path, _lock: lock });
            }
        }
        Err(format!("no copy can be kept in '{}'", folder.display()))
    }

    /// Writes the copy.
    ///
    /// # Errors
    /// [`Trouble`] in one line; the copy before it is then still whole.
    pub fn keep(&self, document: &Document, file: Option<&Path>, bench: &dyn Bench) -> Result<(), Trouble> {
        bench.write(&self.copy, in_text(document, file).as_bytes(), &[])
    }

    /// Removes the copy: all is saved, or let go on purpose.
    pub fn drop_copy(&self) {
        // It may not be there; that is as good.
        let _ = fs::remove_file(&self.copy);
    }
}

impl Drop for Keeper {
    fn drop(&mut self) {
        let _ = fs::remove_file(&self.lock_path);
    }
}

/// What other windows have left behind in a folder; oldest name first.
#[must_use]
pub fn left_behind(folder: &Path) -> Vec<Left> {
    let Ok(entries) = fs::read_dir(folder) else { return Vec::new() };
    let mut copies: Vec<PathBuf> = entries
        .flatten()
        .map(|e| e.path())
        .filter(|p| p.extension().is_some_and(|e| e == "grisaille"))
        .collect();
    copies.sort();
    copies
        .into_iter()
        .filter_map(|copy| {
            let lock_path = copy.with_extension("lock");
            let free = match File::options().write(true).open(&lock_path) {
                Ok(lock) => lock.try_lock().is_ok(),
                // A lock file that is gone holds nothing.
                Err(_) => true,
            };
            let (document, file) =
                free.then(|| fs::read_to_string(&copy).ok()).flatten().and_then(|t| of_text(&t))?;
            Some(Left { document, file, copy, lock_path })
        })
        .collect()
}

impl Left {
    /// Forgets it: it has been taken over or is not wanted.
    pub fn forget(&self) {
        let _ = fs::remove_file(&self.copy);
        let _ = fs::remove_file(&self.lock_path);
    }
}

const OF: &str = "#of ";

/// The document with a first line that names its file.
fn in_text(document: &Document, file: Option<&Path>) -> String {
    let name =
        file.map_or_else(String::new, |f| f.to_string_lossy().replace('\\', "\\\\").replace('\n', "\\n"));
    format!("{OF}{name}\n{}", write_document(document, None))
}

fn of_text(text: &str) -> Option<(Document, Option<PathBuf>)> {
    let (first, rest) = text.split_once('\n')?;
    let name = first.strip_prefix(OF)?.replace("\\n", "\n").replace("\\\\", "\\");
    let document = read_document(rest).ok()?;
    Some((document, (!name.is_empty()).then(|| PathBuf::from(name))))
}

#[cfg(test)]
mod tests {
    use super::*;
    use grisaille_scheme::{ModelEntry, ModelSource, Scheme};

    fn document(title: &str) -> Document {
        Document {
            models: vec![ModelEntry::new(ModelSource::File("/shelf/diver.stl".into()))],
            scheme: Scheme { title: title.into(), ..Scheme::default() },
        }
    }

    #[test]
    fn a_copy_knows_its_document_and_its_file() {
        for file in [None, Some(Path::new("/shelf/diver.grisaille"))] {
            let text = in_text(&document("Diver"), file);
            assert_eq!(of_text(&text), Some((document("Diver"), file.map(Path::to_owned))));
        }
        assert_eq!(of_text("nonsense"), None);
        assert_eq!(of_text("#of \nnonsense"), None);
    }

    #[test]
    fn a_living_windows_copy_is_left_alone_and_a_dead_ones_is_found() {
        let folder = tempfile::tempdir().unwrap();
        let alive = Keeper::new(folder.path()).unwrap();
        fs::write(&alive.copy, in_text(&document("alive"), None)).unwrap();
        assert_eq!(left_behind(folder.path()), []);
        // A killed process frees its lock and removes nothing.
        let dead = folder.path().join("window-0-0.grisaille");
        fs::write(&dead, in_text(&document("dead"), None)).unwrap();
        fs::write(dead.with_extension("lock"), "").unwrap();
        let left = left_behind(folder.path());
        assert_eq!(left.len(), 1);
        assert_eq!(left[0].document.scheme.title, "dead");
        left[0].forget();
        assert_eq!(left_behind(folder.path()), []);
        // Half a copy, as a full disk might leave it, is no scheme and no panic.
        fs::write(&dead, "#of \nversion = 1\n[[mod").unwrap();
        assert_eq!(left_behind(folder.path()), []);
        assert_ne!(Keeper::new(folder.path()).unwrap().copy, alive.copy);
    }
}

//! The document on the desk: its history, its file, and whether it is saved.
//!
//! In memory the paths of models and paints are absolute; in the file each is relative where
//! it lies in the file's folder or below, so that both can move together.

use crate::bench::{Bench, Trouble};
use crate::history::History;
use grisaille_base::{LightId, Millimetres};
use grisaille_scheme::{
    Document, LightChoice, LightEntry, ModelEntry, ModelSource, Scheme, read_document, write_document,
};
use std::path::{Component, Path, PathBuf};

/// The ending of scheme files.
pub const SCHEME_ENDING: &str = "grisaille";

/// The document being worked on.
#[derive(Clone, Debug)]
pub struct Desk {
    history: History<Document>,
    file: Option<PathBuf>,
    /// The text that the file had when it was last read or written.
    text: Option<String>,
    /// The state that is in the file; for a new scheme the state it began with.
    saved: Document,
}

impl Desk {
    /// A new scheme.
    #[must_use]
    pub fn new(document: Document) -> Self {
        Self { saved: document.clone(), history: History::new(document), file: None, text: None }
    }

    /// A new scheme for some model files.
    #[must_use]
    pub fn of_models(paths: &[PathBuf]) -> Self {
        let title = paths
            .first()
            .and_then(|p| p.file_stem())
            .map_or_else(|| "model".into(), |s| s.to_string_lossy().into_owned());
        let models = paths.iter().map(|p| ModelEntry::new(ModelSource::File(absolute(p)))).collect();
        Self::new(Document { models, scheme: Scheme { title, ..Scheme::default() } })
    }

    /// The scheme of a file.
    ///
    /// # Errors
    /// [`Trouble`] when it cannot be read.
    pub fn open(path: &Path, bench: &dyn Bench) -> Result<Self, Trouble> {
        let path = absolute(path);
        let bytes = bench.read(&path)?;
        let said = |why: String| Trouble::Said(format!("'{}': {why}", path.display()));
        let text = String::from_utf8(bytes).map_err(|_| said("this is not a scheme".into()))?;
        let document = read_document(&text).map_err(|e| said(e.to_string()))?;
        let document = document.with_files(|p| joined(folder_of(&path), p));
        Ok(Self {
            saved: document.clone(),
            history: History::new(document),
            file: Some(path),
            text: Some(text),
        })
    }

    /// A scheme that was rescued: not saved, whatever its file holds.
    #[must_use]
    pub fn rescued(document: Document, file: Option<PathBuf>, bench: &dyn Bench) -> Self {
        let mut desk = match &file {
            Some(path) => Self::open(path, bench).unwrap_or_else(|_| Self::new(document.clone())),
            None => Self::new(document.clone()),
        };
        desk.file = file;
        // A step to undo: back to what the file holds.
        desk.history.change("Rescued work", |now| *now = document);
        if desk.file.is_none() {
            desk.saved = Document::default();
        }
        desk
    }

    /// The document now.
    #[must_use]
    pub fn document(&self) -> &Document {
        self.history.now()
    }

    /// The scheme now.
    #[must_use]
    pub fn scheme(&self) -> &Scheme {
        &self.history.now().scheme
    }

    /// Its history.
    #[must_use]
    pub fn history(&self) -> &History<Document> {
        &self.history
    }

    /// Its history, to undo and redo in and to begin gestures.
    pub fn history_mut(&mut self) -> &mut History<Document> {
        &mut self.history
    }

    /// The file, once it has one.
    #[must_use]
    pub fn file(&self) -> Option<&Path> {
        self.file.as_deref()
    }

    /// Whether the document differs from its file.
    #[must_use]
    pub fn unsaved(&self) -> bool {
        *self.history.now() != self.saved
    }

    /// Changes the document if the change makes sense.
    ///
    /// # Errors
    /// Why it makes none; nothing is changed then.
    pub fn change(&mut self, what: &str, change: impl FnOnce(&mut Document)) -> Result<(), String> {
        let mut next = self.history.now().clone();
        change(&mut next);
        next.check().map_err(|e| e.to_string())?;
        self.history.change(what, |now| *now = next);
        Ok(())
    }

    /// Changes one light; nothing if it is gone.
    ///
    /// # Errors
    /// Why the change makes no sense.
    pub fn change_light(
        &mut self,
        what: &str,
        id: LightId,
        change: impl FnOnce(&mut LightEntry),
    ) -> Result<(), String> {
        self.change(what, |document| {
            if let Some(light) = document.scheme.lights.iter_mut().find(|l| l.id == id) {
                change(light);
            }
        })
    }

    /// Adds a lamp at a place, with a name of its own.
    ///
    /// # Errors
    /// Why it cannot be there.
    pub fn add_lamp(&mut self, at: [f64; 3]) -> Result<LightId, String> {
        let name = free_name(self.scheme());
        let mut scheme = self.scheme().clone();
        let id = scheme.add_lamp(&name, rounded(at), None, Millimetres(0.6)).map_err(|e| e.to_string())?;
        if let Some(lamp) = scheme.lights.last_mut() {
            lamp.colour = LAMP_COLOUR;
        }
        self.change("Place a lamp", |document| document.scheme = scheme)?;
        Ok(id)
    }

    /// Every file that the scene is read from.
    #[must_use]
    pub fn inputs(&self) -> Vec<PathBuf> {
        let models = self.document().models.iter().filter_map(|m| match &m.source {
            ModelSource::File(path) => Some(path.clone()),
            ModelSource::Diver => None,
        });
        models.collect()
    }

    /// The list of paints, if the scheme names one.
    #[must_use]
    pub fn paints(&self) -> Option<PathBuf> {
        self.scheme().colours.paints.as_ref().map(|p| p.file.clone())
    }

    /// Writes the document to a file, which becomes its file. Comments that a
    /// painter wrote into it stay.
    ///
    /// # Errors
    /// [`Trouble`] when it cannot be written; the document stays unsaved.
    pub fn save(&mut self, path: &Path, bench: &dyn Bench) -> Result<(), Trouble> {
        self.history.end();
        let path = absolute(path);
        let same = self.file.as_deref() == Some(path.as_path());
        let document = self.document().clone().with_files(|p| relative(folder_of(&path), p));
        let text = write_document(&document, self.text.as_deref().filter(|_| same));
        let inputs: Vec<PathBuf> = self.inputs().into_iter().chain(self.paints()).collect();
        bench.write(&path, text.as_bytes(), &inputs)?;
        self.saved = self.document().clone();
        self.text = Some(text);
        self.file = Some(path);
        Ok(())
    }
}

/// The warm colour of a lamp until another is chosen.
pub(crate) const LAMP_COLOUR: [u8; 3] = [255, 196, 120];

/// A path from the root, without going through '.' and '..'.
#[must_use]
pub(crate) fn absolute(path: &Path) -> PathBuf {
    let whole = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    let mut out = PathBuf::new();
    for part in whole.components() {
        match part {
            Component::CurDir => {}
            Component::ParentDir => {
                out.pop();
            }
            other => out.push(other),
        }
    }
    out
}

/// A path as it stands in a scheme file of a folder, made absolute.
fn joined(folder: &Path, path: &Path) -> PathBuf {
    absolute(&folder.join(path))
}

/// A path as it will stand in a scheme file of a folder.
fn relative(folder: &Path, path: &Path) -> PathBuf {
    path.strip_prefix(folder).map_or_else(|_| path.to_owned(), Path::to_owned)
}

fn folder_of(path: &Path) -> &Path {
    path.parent().unwrap_or_else(|| Path::new(""))
}

/// Hundredths of a millimetre are finer than any hand: places stay readable.
#[must_use]
pub(crate) fn rounded(at: [f64; 3]) -> [f64; 3] {
    at.map(|x| {
        let r = (x * 100.0).round() / 100.0;
        // No minus zero in files.
        if r == 0.0 { 0.0 } else { r }
    })
}

fn free_name(scheme: &Scheme) -> String {
    let taken = |name: &str| scheme.lights.iter().any(|l| l.name == name);
    let numbered = (2..).map(|n| format!("lamp-{n}"));
    std::iter::once("lamp".to_owned()).chain(numbered).find(|name| !taken(name)).unwrap_or_default()
}

/// The place of a lamp.
#[must_use]
pub(crate) fn lamp_place(light: &LightEntry) -> Option<[f64; 3]> {
    match light.choice {
        LightChoice::Lamp { at, .. } => Some(at),
        _ => None,
    }
}

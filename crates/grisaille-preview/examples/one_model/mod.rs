//! What the worker of an example works for: one model, and nothing is written.

use grisaille_base::Watch;
use grisaille_diver::{DiverSettings, diver};
use grisaille_mesh::{ReadSettings, read};
use grisaille_plan::{Loaded, leave_out};
use grisaille_preview::{Bench, Look, Product, ReadAlready, Trouble};
use grisaille_scheme::{Document, ModelEntry, ModelSource};
use std::path::{Path, PathBuf};

/// Reads one file, or makes the built-in diver; makes nothing else.
pub(crate) struct OneModel;

impl Bench for OneModel {
    fn load(&self, document: &Document, watch: &Watch) -> Result<Loaded, Trouble> {
        let said = |e: String| Trouble::Said(e);
        let [ModelEntry { source, height, .. }] = document.models.as_slice() else {
            return Err(said("one model is needed".into()));
        };
        let bytes = match source {
            ModelSource::File(path) => self.read(path)?,
            ModelSource::Diver => {
                diver(&DiverSettings::default(), watch).map_err(|e| said(e.to_string()))?.stl()
            }
        };
        let settings = ReadSettings { height: height.map(|h| h.0), ..ReadSettings::default() };
        let (mesh, findings) = read(&bytes, &settings, watch).map_err(|e| said(e.to_string()))?;
        leave_out(mesh, findings, &document.scheme.left_out, watch).map_err(|e| said(e.to_string()))
    }

    fn make(
        &self,
        _: Product,
        _: &Document,
        _: &[Look],
        _: Option<&ReadAlready>,
        _: &Path,
        _: &Watch,
    ) -> Result<Vec<String>, Trouble> {
        Err(Trouble::Stopped)
    }

    fn read(&self, path: &Path) -> Result<Vec<u8>, Trouble> {
        std::fs::read(path).map_err(|e| Trouble::Said(e.to_string()))
    }

    fn write(&self, _: &Path, _: &[u8], _: &[PathBuf]) -> Result<(), Trouble> {
        Err(Trouble::Stopped)
    }

    fn watch(&self) -> Watch {
        Watch::with_threads(0).unwrap_or_else(|_| Watch::quiet())
    }

    fn phase(&self, phase: &'static str) -> &'static str {
        phase
    }

    fn diver(&self) -> Document {
        Document::default()
    }
}

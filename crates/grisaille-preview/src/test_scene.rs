//! Scenes for this crate's own tests.

use crate::bench::{Bench, Product, ReadAlready, Trouble};
use crate::look::Look;
use grisaille_base::{Millimetres, Watch};
use grisaille_mesh::{ReadSettings, read};
use grisaille_plan::{Ground, Loaded, Products, ground, leave_out};
use grisaille_scheme::{Document, ModelEntry, ModelSource, Scheme, SurfaceChoice};
use std::error::Error;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A scheme that divides no finer than `spacing` mm.
pub(crate) fn scheme(spacing: f64) -> Scheme {
    let usual = Scheme::default();
    let surface = SurfaceChoice { spacing: Some(Millimetres(spacing)), ..usual.surface };
    Scheme { surface, ..usual }
}

/// The products of a triangle soup, nothing computed.
pub(crate) fn products_of(soup: &[grisaille_bodies::Triangle]) -> Products {
    let bytes = grisaille_bodies::stl(soup);
    let (mesh, _) = read(&bytes, &ReadSettings::default(), &Watch::quiet()).unwrap();
    Products::new(Arc::new(mesh))
}

/// What drafts of a triangle soup stand on.
pub(crate) fn ground_of(soup: &[grisaille_bodies::Triangle], spacing: f64) -> Ground {
    ground(&scheme(spacing), &mut products_of(soup), &Watch::quiet()).unwrap()
}

/// A bench whose only model is a triangle soup.
pub(crate) struct SoupBench(pub(crate) Vec<grisaille_bodies::Triangle>);

/// A document of that model.
pub(crate) fn document_of(spacing: f64) -> Document {
    Document { models: vec![ModelEntry::new(ModelSource::Diver)], scheme: scheme(spacing) }
}

impl Bench for SoupBench {
    fn load(&self, document: &Document, watch: &Watch) -> Result<Loaded, Trouble> {
        if document.models.is_empty() {
            return Err(Trouble::Said("there is no model".into()));
        }
        let bytes = grisaille_bodies::stl(&self.0);
        let said = |e: &dyn Error| Trouble::Said(e.to_string());
        let (mesh, findings) = read(&bytes, &ReadSettings::default(), watch).map_err(|e| said(&e))?;
        leave_out(mesh, findings, &document.scheme.left_out, watch).map_err(|e| said(&e))
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
        Err(Trouble::Said("this bench makes nothing".into()))
    }

    fn read(&self, path: &Path) -> Result<Vec<u8>, Trouble> {
        std::fs::read(path).map_err(|e| Trouble::Said(e.to_string()))
    }

    fn write(&self, path: &Path, bytes: &[u8], _: &[PathBuf]) -> Result<(), Trouble> {
        std::fs::write(path, bytes).map_err(|e| Trouble::Said(e.to_string()))
    }

    fn watch(&self) -> Watch {
        Watch::quiet()
    }

    fn phase(&self, phase: &'static str) -> &'static str {
        phase
    }

    fn diver(&self) -> Document {
        document_of(0.8)
    }
}

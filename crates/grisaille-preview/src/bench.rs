//! What the window asks of the program round it: reading models and making
//! what goes to the bench. The command line does both by the same functions,
//! so that a guide made from here and one made there are the same bytes.

use crate::look::Look;
use grisaille_base::{Finding, Watch};
use grisaille_plan::{Loaded, Products};
use grisaille_scheme::Document;
use std::path::{Path, PathBuf};

/// What can be made from a plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Product {
    /// The printable sheets (.pdf).
    Guide,
    /// The coloured surface (.glb, .ply, .3mf, .csv or .json).
    Map,
    /// A picture of the looks that are on screen (.png).
    Picture,
}

impl Product {
    /// Its usual file ending.
    #[must_use]
    pub fn ending(self) -> &'static str {
        match self {
            Self::Guide => "pdf",
            Self::Map => "glb",
            Self::Picture => "png",
        }
    }
}

/// The models of a document as they were read, and what the phases have made
/// of them since.
pub struct ReadAlready {
    /// What was made; forks of it share it.
    pub products: Products,
    /// What was noticed while reading.
    pub findings: Vec<Finding>,
    /// For which count of [`crate::Order::reading`].
    pub reading: u64,
}

/// Why something was not done.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Trouble {
    /// Asked to stop.
    #[error("stopped")]
    Stopped,
    /// One line that says what is wrong and what to do.
    #[error("{0}")]
    Said(String),
}

impl From<grisaille_base::Stop> for Trouble {
    fn from(_: grisaille_base::Stop) -> Self {
        Self::Stopped
    }
}

/// The program round the window. Paths in documents are absolute.
pub trait Bench: Send + Sync + 'static {
    /// Reads and joins the models of a document, without what it leaves out.
    ///
    /// # Errors
    /// [`Trouble`] in one line.
    fn load(&self, document: &Document, watch: &Watch) -> Result<Loaded, Trouble>;

    /// Makes a product into a file, whole or not at all; gives hints. A picture shows
    /// the `looks`, one below the other; nothing else asks for them. Of a model
    /// that was `read` already nothing is read or computed twice.
    ///
    /// # Errors
    /// [`Trouble`] in one line.
    fn make(
        &self,
        product: Product,
        document: &Document,
        looks: &[Look],
        read: Option<&ReadAlready>,
        to: &Path,
        watch: &Watch,
    ) -> Result<Vec<String>, Trouble>;

    /// Reads a file whole.
    ///
    /// # Errors
    /// [`Trouble`] in one line.
    fn read(&self, path: &Path) -> Result<Vec<u8>, Trouble>;

    /// Writes a file whole or not at all; never one of `inputs`.
    ///
    /// # Errors
    /// [`Trouble`] in one line.
    fn write(&self, path: &Path, bytes: &[u8], inputs: &[PathBuf]) -> Result<(), Trouble>;

    /// A watch for one piece of work, with the threads that the user granted.
    fn watch(&self) -> Watch;

    /// A phase of the work in a painter's words.
    fn phase(&self, phase: &'static str) -> &'static str;

    /// The document of the built-in diver.
    fn diver(&self) -> Document;
}

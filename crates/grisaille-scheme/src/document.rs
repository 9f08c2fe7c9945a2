//! The document: the models of a scene and the scheme for them, as one file
//! holds them.

use crate::scheme::Scheme;
use crate::scheme_error::{SchemeError, Under, each, in_range};
use grisaille_base::Millimetres;
use std::path::{Path, PathBuf};

/// All that a painter decides, in one piece.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Document {
    /// The models of the scene, at least one; each where its file and its entry put it.
    pub models: Vec<ModelEntry>,
    /// What was decided about them.
    pub scheme: Scheme,
}

impl Document {
    /// Every file that it names: models, the list of paints, the wording of the sheets.
    #[must_use]
    pub fn files(&self) -> Vec<PathBuf> {
        let models = self.models.iter().filter_map(|model| match &model.source {
            ModelSource::File(file) => Some(file),
            ModelSource::Diver => None,
        });
        let paints = self.scheme.colours.paints.as_ref().map(|paints| &paints.file);
        models.chain(paints).chain(&self.scheme.print.words).cloned().collect()
    }

    /// The same with the name of every file passed through `of`.
    #[must_use]
    pub fn with_files(mut self, mut of: impl FnMut(&Path) -> PathBuf) -> Self {
        for model in &mut self.models {
            if let ModelSource::File(file) = &mut model.source {
                *file = of(file);
            }
        }
        let paints = self.scheme.colours.paints.as_mut().map(|paints| &mut paints.file);
        for file in paints.into_iter().chain(&mut self.scheme.print.words) {
            *file = of(file);
        }
        self
    }
}

/// One model and what its file does not say.
#[derive(Clone, Debug, PartialEq)]
pub struct ModelEntry {
    /// Where it comes from.
    pub source: ModelSource,
    /// Which axis of the file points up.
    pub up: UpChoice,
    /// The unit of the file's numbers; not used when `height` is given.
    pub unit: UnitChoice,
    /// The height of the printed model's box, base included; scales it.
    pub height: Option<Millimetres>,
    /// Tilted for printing: it is stood on the flat underside of its base, before scaling.
    pub upright: bool,
    /// Degrees that it is turned about the upright axis through the middle of its
    /// box, counterclockwise as seen from above.
    pub turn: f64,
    /// How far it is moved, after scaling and turning, in scene millimetres.
    pub at: [f64; 3],
    /// How it was printed, if the painter says so.
    pub printed: Option<PrintedBy>,
    /// How thick the layers of the print are in mm; as is usual for how it was printed if not given.
    pub layer_height: Option<Millimetres>,
}

/// How a model was printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PrintedBy {
    /// Cured from liquid resin, layer by layer.
    Resin,
    /// Laid down as molten filament.
    Filament,
}

impl PrintedBy {
    /// The usual layer of a miniature (common practice, no published source).
    #[must_use]
    pub fn usual_layer(self) -> Millimetres {
        Millimetres(match self {
            Self::Resin => 0.05,
            Self::Filament => 0.2,
        })
    }
}

/// Where a model comes from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ModelSource {
    /// A file; a path that is not absolute begins at the document's folder.
    File(PathBuf),
    /// The diver that is built in.
    Diver,
}

/// The axis of a model file that points up.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum UpChoice {
    /// +Z, the print convention.
    #[default]
    Z,
    /// +Y.
    Y,
}

/// The unit of a model file's numbers.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum UnitChoice {
    /// Millimetres.
    #[default]
    Mm,
    /// Inches.
    Inch,
    /// Metres.
    M,
}

impl ModelEntry {
    /// A model taken as millimetres, +Z up.
    #[must_use]
    pub fn new(source: ModelSource) -> Self {
        Self {
            source,
            up: UpChoice::default(),
            unit: UnitChoice::default(),
            height: None,
            upright: false,
            turn: 0.0,
            at: [0.0; 3],
            printed: None,
            layer_height: None,
        }
    }

    /// How thick the layers of the print are, if anything is said of it.
    #[must_use]
    pub fn layer(&self) -> Option<Millimetres> {
        self.layer_height.or_else(|| self.printed.map(PrintedBy::usual_layer))
    }

    fn check(&self) -> Result<(), SchemeError> {
        if let ModelSource::File(path) = &self.source
            && path.as_os_str().is_empty()
        {
            let why = "a model has no file name: write file = \"figure.stl\"";
            return Err(SchemeError::new(why)).under("file");
        }
        if let Some(height) = self.height {
            in_range("the height of a model in mm", height.0, 1e-3, 1e6).under("height")?;
        }
        in_range("the turn of a model in degrees", self.turn, -360.0, 360.0).under("turn")?;
        if let Some(layer) = self.layer_height {
            in_range("the layer height of a print in mm", layer.0, 0.005, 2.0).under("layer_height")?;
        }
        each(&self.at, |x| in_range("the place of a model in mm", *x, -1e6, 1e6)).under("at")
    }
}

impl Document {
    /// Whether there is a model and all numbers make sense.
    ///
    /// # Errors
    /// [`SchemeError`] names the first thing that is wrong.
    pub fn check(&self) -> Result<(), SchemeError> {
        if self.models.is_empty() {
            let why = "the scheme names no model: add [[model]] and below it file = \"figure.stl\"";
            return Err(SchemeError::new(why)).under("model");
        }
        each(&self.models, ModelEntry::check).under("model")?;
        self.scheme.check()
    }
}

//! The scheme file: a document as TOML text, and back.
//!
//! The file's own structures stand here and nowhere else; what they hold is
//! converted by hand, so that a change to a type of the program is a
//! compile error here and not a silent change of the format.

mod brush;
mod emphasis;
mod error;
mod lights;
mod models;
mod place;
mod primer;
mod reading;
mod schema;
mod shape;
mod stages;
mod surface;
mod syntax;
mod values;
mod writing;

pub use error::DocumentError;
pub use reading::read_document;
pub use schema::document_schema;
pub use writing::write_document;

use crate::colours::{MoodChoice, PaintChoice, PaletteEntry, RegionPaint, Route};
use crate::face::FaceChoice;
use crate::part_choice::PartChoice;
use crate::print::PrintChoice;
use crate::regions::RegionChoice;
use brush::BrushFile;
use emphasis::EmphasisFile;
use lights::LightFile;
use models::ModelFile;
use primer::PrimerFile;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use stages::StagesFile;
use surface::{BounceFile, FinenessFile, SurfaceFile};
use values::{BandsFile, ValuesFile};

/// The version of the format that is written.
pub const SCHEME_VERSION: u32 = 1;

/// A grisaille scheme: what was decided about painting a miniature. Lengths are in
/// mm (x to the right, y to the back, z up), angles in degrees, values in L*.
#[derive(Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "grisaille scheme")]
struct DocumentFile {
    /// The version of the format.
    #[schemars(range(min = 1, max = 1), example = 1)]
    version: u32,
    /// What sheets are headed with.
    #[serde(default)]
    title: String,
    #[serde(default)]
    surface: SurfaceFile,
    #[serde(default)]
    fineness: FinenessFile,
    #[serde(default)]
    bounce: BounceFile,
    #[serde(default)]
    values: ValuesFile,
    #[serde(default)]
    bands: BandsFile,
    #[serde(default)]
    brush: BrushFile,
    #[serde(default)]
    primer: PrimerFile,
    #[serde(default)]
    emphasis: EmphasisFile,
    /// What the window does not show; it is planned and printed all the same.
    #[serde(default, skip_serializing_if = "PartChoice::is_empty")]
    hidden: PartChoice,
    /// What is taken away before anything is planned, as if it were not in the
    /// model's file.
    #[serde(default, skip_serializing_if = "PartChoice::is_empty")]
    left_out: PartChoice,
    #[serde(default, skip_serializing_if = "RegionChoice::is_usual")]
    regions: RegionChoice,
    /// The way of working.
    #[serde(default, skip_serializing_if = "is_default")]
    route: Route,
    /// Whether several figures are painted at once: work is ordered by paint.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    squad: bool,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    mood: Option<MoodChoice>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    paints: Option<PaintChoice>,
    #[serde(default, skip_serializing_if = "is_default")]
    stages: StagesFile,
    /// What the guide prints.
    #[serde(default, skip_serializing_if = "is_default")]
    print: PrintChoice,
    /// The models of the scene.
    #[schemars(length(min = 1))]
    model: Vec<ModelFile>,
    /// The colours that the figure should have, in any order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    palette: Vec<PaletteEntry>,
    /// What is painted with what.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    region: Vec<RegionPaint>,
    /// Faces that get planes, blood and eyes.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    face: Vec<FaceChoice>,
    /// The lights.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    light: Option<Vec<LightFile>>,
}

fn is_default<T: Default + PartialEq>(x: &T) -> bool {
    *x == T::default()
}

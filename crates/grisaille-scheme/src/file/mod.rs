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
mod primer;
mod reading;
mod stages;
mod surface;
mod values;
mod writing;

pub use error::DocumentError;
pub use reading::read_document;
pub use writing::write_document;

use crate::colours::{MoodChoice, PaintChoice, PaletteEntry, RegionPaint, Route};
use crate::face::FaceChoice;
use crate::part_choice::PartChoice;
use crate::regions::RegionChoice;
use brush::BrushFile;
use emphasis::EmphasisFile;
use lights::LightFile;
use models::ModelFile;
use primer::PrimerFile;
use serde::{Deserialize, Serialize};
use stages::StagesFile;
use surface::{BounceFile, FinenessFile, SurfaceFile};
use values::{BandsFile, ValuesFile};

/// The version of the format that is written.
pub const SCHEME_VERSION: u32 = 1;

/// All of a scheme file.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct DocumentFile {
    version: u32,
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
    #[serde(default, skip_serializing_if = "PartChoice::is_empty")]
    hidden: PartChoice,
    #[serde(default, skip_serializing_if = "PartChoice::is_empty")]
    left_out: PartChoice,
    #[serde(default, skip_serializing_if = "RegionChoice::is_usual")]
    regions: RegionChoice,
    #[serde(default, skip_serializing_if = "is_default")]
    route: Route,
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    squad: bool,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    mood: Option<MoodChoice>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    paints: Option<PaintChoice>,
    #[serde(default, skip_serializing_if = "is_default")]
    stages: StagesFile,
    model: Vec<ModelFile>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    palette: Vec<PaletteEntry>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    region: Vec<RegionPaint>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    face: Vec<FaceChoice>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    light: Option<Vec<LightFile>>,
}

fn is_default<T: Default + PartialEq>(x: &T) -> bool {
    *x == T::default()
}

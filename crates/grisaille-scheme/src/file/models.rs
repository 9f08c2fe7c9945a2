//! `[[model]]`: where a model comes from, and what its file does not say.

use super::is_default;
use crate::document::{ModelEntry, ModelSource, PrintedBy, UnitChoice, UpChoice};
use crate::scheme_error::{SchemeError, Under};
use grisaille_base::Millimetres;
use schemars::{JsonSchema, Schema};
use serde::{Deserialize, Serialize};
use serde_json::json;

/// A model of the scene: a file, or the diver that is built in. Several make one
/// scene.
#[derive(Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "model", transform = either_file_or_built_in)]
pub(super) struct ModelFile {
    /// The model's file; a path that is not absolute begins at this file's folder.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(example = &"figure.stl", length(min = 1))]
    pub(super) file: Option<String>,
    /// A model that needs no file.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) built_in: Option<BuiltIn>,
    /// The axis of the model's file that points up.
    #[serde(default)]
    pub(super) up: UpFile,
    /// The unit of the model's file; not used where there is a height.
    #[serde(default)]
    pub(super) unit: UnitFile,
    /// The height of the printed model in mm, base included; scales it.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.001, max = 1e6), example = 54.0)]
    pub(super) height: Option<f64>,
    /// Tilted for printing: stood on the flat underside of its base, before scaling.
    #[serde(default, skip_serializing_if = "is_default")]
    pub(super) upright: bool,
    /// Degrees that it is turned about the upright axis through its middle,
    /// counterclockwise as seen from above.
    #[serde(default, skip_serializing_if = "is_default")]
    #[schemars(range(min = -360.0, max = 360.0))]
    pub(super) turn: f64,
    /// How far it is moved in mm, after scaling and turning.
    #[serde(default, skip_serializing_if = "is_default")]
    #[schemars(inner(range(min = -1e6, max = 1e6)))]
    pub(super) at: [f64; 3],
    /// How it was printed: its layers and the scars of its supports are not taken for form.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) printed: Option<PrintFile>,
    /// How thick the layers of the print are in mm; 0.05 of resin and 0.2 of filament if not given.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.005, max = 2.0), example = 0.05)]
    pub(super) layer_height: Option<f64>,
}

/// How a model was printed.
#[derive(Clone, Copy, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub(super) enum PrintFile {
    /// Cured from liquid resin.
    Resin,
    /// Laid down as molten filament.
    Filament,
}

/// A model names exactly one place that it comes from.
fn either_file_or_built_in(schema: &mut Schema) {
    schema.insert("oneOf".into(), json!([{ "required": ["file"] }, { "required": ["built_in"] }]));
}

/// What is built in.
#[derive(Clone, Copy, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub(super) enum BuiltIn {
    /// A hard-hat diver on the sea bed.
    Diver,
}

/// An axis that points up.
#[derive(Clone, Copy, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub(super) enum UpFile {
    /// +Z, the print convention.
    #[default]
    Z,
    /// +Y, as sculpting programs often write.
    Y,
}

/// A unit of length.
#[derive(Clone, Copy, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub(super) enum UnitFile {
    /// Millimetres.
    #[default]
    Mm,
    /// Inches.
    Inch,
    /// Metres.
    M,
}

pub(super) fn model_file(model: &ModelEntry) -> ModelFile {
    let ModelEntry { source, up, unit, height, upright, turn, at, printed, layer_height } = model;
    let (file, built_in) = match source {
        // A scheme is carried between systems: all of them read '/'.
        ModelSource::File(path) => (Some(path.to_string_lossy().replace('\\', "/")), None),
        ModelSource::Diver => (None, Some(BuiltIn::Diver)),
    };
    ModelFile {
        file,
        built_in,
        up: match up {
            UpChoice::Z => UpFile::Z,
            UpChoice::Y => UpFile::Y,
        },
        unit: match unit {
            UnitChoice::Mm => UnitFile::Mm,
            UnitChoice::Inch => UnitFile::Inch,
            UnitChoice::M => UnitFile::M,
        },
        height: height.map(|h| h.0),
        upright: *upright,
        turn: *turn,
        at: *at,
        printed: printed.map(|p| match p {
            PrintedBy::Resin => PrintFile::Resin,
            PrintedBy::Filament => PrintFile::Filament,
        }),
        layer_height: layer_height.map(|h| h.0),
    }
}

pub(super) fn model_of(file: ModelFile) -> Result<ModelEntry, SchemeError> {
    let source = match (file.file, file.built_in) {
        (Some(path), None) => ModelSource::File(path.replace('\\', "/").into()),
        (None, Some(BuiltIn::Diver)) => ModelSource::Diver,
        (given, _) => {
            let why = "each [[model]] has either file = \"figure.stl\" or built_in = \"diver\"";
            return match given {
                Some(_) => Err(SchemeError::new(format!("{why}: keep one of them"))).under("built_in"),
                None => Err(SchemeError::new(format!("{why}: add one of them"))),
            };
        }
    };
    Ok(ModelEntry {
        source,
        up: match file.up {
            UpFile::Z => UpChoice::Z,
            UpFile::Y => UpChoice::Y,
        },
        unit: match file.unit {
            UnitFile::Mm => UnitChoice::Mm,
            UnitFile::Inch => UnitChoice::Inch,
            UnitFile::M => UnitChoice::M,
        },
        height: file.height.map(Millimetres),
        upright: file.upright,
        turn: file.turn,
        at: file.at,
        printed: file.printed.map(|p| match p {
            PrintFile::Resin => PrintedBy::Resin,
            PrintFile::Filament => PrintedBy::Filament,
        }),
        layer_height: file.layer_height.map(Millimetres),
    })
}

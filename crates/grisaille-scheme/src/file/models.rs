//! `[[model]]`: where a model comes from, and what its file does not say.

use super::DocumentError;
use super::error::sense;
use crate::document::{ModelEntry, ModelSource, UnitChoice, UpChoice};
use grisaille_base::Millimetres;
use serde::{Deserialize, Serialize};

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ModelFile {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) file: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) built_in: Option<BuiltIn>,
    #[serde(default)]
    pub(super) up: UpFile,
    #[serde(default)]
    pub(super) unit: UnitFile,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) height: Option<f64>,
}

#[derive(Clone, Copy, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(super) enum BuiltIn {
    Diver,
}

#[derive(Clone, Copy, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(super) enum UpFile {
    #[default]
    Z,
    Y,
}

#[derive(Clone, Copy, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(super) enum UnitFile {
    #[default]
    Mm,
    Inch,
    M,
}

pub(super) fn model_file(model: &ModelEntry) -> ModelFile {
    let ModelEntry { source, up, unit, height } = model;
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
    }
}

pub(super) fn model_of(file: ModelFile) -> Result<ModelEntry, DocumentError> {
    let source = match (file.file, file.built_in) {
        (Some(path), None) => ModelSource::File(path.into()),
        (None, Some(BuiltIn::Diver)) => ModelSource::Diver,
        _ => {
            let why = "each [[model]] needs either file = \"figure.stl\" or built_in = \"diver\"";
            return Err(sense(why.into()));
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
    })
}

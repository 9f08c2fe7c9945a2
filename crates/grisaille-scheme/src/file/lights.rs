//! `[[light]]`: one table for all kinds of light; a key that does not belong to
//! a light's kind is an error.

use super::DocumentError;
use super::error::sense;
use crate::lights::{FalloffChoice, LightChoice, LightEntry, SkyChoice};
use grisaille_base::{LightId, Millimetres};
use serde::{Deserialize, Serialize};

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct LightFile {
    pub(super) id: u32,
    pub(super) name: String,
    pub(super) kind: KindFile,
    pub(super) weight: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) colour: Option<[u8; 3]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) tilt: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) azimuth: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) sky: Option<SkyChoice>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) at: Option<[f64; 3]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) reference: Option<f64>,
    /// Degrees for the zenithal light, mm for a lamp.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) radius: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) clear: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) falloff: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) reach: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) softness: Option<f64>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub(super) through: Vec<[f64; 3]>,
}

#[derive(Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(super) enum KindFile {
    Zenithal,
    Ring,
    Ambient,
    Lamp,
}

pub(super) fn light_file(light: &LightEntry) -> LightFile {
    let LightEntry { id, name, weight, colour, through, choice } = light;
    let mut file = LightFile {
        id: id.0,
        name: name.clone(),
        kind: KindFile::Ring,
        weight: *weight,
        colour: (*colour != LightEntry::WHITE).then_some(*colour),
        tilt: None,
        azimuth: None,
        sky: None,
        at: None,
        reference: None,
        radius: None,
        clear: None,
        falloff: None,
        reach: None,
        softness: None,
        through: through.clone(),
    };
    match *choice {
        LightChoice::Zenithal { tilt, azimuth, radius } => {
            file.kind = KindFile::Zenithal;
            (file.tilt, file.azimuth, file.radius) = (Some(tilt), Some(azimuth), Some(radius));
        }
        LightChoice::Ring => {}
        LightChoice::Ambient { sky } => {
            file.kind = KindFile::Ambient;
            file.sky = Some(sky);
        }
        LightChoice::Lamp { at, reference, radius, clear, falloff } => {
            let FalloffChoice { exponent, reach, softness } = falloff;
            file.kind = KindFile::Lamp;
            file.at = Some(at);
            file.reference = reference.map(|r| r.0);
            (file.radius, file.clear) = (Some(radius.0), Some(clear.0));
            (file.falloff, file.reach, file.softness) = (Some(exponent), reach.map(|r| r.0), Some(softness));
        }
    }
    file
}

pub(super) fn light_of(file: LightFile) -> Result<LightEntry, DocumentError> {
    let stray = |given: &[(&str, bool)]| match given.iter().find(|(_, is_given)| *is_given) {
        Some((key, _)) => Err(sense(format!("light '{}': '{key}' does not belong to its kind", file.name))),
        None => Ok(()),
    };
    let lamp_only = [
        ("at", file.at.is_some()),
        ("reference", file.reference.is_some()),
        ("clear", file.clear.is_some()),
        ("falloff", file.falloff.is_some()),
        ("reach", file.reach.is_some()),
        ("softness", file.softness.is_some()),
    ];
    let zenithal_only = [("tilt", file.tilt.is_some()), ("azimuth", file.azimuth.is_some())];
    if file.kind != KindFile::Lamp {
        stray(&lamp_only)?;
    }
    if file.kind != KindFile::Zenithal {
        stray(&zenithal_only)?;
    }
    if file.kind != KindFile::Ambient {
        stray(&[("sky", file.sky.is_some())])?;
    }
    let choice = match file.kind {
        KindFile::Zenithal => LightChoice::Zenithal {
            tilt: file.tilt.unwrap_or(0.0),
            azimuth: file.azimuth.unwrap_or(0.0),
            radius: file.radius.unwrap_or(0.0),
        },
        KindFile::Ring => {
            stray(&[("radius", file.radius.is_some())])?;
            LightChoice::Ring
        }
        KindFile::Ambient => {
            stray(&[("radius", file.radius.is_some())])?;
            LightChoice::Ambient { sky: file.sky.unwrap_or_default() }
        }
        KindFile::Lamp => {
            let usual = FalloffChoice::default();
            LightChoice::Lamp {
                at: file
                    .at
                    .ok_or_else(|| sense(format!("lamp '{}' has no place: add at = [x, y, z]", file.name)))?,
                reference: file.reference.map(Millimetres),
                radius: Millimetres(file.radius.unwrap_or(0.0)),
                clear: Millimetres(file.clear.unwrap_or(0.0)),
                falloff: FalloffChoice {
                    exponent: file.falloff.unwrap_or(usual.exponent),
                    reach: file.reach.map(Millimetres),
                    softness: file.softness.unwrap_or(usual.softness),
                },
            }
        }
    };
    Ok(LightEntry {
        id: LightId(file.id),
        name: file.name,
        weight: file.weight,
        colour: file.colour.unwrap_or(LightEntry::WHITE),
        through: file.through,
        choice,
    })
}

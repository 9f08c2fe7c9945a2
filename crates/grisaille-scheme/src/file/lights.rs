//! `[[light]]`: one table for all kinds of light; a key that does not belong to
//! a light's kind is an error.

use crate::lights::{FalloffChoice, LightChoice, LightEntry, SkyChoice};
use crate::scheme_error::{SchemeError, Under};
use crate::words::listed;
use grisaille_base::{LightId, Millimetres};
use schemars::{JsonSchema, Schema};
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value, json};

/// A light. Where there is none at all, the default rig stands: a zenithal light,
/// a ring and ambient light.
#[derive(Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "light", transform = keys_of_kinds)]
pub(super) struct LightFile {
    /// A number of its own that names the light for as long as it exists.
    #[schemars(range(max = 4294967295_u32), example = 0)]
    pub(super) id: u32,
    /// A name of its own: ASCII letters, digits, `-` and `_`.
    #[schemars(regex(pattern = "^[A-Za-z0-9_-]{1,40}$"), example = &"hand-lamp")]
    pub(super) name: String,
    /// What it is.
    #[schemars(example = &"lamp")]
    pub(super) kind: KindFile,
    /// How much it counts in the sum of light.
    #[schemars(range(min = 0.0, max = 1000.0), example = 0.8)]
    pub(super) weight: f64,
    /// Its colour: red, green and blue. It tints what is shown, not how much
    /// light arrives; white if not given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) colour: Option<[u8; 3]>,
    /// Of a zenithal light: degrees from straight above; 0 if not given.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0, max = 180.0))]
    pub(super) tilt: Option<f64>,
    /// Of a zenithal light: degrees round the figure, from the front toward the
    /// viewer's right; 0 if not given.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = -360.0, max = 360.0))]
    pub(super) azimuth: Option<f64>,
    /// Of ambient light: how bright the sky is where.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) sky: Option<SkyChoice>,
    /// Of a lamp: its place in mm.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(inner(range(min = -1e6, max = 1e6)))]
    pub(super) at: Option<[f64; 3]>,
    /// Of a lamp: the distance in mm at which it lights a surface that faces it
    /// fully; a fifth of the model's height if not given.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.001, max = 1e6))]
    pub(super) reference: Option<f64>,
    /// Of a zenithal light: its radius in degrees, up to 90; 0 gives sharp
    /// shadows. Of a lamp: the radius of its glass in mm. 0 if not given.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0, max = 1e6))]
    pub(super) radius: Option<f64>,
    /// Of a lamp: nothing nearer to it than so many mm blocks its light; 0 if not
    /// given.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0, max = 1e6))]
    pub(super) clear: Option<f64>,
    /// Of a lamp: how fast its light falls with distance; 2 as in nature if not
    /// given.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0, max = 6.0))]
    pub(super) falloff: Option<f64>,
    /// Of a lamp: where its light ends, in mm; never if not given.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.001, max = 1e6))]
    pub(super) reach: Option<f64>,
    /// Of a lamp: the share of its reach over which it fades; 1 if not given.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.05, max = 1.0))]
    pub(super) softness: Option<f64>,
    /// A point in mm on each piece that lets this light through.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schemars(inner(inner(range(min = -1e6, max = 1e6))))]
    pub(super) through: Vec<[f64; 3]>,
}

/// Keys that only some kinds of light have, and those kinds.
const KEYS_OF_KINDS: [(&str, &[&str]); 10] = [
    ("tilt", &["zenithal"]),
    ("azimuth", &["zenithal"]),
    ("radius", &["zenithal", "lamp"]),
    ("sky", &["ambient"]),
    ("at", &["lamp"]),
    ("reference", &["lamp"]),
    ("clear", &["lamp"]),
    ("falloff", &["lamp"]),
    ("reach", &["lamp"]),
    ("softness", &["lamp"]),
];

/// Says in the schema which keys a kind has, needs and lacks.
fn keys_of_kinds(schema: &mut Schema) {
    let rules = ["zenithal", "ring", "ambient", "lamp"].map(|kind| {
        let stray = KEYS_OF_KINDS.iter().filter(|(_, kinds)| !kinds.contains(&kind));
        let mut keys: Map<String, Value> = stray.map(|(key, _)| ((*key).to_owned(), json!(false))).collect();
        if kind == "zenithal" {
            keys.insert("radius".into(), json!({ "maximum": 90.0 }));
        }
        let mut then = json!({ "properties": keys });
        if kind == "lamp" {
            then["required"] = json!(["at"]);
        }
        json!({ "if": { "properties": { "kind": { "const": kind } }, "required": ["kind"] }, "then": then })
    });
    schema.insert("allOf".into(), json!(rules));
}

/// A kind of light.
#[derive(Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub(super) enum KindFile {
    /// Distant light or spray from above.
    Zenithal,
    /// From all round at 45°.
    Ring,
    /// Dim light from everywhere above.
    Ambient,
    /// A light that is part of the scene (OSL).
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

pub(super) fn light_of(file: LightFile) -> Result<LightEntry, SchemeError> {
    let given = |key: &str| match key {
        "tilt" => file.tilt.is_some(),
        "azimuth" => file.azimuth.is_some(),
        "radius" => file.radius.is_some(),
        "sky" => file.sky.is_some(),
        "at" => file.at.is_some(),
        "reference" => file.reference.is_some(),
        "clear" => file.clear.is_some(),
        "falloff" => file.falloff.is_some(),
        "reach" => file.reach.is_some(),
        _ => file.softness.is_some(),
    };
    let kind = match file.kind {
        KindFile::Zenithal => "zenithal",
        KindFile::Ring => "ring",
        KindFile::Ambient => "ambient",
        KindFile::Lamp => "lamp",
    };
    if let Some((key, kinds)) = KEYS_OF_KINDS.iter().find(|(key, kinds)| given(key) && !kinds.contains(&kind))
    {
        let why = format!(
            "light '{}' is of the kind {kind} and has no {key}: leave it out; only kind {} has it",
            file.name,
            listed(kinds, "and")
        );
        return Err(SchemeError::new(why)).under(*key);
    }
    let choice = match file.kind {
        KindFile::Zenithal => LightChoice::Zenithal {
            tilt: file.tilt.unwrap_or(0.0),
            azimuth: file.azimuth.unwrap_or(0.0),
            radius: file.radius.unwrap_or(0.0),
        },
        KindFile::Ring => LightChoice::Ring,
        KindFile::Ambient => LightChoice::Ambient { sky: file.sky.unwrap_or_default() },
        KindFile::Lamp => {
            let usual = FalloffChoice::default();
            LightChoice::Lamp {
                at: file.at.ok_or_else(|| {
                    SchemeError::new(format!("lamp '{}' has no place: add at = [x, y, z]", file.name))
                })?,
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

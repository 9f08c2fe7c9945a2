//! The lights that the painter has chosen.

use crate::scheme_error::{SchemeError, Under, each, in_range};
use grisaille_base::{LightId, Millimetres};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// One light of the scheme.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LightEntry {
    /// Names the light for as long as it exists.
    pub id: LightId,
    /// A unique token of ASCII letters, digits, `-` and `_`.
    pub name: String,
    /// How much it counts in the sum of light, 0 or more.
    pub weight: f64,
    /// Its colour as 8-bit sRGB. It tints what is shown, not how much light
    /// arrives; white unless set.
    #[serde(default = "white")]
    pub colour: [u8; 3],
    /// A point, in scene millimetres, on each piece that lets this light through.
    #[serde(default)]
    pub through: Vec<[f64; 3]>,
    /// What it is.
    pub choice: LightChoice,
}

fn white() -> [u8; 3] {
    LightEntry::WHITE
}

impl LightEntry {
    /// The colour of a light for which none is chosen.
    pub const WHITE: [u8; 3] = [255; 3];

    /// A white light that everything blocks.
    #[must_use]
    pub fn new(id: LightId, name: &str, weight: f64, choice: LightChoice) -> Self {
        Self { id, name: name.to_owned(), weight, colour: Self::WHITE, through: Vec::new(), choice }
    }
}

impl LightEntry {
    /// Whether its name is a token that none of the lights `before` it has, and
    /// its numbers lie in their ranges.
    pub(crate) fn check(&self, before: &[Self]) -> Result<(), SchemeError> {
        let name = &self.name;
        let token = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
        if name.is_empty() || name.len() > 40 || !name.chars().all(token) {
            let why = format!("light name '{name}': use 1 to 40 ASCII letters, digits, '-' and '_'");
            return Err(SchemeError::new(why)).under("name");
        }
        if before.iter().any(|l| l.name == *name) {
            let why = format!("two lights are called '{name}': give each its own name");
            return Err(SchemeError::new(why)).under("name");
        }
        if let Some(other) = before.iter().find(|l| l.id == self.id) {
            let why = format!(
                "the lights '{}' and '{name}' have the same id, {}: give each its own number",
                other.name, self.id.0
            );
            return Err(SchemeError::new(why)).under("id");
        }
        in_range(&format!("the weight of light '{name}'"), self.weight, 0.0, 1000.0).under("weight")?;
        let point = format!("a point that '{name}' shines through, in mm,");
        each(&self.through, |at| each(at, |x| in_range(&point, *x, -1e6, 1e6))).under("through")?;
        self.choice.check(name)
    }
}

impl LightChoice {
    fn check(&self, name: &str) -> Result<(), SchemeError> {
        match self {
            Self::Zenithal { tilt, azimuth, radius } => {
                in_range(&format!("the tilt of '{name}' in degrees"), *tilt, 0.0, 180.0).under("tilt")?;
                in_range(&format!("the azimuth of '{name}' in degrees"), *azimuth, -360.0, 360.0)
                    .under("azimuth")?;
                in_range(&format!("the radius of '{name}' in degrees"), *radius, 0.0, 90.0).under("radius")
            }
            Self::Ring | Self::Ambient { .. } => Ok(()),
            Self::Lamp { at, reference, radius, clear, falloff } => {
                let of = |what: &str| format!("the {what} of '{name}' in mm");
                each(at, |x| in_range(&of("place"), *x, -1e6, 1e6)).under("at")?;
                if let Some(reference) = reference {
                    in_range(&of("full-light distance"), reference.0, 1e-3, 1e6).under("reference")?;
                }
                in_range(&of("radius"), radius.0, 0.0, 1e6).under("radius")?;
                in_range(&of("clear radius"), clear.0, 0.0, 1e6).under("clear")?;
                in_range(&format!("the falloff of '{name}'"), falloff.exponent, 0.0, 6.0).under("falloff")?;
                if let Some(reach) = falloff.reach {
                    in_range(&of("reach"), reach.0, 1e-3, 1e6).under("reach")?;
                }
                in_range(&format!("the softness of '{name}'"), falloff.softness, 0.05, 1.0).under("softness")
            }
        }
    }
}

/// The kinds of light a painter chooses from.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LightChoice {
    /// Distant light or spray from above.
    Zenithal {
        /// Degrees from straight above, 0 to 180.
        tilt: f64,
        /// Degrees round the figure from the front toward the viewer's right.
        azimuth: f64,
        /// Angular radius in degrees, 0 to 90; 0 gives sharp shadows.
        radius: f64,
    },
    /// From all round at 45°.
    Ring,
    /// Dim light from everywhere above.
    Ambient {
        /// How bright the sky is where.
        #[serde(default)]
        sky: SkyChoice,
    },
    /// A light that is part of the scene (OSL).
    Lamp {
        /// Its centre in scene millimetres.
        at: [f64; 3],
        /// The distance at which it lights a surface facing it fully; a fifth
        /// of the model's height if not given.
        reference: Option<Millimetres>,
        /// The radius of its glass; 0 for a point with sharp shadows.
        radius: Millimetres,
        /// Nothing nearer to its centre than this blocks it, so that a lamp
        /// shines through its own glass and cage; 0 if all blocks it.
        #[serde(default)]
        clear: Millimetres,
        /// How its light falls with distance; as in nature if not given.
        #[serde(default)]
        falloff: FalloffChoice,
    },
}

/// How a lamp's light falls with distance. The default is physics.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct FalloffChoice {
    /// 2 is physical; less carries farther, more dies sooner; 0 to 6.
    pub exponent: f64,
    /// Where the light ends; never if not given.
    pub reach: Option<Millimetres>,
    /// The share of the reach over which it fades to its end, 0.05 to 1.
    pub softness: f64,
}

impl Default for FalloffChoice {
    fn default() -> Self {
        Self { exponent: 2.0, reach: None, softness: 1.0 }
    }
}

/// How bright the sky of the ambient light is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[schemars(rename = "sky")]
pub enum SkyChoice {
    /// The same everywhere.
    #[default]
    Uniform,
    /// Three times as bright overhead as at the horizon: a cloudy day.
    Overcast,
}

/// The default rig: zenithal 0.5, ring 0.3, ambient 0.2. Straight-down light
/// alone leaves more than half of a figure black, so it is never all of it.
#[must_use]
pub fn default_rig() -> Vec<LightEntry> {
    let entry = |id, name: &str, weight, choice| LightEntry::new(LightId(id), name, weight, choice);
    vec![
        entry(0, "zenithal", 0.5, LightChoice::Zenithal { tilt: 0.0, azimuth: 0.0, radius: 0.0 }),
        entry(1, "ring", 0.3, LightChoice::Ring),
        entry(2, "ambient", 0.2, LightChoice::Ambient { sky: SkyChoice::Uniform }),
    ]
}

//! The lights that the painter has chosen.

use grisaille_base::{LightId, Millimetres};
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
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
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

//! Choices about primer: whether to plan it, and in which tones.

use serde::{Deserialize, Serialize};

/// The primer plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct PrimerChoice {
    /// Whether what is being made shows it: it takes a few seconds. Asked anew
    /// each time, not part of what the painter decided or of a scheme's file.
    #[serde(skip)]
    pub wanted: bool,
    /// The tones to show it in, `None` for no primer plan at all. Their values
    /// are the plan's; the colours are these.
    pub tones: Option<PrimerTones>,
}

impl Default for PrimerChoice {
    fn default() -> Self {
        Self { wanted: false, tones: Some(PrimerTones::Grey) }
    }
}

/// A set of three primer tones, dark, mid and light, by their colours.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PrimerTones {
    /// Dark grey, mid grey, near-white: says value and nothing else.
    #[default]
    Grey,
    /// Dark brown, tan, bone.
    Warm,
    /// Navy, blue-grey, pale ice.
    Cold,
    /// Plum shadows under dusty rose and cream.
    ColouredShadow,
}

impl PrimerTones {
    /// All sets.
    pub const ALL: [Self; 4] = [Self::Grey, Self::Warm, Self::Cold, Self::ColouredShadow];
}

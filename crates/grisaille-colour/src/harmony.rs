//! Harmonies: a palette from one colour, by turning its hue in Oklch.

use crate::{Lab, Oklch};

/// How the other colours of a palette are found from the first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Harmony {
    /// The same hue, darker, lighter and greyer.
    OneHue,
    /// The hues beside it, 30° either way.
    Neighbours,
    /// The hue across, as an accent.
    Opposite,
    /// The two beside the hue across, 30° either way.
    BesideOpposite,
    /// Three hues, 120° apart.
    Triad,
    /// Four hues, 90° apart.
    Square,
}

/// One colour of a harmony.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HarmonyColour {
    /// The colour.
    pub colour: Lab,
    /// The share of the surface that it is meant for, 0 to 1; all sum to 1.
    pub share: f64,
}

impl Harmony {
    /// All harmonies, in the order they are offered.
    pub const ALL: [Self; 6] =
        [Self::OneHue, Self::Neighbours, Self::Opposite, Self::BesideOpposite, Self::Triad, Self::Square];

    /// The word for it.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::OneHue => "one hue",
            Self::Neighbours => "neighbours",
            Self::Opposite => "opposite",
            Self::BesideOpposite => "beside opposite",
            Self::Triad => "triad",
            Self::Square => "square",
        }
    }

    /// By how many degrees hue is turned, by how much lightness is moved and by what
    /// chroma is multiplied, and the share, for each colour.
    fn turns(self) -> &'static [(f64, f64, f64, f64)] {
        // Shares after the rule of thumb 60 : 30 : 10 (common practice): much of one, some
        // of another, little of the one that is to be seen first.
        match self {
            Self::OneHue => &[(0.0, 0.0, 1.0, 0.6), (0.0, -0.2, 0.8, 0.3), (0.0, 0.22, 0.6, 0.1)],
            Self::Neighbours => &[(0.0, 0.0, 1.0, 0.6), (30.0, 0.1, 0.8, 0.3), (-30.0, -0.12, 1.1, 0.1)],
            Self::Opposite => &[(0.0, 0.0, 1.0, 0.6), (0.0, -0.2, 0.6, 0.3), (180.0, 0.05, 1.2, 0.1)],
            Self::BesideOpposite => &[
                (0.0, 0.0, 1.0, 0.6),
                (0.0, -0.2, 0.6, 0.25),
                (150.0, 0.05, 1.1, 0.1),
                (210.0, 0.1, 1.1, 0.05),
            ],
            Self::Triad => &[(0.0, 0.0, 1.0, 0.6), (120.0, -0.1, 0.7, 0.3), (240.0, 0.08, 1.1, 0.1)],
            Self::Square => &[
                (0.0, 0.0, 1.0, 0.55),
                (90.0, -0.1, 0.7, 0.25),
                (180.0, 0.06, 1.1, 0.12),
                (270.0, 0.0, 0.9, 0.08),
            ],
        }
    }

    /// The palette from a first colour, which has the largest share and comes first.
    /// A colour that sRGB does not show is made less vivid. From a grey come greys.
    #[must_use]
    pub fn from_colour(self, first: Lab) -> Vec<HarmonyColour> {
        let first = first.within_srgb();
        let Oklch { l, chroma, hue } = first.into();
        let each = self.turns().iter().enumerate();
        each.map(|(i, &(turn, lift, vivid, share))| {
            let turned = Oklch {
                l: (l + lift).clamp(0.08, 0.97),
                chroma: chroma * vivid,
                hue: (hue + turn).rem_euclid(360.0),
            };
            let colour = if i == 0 { first } else { Lab::from(turned).within_srgb_by_hue() };
            HarmonyColour { colour, share }
        })
        .collect()
    }
}

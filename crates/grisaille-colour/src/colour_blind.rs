//! What a colour looks like to eyes that lack a kind of cone.

use crate::Lab;

/// Eyes that lack one of three kinds of cones.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ColourBlind {
    /// No long-wave cones: reds are dark and look like greens.
    Protan,
    /// No middle-wave cones: greens look like reds. The most frequent, with its weak forms.
    Deutan,
    /// No short-wave cones: blues look like greens. Rare.
    Tritan,
}

impl ColourBlind {
    /// All three.
    pub const ALL: [Self; 3] = [Self::Protan, Self::Deutan, Self::Tritan];

    /// In words.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Protan => "without red cones",
            Self::Deutan => "without green cones",
            Self::Tritan => "without blue cones",
        }
    }

    /// A colour as these eyes see it, told to full eyes.
    ///
    /// Source: G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, "A Physiologically-based
    /// Model for Simulation of Color Vision Deficiency", IEEE Transactions on Visualization
    /// and Computer Graphics 15(6), 2009, the matrices at full severity, on linear sRGB.
    #[must_use]
    pub fn sees(self, colour: Lab) -> Lab {
        let rows = match self {
            Self::Protan => [
                [0.152_286, 1.052_583, -0.204_868],
                [0.114_503, 0.786_281, 0.099_216],
                [-0.003_882, -0.048_116, 1.051_998],
            ],
            Self::Deutan => [
                [0.367_322, 0.860_646, -0.227_968],
                [0.280_085, 0.672_501, 0.047_413],
                [-0.011_820, 0.042_940, 0.968_881],
            ],
            Self::Tritan => [
                [1.255_528, -0.076_749, -0.178_779],
                [-0.078_411, 0.930_809, 0.147_602],
                [0.004_733, 0.691_367, 0.303_900],
            ],
        };
        let rgb = colour.to_linear();
        let seen = rows.map(|row: [f64; 3]| (0..3).map(|k| row[k] * rgb[k]).sum::<f64>().clamp(0.0, 1.0));
        Lab::from_linear(seen)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{colour_from_text, difference};

    #[test]
    fn red_and_green_meet_and_greys_stay() {
        let grey = Lab::new(50.0, 0.0, 0.0);
        let (red, green) = (colour_from_text("#9a4a22").unwrap(), colour_from_text("#6b5f12").unwrap());
        for eyes in ColourBlind::ALL {
            assert!(difference(eyes.sees(grey), grey) < 0.1, "{eyes:?}");
        }
        let deutan = ColourBlind::Deutan;
        assert!(difference(deutan.sees(red), deutan.sees(green)) < 0.5 * difference(red, green));
    }
}

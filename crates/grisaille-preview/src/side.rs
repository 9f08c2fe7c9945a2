//! The sides to look from: those of the guide.

use grisaille_picture::View;

/// A named view.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// From the front.
    Front,
    /// From the back.
    Back,
    /// From the viewer's left.
    Left,
    /// From the viewer's right.
    Right,
    /// From straight above.
    Above,
    /// Between front and side, from a little above.
    ThreeQuarter,
}

impl Side {
    /// All of them, in the order of their keys 1 to 6.
    pub const ALL: [Self; 6] =
        [Self::Front, Self::ThreeQuarter, Self::Left, Self::Right, Self::Back, Self::Above];

    /// The guide's view from this side.
    #[must_use]
    pub fn view(self) -> View {
        match self {
            Self::Front => View::front(),
            Self::Back => View::back(),
            Self::Left => View::left_side(),
            Self::Right => View::right_side(),
            Self::Above => View::above(),
            Self::ThreeQuarter => View::three_quarter(),
        }
    }

    /// Azimuth and elevation of [`Side::view`] in degrees.
    #[must_use]
    pub fn angles(self) -> (f64, f64) {
        match self {
            Self::Front => (0.0, 0.0),
            Self::Back => (180.0, 0.0),
            Self::Left => (-90.0, 0.0),
            Self::Right => (90.0, 0.0),
            Self::Above => (0.0, 90.0),
            Self::ThreeQuarter => (-35.0, 20.0),
        }
    }

    /// Its name on a button.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Front => "Front",
            Self::Back => "Back",
            Self::Left => "Left",
            Self::Right => "Right",
            Self::Above => "Above",
            Self::ThreeQuarter => "Three-quarter",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn angles_are_those_of_the_guides_view() {
        for side in Side::ALL {
            let (azimuth, elevation) = side.angles();
            let view = View::from_angles(azimuth, elevation);
            assert!((view.toward() - side.view().toward()).norm() < 1e-12, "{side:?}");
            assert!((view.right() - side.view().right()).norm() < 1e-12, "{side:?}");
        }
    }
}

//! The painter's order of work, and what a click does meanwhile.

use grisaille_base::LightId;
use grisaille_scheme::RegionSpot;

/// The painter's order of work.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    /// What it is, how large, which way up.
    Figure,
    /// What is painted as one.
    Regions,
    /// Where the light comes from.
    Light,
    /// What becomes light and dark.
    Values,
    /// What is painted with what.
    Colours,
    /// What goes to the bench.
    Sheets,
}

impl Step {
    /// All of them, in order.
    pub const ALL: [Self; 6] =
        [Self::Figure, Self::Regions, Self::Light, Self::Values, Self::Colours, Self::Sheets];

    /// Its name.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Figure => "Figure",
            Self::Regions => "Regions",
            Self::Light => "Light",
            Self::Values => "Values",
            Self::Colours => "Colours",
            Self::Sheets => "Sheets",
        }
    }

    /// What it is for, as a tooltip.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Figure => "Open your print, set its size and which way is up",
            Self::Regions => "Say what is painted as one: helmet, suit, boots",
            Self::Light => "Place the daylight and the lamps",
            Self::Values => "See what becomes light and dark, and how many tones to mix",
            Self::Colours => "Give each region its colour, and see what to mix from your paints",
            Self::Sheets => "Print the sheets and take them to the bench",
        }
    }
}

/// What a click on the figure does.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Tool {
    /// Turns it.
    Turn,
    /// Places a lamp.
    PlaceLamp,
    /// Names a piece that lets a light through, or takes it back.
    Through(LightId),
    /// Points at the sole, then at the eye.
    Sole,
    /// Points at the eye; the sole's height is known.
    Eye(f64),
    /// Hides a piece.
    Hide,
    /// Leaves a piece out of the plan.
    LeaveOut,
    /// Joins the regions under a stroke.
    Join,
    /// Lets a region grow from a stroke.
    Grow,
    /// Divides a region between two spots; the first, once it is known.
    Split(Option<RegionSpot>),
    /// Sets the eyes of a marked face, by its place.
    FaceEye(usize),
    /// Draws the eye to a spot.
    Focus,
    /// Keeps a spot as fine as the light falls.
    Keep,
    /// Marks a face by the tip of its nose.
    Face,
}

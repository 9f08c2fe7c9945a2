//! Moods: plain words for what a scheme should feel like, each a shift in hue, chroma
//! and lightness that is applied to every colour alike.

use crate::{Lab, Oklch};

/// A mood. Shifts are in Oklch, at full strength.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mood {
    /// Its word.
    pub name: &'static str,
    /// The hue in degrees that all others turn to, the shorter way.
    pub toward: f64,
    /// By how many degrees at the most.
    pub turn: f64,
    /// How much of that hue is laid over every colour, greys too: chroma.
    pub tint: f64,
    /// What chroma is multiplied by.
    pub chroma: f64,
    /// What is added to lightness (0 to 1).
    pub lift: f64,
    /// What the distance of lightness from a mid tone is multiplied by.
    pub contrast: f64,
    /// Why it does what it does, in a sentence.
    pub reason: &'static str,
}

/// The lightness that contrast turns about: a mid grey in Oklab (L* 50).
const MIDDLE: f64 = 0.57;

/// All moods, in the order they are offered. What they do is our own choice, after
/// what light, water and age do and what painters commonly say of colour.
pub const MOODS: [Mood; 9] = [
    Mood {
        name: "calm",
        toward: 225.0,
        turn: 12.0,
        tint: 0.008,
        chroma: 0.75,
        lift: 0.03,
        contrast: 0.85,
        reason: "hues draw together and steps grow soft, so that nothing startles the eye",
    },
    Mood {
        name: "cold",
        toward: 240.0,
        turn: 25.0,
        tint: 0.02,
        chroma: 0.85,
        lift: -0.02,
        contrast: 1.0,
        reason: "water takes red away first: a few metres down, what is left is blue",
    },
    Mood {
        name: "gloomy",
        toward: 265.0,
        turn: 15.0,
        tint: 0.012,
        chroma: 0.6,
        lift: -0.09,
        contrast: 0.9,
        reason: "in dim light eyes see little colour, and blue the longest",
    },
    Mood {
        name: "menacing",
        toward: 20.0,
        turn: 12.0,
        tint: 0.006,
        chroma: 1.1,
        lift: -0.06,
        contrast: 1.25,
        reason: "deep darks beside hard lights hide things, and red is the colour of harm",
    },
    Mood {
        name: "sickly",
        toward: 118.0,
        turn: 25.0,
        tint: 0.018,
        chroma: 0.85,
        lift: -0.01,
        contrast: 0.95,
        reason: "yellow-green over skin reads as illness, over cloth as rot",
    },
    Mood {
        name: "evening",
        toward: 60.0,
        turn: 20.0,
        tint: 0.02,
        chroma: 1.08,
        lift: -0.02,
        contrast: 1.05,
        reason: "a low sun has lost its blue on the way and turns all it meets to orange",
    },
    Mood {
        name: "lively",
        toward: 90.0,
        turn: 0.0,
        tint: 0.0,
        chroma: 1.3,
        lift: 0.02,
        contrast: 1.1,
        reason: "vivid colours and clear steps ask to be looked at",
    },
    Mood {
        name: "faded",
        toward: 90.0,
        turn: 10.0,
        tint: 0.012,
        chroma: 0.5,
        lift: 0.06,
        contrast: 0.75,
        reason: "sun and salt bleach colour, and old varnish yellows what is left",
    },
    Mood {
        name: "dreamlike",
        toward: 305.0,
        turn: 18.0,
        tint: 0.015,
        chroma: 0.9,
        lift: 0.05,
        contrast: 0.8,
        reason: "violet is rare in daylight, and pale even tones have no weight",
    },
];

impl Mood {
    /// The mood of a word.
    #[must_use]
    pub fn named(word: &str) -> Option<&'static Self> {
        MOODS.iter().find(|m| m.name.eq_ignore_ascii_case(word.trim()))
    }

    /// A colour in this mood. Strength runs from 0, which changes nothing, to 1; each
    /// shift goes with it in proportion. A colour that sRGB does not show is made
    /// less vivid.
    #[must_use]
    pub fn applied(&self, colour: Lab, strength: f64) -> Lab {
        let s = if strength > 0.0 { strength.min(1.0) } else { return colour };
        let Oklch { l, chroma, hue } = colour.into();
        let away = (self.toward - hue + 180.0).rem_euclid(360.0) - 180.0;
        let turned = hue + away.clamp(-s * self.turn, s * self.turn);
        let chroma = chroma * (1.0 + s * (self.chroma - 1.0));
        let lightness = MIDDLE + (l - MIDDLE) * (1.0 + s * (self.contrast - 1.0)) + s * self.lift;
        let (a, b) = on(chroma, turned);
        let (tint_a, tint_b) = on(s * self.tint, self.toward);
        let (a, b) = (a + tint_a, b + tint_b);
        let mooded = Oklch { l: lightness.clamp(0.0, 1.0), chroma: a.hypot(b), hue: b.atan2(a).to_degrees() };
        Lab::from(mooded).within_srgb()
    }
}

/// Rectangular coordinates of a chroma and hue.
fn on(chroma: f64, hue: f64) -> (f64, f64) {
    let (sin, cos) = hue.to_radians().sin_cos();
    (chroma * cos, chroma * sin)
}

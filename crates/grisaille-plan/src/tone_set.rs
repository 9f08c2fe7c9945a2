//! The colours of primer tones: values come from the plan, colours from a set.

use crate::coat::{Tone, Tones};
use grisaille_colour::{LinearRgb, colour_of};
use grisaille_scheme::PrimerTones;

/// A set by name, and its tone in a painter's words: dark, mid, light.
#[must_use]
pub fn tone_words(set: PrimerTones, tone: Tone) -> &'static str {
    let words = match set {
        PrimerTones::Grey => ["dark grey", "mid grey", "near-white"],
        PrimerTones::Warm => ["dark brown", "tan", "bone"],
        PrimerTones::Cold => ["navy", "blue-grey", "pale ice"],
        PrimerTones::ColouredShadow => ["plum", "dusty rose", "cream"],
    };
    words[tone as usize]
}

/// The name of a set.
#[must_use]
pub fn set_words(set: PrimerTones) -> &'static str {
    match set {
        PrimerTones::Grey => "grey",
        PrimerTones::Warm => "warm",
        PrimerTones::Cold => "cold",
        PrimerTones::ColouredShadow => "coloured shadow",
    }
}

/// The colour of a tone in a set: exactly as light as the plan wants it.
///
/// Chroma and hue were chosen by eye; dark tones carry the colour, light ones
/// little of it, so that what is painted over them stays clean.
#[must_use]
pub fn tone_colour(set: PrimerTones, tones: &Tones, tone: Tone) -> LinearRgb {
    // Chroma and hue in degrees, CIELAB.
    let colours = match set {
        PrimerTones::Grey => [[0.0, 0.0]; 3],
        PrimerTones::Warm => [[14.0, 50.0], [28.0, 70.0], [14.0, 88.0]],
        PrimerTones::Cold => [[28.0, 280.0], [16.0, 262.0], [5.0, 230.0]],
        PrimerTones::ColouredShadow => [[26.0, 325.0], [22.0, 25.0], [14.0, 92.0]],
    };
    let [chroma, hue] = colours[tone as usize];
    colour_of(tones.of(tone), chroma, hue)
}

#[cfg(test)]
mod tests {
    use super::*;
    use grisaille_base::Lightness;

    #[test]
    fn every_set_keeps_the_planned_values() {
        let tones = Tones { dark: Lightness(15.0), mid: Lightness(55.0), light: Lightness(95.0) };
        for set in PrimerTones::ALL {
            for tone in [Tone::Dark, Tone::Mid, Tone::Light] {
                let made = tone_colour(set, &tones, tone).lightness().0;
                assert!((made - tones.of(tone).0).abs() < 0.05, "{set:?} {tone:?}: {made}");
            }
        }
    }
}

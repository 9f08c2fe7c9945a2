//! What the scheme's words for colours mean: palette colours, paints, or numbers.

use grisaille_colour::{Lab, Mood, Paint, colour_from_text};
use grisaille_scheme::{ColourChoice, RegionPaint};

/// A word that names no colour.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "region '{region}': nothing is called '{word}': write a colour such as #b06f45, or the name of a palette colour \
     or of a paint{known}"
)]
pub struct ColourWordError {
    /// Whose colour it was to be.
    pub region: String,
    /// The word.
    pub word: String,
    /// What there is, in words.
    pub known: String,
}

/// The names that colours go by.
pub(crate) struct Words<'a> {
    choice: &'a ColourChoice,
    paints: &'a [Paint],
}

impl<'a> Words<'a> {
    pub(crate) fn of(choice: &'a ColourChoice, paints: &'a [Paint]) -> Self {
        Self { choice, paints }
    }

    /// The colour that a word means, as it is.
    pub(crate) fn colour(&self, region: &str, word: &str) -> Result<Lab, ColourWordError> {
        let same = |name: &str| name.trim().eq_ignore_ascii_case(word.trim());
        // Checking a scheme does not let a palette colour pass that is none.
        let palette = self.choice.palette.iter().find(|p| same(&p.name));
        let of_palette = palette.and_then(|p| colour_from_text(&p.colour).ok());
        let of_paint = || self.paints.iter().find(|p| same(&p.name)).map(|p| p.colour);
        of_palette.or_else(of_paint).or_else(|| colour_from_text(word).ok()).ok_or_else(|| {
            let names: Vec<&str> = self.choice.palette.iter().map(|p| p.name.as_str()).collect();
            let known = match names.as_slice() {
                [] => String::new(),
                names => format!(" (the palette has {})", names.join(", ")),
            };
            ColourWordError { region: region.to_owned(), word: word.to_owned(), known }
        })
    }

    /// The base colour of an entry, in the scheme's mood: the middle of its own ramp, if it has one.
    pub(crate) fn base(&self, entry: &RegionPaint) -> Result<Lab, ColourWordError> {
        if entry.colour.trim().is_empty() {
            let middle = entry.ramp.get(entry.ramp.len() / 2).map_or("", String::as_str);
            return self.colour(&entry.name, middle);
        }
        let colour = self.colour(&entry.name, &entry.colour)?;
        Ok(self.in_mood(colour))
    }

    /// A colour in the scheme's mood.
    pub(crate) fn in_mood(&self, colour: Lab) -> Lab {
        let mood = self.choice.mood.as_ref().and_then(|m| Some((Mood::named(&m.name)?, m.strength)));
        mood.map_or(colour, |(mood, strength)| mood.applied(colour, strength))
    }
}

//! A mix: whole parts of up to three paints, and what it looks like.

use crate::{Lab, Nearness, Paint, Pigment, colour_of_curve};

/// One paint of a mix: its place in the list of paints, and its parts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Part {
    /// Which paint, counted from 0.
    pub paint: usize,
    /// How many parts of it, 1 or more.
    pub parts: u8,
}

/// A mix and how it answers to the colour that was wanted.
#[derive(Clone, Debug, PartialEq)]
pub struct Mix {
    /// Its paints, the most parts first.
    pub parts: Vec<Part>,
    /// The colour that is predicted.
    pub colour: Lab,
    /// ΔE00 to the colour that was wanted.
    pub apart: f64,
}

impl Mix {
    /// How near it comes.
    #[must_use]
    pub fn nearness(&self) -> Nearness {
        Nearness::of(self.apart)
    }

    /// As a painter writes it: "2 parts Kelp green : 1 part Reef black", or the name
    /// alone of a single paint.
    #[must_use]
    pub fn in_words(&self, paints: &[Paint]) -> String {
        let name = |part: &Part| paints.get(part.paint).map_or("?", |p| p.name.as_str());
        match self.parts.as_slice() {
            [one] => name(one).to_owned(),
            parts => {
                let each = parts
                    .iter()
                    .map(|p| format!("{} part{} {}", p.parts, if p.parts == 1 { "" } else { "s" }, name(p)));
                each.collect::<Vec<_>>().join(" : ")
            }
        }
    }
}

/// The colour of equal amounts of several mixes, for a step between two steps;
/// `None` of none, or where one names a paint that is not in the list.
#[must_use]
pub fn colour_between(mixes: &[&Mix], paints: &[Paint]) -> Option<Lab> {
    let whole: Option<Vec<Pigment>> = mixes.iter().map(|mix| pigment_of(&mix.parts, paints)).collect();
    let whole = whole?;
    let equal: Vec<(f64, &Pigment)> = whole.iter().map(|p| (1.0, p)).collect();
    Some(colour_of_curve(&Pigment::mixed(&equal)?.thick()))
}

/// The pigment of parts of paints; `None` where there is no such paint.
#[must_use]
pub fn pigment_of(parts: &[Part], paints: &[Paint]) -> Option<Pigment> {
    let pigments: Option<Vec<(f64, Pigment)>> =
        parts.iter().map(|p| Some((f64::from(p.parts), Pigment::of(paints.get(p.paint)?)))).collect();
    let pigments = pigments?;
    Pigment::mixed(&pigments.iter().map(|(part, p)| (*part, p)).collect::<Vec<_>>())
}

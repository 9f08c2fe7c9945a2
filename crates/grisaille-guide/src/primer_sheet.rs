//! The sheets about primer as plain data.

use crate::sheets::{Picture, Swatch};
use grisaille_base::Millimetres;

/// One sheet about primer: what to do side by side, one column each.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PrimerSheet {
    /// The question that it answers, as in `Where do I spray from?`.
    pub title: String,
    /// The answer in a sentence or two.
    pub lead: String,
    /// From left to right; at most four.
    pub columns: Vec<PrimerColumn>,
    /// What is left to do, one sentence or two each.
    pub notes: Vec<String>,
    /// Sets of tones to choose from.
    pub sets: Vec<ToneSet>,
    /// What can hurt; boxed below the pictures.
    pub cautions: Vec<String>,
}

/// One column of a sheet about primer: one pass, or what to compare with.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PrimerColumn {
    /// Its number, large; empty where nothing is to be done.
    pub number: String,
    /// What it is, in two or three words.
    pub title: String,
    /// The tone to work in, if any.
    pub swatch: Option<Swatch>,
    /// Small sketches of the direction.
    pub sketches: Vec<Sketch>,
    /// How to do it, one sentence each.
    pub words: Vec<String>,
    /// What it looks like afterwards, one below the other; each at most
    /// [`crate::Paper::primer`].
    pub pictures: Vec<Picture>,
}

/// A small picture of the figure with an arrow.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sketch {
    /// The figure; at most [`crate::Paper::sketch`].
    pub picture: Picture,
    /// Where the arrow begins, from the middle of the sketch: right and down.
    pub from: [Millimetres; 2],
    /// Where its head is. The same place as `from` stands for an arrow that
    /// points away from the reader, into the paper.
    pub to: [Millimetres; 2],
    /// From where the figure is seen.
    pub caption: String,
}

/// A set of primer tones.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ToneSet {
    /// Its name.
    pub name: String,
    /// Dark, mid, light.
    pub tones: Vec<Swatch>,
}

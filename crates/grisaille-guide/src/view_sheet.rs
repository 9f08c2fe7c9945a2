//! Sheets of views whose parts are named beside them, with a table under them: regions, lines, gluing; and sheets of
//! views alone: faces, outlines, how to take pictures.

use crate::sheets::{Srgb, ViewPicture};
use grisaille_base::Millimetres;

/// A sheet of views; it runs over as many pages as it needs.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ViewSheet {
    /// Which part of the guide it belongs to, such as `regions`; sheets of one part follow each other.
    pub key: &'static str,
    /// What the cover lists that part as.
    pub part: String,
    /// The question that it answers.
    pub title: String,
    /// A sentence or two under the title, or empty.
    pub lead: String,
    /// The views, one below the other where names stand beside them.
    pub views: Vec<NamedView>,
    /// Each column of the table after number and swatch.
    pub columns: Vec<String>,
    /// The rows of the table.
    pub rows: Vec<NamedRow>,
    /// Things to do, with a tick box each.
    pub steps: Vec<String>,
    /// Remarks, one sentence or two each.
    pub notes: Vec<String>,
    /// What can hurt; boxed.
    pub cautions: Vec<String>,
}

/// A view with names beside it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct NamedView {
    /// The view; with names no wider than [`crate::Paper::named`].
    pub view: ViewPicture,
    /// The names beside it.
    pub tags: Vec<Tag>,
}

/// A name beside a picture, with a leader to its spot.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Tag {
    /// The number in the table.
    pub number: String,
    /// The name; shortened on paper where it is long.
    pub name: String,
    /// Its colour, if it has one.
    pub look: Option<Srgb>,
    /// The spot that it names, from the picture's upper left corner.
    pub spot: [Millimetres; 2],
    /// Where its leader ends: beside the picture, in the middle of the name's height.
    pub end: [Millimetres; 2],
}

/// A row of a table.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct NamedRow {
    /// Its number, as on the views.
    pub number: String,
    /// Its colour, if it has one.
    pub look: Option<Srgb>,
    /// What stands in each column.
    pub cells: Vec<String>,
}

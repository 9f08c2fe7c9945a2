//! The printable guide: plain data in, a PDF out.
//!
//! [`Sheets`] holds everything that the guide says, ready to print: pictures
//! as PNG with their size on paper, words, numbers and greys. [`typeset`]
//! lays it out and writes a PDF that is tagged for screen readers (PDF/UA-1),
//! fit for keeping (PDF/A-2a), and the same to the byte on every run.
//!
//! What holds of the PDF, whatever the data:
//! - a picture is printed at exactly its stated size;
//! - text arrives as data and is never read as markup;
//! - a character that the sheet's fonts lack is printed as `[U+XXXX]` and
//!   reported as a finding (a long row of them is counted after the eighth);
//! - every tone that is printed has a letter, a word or a number beside it.
//!
//! The sheets are set in Noto Sans (SIL Open Font License 1.1), of which the
//! PDF holds the characters that it uses.

#[cfg(test)]
extern crate self as grisaille_guide;

mod arrange;
mod boxes;
mod card_pictures;
mod compose;
mod compose_extras;
mod compose_freehand;
mod compose_gluing;
mod compose_lines;
mod compose_primer;
mod compose_regions;
mod compose_stages;
mod compose_summary;
mod compose_tones;
mod compose_true_size;
mod compose_zones;
mod labels;
mod lengths;
mod lettering;
mod mark;
mod page;
mod paper;
mod picture;
mod primer_sheet;
mod print;
mod recipe_rows;
mod sheets;
mod survey;
mod typeset;
mod view_sheet;
mod world;
mod zone_numbers;

pub use compose::{Heading, Subject, compose, printed_words};
pub use paper::Paper;
pub use picture::Room;
pub use primer_sheet::{PrimerColumn, PrimerSheet, Sketch, ToneSet};
pub use print::percent;
pub use sheets::{
    BandRow, BottleRow, Fact, Label, Legend, LegendStep, LightSheet, MixRow, PaletteRow, Picture, Rung,
    SeeSheet, Sheets, Srgb, StageCard, Summary, Swatch, ValueSheet, ViewPicture, Warning, ZoneRow,
};
pub use typeset::{GuideError, typeset};
pub use view_sheet::{NamedRow, NamedView, Tag, ViewSheet};
pub use world::sans;

//! What the painter has decided, as plain data: lights, the span of values,
//! bands, emphasis, colours, and how finely to work. A scheme is read before any light is
//! computed and knows nothing of meshes or exposure.

mod bounce;
mod colours;
mod document;
mod emphasis;
mod face;
mod file;
mod lights;
mod merge;
mod part_choice;
mod primer;
mod print;
mod regions;
mod scheme;
mod scheme_error;
mod words;

pub use bounce::BounceChoice;
pub use colours::{
    ColourChoice, Material, MoodChoice, PaintChoice, PaletteEntry, RegionPaint, Route, Skipped,
};
pub use document::{Document, ModelEntry, ModelSource, PrintedBy, UnitChoice, UpChoice};
pub use emphasis::{Emphasis, FocalPoint, Spread};
pub use face::{FaceChoice, Gaze};
pub use file::{DocumentError, SCHEME_VERSION, document_schema, read_document, write_document};
pub use lights::{FalloffChoice, LightChoice, LightEntry, SkyChoice, default_rig};
pub use part_choice::PartChoice;
pub use primer::{PrimerChoice, PrimerTones};
pub use print::{FreehandChoice, Ink, Lengths, PaperSize, PrintChoice, SheetKind};
pub use regions::{RegionChoice, RegionDeed, RegionSource, RegionSpot, RegionStep};
pub use scheme::{BandChoice, BrushChoice, Fineness, KeptSpot, Scheme, SurfaceChoice, ValueChoice};
pub use scheme_error::SchemeError;

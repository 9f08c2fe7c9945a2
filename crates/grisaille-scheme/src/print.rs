//! `[print]`: what the guide prints, and on what.

use crate::scheme_error::{SchemeError, Under, each, in_range};
use grisaille_base::Millimetres;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::path::PathBuf;

/// A kind of sheet; the cover comes always.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum SheetKind {
    /// The plan on one page.
    Summary,
    /// The figure in its values from all sides.
    Values,
    /// Each light by itself.
    Lights,
    /// The bands with their areas.
    Bands,
    /// Which light rules where.
    Zones,
    /// The regions by number, with names and colours.
    Regions,
    /// What to line and which edges to catch.
    Lines,
    /// Of several files what to do before they are glued.
    Gluing,
    /// How to prime.
    Primer,
    /// Step cards.
    Stages,
    /// Marked faces, enlarged.
    Faces,
    /// Marked areas laid flat, to draw designs on.
    Freehand,
    /// Blank outlines to try colours on.
    Outlines,
    /// How to take pictures that can be compared.
    Photo,
    /// Step cards without their answers, for a class; printed only where it is named.
    Handout,
}

impl SheetKind {
    /// Every kind, in the guide's order.
    pub const ALL: [Self; 15] = [
        Self::Summary,
        Self::Values,
        Self::Lights,
        Self::Bands,
        Self::Zones,
        Self::Regions,
        Self::Lines,
        Self::Gluing,
        Self::Primer,
        Self::Stages,
        Self::Faces,
        Self::Freehand,
        Self::Outlines,
        Self::Photo,
        Self::Handout,
    ];
}

/// The paper of the guide.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum PaperSize {
    /// 210 × 297 mm (ISO 216).
    #[default]
    A4,
    /// 8.5 × 11 inches, 215.9 × 279.4 mm (ANSI/ASME Y14.1, size A).
    Letter,
    /// 148 × 210 mm (ISO 216), a card for each stage.
    A5,
}

/// What the printer has.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Ink {
    /// Colours.
    #[default]
    Colour,
    /// Black alone: greys far apart and patterns stand for colours.
    Grey,
}

/// The unit in which the guide tells lengths and areas.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Lengths {
    /// Millimetres.
    #[default]
    Mm,
    /// Inches.
    Inch,
}

/// What the guide prints, and on what.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
#[schemars(rename = "print")]
pub struct PrintChoice {
    /// The sheets beside the cover, in the guide's own order; all but the handout if none is named.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub sheets: Vec<SheetKind>,
    /// The paper.
    #[serde(skip_serializing_if = "is_usual")]
    pub paper: PaperSize,
    /// Colours, or greys and patterns.
    #[serde(skip_serializing_if = "is_usual")]
    pub ink: Ink,
    /// The unit of lengths.
    #[serde(skip_serializing_if = "is_usual")]
    pub lengths: Lengths,
    /// A translation of the sheets' wording, a Fluent file as `grisaille words` writes it; English if there is none. A
    /// relative path starts at the scheme's folder.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub words: Option<PathBuf>,
    /// Areas that are painted with a design, laid flat on sheets of their own.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub freehand: Vec<FreehandChoice>,
}

/// An area that is painted with a design: a shield, a banner, the back of a cloak.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "freehand")]
pub struct FreehandChoice {
    /// What it is called on its sheet.
    pub name: String,
    /// The middle of the design, scene millimetres.
    #[schemars(inner(range(min = -1e6, max = 1e6)), example = [0.0, -7.0, 30.0])]
    pub at: [f64; 3],
    /// How far it reaches along the surface; it ends before that at sharp edges and where its region ends.
    #[schemars(with = "f64", range(min = 0.01, max = 10_000.0))]
    pub radius: Millimetres,
}

impl FreehandChoice {
    pub(crate) fn check(&self) -> Result<(), SchemeError> {
        each(&self.at, |x| in_range("the middle of a design in mm", *x, -1e6, 1e6)).under("at")?;
        in_range("how far a design reaches in mm", self.radius.0, 0.01, 1e4).under("radius")
    }
}

fn is_usual<T: Default + PartialEq>(choice: &T) -> bool {
    *choice == T::default()
}

impl PrintChoice {
    pub(crate) fn check(&self) -> Result<(), SchemeError> {
        if self.words.as_ref().is_some_and(|file| file.as_os_str().is_empty()) {
            let why =
                "the wording of the sheets has no file: write words = \"my-language.ftl\", or leave it out";
            return Err(SchemeError::new(why)).under("words");
        }
        each(&self.freehand, FreehandChoice::check).under("freehand")
    }

    /// Whether a kind of sheet is printed.
    #[must_use]
    pub fn prints(&self, kind: SheetKind) -> bool {
        if self.sheets.is_empty() { kind != SheetKind::Handout } else { self.sheets.contains(&kind) }
    }
}

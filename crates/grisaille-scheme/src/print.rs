//! `[print]`: what the guide prints.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

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
    /// How to prime.
    Primer,
    /// Step cards.
    Stages,
}

/// What the guide prints.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
#[schemars(rename = "print")]
pub struct PrintChoice {
    /// The sheets beside the cover, in the guide's own order; all of them if none is named.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub sheets: Vec<SheetKind>,
}

impl PrintChoice {
    /// Whether a kind of sheet is printed.
    #[must_use]
    pub fn prints(&self, kind: SheetKind) -> bool {
        self.sheets.is_empty() || self.sheets.contains(&kind)
    }
}

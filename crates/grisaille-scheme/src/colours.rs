//! What the painter has decided about colour: mood, palette, paints, the paint
//! on each region, and the way of working. Colours are words here, such as
//! `#b06f45`, the name of a palette colour or of a paint; what they mean is
//! found out where the paints are known.

use crate::face::FaceChoice;
use crate::regions::{RegionSpot, check_spot};
use crate::scheme_error::{SchemeError, Under, each, in_range};
use crate::words::{listed, nearest, quoted};
use grisaille_colour::{MOODS, Mood};
use schemars::{JsonSchema, Schema};
use serde::{Deserialize, Serialize};
use serde_json::json;
use std::path::PathBuf;

/// All about colour. The default is none of it: values alone.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct ColourChoice {
    /// The way of working.
    pub route: Route,
    /// Whether several figures are painted at once, so that work is ordered by paint.
    pub squad: bool,
    /// What the scheme should feel like.
    pub mood: Option<MoodChoice>,
    /// The palette, in any order.
    pub palette: Vec<PaletteEntry>,
    /// The paints at hand.
    pub paints: Option<PaintChoice>,
    /// What is painted with what. Where two name one region the later one counts.
    pub regions: Vec<RegionPaint>,
    /// Faces that are marked.
    pub faces: Vec<FaceChoice>,
    /// Stages that are left out of the order of work.
    pub skip: Vec<Skipped>,
}

/// The way of working.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[schemars(rename = "route")]
pub enum Route {
    /// Three-tone primer as a reference, then opaque paint.
    #[default]
    Sketch,
    /// Thin paint over the primer's tones.
    Transparent,
    /// Dry brush instead of spray, then opaque paint.
    BrushOnly,
}

/// A mood and how much of it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "mood")]
pub struct MoodChoice {
    /// Its word.
    #[schemars(transform = mood_words, example = &"calm")]
    pub name: String,
    /// 0 (nothing changes) to 1.
    #[serde(default = "half")]
    #[schemars(range(min = 0.0, max = 1.0))]
    pub strength: f64,
}

/// Gives the schema the words that there are.
fn mood_words(schema: &mut Schema) {
    schema.insert("enum".into(), json!(MOODS.map(|m| m.name)));
}

fn half() -> f64 {
    0.5
}

/// A colour of the palette.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "palette-colour")]
pub struct PaletteEntry {
    /// What regions call it by; unique.
    #[schemars(length(min = 1), example = &"copper")]
    pub name: String,
    /// `#rrggbb`, `rgb(R, G, B)` or `lab(L, a, b)`.
    #[schemars(example = &"#b06f45")]
    pub colour: String,
    /// How much of the figure it should be, in any measure: shares are taken of
    /// their sum.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 1e-6, max = 1e6))]
    pub share: Option<f64>,
}

/// Which paints, and how they are mixed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "paints")]
pub struct PaintChoice {
    /// The list of paints (CSV); a path that is not absolute begins at the
    /// document's folder.
    #[schemars(with = "String", length(min = 1), example = &"paints.csv")]
    pub file: PathBuf,
    /// Up to how many paints in a mix, 1 to 3.
    #[serde(default = "three")]
    #[schemars(range(min = 1, max = 3))]
    pub most: u8,
    /// Up to how many parts in all, 1 to 16.
    #[serde(default = "four")]
    #[schemars(range(min = 1, max = 16))]
    pub parts: u8,
    /// Whether ramps are picked from single paints instead of mixed.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub unmixed: bool,
}

fn three() -> u8 {
    3
}

fn four() -> u8 {
    4
}

/// What a material asks of its paint.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
#[schemars(rename = "material")]
pub enum Material {
    /// Wood, stone, painted metal: even steps.
    #[default]
    Matte,
    /// Varnished wood, rubber: narrower and lighter lights.
    Satin,
    /// Woven stuff: soft steps, hatched.
    Cloth,
    /// Worn edges, stippled.
    Leather,
    /// Warm lights, red where blood is near.
    Skin,
    /// True metallic metal: metallic paint.
    Tmm,
    /// Non-metallic metal: reflections painted with matt paint.
    Nmm,
    /// Light on the whole volume, strands by wash and dry brush.
    Hair,
    /// Light on the whole volume, links by wash and dry brush.
    Chain,
    /// What shines by itself: lightest where it is deepest.
    Glow,
}

impl Material {
    /// All materials.
    pub const ALL: [Self; 10] = [
        Self::Matte,
        Self::Satin,
        Self::Cloth,
        Self::Leather,
        Self::Skin,
        Self::Tmm,
        Self::Nmm,
        Self::Hair,
        Self::Chain,
        Self::Glow,
    ];

    /// The word for it, as it stands in a scheme's file.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Matte => "matte",
            Self::Satin => "satin",
            Self::Cloth => "cloth",
            Self::Leather => "leather",
            Self::Skin => "skin",
            Self::Tmm => "tmm",
            Self::Nmm => "nmm",
            Self::Hair => "hair",
            Self::Chain => "chain",
            Self::Glow => "glow",
        }
    }
}

/// What some regions are painted with.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
#[schemars(rename = "region", transform = needs_of_a_region)]
pub struct RegionPaint {
    /// What they are called at the bench; also the region's name, if no place is given.
    #[schemars(length(min = 1), example = &"helmet")]
    pub name: String,
    /// A spot on each of them.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(example = [[0.0, -4.0, 47.0]])]
    pub at: Vec<RegionSpot>,
    /// Whether it is the paint of all that no other entry names.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub rest: bool,
    /// The base colour: `#rrggbb`, `rgb(R, G, B)`, `lab(L, a, b)`, or the name of
    /// a palette colour or of a paint.
    #[schemars(example = &"#b06f45")]
    pub colour: String,
    /// What it is made of.
    pub material: Material,
    /// How many steps its ramp has, 3 to 6; by the distance of its ends if not given.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 3, max = 6))]
    pub steps: Option<u8>,
    /// The ramp itself, darkest first, 3 to 6 colours, where it is not to be made.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = 6))]
    pub ramp: Vec<String>,
    /// How far its ends go toward near-black and near-white, 0.1 to 1; by its
    /// material if not given.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.1, max = 1.0))]
    pub contrast: Option<f64>,
    /// Where NMM is looked at from, degrees round the figure from the front; 0 if not given.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = -360.0, max = 360.0))]
    pub seen_from: Option<f64>,
    /// Lifts (to 1) or drops (to −1) its values.
    #[serde(skip_serializing_if = "is_nothing")]
    #[schemars(range(min = -1.0, max = 1.0))]
    pub lift: f64,
    /// The colour of the lines in its recesses, where it is not to be made.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub line: Option<String>,
}

/// Says in the schema that a region has a name, and a colour or a ramp.
fn needs_of_a_region(schema: &mut Schema) {
    let some =
        |key: &str| json!({ "required": [key], "properties": { key: { "minLength": 1, "minItems": 3 } } });
    schema.insert("required".into(), json!(["name"]));
    schema.insert("anyOf".into(), json!([some("colour"), some("ramp")]));
}

// serde asks for a reference.
#[allow(clippy::trivially_copy_pass_by_ref)]
fn is_nothing(x: &f64) -> bool {
    *x == 0.0
}

/// A kind of stage that can be left out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[schemars(rename = "stage")]
pub enum Skipped {
    /// Washes and pin washes.
    Wash,
    /// Dark lines in recesses.
    Lining,
    /// Light lines on edges.
    Edges,
    /// The last near-white touches.
    Spots,
    /// Gloss and matt varnish.
    Varnish,
}

impl ColourChoice {
    /// Whether there is nothing to colour.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.regions.is_empty() && self.palette.is_empty()
    }

    /// Whether anything of it drives values, so that regions must be known before light becomes value.
    #[must_use]
    pub fn lifts(&self) -> bool {
        self.regions.iter().any(|r| r.lift != 0.0)
    }

    pub(crate) fn check(&self) -> Result<(), SchemeError> {
        let rests: Vec<usize> = (0..self.regions.len()).filter(|i| self.regions[*i].rest).collect();
        if let [_, second, ..] = *rests {
            let why = "two [[region]] have rest = true: only one can paint all the rest";
            return Err(SchemeError::new(why)).under("rest").under(second).under("region");
        }
        if let Some(mood) = &self.mood {
            mood.check().under("mood")?;
        }
        for (i, entry) in self.palette.iter().enumerate() {
            entry.check(&self.palette[..i]).under(i).under("palette")?;
        }
        if let Some(paints) = &self.paints {
            paints.check().under("paints")?;
        }
        each(&self.faces, FaceChoice::check).under("face")?;
        each(&self.regions, RegionPaint::check).under("region")
    }
}

impl MoodChoice {
    fn check(&self) -> Result<(), SchemeError> {
        if Mood::named(&self.name).is_none_or(|mood| mood.name != self.name) {
            let words = MOODS.map(|m| m.name);
            let meant = nearest(&self.name, &words).map(|w| format!("did you mean '{w}'? "));
            return Err(SchemeError::new(format!(
                "there is no mood {}: {}choose {}",
                quoted(&self.name),
                meant.unwrap_or_default(),
                listed(&words, "or")
            )))
            .under("name");
        }
        in_range("the strength of the mood", self.strength, 0.0, 1.0).under("strength")
    }
}

impl PaletteEntry {
    fn check(&self, before: &[Self]) -> Result<(), SchemeError> {
        let name = quoted(&self.name);
        let wrong = |key: &str, why: String| Err(SchemeError::new(why)).under(key);
        if self.name.trim().is_empty() {
            return wrong(
                "name",
                "a palette colour has no name: write what regions call it by, name = \"copper\"".into(),
            );
        }
        if before.iter().any(|e| e.name.eq_ignore_ascii_case(&self.name)) {
            return wrong("name", format!("two palette colours are called {name}: give each its own name"));
        }
        if let Err(why) = grisaille_colour::colour_from_text(&self.colour) {
            return wrong("colour", format!("palette colour {name}: {why}"));
        }
        match self.share {
            Some(share) => {
                in_range(&format!("the share of palette colour {name}"), share, 1e-6, 1e6).under("share")
            }
            None => Ok(()),
        }
    }
}

impl PaintChoice {
    fn check(&self) -> Result<(), SchemeError> {
        if self.file.as_os_str().is_empty() {
            return Err(SchemeError::new("[paints] has no file: write file = \"paints.csv\"")).under("file");
        }
        in_range("the number of paints in a mix", self.most.into(), 1.0, 3.0).under("most")?;
        in_range("the number of parts in a mix", self.parts.into(), 1.0, 16.0).under("parts")
    }
}

impl RegionPaint {
    fn check(&self) -> Result<(), SchemeError> {
        let name = quoted(&self.name);
        let wrong = |key: &str, why: &str| {
            Err(SchemeError::new(format!("the paint of region {name} {why}"))).under(key)
        };
        if self.name.trim().is_empty() {
            let why = "a [[region]] has no name: write name = \"helmet\", what you call it at the bench";
            return Err(SchemeError::new(why)).under("name");
        }
        if self.colour.trim().is_empty() && self.ramp.is_empty() {
            let why = "has no colour: write colour = \"#b06f45\", or the name of a palette colour or paint";
            return wrong("colour", why);
        }
        if !self.ramp.is_empty() && !(3..=6).contains(&self.ramp.len()) {
            return wrong("ramp", "has a ramp of too few or too many colours: give 3 to 6, darkest first");
        }
        if !self.ramp.is_empty() && self.steps.is_some() {
            return wrong("steps", "has steps beside a ramp: keep one of them");
        }
        if self.rest && !self.at.is_empty() {
            return wrong("at", "has places beside rest = true: keep one of them");
        }
        let of = |what: &str| format!("{what} of region {name}");
        if let Some(steps) = self.steps {
            in_range(&of("the number of steps"), steps.into(), 3.0, 6.0).under("steps")?;
        }
        if let Some(contrast) = self.contrast {
            in_range(&of("the contrast"), contrast, 0.1, 1.0).under("contrast")?;
        }
        in_range(&of("the lift"), self.lift, -1.0, 1.0).under("lift")?;
        if let Some(azimuth) = self.seen_from {
            in_range(&of("the side that is looked at"), azimuth, -360.0, 360.0).under("seen_from")?;
        }
        each(&self.at, check_spot).under("at")
    }
}

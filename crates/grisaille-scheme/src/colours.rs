//! What the painter has decided about colour: mood, palette, paints, the paint
//! on each region, and the way of working. Colours are words here, such as
//! `#b06f45`, the name of a palette colour or of a paint; what they mean is
//! found out where the paints are known.

use crate::SchemeError;
use crate::face::FaceChoice;
use crate::regions::{RegionSpot, check_spot};
use crate::scheme::in_range;
use grisaille_colour::{MOODS, Mood};
use serde::{Deserialize, Serialize};
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
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
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
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MoodChoice {
    /// One of the words of [`MOODS`].
    pub name: String,
    /// 0 (nothing changes) to 1.
    #[serde(default = "half")]
    pub strength: f64,
}

fn half() -> f64 {
    0.5
}

/// A colour of the palette.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PaletteEntry {
    /// What regions call it by; unique.
    pub name: String,
    /// `#rrggbb`, `rgb(R, G, B)` or `lab(L, a, b)`.
    pub colour: String,
    /// How much of the figure it should be, in any measure: shares are taken of
    /// their sum.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub share: Option<f64>,
}

/// Which paints, and how they are mixed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PaintChoice {
    /// The list of paints (CSV); a path that is not absolute begins at the
    /// document's folder.
    pub file: PathBuf,
    /// Up to how many paints in a mix, 1 to 3.
    #[serde(default = "three")]
    pub most: u8,
    /// Up to how many parts in all, 1 to 16.
    #[serde(default = "four")]
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
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
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
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct RegionPaint {
    /// What they are called at the bench; also the region's name, if no place is given.
    pub name: String,
    /// A spot on each of them.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub at: Vec<RegionSpot>,
    /// Whether it is the paint of all that no other entry names.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub rest: bool,
    /// The base colour: `#rrggbb`, `rgb(R, G, B)`, `lab(L, a, b)`, or the name of
    /// a palette colour or of a paint.
    pub colour: String,
    /// What it is made of.
    pub material: Material,
    /// How many steps its ramp has, 3 to 6; by the distance of its ends if not given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub steps: Option<u8>,
    /// The ramp itself, darkest first, 3 to 6 colours, where it is not to be made.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub ramp: Vec<String>,
    /// How far its ends go toward near-black and near-white, 0.1 to 1; by its
    /// material if not given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub contrast: Option<f64>,
    /// Where NMM is looked at from, degrees round the figure from the front; 0 if not given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub seen_from: Option<f64>,
    /// Lifts (to 1) or drops (to −1) its values.
    #[serde(skip_serializing_if = "is_nothing")]
    pub lift: f64,
    /// The colour of the lines in its recesses, where it is not to be made.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub line: Option<String>,
}

// serde asks for a reference.
#[allow(clippy::trivially_copy_pass_by_ref)]
fn is_nothing(x: &f64) -> bool {
    *x == 0.0
}

/// A kind of stage that can be left out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
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
        if self.regions.iter().filter(|r| r.rest).count() > 1 {
            return Err(SchemeError(
                "two [[region]] have rest = true: only one can paint all the rest".into(),
            ));
        }
        let wrong = |why: String| Err(SchemeError(why));
        if let Some(mood) = &self.mood {
            if Mood::named(&mood.name).is_none() {
                let words: Vec<&str> = MOODS.iter().map(|m| m.name).collect();
                return wrong(format!(
                    "there is no mood '{}': choose one of {}",
                    mood.name,
                    words.join(", ")
                ));
            }
            in_range("the strength of the mood", mood.strength, 0.0, 1.0)?;
        }
        for (i, entry) in self.palette.iter().enumerate() {
            if entry.name.trim().is_empty() {
                return wrong("a palette colour needs a name that regions can call it by".into());
            }
            if self.palette[..i].iter().any(|e| e.name.eq_ignore_ascii_case(&entry.name)) {
                return wrong(format!(
                    "two palette colours are called '{}': give each its own name",
                    entry.name
                ));
            }
            if let Err(why) = grisaille_colour::colour_from_text(&entry.colour) {
                return wrong(format!("palette colour '{}': {why}", entry.name));
            }
            if let Some(share) = entry.share {
                in_range(&format!("the share of palette colour '{}'", entry.name), share, 1e-6, 1e6)?;
            }
        }
        if let Some(paints) = &self.paints {
            if paints.file.as_os_str().is_empty() {
                return wrong("[paints] has no file: write file = \"paints.csv\"".into());
            }
            in_range("the paints in a mix", paints.most.into(), 1.0, 3.0)?;
            in_range("the parts in a mix", paints.parts.into(), 1.0, 16.0)?;
        }
        self.faces.iter().try_for_each(FaceChoice::check)?;
        self.regions.iter().try_for_each(RegionPaint::check)
    }
}

impl RegionPaint {
    fn check(&self) -> Result<(), SchemeError> {
        let wrong = |why: &str| Err(SchemeError(format!("the paint of region '{}' {why}", self.name)));
        if self.name.trim().is_empty() {
            return Err(SchemeError(
                "a [[region]] has no name: write name = \"helmet\", what you call it at the bench".into(),
            ));
        }
        if self.colour.trim().is_empty() && self.ramp.is_empty() {
            return wrong(
                "has no colour: write colour = \"#b06f45\", or the name of a palette colour or paint",
            );
        }
        if !self.ramp.is_empty() && !(3..=6).contains(&self.ramp.len()) {
            return wrong("has a ramp of too few or too many colours: give 3 to 6, darkest first");
        }
        if !self.ramp.is_empty() && self.steps.is_some() {
            return wrong("has steps beside a ramp: keep one of them");
        }
        if self.rest && !self.at.is_empty() {
            return wrong("has places beside rest = true: keep one of them");
        }
        let of = |what: &str| format!("{what} of region '{}'", self.name);
        if let Some(steps) = self.steps {
            in_range(&of("the steps"), steps.into(), 3.0, 6.0)?;
        }
        if let Some(contrast) = self.contrast {
            in_range(&of("the contrast"), contrast, 0.1, 1.0)?;
        }
        in_range(&of("the lift"), self.lift, -1.0, 1.0)?;
        if let Some(azimuth) = self.seen_from {
            in_range(&of("the side that is looked at"), azimuth, -360.0, 360.0)?;
        }
        self.at.iter().try_for_each(check_spot)
    }
}

//! Where the painter departs from the light as it falls, to lead the eye.

use crate::scheme_error::{SchemeError, Under, each, in_range};
use grisaille_base::Millimetres;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The painter's own light and dark, on top of the planned light. All
/// strengths are shares of a way: at s > 0 a spot's L* goes that share of the
/// way up to the lightest paint, at s < 0 down to the darkest, so that nothing
/// ever leaves the span of the paints. Strengths that meet on a spot are
/// added and held between −1 and 1. The default is none of it: pure light.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default)]
pub struct Emphasis {
    /// Spots to lead the eye to, such as face and hands.
    pub focus: Vec<FocalPoint>,
    /// The strength on the whole figure, −1 to 1.
    pub figure: f64,
    /// The strength on the whole base, −1 to 1.
    pub base: f64,
    /// The strength, 0 to 1, at the ends of every flat plate: up at the end
    /// toward the light, down at the other, nothing in the middle.
    pub plate_gradient: f64,
    /// How deep, 0 to 1, the dark line is that parts two lights where the form
    /// turns from the one to the other: the share of the way to the darkest
    /// paint.
    pub gap: f64,
}

/// A spot to lead the eye to.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct FocalPoint {
    /// Its middle in scene millimetres.
    pub at: [f64; 3],
    /// Where it ends.
    #[schemars(with = "f64")]
    pub radius: Millimetres,
    /// The strength in the middle, −1 to 1: it falls off smoothly to 0 at the
    /// radius.
    pub strength: f64,
    /// How the way from its middle is measured.
    pub spread: Spread,
}

/// How the way from a focal point's middle is measured.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[schemars(rename = "spread")]
pub enum Spread {
    /// Straight through space: takes all that lies in the ball.
    #[default]
    Space,
    /// Along the surface of the nearest piece, so that a face is lifted
    /// without the helmet round it.
    Surface,
}

impl Emphasis {
    /// The strength of a focal point for which none is given: a good third of
    /// the way, about one band.
    pub const FOCUS: f64 = 0.35;

    pub(crate) fn check(&self) -> Result<(), SchemeError> {
        each(&self.focus, FocalPoint::check).under("focus")?;
        in_range("the lift of the figure", self.figure, -1.0, 1.0).under("figure")?;
        in_range("the lift of the base", self.base, -1.0, 1.0).under("base")?;
        in_range("the gradient on plates", self.plate_gradient, 0.0, 1.0).under("plate_gradient")?;
        in_range("the gap between lights", self.gap, 0.0, 1.0).under("gap")
    }
}

impl FocalPoint {
    fn check(&self) -> Result<(), SchemeError> {
        each(&self.at, |x| in_range("the place of a focal point in mm", *x, -1e6, 1e6)).under("at")?;
        in_range("the radius of a focal point in mm", self.radius.0, 1e-3, 1e6).under("radius")?;
        in_range("the strength of a focal point", self.strength, -1.0, 1.0).under("strength")
    }
}

//! `[surface]`, `[fineness]` and `[bounce]`: how finely light is worked out.

use crate::bounce::BounceChoice;
use crate::scheme::{Fineness, Scheme, SurfaceChoice};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How finely the surface is divided before light falls on it.
#[derive(Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
#[schemars(rename = "surface")]
pub(super) struct SurfaceFile {
    /// Whether it is divided at all.
    pub(super) refine: bool,
    /// The longest edge in mm; 0.2 on a figure of 32 mm, in proportion, if not given.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.001, max = 1000.0))]
    pub(super) spacing: Option<f64>,
    /// The most triangles that it is divided into.
    pub(super) cap: usize,
}

/// How finely sky and lamps are sampled.
#[derive(Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
#[schemars(rename = "fineness")]
pub(super) struct FinenessFile {
    /// Directions over the sky.
    #[schemars(range(min = 1, max = 65536))]
    pub(super) ambient_directions: usize,
    /// Directions round the ring.
    #[schemars(range(min = 1, max = 65536))]
    pub(super) ring_directions: usize,
    /// Directions of a soft zenithal light, points on a lamp with a radius.
    #[schemars(range(min = 1, max = 65536))]
    pub(super) soft_directions: usize,
}

/// Light that is thrown from one part onto another.
#[derive(Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
#[schemars(rename = "bounce")]
pub(super) struct BounceFile {
    /// The share of the light on it that the paint throws back; 0 for none.
    #[schemars(range(min = 0.0, max = 0.95))]
    pub(super) albedo: f64,
    /// Directions from which each point gathers it.
    #[schemars(range(min = 1, max = 65536))]
    pub(super) directions: usize,
}

impl Default for SurfaceFile {
    fn default() -> Self {
        surface_file(&Scheme::default().surface)
    }
}

impl Default for FinenessFile {
    fn default() -> Self {
        fineness_file(Scheme::default().fineness)
    }
}

impl Default for BounceFile {
    fn default() -> Self {
        bounce_file(BounceChoice::default())
    }
}

pub(super) fn surface_file(surface: &SurfaceChoice) -> SurfaceFile {
    let SurfaceChoice { refine, spacing, cap } = *surface;
    SurfaceFile { refine, spacing: spacing.map(|s| s.0), cap }
}

pub(super) fn fineness_file(fineness: Fineness) -> FinenessFile {
    let Fineness { ambient_directions, ring_directions, soft_directions } = fineness;
    FinenessFile { ambient_directions, ring_directions, soft_directions }
}

pub(super) fn bounce_file(bounce: BounceChoice) -> BounceFile {
    let BounceChoice { albedo, directions } = bounce;
    BounceFile { albedo, directions }
}

//! `[surface]`, `[fineness]` and `[bounce]`: how finely light is worked out.

use crate::bounce::BounceChoice;
use crate::scheme::{Fineness, Scheme, SurfaceChoice};
use serde::{Deserialize, Serialize};

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct SurfaceFile {
    pub(super) refine: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) spacing: Option<f64>,
    pub(super) cap: usize,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct FinenessFile {
    pub(super) ambient_directions: usize,
    pub(super) ring_directions: usize,
    pub(super) soft_directions: usize,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct BounceFile {
    pub(super) albedo: f64,
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

//! `[primer]`: the tones of the primer plan.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The primer plan.
#[derive(Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
#[schemars(rename = "primer")]
pub(super) struct PrimerFile {
    /// The three tones that it is shown in.
    pub(super) tones: TonesFile,
}

/// A set of three primer tones.
#[derive(Clone, Copy, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum TonesFile {
    /// Dark grey, mid grey, near-white.
    #[default]
    Grey,
    /// Dark brown, tan, bone.
    Warm,
    /// Navy, blue-grey, pale ice.
    Cold,
    /// Plum shadows under dusty rose and cream.
    ColouredShadow,
    /// No primer plan.
    None,
}

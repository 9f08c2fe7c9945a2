//! `[primer]`: the tones of the primer plan.

use serde::{Deserialize, Serialize};

#[derive(Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct PrimerFile {
    pub(super) tones: TonesFile,
}

#[derive(Clone, Copy, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum TonesFile {
    #[default]
    Grey,
    Warm,
    Cold,
    ColouredShadow,
    None,
}

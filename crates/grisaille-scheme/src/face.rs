//! Faces that the painter has marked.

use crate::scheme_error::{SchemeError, Under, each, in_range};
use grisaille_base::Millimetres;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A face: it gets planes, blood and beard, and eyes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "face")]
pub struct FaceChoice {
    /// The tip of the nose, scene millimetres.
    #[schemars(inner(range(min = -1e6, max = 1e6)), example = [0.0, -7.0, 45.0])]
    pub at: [f64; 3],
    /// The middle of one eye, either, scene millimetres: how high both lie and how far apart follows; proportions
    /// that figures are drawn by if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(inner(range(min = -1e6, max = 1e6)), example = [1.2, -6.5, 46.5])]
    pub eye: Option<[f64; 3]>,
    /// Where the face is turned to, a direction; the front (0, −1, 0) if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(inner(range(min = -1e6, max = 1e6)))]
    pub toward: Option<[f64; 3]>,
    /// From hairline to chin; an eighth of the figure's height if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<f64>", range(min = 0.01, max = 10_000.0))]
    pub height: Option<Millimetres>,
    /// Where the eyes look, as seen by who looks at the face.
    #[serde(default)]
    pub gaze: Gaze,
    /// The colour of the iris; a dark brown if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub eyes: Option<String>,
}

/// Where eyes look.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[schemars(rename = "gaze")]
pub enum Gaze {
    /// Straight ahead.
    #[default]
    Ahead,
    /// To the viewer's left.
    Left,
    /// To the viewer's right.
    Right,
}

impl Gaze {
    /// In words.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Ahead => "straight ahead",
            Self::Left => "to the left as you look at the face",
            Self::Right => "to the right as you look at the face",
        }
    }
}

impl FaceChoice {
    pub(crate) fn check(&self) -> Result<(), SchemeError> {
        each(&self.at, |x| in_range("the place of a face in mm", *x, -1e6, 1e6)).under("at")?;
        if let Some(eye) = &self.eye {
            each(eye, |x| in_range("the place of an eye in mm", *x, -1e6, 1e6)).under("eye")?;
        }
        if let Some(toward) = self.toward {
            each(&toward, |x| in_range("the direction of a face", *x, -1e6, 1e6)).under("toward")?;
            if toward.iter().all(|x| x.abs() < 1e-9) {
                let why = "a face is turned toward nothing: write a direction, such as toward = [0, -1, 0]";
                return Err(SchemeError::new(why)).under("toward");
            }
        }
        match self.height {
            Some(height) => in_range("the height of a face in mm", height.0, 0.01, 1e4).under("height"),
            None => Ok(()),
        }
    }
}

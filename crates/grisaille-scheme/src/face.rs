//! Faces that the painter has marked.

use crate::SchemeError;
use crate::scheme::in_range;
use grisaille_base::Millimetres;
use serde::{Deserialize, Serialize};

/// A face: it gets planes, blood and beard, and eyes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FaceChoice {
    /// The tip of the nose, scene millimetres.
    pub at: [f64; 3],
    /// Where the face is turned to, a direction; the front (0, −1, 0) if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub toward: Option<[f64; 3]>,
    /// From hairline to chin; an eighth of the figure's height if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height: Option<Millimetres>,
    /// Where the eyes look, as seen by who looks at the face.
    #[serde(default)]
    pub gaze: Gaze,
    /// The colour of the iris; a dark brown if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub eyes: Option<String>,
}

/// Where eyes look.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
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
        for x in self.at {
            in_range("the place of a face in mm", x, -1e6, 1e6)?;
        }
        if let Some(toward) = self.toward {
            for x in toward {
                in_range("the direction of a face", x, -1e6, 1e6)?;
            }
            if toward.iter().all(|x| x.abs() < 1e-9) {
                return Err(SchemeError(
                    "a face is turned toward nothing: write a direction, such as toward = [0, -1, 0]".into(),
                ));
            }
        }
        if let Some(height) = self.height {
            in_range("the height of a face in mm", height.0, 0.01, 1e4)?;
        }
        Ok(())
    }
}

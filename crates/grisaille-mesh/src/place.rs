//! How a file's axes and numbers become scene millimetres.

use serde::{Deserialize, Serialize};

/// The axis of the file that points up.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum UpAxis {
    /// +Z up, the print convention.
    #[default]
    Z,
    /// +Y up, as sculpting programs often write.
    Y,
}

/// The unit of the file's numbers. STL does not carry one.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Unit {
    /// Millimetres, the print convention.
    #[default]
    Mm,
    /// Inches of 25.4 mm.
    Inch,
    /// Metres.
    M,
}

impl Unit {
    /// Millimetres in one unit.
    #[must_use]
    pub fn millimetres(self) -> f64 {
        match self {
            Self::Mm => 1.0,
            Self::Inch => 25.4,
            Self::M => 1000.0,
        }
    }
}

/// What the user knows of the file and the file does not say.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct ReadSettings {
    /// Which axis of the file points up.
    pub up: UpAxis,
    /// The unit of the file's numbers; not used when `height` is given.
    pub unit: Unit,
    /// The height of the printed model's box in millimetres, base included;
    /// scales the model to it. Positive and finite.
    pub height: Option<f64>,
}

/// Turns and scales a triangle soup in place. Turning is a permutation of
/// coordinates, so it is exact; scaling rounds each coordinate once.
pub(crate) fn scene_from_file(soup: &mut [[[f32; 3]; 3]], settings: &ReadSettings) {
    if settings.up == UpAxis::Y {
        // A quarter turn about +X: file +Y becomes +Z, file +Z (front) becomes −Y.
        for corner in soup.iter_mut().flatten() {
            *corner = [corner[0], -corner[2], corner[1]];
        }
    }
    let scale = match settings.height {
        Some(height) => {
            let mut low = f64::INFINITY;
            let mut high = f64::NEG_INFINITY;
            for corner in soup.iter().flatten() {
                low = low.min(f64::from(corner[2]));
                high = high.max(f64::from(corner[2]));
            }
            if high > low { height / (high - low) } else { 1.0 }
        }
        None => settings.unit.millimetres(),
    };
    if scale != 1.0 {
        for x in soup.iter_mut().flatten().flatten() {
            *x = (f64::from(*x) * scale) as f32;
        }
    }
}

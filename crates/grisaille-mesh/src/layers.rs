//! What printing leaves on a surface, if the user says how a model was printed.

use crate::mesh::Bounds;
use crate::place::{ReadSettings, printed_up};
use grisaille_base::{Code, Finding};
use serde::{Deserialize, Serialize};

/// How a model was printed.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Printed {
    /// How thick its layers are in mm of the print.
    pub layer: f64,
    /// Whether supports that were cut off have left scars on what faced the plate.
    pub scars: bool,
}

impl Printed {
    /// The thickest layer that makes sense, in mm.
    pub const THICKEST: f64 = 5.0;
}

/// The layers of a model as they lie in the scene.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Layers {
    /// How they were printed.
    pub printed: Printed,
    /// The way that they were laid one on another: a unit vector of the scene.
    pub up: [f64; 3],
    /// The box of the model in the scene.
    pub bounds: Bounds,
}

impl Layers {
    /// The layers of a model that was read.
    pub(crate) fn of(settings: &ReadSettings, bounds: Bounds) -> Option<Self> {
        settings.printed.map(|printed| Self { printed, up: printed_up(settings), bounds })
    }

    /// A step of the surface up to this is its grain, in mm: a stair of level layers is at most one layer deep, and
    /// a quarter more is for how such a depth is measured.
    #[must_use]
    pub fn grain_mm(&self) -> f64 {
        1.25 * self.printed.layer
    }

    /// What is said of them.
    pub(crate) fn finding(&self) -> Finding {
        let scars = match self.printed.scars {
            true => ", and so are rows of small pimples below, where supports were",
            false => "",
        };
        let hint = format!(
            "printed in layers of {:.3} mm: level lines up to {:.3} mm deep are taken for its grain{scars}: they are neither \
             lined nor caught with an edge highlight, and part no regions",
            self.printed.layer,
            self.grain_mm()
        );
        Finding::new(Code::PrintLayers, 1, hint)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Mesh, ReadError, join, read, without};
    use grisaille_base::Watch;
    use grisaille_bodies::{cuboid, stl};

    fn cube(settings: &ReadSettings) -> Result<Mesh, ReadError> {
        Ok(read(&stl(&cuboid([0.0; 3], [9.0; 3])), settings, &Watch::quiet())?.0)
    }

    #[test]
    fn layers_turn_with_the_model_and_stay_with_the_scene() {
        let printed = Some(Printed { layer: 0.2, scars: false });
        let of = |down: [f64; 3], turn: f64| {
            cube(&ReadSettings { printed, down, turn, ..ReadSettings::default() }).unwrap()
        };
        let near = |up: [f64; 3], want: [f64; 3]| (0..3).all(|i| (up[i] - want[i]).abs() < 1e-12);
        assert!(near(of([0.0; 3], 30.0).layers()[0].up, [0.0, 0.0, 1.0]));
        // What looked to +Y looks down now: the way up of the print came round to it from the other side.
        assert!(near(of([0.0, 1.0, 0.0], 0.0).layers()[0].up, [0.0, 1.0, 0.0]));
        assert!(near(of([0.0, 1.0, 0.0], 90.0).layers()[0].up, [-1.0, 0.0, 0.0]));
        let watch = Watch::quiet();
        let (scene, found) = join(&[of([0.0; 3], 0.0), of([0.0, 1.0, 0.0], 0.0)], &watch).unwrap();
        assert_eq!((scene.layers().len(), found.len()), (2, 1), "two cubes in one place: {found:?}");
        let mut away = vec![false; scene.faces().len()];
        away[0] = true;
        assert_eq!(without(&scene, &away, &watch).unwrap().0.layers(), scene.layers());
        assert!(cube(&ReadSettings::default()).unwrap().layers().is_empty());
    }

    #[test]
    fn layers_that_cannot_be_are_refused() {
        for layer in [0.0, -0.1, f64::NAN, f64::INFINITY, 6.0] {
            let printed = Some(Printed { layer, scars: false });
            let got = cube(&ReadSettings { printed, ..ReadSettings::default() });
            assert!(matches!(got, Err(ReadError::Setting(_))), "{layer}");
        }
    }
}

//! What a light is.

use crate::falloff::Falloff;
use grisaille_base::{LightId, Millimetres};
use grisaille_sight::FaceMask;
use nalgebra::{Point3, Unit, Vector3};

/// One light.
#[derive(Clone, Debug, PartialEq)]
pub struct Light {
    /// Names the light for as long as it exists.
    pub id: LightId,
    /// Its name: a unique ASCII token, as in exported files.
    pub name: String,
    /// What kind of light.
    pub kind: Kind,
    /// Which faces block it.
    pub mask: FaceMask,
}

/// The kinds of light and what exposure to each means.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Kind {
    /// A distant light: `max(0, n·l) · visible`. With an angular radius, the
    /// mean over that cap of the sky, scaled so that an open surface facing
    /// its axis gets 1.
    Zenithal {
        /// Degrees from straight above.
        tilt: f64,
        /// Degrees round the figure, from the front toward +X (the viewer's right).
        azimuth: f64,
        /// Angular radius in degrees; 0 for a sharp light.
        radius: f64,
    },
    /// The mean over all directions 45° from above, scaled so that an open
    /// level surface gets 1.
    Ring,
    /// The cosine-weighted visible share of the upper hemisphere of the sky,
    /// each part counted by how bright the sky is there, scaled so that an
    /// open level surface gets 1: under a uniform sky an open surface tilted by
    /// θ gets (1 + cos θ)/2.
    Ambient {
        /// How bright the sky is where.
        sky: Sky,
    },
    /// A lamp: `cos θ · (r₀/r)² · visible`. With a radius, a sphere of even
    /// brightness: the same wherever the whole sphere is in view. A painter's
    /// falloff multiplies that by [`Falloff::bend`] at the distance r to the
    /// centre: `cos θ · (r₀/r)ᵖ · f(r) · visible`.
    Point {
        /// The centre in scene millimetres.
        at: Point3<f64>,
        /// r₀, the distance in mm at which a surface that faces the lamp gets 1.
        reference: Millimetres,
        /// The radius of the lamp's glass in mm; 0 for a point.
        radius: Millimetres,
        /// Nothing within this distance of the centre blocks the light, nor
        /// anything within the glass.
        clear: Millimetres,
        /// How the light falls with distance.
        falloff: Falloff,
    },
}

/// How bright the sky of the ambient light is, by height above the horizon.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Sky {
    /// The same everywhere.
    #[default]
    Uniform,
    /// The traditional overcast sky, three times as bright overhead as at the
    /// horizon: L(γ) = Lz · (1 + 2 sin γ)/3 (P. Moon and D. E. Spencer, 1942;
    /// the sixteenth sky of CIE S 011/E:2003, ISO 15469:2004).
    Overcast,
}

impl Sky {
    /// The brightness, relative to that overhead, of the sky in a direction
    /// whose unit vector has this z, 0 to 1.
    #[must_use]
    pub fn brightness(self, z: f64) -> f64 {
        match self {
            Self::Uniform => 1.0,
            Self::Overcast => (1.0 + 2.0 * z) / 3.0,
        }
    }
}

/// The unit vector toward a distant light.
#[must_use]
pub fn toward(tilt_degrees: f64, azimuth_degrees: f64) -> Unit<Vector3<f64>> {
    let (st, ct) = tilt_degrees.to_radians().sin_cos();
    let (sa, ca) = azimuth_degrees.to_radians().sin_cos();
    Unit::new_normalize(Vector3::new(st * sa, -st * ca, ct))
}

//! The sides from which a light is looked at: its directions, or points on its
//! glass, and how much each counts.

use crate::directions::{cap, ring, sphere_points, upper_hemisphere};
use crate::exposure::ExposureSettings;
use crate::light::{Kind, Sky, toward};
use crate::rounds::evenly;
use grisaille_sight::{Samples, Source};
use nalgebra::{Point3, Unit, Vector3};

/// The sides of one light, in an order of which the first few lie evenly.
pub(crate) enum Sides {
    /// A distant light.
    Distant { phase: &'static str, axis: Unit<Vector3<f64>>, directions: Vec<Unit<Vector3<f64>>>, sky: Sky },
    /// A lamp, as the unit vectors from its centre to points on its glass, or
    /// none for a point.
    Lamp { at: Point3<f64>, radius: f64, clear: f64, out: Vec<Unit<Vector3<f64>>> },
}

impl Sides {
    pub(crate) fn of(kind: &Kind, settings: &ExposureSettings) -> Self {
        let distant = |phase, axis, sky, directions: Vec<_>| Self::Distant {
            phase,
            axis,
            directions: evenly(&directions),
            sky,
        };
        let up = Vector3::z_axis();
        match *kind {
            Kind::Zenithal { tilt, azimuth, radius } => {
                let axis = toward(tilt, azimuth);
                distant("zenithal", axis, Sky::Uniform, cap(axis, radius, settings.soft_directions))
            }
            Kind::Ring => distant("ring", up, Sky::Uniform, ring(settings.ring_directions.max(1))),
            Kind::Ambient { sky } => {
                distant("ambient", up, sky, upper_hemisphere(settings.ambient_directions.max(1)))
            }
            Kind::Point { at, radius, clear, .. } => {
                let count = if radius.0 > 0.0 { settings.soft_directions.max(1) } else { 0 };
                Self::Lamp { at, radius: radius.0, clear: clear.0, out: evenly(&sphere_points(count)) }
            }
        }
    }

    /// How many; 1 for a sharp light.
    pub(crate) fn len(&self) -> usize {
        match self {
            Self::Distant { directions, .. } => directions.len(),
            Self::Lamp { out, .. } => out.len().max(1),
        }
    }

    /// What work on them is called.
    pub(crate) fn phase(&self) -> &'static str {
        match self {
            Self::Distant { phase, .. } => phase,
            Self::Lamp { .. } => "lamps",
        }
    }

    /// The same light as if it were sharp.
    pub(crate) fn middle(&self) -> Self {
        match *self {
            Self::Distant { phase, axis, sky, .. } => {
                Self::Distant { phase, axis, directions: vec![axis], sky }
            }
            Self::Lamp { at, radius, clear, .. } => {
                Self::Lamp { at, radius: 0.0, clear: f64::max(clear, radius), out: Vec::new() }
            }
        }
    }

    /// The middle of a distant light; up for a lamp.
    pub(crate) fn axis(&self) -> Unit<Vector3<f64>> {
        match self {
            Self::Distant { axis, .. } => *axis,
            Self::Lamp { .. } => Vector3::z_axis(),
        }
    }

    /// Where light comes from on side `k`.
    pub(crate) fn source(&self, k: usize) -> Source {
        match self {
            Self::Distant { directions, .. } => Source::Direction(directions[k]),
            Self::Lamp { at, radius, clear, out } => match out.get(k) {
                // Nothing within the glass blocks: a point on its far side stands
                // for what is seen where the ray enters it.
                Some(out) => Source::Point {
                    at: at + out.into_inner() * *radius,
                    centre: *at,
                    clear: clear.max(*radius),
                },
                None => Source::Point { at: *at, centre: *at, clear: *clear },
            },
        }
    }

    /// How much side `k` counts for sample `i`, which is turned toward it.
    #[inline]
    pub(crate) fn weight(&self, samples: &Samples, k: usize, i: usize) -> f64 {
        let normal = samples.normal[i].cast::<f64>();
        match self {
            Self::Distant { directions, sky, .. } => {
                normal.dot(&directions[k]) * sky.brightness(directions[k].z)
            }
            Self::Lamp { at, radius, out, .. } => {
                let Some(out) = out.get(k) else { return 1.0 };
                let to = at + out.into_inner() * *radius - samples.position[i].cast::<f64>();
                // A patch of the glass fills its cosine over the square of the
                // distance of the view, on the near side and on the far one, and
                // gives by the other cosine; the two vectors are not unit, hence
                // the fourth power.
                out.dot(&to).abs() * normal.dot(&to) / to.norm_squared().powi(2)
            }
        }
    }

    /// What the first `count` directions give an open surface that faces the axis.
    pub(crate) fn facing(&self, count: usize) -> f64 {
        match self {
            Self::Distant { axis, directions, .. } => {
                directions.iter().take(count).map(|d| axis.dot(d).max(0.0)).sum()
            }
            Self::Lamp { .. } => 1.0,
        }
    }
}

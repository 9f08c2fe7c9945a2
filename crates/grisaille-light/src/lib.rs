//! Exposure: how much of each light reaches each sample, linear in light.
//!
//! [`exposure`] takes a surface, an engine that answers visibility, and the
//! lights; it gives one number for each light and sample. What each number
//! means stands at [`Kind`]. Buried samples get 0 from every light.
//! [`openness`] knows no light: it is how much each sample sees near itself.

mod bounce;
mod closed_form;
mod directions;
mod exposure;
mod falloff;
mod kept;
mod light;
mod open;
mod openness;
mod rounds;
mod sides;
mod spray;

pub use bounce::{BounceSettings, Bounced, bounce};
pub use closed_form::{ambient_open, ring_open, sphere_light_open};
pub use directions::{cap, ring, sphere_points, upper_hemisphere};
pub use exposure::{Exposure, ExposureSettings, LightExposure, exposure, exposure_in_rounds};
pub use falloff::Falloff;
pub use kept::Cache;
pub use light::{Kind, Light, Sky, toward};
pub use open::open_exposure;
pub use openness::{OpennessSettings, openness};
pub use rounds::Round;
pub use spray::{SprayAxis, SprayCache, spray_exposure};

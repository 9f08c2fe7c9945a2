//! What the painter has decided, as plain data: lights, the span of values,
//! bands, emphasis, and how finely to work. A scheme is read before any light is
//! computed and knows nothing of meshes or exposure.

mod bounce;
mod emphasis;
mod lights;
mod scheme;

pub use bounce::BounceChoice;
pub use emphasis::{Emphasis, FocalPoint, Spread};
pub use lights::{FalloffChoice, LightChoice, LightEntry, SkyChoice, default_rig};
pub use scheme::{BandChoice, BrushChoice, Fineness, Scheme, SchemeError, SurfaceChoice, ValueChoice};

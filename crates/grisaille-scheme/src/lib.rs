//! What the painter has decided, as plain data: lights, the span of values,
//! bands, and how finely to work. A scheme is read before any light is
//! computed and knows nothing of meshes or exposure.

mod lights;
mod scheme;

pub use lights::{LightChoice, LightEntry, default_rig};
pub use scheme::{BandChoice, BrushChoice, Fineness, Scheme, SchemeError, SurfaceChoice, ValueChoice};

//! What can see what.
//!
//! [`surface`] turns a clean mesh into a [`Surface`]: refined so that a shadow
//! edge can fall anywhere, with samples that carry normals, ray origins and
//! the word whether they are buried in another piece. [`Sight`] answers
//! visibility for a whole batch of samples and one source; there are two
//! engines, [`BruteForce`] for tests and [`TreeSight`] on parry3d's tree.
//!
//! What a [`Surface`] guarantees: its shape is the mesh's shape (to the
//! rounding of `f32`); every sample has a unit normal; a sample's origin lies
//! off the surface by a stated bound ([`Samples::offset`]); samples and faces
//! stand in an order that depends on the mesh and the settings alone.

mod bits;
mod buried;
mod engine;
mod flip;
mod hollow;
mod occluder;
mod order;
mod pick;
mod reach;
mod split;
mod surface;
mod sweep;
mod wide;
mod winding;

pub use bits::Bits;
pub use engine::{BruteForce, Sight, Source, TreeSight};
pub use occluder::{FaceMask, Occluders};
pub use pick::Pick;
pub use surface::{Samples, Surface, SurfaceSettings, default_spacing, surface};
pub use sweep::{SweepSight, Width};
pub use wide::{Meeting, SurfaceTree};

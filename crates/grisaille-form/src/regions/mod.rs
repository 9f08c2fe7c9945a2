//! Regions: the surface divided into named areas, each painted as one material.
//!
//! ```text
//! Shape -> patches -> links -> merge tree -> a level of so many regions --+
//!             |                                                          +-> settled borders -> Regions
//!             +-> random walk from seeds --------------------------------+
//! ```
//!
//! [`Ground`] keeps all that does not depend on seeds, levels or edits.

mod anchor;
mod beside;
mod edit;
mod faces;
mod flow;
mod ground;
mod grow;
mod island;
mod link;
mod patch;
mod result;
mod settle;
mod stairs;
mod swatch;
mod told;
mod touch;
mod tree;
mod walk;

pub(crate) use anchor::nearest_point;
pub use anchor::{Anchor, Seed};
pub use edit::{Division, Edit, Source};
pub use ground::{Ground, GroundSettings};
pub use result::{Neighbour, Region, Regions};
pub use swatch::{SWATCHES, swatches};

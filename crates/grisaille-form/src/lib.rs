//! What the shape asks for, before any paint: its curvature, the recesses to
//! line and the edges to catch, and its division into regions.
//!
//! All of it works on a [`Shape`]: the refined surface as one net, in which
//! samples of one place are one vertex, so that neighbours meet across creases.

mod shape;

pub use shape::Shape;

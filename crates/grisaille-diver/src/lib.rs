//! The demo model of grisaille: a hard-hat diver on the sea bed, 54 mm tall.
//!
//! Every piece is a signed distance, meshed on its own grid into its own
//! closed shell; the pieces overlap without being joined, as sculptors build
//! them. Axes are the scene's: millimetres, +Z up, front is −Y, the origin is
//! the centre of the underside of the base.
//!
//! ```text
//! distance, noise, curve    shapes to build from
//! pose                      joints, and the frames that turn with them
//! helmet head corselet suit belt glove rope hose boot lamp reef
//! meshing                   a distance -> a closed shell
//! diver, decimate, stl      all pieces; fewer triangles; the file
//! ```

mod belt;
mod boot;
mod corselet;
mod curve;
mod decimate;
mod distance;
mod diver;
mod glove;
mod head;
mod helmet;
mod hose;
mod lamp;
mod meshing;
mod noise;
mod pose;
mod reef;
mod rope;
mod stl;
mod suit;

pub use diver::{Diver, DiverPiece, DiverSettings, FACE, HEIGHT, LAMP, diver};

//! Model files in, one clean triangle mesh out.
//!
//! [`read`] takes the bytes of an STL, OBJ, 3MF or PLY file and gives a [`Mesh`] and the
//! findings made on the way. What a [`Mesh`] guarantees, and what nobody
//! downstream checks again:
//!
//! - every coordinate is finite; millimetres; scene axes (right-handed, +Z up);
//! - vertices are welded where their coordinates are equal bit for bit
//!   (−0 counts as +0), every vertex is used, and every face has three
//!   different vertices;
//! - vertices and faces stand in a canonical order that does not depend on
//!   the order in the file;
//! - every face belongs to exactly one piece; a closed piece is wound
//!   outward (a cavity inside another piece: into the cavity), and so is one that is closed but for
//!   small holes, whose lids stand apart from the faces.

mod corner;
mod deal;
mod dissolve;
mod edge;
mod faults;
mod flip;
mod inside;
mod join;
mod layers;
mod lid;
mod marker;
mod mesh;
mod mtl;
mod near;
mod net;
mod number;
mod obj;
mod orient;
mod parts;
mod place;
mod ply;
mod polygon;
mod read;
mod section;
mod sets;
mod soup;
mod stl;
mod supports;
mod text;
mod thin;
mod threemf;
mod upright;
mod weld;
mod what;

pub use corner::{Corners, corners};
pub use edge::{NO_TWIN, twins};
pub use faults::{Faults, faults};
pub use join::{join, model_of_face, without};
pub use layers::{Layers, Printed};
pub use lid::Lid;
pub use mesh::{Bounds, Counts, Mesh, Piece, face_cross};
pub use mtl::{Beside, material_files};
pub use net::{Net, next, prev};
pub use orient::solid_angle;
pub use parts::{Part, Parts, parts};
pub use place::{ReadSettings, Unit, UpAxis};
pub use read::{ReadError, read, read_beside, read_owned, welded};
pub use sets::{find, unite};
pub use soup::Mark;
pub use supports::{Supports, supports};
pub use thin::thinned;
pub use upright::{Upright, upright};
pub use what::MODEL_ENDINGS;

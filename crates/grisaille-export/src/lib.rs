//! The region map: the surface that carries region, band, zone and exposure,
//! written as PLY, GLB, 3MF, JSON and CSV. Layouts are described in `docs/map.md`.
//!
//! Writers take `&mut impl Write` and never touch a file themselves.

mod columns;
mod glb;
mod glb_file;
mod json;
mod objects;
mod parted;
mod ply;
mod primer;
mod rows;
mod table;
mod three_mf;

pub use columns::{Columns, columns};
pub use glb::write_glb;
pub use json::{MapSettings, map_schema, summary};
pub use ply::write_ply;
pub use table::{table_schema, write_csv};
pub use three_mf::{MapModels, write_3mf};

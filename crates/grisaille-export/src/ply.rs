//! PLY, binary little endian (G. Turk, The PLY Polygon File Format, 1994).

use crate::columns::Columns;
use grisaille_plan::Plan;
use std::io::{self, Write};

/// Writes all samples and all faces, buried ones too. Millimetres, scene axes.
///
/// # Errors
/// What the writer gives.
pub fn write_ply(out: &mut impl Write, plan: &Plan, columns: &Columns) -> io::Result<()> {
    let samples = &plan.surface.samples;
    let mut header = format!(
        "ply\nformat binary_little_endian 1.0\ncomment grisaille region map, millimetres, +Z up, front -Y\n\
         element vertex {}\n",
        samples.len()
    );
    let mut property = |kind: &str, name: &str| header.push_str(&format!("property {kind} {name}\n"));
    for name in ["x", "y", "z", "nx", "ny", "nz"] {
        property("float", name);
    }
    for (name, _) in &columns.exposures {
        property("float", name);
    }
    property("float", "value");
    // Kinds by their width: a widely used reader takes `uchar` for signed and knows no `ushort`.
    for name in ["band", "zone", "buried"] {
        property("uint8", name);
    }
    property("uint16", "region");
    for name in ["red", "green", "blue"] {
        property("uint8", name);
    }
    header.push_str(&format!(
        "element face {}\nproperty list uchar int vertex_indices\nend_header\n",
        plan.surface.faces.len()
    ));
    out.write_all(header.as_bytes())?;
    let mut row = Vec::new();
    for s in 0..samples.len() {
        row.clear();
        for x in samples.position[s].iter().chain(samples.normal[s].iter()) {
            row.extend(x.to_le_bytes());
        }
        for (_, values) in &columns.exposures {
            row.extend(values[s].to_le_bytes());
        }
        row.extend(plan.values.lightness[s].to_le_bytes());
        row.extend([columns.band[s], columns.zone[s], columns.buried[s]]);
        row.extend(columns.region[s].to_le_bytes());
        row.extend(columns.shown(s).to_srgb8());
        out.write_all(&row)?;
    }
    for face in &plan.surface.faces {
        row.clear();
        row.push(3);
        row.extend(face.iter().flat_map(|s| s.to_le_bytes()));
        out.write_all(&row)?;
    }
    Ok(())
}

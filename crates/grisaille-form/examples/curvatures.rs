//! Dumps the curvature of a model's own net, for a check by a library that we did not write:
//! `curvatures <model.stl> <output> <height in mm, 0 for as it is> <up axis: z or y> <rings>`.
//!
//! The radius is so many mean edges long, over √2: a quadric fitted over a disc evens curvature out
//! as far along each axis as a spot with the moments of an even disc of that radius.
//! `tests/oracles/form.py` reads the file:
//!
//! ```text
//! 8 bytes   "griscurv"
//! 2 × u32   vertices V, faces F
//! f64       the radius in mm
//! V × 3 f32 positions, F × 3 u32 faces
//! V × 2 f32 the greater and the smaller curvature per mm
//! V × f64   the defects of the angles
//! ```
//!
//! All little endian.

use grisaille_base::{Millimetres, Watch};
use grisaille_form::{Shape, angle_defects, curvature};
use grisaille_mesh::{ReadSettings, UpAxis, read};
use std::error::Error;

fn main() -> Result<(), Box<dyn Error>> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let [model, output, height, up, rings] = args.as_slice() else {
        return Err(
            "give a model, an output file, a height in mm (0: as it is), z or y, and how many rings".into()
        );
    };
    let (height, rings): (f64, f64) = (height.parse()?, rings.parse()?);
    let settings = ReadSettings {
        up: if up == "y" { UpAxis::Y } else { UpAxis::Z },
        height: (height > 0.0).then_some(height),
        ..ReadSettings::default()
    };
    let watch = Watch::quiet();
    let (mesh, _) = read(&std::fs::read(model)?, &settings, &watch)?;
    let shape = Shape::new(mesh.positions().to_vec(), mesh.faces().to_vec());
    let at = |v: u32| shape.positions()[v as usize].cast::<f64>();
    let halves = 0..3 * shape.faces().len() as u32;
    let lengths = halves.map(|half| shape.ends(half)).map(|[a, b]| (at(b) - at(a)).norm());
    let radius = rings * lengths.sum::<f64>() / (3 * shape.faces().len()) as f64 / 2.0_f64.sqrt();
    let found = curvature(&shape, Millimetres(radius), &watch)?;
    let mut out = b"griscurv".to_vec();
    for count in [shape.positions().len(), shape.faces().len()] {
        out.extend((count as u32).to_le_bytes());
    }
    out.extend(radius.to_le_bytes());
    out.extend(
        shape.positions().iter().flat_map(|p| p.iter().flat_map(|x| x.to_le_bytes()).collect::<Vec<_>>()),
    );
    out.extend(shape.faces().iter().flatten().flat_map(|v| v.to_le_bytes()));
    for (most, least) in found.most.iter().zip(&found.least) {
        out.extend([most, least].into_iter().flat_map(|k| k.to_le_bytes()));
    }
    out.extend(angle_defects(&shape, &watch)?.into_iter().flat_map(f64::to_le_bytes));
    std::fs::write(output, out)?;
    Ok(())
}

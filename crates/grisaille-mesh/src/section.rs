//! Faces cut by level planes.

use nalgebra::{Point3, Vector3};

/// Where a level plane cuts a face.
pub(crate) struct Section {
    /// The ends of the cut, relative to the middle.
    pub(crate) ends: [[f64; 2]; 2],
    /// What it adds to the area of the section that all faces together enclose: by Green's theorem, with the inside on
    /// the left; negative where it goes round a hollow.
    pub(crate) area: f64,
}

/// Cuts a face at a height; `outward` is the way that it faces, of any length, and `middle` where areas are told from.
/// Nothing where the plane passes it.
pub(crate) fn section(
    corners: &[Point3<f64>; 3],
    outward: &Vector3<f64>,
    z: f64,
    [x, y]: [f64; 2],
) -> Option<Section> {
    let mut ends = [[0.0; 2]; 2];
    let mut found = 0;
    for i in 0..3 {
        let (a, b) = (corners[i], corners[(i + 1) % 3]);
        // One side counts as below, so that a corner is met once, and no more than two sides cross.
        if (a.z < z) != (b.z < z) {
            let p = a + (b - a) * ((z - a.z) / (b.z - a.z));
            ends[found] = [p.x - x, p.y - y];
            found += 1;
        }
    }
    if found < 2 {
        return None;
    }
    let [p, q] = ends;
    let along = (q[1] - p[1]) * outward.x - (q[0] - p[0]) * outward.y;
    let twice = p[0] * q[1] - q[0] * p[1];
    Some(Section { ends, area: 0.5 * if along < 0.0 { -twice } else { twice } })
}

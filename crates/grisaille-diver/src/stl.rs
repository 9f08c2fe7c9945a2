//! The binary STL of the diver.

use crate::diver::Diver;
use fast_surface_nets::glam::Vec3;

/// Begins the file; must not begin with "solid", which readers take for text.
const HEADER: &[u8] = b"grisaille demo: hard-hat diver on the sea bed, 54 mm, +Z up, millimetres";

impl Diver {
    /// All pieces as one binary STL: 80 bytes of plain text, the count, then
    /// 50 bytes for each triangle. Positions in mm; each normal is the unit
    /// normal of its triangle.
    #[must_use]
    pub fn stl(&self) -> Vec<u8> {
        let count: usize = self.pieces.iter().map(|p| p.triangles.len()).sum();
        let mut out = Vec::with_capacity(84 + 50 * count);
        out.extend_from_slice(HEADER);
        out.resize(80, b' ');
        out.extend_from_slice(&(count as u32).to_le_bytes());
        for triangle in self.pieces.iter().flat_map(|p| &p.triangles) {
            let [a, b, c] = triangle.map(Vec3::from);
            let normal = (b - a).as_dvec3().cross((c - a).as_dvec3()).normalize_or_zero().as_vec3();
            for v in [normal, a, b, c] {
                for n in v.to_array() {
                    out.extend_from_slice(&n.to_le_bytes());
                }
            }
            out.extend_from_slice(&[0, 0]);
        }
        out
    }
}

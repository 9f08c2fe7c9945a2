//! What lies beside a face: across its edges, also where the net is unsound.

use crate::Shape;

/// No face lies beside.
pub(crate) const OPEN: u32 = u32::MAX;

/// For each half-edge of a shape another on the same edge: its partner, or at
/// an edge of more than two faces, or of two that disagree in winding, the next
/// in a ring of all of them; [`OPEN`] at an open edge. Length 3 × faces.
pub(crate) fn beside(shape: &Shape) -> Vec<u32> {
    let halves = 3 * shape.faces().len() as u32;
    let mut beside: Vec<u32> = (0..halves).map(|h| shape.across(h).unwrap_or(OPEN)).collect();
    let mut alone: Vec<([u32; 2], u32)> = (0..halves)
        .filter(|h| beside[*h as usize] == OPEN)
        .map(|h| {
            let [a, b] = shape.ends(h);
            ([a.min(b), a.max(b)], h)
        })
        .collect();
    alone.sort_unstable();
    for ring in alone.chunk_by(|a, b| a.0 == b.0).filter(|ring| ring.len() > 1) {
        for (k, (_, half)) in ring.iter().enumerate() {
            beside[*half as usize] = ring[(k + 1) % ring.len()].1;
        }
    }
    beside
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::Point3;

    #[test]
    fn three_faces_at_one_edge_are_a_ring_and_open_edges_stay_open() {
        let points = [[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, -1.0, 0.0], [0.0, 0.0, 1.0]];
        let positions: Vec<Point3<f32>> = points.map(Point3::from).to_vec();
        let shape = Shape::new(positions, vec![[0, 1, 2], [1, 0, 3], [0, 1, 4]]);
        let beside = beside(&shape);
        assert_eq!([beside[0], beside[3], beside[6]], [3, 6, 0]);
        assert_eq!(beside.iter().filter(|b| **b == OPEN).count(), 6);
    }
}

//! The edges at which a surface is not whole, one by one, to be shown.

use crate::edge::edges;

/// Edges of a mesh that have one face, or more than two. Each is a pair of vertices, the lower first, in order.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Faults {
    /// Edges of one face only: the surface ends there.
    pub open: Vec<[u32; 2]>,
    /// Edges of more than two faces.
    pub crowded: Vec<[u32; 2]>,
}

/// Looks for them among `faces`, which index vertices.
#[must_use]
pub fn faults(faces: &[[u32; 3]]) -> Faults {
    let mut found = Faults::default();
    for mut group in edges(faces).groups() {
        let several = group.len();
        let Some(half) = group.next() else { continue };
        let (face, c) = (faces[half.face()], half.index as usize % 3);
        let (a, b) = (face[c], face[(c + 1) % 3]);
        match several {
            1 => found.open.push([a.min(b), a.max(b)]),
            2 => {}
            _ => found.crowded.push([a.min(b), a.max(b)]),
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_rim_of_two_triangles_and_the_back_of_three_leaves() {
        let two = faults(&[[0, 1, 2], [2, 1, 3]]);
        assert_eq!(two, Faults { open: vec![[0, 1], [0, 2], [1, 3], [2, 3]], crowded: vec![] });
        let book = faults(&[[0, 1, 2], [1, 0, 3], [0, 1, 4]]);
        assert_eq!((book.open.len(), book.crowded), (6, vec![[0, 1]]));
        assert_eq!(faults(&[[0, 1, 2], [0, 2, 3], [0, 3, 1], [1, 3, 2]]), Faults::default());
    }
}

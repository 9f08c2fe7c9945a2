//! The clean mesh and its measures.

use crate::layers::Layers;
use crate::lid::Lid;
use crate::soup::Mark;
use crate::supports::Supports;
use grisaille_base::PieceId;
use nalgebra::{Point3, Vector3};
use serde::Serialize;
use std::sync::OnceLock;

/// An axis-aligned box in scene millimetres.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Bounds {
    /// The corner of least coordinates.
    pub low: [f32; 3],
    /// The corner of greatest coordinates.
    pub high: [f32; 3],
}

impl Bounds {
    /// The box of some points; a box at the origin without size for none.
    pub fn of<'a>(points: impl IntoIterator<Item = &'a Point3<f32>>) -> Self {
        let mut bounds = Self::NOTHING;
        for p in points {
            bounds.add(p);
        }
        if bounds.low[0] > bounds.high[0] { Self { low: [0.0; 3], high: [0.0; 3] } } else { bounds }
    }

    /// The box to begin with: any point added becomes the whole of it.
    pub(crate) const NOTHING: Self = Self { low: [f32::INFINITY; 3], high: [f32::NEG_INFINITY; 3] };

    /// Widens the box to hold a point.
    pub(crate) fn add(&mut self, p: &Point3<f32>) {
        for i in 0..3 {
            self.low[i] = self.low[i].min(p[i]);
            self.high[i] = self.high[i].max(p[i]);
        }
    }

    /// The box round two boxes.
    pub(crate) fn and(&self, other: &Self) -> Self {
        Self {
            low: [0, 1, 2].map(|i| self.low[i].min(other.low[i])),
            high: [0, 1, 2].map(|i| self.high[i].max(other.high[i])),
        }
    }

    /// Width, depth and height in millimetres.
    #[must_use]
    pub fn extents(&self) -> [f64; 3] {
        [0, 1, 2].map(|i| f64::from(self.high[i]) - f64::from(self.low[i]))
    }

    /// The middle of the box.
    #[must_use]
    pub fn centre(&self) -> [f64; 3] {
        [0, 1, 2].map(|i| 0.5 * (f64::from(self.high[i]) + f64::from(self.low[i])))
    }

    /// The length of the box's diagonal.
    #[must_use]
    pub fn diagonal(&self) -> f64 {
        self.extents().iter().map(|x| x * x).sum::<f64>().sqrt()
    }

    /// Whether a point lies in the box or on it.
    #[must_use]
    pub fn holds(&self, p: [f64; 3]) -> bool {
        (0..3).all(|i| f64::from(self.low[i]) <= p[i] && p[i] <= f64::from(self.high[i]))
    }
}

/// One connected part of the surface.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Piece {
    /// Number of faces.
    pub faces: u32,
    /// Every edge is met as often in one direction as in the other, so that
    /// inside and outside are defined.
    pub closed: bool,
    /// Closed, or closed but for small holes over which lids are laid ([`Mesh::lids`]).
    #[serde(skip)]
    pub shut: bool,
    /// The wall of a cavity inside another piece: closed, wound into the cavity.
    pub cavity: bool,
    /// Surface in mm².
    pub area_mm2: f64,
    /// Enclosed volume in mm³ (negative for a cavity); 0 for an open piece.
    pub volume_mm3: f64,
    /// The same with lids over small holes.
    #[serde(skip)]
    pub(crate) within_mm3: f64,
    /// The piece's box.
    pub bounds: Bounds,
}

/// What was counted after bit-equal welding and before any mending.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Counts {
    /// Triangles as parsed.
    pub triangles: u64,
    /// Different points.
    pub vertices: u64,
    /// Connected parts.
    pub pieces: u64,
    /// Edges of one face only.
    pub boundary_edges: u64,
    /// Edges of more than two faces.
    pub non_manifold_edges: u64,
    /// Edges of two faces that disagree in winding.
    pub inconsistent_edges: u64,
    /// Faces whose area is 0, those with two equal corners included. Slivers whose
    /// area is not quite 0 are mended as these are, and counted in the findings.
    pub zero_area_faces: u64,
}

/// A clean triangle mesh. Its guarantees head this crate's documentation.
#[derive(Clone, Debug, PartialEq)]
pub struct Mesh {
    pub(crate) positions: Vec<Point3<f32>>,
    pub(crate) faces: Vec<[u32; 3]>,
    pub(crate) piece_of_face: Vec<PieceId>,
    pub(crate) pieces: Vec<Piece>,
    pub(crate) marks: Vec<Mark>,
    pub(crate) mark_of_face: Vec<u32>,
    pub(crate) lids: Vec<Lid>,
    pub(crate) layers: Vec<Layers>,
    pub(crate) counts: Counts,
    /// Asked for in every frame of a window, so it is not sought anew each time.
    pub(crate) bounds: Bounds,
    pub(crate) known: Known,
}

/// Print supports, once they have been sought: planning, regions and reports ask for them.
#[derive(Clone, Debug, Default)]
pub(crate) struct Known(pub(crate) OnceLock<Option<Supports>>);

/// What follows from a mesh makes no difference between two.
impl PartialEq for Known {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

impl Mesh {
    /// Vertex positions in scene millimetres.
    #[must_use]
    pub fn positions(&self) -> &[Point3<f32>] {
        &self.positions
    }

    /// Faces as indices into [`Mesh::positions`], counter-clockwise from outside.
    #[must_use]
    pub fn faces(&self) -> &[[u32; 3]] {
        &self.faces
    }

    /// The piece of each face.
    #[must_use]
    pub fn piece_of_face(&self) -> &[PieceId] {
        &self.piece_of_face
    }

    /// The pieces, largest surface first.
    #[must_use]
    pub fn pieces(&self) -> &[Piece] {
        &self.pieces
    }

    /// What the file says of its faces (parts' names, colours), in order; none
    /// where it tells no faces apart.
    #[must_use]
    pub fn marks(&self) -> &[Mark] {
        &self.marks
    }

    /// For each face the place in [`Mesh::marks`] of what the file says of it;
    /// empty where there are no marks.
    #[must_use]
    pub fn mark_of_face(&self) -> &[u32] {
        &self.mark_of_face
    }

    /// Lids over the small holes of pieces that are closed but for them: where it matters
    /// what is inside and what outside, they stand beside the faces. Nobody shows, lights
    /// or writes them.
    #[must_use]
    pub fn lids(&self) -> &[Lid] {
        &self.lids
    }

    /// The layers of which its models were printed, of those of which that is known.
    #[must_use]
    pub fn layers(&self) -> &[Layers] {
        &self.layers
    }

    /// The faces and lids of pieces that have an inside, as their corners.
    pub fn shut_faces(&self) -> impl Iterator<Item = (PieceId, [Point3<f32>; 3])> + '_ {
        let faces = self.faces.iter().zip(&self.piece_of_face);
        let faces = faces.map(|(f, p)| (*p, f.map(|v| self.positions[v as usize])));
        let lids = self.lids.iter().map(|l| (l.piece, l.corners));
        faces.filter(|(p, _)| self.pieces[p.index()].shut).chain(lids)
    }

    /// What the file held before mending.
    #[must_use]
    pub fn counts(&self) -> Counts {
        self.counts
    }

    /// The box round all vertices.
    #[must_use]
    pub fn bounds(&self) -> Bounds {
        self.bounds
    }

    /// Surface in mm², all pieces.
    #[must_use]
    pub fn area_mm2(&self) -> f64 {
        self.pieces.iter().map(|p| p.area_mm2).sum()
    }

    /// Enclosed volume in mm³: the sum over closed pieces, overlaps counted twice.
    #[must_use]
    pub fn volume_mm3(&self) -> f64 {
        self.pieces.iter().map(|p| p.volume_mm3).sum()
    }
}

/// The cross product of two edges of a face, in `f64`: along the outward
/// normal, twice as long as the face is large.
#[must_use]
pub fn face_cross(positions: &[Point3<f32>], face: [u32; 3]) -> Vector3<f64> {
    let [a, b, c] = face.map(|v| positions[v as usize].cast::<f64>());
    (b - a).cross(&(c - a))
}

/// Whether a face's area is 0.
pub(crate) fn has_no_area(positions: &[Point3<f32>], face: [u32; 3]) -> bool {
    face_cross(positions, face) == Vector3::zeros()
}

/// Whether a face has as good as no area: its height over its longest edge is below
/// 1e-9 of that edge, which is under the rounding of any `f32` coordinate.
pub(crate) fn is_flat(positions: &[Point3<f32>], face: [u32; 3]) -> bool {
    let [a, b, c] = face.map(|v| positions[v as usize].cast::<f64>());
    let longest = (b - a).norm_squared().max((c - b).norm_squared()).max((a - c).norm_squared());
    face_cross(positions, face).norm() <= 1e-9 * longest
}

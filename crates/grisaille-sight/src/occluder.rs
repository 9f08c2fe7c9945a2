//! What blocks light: the mesh's own faces, and the exact test of one ray
//! against one of them.

use crate::bits::Bits;
use grisaille_mesh::{Mesh, Piece};
use nalgebra::{Point3, Vector3};

/// Which faces block light. A light may name faces that let it through.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum FaceMask {
    /// Every face blocks.
    #[default]
    All,
    /// Only faces whose bit is not set block.
    Except(Bits),
}

impl FaceMask {
    /// Whether a face blocks.
    #[must_use]
    pub fn blocks(&self, face: usize) -> bool {
        match self {
            Self::All => true,
            Self::Except(open) => !open.get(face),
        }
    }
}

/// Faces that may block, held apart from any engine's tree. The shape is the
/// mesh as it was read, before refining: fewer faces, and no rounding.
#[derive(Clone, Debug)]
pub struct Occluders {
    pub(crate) positions: Vec<Point3<f32>>,
    pub(crate) faces: Vec<[u32; 3]>,
    /// Faces of closed pieces, which block only rays that enter the solid.
    pub(crate) closed: Bits,
}

impl Occluders {
    /// The faces of a mesh.
    #[must_use]
    pub fn of(mesh: &Mesh) -> Self {
        let mut closed = Bits::new(mesh.faces().len());
        for (f, piece) in mesh.piece_of_face().iter().enumerate() {
            let Piece { closed: is_closed, .. } = mesh.pieces()[piece.index()];
            closed.set(f, is_closed);
        }
        Self { positions: mesh.positions().to_vec(), faces: mesh.faces().to_vec(), closed }
    }

    /// The faces of a mesh and the lids over its small holes: for questions about inside and
    /// outside, where no way may lead through a hole. Nothing without lids.
    pub(crate) fn with_lids(mesh: &Mesh) -> Option<Self> {
        if mesh.lids().is_empty() {
            return None;
        }
        let Self { mut positions, mut faces, .. } = Self::of(mesh);
        for lid in mesh.lids() {
            let first = positions.len() as u32;
            positions.extend(lid.corners);
            faces.push([first, first + 1, first + 2]);
        }
        let closed = Bits::new(faces.len());
        Some(Self { positions, faces, closed })
    }

    /// The number of faces.
    #[must_use]
    pub fn len(&self) -> usize {
        self.faces.len()
    }

    /// Whether there are none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.faces.is_empty()
    }

    /// Whether face `f` blocks the ray from `origin` along `direction`
    /// between the distances `near` and `far` (in lengths of `direction`).
    ///
    /// The side of each edge on which the ray passes is a triple product in
    /// `f64`, computed from the two ends in a way that changes its sign
    /// exactly, and nothing else, when they are swapped: neighbouring faces
    /// agree on their common edge, and an edge that is hit exactly belongs to
    /// both, so no ray slips between them (the idea of Woop, Benthin and Wald,
    /// J. Computer Graphics Techniques 2(1), 2013).
    ///
    /// From outside a closed piece every blocked ray must enter it somewhere,
    /// so with `entering` the faces of closed pieces that show the light their
    /// inner side are left out, which also keeps a surface from shadowing
    /// itself.
    pub(crate) fn blocks(&self, f: usize, ray: &Ray, entering: bool) -> bool {
        self.crossing(f, ray, entering).is_some()
    }

    /// Where a ray crosses face `f`, if that blocks it: see [`Occluders::blocks`].
    pub(crate) fn crossing(&self, f: usize, ray: &Ray, entering: bool) -> Option<Crossing> {
        let [a, b, c] = self.faces[f].map(|v| self.positions[v as usize].cast::<f64>() - ray.origin);
        let side = |p: &Vector3<f64>, q: &Vector3<f64>| ray.direction.dot(&p.cross(q));
        let (ab, bc, ca) = (side(&a, &b), side(&b, &c), side(&c, &a));
        let volume = ab + bc + ca;
        // `volume` is the direction's share along the face's normal, with
        // the sign of the side from which the ray comes.
        let one_side = (ab >= 0.0 && bc >= 0.0 && ca >= 0.0) || (ab <= 0.0 && bc <= 0.0 && ca <= 0.0);
        if !one_side || volume == 0.0 || (entering && volume > 0.0 && self.closed.get(f)) {
            return None;
        }
        let normal = (b - a).cross(&(c - a));
        let distance = normal.dot(&a) / normal.dot(&ray.direction);
        (distance > ray.near && distance < ray.far).then_some(Crossing { distance, front: volume < 0.0 })
    }
}

/// Where a ray crosses a face.
pub(crate) struct Crossing {
    /// In lengths of the ray's direction.
    pub(crate) distance: f64,
    /// Whether the ray meets the outer side.
    pub(crate) front: bool,
}

/// A ray with the stretch of it that counts.
pub(crate) struct Ray {
    pub(crate) origin: Point3<f64>,
    pub(crate) direction: Vector3<f64>,
    pub(crate) near: f64,
    pub(crate) far: f64,
}

//! The surface as its faces: middles, normals without grain, and neighbours.

use super::beside::{OPEN, beside};
use super::stairs::without_stairs;
use crate::Shape;
use grisaille_base::{PieceId, Stop, Watch};
use grisaille_mesh::Layers;
use nalgebra::{Point3, Vector3};

/// The most rounds of evening out; more are only asked for by very fine nets.
const ROUNDS: usize = 12;

/// What is known of each face beside its shape.
#[derive(Clone, Debug)]
pub(crate) struct Faces {
    /// The piece of each face.
    pub(crate) piece: Vec<PieceId>,
    /// For each half-edge another on the same edge, or [`OPEN`].
    pub(crate) beside: Vec<u32>,
    pub(crate) middles: Vec<Point3<f32>>,
    /// Unit normals evened out over the reach; zero where nothing has an area.
    pub(crate) normals: Vec<Vector3<f32>>,
}

impl Faces {
    /// `reach` in mm is how far normals are evened out: what is finer is grain,
    /// not form, and so are the stairs of a print's layers.
    pub(crate) fn of(
        shape: &Shape,
        piece: Vec<PieceId>,
        layers: &[Layers],
        reach: f64,
        watch: &Watch,
    ) -> Result<Self, Stop> {
        let count = shape.faces().len();
        let middles = watch.map(count, |f| {
            let [a, b, c] = shape.faces()[f].map(|v| shape.positions()[v as usize].coords);
            Point3::from((a + b + c) / 3.0)
        })?;
        let mut faces = Self { piece, beside: beside(shape), middles, normals: shape.normals().to_vec() };
        watch.check()?;
        faces.normals = without_stairs(shape, &faces, layers, watch)?;
        let area: f64 = shape.areas().iter().map(|a| f64::from(*a)).sum();
        // The side of an equilateral triangle of the mean area, and how far one
        // round carries: to the middle of the next face, by half of what arrives.
        let side = (area / count.max(1) as f64 * 4.0 / 3.0_f64.sqrt()).sqrt();
        let rounds = (reach / (0.5 * side).max(1e-9)).powi(2).round().min(ROUNDS as f64);
        for _ in 0..rounds as usize {
            faces.normals = watch.map(count, |f| faces.evened(shape, f))?;
        }
        Ok(faces)
    }

    /// The face beside a half-edge, if there is one.
    pub(crate) fn across(&self, half: usize) -> Option<usize> {
        let other = self.beside[half];
        (other != OPEN).then_some(other as usize / 3)
    }

    /// The normal of a face and its neighbours, by area.
    fn evened(&self, shape: &Shape, f: usize) -> Vector3<f32> {
        let of = |f: usize| self.normals[f] * shape.areas()[f];
        let sum = (0..3).filter_map(|c| self.across(3 * f + c)).fold(of(f), |sum, g| sum + of(g));
        let length = sum.norm();
        if length > 0.0 { sum / length } else { self.normals[f] }
    }
}

/// The turn between two unit normals in radians, 0 to π; 0 where one is zero.
pub(crate) fn turn(a: &Vector3<f32>, b: &Vector3<f32>) -> f64 {
    f64::from(a.cross(b).norm()).atan2(f64::from(a.dot(b)))
}

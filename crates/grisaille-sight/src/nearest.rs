//! What a single ray meets first on the mesh, exactly: for picks.

use crate::engine::{Slab, TreeSight};
use crate::occluder::{Crossing, Ray};
use nalgebra::{Point3, Vector3};
use parry3d::math::Real;
use parry3d::partitioning::{BvhLeafCost, BvhNode};

/// Where a ray meets the mesh.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pick {
    /// The face of the mesh.
    pub face: u32,
    /// How far from the origin, in lengths of the direction.
    pub distance: f64,
    /// How much each corner of the face counts there; they sum to 1.
    pub weights: [f64; 3],
    /// Whether the ray comes from outside. The inner side is met on open
    /// pieces only: from outside a closed one every ray enters it.
    pub front: bool,
}

impl BvhLeafCost for Pick {
    fn cost(&self) -> Real {
        self.distance as Real
    }
}

impl TreeSight {
    /// What the ray from `origin` along `direction` meets first. Exact to the
    /// rounding of `f64`, except that of two faces met within 2⁻²³ of the
    /// distance either may be told.
    #[must_use]
    pub fn nearest(&self, origin: Point3<f64>, direction: Vector3<f64>) -> Option<Pick> {
        let ray = Ray { origin, direction, near: 0.0, far: f64::INFINITY };
        let slab = Slab::of(&ray);
        let enter = |node: &BvhNode, _: Real| slab.entry(node).unwrap_or(Real::MAX);
        let meet = |face: u32, _: Real| {
            let Crossing { distance, weights, front } = self.occluders.crossing(face as usize, &ray, true)?;
            Some(Pick { face, distance, weights, front })
        };
        self.tree.find_best(Real::MAX, enter, meet).map(|(_, pick)| pick)
    }
}

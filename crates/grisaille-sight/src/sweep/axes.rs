//! The light's own axes: x and y across the light, z toward it.
//!
//! For a distant light they are the orthographic view from the light. For a
//! point they are six perspective views, one for each side of a cube round
//! it; with q the vector from the light, turned so that its third component
//! runs away from the light, x = q₀/q₂, y = q₁/q₂ and z = 1/q₂. Planes stay
//! planes and lines stay lines under this map, and a greater z is nearer to
//! the light in both, so one kernel serves both.

use super::block::Hull;
use crate::engine::Source;
use nalgebra::{Point3, Vector3};

/// One view from the light.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Axes {
    /// Rows of the rotation into the light's axes.
    Parallel { across: [Vector3<f64>; 2], toward: Vector3<f64> },
    /// One side of the cube: the axes that become q₀ and q₁, the one that
    /// becomes q₂, and its sign.
    Cube { at: Point3<f64>, across: [usize; 2], away: usize, sign: f64 },
}

/// A box in the light's axes that holds a block.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Extent {
    pub(crate) low: [f64; 3],
    pub(crate) high: [f64; 3],
}

impl Axes {
    /// The views that together see everything.
    pub(crate) fn of(source: Source) -> Vec<Self> {
        match source {
            Source::Direction(d) => {
                let toward = d.into_inner();
                let aside = if toward.x.abs() < 0.6 { Vector3::x() } else { Vector3::y() };
                let one = aside.cross(&toward).normalize();
                let two = toward.cross(&one);
                vec![Self::Parallel { across: [one, two], toward }]
            }
            Source::Point { at, .. } => (0..3)
                .flat_map(|away| {
                    let (i, j) = ((away + 1) % 3, (away + 2) % 3);
                    // Left-handed in (q₀, q₁, q₂), so that a face turned to
                    // the light runs counter-clockwise in (x, y).
                    [
                        Self::Cube { at, across: [j, i], away, sign: 1.0 },
                        Self::Cube { at, across: [i, j], away, sign: -1.0 },
                    ]
                })
                .collect(),
        }
    }

    /// A point in these axes; `None` outside of a cube side's own quarter, of
    /// which every vector has exactly one.
    #[inline(always)]
    pub(crate) fn place(&self, p: Point3<f64>) -> Option<[f64; 3]> {
        match self {
            Self::Parallel { across, toward } => {
                Some([across[0].dot(&p.coords), across[1].dot(&p.coords), toward.dot(&p.coords)])
            }
            Self::Cube { at, across, away, sign } => {
                let q = p - at;
                if q.iamax() != *away || q[*away] * sign <= 0.0 {
                    return None;
                }
                let z = 1.0 / (q[*away] * sign);
                Some([q[across[0]] * z, q[across[1]] * z, z])
            }
        }
    }

    /// A box that holds all of a block's points that these axes can see;
    /// `None` when they see none of it.
    pub(crate) fn extent(&self, hull: &Hull) -> Option<Extent> {
        let (low, high) = (hull.low.map(f64::from), hull.high.map(f64::from));
        match self {
            Self::Parallel { across, toward } => {
                let rows = [across[0], across[1], *toward];
                let mut extent = Extent { low: [0.0; 3], high: [0.0; 3] };
                for (k, row) in rows.iter().enumerate() {
                    for axis in 0..3 {
                        let (a, b) = (row[axis] * low[axis], row[axis] * high[axis]);
                        extent.low[k] += a.min(b);
                        extent.high[k] += a.max(b);
                    }
                }
                Some(extent.widened())
            }
            Self::Cube { at, across, away, sign } => {
                let range = |axis: usize, sign: f64| {
                    let (a, b) = ((low[axis] - at[axis]) * sign, (high[axis] - at[axis]) * sign);
                    (a.min(b), a.max(b))
                };
                let (near, far) = range(*away, *sign);
                if far <= 0.0 {
                    return None;
                }
                let mut extent = Extent { low: [0.0, 0.0, 1.0 / far], high: [0.0, 0.0, f64::INFINITY] };
                if near > 0.0 {
                    extent.high[2] = 1.0 / near;
                }
                for (k, axis) in across.iter().enumerate() {
                    let (a, b) = range(*axis, 1.0);
                    // A side of the box below 0 is farthest out where the box is nearest.
                    extent.low[k] = if a < 0.0 { a * extent.high[2] } else { a / far };
                    extent.high[k] = if b > 0.0 { b * extent.high[2] } else { b / far };
                    if extent.low[k] > 1.0 || extent.high[k] < -1.0 {
                        return None;
                    }
                    extent.low[k] = extent.low[k].max(-1.0);
                    extent.high[k] = extent.high[k].min(1.0);
                }
                Some(extent.widened())
            }
        }
    }
}

impl Extent {
    /// Wider by more than the rounding of what is compared with it.
    pub(crate) fn widened(mut self) -> Self {
        for k in 0..3 {
            self.low[k] -= 1e-12 * (1.0 + self.low[k].abs());
            self.high[k] += 1e-12 * (1.0 + self.high[k].abs());
        }
        self
    }
}

/// The least and the greatest of n·l (not normalised) over a hull.
pub(crate) fn facing(hull: &Hull, source: Source) -> (f64, f64) {
    let mut sum = (0.0, 0.0);
    for k in 0..3 {
        let n = [f64::from(hull.normal_low[k]), f64::from(hull.normal_high[k])];
        let l = match source {
            Source::Direction(d) => [d[k]; 2],
            Source::Point { at, .. } => [at[k] - f64::from(hull.high[k]), at[k] - f64::from(hull.low[k])],
        };
        let products = [n[0] * l[0], n[0] * l[1], n[1] * l[0], n[1] * l[1]];
        sum.0 += products.iter().copied().fold(f64::INFINITY, f64::min);
        sum.1 += products.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    }
    sum
}

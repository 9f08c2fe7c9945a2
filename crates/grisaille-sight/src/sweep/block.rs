//! Faces and samples in blocks of 64 neighbours, with boxes round each block.

use super::lots::Lots;
use crate::occluder::Occluders;
use crate::order::order;
use nalgebra::{Point3, Vector3};
use rayon::prelude::*;

/// Faces or samples in one block: as many as a word has bits.
pub(crate) const BLOCK: usize = 64;

/// Faces or samples in a lot, and lots in a block.
pub(crate) const LOT: usize = 8;
/// See [`LOT`].
pub(crate) const LOTS: usize = BLOCK / LOT;

/// A box round points, and a box round the unit normals that belong to them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Hull {
    pub(crate) low: [f32; 3],
    pub(crate) high: [f32; 3],
    pub(crate) normal_low: [f32; 3],
    pub(crate) normal_high: [f32; 3],
}

impl Hull {
    pub(crate) const NOTHING: Self = Self {
        low: [f32::INFINITY; 3],
        high: [f32::NEG_INFINITY; 3],
        normal_low: [f32::INFINITY; 3],
        normal_high: [f32::NEG_INFINITY; 3],
    };

    pub(crate) fn with(mut self, other: &Self) -> Self {
        for k in 0..3 {
            self.low[k] = self.low[k].min(other.low[k]);
            self.high[k] = self.high[k].max(other.high[k]);
            self.normal_low[k] = self.normal_low[k].min(other.normal_low[k]);
            self.normal_high[k] = self.normal_high[k].max(other.normal_high[k]);
        }
        self
    }

    /// The middle, and the farthest that anything lies from it along an axis.
    pub(crate) fn ball(&self) -> ([f64; 3], f32) {
        let middle = [0, 1, 2].map(|k| 0.5 * (f64::from(self.low[k]) + f64::from(self.high[k])));
        let radius = (0..3).map(|k| f64::from(self.high[k]) - middle[k]).fold(0.0, f64::max);
        (middle, radius as f32 * (1.0 + f32::EPSILON))
    }

    pub(crate) fn point(&mut self, p: Point3<f32>) {
        for k in 0..3 {
            self.low[k] = self.low[k].min(p[k]);
            self.high[k] = self.high[k].max(p[k]);
        }
    }

    pub(crate) fn normal(&mut self, n: Vector3<f32>) {
        for k in 0..3 {
            self.normal_low[k] = self.normal_low[k].min(n[k]);
            self.normal_high[k] = self.normal_high[k].max(n[k]);
        }
    }
}

/// 64 samples, or fewer at the end.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Patch {
    pub(crate) hull: Hull,
    pub(crate) middle: [f64; 3],
    /// No sample's origin is farther than this from the middle along any axis.
    pub(crate) radius: f32,
    /// Origins, from the middle: `f32` holds them to the patch's own size,
    /// and not to the model's.
    pub(crate) origin: [[f32; BLOCK]; 3],
    /// Much wider than most: neighbours in the order that are none in space,
    /// as at the end of an octant. `f32` would not place these well.
    pub(crate) wide: bool,
    /// Unit normals; zero past the last sample, which faces no light.
    pub(crate) normal: [[f32; BLOCK]; 3],
}

/// The patches of samples, 64 by 64 in their own order.
pub(crate) fn patches(
    position: &[Point3<f32>],
    origin: &[Point3<f32>],
    normal: &[Vector3<f32>],
) -> Vec<Patch> {
    let mut patches: Vec<Patch> = (0..position.len().div_ceil(BLOCK))
        .into_par_iter()
        .map(|b| {
            let range = b * BLOCK..((b + 1) * BLOCK).min(position.len());
            let mut hull = Hull::NOTHING;
            for i in range.clone() {
                // Both: a point lamp is faced from the position, and its rays
                // begin at the origin.
                hull.point(position[i]);
                hull.point(origin[i]);
                hull.normal(normal[i]);
            }
            let (middle, radius) = hull.ball();
            let mut patch = Patch {
                hull,
                middle,
                radius,
                wide: false,
                origin: [[0.0; BLOCK]; 3],
                normal: [[0.0; BLOCK]; 3],
            };
            for (k, i) in range.enumerate() {
                for axis in 0..3 {
                    patch.origin[axis][k] = (f64::from(origin[i][axis]) - middle[axis]) as f32;
                    patch.normal[axis][k] = normal[i][axis];
                }
            }
            patch
        })
        .collect();
    let mean = patches.iter().map(|p| f64::from(p.radius)).sum::<f64>() / patches.len().max(1) as f64;
    for patch in &mut patches {
        patch.wide = f64::from(patch.radius) > 3.0 * mean;
    }
    patches
}

/// 64 faces that may block light.
pub(crate) struct FaceBlock {
    /// Which faces of the mesh; the last block of a kind is filled up by
    /// repeating its last face.
    pub(crate) face: [u32; BLOCK],
    pub(crate) middle: [f64; 3],
    /// No corner is farther than this from the middle along any axis.
    pub(crate) radius: f32,
    /// Nine rows of coordinates, from the middle: x, y and z of each corner.
    pub(crate) corners: [[f32; BLOCK]; 9],
    /// Whether these are faces of open pieces, which block from both sides.
    pub(crate) open: bool,
    /// Boxes round each eight of them.
    pub(crate) lots: Lots,
}

/// All faces in blocks of neighbours, and the hulls of these blocks.
pub(crate) fn face_blocks(occluders: &Occluders) -> (Vec<FaceBlock>, Vec<Hull>) {
    let mut all = Hull::NOTHING;
    for p in &occluders.positions {
        all.point(*p);
    }
    let corner = |f: u32| occluders.faces[f as usize].map(|v| occluders.positions[v as usize]);
    let normal = |f: u32| {
        let [a, b, c]: [Point3<f64>; 3] = corner(f).map(nalgebra::convert);
        let cross = (b - a).cross(&(c - a));
        let length = cross.norm();
        (length > 0.0).then(|| (cross / length).cast::<f32>())
    };
    let placed = order(occluders.faces.len(), all.low, all.high, |f| {
        let [a, b, c] = corner(f as u32);
        let middle = Point3::from((a.coords + b.coords + c.coords) / 3.0);
        (middle, normal(f as u32).unwrap_or_else(Vector3::zeros), !occluders.closed.get(f))
    });
    // Faces of open pieces stand last, and never share a block with others.
    let (closed, open) = placed.split_at(placed.partition_point(|&f| occluders.closed.get(f as usize)));
    let chunks = |of: &[u32], open: bool| {
        let blocks = of.len().div_ceil(BLOCK);
        (0..blocks).map(move |b| (b * BLOCK, open)).collect::<Vec<_>>()
    };
    let mut starts = chunks(closed, false);
    starts.extend(chunks(open, true));
    starts
        .into_par_iter()
        .map(|(start, is_open)| {
            let of = if is_open { open } else { closed };
            let face: [u32; BLOCK] = std::array::from_fn(|k| of[(start + k).min(of.len() - 1)]);
            let mut lots = [Hull::NOTHING; LOTS];
            for (k, &f) in face.iter().enumerate() {
                let lot = &mut lots[k / LOT];
                for p in corner(f) {
                    lot.point(p);
                }
                match normal(f) {
                    Some(n) => lot.normal(n),
                    // A face without area has no side: it may be any.
                    None => {
                        lot.normal(Vector3::repeat(-1.0));
                        lot.normal(Vector3::repeat(1.0));
                    }
                }
            }
            let hull = lots.iter().fold(Hull::NOTHING, Hull::with);
            let (middle, radius) = hull.ball();
            let lots = Lots::of(&lots, middle);
            let mut corners = [[0.0; BLOCK]; 9];
            for (k, &f) in face.iter().enumerate() {
                for (c, p) in corner(f).into_iter().enumerate() {
                    for axis in 0..3 {
                        corners[3 * c + axis][k] = (f64::from(p[axis]) - middle[axis]) as f32;
                    }
                }
            }
            (FaceBlock { face, middle, radius, corners, open: is_open, lots }, hull)
        })
        .unzip()
}

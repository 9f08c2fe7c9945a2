//! Visibility in batches: the trait, and its two engines.

use crate::bits::Bits;
use crate::occluder::{FaceMask, Occluders, Ray};
use crate::surface::Samples;
use grisaille_base::{Stop, Watch};
use nalgebra::{Point3, Unit, Vector3};
use parry3d::bounding_volume::Aabb;
use parry3d::math::Vector;
use parry3d::partitioning::{Bvh, BvhBuildStrategy, BvhNode, TraversalAction};
use rayon::prelude::*;
use std::sync::Arc;

/// Where light comes from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Source {
    /// From infinitely far; the unit vector points toward the light.
    Direction(Unit<Vector3<f64>>),
    /// From a point in scene millimetres, at or in a ball in which nothing
    /// blocks, so that a lamp may sit in its own glass: a ray counts up to
    /// where it enters the ball.
    Point {
        /// Where the light is.
        at: Point3<f64>,
        /// The middle of the ball: the light itself, or the middle of the lamp
        /// on whose glass the light is a point.
        centre: Point3<f64>,
        /// The radius of the ball in mm, 0 for none.
        clear: f64,
    },
}

impl Source {
    /// The vector from a sample toward the light (a unit vector for a direction).
    #[must_use]
    pub fn toward(&self, from: Point3<f32>) -> Vector3<f64> {
        match self {
            Self::Direction(d) => d.into_inner(),
            Self::Point { at, .. } => at - from.cast::<f64>(),
        }
    }

    /// Whether a sample is turned toward the light at all: n·l > 0 and not
    /// buried. Only such samples are asked about and counted as pairs.
    #[must_use]
    #[inline]
    pub fn faces(&self, samples: &Samples, i: usize) -> bool {
        !samples.buried.get(i) && samples.normal[i].cast::<f64>().dot(&self.toward(samples.position[i])) > 0.0
    }

    pub(crate) fn ray(&self, origin: Point3<f32>) -> Ray {
        let origin = origin.cast::<f64>();
        match self {
            Self::Direction(d) => Ray { origin, direction: d.into_inner(), near: 0.0, far: f64::INFINITY },
            Self::Point { at, centre, clear } => {
                let direction = at - origin;
                Ray { origin, direction, near: 0.0, far: outside(origin - centre, direction, *clear) }
            }
        }
    }

    /// A point light of which nothing stands clear.
    #[must_use]
    pub fn point(at: Point3<f64>) -> Self {
        Self::Point { at, centre: at, clear: 0.0 }
    }
}

/// The share, 0 to 1, of the way `to` that lies before a ball is entered;
/// `from` is its beginning, seen from the ball's middle.
fn outside(from: Vector3<f64>, to: Vector3<f64>, radius: f64) -> f64 {
    let (square, lean) = (to.norm_squared(), from.dot(&to));
    let out = from.norm_squared() - radius * radius;
    if square <= 0.0 || (radius > 0.0 && out <= 0.0) {
        return 0.0;
    }
    let inner = lean * lean - square * out;
    if radius <= 0.0 || lean >= 0.0 || inner < 0.0 {
        return 1.0;
    }
    // The lesser root, in the form that subtracts nothing.
    (out / (inner.sqrt() - lean)).min(1.0)
}

/// Answers visibility for a whole batch of samples and one source.
pub trait Sight: Sync {
    /// Sets in `out` the bit of each sample that is turned toward the source
    /// and sees it; clears all others. `out` has one bit for each sample. Faces
    /// that `mask` leaves out do not block. The answer is exact (a triangle
    /// test in `f64`), and has the same bits whatever the thread count.
    ///
    /// # Errors
    /// [`Stop`] when cancelled; `out` is then of no use.
    fn visible(
        &self,
        samples: &Samples,
        source: Source,
        mask: &FaceMask,
        out: &mut Bits,
        watch: &Watch,
    ) -> Result<(), Stop>;

    /// The same for several sources, the bits of each in their order. They are
    /// looked from side by side: what an engine does one after the other for
    /// one source then leaves no thread idle.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    fn visible_from(
        &self,
        samples: &Samples,
        sources: &[Source],
        mask: &FaceMask,
        watch: &Watch,
    ) -> Result<Vec<Bits>, Stop> {
        let look = |source: &Source| {
            let mut bits = Bits::new(samples.len());
            self.visible(samples, *source, mask, &mut bits, watch)?;
            Ok(bits)
        };
        watch.run(|| sources.par_iter().map(look).collect())
    }
}

/// Every ray against every face: for tests, and for nothing else.
pub struct BruteForce<'a>(pub &'a Occluders);

impl Sight for BruteForce<'_> {
    fn visible(
        &self,
        samples: &Samples,
        source: Source,
        mask: &FaceMask,
        out: &mut Bits,
        watch: &Watch,
    ) -> Result<(), Stop> {
        let blocked =
            |ray: &Ray| (0..self.0.faces.len()).any(|f| mask.blocks(f) && self.0.blocks(f, ray, true));
        fill(samples, source, out, watch, blocked)
    }
}

/// The same answers through parry3d's bounding volume tree.
pub struct TreeSight {
    pub(crate) occluders: Arc<Occluders>,
    pub(crate) tree: Bvh,
}

impl TreeSight {
    /// Builds the tree; time is part of the phase `structure`.
    #[must_use]
    pub fn new(occluders: Arc<Occluders>, watch: &Watch) -> Self {
        let _span = watch.span("structure", 0);
        let size = occluders.positions.iter().flat_map(|p| p.iter()).fold(0.0_f32, |m, x| m.max(x.abs()));
        // The tree's own test runs in f32: its boxes are made larger than that
        // rounding, so that it never leaves out a face that the exact test hits.
        let margin = Vector::splat(size * 2.0e-6);
        let leaves: Vec<Aabb> = occluders
            .faces
            .par_iter()
            .map(|f| {
                let [a, b, c] = f.map(|v| {
                    let p = occluders.positions[v as usize];
                    Vector::new(p.x, p.y, p.z)
                });
                Aabb::new(a.min(b).min(c) - margin, a.max(b).max(c) + margin)
            })
            .collect();
        let tree = Bvh::from_leaves(BvhBuildStrategy::Binned, &leaves);
        Self { occluders, tree }
    }

    pub(crate) fn tree(&self) -> &Bvh {
        &self.tree
    }

    pub(crate) fn occluders(&self) -> &Occluders {
        &self.occluders
    }

    /// Whether anything blocks a ray. With `entering`, closed pieces block
    /// only where the ray enters them.
    pub(crate) fn blocked(&self, ray: &Ray, mask: &FaceMask, entering: bool) -> bool {
        let slab = Slab::of(ray);
        let mut hit = false;
        self.tree.traverse(|node| {
            if !slab.meets(node) {
                return TraversalAction::Prune;
            }
            if let Some(f) = node.leaf_data()
                && mask.blocks(f as usize)
                && self.occluders.blocks(f as usize, ray, entering)
            {
                hit = true;
                return TraversalAction::EarlyExit;
            }
            TraversalAction::Continue
        });
        hit
    }
}

impl Sight for TreeSight {
    fn visible(
        &self,
        samples: &Samples,
        source: Source,
        mask: &FaceMask,
        out: &mut Bits,
        watch: &Watch,
    ) -> Result<(), Stop> {
        fill(samples, source, out, watch, |ray| self.blocked(ray, mask, true))
    }
}

/// A ray as a test against boxes wants it.
struct Slab {
    origin: Vector,
    inverse: Vector,
    far: f32,
}

impl Slab {
    fn of(ray: &Ray) -> Self {
        // A component of zero would make 0 · ∞ where the ray runs in a box's
        // side; a tiny one keeps every product finite and errs outward.
        let inverse = ray.direction.map(|d| {
            let d = d as f32;
            1.0 / if d.abs() < 1e-18 { 1e-18_f32.copysign(d) } else { d }
        });
        let origin = ray.origin.cast::<f32>();
        Self {
            origin: Vector::new(origin.x, origin.y, origin.z),
            inverse: Vector::new(inverse.x, inverse.y, inverse.z),
            far: (ray.far as f32).min(f32::MAX),
        }
    }

    fn meets(&self, node: &BvhNode) -> bool {
        let one = (node.mins() - self.origin) * self.inverse;
        let two = (node.maxs() - self.origin) * self.inverse;
        let near = one.min(two).max_element().max(0.0);
        let far = one.max(two).min_element().min(self.far);
        near <= far
    }
}

/// Words of bits that one task fills: small enough that a cancel is heeded
/// within a few milliseconds.
const CHUNK: usize = 16;

fn fill(
    samples: &Samples,
    source: Source,
    out: &mut Bits,
    watch: &Watch,
    blocked: impl Fn(&Ray) -> bool + Sync,
) -> Result<(), Stop> {
    debug_assert_eq!(out.len(), samples.len());
    watch.run(|| {
        out.words_mut().par_chunks_mut(CHUNK).enumerate().try_for_each(|(chunk, words)| {
            watch.check()?;
            for (w, word) in words.iter_mut().enumerate() {
                let first = (chunk * CHUNK + w) * 64;
                *word = 0;
                for i in first..(first + 64).min(samples.len()) {
                    if source.faces(samples, i) && !blocked(&source.ray(samples.origin[i])) {
                        *word |= 1 << (i - first);
                    }
                }
            }
            Ok(())
        })
    })
}

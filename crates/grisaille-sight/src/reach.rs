//! What lies near: all directions from one sample after another, no farther
//! than a reach.

use crate::engine::TreeSight;
use crate::occluder::{FaceMask, Ray};
use crate::surface::Samples;
use grisaille_base::{Millimetres, Stop, Watch};
use nalgebra::{Unit, Vector3};
use rayon::prelude::*;

/// Samples that one task takes together: a patch of neighbours.
const CHUNK: usize = 64;

impl TreeSight {
    /// For each sample, what `of` makes of the directions that it is turned
    /// toward (n·l > 0): `of(i, open)` is given, for each of these, its number in
    /// `directions` and whether nothing blocks within `reach`. Buried samples
    /// get the default. The test is the exact one in `f64`, so the answer
    /// depends on no thread count.
    ///
    /// What lies near a sample is the same for all its directions, and a ray is
    /// soon past it, so single rays, one sample after another, suit this better
    /// than a sweep of the whole model for each direction. Measured beside this
    /// tree: obvhs' tree of eight boxes to a node, 1.02 to 1.2 times as fast
    /// with the same answers, which is not worth a second tree.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub fn around<T: Default + Send>(
        &self,
        samples: &Samples,
        directions: &[Unit<Vector3<f64>>],
        reach: Millimetres,
        mask: &FaceMask,
        watch: &Watch,
        of: impl Fn(usize, &[(u32, bool)]) -> T + Sync,
    ) -> Result<Vec<T>, Stop> {
        let span = watch.span("openness", samples.len().div_ceil(CHUNK) as u64);
        let mut out: Vec<T> = Vec::new();
        out.resize_with(samples.len(), T::default);
        watch.run(|| {
            out.par_chunks_mut(CHUNK).enumerate().try_for_each_init(Vec::new, |open, (chunk, out)| {
                for (k, out) in out.iter_mut().enumerate() {
                    watch.check()?;
                    let i = chunk * CHUNK + k;
                    if samples.buried.get(i) {
                        continue;
                    }
                    let (normal, origin) = (samples.normal[i].cast::<f64>(), samples.origin[i].cast());
                    open.clear();
                    for (number, direction) in directions.iter().enumerate() {
                        if normal.dot(direction) > 0.0 {
                            let direction = direction.into_inner();
                            let ray = Ray { origin, direction, near: 0.0, far: reach.0 };
                            open.push((number as u32, !self.blocked(&ray, mask, true)));
                        }
                    }
                    *out = of(i, open);
                }
                span.advance(1);
                Ok(())
            })
        })?;
        Ok(out)
    }
}

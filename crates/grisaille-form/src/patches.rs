//! Patches of samples that hang together along faces.

use grisaille_mesh::{find, unite};
use grisaille_sight::Surface;
use nalgebra::Vector3;

/// Patches, gathered face by face.
pub(crate) struct Patches {
    parent: Vec<u32>,
    /// The area for which each sample of a patch stands, in mm².
    area: Vec<f64>,
}

impl Patches {
    /// None yet, of so many samples.
    pub(crate) fn new(samples: usize) -> Self {
        Self { parent: (0..samples as u32).collect(), area: vec![0.0; samples] }
    }

    /// Takes a face's corners that belong to a patch, each for a third of its area.
    pub(crate) fn add(&mut self, corners: [(u32, bool); 3], third: f64) {
        for k in 0..3 {
            let ((a, in_a), (b, in_b)) = (corners[k], corners[(k + 1) % 3]);
            if in_a && in_b {
                unite(&mut self.parent, a, b);
            }
            if in_a {
                self.area[a as usize] += third;
            }
        }
    }

    /// The patch of a sample, by its first.
    pub(crate) fn of(&mut self, sample: usize) -> usize {
        find(&mut self.parent, sample as u32) as usize
    }

    /// The area of each patch, by its first sample.
    pub(crate) fn areas(&mut self) -> Vec<f64> {
        let mut sum = vec![0.0; self.area.len()];
        for s in 0..sum.len() {
            let first = self.of(s);
            sum[first] += self.area[s];
        }
        sum
    }

    /// The sample of the largest patch that is nearest to its middle.
    pub(crate) fn largest(mut self, surface: &Surface) -> Option<[f32; 3]> {
        let sum = self.areas();
        // The first of equals.
        let best =
            (0..sum.len()).rev().max_by(|a, b| sum[*a].total_cmp(&sum[*b])).filter(|r| sum[*r] > 0.0)?;
        let members: Vec<usize> =
            (0..sum.len()).filter(|s| self.area[*s] > 0.0 && self.of(*s) == best).collect();
        let at = |s: usize| surface.samples.position[s].coords.cast::<f64>();
        let middle = members.iter().map(|s| at(*s) * self.area[*s]).sum::<Vector3<f64>>() / sum[best];
        let near = |s: &usize| (at(*s) - middle).norm_squared();
        let place = members.into_iter().min_by(|a, b| near(a).total_cmp(&near(b)))?;
        Some(surface.samples.position[place].coords.into())
    }
}

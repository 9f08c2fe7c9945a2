//! One bounce: light that falls on one part and is thrown back onto another.
//!
//! A matt surface of albedo ρ that gets the exposure E throws back ρ·E, and
//! looks equally bright from all sides (Lambert). So a point with normal n gets
//!
//! ```text
//! E₁ = 1/π ∫ ρE(y(ω)) max(0, n·ω) dω
//! ```
//!
//! the mean of ρE over directions spread by the cosine, y(ω) being what is met
//! there first. docs/exposure.md has the derivation, the sources, and what is
//! kept of the energy.

use grisaille_base::{Stop, Watch};
use grisaille_sight::{Meeting, Surface, SurfaceTree};
use nalgebra::Vector3;
use rayon::prelude::*;
use std::f64::consts::TAU;
use std::sync::Mutex;
use std::sync::PoisonError;

/// How bounced light is gathered.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BounceSettings {
    /// Directions over each sample's hemisphere.
    pub directions: usize,
    /// Which of the fixed turns of the set each sample gets: another seed,
    /// another error of the same size.
    pub seed: u64,
}

impl Default for BounceSettings {
    fn default() -> Self {
        Self { directions: 64, seed: 0 }
    }
}

/// Light after one bounce.
#[derive(Clone, Debug, PartialEq)]
pub struct Bounced {
    /// For each light and sample what arrives on top of the exposure, red,
    /// green and blue, for a white light; a light's own colour multiplies it.
    pub lights: Vec<Vec<[f32; 3]>>,
    /// For each light what the surface throws back in all: Σ ρ·E·area, in mm².
    pub thrown: Vec<[f64; 3]>,
    /// For each light what of that arrives on the surface again: Σ E₁·area, in
    /// mm²; never more than is thrown.
    pub caught: Vec<[f64; 3]>,
}

/// Samples that one task gathers for.
const CHUNK: usize = 64;

/// Gathers the light that bounces once. `lights` has the exposure of each
/// sample for each light, linear; `albedo` has each sample's share of light
/// thrown back, red, green and blue, held between 0 and 1; `tree` is the
/// surface's own ([`SurfaceTree::new`]).
///
/// Between the corners of a face ρE is linear. Buried samples throw and get
/// nothing. An open sheet has exposure on its outer side only: its inner side
/// blocks, and throws nothing back. What arrives is never more than what was
/// thrown: where the estimate's error would make it more, all of that light and
/// colour is scaled down to it.
///
/// The error goes with the number of directions about as N^(−3/4) to N^(−1/2),
/// measured in docs/exposure.md. It differs from sample to sample like grain,
/// since each has the set turned by itself, and has no borders of its own.
///
/// # Errors
/// [`Stop`] when cancelled.
pub fn bounce(
    surface: &Surface,
    tree: &SurfaceTree,
    lights: &[&[f32]],
    albedo: &[[f32; 3]],
    settings: &BounceSettings,
    watch: &Watch,
) -> Result<Bounced, Stop> {
    let samples = &surface.samples;
    let count = samples.len();
    let span = watch.span("bounce", count.div_ceil(CHUNK) as u64);
    // Of one sample all lights side by side: they are read together.
    let thrown = watch.map(count * lights.len(), |k| {
        let (i, light) = (k / lights.len(), lights[k % lights.len()]);
        if samples.buried.get(i) {
            return [0.0; 3];
        }
        let shone = light.get(i).copied().unwrap_or(0.0).max(0.0);
        albedo.get(i).copied().unwrap_or([0.0; 3]).map(|a| a.clamp(0.0, 1.0) * shone)
    })?;
    let set = lattice(settings.directions.max(1));
    let met = Mutex::new(0_u64);
    let chunks = watch.run(|| {
        (0..count.div_ceil(CHUNK))
            .into_par_iter()
            .map(|chunk| {
                if watch.stopped() {
                    return Vec::new();
                }
                let here = CHUNK.min(count - chunk * CHUNK);
                let mut sums = vec![[0.0_f64; 3]; here * lights.len()];
                let mut hits = 0;
                let mut rays = Rays::default();
                for k in 0..here {
                    let i = chunk * CHUNK + k;
                    if watch.stopped() || samples.buried.get(i) {
                        continue;
                    }
                    let own = &mut sums[k * lights.len()..(k + 1) * lights.len()];
                    hits += gather(surface, tree, &thrown, i, (&set, settings.seed), &mut rays, own);
                }
                *met.lock().unwrap_or_else(PoisonError::into_inner) += hits;
                span.advance(1);
                sums
            })
            .collect::<Vec<_>>()
    });
    watch.check()?;
    span.count("samples", count as u64);
    span.count("directions", settings.directions as u64);
    span.count("pairs", (count - samples.buried.count()) as u64 * set.len() as u64);
    span.count("met", met.into_inner().unwrap_or_else(PoisonError::into_inner));
    let got: Vec<[f64; 3]> = chunks.concat();
    balanced(surface, &thrown, &got, (count, lights.len()), watch)
}

/// Room for one sample's rays.
#[derive(Default)]
struct Rays {
    directions: Vec<Vector3<f32>>,
    met: Vec<Option<Meeting>>,
}

/// Adds up for one sample; how many directions met something.
fn gather(
    surface: &Surface,
    tree: &SurfaceTree,
    thrown: &[[f32; 3]],
    i: usize,
    (set, seed): (&[[f64; 2]], u64),
    rays: &mut Rays,
    sum: &mut [[f64; 3]],
) -> u64 {
    let normal = surface.samples.normal[i].cast::<f64>();
    let (across, along) = frame(normal);
    let turn = shift(seed, i);
    rays.directions.clear();
    rays.directions.extend(set.iter().map(|point| {
        let [x, y, z] = lambert([0, 1].map(|k| (point[k] + turn[k]).fract()));
        (across * x + along * y + normal * z).cast::<f32>()
    }));
    tree.nearest(surface.samples.origin[i], &rays.directions, &mut rays.met);
    let lights = sum.len();
    for met in rays.met.iter().flatten().filter(|met| met.front) {
        for (corner, weight) in surface.faces[met.face as usize].iter().zip(met.weights) {
            for (sum, thrown) in sum.iter_mut().zip(&thrown[*corner as usize * lights..]) {
                for c in 0..3 {
                    sum[c] += f64::from(weight * thrown[c]);
                }
            }
        }
    }
    let each = 1.0 / set.len() as f64;
    sum.iter_mut().flatten().for_each(|s| *s *= each);
    rays.met.iter().flatten().count() as u64
}

/// Takes the sums over the surface, and holds what arrives to what is thrown.
fn balanced(
    surface: &Surface,
    thrown: &[[f32; 3]],
    got: &[[f64; 3]],
    (count, lights): (usize, usize),
    watch: &Watch,
) -> Result<Bounced, Stop> {
    let mut area = vec![0.0_f64; count];
    for (f, face) in surface.faces.iter().enumerate() {
        if f % 4096 == 0 {
            watch.check()?;
        }
        let third = surface.face_area(f) / 3.0;
        face.iter().for_each(|s| area[*s as usize] += third);
    }
    let mut out = Bounced { lights: Vec::new(), thrown: Vec::new(), caught: Vec::new() };
    for l in 0..lights {
        watch.check()?;
        let total = |of: &dyn Fn(usize) -> [f64; 3]| {
            area.iter().enumerate().fold([0.0; 3], |sum, (i, area)| {
                let of = of(i);
                [0, 1, 2].map(|c| sum[c] + area * of[c])
            })
        };
        let all = total(&|i| thrown[i * lights + l].map(f64::from));
        watch.check()?;
        let caught = total(&|i| got[i * lights + l]);
        let held = [0, 1, 2].map(|c| if caught[c] > all[c] { all[c] / caught[c] } else { 1.0 });
        let each = |i: usize| [0, 1, 2].map(|c| (got[i * lights + l][c] * held[c]) as f32);
        out.lights.push(watch.map(count, each)?);
        out.thrown.push(all);
        out.caught.push([0, 1, 2].map(|c| caught[c].min(all[c])));
    }
    Ok(out)
}

/// `count` points of the unit square, evenly: a rank-1 lattice turned by the
/// golden section, as the light's own directions.
fn lattice(count: usize) -> Vec<[f64; 2]> {
    const GOLDEN: f64 = 0.618_033_988_749_894_9;
    (0..count).map(|k| [(k as f64 + 0.5) / count as f64, (k as f64 * GOLDEN).fract()]).collect()
}

/// A direction over the hemisphere of +z, spread by the cosine: a point even
/// over the unit disc, lifted onto the sphere (J. N. Malley's method; P. Shirley
/// and K. Chiu, J. Graphics Tools 2(3), 1997, describe it).
fn lambert([u, v]: [f64; 2]) -> [f64; 3] {
    let r = u.sqrt();
    let (s, c) = (TAU * v).sin_cos();
    [r * c, r * s, (1.0 - u).max(0.0).sqrt()]
}

/// Two unit vectors that stand across a unit normal and each other.
fn frame(normal: Vector3<f64>) -> (Vector3<f64>, Vector3<f64>) {
    let aside = if normal.x.abs() < 0.7 { Vector3::x() } else { Vector3::y() };
    let across = normal.cross(&aside).normalize();
    (across, normal.cross(&across))
}

/// By how much a sample's set is shifted round the unit square, wrapping over
/// its ends (R. Cranley and T. N. L. Patterson, SIAM J. Numer. Anal. 13(6),
/// 1976): a number hashed by the mixer of SplitMix64 (G. L. Steele, D. Lea,
/// C. H. Flood, OOPSLA 2014).
fn shift(seed: u64, sample: usize) -> [f64; 2] {
    [1, 2].map(|k| {
        let mut z = seed
            .wrapping_mul(0xd134_2543_de82_ef95)
            .wrapping_add((2 * sample as u64 + k).wrapping_mul(0x9e37_79b9_7f4a_7c15));
        z = (z ^ z >> 30).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ z >> 27).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ z >> 31) >> 11) as f64 / (1_u64 << 53) as f64
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn directions_are_spread_by_the_cosine() {
        // ∫ cosᵐ over the cosine-weighted hemisphere is 2/(m + 2), and odd
        // moments across are 0.
        for seed in 0..3 {
            let turn = shift(seed, 17);
            let set: Vec<[f64; 3]> =
                lattice(4096).iter().map(|p| lambert([0, 1].map(|k| (p[k] + turn[k]).fract()))).collect();
            for m in 1..4 {
                let mean = set.iter().map(|d| d[2].powi(m)).sum::<f64>() / 4096.0;
                assert!((mean - 2.0 / f64::from(m + 2)).abs() < 1e-3, "{m}: {mean}");
            }
            for k in 0..2 {
                assert!((set.iter().map(|d| d[k]).sum::<f64>() / 4096.0).abs() < 1e-3);
            }
            assert!(set.iter().all(|d| (d.iter().map(|x| x * x).sum::<f64>() - 1.0).abs() < 1e-12));
        }
    }
}

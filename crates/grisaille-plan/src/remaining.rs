//! What is left between a look and the planned values, and where it is most.

use crate::layer_fit::Aim;
use grisaille_base::Lightness;
use grisaille_colour::{luminance_from_lightness, munsell_value};
use grisaille_sight::Samples;

/// How far a look is from the planned values.
#[derive(Clone, Debug, PartialEq)]
pub struct Remaining {
    /// The root of the mean square of the difference in L*, over the figure's
    /// painted surface.
    pub rms: f64,
    /// The share of it within one step of the ten-step value scale, 0 to 1.
    pub within_step: f64,
    /// Where it is farthest off.
    pub worst: Option<Worst>,
}

/// Where a look is farthest from the planned values.
#[derive(Clone, Debug, PartialEq)]
pub struct Worst {
    /// In a painter's words.
    pub place: String,
    /// How much lighter than planned it is there on average, in L*; less than
    /// 0 for darker.
    pub lighter: f64,
    /// The share of the figure for which that place stands, 0 to 1.
    pub share: f64,
    /// The spot of it that is farthest off, scene mm.
    pub at: [f64; 3],
}

/// Places smaller than this share of the figure are not worth a name.
const SMALLEST_PLACE: f64 = 0.01;

/// Tells what is left: `off` is look less plan in L* at each spot.
pub(crate) fn remaining(aim: &Aim<'_>, off: &[f32], samples: &Samples) -> Remaining {
    let munsell = |l: f64| munsell_value(luminance_from_lightness(Lightness(l)));
    let (mut squared, mut within) = (0.0, 0.0);
    for ((off, target), share) in off.iter().zip(aim.target).zip(aim.share) {
        let (off, target, share) = (f64::from(*off), f64::from(*target), f64::from(*share));
        squared += off * off * share;
        if (munsell(target + off) - munsell(target)).abs() <= 1.0 {
            within += share;
        }
    }
    Remaining { rms: squared.sqrt(), within_step: within, worst: worst(aim, off, samples) }
}

/// The figure is cut by height into three and by facing into six.
fn worst(aim: &Aim<'_>, off: &[f32], samples: &Samples) -> Option<Worst> {
    const FACING: [&str; 6] = [
        "on the tops",
        "on the undersides",
        "on what faces front",
        "on what faces your right",
        "on what faces back",
        "on what faces your left",
    ];
    const HEIGHT: [&str; 3] = ["low down", "at middle height", "high up"];
    let heights = samples.position.iter().map(|p| p.z);
    let (low, high) =
        heights.fold((f32::INFINITY, f32::NEG_INFINITY), |(low, high), z| (low.min(z), high.max(z)));
    let place = |i: usize| {
        let n = samples.normal[i];
        let facing = if n.z > 0.75 {
            0
        } else if n.z < -0.3 {
            1
        } else if n.x.abs() > n.y.abs() {
            if n.x > 0.0 { 3 } else { 5 }
        } else if n.y < 0.0 {
            2
        } else {
            4
        };
        let third = ((samples.position[i].z - low) / (high - low).max(f32::MIN_POSITIVE) * 3.0) as usize;
        facing * 3 + third.min(2)
    };
    let mut sums = [(0.0_f64, 0.0_f64); 18];
    for i in 0..off.len() {
        let sum = &mut sums[place(i)];
        sum.0 += f64::from(off[i] * aim.share[i]);
        sum.1 += f64::from(aim.share[i]);
    }
    let mean = |p: usize| sums[p].0 / sums[p].1;
    // The first of equals.
    let mut found: Option<usize> = None;
    for p in (0..18).filter(|p| sums[*p].1 >= SMALLEST_PLACE) {
        if found.is_none_or(|f| mean(p).abs() > mean(f).abs()) {
            found = Some(p);
        }
    }
    let p = found?;
    let toward = mean(p).signum() as f32;
    let spot = (0..off.len())
        .filter(|i| place(*i) == p)
        .max_by(|a, b| (toward * off[*a]).total_cmp(&(toward * off[*b])).then(b.cmp(a)))?;
    Some(Worst {
        place: format!("{} {}", FACING[p / 3], HEIGHT[p % 3]),
        lighter: mean(p),
        share: sums[p].1,
        at: samples.position[spot].cast::<f64>().into(),
    })
}

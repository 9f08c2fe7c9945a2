//! From a reflectance curve to a colour: the CIE 1931 2° observer under D65.

use crate::curve::{Curve, SAMPLES};
use crate::lab::Lab;
use std::sync::LazyLock;

/// x̄, ȳ, z̄ of the CIE 1931 2° observer and the spectral power of D65, at each
/// sample of a curve (380 to 730 nm, every 10 nm).
///
/// Source: the tables of CIE 15 / ISO/CIE 11664-1 and 11664-2, as carried by
/// colour-science 0.4.7 (BSD-3-Clause), which `tests/oracles/colours.py`
/// compares them with.
const OBSERVER_AND_D65: [[f64; 4]; SAMPLES] = [
    [0.001_368, 0.000_039, 0.006_450_001, 49.9755],
    [0.004_243, 0.000_12, 0.020_050_01, 54.6482],
    [0.014_31, 0.000_396, 0.067_850_01, 82.7549],
    [0.043_51, 0.001_21, 0.2074, 91.486],
    [0.134_38, 0.004, 0.6456, 93.4318],
    [0.2839, 0.0116, 1.3856, 86.6823],
    [0.348_28, 0.023, 1.747_06, 104.865],
    [0.3362, 0.038, 1.772_11, 117.008],
    [0.2908, 0.06, 1.6692, 117.812],
    [0.195_36, 0.090_98, 1.287_64, 114.861],
    [0.095_64, 0.139_02, 0.812_950_1, 115.923],
    [0.032_01, 0.208_02, 0.465_18, 108.811],
    [0.0049, 0.323, 0.272, 109.354],
    [0.0093, 0.503, 0.1582, 107.802],
    [0.063_27, 0.71, 0.078_249_99, 104.79],
    [0.1655, 0.862, 0.042_16, 107.689],
    [0.2904, 0.954, 0.0203, 104.405],
    [0.433_449_9, 0.994_950_1, 0.008_749_999, 104.046],
    [0.5945, 0.995, 0.0039, 100.0],
    [0.7621, 0.952, 0.0021, 96.3342],
    [0.9163, 0.87, 0.001_650_001, 95.788],
    [1.0263, 0.757, 0.0011, 88.6856],
    [1.0622, 0.631, 0.0008, 90.0062],
    [1.0026, 0.503, 0.000_34, 89.5991],
    [0.854_449_9, 0.381, 0.000_19, 87.6987],
    [0.6424, 0.265, 0.000_05, 83.2886],
    [0.4479, 0.175, 0.000_02, 83.6992],
    [0.2835, 0.107, -0.0, 80.0268],
    [0.1649, 0.061, 0.0, 80.2146],
    [0.0874, 0.032, 0.0, 82.2778],
    [0.046_77, 0.017, 0.0, 78.2842],
    [0.0227, 0.008_21, 0.0, 69.7213],
    [0.011_359_16, 0.004_102, 0.0, 71.6091],
    [0.005_790_346, 0.002_091, 0.0, 74.349],
    [0.002_899_327, 0.001_047, 0.0, 61.604],
    [0.001_439_971, 0.000_52, 0.0, 69.8856],
];

/// For each sample, what it adds to X, Y and Z under D65.
static WEIGHTS: LazyLock<[[f64; 3]; SAMPLES]> =
    LazyLock::new(|| weights(&OBSERVER_AND_D65.map(|[.., light]| light)));

/// XYZ of a perfect white by the same sums.
static WHITE: LazyLock<[f64; 3]> = LazyLock::new(|| tristimulus(&Curve::WHITE));

/// What each sample adds to X, Y and Z; the Y of a perfect white is 1.
fn weights(light: &[f64; SAMPLES]) -> [[f64; 3]; SAMPLES] {
    let all: f64 = OBSERVER_AND_D65.iter().zip(light).map(|([_, y, ..], light)| y * light).sum();
    std::array::from_fn(|i| {
        let [x, y, z, _] = OBSERVER_AND_D65[i];
        [x, y, z].map(|c| c * light[i] / all)
    })
}

fn summed(curve: &Curve, weights: &[[f64; 3]; SAMPLES]) -> [f64; 3] {
    let mut sum = [0.0; 3];
    for (r, weights) in curve.samples().iter().zip(weights) {
        for (sum, weight) in sum.iter_mut().zip(weights) {
            *sum += r * weight;
        }
    }
    sum
}

/// X, Y and Z of a curve under D65 for the 2° observer, as sums over its samples
/// (CIE 15:2018, eq. 7.1, with Δλ = 10 nm); the Y of a perfect white is 1.
#[must_use]
pub fn tristimulus(curve: &Curve) -> [f64; 3] {
    summed(curve, &WEIGHTS)
}

/// As [`tristimulus`], under a light of this relative spectral power at the
/// samples of a curve.
#[must_use]
pub fn tristimulus_under(light: &[f64; SAMPLES], curve: &Curve) -> [f64; 3] {
    summed(curve, &weights(light))
}

/// The colour of a curve, relative to a perfect white summed in the same way,
/// so that a grey curve is exactly grey.
#[must_use]
pub fn colour_of_curve(curve: &Curve) -> Lab {
    let xyz = tristimulus(curve);
    Lab::from_ratios(std::array::from_fn(|k| xyz[k] / WHITE[k]))
}

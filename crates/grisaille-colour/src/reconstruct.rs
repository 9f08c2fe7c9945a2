//! A reflectance curve for a colour of which only its sRGB is known.

use crate::LinearRgb;
use crate::curve::{Curve, SAMPLES};
use crate::lab::Lab;

/// The curves of pure red, green and blue of sRGB, 380 to 730 nm every 10 nm:
/// the three that keep their sum at 1, so that a grey has a level curve.
///
/// Source: S. A. Burns, "Generating Reflectance Curves from sRGB Triplets",
/// arXiv:1710.05732, the component curves ρ_R, ρ_G, ρ_B published with it.
const COMPONENTS: [[f64; 3]; SAMPLES] = [
    [0.021_592_459, 0.010_542_406, 0.967_865_135],
    [0.020_293_111, 0.010_878_976, 0.968_827_912],
    [0.021_807_906, 0.011_063_512, 0.967_128_582],
    [0.023_803_297, 0.010_736_566, 0.965_460_137],
    [0.025_208_132, 0.011_681_813, 0.963_110_055],
    [0.025_414_957, 0.012_434_719, 0.962_150_324],
    [0.024_621_282, 0.014_986_907, 0.960_391_811],
    [0.020_973_705, 0.020_100_392, 0.958_925_903],
    [0.015_752_802, 0.030_356_263, 0.953_890_935],
    [0.011_168_04, 0.063_388_962, 0.925_442_998],
    [0.008_578_277, 0.173_423_837, 0.817_997_886],
    [0.006_581_877, 0.568_321_142, 0.425_096_96],
    [0.005_171_723, 0.827_791_998, 0.167_036_273],
    [0.004_545_205, 0.916_560_468, 0.078_894_327],
    [0.004_145_12, 0.952_002_841, 0.043_852_038],
    [0.004_343_112, 0.964_096_452, 0.031_560_435],
    [0.005_238_155, 0.970_590_861, 0.024_170_984],
    [0.007_251_939, 0.972_502_542, 0.020_245_519],
    [0.012_543_656, 0.969_148_203, 0.018_308_14],
    [0.028_067_132, 0.955_344_651, 0.016_588_218],
    [0.091_342_277, 0.892_637_233, 0.016_020_49],
    [0.484_081_092, 0.500_364_1, 0.015_554_808],
    [0.870_378_324, 0.116_236_717, 0.013_384_959],
    [0.939_513_128, 0.047_951_391, 0.012_535_491],
    [0.960_926_994, 0.027_873_526, 0.011_199_484],
    [0.968_623_763, 0.020_057_963, 0.011_318_274],
    [0.971_263_883, 0.017_382_174, 0.011_353_953],
    [0.972_285_819, 0.015_429_109, 0.012_285_073],
    [0.971_898_742, 0.015_438_08, 0.012_663_188],
    [0.972_691_859, 0.014_546_826, 0.012_761_325],
    [0.971_734_812, 0.015_197_773, 0.013_067_426],
    [0.972_344_54, 0.014_285_896, 0.013_369_566],
    [0.971_503_39, 0.015_069_123, 0.013_427_487],
    [0.970_857_997, 0.015_506_263, 0.013_635_74],
    [0.970_553_866, 0.015_545_797, 0.013_893_597],
    [0.969_671_404, 0.016_302_839, 0.014_025_757],
];

/// A smooth curve of the colour of linear sRGB: R = r ρ_R + g ρ_G + b ρ_B (Burns,
/// see above). Real paints of the same colour may have other curves, and then
/// mix to other colours. Components are held between 0 and 1.
#[must_use]
pub fn curve_from_linear(rgb: [f64; 3]) -> Curve {
    let [r, g, b] = rgb.map(|c| if c.is_nan() { 0.0 } else { c.clamp(0.0, 1.0) });
    Curve::new(COMPONENTS.map(|[of_r, of_g, of_b]| r * of_r + g * of_g + b * of_b))
}

/// As [`curve_from_linear`], of any colour; one that sRGB does not show is made
/// less vivid first.
#[must_use]
pub fn curve_of(colour: Lab) -> Curve {
    let rgb = colour.to_linear();
    if rgb.iter().all(|c| (-1e-6..=1.0 + 1e-6).contains(c)) {
        return curve_from_linear(rgb);
    }
    let LinearRgb { r, g, b } = colour.shown();
    curve_from_linear([r, g, b].map(f64::from))
}

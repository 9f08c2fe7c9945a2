//! Colours in CIELAB, from and to linear sRGB.

use crate::{LinearRgb, Oklch, colour_of};
use grisaille_base::Lightness;

/// A colour in CIELAB (CIE 15:2018, 8.2.1) under D65.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Lab {
    /// Lightness L*, 0 to 100.
    pub l: f64,
    /// From green (−) to red (+).
    pub a: f64,
    /// From blue (−) to yellow (+).
    pub b: f64,
}

/// Linear sRGB to XYZ, from its primaries and D65 at (0.3127, 0.3290) (IEC
/// 61966-2-1:1999), at full precision.
const XYZ_FROM_RGB: [[f64; 3]; 3] = [
    [0.412_390_799_3, 0.357_584_339_4, 0.180_480_788_4],
    [0.212_639_005_9, 0.715_168_678_8, 0.072_192_315_4],
    [0.019_330_818_7, 0.119_194_779_8, 0.950_532_152_2],
];
/// The matrix above inverted.
const RGB_FROM_XYZ: [[f64; 3]; 3] = [
    [3.240_969_941_9, -1.537_383_177_6, -0.498_610_760_3],
    [-0.969_243_636_3, 1.875_967_501_5, 0.041_555_057_4],
    [0.055_630_079_7, -0.203_976_958_9, 1.056_971_514_2],
];
/// XYZ of D65 at (0.3127, 0.3290).
const WHITE: [f64; 3] = [0.950_455_927_1, 1.0, 1.089_057_750_8];
/// Below this ratio the curve of CIELAB is a straight line (CIE 15:2018).
const EPSILON: f64 = 216.0 / 24389.0;
/// The slope of that line (CIE 15:2018).
const KAPPA: f64 = 24389.0 / 27.0;

fn times(matrix: &[[f64; 3]; 3], v: [f64; 3]) -> [f64; 3] {
    matrix.map(|row| row[0] * v[0] + row[1] * v[1] + row[2] * v[2])
}

impl Lab {
    /// A colour from L*, a* and b*.
    #[must_use]
    pub const fn new(l: f64, a: f64, b: f64) -> Self {
        Self { l, a, b }
    }

    /// The colour of a lightness, chroma C*ab and hue angle h_ab in degrees.
    #[must_use]
    pub fn from_polar(l: f64, chroma: f64, hue: f64) -> Self {
        Self::new(l, chroma * hue.to_radians().cos(), chroma * hue.to_radians().sin())
    }

    /// The colour of X/Xn, Y/Yn and Z/Zn.
    #[must_use]
    pub fn from_ratios(ratios: [f64; 3]) -> Self {
        let [x, y, z] = ratios.map(|t| if t > EPSILON { t.cbrt() } else { (KAPPA * t + 16.0) / 116.0 });
        Self::new(116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z))
    }

    /// The colour of linear sRGB; components may lie outside 0 to 1.
    #[must_use]
    pub fn from_linear(rgb: [f64; 3]) -> Self {
        let xyz = times(&XYZ_FROM_RGB, rgb);
        Self::from_ratios(std::array::from_fn(|k| xyz[k] / WHITE[k]))
    }

    /// Linear sRGB of this colour; outside 0 to 1 where sRGB does not show it.
    #[must_use]
    pub fn to_linear(self) -> [f64; 3] {
        let y = (self.l + 16.0) / 116.0;
        let ratio = |t: f64| if t * t * t > EPSILON { t * t * t } else { (116.0 * t - 16.0) / KAPPA };
        let xyz = [ratio(y + self.a / 500.0) * WHITE[0], ratio(y), ratio(y - self.b / 200.0) * WHITE[2]];
        times(&RGB_FROM_XYZ, xyz)
    }

    /// The colour as a screen can show it: of the same lightness and hue, less
    /// vivid where sRGB ends.
    #[must_use]
    pub fn shown(self) -> LinearRgb {
        if self.in_srgb() {
            let [r, g, b] = self.to_linear().map(|c| c.clamp(0.0, 1.0) as f32);
            return LinearRgb::new(r, g, b);
        }
        colour_of(Lightness(self.l.clamp(0.0, 100.0)), self.chroma(), self.hue())
    }

    /// The colour itself, if sRGB shows it; else [`Lab::shown`].
    #[must_use]
    pub fn within_srgb(self) -> Self {
        if self.in_srgb() { self } else { self.shown().into() }
    }

    /// As [`Lab::within_srgb`], with the hue of Oklch kept in place of CIELAB's.
    #[must_use]
    pub(crate) fn within_srgb_by_hue(self) -> Self {
        let whole = Oklch::from(self);
        let at = |share: f64| Self::from(Oklch { chroma: whole.chroma * share, ..whole });
        if self.in_srgb() || !self.is_finite() {
            return self.within_srgb();
        }
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..40 {
            let middle = f64::midpoint(low, high);
            if at(middle).in_srgb() { low = middle } else { high = middle }
        }
        at(low).within_srgb()
    }

    /// Whether sRGB shows this colour.
    #[must_use]
    pub fn in_srgb(self) -> bool {
        self.to_linear().iter().all(|c| (-1e-6..=1.0 + 1e-6).contains(c))
    }

    /// Chroma C*ab: 0 for a grey.
    #[must_use]
    pub fn chroma(self) -> f64 {
        self.a.hypot(self.b)
    }

    /// Hue angle h_ab in degrees, 0 up to 360: 0 is pinkish red, 90 yellow.
    #[must_use]
    pub fn hue(self) -> f64 {
        let degrees = self.b.atan2(self.a).to_degrees();
        if degrees < 0.0 { degrees + 360.0 } else { degrees }
    }

    /// Whether all three are numbers.
    #[must_use]
    pub fn is_finite(self) -> bool {
        self.l.is_finite() && self.a.is_finite() && self.b.is_finite()
    }
}

impl From<LinearRgb> for Lab {
    fn from(c: LinearRgb) -> Self {
        Self::from_linear([c.r, c.g, c.b].map(f64::from))
    }
}

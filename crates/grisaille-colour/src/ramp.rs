//! Ramps: the ordered colours of a region, darkest to lightest.

use crate::{Lab, LinearRgb, Mood, Oklch, difference};

/// How a ramp is made.
#[derive(Clone, Copy, Debug)]
pub struct RampSettings {
    /// How many steps, 3 to 6; by the distance of the ends if not given.
    pub steps: Option<usize>,
    /// The light's colour, which the light steps bend toward; white bends nothing.
    pub light: Lab,
    /// The mood that the dark steps bend toward, and its strength, 0 to 1.
    pub mood: Option<(&'static Mood, f64)>,
    /// How far the ends bend, 0 (not at all) to 1 (all the way).
    pub bend: f64,
    /// How far the ends go from the base toward near-black and near-white, 0.1 to 1.
    pub contrast: f64,
    /// Whether it is skin, which is never highlighted with white alone.
    pub skin: bool,
}

impl Default for RampSettings {
    fn default() -> Self {
        Self {
            steps: None,
            light: Lab::new(100.0, 0.0, 0.0),
            mood: None,
            bend: 0.35,
            contrast: 0.45,
            skin: false,
        }
    }
}

/// L* of near-black and near-white: what paint reaches with room for a last accent.
const ENDS: (f64, f64) = (5.0, 97.0);
/// The fewest and the most steps.
const STEPS: (usize, usize) = (3, 6);
/// ΔE00 between neighbouring steps that a brush still blends (common practice).
const BLENDS: f64 = 9.0;
/// The chroma in Oklab that the darks of a mood at full strength go toward.
const SHADE_CHROMA: f64 = 0.06;
/// Hue and chroma in Oklab of the warm light on dark skin: a reddish ochre.
const WARM: (f64, f64) = (58.0, 0.11);
/// A light of less chroma in Oklab than this is white.
const WHITE: f64 = 0.005;
/// Skin darker than this L* is highlighted warm.
const DARK_SKIN: f64 = 50.0;

/// The steps of a ramp round a base colour, darkest first.
///
/// The ends lie `contrast` of the way from the base to near-black (L* 5) and to
/// near-white (L* 97), which spans 41 L* if not set otherwise, whatever the base: a
/// matte form in soft daylight, three times as bright on its light side as on its dark
/// side, spans 24 round L* 50, and at the size of a figure that is not seen. Steps are
/// even in L*. Between base and light end the colour goes `bend` of the way to the
/// light's colour, between base and dark end to the mood's hue, in Oklab, in
/// proportion to the way gone. Light steps lose a third of their chroma toward the end,
/// as white does to paint; not so skin below L* 50, which goes toward a reddish ochre
/// (or halfway between that and the light's colour): white alone makes it ashen.
#[must_use]
pub fn ramp(base: Lab, settings: &RampSettings) -> Vec<Lab> {
    let base = base.within_srgb();
    let reach = settings.contrast.clamp(0.1, 1.0);
    let (dark, light) =
        (base.l + reach * (ENDS.0 - base.l).min(0.0), base.l + reach * (ENDS.1 - base.l).max(0.0));
    let at = |l: f64| step(base, l, (dark, light), settings);
    let count = settings.steps.unwrap_or_else(|| {
        let apart = difference(at(dark), at(light));
        1 + (apart / BLENDS).ceil() as usize
    });
    let last = count.clamp(STEPS.0, STEPS.1) - 1;
    (0..=last).map(|i| at(dark + (light - dark) * i as f64 / last as f64)).collect()
}

/// The colour of a ramp at a lightness between its ends.
fn step(base: Lab, l: f64, (dark, light): (f64, f64), settings: &RampSettings) -> Lab {
    let from: Oklch = base.into();
    let bend = settings.bend.clamp(0.0, 1.0);
    // The share of the way from the base to the end on this side.
    let way = |end: f64| {
        if (end - base.l).abs() > 1e-9 { ((l - base.l) / (end - base.l)).clamp(0.0, 1.0) } else { 0.0 }
    };
    let (keeps, toward, share) = if l > base.l {
        let u = way(light);
        let lit: Oklch = settings.light.into();
        let lit = (lit.hue, lit.chroma);
        // White light has no hue of its own to bend to.
        match (lit.1 > WHITE, settings.skin && base.l < DARK_SKIN) {
            (true, true) => (1.0, mean(WARM, lit), bend * u),
            (false, true) => (1.0, WARM, bend * u),
            (true, false) => (1.0 - u / 3.0, lit, bend * u),
            (false, false) => (1.0 - u / 3.0, lit, 0.0),
        }
    } else {
        let v = way(dark);
        match settings.mood {
            Some((mood, strength)) => {
                let strength = strength.clamp(0.0, 1.0);
                (1.0, (mood.toward, SHADE_CHROMA), bend * v * strength)
            }
            None => (1.0, (from.hue, from.chroma), 0.0),
        }
    };
    let (a, b) = rectangular(from.hue, from.chroma * keeps);
    let (to_a, to_b) = rectangular(toward.0, toward.1);
    let (a, b) = (a + (to_a - a) * share, b + (to_b - b) * share);
    let bent: Lab =
        Oklch { l: lightness_in_oklab(l), chroma: a.hypot(b), hue: b.atan2(a).to_degrees() }.into();
    Lab { l, ..bent }.within_srgb()
}

/// Oklab's lightness of a grey of this L*.
fn lightness_in_oklab(l: f64) -> f64 {
    Oklch::from(Lab::new(l, 0.0, 0.0)).l
}

fn rectangular(hue: f64, chroma: f64) -> (f64, f64) {
    let (sin, cos) = hue.to_radians().sin_cos();
    (chroma * cos, chroma * sin)
}

/// Halfway between two hues with their chromas.
fn mean(one: (f64, f64), other: (f64, f64)) -> (f64, f64) {
    let ((a, b), (c, d)) = (rectangular(one.0, one.1), rectangular(other.0, other.1));
    let (a, b) = (f64::midpoint(a, c), f64::midpoint(b, d));
    (b.atan2(a).to_degrees(), a.hypot(b))
}

/// A colour as a light of another colour shows it: each of red, green and blue times
/// the light's, in linear light, at the strength 0 to 1. The light is scaled to the
/// luminance 1, so that greys keep theirs. What sRGB cannot show is less vivid.
#[must_use]
pub fn tinted(colour: Lab, light: LinearRgb, strength: f64) -> Lab {
    let luminance = light.luminance();
    if !(luminance > 1e-6 && strength > 0.0) {
        return colour;
    }
    let s = strength.min(1.0);
    let rgb = colour.to_linear();
    let of_light = [light.r, light.g, light.b].map(|c| 1.0 + s * (f64::from(c) / luminance - 1.0));
    Lab::from_linear(std::array::from_fn(|k| rgb[k] * of_light[k])).within_srgb()
}

//! The false-colour scale: how much light, shown as a colour from the dark of
//! the deep sea to pale sand.
//!
//! Lightness rises evenly, so the scale also reads in a grey print and by
//! readers who see fewer colours; hue only helps. The scale is not stored:
//! hue and chroma are laid through a few control points in Oklch
//! (B. Ottosson, "A perceptual color space for image processing", 2020), and
//! for each step Oklab's L is solved so that CIE L* is exactly what it must
//! be. Where sRGB cannot show that much chroma, chroma gives way.

use crate::{LinearRgb, luminance_from_lightness};
use grisaille_base::Lightness;
use palette::{FromColor, LinSrgb, Oklch};
use std::sync::LazyLock;

/// L* at the dark end of the scale.
const DARK: f64 = 12.0;
/// L* at the light end of the scale.
const LIGHT: f64 = 96.0;
/// Steps that are solved; between them linear light is interpolated.
const STEPS: usize = 256;

/// Hue in degrees and chroma, evenly spaced along the scale: violet-blue of
/// the deep, blue, sea, kelp, dry reed, pale sand.
const CONTROL: [(f64, f64); 6] =
    [(288.0, 0.115), (268.0, 0.145), (240.0, 0.110), (196.0, 0.080), (122.0, 0.082), (84.0, 0.060)];

static SCALE: LazyLock<Vec<LinearRgb>> =
    LazyLock::new(|| (0..=STEPS).map(|i| solve(i as f64 / STEPS as f64)).collect());

/// The false-colour scale, 0 (no light) to 1 (the most).
#[derive(Clone, Copy, Debug)]
pub struct FalseColour;

impl FalseColour {
    /// The colour at `t`, 0 to 1 (clamped; what is not a number counts as 0).
    /// CIE L* is 12 + 84 t.
    #[must_use]
    pub fn at(t: f64) -> LinearRgb {
        let t = if t.is_nan() { 0.0 } else { t.clamp(0.0, 1.0) };
        let place = t * STEPS as f64;
        let below = (place as usize).min(STEPS - 1);
        match (SCALE.get(below), SCALE.get(below + 1)) {
            (Some(a), Some(b)) => a.lerp(*b, (place - below as f64) as f32),
            _ => LinearRgb::BLACK,
        }
    }

    /// The CIE lightness of the scale at `t`.
    #[must_use]
    pub fn lightness(t: f64) -> Lightness {
        let t = if t.is_nan() { 0.0 } else { t.clamp(0.0, 1.0) };
        Lightness(DARK + (LIGHT - DARK) * t)
    }
}

/// The colour at `t`: the control points' hue, the L* that `t` asks for, and
/// as much of the control points' chroma as sRGB can show.
fn solve(t: f64) -> LinearRgb {
    let (hue, chroma) = along(t);
    let luminance = luminance_from_lightness(FalseColour::lightness(t));
    let (mut shown, mut too_much) = (0.0, chroma);
    if let Some(colour) = inside(with_luminance(luminance, chroma, hue)) {
        return colour;
    }
    for _ in 0..40 {
        let middle = 0.5 * (shown + too_much);
        if inside(with_luminance(luminance, middle, hue)).is_some() {
            shown = middle;
        } else {
            too_much = middle;
        }
    }
    inside(with_luminance(luminance, shown, hue)).unwrap_or(LinearRgb::grey(luminance))
}

/// Hue in degrees and chroma at `t`, on a Catmull-Rom curve through the
/// control points.
fn along(t: f64) -> (f64, f64) {
    let place = t * (CONTROL.len() - 1) as f64;
    let i = (place as usize).min(CONTROL.len() - 2);
    let u = place - i as f64;
    let point = |k: usize| CONTROL[k.min(CONTROL.len() - 1)];
    let (p0, p1, p2, p3) = (point(i.saturating_sub(1)), point(i), point(i + 1), point(i + 2));
    let curve = |a: f64, b: f64, c: f64, d: f64| {
        b + 0.5 * u * (c - a + u * (2.0 * a - 5.0 * b + 4.0 * c - d + u * (3.0 * (b - c) + d - a)))
    };
    (curve(p0.0, p1.0, p2.0, p3.0), curve(p0.1, p1.1, p2.1, p3.1))
}

/// The colour of this chroma and hue whose luminance is as given: Oklab's L
/// by bisection, since luminance rises with it.
fn with_luminance(luminance: f64, chroma: f64, hue: f64) -> LinSrgb<f64> {
    let colour = |l: f64| LinSrgb::from_color(Oklch::new(l, chroma, hue));
    let (mut low, mut high) = (0.0, 1.2);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        let c = colour(middle);
        let y = 0.212_639_005_9 * c.red + 0.715_168_678_8 * c.green + 0.072_192_315_4 * c.blue;
        if y < luminance {
            low = middle;
        } else {
            high = middle;
        }
    }
    colour(0.5 * (low + high))
}

/// The colour, if sRGB can show it.
fn inside(c: LinSrgb<f64>) -> Option<LinearRgb> {
    let shown = [c.red, c.green, c.blue].iter().all(|v| (0.0..=1.0).contains(v));
    shown.then(|| LinearRgb::new(c.red as f32, c.green as f32, c.blue as f32))
}

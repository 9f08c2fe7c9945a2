//! The colours of the last touches: the dark line between two colours, and the
//! near-white of a spot highlight.

use crate::{Lab, LinearRgb, Oklch, oklab_of, tinted};

/// How much darker than the darker of its neighbours a line is, L*: read as a line at
/// arm's length, not as a gap (common practice; the number is ours).
const BELOW: f64 = 14.0;
/// As dark as a line is made if its neighbours leave room: darker, no colour is mixed from paints.
const DARKEST: f64 = 14.0;
/// Of the darker neighbour's L* where they do not.
const OF_DARK: f64 = 0.6;
/// The least chroma in Oklab of a line, so that none is plain black.
const LEAST_CHROMA: f64 = 0.02;
/// How much of its neighbours' chroma a line keeps.
const KEEPS: f64 = 0.6;
/// The hue in Oklab of a line between greys: a cool blue-black.
const COOL: f64 = 260.0;
/// L* of a spot highlight.
const SPOT: f64 = 96.0;
/// How much of the light's colour a spot highlight takes on.
const SPOT_TINT: f64 = 0.35;

/// The colour of the line between two colours (the darkest that stand at it, or one of
/// them twice): L* `14` below the darker one, down to 6, in the hue of their mean, never
/// plain black. Dark neighbours leave less room; the line is then at least as dark as
/// half the darker one's L*.
#[must_use]
pub fn line_colour(one: Lab, other: Lab) -> Lab {
    let darker = one.l.min(other.l).clamp(0.0, 100.0);
    let l = (darker - BELOW).max(DARKEST.min(OF_DARK * darker));
    let ([_, a, b], [_, c, d]) = (oklab_of(one), oklab_of(other));
    let (a, b) = (f64::midpoint(a, c), f64::midpoint(b, d));
    let chroma = a.hypot(b);
    let hue = if chroma > 1e-3 { b.atan2(a).to_degrees() } else { COOL };
    let grey = Oklch::from(Lab::new(l, 0.0, 0.0)).l;
    let made: Lab = Oklch { l: grey, chroma: (KEEPS * chroma).max(LEAST_CHROMA), hue }.into();
    Lab { l, ..made }.within_srgb()
}

/// The near-white of a spot highlight under a light of a colour, the light scaled to
/// luminance 1: L* 96, tinted by a third of the light.
#[must_use]
pub fn spot_colour(light: LinearRgb) -> Lab {
    let lit = tinted(Lab::new(SPOT, 0.0, 0.0), light, SPOT_TINT);
    Lab { l: SPOT, ..lit }.within_srgb()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colour_from_text;

    #[test]
    fn a_line_is_dark_and_never_plain_black() {
        let colours = ["#b06f45", "#c9b892", "#8b8d8b", "#1f3a6b", "#ffffff", "#1b1c20", "#4d6130"];
        for one in colours {
            for other in colours {
                let (one, other) = (colour_from_text(one).unwrap(), colour_from_text(other).unwrap());
                let line = line_colour(one, other);
                let darker = one.l.min(other.l);
                assert!(line.l <= 0.61 * darker.max(0.1) || line.l <= darker - 13.9, "{line:?} {darker}");
                assert!(darker < 28.0 || line.l <= darker - 13.9, "{line:?} {darker}");
                assert!(line.chroma() > 2.0, "{line:?}");
            }
        }
        // Related: copper's line is a warm brown.
        let copper = colour_from_text("#b06f45").unwrap();
        let line = line_colour(copper, copper);
        assert!((line.hue() - copper.hue()).abs() < 15.0, "{} {}", line.hue(), copper.hue());
    }

    #[test]
    fn a_spot_is_near_white_and_takes_the_lights_hue() {
        let white = spot_colour(LinearRgb::WHITE);
        assert!(white.chroma() < 0.5 && (white.l - 96.0).abs() < 0.5);
        let lamp = spot_colour(LinearRgb::from_srgb8([255, 196, 120]));
        assert!(lamp.l > 90.0 && (50.0..100.0).contains(&lamp.hue()) && lamp.chroma() > 3.0, "{lamp:?}");
    }
}

//! What an open surface gets: the closed forms behind the estimates.

use crate::light::Sky;
use std::f64::consts::PI;

/// Ambient on an open surface whose normal makes an angle θ with straight up,
/// cos θ = `up`, above a black ground; 1 on a level surface.
///
/// Under a uniform sky (1 + cos θ)/2, the view factor from a tilted element to
/// the sky (Howell, A Catalog of Radiation Heat Transfer Configuration
/// Factors). Under the overcast sky a third of the brightness is uniform and
/// two thirds go with z. The part of the sky that the surface faces lies
/// between two planes through a common line; in angles about that line,
/// ∫ z·(n·l) dω = ∫ sin³α dα · ∫ cos φ cos(φ − θ) dφ = ⅔((π − θ) cos θ + sin θ).
/// Over π this makes (1 + cos θ)/6 + 4/(9π)·((π − θ) cos θ + sin θ), which is
/// 7/9 for a level surface; the result is divided by that.
#[must_use]
pub fn ambient_open(up: f64, sky: Sky) -> f64 {
    let up = up.clamp(-1.0, 1.0);
    match sky {
        Sky::Uniform => 0.5 * (1.0 + up),
        Sky::Overcast => {
            let angle = up.acos();
            let across = (1.0 - up * up).max(0.0).sqrt();
            ((1.0 + up) * 3.0 / 14.0 + 4.0 / (7.0 * PI) * ((PI - angle) * up + across)).max(0.0)
        }
    }
}

/// Ring light on an open surface: the mean over azimuth φ of
/// `max(0, n·l(φ))` at 45° tilt, over cos 45°.
///
/// With n = (sin θ, 0, cos θ): n·l = (cos θ + sin θ cos φ)/√2, positive for
/// |φ| < φ₀ with cos φ₀ = −cot θ; the mean of that stretch is
/// (φ₀ cos θ + sin θ sin φ₀)/(π√2).
#[must_use]
pub fn ring_open(up: f64) -> f64 {
    let up = up.clamp(-1.0, 1.0);
    let across = (1.0 - up * up).max(0.0).sqrt();
    if up >= across {
        up
    } else if -up >= across {
        0.0
    } else {
        let end = (-up / across).clamp(-1.0, 1.0).acos();
        (end * up + across * end.sin()) / PI
    }
}

/// A sphere light with nothing in between: `cos t · (r₀/D)²` where the whole
/// sphere stands above the sample's horizon, less where it dips below it.
///
/// `cosine` is that of the angle t between the normal and the direction to the
/// centre, at distance `distance`; view factor from an element to a sphere
/// partly below its plane, in the same catalogue.
#[must_use]
pub fn sphere_light_open(cosine: f64, distance: f64, radius: f64, reference: f64) -> f64 {
    let c = cosine.clamp(-1.0, 1.0);
    if radius <= 0.0 {
        return if distance > 0.0 { c.max(0.0) * (reference / distance).powi(2) } else { 0.0 };
    }
    // A sample inside the glass is treated as lying just outside of it.
    let h = (distance / radius).max(1.0 + 1e-9);
    let share = if c >= 1.0 / h {
        c / (h * h)
    } else if c <= -1.0 / h {
        0.0
    } else {
        let x = (h * h - 1.0).sqrt();
        let sine = (1.0 - c * c).sqrt();
        let y = (-x * c / sine).clamp(-1.0, 1.0);
        let root = (1.0 - y * y).sqrt();
        (c * y.acos() - x * sine * root) / (PI * h * h) + (sine * root / x).atan() / PI
    };
    share.max(0.0) * (reference / radius).powi(2)
}

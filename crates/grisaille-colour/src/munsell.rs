//! The ten-step value scale (Munsell value), from luminance and back.

/// Relative luminance Y (0 to 1, perfect white is 1) of a Munsell value.
///
/// `value` outside 0 to 10 is clamped; a value that is not a number gives 0.
/// Source: ASTM D1535-08e1, the quintic relative to a perfect diffuser.
#[must_use]
pub fn luminance_from_munsell(value: f64) -> f64 {
    let v = if value.is_nan() { 0.0 } else { value.clamp(0.0, 10.0) };
    let percent = v * (1.1914 + v * (-0.22533 + v * (0.23352 + v * (-0.020484 + v * 0.000_819_39))));
    percent / 100.0
}

/// Munsell value (0 to 10) of a relative luminance Y (0 to 1, clamped).
///
/// The quintic of ASTM D1535-08e1 inverted by Newton's method inside a
/// shrinking bracket, so it always converges; good to 1e-12.
#[must_use]
pub fn munsell_value(luminance: f64) -> f64 {
    let y = if luminance.is_nan() { 0.0 } else { luminance.clamp(0.0, 1.0) };
    let (mut low, mut high) = (0.0_f64, 10.0_f64);
    let mut v = 10.0 * y.sqrt();
    for _ in 0..100 {
        let error = luminance_from_munsell(v) - y;
        if error > 0.0 {
            high = v;
        } else {
            low = v;
        }
        let newton = v - error / slope(v);
        // A Newton step that leaves the bracket is replaced by halving it.
        let next = if newton > low && newton < high { newton } else { 0.5 * (low + high) };
        if (next - v).abs() < 1e-13 {
            return next;
        }
        v = next;
    }
    v
}

/// The derivative of the quintic, in luminance (0 to 1) for one step of value.
fn slope(v: f64) -> f64 {
    (1.1914 + v * (-0.45066 + v * (0.70056 + v * (-0.081_936 + v * 0.004_096_95)))) / 100.0
}

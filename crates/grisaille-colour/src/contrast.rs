//! How well two colours stand apart: the contrast ratio of WCAG 2.1.

use crate::LinearRgb;

/// The contrast ratio of two colours, 1 (the same) to 21 (black on white),
/// whichever comes first. 4.5 is enough for text.
///
/// Source: WCAG 2.1, "contrast ratio" and "relative luminance", with the
/// four-digit luminance weights printed there.
#[must_use]
pub fn wcag_contrast(one: LinearRgb, other: LinearRgb) -> f64 {
    let luminance = |c: LinearRgb| {
        let y = 0.2126 * f64::from(c.r) + 0.7152 * f64::from(c.g) + 0.0722 * f64::from(c.b);
        if y.is_nan() { 0.0 } else { y.clamp(0.0, 1.0) }
    };
    let (a, b) = (luminance(one), luminance(other));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

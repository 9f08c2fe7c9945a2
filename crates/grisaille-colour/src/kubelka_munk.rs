//! Thick paint by Kubelka and Munk: absorption over scattering, and mixes.

use crate::curve::Curve;

/// K/S of the reflectance R, 0 to 1, of a layer so thick that its ground does
/// not show: (1 − R)²/(2R). Infinite at 0.
///
/// Source: P. Kubelka, F. Munk, "Ein Beitrag zur Optik der Farbanstriche",
/// Zeitschrift für technische Physik 12, 1931 (cited from memory).
#[must_use]
pub fn absorption_ratio(reflectance: f64) -> f64 {
    (1.0 - reflectance).powi(2) / (2.0 * reflectance)
}

/// The reflectance of a thick layer of this K/S (0 or more): [`absorption_ratio`]
/// turned round, R = 1 + K/S − √((K/S)² + 2 K/S).
#[must_use]
pub fn thick_reflectance(ratio: f64) -> f64 {
    // The other root of the quadratic, inverted: their product is 1, and this
    // one does not lose its digits where the ratio is large.
    1.0 / (1.0 + ratio + (ratio * (ratio + 2.0)).sqrt())
}

/// The curve of a mix of thick paints by a single constant: K/S adds up in
/// proportion to the parts, which need not sum to 1. `None` without a part above 0,
/// or with one that is negative or not a number.
///
/// Source: D. R. Duncan, "The colour of pigment mixtures", Proceedings of the
/// Physical Society 52, 1940, for paints that scatter alike (cited from memory).
#[must_use]
pub fn mixed(paints: &[(f64, &Curve)]) -> Option<Curve> {
    let all: f64 = paints.iter().map(|(part, _)| part).sum();
    let sound = paints.iter().all(|(part, _)| *part >= 0.0);
    if !(sound && all > 0.0 && all.is_finite()) {
        return None;
    }
    Some(Curve::new(std::array::from_fn(|i| {
        let ratio = |curve: &Curve| absorption_ratio(curve.samples()[i]);
        thick_reflectance(paints.iter().map(|(part, curve)| part / all * ratio(curve)).sum())
    })))
}

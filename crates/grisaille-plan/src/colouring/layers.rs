//! Even thin layers over what is painted: glazes and filters, and transparent paint over the
//! primer's tones. How thick is ours; what a thickness does is Kubelka and Munk's.

use super::Shelf;
use grisaille_colour::{Curve, Finish, Lab, Mix, Part, curve_of, difference, pigment_of};
use grisaille_words::{Words, say};

/// Thicknesses that a brush lays down on purpose, in coats of unthinned paint.
const COATS: [f64; 8] = [0.1, 0.2, 0.35, 0.5, 0.75, 1.0, 1.5, 2.0];

/// One paint as an even thin layer over several grounds.
#[derive(Clone, Debug, PartialEq)]
pub struct ThinLayer {
    /// What it is mixed from; `apart` is the mean difference to what was wanted.
    pub mix: Mix,
    /// How thick, in coats of unthinned paint.
    pub coats: f64,
    /// What it makes of each ground.
    pub over: Vec<Lab>,
}

impl ThinLayer {
    /// How to thin it, in parts of water to one of paint: thinner paint, more coats (common practice).
    #[must_use]
    pub fn thinning(&self, words: &Words) -> String {
        let key = match self.coats {
            c if c <= 0.2 => "thin-glaze-one",
            c if c <= 0.5 => "thin-glaze-one-or-two",
            c if c <= 1.0 => "thin-glaze-two-or-three",
            _ => "thin-glaze-three",
        };
        say!(words, key)
    }
}

/// The layer that brings each ground nearest to what is wanted on it, of the transparent paints at hand
/// alone and in pairs, and of `own`, a mix thinned down; by the mean of squared differences weighed by
/// `weights`. `None` without paints.
#[must_use]
pub fn thin_layer(
    shelf: &Shelf,
    own: Option<&Mix>,
    grounds: &[Curve],
    wanted: &[Lab],
    weights: &[f64],
) -> Option<ThinLayer> {
    let stains: Vec<usize> = (0..shelf.paints.len())
        .filter(|i| shelf.paints[*i].finish == Finish::Transparent && shelf.paints[*i].at_hand())
        .collect();
    let part = |paint| Part { paint, parts: 1 };
    let mut tried: Vec<Vec<Part>> = stains.iter().map(|i| vec![part(*i)]).collect();
    for (k, one) in stains.iter().enumerate() {
        tried.extend(stains[k + 1..].iter().map(|other| vec![part(*one), part(*other)]));
    }
    tried.extend(own.map(|m| m.parts.clone()));
    let all: f64 = weights.iter().sum::<f64>().max(f64::MIN_POSITIVE);
    let mut best: Option<(f64, ThinLayer)> = None;
    for parts in tried {
        let Some(pigment) = pigment_of(&parts, &shelf.paints) else { continue };
        for coats in COATS {
            let over: Vec<Lab> =
                grounds.iter().map(|g| grisaille_colour::colour_of_curve(&pigment.over(g, coats))).collect();
            let each = over.iter().zip(wanted).zip(weights);
            let (mut squares, mut mean) = (0.0, 0.0);
            for ((got, want), w) in each {
                let apart = difference(*want, *got);
                squares += w / all * apart * apart;
                mean += w / all * apart;
            }
            if best.as_ref().is_none_or(|(least, _)| squares < *least) {
                let colour = grisaille_colour::colour_of_curve(&pigment.thick());
                let mix = Mix { parts: parts.clone(), colour, apart: mean };
                best = Some((squares, ThinLayer { mix, coats, over }));
            }
        }
    }
    best.map(|(_, layer)| layer)
}

/// The curve of a colour as a ground for layers: of its mix where there is one.
#[must_use]
pub fn ground_of(shelf: &Shelf, mix: Option<&Mix>, colour: Lab) -> Curve {
    let pigment = mix.and_then(|m| pigment_of(&m.parts, &shelf.paints));
    let thick = pigment.map(|p| p.thick());
    // A glaze is no thick layer: then only its colour is known.
    let thick = thick.filter(|curve| difference(grisaille_colour::colour_of_curve(curve), colour) < 0.5);
    thick.unwrap_or_else(|| curve_of(colour))
}

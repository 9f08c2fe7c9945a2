//! What a material asks of its ramp and of the brush. All of it is common practice of
//! the trade, without a published source; the numbers are ours.

use grisaille_scheme::Material;
use grisaille_words::{Words, say};

/// The rule for a material.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MaterialRule {
    /// How far the ends of its ramp go toward near-black and near-white, 0.1 to 1.
    pub contrast: f64,
    /// How much narrower its lights are: of the share s of its surface that lies at or
    /// above a border, sⁿ is left. 1 changes nothing.
    pub narrow: f64,
}

/// How to lay the steps of a material on, a sentence.
#[must_use]
pub(crate) fn technique(material: Material, words: &Words) -> String {
    say!(words, &format!("technique-{}", material.as_str()))
}

/// Which brush a material takes.
#[must_use]
pub(crate) fn brush(material: Material, words: &Words) -> String {
    say!(words, &format!("brush-{}", material.as_str()))
}

/// A step lit from its own depth, or reflections, not from the planned light.
#[must_use]
pub(crate) fn has_light_of_its_own(material: Material) -> bool {
    matches!(material, Material::Nmm | Material::Glow)
}

/// The rule for a material.
#[must_use]
pub fn material_rule(material: Material) -> MaterialRule {
    let rule = |contrast, narrow| MaterialRule { contrast, narrow };
    match material {
        Material::Matte => rule(0.45, 1.0),
        Material::Satin => rule(0.55, 1.35),
        Material::Cloth => rule(0.40, 1.0),
        Material::Leather => rule(0.50, 1.15),
        Material::Skin => rule(0.38, 1.0),
        Material::Tmm => rule(0.45, 1.35),
        Material::Nmm => rule(0.85, 1.2),
        Material::Hair => rule(0.50, 1.1),
        Material::Chain => rule(0.60, 1.2),
        Material::Glow => rule(0.60, 1.0),
    }
}

//! What a material asks of its ramp and of the brush. All of it is common practice of
//! the trade, without a published source; the numbers are ours.

use grisaille_scheme::Material;

/// The rule for a material.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MaterialRule {
    /// How far the ends of its ramp go toward near-black and near-white, 0.1 to 1.
    pub contrast: f64,
    /// How much narrower its lights are: of the share s of its surface that lies at or
    /// above a border, sⁿ is left. 1 changes nothing.
    pub narrow: f64,
    /// How to lay its steps on, a sentence.
    pub technique: &'static str,
    /// Which brush.
    pub brush: &'static str,
}

/// A step lit from its own depth, or reflections, not from the planned light.
#[must_use]
pub(crate) fn has_light_of_its_own(material: Material) -> bool {
    matches!(material, Material::Nmm | Material::Glow)
}

/// The rule for a material.
#[must_use]
pub fn material_rule(material: Material) -> MaterialRule {
    let rule = |contrast, narrow, technique, brush| MaterialRule { contrast, narrow, technique, brush };
    match material {
        Material::Matte => rule(
            0.45,
            1.0,
            "Lay each step beside the last and blend the border with a damp brush.",
            "round, size 1",
        ),
        Material::Satin => rule(
            0.55,
            1.35,
            "Keep the lights narrow and their borders crisp; only the darks are blended.",
            "round, size 1",
        ),
        Material::Cloth => rule(
            0.40,
            1.0,
            "Hatch with thin strokes across the folds; a visible stroke reads as weave.",
            "round, size 0",
        ),
        Material::Leather => rule(
            0.50,
            1.15,
            "Stipple the lights in dots and short scratches, most of them on worn edges.",
            "old round, size 0, blunt",
        ),
        Material::Skin => rule(
            0.38,
            1.0,
            "Many thin layers; draw each toward the light and let it dry before the next.",
            "round, size 0",
        ),
        Material::Tmm => rule(
            0.45,
            1.35,
            "Metallic paint thinly and evenly; shade it with washes, and only catch edges with the lightest.",
            "round, size 1, kept for metallic paint",
        ),
        Material::Nmm => rule(
            0.85,
            1.2,
            "Put down dark and light reflections first, hard beside each other, then blend the way between.",
            "round, size 0",
        ),
        Material::Hair => rule(
            0.50,
            1.1,
            "Paint light and dark over the whole volume as if it were one mass; strands come from a wash and a dry brush.",
            "round, size 1, then a dry flat brush",
        ),
        Material::Chain => rule(
            0.60,
            1.2,
            "Base all links, wash, then dry brush lightly toward the light; pick out a few links last.",
            "dry flat brush",
        ),
        Material::Glow => rule(
            0.60,
            1.0,
            "Lightest in the middle and in the depths, darker and more vivid toward the rim.",
            "round, size 0",
        ),
    }
}

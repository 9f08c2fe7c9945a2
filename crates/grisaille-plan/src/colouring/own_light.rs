//! Materials whose steps do not lie as the light falls: painted reflections, volumes of
//! hair and chain, and what glows.

use crate::neighbours::Neighbours;
use crate::openness::Openness;
use crate::plan::Plan;
use grisaille_base::{Stop, Watch};
use grisaille_light::{Kind, toward};
use grisaille_scheme::Material;
use nalgebra::Vector3;

/// How far above level the eye of the one who looks at reflections stands, degrees.
const EYE: f64 = 20.0;
/// How far from a light's direction its reflection still shows, degrees.
const LOBE: f64 = 28.0;
/// Hair and chain are evened out over so many radii of the brush tip: strands and links
/// are gone then, the lock and the coat of mail are left.
const VOLUME: f64 = 5.0;

/// The L*-like number of each sample that the steps of a material are cut from, 0 to 100;
/// `None` where that is the planned value. `azimuth` is where NMM is looked at from, degrees
/// round the figure from the front.
pub(crate) fn light_of_its_own(
    plan: &Plan,
    open: &Openness,
    material: Material,
    azimuth: f64,
    watch: &Watch,
) -> Result<Option<Vec<f32>>, Stop> {
    let lightness = &plan.bands.lightness;
    Ok(match material {
        Material::Nmm => Some(reflections(plan, azimuth)),
        // What shines is brightest where it lies deepest.
        Material::Glow => Some(open.values.iter().map(|o| 100.0 * (1.0 - o.clamp(0.0, 1.0))).collect()),
        Material::Hair | Material::Chain => {
            let radius = VOLUME * plan.brush.radius_mm;
            Some(Neighbours::of(&plan.surface).smoothed(lightness, radius, watch)?)
        }
        _ => None,
    })
}

/// What polished metal shows at each sample.
///
/// The direction mirrored at the normal, r = 2 (n·v) n − v, looks into surroundings that
/// painters agree on (common practice; the numbers are ours): a sky that is brightest
/// just above the horizon and deeper toward straight up, a horizon that is the darkest
/// of all just below, a ground that is lit again from straight above, and each light as
/// a bright spot. A quarter of the planned value is mixed in, so that shadows stay.
fn reflections(plan: &Plan, azimuth: f64) -> Vec<f32> {
    let view = toward(90.0 - EYE, azimuth).into_inner();
    let samples = &plan.surface.samples;
    let lobe = LOBE.to_radians().cos();
    let each = samples.normal.iter().zip(&samples.position).zip(&plan.bands.lightness);
    each.map(|((normal, at), lightness)| {
        let n: Vector3<f64> = normal.cast();
        let mirrored = 2.0 * n.dot(&view) * n - view;
        let mut shown = surroundings(mirrored.z.clamp(-1.0, 1.0).asin().to_degrees());
        for light in &plan.lights {
            let to_light = match light.kind {
                Kind::Zenithal { tilt, azimuth, .. } => Some(toward(tilt, azimuth).into_inner()),
                Kind::Point { at: lamp, .. } => (lamp - at.cast::<f64>()).try_normalize(1e-9),
                Kind::Ring | Kind::Ambient { .. } => None,
            };
            let near = to_light.map_or(-1.0, |to| mirrored.dot(&to));
            // Smooth from the rim of the spot to its middle.
            let t = ((near - lobe) / (1.0 - lobe)).clamp(0.0, 1.0);
            shown += (1.0 - shown) * t * t * (3.0 - 2.0 * t);
        }
        (75.0 * shown + 0.25 * f64::from(*lightness)) as f32
    })
    .collect()
}

/// How bright the surroundings are at an elevation in degrees, 0 to 1.
fn surroundings(elevation: f64) -> f64 {
    const KNOTS: [(f64, f64); 6] =
        [(-90.0, 0.48), (-30.0, 0.30), (-6.0, 0.02), (2.0, 0.05), (12.0, 0.95), (90.0, 0.55)];
    let above = KNOTS.iter().position(|k| k.0 >= elevation).unwrap_or(KNOTS.len() - 1).max(1);
    let ((e0, l0), (e1, l1)) = (KNOTS[above - 1], KNOTS[above]);
    l0 + (l1 - l0) * ((elevation - e0) / (e1 - e0)).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_horizon_is_dark_and_the_sky_above_it_bright() {
        assert!(surroundings(-3.0) < 0.06 && surroundings(12.0) > 0.94);
        assert!(surroundings(-90.0) > 0.4 && surroundings(90.0) < 0.6);
        assert!(surroundings(-200.0) > 0.4 && surroundings(200.0) < 0.6);
    }
}

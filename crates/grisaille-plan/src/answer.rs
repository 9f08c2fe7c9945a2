//! What the painter asks of a light: how much of the figure does it reach?

use grisaille_base::LightId;
use grisaille_light::Exposure;
use grisaille_mesh::Part;
use grisaille_sight::Surface;

/// Exposure above which a light counts as reaching a spot: one part in
/// fifty of full light is below the step a painter can mix.
const REACHED: f32 = 0.02;

/// One light's reach.
#[derive(Clone, Debug, PartialEq)]
pub struct LightAnswer {
    /// Which light.
    pub id: LightId,
    /// The share of the painted surface it reaches with more than 0.02, 0 to 1.
    pub reached_share: f64,
    /// Its mean exposure over the painted surface.
    pub mean: f64,
    /// Its greatest exposure on the painted surface.
    pub greatest: f64,
}

pub(crate) fn answers(surface: &Surface, part_of_face: &[Part], exposure: &Exposure) -> Vec<LightAnswer> {
    // Each open sample stands for a third of each painted face round it.
    let mut area = vec![0.0_f64; surface.samples.len()];
    for (f, face) in surface.faces.iter().enumerate() {
        if part_of_face[f] != Part::Underside {
            let third = surface.face_area(f) / 3.0;
            for s in face {
                if !surface.samples.buried.get(*s as usize) {
                    area[*s as usize] += third;
                }
            }
        }
    }
    let all: f64 = area.iter().sum();
    let per_area = |sum: f64| if all > 0.0 { sum / all } else { 0.0 };
    exposure
        .lights
        .iter()
        .map(|light| {
            let each = || light.values.iter().zip(&area).filter(|(_, a)| **a > 0.0);
            LightAnswer {
                id: light.id,
                reached_share: per_area(each().filter(|(e, _)| **e > REACHED).map(|(_, a)| a).sum()),
                mean: per_area(each().map(|(e, a)| f64::from(*e) * a).sum()),
                greatest: each().map(|(e, _)| f64::from(*e)).fold(0.0, f64::max),
            }
        })
        .collect()
}

//! What the painter asks of the light: how far does it reach, what stays
//! black, which lights compete, does anything outshine the lamp?

use crate::band::Bands;
use crate::field::{area_below, open_corners};
use crate::flat_spot::{self, FlatSpot};
use crate::island::areas;
use crate::neighbours::Neighbours;
use crate::value::Values;
use grisaille_base::{LightId, RegionId};
use grisaille_light::{Exposure, Kind};
use grisaille_mesh::Part;
use grisaille_sight::Surface;
use nalgebra::{Point3, Vector3};
use std::collections::BTreeMap;

/// Exposure above which a light counts as reaching a spot: one part in
/// fifty of full light is below the step a painter can mix.
const REACHED: f32 = 0.02;
/// Two lights compete where the weaker adds at least this share of the stronger.
const COMPETES: f32 = 0.9;
/// A spot is black when it lies less than this above the darkest paint, L*:
/// the least difference that an eye sees between two large areas side by side.
const BLACK: f64 = 1.0;
/// What rounding may add to a lightness, L*.
const ROUNDING: f64 = 1e-3;

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
    /// For a lamp the share of the painted surface that is lighter than the
    /// lamp itself is painted, 0 to 1. The fit leaves none.
    pub outshone_share: Option<f64>,
}

/// Answers about all lights together. Shares are of the painted surface, 0 to 1.
#[derive(Clone, Debug, PartialEq)]
pub struct Answers {
    /// What is left black: less than 1 L* above the darkest paint.
    pub black_share: f64,
    /// What is brighter than the figure's brightest spot and held at the
    /// lightest paint, which only a base can be.
    pub held_share: f64,
    /// What of all the light on the painted surface has bounced off another
    /// part; `None` when nothing bounces.
    pub bounced_share: Option<f64>,
    /// Pairs of lights that compete somewhere, in the order of the lights.
    pub contests: Vec<Contest>,
    /// Regions that turn and yet are planned in one tone, the largest first.
    pub flat_spots: Vec<FlatSpot>,
}

/// Where two lights compete: they are the two strongest there, and what they
/// add differs by less than a tenth, so that neither reads as ruling.
#[derive(Clone, Debug, PartialEq)]
pub struct Contest {
    /// Which two.
    pub lights: [LightId; 2],
    /// The share of the painted surface, above 0.
    pub share: f64,
    /// A point of the surface in the midst of the largest area where they do,
    /// scene millimetres.
    pub at: Point3<f32>,
}

pub(crate) fn light_answers(
    surface: &Surface,
    part_of_face: &[Part],
    exposure: &Exposure,
    values: &Values,
) -> Vec<LightAnswer> {
    let area = painted_area(surface, part_of_face);
    let all: f64 = area.iter().sum();
    let per_area = |sum: f64| if all > 0.0 { sum / all } else { 0.0 };
    let lamp = values.fit.lamp().0 + ROUNDING;
    let outshone = share_above(surface, part_of_face, &values.lightness, lamp);
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
                outshone_share: matches!(light.kind, Kind::Point { .. }).then_some(outshone),
            }
        })
        .collect()
}

pub(crate) fn answers(
    surface: &Surface,
    part_of_face: &[Part],
    (exposure, values, bands): (&Exposure, &Values, &Bands),
    neighbours: &Neighbours,
) -> Answers {
    let fit = &values.fit;
    let black = fit.lightness(0.0).0 + BLACK;
    let sums: Vec<f32> = (0..surface.samples.len()).map(|i| values.sum(i) as f32).collect();
    // A hair above, so that the brightest spot itself does not count as held.
    let held = fit.brightest * (1.0 + 1e-5);
    // A region for each piece, until they are divided further.
    let pieces: Vec<RegionId> =
        surface.piece.iter().map(|p| RegionId(p.0.min(u32::from(u16::MAX)) as u16)).collect();
    Answers {
        black_share: 1.0 - share_above(surface, part_of_face, &values.lightness, black),
        held_share: share_above(surface, part_of_face, &sums, held),
        bounced_share: values
            .bounced
            .as_ref()
            .map(|b| bounced_share(surface, part_of_face, b, &values.shares)),
        contests: contests(surface, part_of_face, exposure, values, neighbours),
        flat_spots: flat_spot::found(surface, part_of_face, &pieces, bands),
    }
}

/// The part of all light over the painted area that `bounced` makes of `shares`.
fn bounced_share(surface: &Surface, part_of_face: &[Part], bounced: &[Vec<f32>], shares: &[Vec<f32>]) -> f64 {
    let area = painted_area(surface, part_of_face);
    let sum = |of: &[Vec<f32>]| -> f64 {
        of.iter().flat_map(|light| light.iter().zip(&area)).map(|(e, a)| f64::from(*e) * a).sum()
    };
    let all = sum(shares);
    if all > 0.0 { sum(bounced) / all } else { 0.0 }
}

fn contests(
    surface: &Surface,
    part_of_face: &[Part],
    exposure: &Exposure,
    values: &Values,
    neighbours: &Neighbours,
) -> Vec<Contest> {
    let area = painted_area(surface, part_of_face);
    let all: f64 = area.iter().sum();
    // For each pair that competes, in the order of the lights, where it does.
    let mut places: BTreeMap<[usize; 2], Vec<usize>> = BTreeMap::new();
    for i in (0..area.len()).filter(|i| area[*i] > 0.0) {
        if let Some((a, b)) = competing(values.shares.iter().map(|s| s[i])) {
            places.entry([a.min(b), a.max(b)]).or_default().push(i);
        }
    }
    let mut label = vec![0_u8; area.len()];
    places
        .into_iter()
        .map(|(pair, samples)| {
            samples.iter().for_each(|i| label[*i] = 1);
            let at = midst(surface, neighbours, &label, &samples);
            samples.iter().for_each(|i| label[*i] = 0);
            let share = samples.iter().map(|i| area[*i]).sum::<f64>() / all;
            Contest { lights: pair.map(|k| exposure.lights[k].id), share, at }
        })
        .collect()
}

/// Of some samples, which alone bear the label 1, the one nearest to the
/// middle of the largest connected area.
fn midst(surface: &Surface, neighbours: &Neighbours, label: &[u8], samples: &[usize]) -> Point3<f32> {
    let (area_of, sizes) = areas(neighbours, label);
    let place = |i: usize| surface.samples.position[i];
    let largest = samples.iter().map(|i| area_of[*i]).max_by(|a, b| {
        let size = |a: &u32| sizes.get(*a as usize).copied().unwrap_or(0.0);
        size(a).total_cmp(&size(b)).then(b.cmp(a))
    });
    let inside = || samples.iter().copied().filter(|i| Some(area_of[*i]) == largest);
    let sum: Vector3<f64> = inside().map(|i| place(i).coords.cast::<f64>() * neighbours.area(i)).sum();
    let middle = Point3::from(sum / inside().map(|i| neighbours.area(i)).sum::<f64>());
    let far = |i: usize| (place(i).cast::<f64>() - middle).norm_squared();
    inside().min_by(|a, b| far(*a).total_cmp(&far(*b))).map_or_else(Point3::origin, place)
}

/// The two strongest lights, if they compete.
fn competing(shares: impl Iterator<Item = f32>) -> Option<(usize, usize)> {
    let (mut first, mut second) = ((0.0, None), (0.0, None));
    for (k, share) in shares.enumerate() {
        if share > first.0 {
            second = std::mem::replace(&mut first, (share, Some(k)));
        } else if share > second.0 {
            second = (share, Some(k));
        }
    }
    (second.0 >= COMPETES * first.0).then_some(())?;
    Some((first.1?, second.1?))
}

/// The painted area for which each sample stands: a third of each painted face
/// round it, 0 where it is buried.
pub(crate) fn painted_area(surface: &Surface, part_of_face: &[Part]) -> Vec<f64> {
    let mut area = vec![0.0_f64; surface.samples.len()];
    for (f, face) in surface.faces.iter().enumerate() {
        if part_of_face[f].is_painted() {
            let third = surface.face_area(f) / 3.0;
            for s in face {
                if !surface.samples.buried.get(*s as usize) {
                    area[*s as usize] += third;
                }
            }
        }
    }
    area
}

/// The share of the painted surface on which a field is at `level` or above.
fn share_above(surface: &Surface, part_of_face: &[Part], field: &[f32], level: f64) -> f64 {
    let (mut above, mut all) = (0.0, 0.0);
    for f in (0..surface.faces.len()).filter(|f| part_of_face[*f].is_painted()) {
        let Some(corners) = open_corners(surface, f, field) else { continue };
        let area = surface.face_area(f) * surface.open_corners(f) as f64 / 3.0;
        all += area;
        above += area * (1.0 - area_below(corners.map(f64::from), level));
    }
    if all > 0.0 { above / all } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_two_strongest_compete_within_a_tenth() {
        let of = |shares: &[f32]| competing(shares.iter().copied());
        assert_eq!(of(&[0.1, 0.5, 0.46]), Some((1, 2)));
        assert_eq!(of(&[0.5, 0.1, 0.5]), Some((0, 2)));
        assert_eq!(of(&[0.46, 0.5]), Some((1, 0)));
        assert_eq!(of(&[0.5, 0.44, 0.44]), None);
        assert_eq!(of(&[0.0, 0.5]), None);
        assert_eq!(of(&[0.0, 0.0]), None);
        assert_eq!(of(&[]), None);
    }
}

//! What of each region a brush cannot come to, and from which side it comes to the rest.

use crate::reach::Reach;
use grisaille_base::RegionId;
use grisaille_sight::Surface;
use nalgebra::{Point3, Unit, Vector3};
use std::collections::BTreeMap;

/// What a brush reaches of a region.
#[derive(Clone, Debug, PartialEq)]
pub struct RegionReach {
    /// Which region.
    pub region: RegionId,
    /// Its open surface in mm².
    pub area_mm2: f64,
    /// What of that is reached from no side, in mm².
    pub out_of_reach_mm2: f64,
    /// A point of what is not reached, about its middle, scene mm.
    pub place: Option<Point3<f32>>,
    /// The side from which most of the rest is reached most squarely: from the figure toward
    /// the brush. `None` if none of it is reached.
    pub best_side: Option<Unit<Vector3<f64>>>,
}

#[derive(Default)]
struct Sum {
    area: f64,
    out: f64,
    midst: Vector3<f64>,
    from: BTreeMap<usize, f64>,
}

/// The reach of each region that has open surface, in their order. `region_of_face` names that of each
/// face of the surface; a face without one counts nowhere.
#[must_use]
pub fn reach_by_region(surface: &Surface, region_of_face: &[RegionId], reach: &Reach) -> Vec<RegionReach> {
    let samples = &surface.samples;
    let mut sums: BTreeMap<RegionId, Sum> = BTreeMap::new();
    let corners = || {
        surface.faces.iter().zip(region_of_face).enumerate().flat_map(|(f, (face, region))| {
            let open = face.iter().filter(|s| !samples.buried.get(**s as usize));
            open.map(move |s| (f, *s as usize, *region))
        })
    };
    for (f, s, region) in corners() {
        let third = surface.face_area(f) / 3.0;
        let sum = sums.entry(region).or_default();
        sum.area += third;
        match reach.side(s) {
            Some(side) => *sum.from.entry(side).or_default() += third,
            None => {
                sum.out += third;
                sum.midst += samples.position[s].coords.cast::<f64>() * third;
            }
        }
    }
    // Of what is not reached the sample nearest to its middle.
    let mut nearest: BTreeMap<RegionId, (f64, Point3<f32>)> = BTreeMap::new();
    for (_, s, region) in corners().filter(|(_, s, _)| !reach.reaches(*s)) {
        let Some(sum) = sums.get(&region).filter(|sum| sum.out > 0.0) else { continue };
        let far = (samples.position[s].coords.cast::<f64>() - sum.midst / sum.out).norm();
        let best = nearest.entry(region).or_insert((f64::INFINITY, samples.position[s]));
        if far < best.0 {
            *best = (far, samples.position[s]);
        }
    }
    sums.into_iter()
        .map(|(region, sum)| {
            // The first of equals.
            let best = sum.from.iter().fold(None, |best: Option<(usize, f64)>, (side, area)| match best {
                Some((_, most)) if most >= *area => best,
                _ => Some((*side, *area)),
            });
            RegionReach {
                region,
                area_mm2: sum.area,
                out_of_reach_mm2: sum.out,
                place: nearest.get(&region).map(|n| n.1),
                best_side: best.and_then(|(side, _)| reach.sides.get(side).copied()),
            }
        })
        .collect()
}

//! Flat spots: regions that bend and twist and yet are planned in one tone, so
//! that their form will not read.

use crate::band::Bands;
use crate::plan::Plan;
use grisaille_base::RegionId;
use grisaille_mesh::Part;
use grisaille_sight::Surface;
use nalgebra::{Point3, Vector3};
use std::collections::BTreeMap;

/// Regions of less than this share of the painted surface are details.
const SMALLEST: f64 = 0.01;
/// A region that turns by less reads in one tone, degrees (common practice).
const TURNS: f64 = 120.0;
/// So much of it in one band is one tone.
const ONE_TONE: f64 = 0.85;

/// A region in one tone that turns.
#[derive(Clone, Debug, PartialEq)]
pub struct FlatSpot {
    /// Which region.
    pub region: RegionId,
    /// The band, counted from 0.
    pub band: u8,
    /// The region's share of the painted surface, 0 to 1.
    pub share: f64,
    /// By how much it turns from one side to the other in degrees, to 360: as a
    /// cap of a ball does whose normals are spread alike.
    pub turns: f64,
    /// A point of the surface in its midst, scene millimetres.
    pub at: Point3<f32>,
}

/// What is summed over a region.
#[derive(Clone)]
struct Sum {
    area: f64,
    of_band: Vec<f64>,
    facing: Vector3<f64>,
    place: Vector3<f64>,
}

/// The flat spots of a plan by regions of one's own, one for each face of its surface; the plan's
/// answers have those by pieces.
#[must_use]
pub fn flat_spots(plan: &Plan, region_of_face: &[RegionId]) -> Vec<FlatSpot> {
    found(&plan.surface, &plan.part_of_face, region_of_face, &plan.bands)
}

/// Flat spots, the largest first. `region_of_face` names the region of each
/// face. The darkest band is left alone: in deep shadow form is lost on purpose.
pub(crate) fn found(
    surface: &Surface,
    part_of_face: &[Part],
    region_of_face: &[RegionId],
    bands: &Bands,
) -> Vec<FlatSpot> {
    let nothing = Sum {
        area: 0.0,
        of_band: vec![0.0; bands.rows.len()],
        facing: Vector3::zeros(),
        place: Vector3::zeros(),
    };
    let mut sums: BTreeMap<u16, Sum> = BTreeMap::new();
    let painted = |f: &usize| part_of_face[*f].is_painted();
    let place = |s: u32| surface.samples.position[s as usize];
    for f in (0..surface.faces.len()).filter(painted) {
        let sum = sums.entry(region_of_face[f].0).or_insert_with(|| nothing.clone());
        let third = surface.face_area(f) / 3.0;
        for &s in surface.faces[f].iter().filter(|s| !surface.samples.buried.get(**s as usize)) {
            let band = bands.of(bands.lightness[s as usize], part_of_face[f]);
            sum.area += third;
            sum.of_band[usize::from(band)] += third;
            sum.facing += surface.samples.normal[s as usize].cast::<f64>() * third;
            sum.place += place(s).coords.cast::<f64>() * third;
        }
    }
    let all: f64 = sums.values().map(|s| s.area).sum();
    let mut flat: Vec<FlatSpot> = sums
        .iter()
        .filter(|(_, sum)| sum.area > 0.0 && sum.area >= SMALLEST * all)
        .filter_map(|(region, sum)| {
            let band = (1..sum.of_band.len()).find(|b| sum.of_band[*b] >= ONE_TONE * sum.area)?;
            // The mean normal of a cap of half angle t is (1 + cos t) / 2 long.
            let length = (sum.facing.norm() / sum.area).clamp(0.0, 1.0);
            let turns = 2.0 * (2.0 * length - 1.0).acos().to_degrees();
            let at = nearest(surface, region_of_face, *region, Point3::from(sum.place / sum.area))?;
            let (band, share) = (band as u8, sum.area / all);
            (turns >= TURNS).then_some(FlatSpot { region: RegionId(*region), band, share, turns, at })
        })
        .collect();
    flat.sort_by(|a, b| b.share.total_cmp(&a.share).then(a.region.0.cmp(&b.region.0)));
    flat
}

/// The open sample of a region that is nearest to a point.
fn nearest(surface: &Surface, of_face: &[RegionId], region: u16, to: Point3<f64>) -> Option<Point3<f32>> {
    let corners = surface.faces.iter().zip(of_face).filter(|(_, r)| r.0 == region).flat_map(|(f, _)| f);
    let open = corners.filter(|s| !surface.samples.buried.get(**s as usize));
    let far = |p: &Point3<f32>| (p.cast::<f64>() - to).norm_squared();
    open.map(|s| surface.samples.position[*s as usize]).min_by(|a, b| far(a).total_cmp(&far(b)))
}

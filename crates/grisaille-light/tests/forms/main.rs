//! Exposure beside bodies for which it is known, and under changes that must
//! not change it. Light falls here on single receivers instead of a whole
//! surface, through the engine that the program uses: a check then costs
//! thousands of rays, not millions, at any number of directions.

mod invariances;
mod lamps;
mod openness;
mod rounds;
mod sky;

use grisaille_base::{LightId, Watch};
use grisaille_bodies::{Triangle, stl};
use grisaille_light::{Cache, ExposureSettings, Kind, Light, Sky, exposure};
use grisaille_mesh::{ReadSettings, read};
use grisaille_sight::{FaceMask, Occluders, Samples, Surface, SweepSight};
use nalgebra::{Point3, Vector3};
use std::sync::Arc;

/// Ambient light from a uniform sky.
const EVEN: Kind = Kind::Ambient { sky: Sky::Uniform };

/// Where a receiver is, and its normal.
type Place = (Point3<f64>, Vector3<f64>);

/// What blocks, through the reader that the program uses.
fn occluders(soup: &[Triangle]) -> Arc<Occluders> {
    let (mesh, _) = read(&stl(soup), &ReadSettings::default(), &Watch::quiet()).expect("a sound model");
    Arc::new(Occluders::of(&mesh))
}

/// Receivers without faces, with ray origins as far off as on a real surface
/// of that size.
fn receivers(places: &[Place], size: f64) -> Surface {
    let offset = size * 2.0_f64.powi(-18);
    let position = places.iter().map(|(p, _)| p.cast()).collect();
    let normal = places.iter().map(|(_, n)| n.normalize().cast()).collect();
    let origin = places.iter().map(|(p, n)| (p + n.normalize() * offset).cast()).collect();
    Surface {
        faces: Vec::new(),
        source_face: Vec::new(),
        piece: Vec::new(),
        samples: Samples::new(position, normal, origin, offset),
        longest_edge: 0.0,
        fingerprint: 0,
    }
}

/// The largest coordinate of a soup.
fn size(soup: &[Triangle]) -> f64 {
    soup.iter().flatten().flatten().fold(0.0, |m, x| m.max(x.abs()))
}

/// What each receiver gets, with `count` directions or points.
fn lit(soup: &[Triangle], places: &[Place], kind: Kind, count: usize) -> Vec<f64> {
    let settings =
        ExposureSettings { ambient_directions: count, ring_directions: count, soft_directions: count };
    let watch = Watch::quiet();
    let sight = SweepSight::new(occluders(soup), &watch);
    let lights = [Light { id: LightId(1), name: "test".into(), kind, mask: FaceMask::All }];
    let surface = receivers(places, size(soup));
    let result = exposure(&surface, &sight, &lights, &settings, &mut Cache::default(), &watch);
    result.expect("nobody cancels").lights[0].values.iter().map(|v| f64::from(*v)).collect()
}

/// The error that an occluded form may have with `count` directions: 2·N^(−3/4).
///
/// No set of N points on the sphere counts every cap better than to a multiple
/// of N^(−3/4) (J. Beck, Mathematika 31, 1984; the result read in later papers,
/// the page not seen), and a well-spread set comes near to that on a region
/// with a smooth edge: of the N cells of the sky about √N are cut by the edge,
/// each wrong by up to a cell in either direction, so that they sum to N^(1/4)
/// cells. The factor 2 is ours: it is what these forms at these azimuths stay
/// below, not a theorem. Plain random directions would stand at N^(−1/2).
fn bound(count: usize) -> f64 {
    2.0 * (count as f64).powf(-0.75)
}

//! Regions that are equal or mirror images: twelve bolts, two boots. They are
//! offered as one, so that one decision serves for all.
//!
//! Regions are compared by shape distributions (R. Osada, T. Funkhouser, B.
//! Chazelle, D. Dobkin, Shape Distributions, ACM TOG 21(4), 2002): how far two
//! points of the surface lie apart (D2), and how their normals differ, which
//! tells a dome from a disc. Neither knows where a region lies, how it is
//! turned, or left from right. Unlike there, size counts.

use crate::shape::Shape;
use grisaille_base::{RegionId, Stop, Watch};
use nalgebra::Vector3;

/// Points that a region is seen by.
const POINTS: usize = 384;
/// Places at which two distributions are compared.
const MARKS: usize = 24;
/// Areas of equal regions differ by no more than this share: a rim more or less.
const AREA: f64 = 0.06;
/// Their distances by no more than this share of the region's size, in the mean.
const DISTANCE: f64 = 0.015;
/// The cosines between their normals by no more than this, in the mean.
const FACING: f64 = 0.03;

/// What two equal regions have in common.
struct Look {
    region: RegionId,
    area: f64,
    /// Distances between pairs of points at even shares of all pairs, mm.
    distances: Vec<f64>,
    /// Cosines between their normals likewise.
    facings: Vec<f64>,
}

/// Groups of two or more regions that are equal or mirror images, the largest
/// group first, then the one with the lowest number; within a group by number.
/// `region_of_face` names each face's region, `None` where it is not painted.
///
/// # Errors
/// [`Stop`] when cancelled.
pub fn repeats(
    shape: &Shape,
    region_of_face: &[Option<RegionId>],
    watch: &Watch,
) -> Result<Vec<Vec<RegionId>>, Stop> {
    let last = region_of_face.iter().flatten().map(|r| usize::from(r.0)).max();
    let mut faces: Vec<Vec<u32>> = vec![Vec::new(); last.map_or(0, |last| last + 1)];
    for (f, region) in region_of_face.iter().enumerate() {
        if let Some(region) = region {
            faces[usize::from(region.0)].push(f as u32);
        }
    }
    let span = watch.span("repeats", faces.len() as u64);
    let mut looks = Vec::new();
    for (region, faces) in faces.iter().enumerate() {
        watch.check()?;
        looks.extend(look(shape, RegionId(region as u16), faces));
        span.advance(1);
    }
    // A region joins the first group whose first member it equals.
    looks.sort_by(|a, b| b.area.total_cmp(&a.area).then(a.region.0.cmp(&b.region.0)));
    let mut groups: Vec<(usize, Vec<RegionId>)> = Vec::new();
    for (i, look) in looks.iter().enumerate() {
        match groups.iter_mut().find(|(first, _)| equal(&looks[*first], look)) {
            Some((_, group)) => group.push(look.region),
            None => groups.push((i, vec![look.region])),
        }
    }
    let mut out: Vec<Vec<RegionId>> = groups.into_iter().map(|(_, g)| g).filter(|g| g.len() > 1).collect();
    out.iter_mut().for_each(|group| group.sort_by_key(|r| r.0));
    out.sort_by_key(|group| (usize::MAX - group.len(), group[0].0));
    Ok(out)
}

fn equal(one: &Look, other: &Look) -> bool {
    let size = one.area.max(other.area).sqrt();
    // The mean, not the worst: where many pairs are alike, as on flat sides, a
    // hair more or less of them moves a single mark by far.
    let near = |a: &[f64], b: &[f64], most: f64| {
        a.iter().zip(b).map(|(x, y)| (x - y).abs()).sum::<f64>() <= most * a.len() as f64
    };
    (one.area - other.area).abs() <= AREA * one.area.max(other.area)
        && near(&one.distances, &other.distances, DISTANCE * size)
        && near(&one.facings, &other.facings, FACING)
}

/// `None` for a region without area.
fn look(shape: &Shape, region: RegionId, faces: &[u32]) -> Option<Look> {
    let area: f64 = faces.iter().map(|f| f64::from(shape.areas()[*f as usize])).sum();
    if !(area > 0.0 && area.is_finite()) {
        return None;
    }
    // Points at even steps of area, from its half on: the same for any order
    // of faces but for chance, which so many points even out.
    let mut points: Vec<(Vector3<f64>, Vector3<f64>)> = Vec::with_capacity(POINTS);
    let mut sum = 0.0;
    for &f in faces {
        sum += f64::from(shape.areas()[f as usize]);
        while points.len() < POINTS && sum >= (points.len() as f64 + 0.5) * area / POINTS as f64 {
            let [a, b, c] = shape.faces()[f as usize].map(|v| shape.positions()[v as usize].coords.cast());
            // A large face has many points: spread over it by the plastic number
            // (M. Roberts' R2 sequence, 2018, from memory).
            let n = points.len() as f64;
            let (u, v) =
                ((0.5 + n * 0.754_877_666_246_693).fract(), (0.5 + n * 0.569_840_290_998_053).fract());
            let (u, v) = if u + v > 1.0 { (1.0 - u, 1.0 - v) } else { (u, v) };
            points.push((a + (b - a) * u + (c - a) * v, shape.normals()[f as usize].cast()));
        }
    }
    let mut distances = Vec::with_capacity(POINTS * POINTS / 2);
    let mut facings = Vec::with_capacity(POINTS * POINTS / 2);
    for (i, (p, m)) in points.iter().enumerate() {
        for (q, n) in &points[..i] {
            distances.push((p - q).norm());
            facings.push(m.dot(n));
        }
    }
    let marks = |mut all: Vec<f64>| -> Vec<f64> {
        all.sort_by(f64::total_cmp);
        // Means of even shares: steadier than single values where many are alike.
        let step = all.len().div_ceil(MARKS).max(1);
        all.chunks(step).map(|share| share.iter().sum::<f64>() / share.len() as f64).collect()
    };
    Some(Look { region, area, distances: marks(distances), facings: marks(facings) })
}

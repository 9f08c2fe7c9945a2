//! Curvature at a radius in mm.
//!
//! The curvature of a net lies in its edges: each carries its turn times its
//! length, across itself (D. Cohen-Steiner, J.-M. Morvan, Restricted Delaunay
//! triangulations and normal cycle, SoCG 2003). It is averaged not over a
//! ball but as heat spreads along the surface, which stays on one side of a
//! thin blade and is nearly linear in time; the direction across turns with the surface on its way,
//! so that a thin tube is not flattened.

use crate::Shape;
use crate::fan::Fans;
use crate::heat::{Fields, Kind};
use crate::spread::Spread;
use grisaille_base::{Millimetres, Stop, Watch};
use nalgebra::Vector3;

/// Steps of spreading. A rough net's noise goes through twice its second derivative, and
/// with 4 steps it is 1.6, with 6 1.3 times as large as with a bell curve (from the integral of q⁵ over
/// the squared spectra).
const STEPS: usize = 6;

/// The two principal curvatures at each vertex, per mm, positive where the
/// surface is convex: 1/R on a ball of radius R seen from outside.
#[derive(Clone, Debug)]
pub struct Curvature {
    /// What was averaged over: the spread has the second moment of an even
    /// disc of this radius.
    pub radius: Millimetres,
    /// The greater.
    pub most: Vec<f32>,
    /// The smaller.
    pub least: Vec<f32>,
    /// Unit directions on the surface, in which it is `most`; either of the two
    /// opposite ones.
    pub along_most: Vec<Vector3<f32>>,
    /// Unit normals, averaged over two fifths of the radius; zero where all sides face each other.
    pub normal: Vec<Vector3<f32>>,
    /// `along_most` as an angle at its vertex.
    pub(crate) angle: Vec<f32>,
    pub(crate) fans: Fans,
}

/// Principal curvatures and directions, averaged over `radius`. What bends within much less than
/// the radius is seen as bent over about the radius: a sharp edge that turns by β has
/// most = 0.85·β/radius along it. Open borders and edges of more
/// than two faces do not count as bent. The net should be finer than a third of the radius.
///
/// # Errors
/// [`Stop`] when cancelled.
pub fn curvature(shape: &Shape, radius: Millimetres, watch: &Watch) -> Result<Curvature, Stop> {
    let span = watch.span("curvature", 4);
    let fans = Fans::of(shape, watch)?;
    span.advance(1);
    let count = shape.positions().len();
    let gathered = watch.map(count, |v| {
        let (mut bent, mut facing, mut area) = ([0.0_f64; 4], [0.0_f64; 4], 0.0);
        for link in fans.around(v as u32) {
            // Half of an edge belongs to each of its ends.
            let [a, b] = shape.ends(link.half).map(|v| shape.positions()[v as usize].cast::<f64>());
            let turn = 0.5 * shape.turn(link.half) * (b - a).norm();
            let (sin, cos) = (2.0 * f64::from(link.angle)).sin_cos();
            bent[0] += turn;
            bent[1] -= turn * cos;
            bent[2] -= turn * sin;
            if shape.ends(link.half)[0] == v as u32 {
                let face = link.half as usize / 3;
                let own = f64::from(shape.areas()[face]) / 3.0;
                area += own;
                for (sum, part) in facing.iter_mut().zip(shape.normals()[face].iter()) {
                    *sum += own * f64::from(*part);
                }
            }
        }
        (area as f32, [bent, facing].map(|fields| fields.map(|x| x as f32)))
    })?;
    let (area, [bent, facing]) = parted(gathered);
    let mut spread = Spread::new((shape, &fans), &area, (radius.0, STEPS), watch)?;
    let bent = spread.steps(bent, Kind::Directed, STEPS)?;
    span.advance(1);
    // Only to tell up from down: one step serves.
    let facing = spread.steps(facing, Kind::Plain, 1)?;
    span.count("rounds", spread.rounds);
    drop(spread);
    span.advance(1);
    // On a net as rough as it is fine weights turn over and steps may run away: what is no number bends
    // nothing, and what is beyond all measure is held.
    let held = |x: f64| if x.is_finite() { x.clamp(-MOST, MOST) } else { 0.0 };
    let found = watch.map(count, |v| {
        let [sum, s, t, _] = bent[v].map(f64::from);
        let [x, y, z, _] = facing[v].map(f64::from).map(held);
        let [sum, s, t] = [sum, s, t].map(held);
        let apart = s.hypot(t);
        let angle = 0.5 * t.atan2(s);
        let normal = Vector3::new(x, y, z).try_normalize(0.0).unwrap_or_else(Vector3::zeros);
        let along = fans.direction(shape, v as u32, angle).unwrap_or_else(Vector3::zeros);
        let along = (along - normal * normal.dot(&along)).try_normalize(1e-6).unwrap_or_else(Vector3::zeros);
        (
            [0.5 * (sum + apart), 0.5 * (sum - apart), angle].map(|x| x as f32),
            [along, normal].map(nalgebra::Matrix::cast::<f32>),
        )
    })?;
    span.advance(1);
    let mut out = Curvature {
        radius,
        most: Vec::with_capacity(count),
        least: Vec::with_capacity(count),
        along_most: Vec::with_capacity(count),
        normal: Vec::with_capacity(count),
        angle: Vec::with_capacity(count),
        fans,
    };
    for ([most, least, angle], [along, normal]) in found {
        out.most.push(most);
        out.least.push(least);
        out.angle.push(angle);
        out.along_most.push(along);
        out.normal.push(normal);
    }
    Ok(out)
}

/// No bend counts for more per mm: a radius of a thousandth of a mm.
const MOST: f64 = 1e3;

type Gathered = (f32, [Fields; 2]);

fn parted(gathered: Vec<Gathered>) -> (Vec<f32>, [Vec<Fields>; 2]) {
    let (area, both): (Vec<f32>, Vec<[Fields; 2]>) = gathered.into_iter().unzip();
    let (bent, facing) = both.into_iter().map(|[bent, facing]| (bent, facing)).unzip();
    (area, [bent, facing])
}

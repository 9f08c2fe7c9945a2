//! The Platonic solids.

use grisaille_form::Shape;
use nalgebra::{Point3, Vector3};
use std::f64::consts::PI;

/// The Platonic solids with the interior angle of their edges in degrees and the
/// defect of their corners in radians.
pub(crate) fn icosahedron_and_kin() -> Vec<(Shape, f64, f64)> {
    let g = f64::midpoint(1.0, 5.0_f64.sqrt());
    let signs = |p: [f64; 3]| {
        let mut out: Vec<Vector3<f64>> = Vec::new();
        for i in 0..8 {
            let q = Vector3::from([0, 1, 2].map(|k| if i >> k & 1 == 1 { -p[k] } else { p[k] }));
            if !out.contains(&q) {
                out.push(q);
            }
        }
        out
    };
    let round = |[a, b, c]: [f64; 3]| [signs([a, b, c]), signs([b, c, a]), signs([c, a, b])].concat();
    let tetra: Vec<_> = signs([1.0; 3]).into_iter().filter(|p| p.x * p.y * p.z > 0.0).collect();
    vec![
        (hull(&tetra), 70.528_779_37, PI),
        (hull(&signs([1.0; 3])), 90.0, PI / 2.0),
        (hull(&round([1.0, 0.0, 0.0])[..]), 109.471_220_63, 2.0 * PI / 3.0),
        (hull(&[signs([1.0; 3]), round([0.0, 1.0 / g, g])].concat()), 116.565_051_18, PI / 5.0),
        (hull(&round([0.0, 1.0, g])), 138.189_685_10, PI / 3.0),
    ]
}

/// The convex hull of a few points about the origin, each flat side cut into a fan.
fn hull(points: &[Vector3<f64>]) -> Shape {
    let mut points = points.to_vec();
    let mut kept: Vec<Vector3<f64>> = Vec::new();
    points.retain(|p| {
        let new = kept.iter().all(|q| (p - q).norm() > 1e-9);
        kept.push(*p);
        new
    });
    let count = points.len();
    let mut faces: Vec<[u32; 3]> = Vec::new();
    let mut seen: Vec<Vec<usize>> = Vec::new();
    for a in 0..count {
        for b in 0..count {
            for c in 0..count {
                let normal = (points[b] - points[a]).cross(&(points[c] - points[a]));
                if a == b || b == c || a == c || normal.norm() < 1e-9 {
                    continue;
                }
                let normal = normal.normalize();
                let height = normal.dot(&points[a]);
                if points.iter().any(|p| normal.dot(p) > height + 1e-9) {
                    continue;
                }
                let side: Vec<usize> =
                    (0..count).filter(|i| normal.dot(&points[*i]) > height - 1e-9).collect();
                if seen.contains(&side) {
                    continue;
                }
                // Round the side's middle, counter-clockwise.
                let x = (points[side[0]] - normal * height).normalize();
                let y = normal.cross(&x);
                let mut ring = side.clone();
                let turn = |i: &usize| points[*i].dot(&y).atan2(points[*i].dot(&x));
                ring.sort_by(|a, b| turn(a).total_cmp(&turn(b)));
                faces.extend((1..ring.len() - 1).map(|i| [ring[0], ring[i], ring[i + 1]].map(|v| v as u32)));
                seen.push(side);
            }
        }
    }
    Shape::new(points.iter().map(|p| Point3::from(p.cast::<f32>())).collect(), faces)
}

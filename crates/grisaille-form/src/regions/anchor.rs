//! Seeds: points on the surface that say which region is there. They hold a
//! place and a direction and no face, so that they survive a reload of the model.

use super::ground::Ground;
use grisaille_base::RegionId;
use nalgebra::{Point3, Vector3};

/// A seed of a region.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seed {
    /// The region that grows from it. Seeds of one region are grown together.
    pub region: RegionId,
    /// Where it is.
    pub anchor: Anchor,
}

/// A point on or near the surface, scene mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Anchor {
    /// The place.
    pub point: Point3<f32>,
    /// The outward unit normal there, where it is known: of the two sides of a
    /// thin sheet it chooses one.
    pub normal: Option<Vector3<f32>>,
}

impl Ground {
    /// The face on which an anchor lies, or to which it is nearest; with a
    /// normal, faces that look another way count as a patch further off. Hidden
    /// faces are taken only where there is nothing else. None without faces.
    #[must_use]
    pub fn face_at(&self, anchor: &Anchor) -> Option<usize> {
        let shape = &self.shape;
        let point = anchor.point.cast::<f64>();
        if !point.coords.iter().all(|x| x.is_finite()) {
            return None;
        }
        let away = |f: usize| match anchor.normal {
            Some(normal) if normal.dot(&shape.normals()[f]) <= 0.0 => self.size,
            _ => 0.0,
        };
        // Only what may be nearer than the nearest middle is looked at closely.
        let hidden = self.painted.iter().all(|p| *p <= 0.0);
        let counts = |f: &usize| hidden || self.painted[*f] > 0.0;
        let middle = |f: usize| (self.faces.middles[f] - anchor.point).norm();
        let near = (0..shape.faces().len()).filter(counts).map(middle).fold(f32::INFINITY, f32::min);
        let most = f64::from(near) * 1.001 + self.size + self.reach;
        let rank = |f: usize| {
            let corners = shape.faces()[f].map(|v| shape.positions()[v as usize].cast::<f64>());
            let far = (nearest_point(corners, point) - point).norm() + away(f);
            // Of equals the one whose middle is nearer, as on an edge.
            (far, middle(f), f)
        };
        (0..shape.faces().len())
            .filter(|f| counts(f) && f64::from(middle(*f)) <= most)
            .map(rank)
            .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)).then(a.2.cmp(&b.2)))
            .map(|r| r.2)
    }
}

impl Ground {
    /// How far an anchor lies from the face that it stands for, in mm; none
    /// without faces.
    #[must_use]
    pub fn off_surface(&self, anchor: &Anchor) -> Option<f64> {
        let face = self.shape.faces()[self.face_at(anchor)?];
        let corners = face.map(|v| self.shape.positions()[v as usize].cast::<f64>());
        let point = anchor.point.cast::<f64>();
        Some((nearest_point(corners, point) - point).norm())
    }
}

/// The point of a triangle nearest to a point: by the region of the triangle's
/// plane in which the point falls (C. Ericson, Real-Time Collision Detection,
/// 2005, section 5.1.5).
pub(crate) fn nearest_point([a, b, c]: [Point3<f64>; 3], p: Point3<f64>) -> Point3<f64> {
    let (ab, ac) = (b - a, c - a);
    let ap = p - a;
    let (d1, d2) = (ab.dot(&ap), ac.dot(&ap));
    if d1 <= 0.0 && d2 <= 0.0 {
        return a;
    }
    let bp = p - b;
    let (d3, d4) = (ab.dot(&bp), ac.dot(&bp));
    if d3 >= 0.0 && d4 <= d3 {
        return b;
    }
    let vc = d1 * d4 - d3 * d2;
    if vc <= 0.0 && d1 >= 0.0 && d3 <= 0.0 {
        return a + ab * (d1 / (d1 - d3));
    }
    let cp = p - c;
    let (d5, d6) = (ab.dot(&cp), ac.dot(&cp));
    if d6 >= 0.0 && d5 <= d6 {
        return c;
    }
    let vb = d5 * d2 - d1 * d6;
    if vb <= 0.0 && d2 >= 0.0 && d6 <= 0.0 {
        return a + ac * (d2 / (d2 - d6));
    }
    let va = d3 * d6 - d5 * d4;
    if va <= 0.0 && d4 - d3 >= 0.0 && d5 - d6 >= 0.0 {
        return b + (c - b) * ((d4 - d3) / ((d4 - d3) + (d5 - d6)));
    }
    let sum = va + vb + vc;
    // A triangle without area has no inside.
    if sum > 0.0 { a + ab * (vb / sum) + ac * (vc / sum) } else { a }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_point_is_the_nearest_of_many() {
        let corners = [[0.0, 0.0, 0.0], [4.0, 0.0, 1.0], [1.0, 3.0, 0.0]].map(Point3::from);
        for k in 0..125 {
            let p = Point3::from([k % 5, k / 5 % 5, k / 25].map(|x| f64::from(x) * 2.0 - 4.0));
            let found = (nearest_point(corners, p) - p).norm();
            let mut least = f64::INFINITY;
            for i in 0..=100 {
                for j in 0..=100 - i {
                    let (u, v) = (f64::from(i) / 100.0, f64::from(j) / 100.0);
                    let q = corners[0] + (corners[1] - corners[0]) * u + (corners[2] - corners[0]) * v;
                    least = least.min((q - p).norm());
                }
            }
            assert!(found <= least + 1e-12 && found > least - 0.05, "{k}: {found} {least}");
        }
    }
}

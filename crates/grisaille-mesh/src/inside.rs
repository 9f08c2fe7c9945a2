//! How many times closed surfaces wind round points: which are inside.
//!
//! A line goes straight up from each point, and the faces that it meets above
//! are counted, +1 where it leaves a solid and −1 where it enters one. Points are dealt
//! out to the cells of a grid over the ground, so a face is asked only about
//! the points beneath it. An edge that a line meets exactly belongs to one of
//! its two faces (left of it counts, on it and right of it do not), so a closed surface
//! is never counted twice or missed.

use grisaille_base::PieceId;
use nalgebra::Point3;

/// For each point how many times the faces of the pieces that `counts(point, piece)` names wind
/// round it: 0 outside, 1 inside an outward-wound solid. They must be closed surfaces.
pub(crate) fn turns_round(
    faces: impl Iterator<Item = (PieceId, [Point3<f32>; 3])>,
    points: &[Point3<f64>],
    counts: impl Fn(usize, PieceId) -> bool,
) -> Vec<i64> {
    let grid = Grid::over(points);
    let mut turns = vec![0_i64; points.len()];
    for (piece, corners) in faces {
        let corners: [Point3<f64>; 3] = corners.map(Point3::cast);
        for n in grid.beneath(&corners) {
            let sign = crossing(&points[n], &corners);
            if sign != 0 && counts(n, piece) {
                turns[n] += sign;
            }
        }
    }
    turns
}

/// Whether the line up from `p` leaves (+1) or enters (−1) through a triangle,
/// or misses it (0).
fn crossing(p: &Point3<f64>, corners: &[Point3<f64>; 3]) -> i64 {
    let area = |a: &Point3<f64>, b: &Point3<f64>| (a.x - p.x) * (b.y - p.y) - (a.y - p.y) * (b.x - p.x);
    // Where the triangle's outline passes the line that goes from p toward +x, as in
    // the plane: the sum is 1 or −1 inside and 0 outside.
    let mut winds = 0;
    for i in 0..3 {
        let (a, b) = (&corners[i], &corners[(i + 1) % 3]);
        // The same edge from its other face must give exactly the opposite.
        let (low, high, sign) = if (a.y, a.x, a.z) < (b.y, b.x, b.z) { (a, b, 1) } else { (b, a, -1) };
        if low.y <= p.y && p.y < high.y && area(low, high) > 0.0 {
            winds += sign;
        }
    }
    if winds == 0 {
        return 0;
    }
    let [a, b, c] = corners;
    let normal = (b - a).cross(&(c - a));
    // Above p where the plane's height there is greater; normal.z is not 0 where it winds.
    let above = (a - p).dot(&normal) / normal.z;
    if above > 0.0 { winds } else { 0 }
}

/// Points in the cells of a grid over the ground.
pub(crate) struct Grid {
    low: [f64; 2],
    per_cell: [f64; 2],
    side: usize,
    begin: Vec<u32>,
    members: Vec<u32>,
}

impl Grid {
    pub(crate) fn over(points: &[Point3<f64>]) -> Self {
        let side = ((points.len() as f64).sqrt() as usize).clamp(1, 1024);
        let mut low = [f64::INFINITY; 2];
        let mut high = [f64::NEG_INFINITY; 2];
        for p in points {
            for i in 0..2 {
                low[i] = low[i].min(p[i]);
                high[i] = high[i].max(p[i]);
            }
        }
        let per_cell = [0, 1].map(|i| if high[i] > low[i] { side as f64 / (high[i] - low[i]) } else { 0.0 });
        let mut grid =
            Self { low, per_cell, side, begin: vec![0; side * side + 1], members: vec![0; points.len()] };
        let cell_of: Vec<usize> =
            points.iter().map(|p| grid.cell(p.x, 0) + side * grid.cell(p.y, 1)).collect();
        for &cell in &cell_of {
            grid.begin[cell + 1] += 1;
        }
        for cell in 0..side * side {
            grid.begin[cell + 1] += grid.begin[cell];
        }
        let mut filled = grid.begin.clone();
        for (n, &cell) in cell_of.iter().enumerate() {
            grid.members[filled[cell] as usize] = n as u32;
            filled[cell] += 1;
        }
        grid
    }

    fn cell(&self, x: f64, axis: usize) -> usize {
        // A cast from a negative number gives 0.
        (((x - self.low[axis]) * self.per_cell[axis]) as usize).min(self.side - 1)
    }

    /// The points that may stand beneath a triangle.
    fn beneath(&self, corners: &[Point3<f64>; 3]) -> impl Iterator<Item = usize> + '_ {
        self.within(corners, 0.0)
    }

    /// The points that may stand over or beneath a triangle, or within a reach of where
    /// they would.
    pub(crate) fn within(&self, corners: &[Point3<f64>; 3], reach: f64) -> impl Iterator<Item = usize> + '_ {
        let [x, y] = [0, 1].map(|i| {
            let of = corners.iter().map(|c| c[i]);
            let (low, high) = of.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), x| (l.min(x), h.max(x)));
            self.cell(low - reach, i)..self.cell(high + reach, i) + 1
        });
        y.flat_map(move |row| {
            // Cells of a row stand side by side.
            let [from, to] = [x.start, x.end].map(|column| self.begin[row * self.side + column] as usize);
            self.members[from..to].iter().map(|n| *n as usize)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::orient::solid_angle;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(200))]

        // Against the sum of solid angles, which is 4π for each turn; the points lie
        // on a coarse lattice, so that lines often meet corners and edges.
        #[test]
        fn turns_are_solid_angles_over_the_whole_sphere(
            boxes in prop::collection::vec((prop::array::uniform3(-4_i8..4), prop::array::uniform3(1_i8..5), any::<bool>()), 1..6),
            points in prop::collection::vec(prop::array::uniform3(-9_i8..10), 1..40),
        ) {
            let mut positions = Vec::new();
            let mut faces = Vec::new();
            for (low, size, out) in boxes {
                let low = low.map(f64::from);
                let high = [0, 1, 2].map(|i| low[i] + f64::from(size[i]));
                for mut t in grisaille_bodies::cuboid(low, high) {
                    if !out {
                        t.swap(0, 1);
                    }
                    let first = positions.len() as u32;
                    positions.extend(t.map(|p| Point3::from(p.map(|x| x as f32))));
                    faces.push([first, first + 1, first + 2]);
                }
            }
            // Half steps in z, so that no point lies on a level face.
            let points: Vec<Point3<f64>> = points.iter().map(|p| Point3::new(f64::from(p[0]) * 0.5, f64::from(p[1]) * 0.5, f64::from(p[2]) * 0.5 + 0.25)).collect();
            let corners = faces.iter().map(|f| (PieceId(0), f.map(|v| positions[v as usize])));
            let got = turns_round(corners, &points, |_, _| true);
            for (p, got) in points.iter().zip(got) {
                let on_a_wall = faces.iter().any(|f| {
                    let c = f.map(|v| positions[v as usize].cast::<f64>());
                    (0..2).any(|i| c.iter().all(|c| c[i] == p[i]))
                });
                if on_a_wall {
                    continue;
                }
                let sum: f64 = faces.iter().map(|f| solid_angle(*p, f.map(|v| positions[v as usize].cast()))).sum();
                prop_assert_eq!(got, (sum / (4.0 * std::f64::consts::PI)).round() as i64, "{}", p);
            }
        }
    }
}

//! Faces of more than three corners, cut into triangles.

use crate::soup::Point;

/// Most corners of a face with dents that is looked at closely; cutting takes
/// time with the cube of them.
const DENTED: usize = 32;

/// What is said of faces that were cut without a close look.
pub(crate) const GUESSED: &str = "large faces with dents were cut into triangles from one corner and may overlap; export triangles instead";

/// Cuts a face into triangles of its own corners. A face without dents becomes
/// a fan, one with dents is cut ear by ear (G. H. Meisters, "Polygons have
/// ears", Amer. Math. Monthly 82, 1975). `false` where that was not
/// tried and a fan was taken for what may have dents.
pub(crate) fn cut(points: &[Point], corners: &[u32], out: &mut Vec<[u32; 3]>) -> bool {
    let fan = |out: &mut Vec<[u32; 3]>| {
        out.extend((2..corners.len()).map(|i| [corners[0], corners[i - 1], corners[i]]));
    };
    if corners.len() <= 3 {
        fan(out);
        return true;
    }
    let flat = flattened(points, corners);
    let n = corners.len();
    if (0..n).all(|i| area(flat[i], flat[(i + 1) % n], flat[(i + 2) % n]) >= 0.0) {
        fan(out);
        return true;
    }
    if n > DENTED {
        fan(out);
        return false;
    }
    let mut left: Vec<usize> = (0..n).collect();
    while left.len() > 3 {
        let m = left.len();
        let around = |i: usize| [left[(i + m - 1) % m], left[i], left[(i + 1) % m]];
        let ear = (0..m).find(|&i| {
            let [a, b, c] = around(i);
            area(flat[a], flat[b], flat[c]) > 0.0
                && left
                    .iter()
                    .all(|&p| [a, b, c].contains(&p) || !within(flat[p], [flat[a], flat[b], flat[c]]))
        });
        // A face that crosses itself may have none; any corner will do then.
        let i = ear.unwrap_or(0);
        out.push(around(i).map(|i| corners[i]));
        left.remove(i);
    }
    out.push([left[0], left[1], left[2]].map(|i| corners[i]));
    true
}

/// The corners seen from the side that the face's normal points to, after the
/// normal of M. E. Newell (sums over the outline, so dents do not matter).
fn flattened(points: &[Point], corners: &[u32]) -> Vec<[f64; 2]> {
    let at: Vec<[f64; 3]> = corners.iter().map(|&v| points[v as usize].map(f64::from)).collect();
    let mut normal = [0.0_f64; 3];
    for (i, p) in at.iter().enumerate() {
        let q = at[(i + 1) % at.len()];
        for (k, n) in normal.iter_mut().enumerate() {
            let (j, l) = ((k + 1) % 3, (k + 2) % 3);
            *n += (p[j] - q[j]) * (p[l] + q[l]);
        }
    }
    let k = (0..3).max_by(|&a, &b| normal[a].abs().total_cmp(&normal[b].abs())).unwrap_or(2);
    let (x, y) = if normal[k] >= 0.0 { ((k + 1) % 3, (k + 2) % 3) } else { ((k + 2) % 3, (k + 1) % 3) };
    at.into_iter().map(|p| [p[x], p[y]]).collect()
}

/// Twice the area of a triangle; positive where it runs counter-clockwise.
fn area(a: [f64; 2], b: [f64; 2], c: [f64; 2]) -> f64 {
    (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
}

/// Whether a point lies in a counter-clockwise triangle or on its outline.
fn within(p: [f64; 2], [a, b, c]: [[f64; 2]; 3]) -> bool {
    area(a, b, p) >= 0.0 && area(b, c, p) >= 0.0 && area(c, a, p) >= 0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn all_cut(outline: &[[f32; 2]], place: impl Fn([f32; 2]) -> Point) -> Vec<[u32; 3]> {
        let points: Vec<Point> = outline.iter().map(|p| place(*p)).collect();
        let mut out = Vec::new();
        assert!(cut(&points, &(0..outline.len() as u32).collect::<Vec<_>>(), &mut out));
        out
    }

    #[test]
    fn dented_faces_are_covered_once() {
        // An arrow, a comb and an L; the shoelace formula gives the area to be covered.
        let arrow: &[[f32; 2]] = &[[0.0, 0.0], [4.0, -3.0], [1.0, 0.0], [4.0, 3.0]];
        let comb: &[[f32; 2]] = &[
            [0.0, 0.0],
            [5.0, 0.0],
            [5.0, 3.0],
            [4.0, 3.0],
            [4.0, 1.0],
            [3.0, 1.0],
            [3.0, 3.0],
            [2.0, 3.0],
            [2.0, 1.0],
            [1.0, 1.0],
            [1.0, 3.0],
            [0.0, 3.0],
        ];
        let l: &[[f32; 2]] = &[[0.0, 0.0], [2.0, 0.0], [2.0, 1.0], [1.0, 1.0], [1.0, 2.0], [0.0, 2.0]];
        for outline in [arrow, comb, l] {
            for turn in 0..outline.len() {
                let mut outline = outline.to_vec();
                outline.rotate_left(turn);
                let flat: Vec<[f64; 2]> = outline.iter().map(|p| p.map(f64::from)).collect();
                let n = flat.len();
                let shoelace: f64 = (0..n).map(|i| area([0.0; 2], flat[i], flat[(i + 1) % n])).sum();
                let triangles = all_cut(&outline, |[x, y]| [x, y, 2.0 * x - y]);
                let areas: Vec<f64> = triangles
                    .iter()
                    .map(|t| {
                        let [a, b, c] = t.map(|v| flat[v as usize]);
                        area(a, b, c)
                    })
                    .collect();
                assert!(areas.iter().all(|a| *a > 0.0), "{outline:?}: {areas:?}");
                assert!((areas.iter().sum::<f64>() - shoelace).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn squares_become_fans_whichever_way_they_face() {
        let square: &[[f32; 2]] = &[[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]];
        for place in [
            |[x, y]: [f32; 2]| [x, y, 0.0],
            |[x, y]: [f32; 2]| [y, x, 0.0],
            |[x, y]: [f32; 2]| [0.0, x, y],
            |[x, y]: [f32; 2]| [y, 0.5, x],
        ] {
            assert_eq!(all_cut(square, place), [[0, 1, 2], [0, 2, 3]]);
        }
    }

    #[test]
    fn folded_and_huge_faces_end() {
        let mut out = Vec::new();
        // All corners on one line, and one that crosses itself.
        assert!(cut(&[[0.0; 3], [1.0; 3], [2.0; 3], [3.0; 3], [1.5; 3]], &[0, 3, 1, 2, 4], &mut out));
        assert!(cut(&[[0.0; 3], [1.0, 1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]], &[0, 1, 2, 3], &mut out));
        assert_eq!(out.len(), 5);
        let star: Vec<Point> = (0..64)
            .map(|i| {
                let (sin, cos) = (i as f32 * std::f32::consts::PI / 32.0).sin_cos();
                let r = if i % 2 == 0 { 1.0 } else { 0.5 };
                [r * cos, r * sin, 0.0]
            })
            .collect();
        assert!(!cut(&star, &(0..64).collect::<Vec<_>>(), &mut out));
    }
}

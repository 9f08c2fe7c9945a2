//! Bodies of about 10 mm with curvature in closed form, smooth or roughened.

use grisaille_form::Shape;
use nalgebra::{Point3, Vector3};
use std::f64::consts::{PI, TAU};

/// A body and what is known of it.
pub(crate) struct Form {
    pub(crate) name: &'static str,
    pub(crate) positions: Vec<Point3<f64>>,
    pub(crate) faces: Vec<[u32; 3]>,
    /// The two principal curvatures per mm, the greater first.
    pub(crate) known: Vec<[f64; 2]>,
    /// The direction of the greater; zero where it has none.
    pub(crate) along: Vec<Vector3<f64>>,
    /// How far from the border in mm.
    pub(crate) inside: Vec<f64>,
}

impl Form {
    pub(crate) fn shape(&self) -> Shape {
        let positions = self.positions.iter().map(|p| p.cast::<f32>()).collect();
        Shape::new(positions, self.faces.clone())
    }

    /// Every vertex moved by noise of so many mm (standard deviation) along
    /// each axis.
    pub(crate) fn roughened(mut self, deviation: f64, seed: u64) -> Self {
        roughen(&mut self.positions, deviation, seed);
        self
    }
}

pub(crate) fn roughen(positions: &mut [Point3<f64>], deviation: f64, seed: u64) {
    let mut state = seed;
    for p in positions {
        for k in 0..3 {
            p[k] += deviation * gauss(&mut state);
        }
    }
}

/// An even number below 1 (D. Knuth's 64-bit constants, upper bits).
pub(crate) fn even(state: &mut u64) -> f64 {
    *state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
    (*state >> 11) as f64 / (1_u64 << 53) as f64
}

/// The sum of twelve even numbers: variance 1.
fn gauss(state: &mut u64) -> f64 {
    (0..12).map(|_| even(state)).sum::<f64>() - 6.0
}

/// A patch of `columns` by `rows` cells, closed round the columns where `round`,
/// its inner vertices shaken by a fifth of a cell so that no line of the net is a line of
/// the body. Gives parameters and faces.
pub(crate) fn net(columns: u32, rows: u32, round: bool) -> (Vec<[f64; 2]>, Vec<[u32; 3]>) {
    let across = if round { columns } else { columns + 1 };
    let mut state = 7;
    let mut at = Vec::new();
    for j in 0..=rows {
        for i in 0..across {
            let mut shake = |free: bool| if free { 0.4 * (even(&mut state) - 0.5) } else { 0.0 };
            let u = f64::from(i) + shake(round || i > 0 && i < columns);
            at.push([u / f64::from(columns), (f64::from(j) + shake(j > 0 && j < rows)) / f64::from(rows)]);
        }
    }
    let mut faces = Vec::new();
    for j in 0..rows {
        for i in 0..columns {
            let corner = |i: u32, j: u32| j * across + i % across;
            let [a, b, c, d] = [corner(i, j), corner(i + 1, j), corner(i + 1, j + 1), corner(i, j + 1)];
            if (i + j) % 2 == 0 {
                faces.extend([[a, b, c], [a, c, d]]);
            } else {
                faces.extend([[a, b, d], [b, c, d]]);
            }
        }
    }
    (at, faces)
}

type Known = (Point3<f64>, [f64; 2], Vector3<f64>, f64);

fn form(name: &'static str, cells: (u32, u32, bool), of: impl Fn(f64, f64) -> Known) -> Form {
    let (at, faces) = net(cells.0, cells.1, cells.2);
    let mut out = Form { name, positions: vec![], faces, known: vec![], along: vec![], inside: vec![] };
    for [u, v] in at {
        let (position, known, along, inside) = of(u, v);
        out.positions.push(position);
        out.known.push(known);
        out.along.push(along);
        out.inside.push(inside);
    }
    out
}

/// A ball of radius 5: 1/R both ways. `level` 5: 20,480 faces.
pub(crate) fn ball(level: u32) -> Form {
    let soup = grisaille_bodies::icosphere(level);
    let mut order: Vec<[u64; 3]> = Vec::new();
    let mut seen = std::collections::HashMap::new();
    let mut positions = Vec::new();
    let mut faces = Vec::new();
    for triangle in soup {
        faces.push(triangle.map(|p| {
            let key = p.map(|x| (x + 0.0).to_bits());
            *seen.entry(key).or_insert_with(|| {
                order.push(key);
                positions.push(Point3::from(p.map(|x| 5.0 * x)));
                positions.len() as u32 - 1
            })
        }));
    }
    let count = positions.len();
    Form {
        name: "ball",
        positions,
        faces,
        known: vec![[0.2, 0.2]; count],
        along: vec![Vector3::zeros(); count],
        inside: vec![f64::INFINITY; count],
    }
}

/// A pipe of radius 4: 1/R and 0.
pub(crate) fn cylinder(cells: u32) -> Form {
    form("cylinder", (5 * cells / 2, cells, true), |u, v| {
        let (s, c) = (TAU * u).sin_cos();
        let inside = 10.0 * v.min(1.0 - v);
        (Point3::new(4.0 * c, 4.0 * s, 10.0 * v), [0.25, 0.0], Vector3::new(-s, c, 0.0), inside)
    })
}

/// A cone of half angle 30°, from 5 to 15 mm from its tip: 1/(s tan a) and 0.
pub(crate) fn cone(cells: u32) -> Form {
    let (sin, cos) = (PI / 6.0).sin_cos();
    form("cone", (3 * cells, cells, true), |u, v| {
        let (s, c) = (TAU * u).sin_cos();
        let slant = 15.0 - 10.0 * v;
        let position = Point3::new(slant * sin * c, slant * sin * s, -slant * cos);
        let inside = 10.0 * v.min(1.0 - v);
        (position, [cos / (sin * slant), 0.0], Vector3::new(-s, c, 0.0), inside)
    })
}

/// A ring of radius 5 with a tube of radius 2: 1/r and cos t/(R + r cos t).
pub(crate) fn torus(cells: u32) -> Form {
    let mut out = form("torus", (5 * cells / 2, cells, true), |u, v| {
        let ((s, c), (sin, cos)) = ((TAU * u).sin_cos(), (TAU * v).sin_cos());
        let out = 5.0 + 2.0 * cos;
        let along = Vector3::new(-sin * c, -sin * s, cos);
        (Point3::new(out * c, out * s, 2.0 * sin), [0.5, cos / out], along, f64::INFINITY)
    });
    // The last row is the first.
    let row = 5 * cells / 2;
    let kept = out.positions.len() as u32 - row;
    for v in out.faces.iter_mut().flatten() {
        *v %= kept;
    }
    let kept = kept as usize;
    out.positions.truncate(kept);
    out.known.truncate(kept);
    out.along.truncate(kept);
    out.inside.truncate(kept);
    out
}

/// A saddle z = (x² − y²)/8 over 10 by 10 mm, from the first and second fundamental forms of a
/// graph (M. do Carmo, Differential Geometry of Curves and Surfaces, section 3-3).
pub(crate) fn saddle(cells: u32) -> Form {
    form("saddle", (cells, cells, false), |u, v| {
        let (x, y) = (10.0 * u - 5.0, 10.0 * v - 5.0);
        let (zx, zy) = (x / 4.0, -y / 4.0);
        let root = (1.0 + zx * zx + zy * zy).sqrt();
        // Convex is positive seen from above: the second form turned round.
        let (l, n) = (-0.25 / root, 0.25 / root);
        let (e, f, g) = (1.0 + zx * zx, zx * zy, 1.0 + zy * zy);
        let area = e * g - f * f;
        let (mean, gauss) = ((e * n + g * l) / (2.0 * area), l * n / area);
        let apart = (mean * mean - gauss).max(0.0).sqrt();
        let most = mean + apart;
        // (L − k E) dx + (M − k F) dy = 0.
        let (dx, dy) = (most * f, l - most * e);
        let along = Vector3::new(dx, dy, zx * dx + zy * dy).normalize();
        let inside = 5.0 - x.abs().max(y.abs());
        (Point3::new(x, y, (x * x - y * y) / 8.0), [most, mean - apart], along, inside)
    })
}

/// All of them.
pub(crate) fn forms() -> Vec<Form> {
    vec![ball(5), cylinder(60), cone(60), torus(60), saddle(60)]
}

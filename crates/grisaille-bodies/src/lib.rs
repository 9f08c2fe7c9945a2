//! Analytic bodies as triangle soups, for tests only: closed forms are known
//! for them, so exposure and form can be checked against a published value.

pub mod distance;
mod forms;

pub use forms::{Form, Receiver, disc, forms, groove, trench};

/// Three corners, counter-clockwise from outside.
pub type Triangle = [[f64; 3]; 3];

/// A box from `low` to `high`, 12 triangles.
#[must_use]
pub fn cuboid(low: [f64; 3], high: [f64; 3]) -> Vec<Triangle> {
    let p = |i: usize| [0, 1, 2].map(|k| if i >> k & 1 == 1 { high[k] } else { low[k] });
    let quads = [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
    quads.iter().flat_map(|q| [[p(q[0]), p(q[1]), p(q[2])], [p(q[0]), p(q[2]), p(q[3])]]).collect()
}

/// A cube of side 1 about the origin.
#[must_use]
pub fn cube() -> Vec<Triangle> {
    cuboid([-0.5; 3], [0.5; 3])
}

/// A level rectangle at height `z`, facing up, two triangles: an open sheet.
#[must_use]
pub fn sheet(low: [f64; 2], high: [f64; 2], z: f64) -> Vec<Triangle> {
    let p = |x: f64, y: f64| [x, y, z];
    let (a, b) = (p(low[0], low[1]), p(high[0], low[1]));
    let (c, d) = (p(high[0], high[1]), p(low[0], high[1]));
    vec![[a, b, c], [a, c, d]]
}

/// A unit sphere: an icosahedron split `level` times, 20 · 4^level triangles
/// with their corners on the sphere.
#[must_use]
pub fn icosphere(level: u32) -> Vec<Triangle> {
    let g = f64::midpoint(1.0, 5.0_f64.sqrt());
    let v: Vec<[f64; 3]> = [
        [-1.0, g, 0.0],
        [1.0, g, 0.0],
        [-1.0, -g, 0.0],
        [1.0, -g, 0.0],
        [0.0, -1.0, g],
        [0.0, 1.0, g],
        [0.0, -1.0, -g],
        [0.0, 1.0, -g],
        [g, 0.0, -1.0],
        [g, 0.0, 1.0],
        [-g, 0.0, -1.0],
        [-g, 0.0, 1.0],
    ]
    .into_iter()
    .map(on_sphere)
    .collect();
    let faces = [
        [0, 11, 5],
        [0, 5, 1],
        [0, 1, 7],
        [0, 7, 10],
        [0, 10, 11],
        [1, 5, 9],
        [5, 11, 4],
        [11, 10, 2],
        [10, 7, 6],
        [7, 1, 8],
        [3, 9, 4],
        [3, 4, 2],
        [3, 2, 6],
        [3, 6, 8],
        [3, 8, 9],
        [4, 9, 5],
        [2, 4, 11],
        [6, 2, 10],
        [8, 6, 7],
        [9, 8, 1],
    ];
    let mut soup: Vec<Triangle> = faces.iter().map(|f| f.map(|i| v[i])).collect();
    for _ in 0..level {
        soup = soup
            .iter()
            .flat_map(|&[a, b, c]| {
                let m = |p: [f64; 3], q: [f64; 3]| on_sphere([0, 1, 2].map(|i| p[i] + q[i]));
                let (ab, bc, ca) = (m(a, b), m(b, c), m(c, a));
                [[a, ab, ca], [ab, b, bc], [ca, bc, c], [ab, bc, ca]]
            })
            .collect();
    }
    soup
}

fn on_sphere(p: [f64; 3]) -> [f64; 3] {
    let length = p.iter().map(|x| x * x).sum::<f64>().sqrt();
    p.map(|x| x / length)
}

/// An open cup of five overlapping blocks, 12 mm wide and 8 mm high, its inside 8 by 8 by 6 mm; a lid would lie at z = 8.
#[must_use]
pub fn cup() -> Vec<Triangle> {
    let wall = |low: [f64; 2], high: [f64; 2]| cuboid([low[0], low[1], 0.0], [high[0], high[1], 8.0]);
    [
        cuboid([-5.9, -5.9, 0.1], [5.9, 5.9, 2.0]),
        wall([-6.0, -6.0], [-4.0, 6.0]),
        wall([4.0, -6.0], [6.0, 6.0]),
        wall([-4.5, -6.0], [4.5, -4.0]),
        wall([-4.5, 4.0], [4.5, 6.0]),
    ]
    .concat()
}

/// A block 10 wide, 10 long and 5 high, its top at 0, with a notch 4 deep along
/// the y axis whose walls lean out from upright by `lean` degrees: one closed
/// piece with a sharp recess.
#[must_use]
pub fn notched_block(lean: f64) -> Vec<Triangle> {
    let w = 4.0 * lean.to_radians().tan();
    let outline: [[f64; 2]; 7] =
        [[-5.0, -5.0], [5.0, -5.0], [5.0, 0.0], [w, 0.0], [0.0, -4.0], [-w, 0.0], [-5.0, 0.0]];
    let at = |i: usize, y: f64| [outline[i % 7][0], y, outline[i % 7][1]];
    let (front, back) = (-5.0, 5.0);
    let mut soup = Vec::new();
    for i in 0..7 {
        soup.push([at(i, front), at(i + 1, back), at(i, back)]);
        soup.push([at(i, front), at(i + 1, front), at(i + 1, back)]);
    }
    for [a, b, c] in [[0, 1, 4], [1, 2, 3], [1, 3, 4], [0, 4, 5], [0, 5, 6]] {
        soup.push([at(a, front), at(b, front), at(c, front)]);
        soup.push([at(a, back), at(c, back), at(b, back)]);
    }
    soup
}

/// A ball of 12 mm held by four columns on a raft, every one a piece.
#[must_use]
pub fn ball_on_supports() -> Vec<Triangle> {
    let mut soup = moved(scaled(icosphere(3), 6.0), [0.0, 0.0, 14.0]);
    soup.extend(cuboid([-4.0, -4.0, 0.0], [4.0, 4.0, 1.0]));
    for [x, y] in [[-1.5, -1.5], [1.5, -1.5], [1.5, 1.5], [-1.5, 1.5]] {
        soup.extend(moved(tower(&[[0.5, 0.5], [0.5, 6.5], [0.15, 8.55]]), [x, y, 0.0]));
    }
    soup
}

/// One closed piece of upright square cross-sections about the z axis: half a
/// side and the height of each, from below.
#[must_use]
pub fn tower(levels: &[[f64; 2]]) -> Vec<Triangle> {
    let square =
        |[half, z]: [f64; 2]| [[-half, -half, z], [half, -half, z], [half, half, z], [-half, half, z]];
    let mut soup = Vec::new();
    for pair in levels.windows(2) {
        let (low, high) = (square(pair[0]), square(pair[1]));
        for i in 0..4 {
            let k = (i + 1) % 4;
            soup.extend([[low[i], low[k], high[k]], [low[i], high[k], high[i]]]);
        }
    }
    if let (Some(first), Some(last)) = (levels.first(), levels.last()) {
        let ([a, b, c, d], [e, f, g, h]) = (square(*first), square(*last));
        soup.extend([[a, c, b], [a, d, c], [e, f, g], [e, g, h]]);
    }
    soup
}

/// The same body moved by `by`.
#[must_use]
pub fn moved(mut soup: Vec<Triangle>, by: [f64; 3]) -> Vec<Triangle> {
    for p in soup.iter_mut().flatten() {
        *p = [0, 1, 2].map(|i| p[i] + by[i]);
    }
    soup
}

/// The same body scaled about the origin.
#[must_use]
pub fn scaled(mut soup: Vec<Triangle>, by: f64) -> Vec<Triangle> {
    for x in soup.iter_mut().flatten().flatten() {
        *x *= by;
    }
    soup
}

/// The same body turned about the axis through the origin along the unit
/// vector `axis`, by `degrees` (Rodrigues' formula).
#[must_use]
pub fn turned(mut soup: Vec<Triangle>, axis: [f64; 3], degrees: f64) -> Vec<Triangle> {
    let (s, c) = degrees.to_radians().sin_cos();
    for p in soup.iter_mut().flatten() {
        let dot: f64 = (0..3).map(|i| axis[i] * p[i]).sum();
        let cross = [0, 1, 2].map(|i| {
            let (j, k) = ((i + 1) % 3, (i + 2) % 3);
            axis[j] * p[k] - axis[k] * p[j]
        });
        *p = [0, 1, 2].map(|i| p[i] * c + cross[i] * s + axis[i] * dot * (1.0 - c));
    }
    soup
}

/// The same body with every triangle wound the other way.
#[must_use]
pub fn inside_out(mut soup: Vec<Triangle>) -> Vec<Triangle> {
    for t in &mut soup {
        t.swap(1, 2);
    }
    soup
}

/// The same shape with each triangle cut in four at the middles of its edges.
#[must_use]
pub fn halved(soup: &[Triangle]) -> Vec<Triangle> {
    let middle = |p: [f64; 3], q: [f64; 3]| [0, 1, 2].map(|i| f64::midpoint(p[i], q[i]));
    let cut = |&[a, b, c]: &Triangle| {
        let (ab, bc, ca) = (middle(a, b), middle(b, c), middle(c, a));
        [[a, ab, ca], [ab, b, bc], [ca, bc, c], [ab, bc, ca]]
    };
    soup.iter().flat_map(cut).collect()
}

/// The body as binary STL.
#[must_use]
pub fn stl(soup: &[Triangle]) -> Vec<u8> {
    let mut bytes = vec![b' '; 80];
    bytes.extend((soup.len() as u32).to_le_bytes());
    for t in soup {
        bytes.extend([0; 12]);
        bytes.extend(t.iter().flatten().flat_map(|x| (*x as f32).to_le_bytes()));
        bytes.extend([0; 2]);
    }
    bytes
}

//! Figures and print supports as signed distances, and from these as triangles: mesh by
//! mesh apart, or one with the other.

use crate::Triangle;
use fast_surface_nets::ndshape::RuntimeShape;
use fast_surface_nets::{SurfaceNetsBuffer, surface_nets};
use nalgebra::{Point3, Rotation3, Vector3};
use std::sync::Arc;

/// Distance to a surface in mm, negative inside.
pub type Distance = Arc<dyn Fn(Point3<f64>) -> f64 + Send + Sync>;

/// A cone between two points with rounded ends, straight if both radii are the same.
#[must_use]
pub fn rod(a: [f64; 3], b: [f64; 3], radii: [f64; 2]) -> Distance {
    let (a, b) = (Point3::from(a), Point3::from(b));
    Arc::new(move |p| {
        let t = ((p - a).dot(&(b - a)) / (b - a).norm_squared()).clamp(0.0, 1.0);
        (p - (a + (b - a) * t)).norm() - (radii[0] + t * (radii[1] - radii[0]))
    })
}

/// A ball.
#[must_use]
pub fn ball(at: [f64; 3], radius: f64) -> Distance {
    Arc::new(move |p| (p - Point3::from(at)).norm() - radius)
}

/// An upright cylinder with flat ends.
#[must_use]
pub fn disc(at: [f64; 2], radius: f64, [low, high]: [f64; 2]) -> Distance {
    Arc::new(move |p| ((p.x - at[0]).hypot(p.y - at[1]) - radius).max(low - p.z).max(p.z - high))
}

/// A box.
#[must_use]
pub fn block(low: [f64; 3], high: [f64; 3]) -> Distance {
    Arc::new(move |p| (0..3).map(|i| (low[i] - p[i]).max(p[i] - high[i])).fold(f64::NEG_INFINITY, f64::max))
}

/// All of some bodies.
#[must_use]
pub fn all(parts: Vec<Distance>) -> Distance {
    Arc::new(move |p| parts.iter().map(|d| d(p)).fold(f64::INFINITY, f64::min))
}

/// `one` where `other` is not.
#[must_use]
pub fn but(one: &Distance, other: &Distance) -> Distance {
    let (one, other) = (Arc::clone(one), Arc::clone(other));
    Arc::new(move |p| one(p).max(-other(p)))
}

/// What lies deeper than `wall` under a surface.
#[must_use]
pub fn inner(of: &Distance, wall: f64) -> Distance {
    let of = Arc::clone(of);
    Arc::new(move |p| of(p) + wall)
}

/// A body tilted about x, then y, in degrees, and lifted.
#[must_use]
pub fn posed(of: &Distance, tilt: [f64; 2], up: f64) -> Distance {
    let of = Arc::clone(of);
    let turn = Rotation3::from_axis_angle(&Vector3::y_axis(), tilt[1].to_radians())
        * Rotation3::from_axis_angle(&Vector3::x_axis(), tilt[0].to_radians());
    let back = turn.inverse();
    Arc::new(move |p| of(back * (p - Vector3::z() * up)))
}

/// Grid points along a block.
const BLOCK: u32 = 8;

/// The surface on a grid of `cell` mm within a box.
#[must_use]
pub fn surface(of: &Distance, [low, high]: [[f64; 3]; 2], cell: f64) -> Vec<Triangle> {
    let size = [0, 1, 2].map(|i| ((high[i] - low[i]) / cell) as u32 + 1);
    let shape = RuntimeShape::<u32, 3>::new(size);
    // A shift that no plane of a body lies on.
    let at = |i: f64, axis: usize| low[axis] + cell * (i + 0.137);
    let mut values = vec![0.0_f32; size.iter().map(|n| *n as usize).product()];
    // Block by block; what is far from the surface as a whole is asked about once.
    let blocks = size.map(|n| n.div_ceil(BLOCK));
    for (bx, by, bz) in
        (0..blocks[2]).flat_map(|z| (0..blocks[1]).flat_map(move |y| (0..blocks[0]).map(move |x| (x, y, z))))
    {
        let first = [bx, by, bz].map(|b| b * BLOCK);
        let middle = [0, 1, 2].map(|i| at(f64::from(first[i]) + 0.5 * f64::from(BLOCK - 1), i));
        let there = of(Point3::from(middle));
        let far = there.abs() > f64::from(BLOCK) * cell;
        for z in first[2]..(first[2] + BLOCK).min(size[2]) {
            for y in first[1]..(first[1] + BLOCK).min(size[1]) {
                for x in first[0]..(first[0] + BLOCK).min(size[0]) {
                    let p = || Point3::new(at(x.into(), 0), at(y.into(), 1), at(z.into(), 2));
                    let d = if far { there } else { of(p()) };
                    values[((z * size[1] + y) * size[0] + x) as usize] = d as f32;
                }
            }
        }
    }
    let mut net = SurfaceNetsBuffer::default();
    surface_nets(&values, &shape, [0; 3], size.map(|n| n - 1), &mut net);
    let corner = |i: u32| {
        let p = net.positions[i as usize];
        [0, 1, 2].map(|axis| at(f64::from(p[axis]), axis))
    };
    net.indices.chunks_exact(3).map(|t| [t[0], t[1], t[2]].map(corner)).collect()
}

/// A figure of 28 mm on feet of its own, with what is thin on figures: a spear to the ground,
/// an antenna, a chain, a bare tree.
#[must_use]
pub fn figure() -> Distance {
    let mut parts = vec![
        rod([0.0, 0.0, 11.0], [0.0, 0.0, 19.0], [3.6, 4.2]),
        ball([0.0, -0.6, 24.5], 3.2),
        rod([0.0, 0.0, 20.0], [0.0, 0.0, 23.0], [1.6, 1.6]),
        rod([-2.4, 0.0, 2.0], [-1.8, 0.0, 11.0], [1.5, 1.9]),
        rod([2.4, 0.0, 2.0], [1.8, 0.0, 11.0], [1.5, 1.9]),
        rod([-2.4, -1.4, 1.4], [-2.4, 0.4, 1.4], [1.3, 1.5]),
        rod([2.4, -1.4, 1.4], [2.4, 0.4, 1.4], [1.3, 1.5]),
        rod([-4.0, 0.0, 19.0], [-7.5, -3.0, 14.0], [1.4, 1.1]),
        rod([4.0, 0.0, 19.0], [8.0, -2.0, 15.0], [1.4, 1.1]),
        // The spear stands on the ground and is held.
        rod([8.0, -2.0, 0.6], [8.0, -2.0, 30.0], [0.55, 0.5]),
        rod([0.5, 0.5, 27.0], [1.5, 1.5, 33.0], [0.45, 0.3]),
    ];
    // A chain that hangs from the other hand.
    parts.extend((0..6).map(|i| ball([-7.5, -3.0, 13.2 - 1.1 * f64::from(i)], 0.7)));
    all(parts)
}

/// The figure on a round base with a bare tree, whose trunk is as thin as a support's column.
#[must_use]
pub fn based() -> Distance {
    let tree = vec![
        rod([-8.0, 5.0, 2.0], [-8.0, 5.5, 14.0], [0.8, 0.6]),
        rod([-8.0, 5.5, 12.0], [-5.0, 6.5, 19.0], [0.55, 0.35]),
        rod([-8.0, 5.5, 13.0], [-9.5, 4.0, 19.5], [0.55, 0.35]),
    ];
    let parts = vec![posed(&figure(), [0.0, 0.0], 2.6), disc([0.0, 0.0], 12.5, [0.0, 3.0]), all(tree)];
    all(parts)
}

/// How supports are built.
#[derive(Clone, Copy, Debug)]
pub struct Style {
    /// A column's radius.
    pub column: f64,
    /// Its tip's.
    pub tip: f64,
    /// Millimetres between columns.
    pub apart: f64,
    /// A plate, or feet.
    pub raft: bool,
    /// Bars from column to column.
    pub braces: bool,
    /// Tips come from the side by this much of their height.
    pub lean: f64,
}

/// Columns of 1.2 mm on a plate.
pub const USUAL: Style = Style { column: 0.6, tip: 0.2, apart: 2.2, raft: true, braces: false, lean: 0.0 };

/// Columns under a body, each of its own, and what they stand on; the floor is at 0.
#[must_use]
pub fn supports(body: &Distance, style: Style) -> Vec<Distance> {
    let mut parts: Vec<Distance> = Vec::new();
    let mut last: Option<[f64; 3]> = None;
    let steps = (14.0 / style.apart) as i32;
    for (i, j) in (-steps..=steps).flat_map(|i| (-steps..=steps).map(move |j| (i, j))) {
        let [x, y] = [i, j].map(|n| f64::from(n) * style.apart + 0.21);
        // Where the body begins above this place.
        let Some(touch) = (0..1200)
            .map(|n| f64::from(n) * 0.05)
            .find(|z| body(Point3::new(x, y, *z)) <= 0.0)
            .filter(|z| *z > 1.5 && *z < 22.0)
        else {
            last = None;
            continue;
        };
        let cone = 2.0_f64.min(0.5 * touch);
        let foot = [x + style.lean * cone, y, touch - cone];
        // The lean must not lead through the body.
        let clear = (0..200).all(|n| {
            body(Point3::new(foot[0], foot[1], foot[2] * f64::from(n) / 200.0)) > style.column + 0.6
        });
        if !clear || body(Point3::from(foot)) < style.column + 0.5 {
            last = None;
            continue;
        }
        let mut column = vec![
            disc([foot[0], foot[1]], style.column, [0.0, foot[2]]),
            rod(foot, [x, y, touch + 0.1], [style.column, style.tip]),
        ];
        if !style.raft {
            column.push(rod([foot[0], foot[1], 0.0], [foot[0], foot[1], 1.5], [2.0, style.column]));
        }
        if let Some([a, b, top]) = last.filter(|_| style.braces) {
            let high = top.min(foot[2]);
            if high > 4.0 {
                column.push(rod([a, b, 0.5 * high], [foot[0], foot[1], 0.9 * high], [0.4, 0.4]));
                column.push(rod([a, b, 0.4 * high], [foot[0], foot[1], 0.4 * high], [0.4, 0.4]));
            }
        }
        last = Some(foot);
        // Nothing reaches below the floor.
        let column = all(column);
        parts.push(Arc::new(move |p| column(p).max(-p.z)));
    }
    if style.raft {
        parts.push(block([-15.0, -15.0, 0.0], [15.0, 15.0, 0.8]));
    }
    parts
}

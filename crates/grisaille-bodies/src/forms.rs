//! Bodies beside which the sky that an element still sees is known in closed form.
//!
//! The formulas are configuration factors, collected in J. R. Howell, A Catalog
//! of Radiation Heat Transfer Configuration Factors, and in Siegel and Howell,
//! Thermal Radiation Heat Transfer. They were written from memory and cited by
//! case, not by section number; the values in the test below were confirmed by
//! a 20-digit quadrature of cos·cos/(π r²) that shares no code with this project.

use crate::{Triangle, icosphere, moved, sheet, turned};
use std::f64::consts::PI;

/// A small piece of surface and the ambient light that reaches it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Receiver {
    /// Where it is.
    pub position: [f64; 3],
    /// Its unit normal.
    pub normal: [f64; 3],
    /// The cosine-weighted share of an even upper sky that it sees, 0 to 1.
    pub sky: f64,
}

/// A body with receivers beside it.
#[derive(Clone, Debug, PartialEq)]
pub struct Form {
    /// Which case, as in the catalogue.
    pub name: &'static str,
    /// What blocks.
    pub soup: Vec<Triangle>,
    /// What is lit.
    pub receivers: Vec<Receiver>,
}

/// How often a body is turned about the upright axis: a set of directions has
/// azimuths that it serves better or worse.
const TURNS: usize = 5;
/// How far "endless" bodies reach each way. At 20 times their width the open
/// ends let in less than 5e-5 of the sky.
const ENDLESS: f64 = 20.0;
/// The corners of a polygon that stands for a circle; its area is short by 1.3e-5.
const CORNERS: usize = 720;

/// All forms, each at several azimuths.
#[must_use]
pub fn forms() -> Vec<Form> {
    let of_revolution = [
        beside_a_resting_sphere(),
        tilted_below_a_sphere(),
        below_a_sphere_that_dips_under_the_horizon(),
        below_a_disc(),
        tilted_below_a_disc(),
        below_an_offset_disc(),
        in_a_well(),
    ];
    let straight = [below_a_rectangle(), before_a_wall(), in_a_trench(), in_a_v_groove()];
    let about = of_revolution.into_iter().flatten().map(receivers_round);
    about.chain(straight.into_iter().flatten().flat_map(round)).collect()
}

const UP: [f64; 3] = [0.0, 0.0, 1.0];

fn level(x: f64, z: f64, sky: f64) -> Receiver {
    Receiver { position: [x, 0.0, z], normal: UP, sky }
}

/// At the origin, its normal tilted toward +X.
fn tilted(degrees: f64, sky: f64) -> Receiver {
    let (s, c) = degrees.to_radians().sin_cos();
    Receiver { position: [0.0; 3], normal: [s, 0.0, c], sky }
}

fn turned_receiver(r: &Receiver, degrees: f64) -> Receiver {
    let [position, normal, _] = turned(vec![[r.position, r.normal, UP]], UP, degrees)[0];
    Receiver { position, normal, ..*r }
}

/// The azimuths in degrees; none is an axis.
fn azimuths() -> impl Iterator<Item = f64> {
    (0..TURNS).map(|k| 7.0 + 360.0 * k as f64 / TURNS as f64)
}

/// Receivers at several azimuths about a body of revolution.
fn receivers_round(form: Form) -> Form {
    let about = |degrees| form.receivers.iter().map(move |r| turned_receiver(r, degrees));
    let receivers = azimuths().flat_map(about).collect();
    Form { receivers, ..form }
}

/// The whole form at several azimuths.
fn round(form: Form) -> impl Iterator<Item = Form> {
    azimuths().map(move |degrees| Form {
        name: form.name,
        receivers: form.receivers.iter().map(|r| turned_receiver(r, degrees)).collect(),
        soup: turned(form.soup.clone(), UP, degrees),
    })
}

fn beside_a_resting_sphere() -> Vec<Form> {
    let receivers = [0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 5.0].map(|x| level(x, 0.0, 1.0 - resting_sphere(x)));
    let soup = moved(icosphere(4), UP);
    vec![Form { name: "ground beside a resting sphere", soup, receivers: receivers.to_vec() }]
}

fn tilted_below_a_sphere() -> Vec<Form> {
    let height = 2.0;
    let receivers = [0.0, 30.0, 60.0].map(|t| tilted(t, open(t) - sphere_in_view(t, height)));
    let soup = moved(icosphere(4), [0.0, 0.0, height]);
    vec![Form { name: "tilted, below a sphere", soup, receivers: receivers.to_vec() }]
}

/// The receiver is so steep that the sphere overhead is partly behind it.
fn below_a_sphere_that_dips_under_the_horizon() -> Vec<Form> {
    let cases: [(f64, &[f64]); 4] =
        [(2.0, &[75.0, 90.0, 100.0]), (1.5, &[90.0]), (1.2, &[80.0]), (3.0, &[95.0])];
    cases
        .map(|(h, tilts)| Form {
            name: "steep, below a sphere partly behind",
            soup: moved(icosphere(4), [0.0, 0.0, h]),
            receivers: tilts.iter().map(|&t| tilted(t, open(t) - sphere_partly_behind(t, h))).collect(),
        })
        .to_vec()
}

fn below_a_disc() -> Vec<Form> {
    [(1.0, 1.0), (2.0, 1.0), (1.0, 2.0), (5.0, 1.0)]
        .map(|(h, r)| Form {
            name: "below a disc",
            soup: disc(r, h),
            receivers: vec![level(0.0, 0.0, 1.0 - coaxial_disc(h, r))],
        })
        .to_vec()
}

fn tilted_below_a_disc() -> Vec<Form> {
    let (h, r) = (2.0, 1.0);
    let receivers =
        [30.0_f64, 60.0].map(|t| tilted(t, open(t) - t.to_radians().cos() * coaxial_disc(h, r))).to_vec();
    vec![Form { name: "tilted, below a disc", soup: disc(r, h), receivers }]
}

fn below_an_offset_disc() -> Vec<Form> {
    [(1.0, 1.0, vec![0.5, 0.9, 2.0]), (2.0, 1.0, vec![0.5])]
        .map(|(h, r, offsets)| Form {
            name: "below an offset disc",
            soup: disc(r, h),
            receivers: offsets.iter().map(|&e| level(e, 0.0, 1.0 - offset_disc(h, r, e))).collect(),
        })
        .to_vec()
}

fn below_a_rectangle() -> Vec<Form> {
    [(1.0, 1.0, 1.0), (2.0, 1.0, 1.0), (0.5, 0.5, 1.0), (10.0, 10.0, 1.0)]
        .map(|(a, b, c)| Form {
            name: "below a rectangle's corner",
            soup: sheet([0.0; 2], [a, b], c),
            receivers: vec![level(0.0, 0.0, 1.0 - rectangle(a, b, c))],
        })
        .to_vec()
}

fn before_a_wall() -> Vec<Form> {
    [(1.0, 1.0, 1.0), (1.0, 2.0, 3.0), (0.2, ENDLESS, ENDLESS)]
        .map(|(b, a, c)| Form {
            name: "before a wall",
            soup: vec![[[b, -a, 0.0], [b, a, 0.0], [b, a, c]], [[b, -a, 0.0], [b, a, c], [b, -a, c]]],
            receivers: vec![level(0.0, 0.0, 1.0 - 2.0 * wall(a, b, c))],
        })
        .to_vec()
}

fn in_a_trench() -> Vec<Form> {
    [(1.0, 0.5), (1.0, 1.0), (1.0, 2.0), (2.0, 1.0)]
        .map(|(w, d)| {
            let floor = [0.5, 0.25, 0.1].map(|s| level(s * w, -d, trench_floor(w, d, s * w)));
            let wall = [0.25, 0.5, 0.75].map(|share| Receiver {
                position: [0.0, 0.0, -share * d],
                normal: [1.0, 0.0, 0.0],
                sky: trench_wall(w, share * d),
            });
            Form { name: "in a trench", soup: trench(w, d), receivers: [floor, wall].concat() }
        })
        .to_vec()
}

/// An endless trench along y, its floor from x = 0 to w and d below the land.
#[must_use]
pub fn trench(w: f64, d: f64) -> Vec<Triangle> {
    strip(&[[-1.0, 0.0], [0.0, 0.0], [0.0, -d], [w, -d], [w, 0.0], [w + 1.0, 0.0]])
}

/// An endless groove along y with walls of length 1 that meet at the origin and
/// stand `degrees` from upright.
#[must_use]
pub fn groove(degrees: f64) -> Vec<Triangle> {
    let (s, c) = degrees.to_radians().sin_cos();
    strip(&[[-s, c], [0.0, 0.0], [s, c]])
}

fn in_a_v_groove() -> Vec<Form> {
    [30.0_f64, 45.0, 60.0, 75.0]
        .map(|a| {
            let (s, c) = a.to_radians().sin_cos();
            // The first all but at the bottom, where sin² a is left.
            let receivers = [0.01, 0.25, 0.5, 0.75].map(|x| Receiver {
                position: [-x * s, 0.0, x * c],
                normal: [c, 0.0, s],
                sky: v_groove(a, x),
            });
            Form { name: "in a V groove", soup: groove(a), receivers: receivers.to_vec() }
        })
        .to_vec()
}

fn in_a_well() -> Vec<Form> {
    [0.5, 1.0, 2.0]
        .map(|d| {
            let off = [0.4, 0.8].map(|e| level(e, -d, offset_disc(d, 1.0, e)));
            let mut soup = Vec::new();
            for i in 0..CORNERS {
                let ([x, y], [u, v]) = (corner(i, 1.0), corner(i + 1, 1.0));
                soup.push([[x, y, -d], [u, v, 0.0], [u, v, -d]]);
                soup.push([[x, y, -d], [x, y, 0.0], [u, v, 0.0]]);
            }
            soup.extend(disc(1.0, -d));
            let receivers = [vec![level(0.0, -d, coaxial_disc(d, 1.0))], off.to_vec()].concat();
            Form { name: "on the floor of a well", soup, receivers }
        })
        .to_vec()
}

fn corner(i: usize, radius: f64) -> [f64; 2] {
    let (s, c) = (2.0 * PI * (i % CORNERS) as f64 / CORNERS as f64).sin_cos();
    [radius * c, radius * s]
}

/// A level disc about the upright axis, facing up: an open sheet.
#[must_use]
pub fn disc(radius: f64, height: f64) -> Vec<Triangle> {
    let at = |i: usize| {
        let [x, y] = corner(i, radius);
        [x, y, height]
    };
    (0..CORNERS).map(|i| [[0.0, 0.0, height], at(i), at(i + 1)]).collect()
}

/// A line in x and z drawn out along y: an open sheet.
fn strip(profile: &[[f64; 2]]) -> Vec<Triangle> {
    let quads = profile.windows(2).map(|ends| {
        let at = |i: usize, y: f64| [ends[i][0], y, ends[i][1]];
        let (a, b) = (at(0, -ENDLESS), at(1, -ENDLESS));
        let (c, d) = (at(1, ENDLESS), at(0, ENDLESS));
        [[a, b, c], [a, c, d]]
    });
    quads.flatten().collect()
}

/// An open surface tilted by so much: (1 + cos t)/2.
fn open(degrees: f64) -> f64 {
    0.5 * (1.0 + degrees.to_radians().cos())
}

/// Element to a unit sphere that rests on its plane at distance x: cos t/H²
/// with H² = 1 + x² and cos t = 1/H.
fn resting_sphere(x: f64) -> f64 {
    (1.0 + x * x).powf(-1.5)
}

/// Element to a unit sphere at distance H, all of it above the horizon.
fn sphere_in_view(degrees: f64, h: f64) -> f64 {
    degrees.to_radians().cos() / (h * h)
}

/// Element to a unit sphere at distance H, t from its normal, that stands partly
/// behind the element's own plane.
fn sphere_partly_behind(degrees: f64, h: f64) -> f64 {
    let (s, c) = degrees.to_radians().sin_cos();
    let x = (h * h - 1.0).sqrt();
    let y = -x * c / s;
    let root = (1.0 - y * y).sqrt();
    (c * y.acos() - x * s * root) / (PI * h * h) + (s * root / x).atan() / PI
}

/// Element to a parallel disc over it.
fn coaxial_disc(h: f64, r: f64) -> f64 {
    r * r / (h * h + r * r)
}

/// Element to a parallel disc, its centre `e` aside.
fn offset_disc(d: f64, r: f64, e: f64) -> f64 {
    let (h, r) = (d / e, r / e);
    let z = 1.0 + h * h + r * r;
    0.5 * (1.0 - (1.0 + h * h - r * r) / (z * z - 4.0 * r * r).sqrt())
}

/// Element under the corner of a parallel rectangle a × b at height c.
fn rectangle(a: f64, b: f64, c: f64) -> f64 {
    let half = |x: f64, y: f64| {
        let root = (1.0 + x * x).sqrt();
        x / root * (y / root).atan()
    };
    let (x, y) = (a / c, b / c);
    (half(x, y) + half(y, x)) / (2.0 * PI)
}

/// Element to a wall at a right angle, b away, a wide to one side, c high.
fn wall(a: f64, b: f64, c: f64) -> f64 {
    let (x, root) = (a / b, (1.0 + (c / b).powi(2)).sqrt());
    (x.atan() - (x / root).atan() / root) / (2.0 * PI)
}

/// The floor of an endless trench, s from one wall.
fn trench_floor(w: f64, d: f64, s: f64) -> f64 {
    0.5 * (s / s.hypot(d) + (w - s) / (w - s).hypot(d))
}

/// The wall of an endless trench, z under the rim.
fn trench_wall(w: f64, z: f64) -> f64 {
    0.5 * (1.0 - z / w.hypot(z))
}

/// The wall of an endless V groove of half angle a and wall length 1, x from
/// its bottom.
fn v_groove(degrees: f64, x: f64) -> f64 {
    let c = (2.0 * degrees.to_radians()).cos();
    0.5 * (1.0 - (c - x) / (1.0 + x * x - 2.0 * x * c).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn formulas_give_the_confirmed_values() {
        // Each value: 20-digit quadrature, made outside this project.
        for (name, value, confirmed) in [
            ("resting sphere 0.5", resting_sphere(0.5), 0.715_541_752_8),
            ("resting sphere 1", resting_sphere(1.0), 0.353_553_390_6),
            ("resting sphere 3", resting_sphere(3.0), 0.031_622_776_6),
            ("sphere 2, 30°", sphere_in_view(30.0, 2.0), 0.216_506_350_9),
            ("sphere 2, 60°", sphere_in_view(60.0, 2.0), 0.125),
            ("sphere 2, 75°", sphere_partly_behind(75.0, 2.0), 0.070_410_427_0),
            ("sphere 2, 90°", sphere_partly_behind(90.0, 2.0), 0.028_834_442_8),
            ("sphere 2, 100°", sphere_partly_behind(100.0, 2.0), 0.011_283_772_0),
            ("sphere 1.5, 90°", sphere_partly_behind(90.0, 1.5), 0.074_110_073_1),
            ("sphere 1.2, 80°", sphere_partly_behind(80.0, 1.2), 0.231_688_139_7),
            ("sphere 3, 95°", sphere_partly_behind(95.0, 3.0), 0.004_053_742_2),
            ("disc 1 1", coaxial_disc(1.0, 1.0), 0.5),
            ("disc 5 1", coaxial_disc(5.0, 1.0), 0.038_461_538_5),
            ("disc 1 1 0.5", offset_disc(1.0, 1.0, 0.5), 0.437_982_632_7),
            ("disc 1 1 0.9", offset_disc(1.0, 1.0, 0.9), 0.312_308_816_1),
            ("disc 1 1 2", offset_disc(1.0, 1.0, 2.0), 0.052_786_404_5),
            ("disc, radius 1, 2 away, 0.5 aside", offset_disc(2.0, 1.0, 0.5), 0.184_703_687_5),
            ("rectangle 1 1 1", rectangle(1.0, 1.0, 1.0), 0.138_531_606_0),
            ("rectangle 2 1 1", rectangle(2.0, 1.0, 1.0), 0.167_375_009_9),
            ("rectangle .5 .5 1", rectangle(0.5, 0.5, 1.0), 0.059_864_117_6),
            ("rectangle 10 10 1", rectangle(10.0, 10.0, 1.0), 0.247_971_408_3),
            ("wall 1 1 1", wall(1.0, 1.0, 1.0), 0.055_734_197_0),
            ("wall 2 1 3", wall(2.0, 1.0, 3.0), 0.147_825_402_4),
            ("trench 1 1 0.5", trench_floor(1.0, 1.0, 0.5), 0.447_213_595_5),
            ("trench 1 0.5 0.5", trench_floor(1.0, 0.5, 0.5), std::f64::consts::FRAC_1_SQRT_2),
            ("trench 1 2 0.5", trench_floor(1.0, 2.0, 0.5), 0.242_535_625_0),
            ("trench 1 1 0.1", trench_floor(1.0, 1.0, 0.1), 0.384_234_225_3),
            ("trench 2 1 1", trench_floor(2.0, 1.0, 1.0), std::f64::consts::FRAC_1_SQRT_2),
            ("trench wall 0.5", trench_wall(1.0, 0.5), 0.276_393_202_3),
            ("trench wall 2", trench_wall(1.0, 2.0), 0.052_786_404_5),
            ("resting sphere 5", resting_sphere(5.0), 0.007_542_928_3),
            ("groove 75, bottom", v_groove(75.0, 0.0), 0.933_012_701_9),
            ("groove 45 0.25", v_groove(45.0, 0.25), 0.621_267_812_5),
            ("groove 45 0.75", v_groove(45.0, 0.75), 0.8),
            ("groove 30 0.5", v_groove(30.0, 0.5), 0.5),
            ("groove 60 0.5", v_groove(60.0, 0.5), 0.877_964_473_0),
        ] {
            assert!((value - confirmed).abs() < 6e-11, "{name}: {value} instead of {confirmed}");
        }
    }
}

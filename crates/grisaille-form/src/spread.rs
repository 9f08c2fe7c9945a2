//! Evening out along the surface as heat spreads, by a stated width in mm.
//!
//! Backward Euler steps on the cotangent net (U. Pinkall, K. Polthier,
//! Experimental Mathematics 2(1), 1993); directions are turned on their way
//! from vertex to vertex (N. Sharp, Y. Soliman, K. Crane, The Vector Heat
//! Method, ACM TOG 38(3), 2019). Each step is solved by conjugate gradients
//! whose sums do not depend on the number of threads. A sweep over the vertices
//! as preconditioner halves the rounds, but each then takes twice as long.

use crate::fan::{Fans, Link};
use grisaille_base::{Stop, Watch};
use rayon::prelude::*;

/// Sums are made in stretches of this many vertices, whatever the threads.
const STRETCH: usize = 4096;
/// The most rounds for a step; on real figures 10 to 60 serve.
const ROUNDS: usize = 200;
/// A step is done when what is left has fallen to this share.
const SMALL: f64 = 1e-3;

/// Four numbers that are spread together.
pub(crate) type Fields = [f32; 4];

/// What the fields mean on their way from vertex to vertex.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    /// Four plain numbers.
    Plain,
    /// A number, the cosine and sine of twice the angle of a direction, times its
    /// size, and another number.
    Directed,
}

/// Spreads `amount`, given for each vertex as an integral over its `area` in
/// mm², to densities per mm². A point becomes a spot with the second moment of
/// an even disc of `radius` mm: radius²/4 along each axis. With more steps it is
/// nearer to a bell curve; at least two make its curvature finite.
///
/// # Errors
/// [`Stop`] when cancelled.
pub(crate) fn spread(
    fans: &Fans,
    area: &[f32],
    (mut amount, kind): (Vec<Fields>, Kind),
    (radius, steps): (f64, usize),
    watch: &Watch,
) -> Result<Vec<Fields>, Stop> {
    let time = (radius * radius / 8.0 / steps as f64) as f32;
    let weigh = |v: usize| {
        let flow: f32 = fans.around(v as u32).iter().map(|link| link.weight).sum();
        let whole = area[v] + time * flow;
        if whole > 0.0 { whole.recip() } else { 0.0 }
    };
    let inverse = watch.map(area.len(), weigh)?;
    let solver = Solver { fans, area, inverse, time, kind, watch };
    let mut found: Vec<Fields> = watch.map(area.len(), |v| amount[v].map(|b| b * solver.inverse[v]))?;
    for step in 0..steps {
        if step > 0 {
            amount = watch.map(area.len(), |v| found[v].map(|x| x * area[v]))?;
        }
        solver.solve(&amount, &mut found)?;
    }
    Ok(found)
}

struct Solver<'a> {
    fans: &'a Fans,
    area: &'a [f32],
    inverse: Vec<f32>,
    time: f32,
    kind: Kind,
    watch: &'a Watch,
}

impl Solver<'_> {
    /// The left side of a step at one vertex.
    fn apply(&self, v: usize, x: &[Fields]) -> Fields {
        let own = x[v];
        let mut flow = [0.0_f32; 4];
        for link in self.fans.around(v as u32) {
            let there = match self.kind {
                Kind::Plain => x[link.to as usize],
                Kind::Directed => arrived(x[link.to as usize], link),
            };
            for k in 0..4 {
                flow[k] += link.weight * (own[k] - there[k]);
            }
        }
        let area = self.area[v];
        std::array::from_fn(|k| area * own[k] + self.time * flow[k])
    }

    /// Solves a step from a first guess `x`.
    fn solve(&self, wanted: &[Fields], x: &mut [Fields]) -> Result<(), Stop> {
        let count = x.len();
        let mut rest = self.watch.map(count, |v| {
            let have = self.apply(v, x);
            std::array::from_fn(|k| wanted[v][k] - have[k])
        })?;
        let mut way = self.watch.map(count, |v| rest[v].map(|r| r * self.inverse[v]))?;
        let mut image = vec![[0.0_f32; 4]; count];
        let size = |fields: &[Fields]| self.sum(|v| square(fields[v], self.inverse[v]));
        // Measured by what was wanted, which is the same for a good guess and a bad one.
        let enough = SMALL * SMALL * size(wanted);
        let mut left = size(&rest);
        for _ in 0..ROUNDS {
            self.watch.check()?;
            if left <= enough {
                break;
            }
            let bend = self.each(&mut image, |v, image| {
                *image = self.apply(v, &way);
                (0..4).map(|k| f64::from(way[v][k]) * f64::from(image[k])).sum()
            });
            let step = ratio(left, bend);
            self.each(x, |v, x| {
                for k in 0..4 {
                    x[k] += step * way[v][k];
                }
                0.0
            });
            let now = self.each(&mut rest, |v, rest| {
                for k in 0..4 {
                    rest[k] -= step * image[v][k];
                }
                square(*rest, self.inverse[v])
            });
            let keep = ratio(now, left);
            left = now;
            self.each(&mut way, |v, way| {
                for k in 0..4 {
                    way[k] = rest[v][k] * self.inverse[v] + keep * way[k];
                }
                0.0
            });
        }
        self.watch.check()
    }

    /// Works on every vertex and adds up what each gives.
    fn each(&self, fields: &mut [Fields], of: impl Fn(usize, &mut Fields) -> f64 + Sync + Send) -> f64 {
        let part = |(c, part): (usize, &mut [Fields])| {
            if self.watch.stopped() {
                return 0.0;
            }
            part.iter_mut().enumerate().map(|(i, field)| of(c * STRETCH + i, field)).sum::<f64>()
        };
        let parts: Vec<f64> =
            self.watch.run(|| fields.par_chunks_mut(STRETCH).enumerate().map(part).collect());
        parts.iter().sum()
    }

    fn sum(&self, of: impl Fn(usize) -> f64 + Sync + Send) -> f64 {
        let count = self.area.len();
        let part = |c: usize| (c * STRETCH..((c + 1) * STRETCH).min(count)).map(&of).sum::<f64>();
        let parts: Vec<f64> =
            self.watch.run(|| (0..count.div_ceil(STRETCH)).into_par_iter().map(part).collect());
        parts.iter().sum()
    }
}

/// A neighbour's fields as they arrive.
fn arrived([a, s, t, b]: Fields, link: &Link) -> Fields {
    let [cos, sin] = link.arrive;
    [a, s * cos - t * sin, s * sin + t * cos, b]
}

fn square(fields: Fields, weight: f32) -> f64 {
    fields.iter().map(|x| f64::from(*x).powi(2)).sum::<f64>() * f64::from(weight)
}

fn ratio(of: f64, to: f64) -> f32 {
    if to > 0.0 { (of / to) as f32 } else { 0.0 }
}

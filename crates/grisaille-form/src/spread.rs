//! Evening out along the surface as heat spreads, by a stated width in mm.
//!
//! Backward Euler steps on the cotangent net (U. Pinkall, K. Polthier,
//! Experimental Mathematics 2(1), 1993); directions are turned on their way
//! from vertex to vertex (N. Sharp, Y. Soliman, K. Crane, The Vector Heat
//! Method, ACM TOG 38(3), 2019). Each step is solved by conjugate gradients
//! whose sums do not depend on the number of threads, and which are led by coarser
//! nets beside the fine one (J. Bramble, J. Pasciak, J. Xu, Parallel multilevel
//! preconditioners, Mathematics of Computation 55, 1990).

use crate::Shape;
use crate::coarser::{Coarser, answer, coarser, work};
use crate::fan::Fans;
use crate::heat::{Fields, Heat, Kind, STRETCH};
use grisaille_base::{Stop, Watch};
use rayon::prelude::*;

/// The most rounds for a step; on real figures 6 to 20 serve.
const ROUNDS: usize = 200;
/// Coarser nets are worth their time if in this share of the vertices much more flows than they hold.
const STIFF: f64 = 0.1;
/// A step is done when what is left has fallen to this share, and the last one to the second: its errors
/// are not evened out by others, and lines ask how curvature rises and falls.
const SMALL: [f64; 2] = [3e-4, 1e-4];

/// Steps of one length on one net.
pub(crate) struct Spread<'a> {
    heat: Heat,
    inverse: Vec<f32>,
    nets: Vec<Coarser>,
    /// How many rounds all steps took so far.
    pub(crate) rounds: u64,
    watch: &'a Watch,
}

impl<'a> Spread<'a> {
    /// Steps on a net of given vertex areas in mm², of which `steps` spread a point to a spot
    /// with the second moment of an even disc of `radius` mm: radius²/4 along
    /// each axis. With more steps it is nearer to a bell curve; at least two make
    /// its curvature finite.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub(crate) fn new(
        (shape, fans): (&Shape, &Fans),
        area: &[f32],
        (radius, steps): (f64, usize),
        watch: &'a Watch,
    ) -> Result<Self, Stop> {
        let time = (radius * radius / 8.0 / steps as f64) as f32;
        let heat = Heat::of(shape, fans, (area, time), watch)?;
        let inverse = watch.map(area.len(), |v| {
            let [own, _] = heat.own(v);
            if own > 0.0 { own.recip() } else { 0.0 }
        })?;
        let stiff = (0..heat.count()).filter(|v| heat.flow[*v] > 4.0 * heat.area[*v][0]).count();
        let even = (stiff as f64) < STIFF * heat.count() as f64;
        let nets = if even { Vec::new() } else { coarser(&heat, watch)? };
        Ok(Self { heat, inverse, nets, rounds: 0, watch })
    }

    /// Spreads `amount`, given for each vertex as an integral over its area, to
    /// densities per mm².
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub(crate) fn steps(
        &mut self,
        mut amount: Vec<Fields>,
        kind: Kind,
        steps: usize,
    ) -> Result<Vec<Fields>, Stop> {
        let count = amount.len();
        let mut found: Vec<Fields> = self.watch.map(count, |v| amount[v].map(|b| b * self.inverse[v]))?;
        let mut before: Option<Solved> = None;
        for step in 0..steps {
            if step > 0 {
                let met = self.dot(&found, &amount);
                amount = self.watch.map(count, |v| found[v].map(|x| x * self.heat.area[v][0]))?;
                let last = Solved { x: found.clone(), held: self.dot(&found, &amount), met };
                if let Some(before) = before {
                    guess(&mut found, &last, &before, self.watch)?;
                }
                before = Some(last);
            }
            let small = SMALL[usize::from(step + 1 == steps)];
            self.solve(kind, (&amount, small), &mut found)?;
        }
        Ok(found)
    }

    fn dot(&self, a: &[Fields], b: &[Fields]) -> f64 {
        let one = |v: usize| (0..4).map(|k| f64::from(a[v][k]) * f64::from(b[v][k])).sum();
        sum(a.len(), self.watch, one)
    }

    /// Solves a step from a first guess `x`.
    fn solve(&mut self, kind: Kind, (wanted, small): (&[Fields], f64), x: &mut [Fields]) -> Result<(), Stop> {
        let Self { heat, inverse, nets, rounds, watch } = self;
        let (heat, inverse, count) = (&*heat, &*inverse, x.len());
        let mut rest: Vec<Fields> = watch.map(count, |v| {
            let have = heat.apply(kind, v, x);
            std::array::from_fn(|k| wanted[v][k] - have[k])
        })?;
        let mut image = vec![[0.0_f32; 4]; count];
        let mut way = vec![[0.0_f32; 4]; count];
        let size = |fields: &[Fields]| sum(count, watch, |v| square(fields[v], inverse[v]));
        // Measured by what was wanted, which is the same for a good guess and a bad one.
        let enough = small * small * size(wanted);
        let (mut left, mut before) = (size(&rest), 0.0);
        for _ in 0..ROUNDS {
            watch.check()?;
            if left <= enough {
                break;
            }
            *rounds += 1;
            // What is left, as each vertex alone would answer it and as the coarser nets do.
            let now = left + answer(nets, (kind, true), &|v| rest[v], watch);
            let keep = ratio(now, before);
            before = now;
            work(&mut way, watch, |v, way| {
                let more = nets.first().map_or([0.0; 4], |net| net.carried(kind, v));
                for k in 0..4 {
                    way[k] = rest[v][k] * inverse[v] + more[k] + keep * way[k];
                }
                0.0
            });
            let bend = work(&mut image, watch, |v, image| {
                *image = heat.apply(kind, v, &way);
                (0..4).map(|k| f64::from(way[v][k]) * f64::from(image[k])).sum()
            });
            let step = ratio(now, bend);
            work(x, watch, |v, x| {
                for k in 0..4 {
                    x[k] += step * way[v][k];
                }
                0.0
            });
            left = work(&mut rest, watch, |v, rest| {
                for k in 0..4 {
                    rest[k] -= step * image[v][k];
                }
                square(*rest, inverse[v])
            });
        }
        watch.check()
    }
}

/// A solved step: its product with what it holds, and with the system's left side.
struct Solved {
    x: Vec<Fields>,
    held: f64,
    met: f64,
}

/// A first guess for the next step: of all mixtures of the last two the one that is nearest to the
/// solution in the system's own measure (P. Fischer, Projection techniques for iterative solution
/// of Ax = b with successive right-hand sides, CMAME 163, 1998). The left side of
/// each is what the one before it held, so that no more products are needed.
fn guess(x: &mut [Fields], last: &Solved, before: &Solved, watch: &Watch) -> Result<(), Stop> {
    let (a, b, c) = (last.met, before.held, before.met);
    let whole = a * c - b * b;
    // Nearly alike: the last one alone serves.
    if whole > 1e-6 * a * c {
        let mix = [(last.held * c - a * b) / whole, (a * a - last.held * b) / whole].map(|m| m as f32);
        work(x, watch, |v, x| {
            *x = std::array::from_fn(|k| mix[0] * last.x[v][k] + mix[1] * before.x[v][k]);
            0.0
        });
    }
    watch.check()
}

fn sum(count: usize, watch: &Watch, of: impl Fn(usize) -> f64 + Sync + Send) -> f64 {
    let part = |c: usize| (c * STRETCH..((c + 1) * STRETCH).min(count)).map(&of).sum::<f64>();
    let parts: Vec<f64> = watch.run(|| (0..count.div_ceil(STRETCH)).into_par_iter().map(part).collect());
    parts.iter().sum()
}

fn square(fields: Fields, weight: f32) -> f64 {
    fields.iter().map(|x| f64::from(*x).powi(2)).sum::<f64>() * f64::from(weight)
}

fn ratio(of: f64, to: f64) -> f32 {
    if to > 0.0 { (of / to) as f32 } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::Point3;

    /// A wavy sheet of 4 by 4 mm in `cells` by four times as many thin cells, and a load on it
    /// that is a different one at every vertex.
    fn spread_on_a_sheet(cells: usize, nets: bool) -> (Vec<Fields>, u64) {
        let rows = 4 * cells;
        let mut positions = Vec::new();
        let mut faces = Vec::new();
        for j in 0..=rows {
            for i in 0..=cells {
                let [x, y] = [(i, cells), (j, rows)].map(|(k, of)| 4.0 * k as f32 / of as f32);
                positions.push(Point3::new(x, y, 0.5 * (2.0 * x).sin() * y.cos()));
                if i < cells && j < rows {
                    let a = (j * (cells + 1) + i) as u32;
                    let c = a + cells as u32 + 1;
                    faces.extend([[a, a + 1, c + 1], [a, c + 1, c]]);
                }
            }
        }
        let count = positions.len();
        let shape = Shape::new(positions, faces);
        let watch = Watch::quiet();
        let fans = Fans::of(&shape, &watch).expect("nobody cancels");
        let mut area = vec![0.0; count];
        for (face, whole) in shape.faces().iter().zip(shape.areas()) {
            for v in face {
                area[*v as usize] += whole / 3.0;
            }
        }
        let load = (0..count).map(|v| {
            let p = &shape.positions()[v];
            [p.x, p.y, 1.0 - p.x, 0.0]
                .map(|x| area[v] * (x + 2.0 * ((v * 7919 % 1000) as f32 / 1000.0 - 0.5)))
        });
        let load = load.collect();
        let mut spread = Spread::new((&shape, &fans), &area, (1.0, 6), &watch).expect("nobody cancels");
        assert!(!spread.nets.is_empty());
        if !nets {
            spread.nets.clear();
        }
        let found = spread.steps(load, Kind::Directed, 6).expect("nobody cancels");
        (found, spread.rounds)
    }

    #[test]
    fn coarser_nets_change_the_rounds_and_not_the_result() {
        let [(with, few), (without, many)] = [true, false].map(|nets| spread_on_a_sheet(24, nets));
        let size = with.iter().flatten().fold(0.0_f32, |most, x| most.max(x.abs()));
        let worst = with.iter().flatten().zip(without.iter().flatten());
        let worst = worst.map(|(a, b)| (a - b).abs()).fold(0.0, f32::max) / size;
        let (_, fine) = spread_on_a_sheet(96, true);
        let (_, fine_alone) = spread_on_a_sheet(96, false);
        println!("{few} rounds and {fine} four times as fine; alone {many} and {fine_alone}; apart {worst}");
        assert!(worst < 2e-3, "{worst}");
        assert!(fine < 2 * few, "{few} rounds, and {fine} on a finer net");
        assert!(fine_alone > 3 * fine, "{fine} rounds, and {fine_alone} without coarser nets");
    }
}

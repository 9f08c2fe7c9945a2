//! One step of heat on a net, fine or coarse, as a system of equations.
//!
//! What a vertex holds after the step, times its area, plus what has flowed to
//! its neighbours, is what was there before (backward Euler). On a net the flow
//! is that of the cotangents; on a coarser one, of which each vertex stands for a
//! few of a finer, what is between those.

use crate::Shape;
use crate::fan::{Fans, flow};
use grisaille_base::{Stop, Watch};
use rayon::prelude::*;

/// Sums are made in stretches of this many vertices, whatever the threads.
pub(crate) const STRETCH: usize = 4096;

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

/// What flows to a neighbour.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Tie {
    /// The neighbour.
    pub(crate) to: u32,
    /// How much flows within the step, in mm² for each unit of difference.
    pub(crate) weight: f32,
    /// Cosine and sine by which a direction turns on its way from there, shorter
    /// than 1 where several ways disagree.
    pub(crate) arrive: [f32; 2],
}

/// A net with what it holds and what flows. Where there are two numbers, one is for numbers
/// and the other for directions.
#[derive(Clone, Debug, Default)]
pub(crate) struct Heat {
    pub(crate) begin: Vec<u32>,
    pub(crate) ties: Vec<Tie>,
    /// In mm²; for directions with what is lost between vertices that one stands for.
    pub(crate) area: Vec<[f32; 2]>,
    /// The sum of the weights at each vertex.
    pub(crate) flow: Vec<f32>,
}

impl Heat {
    /// The step of a `time` in mm² on a net.
    pub(crate) fn of(
        shape: &Shape,
        fans: &Fans,
        (area, time): (&[f32], f32),
        watch: &Watch,
    ) -> Result<Self, Stop> {
        let (begin, links) = fans.links();
        let ties = watch.map(links.len(), |at| {
            let link = &links[at];
            Tie { to: link.to, weight: time * flow(shape, link.half), arrive: fans.arrive(shape, link) }
        })?;
        let area = area.iter().map(|area| [*area; 2]).collect();
        let mut heat = Self { begin: begin.to_vec(), ties, area, flow: Vec::new() };
        heat.flow = watch.map(heat.count(), |v| heat.around(v).iter().map(|tie| tie.weight).sum::<f32>())?;
        Ok(heat)
    }

    /// A net of `count` vertices of which each tells its ties and gives its area.
    pub(crate) fn gathered(
        count: usize,
        watch: &Watch,
        of: impl Fn(usize, &mut Vec<Tie>) -> [f32; 2] + Sync + Send,
    ) -> Result<Self, Stop> {
        let starts: Vec<usize> = (0..count).step_by(STRETCH).collect();
        let part = |&from: &usize| {
            let mut out = Self::default();
            if watch.stopped() {
                return out;
            }
            for v in from..(from + STRETCH).min(count) {
                let before = out.ties.len();
                out.area.push(of(v, &mut out.ties));
                out.flow.push(out.ties[before..].iter().map(|tie| tie.weight).sum());
                out.begin.push(out.ties.len() as u32);
            }
            out
        };
        let parts: Vec<Self> = watch.run(|| starts.par_iter().map(part).collect());
        watch.check()?;
        let mut all = Self {
            begin: Vec::with_capacity(count + 1),
            ties: Vec::with_capacity(parts.iter().map(|part| part.ties.len()).sum()),
            area: Vec::with_capacity(count),
            flow: Vec::with_capacity(count),
        };
        all.begin.push(0);
        for part in parts {
            let before = all.ties.len() as u32;
            all.begin.extend(part.begin.iter().map(|end| before + end));
            all.ties.extend(part.ties);
            all.area.extend(part.area);
            all.flow.extend(part.flow);
        }
        watch.check()?;
        Ok(all)
    }

    pub(crate) fn count(&self) -> usize {
        self.area.len()
    }

    /// What a vertex is tied to.
    pub(crate) fn around(&self, v: usize) -> &[Tie] {
        &self.ties[self.begin[v] as usize..self.begin[v + 1] as usize]
    }

    /// What one unit at a vertex takes: for numbers and for directions.
    pub(crate) fn own(&self, v: usize) -> [f32; 2] {
        self.area[v].map(|area| area + self.flow[v])
    }

    /// The left side of the step at one vertex.
    pub(crate) fn apply(&self, kind: Kind, v: usize, x: &[Fields]) -> Fields {
        let own = x[v];
        let mut flow = [0.0_f32; 4];
        // The kind is asked once, not at every tie: this is where the time goes.
        match kind {
            Kind::Plain => {
                for tie in self.around(v) {
                    let there = &x[tie.to as usize];
                    for k in 0..4 {
                        flow[k] += tie.weight * (own[k] - there[k]);
                    }
                }
            }
            Kind::Directed => {
                for tie in self.around(v) {
                    let there = turned(x[tie.to as usize], tie.arrive);
                    for k in 0..4 {
                        flow[k] += tie.weight * (own[k] - there[k]);
                    }
                }
            }
        }
        let area = each(self.area[v], kind);
        std::array::from_fn(|k| area[k] * own[k] + flow[k])
    }
}

/// The number that goes with each field.
pub(crate) fn each([number, direction]: [f32; 2], kind: Kind) -> Fields {
    match kind {
        Kind::Plain => [number; 4],
        Kind::Directed => [number, direction, direction, number],
    }
}

/// Fields of which the direction is turned, by twice the angle of this cosine and sine.
pub(crate) fn turned([a, s, t, b]: Fields, [cos, sin]: [f32; 2]) -> Fields {
    [a, s * cos - t * sin, s * sin + t * cos, b]
}

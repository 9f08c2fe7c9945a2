//! Random walks over patches: a patch belongs to the seed that a walker who
//! sets out from it is most likely to meet first, when creases are hard to
//! cross. (L. Grady, "Random walks for image segmentation", IEEE PAMI 28(11),
//! 2006; Y.-K. Lai, S.-M. Hu, R. R. Martin, P. L. Rosin, "Fast mesh segmentation
//! using random walks", SPM 2008.)

use super::tree::{Link, Node};
use grisaille_base::{Stop, Watch};
use rayon::prelude::*;

/// A bend of so many radians brings the ease of crossing down to 1/e.
const BEND: f64 = 0.1;
/// What is left of it over the sharpest crease, beside 1 on flat ground.
const LEAST: f64 = 1e-5;
/// The most rounds of the solver.
const ROUNDS: usize = 2000;
/// The solver stops when the rest is this share of what it began with.
const ENOUGH: f64 = 1e-10;

/// How easily a walker comes from one patch to the next over a link.
pub(crate) fn ease(nodes: &[Node], link: &Link) -> f64 {
    let far = (nodes[link.a as usize].place - nodes[link.b as usize].place).norm().max(1e-9);
    let bend = if link.length > 0.0 { link.bend / link.length } else { 0.0 };
    let easy = (LEAST + (1.0 - LEAST) * (-bend / BEND).exp()) * (link.length + link.hidden) / far;
    if easy.is_finite() { easy.max(1e-12) } else { 1.0 }
}

/// The net of patches that walkers go over, as rows of neighbours.
#[derive(Clone, Debug)]
pub(crate) struct Paths {
    begin: Vec<u32>,
    to: Vec<u32>,
    ease: Vec<f64>,
}

impl Paths {
    /// The net of `count` nodes and links `(a, b, ease)`; those between the same
    /// two are summed, those of a node with itself left out.
    pub(crate) fn of(count: usize, links: impl Iterator<Item = (u32, u32, f64)>) -> Self {
        let mut ways: Vec<(u32, u32, f64)> =
            links.filter(|l| l.0 != l.1).flat_map(|(a, b, ease)| [(a, b, ease), (b, a, ease)]).collect();
        ways.sort_by_key(|w| (w.0, w.1));
        let mut begin = vec![0_u32; count + 1];
        let (mut to, mut ease) = (Vec::new(), Vec::new());
        for run in ways.chunk_by(|a, b| (a.0, a.1) == (b.0, b.1)) {
            begin[run[0].0 as usize + 1] += 1;
            to.push(run[0].1);
            ease.push(run.iter().map(|w| w.2).sum());
        }
        for n in 0..count {
            begin[n + 1] += begin[n];
        }
        Self { begin, to, ease }
    }

    fn row(&self, node: usize) -> std::ops::Range<usize> {
        self.begin[node] as usize..self.begin[node + 1] as usize
    }

    /// For each patch the label, less than `labels`, of the seed most likely to
    /// be met first, the lower one in a tie. `seeds` holds the label of patches
    /// that are seeds. None where no seed can be reached.
    pub(crate) fn walk(
        &self,
        seeds: &[Option<u32>],
        labels: usize,
        watch: &Watch,
    ) -> Result<Vec<Option<u32>>, Stop> {
        let reached = self.reached(seeds);
        let chances: Vec<Vec<f64>> = watch.run(|| {
            (0..labels as u32)
                .into_par_iter()
                .with_max_len(1)
                .map(|label| self.chance(seeds, label, &reached, watch))
                .collect::<Result<_, Stop>>()
        })?;
        let best = |n: usize| {
            let mut best = (f64::NEG_INFINITY, 0);
            for (label, chance) in chances.iter().enumerate() {
                if chance[n] > best.0 {
                    best = (chance[n], label as u32);
                }
            }
            reached[n].then(|| seeds[n].unwrap_or(best.1))
        };
        Ok((0..seeds.len()).map(best).collect())
    }

    /// Which patches hang together with a seed.
    fn reached(&self, seeds: &[Option<u32>]) -> Vec<bool> {
        let mut reached: Vec<bool> = seeds.iter().map(Option::is_some).collect();
        let mut front: Vec<u32> = (0..seeds.len() as u32).filter(|n| reached[*n as usize]).collect();
        while let Some(n) = front.pop() {
            for k in self.row(n as usize) {
                let there = self.to[k];
                if !reached[there as usize] {
                    reached[there as usize] = true;
                    front.push(there);
                }
            }
        }
        reached
    }

    /// How likely a walker from each patch is to meet a seed of the label first:
    /// the harmonic field that is 1 there and 0 at other seeds, by conjugate
    /// gradients scaled by the diagonal.
    fn chance(
        &self,
        seeds: &[Option<u32>],
        label: u32,
        reached: &[bool],
        watch: &Watch,
    ) -> Result<Vec<f64>, Stop> {
        let count = seeds.len();
        let free = |n: usize| seeds[n].is_none() && reached[n];
        let mut x: Vec<f64> = seeds.iter().map(|s| f64::from(u8::from(*s == Some(label)))).collect();
        let diagonal: Vec<f64> = (0..count).map(|n| self.ease[self.row(n)].iter().sum()).collect();
        let flow = |x: &[f64], n: usize| -> f64 {
            self.row(n).map(|k| self.ease[k] * (x[n] - x[self.to[k] as usize])).sum()
        };
        let mut rest: Vec<f64> = (0..count).map(|n| if free(n) { -flow(&x, n) } else { 0.0 }).collect();
        let scaled = |rest: &[f64], n: usize| if diagonal[n] > 0.0 { rest[n] / diagonal[n] } else { 0.0 };
        let mut way: Vec<f64> = (0..count).map(|n| scaled(&rest, n)).collect();
        let mut size: f64 = (0..count).map(|n| rest[n] * way[n]).sum();
        let enough = size * ENOUGH;
        let mut pushed = vec![0.0; count];
        for round in 0..ROUNDS {
            if size.is_nan() || size <= enough || size <= 0.0 {
                break;
            }
            if round % 8 == 0 {
                watch.check()?;
            }
            for (n, p) in pushed.iter_mut().enumerate() {
                *p = if free(n) { flow(&way, n) } else { 0.0 };
            }
            let along: f64 = (0..count).map(|n| way[n] * pushed[n]).sum();
            let length = size / along;
            for n in 0..count {
                x[n] += length * way[n];
                rest[n] -= length * pushed[n];
            }
            let next: f64 = (0..count).map(|n| rest[n] * scaled(&rest, n)).sum();
            let turn = next / size;
            for (n, w) in way.iter_mut().enumerate() {
                *w = scaled(&rest, n) + turn * *w;
            }
            size = next;
        }
        Ok(x)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chances_along_a_row_fall_as_ohm_has_it() {
        // Five patches in a row with a crease between the third and the fourth:
        // chances fall in proportion to the resistances passed.
        let nodes: Vec<Node> = (0..5)
            .map(|i| Node { place: nalgebra::Vector3::new(f64::from(i), 0.0, 0.0), ..Node::default() })
            .collect();
        let link = |a: u32, bend: f64| Link { a, b: a + 1, length: 1.0, hidden: 0.0, bend, ease: 0.0 };
        let links = [link(0, 0.0), link(1, 0.0), link(2, 0.2), link(3, 0.0)];
        let paths = Paths::of(5, links.iter().map(|l| (l.a, l.b, ease(&nodes, l))));
        let seeds = [Some(0), None, None, None, Some(1)];
        let chance = paths.chance(&seeds, 0, &[true; 5], &Watch::quiet()).unwrap();
        let over = 1.0 / (LEAST + (1.0 - LEAST) * (-0.2_f64 / BEND).exp());
        let whole = 3.0 + over;
        for (i, passed) in [0.0, 1.0, 2.0, 2.0 + over, whole].iter().enumerate() {
            assert!((chance[i] - (1.0 - passed / whole)).abs() < 1e-6, "{i}: {}", chance[i]);
        }
        let labels = paths.walk(&seeds, 2, &Watch::quiet()).unwrap();
        assert_eq!(labels, [0, 0, 0, 1, 1].map(Some));
        // Without a seed nothing is reached.
        assert_eq!(paths.walk(&[None; 5], 2, &Watch::quiet()).unwrap(), [None; 5]);
    }
}

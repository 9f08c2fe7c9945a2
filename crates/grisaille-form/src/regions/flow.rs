//! The least cut of a network: E. A. Dinic, "Algorithm for solution of a
//! problem of maximum flow in networks with power estimation", Soviet
//! Mathematics Doklady 11, 1970.

use grisaille_base::{Stop, Watch};

/// A network whose edges carry as much one way as the other. Nodes 0 and 1 are
/// the source and the sink.
pub(crate) struct Network {
    /// Edge 2k runs from the first to the second, 2k + 1 back.
    edges: Vec<(u32, u32)>,
    left: Vec<u64>,
    begin: Vec<u32>,
    out: Vec<u32>,
}

/// More than any sum of lengths.
pub(crate) const ALL: u64 = 1 << 50;

impl Network {
    /// A network of `nodes` nodes and edges `(a, b, capacity)`.
    pub(crate) fn new(nodes: usize, edges: &[(u32, u32, u64)]) -> Self {
        let mut begin = vec![0_u32; nodes + 1];
        for (a, b, _) in edges {
            begin[*a as usize + 1] += 1;
            begin[*b as usize + 1] += 1;
        }
        for n in 0..nodes {
            begin[n + 1] += begin[n];
        }
        let mut filled = begin.clone();
        let mut out = vec![0; 2 * edges.len()];
        for (k, (a, b, _)) in edges.iter().enumerate() {
            for (node, edge) in [(a, 2 * k), (b, 2 * k + 1)] {
                out[filled[*node as usize] as usize] = edge as u32;
                filled[*node as usize] += 1;
            }
        }
        let left = edges.iter().flat_map(|e| [e.2, e.2]).collect();
        let edges = edges.iter().map(|e| (e.0, e.1)).collect();
        Self { edges, left, begin, out }
    }

    fn to(&self, edge: usize) -> usize {
        let (a, b) = self.edges[edge / 2];
        if edge.is_multiple_of(2) { b as usize } else { a as usize }
    }

    fn row(&self, node: usize) -> std::ops::Range<usize> {
        self.begin[node] as usize..self.begin[node + 1] as usize
    }

    /// Whether each node stands on the source's side of the least cut, of
    /// several the one nearest to the source.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub(crate) fn cut(mut self, watch: &Watch) -> Result<Vec<bool>, Stop> {
        let nodes = self.begin.len() - 1;
        let mut level = vec![u32::MAX; nodes];
        let mut queue = Vec::with_capacity(nodes);
        let mut at: Vec<u32> = Vec::with_capacity(nodes);
        let mut path: Vec<usize> = Vec::new();
        loop {
            watch.check()?;
            level.fill(u32::MAX);
            level[0] = 0;
            queue.clear();
            queue.push(0);
            let mut next = 0;
            while next < queue.len() {
                let node: usize = queue[next];
                next += 1;
                for k in self.row(node) {
                    let edge = self.out[k] as usize;
                    let there = self.to(edge);
                    if self.left[edge] > 0 && level[there] == u32::MAX {
                        level[there] = level[node] + 1;
                        queue.push(there);
                    }
                }
            }
            if level[1] == u32::MAX {
                return Ok(level.into_iter().map(|l| l != u32::MAX).collect());
            }
            at.clear();
            at.extend_from_slice(&self.begin[..nodes]);
            self.block(&level, &mut at, &mut path);
        }
    }

    /// Fills ways from source to sink along rising levels until none is left.
    fn block(&mut self, level: &[u32], at: &mut [u32], path: &mut Vec<usize>) {
        path.clear();
        let mut node = 0;
        loop {
            if node == 1 {
                let least = path.iter().map(|e| self.left[*e]).min().unwrap_or(0);
                let mut back = 0;
                for (k, &edge) in path.iter().enumerate().rev() {
                    self.left[edge] -= least;
                    self.left[edge ^ 1] += least;
                    if self.left[edge] == 0 {
                        back = k;
                    }
                }
                node = self.to(path[back] ^ 1);
                path.truncate(back);
                continue;
            }
            let end = self.begin[node + 1];
            let found = (at[node]..end).find(|k| {
                let edge = self.out[*k as usize] as usize;
                self.left[edge] > 0 && level[self.to(edge)] == level[node] + 1
            });
            if let Some(k) = found {
                at[node] = k;
                let edge = self.out[k as usize] as usize;
                path.push(edge);
                node = self.to(edge);
            } else {
                at[node] = end;
                let Some(edge) = path.pop() else { return };
                node = self.to(edge ^ 1);
                at[node] += 1;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_cut_is_the_least_of_all_cuts() {
        // All ways to part 9 nodes are tried, on networks of pseudo-random edges.
        let mut state = 12345_u64;
        let mut next = |n: u64| {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 33) % n
        };
        for _ in 0..200 {
            let nodes = 9;
            let edges: Vec<(u32, u32, u64)> = (0..18)
                .map(|_| (next(nodes) as u32, next(nodes) as u32, next(20)))
                .filter(|e| e.0 != e.1)
                .collect();
            let cost = |side: &dyn Fn(u32) -> bool| -> u64 {
                edges.iter().filter(|e| side(e.0) != side(e.1)).map(|e| e.2).sum()
            };
            let least =
                (0..1_u32 << 7).map(|mask| cost(&|n| n == 0 || n > 1 && mask >> (n - 2) & 1 == 1)).min();
            let side = Network::new(nodes as usize, &edges).cut(&Watch::quiet()).unwrap();
            assert!(side[0] && !side[1]);
            assert_eq!(Some(cost(&|n| side[n as usize])), least);
        }
    }
}

//! Bins of colour to a handful of colours: first far too many, then the nearest
//! joined; at last what is small, vivid and far from all of them.

use crate::bins::Bin;
use std::collections::BTreeMap;

/// Clusters to begin with.
const SEEDS: usize = 28;
/// Rounds of moving them.
const ROUNDS: usize = 10;
/// The fewest colours, where the picture has as many, and the most.
const COLOURS: (usize, usize) = (5, 9);
/// Colours nearer than this are joined, in hundredths of Oklab: a step that is plainly
/// seen.
const APART: f64 = 4.5;
/// Colours nearer than this are one, however few there are.
const ONE: f64 = 3.0;
/// What is so near in colour counts as beside, when crowding is judged.
const BESIDE: f64 = 3.0;
/// How much of their distance counts between two colours without a gap: shades of one
/// surface in light and shadow.
const NO_GAP: f64 = 0.2;
/// Less than this share is no colour of its own, unless it is an accent.
const SMALL: f64 = 0.012;
/// An accent has at least this share and this chroma (hundredths of Oklab).
const ACCENT: (f64, f64) = (0.002, 9.0);
/// It is so far from every other colour, lightness counted half: what is only darker
/// or lighter is a shade.
const ACCENT_APART: f64 = 9.0;
/// Where accents are looked for: round so many of the largest bins that are left.
const LOOKED_AT: usize = 64;

/// A colour of a picture: the mean of its bins in hundredths of Oklab, its share, and
/// the bins.
#[derive(Clone, Debug)]
pub(crate) struct Cluster {
    pub(crate) at: [f64; 3],
    pub(crate) share: f64,
    bins: Vec<usize>,
}

pub(crate) fn distance(one: [f64; 3], other: [f64; 3]) -> f64 {
    (0..3).map(|k| (one[k] - other[k]).powi(2)).sum::<f64>().sqrt()
}

fn chroma(at: [f64; 3]) -> f64 {
    at[1].hypot(at[2])
}

/// The colours of bins, no more than nine, the largest share first. Ties fall to the
/// first bin, so that the same picture gives the same colours.
pub(crate) fn clusters(bins: &[Bin]) -> Vec<Cluster> {
    let mut found = seeded(bins);
    join(&mut found, bins);
    add_accents(&mut found, bins);
    found.sort_by(|a, b| b.share.total_cmp(&a.share));
    found
}

/// Far too many clusters: seeds where there is much, far from those before, then
/// means of what is nearest (S. P. Lloyd, "Least squares quantization in PCM", IEEE
/// Transactions on Information Theory 28(2), 1982).
fn seeded(bins: &[Bin]) -> Vec<Cluster> {
    let mut seeds: Vec<[f64; 3]> = Vec::new();
    let mut far = vec![f64::INFINITY; bins.len()];
    while seeds.len() < SEEDS {
        // The root of the share, so that small colours are not left to the end.
        let worth = |i: &usize| {
            let near = if seeds.is_empty() { 1.0 } else { far[*i] };
            near.powi(2) * bins[*i].share.sqrt()
        };
        let Some(next) = (0..bins.len()).max_by(|a, b| worth(a).total_cmp(&worth(b)).then(b.cmp(a))) else {
            break;
        };
        if !seeds.is_empty() && far[next] < 0.5 {
            break;
        }
        seeds.push(bins[next].at);
        far.iter_mut().zip(bins).for_each(|(f, b)| *f = f.min(distance(b.at, bins[next].at)));
    }
    let mut members: Vec<Vec<usize>> = Vec::new();
    for _ in 0..ROUNDS {
        members = vec![Vec::new(); seeds.len()];
        for (i, bin) in bins.iter().enumerate() {
            let near = |k: &usize| distance(seeds[*k], bin.at);
            if let Some(k) = (0..seeds.len()).min_by(|a, b| near(a).total_cmp(&near(b))) {
                members[k].push(i);
            }
        }
        let means = members.iter().zip(&seeds).map(|(m, seed)| mean(m, bins).map_or(*seed, |c| c.at));
        seeds = means.collect();
    }
    members.iter().filter_map(|m| mean(m, bins)).collect()
}

/// The cluster of some bins; `None` of none.
fn mean(members: &[usize], bins: &[Bin]) -> Option<Cluster> {
    let share: f64 = members.iter().map(|i| bins[*i].share).sum();
    let at =
        std::array::from_fn(|k| members.iter().map(|i| bins[*i].at[k] * bins[*i].share).sum::<f64>() / share);
    (share > 0.0).then(|| Cluster { at, share, bins: members.to_vec() })
}

/// Whether two colours are as far apart as an accent is from all others.
fn stands_out(one: [f64; 3], other: [f64; 3]) -> bool {
    let [l, a, b] = std::array::from_fn(|k| one[k] - other[k]);
    (0.5 * l).hypot(a).hypot(b) > ACCENT_APART
}

/// Bins by where they are, to ask how much of the picture has nearly a colour.
struct Crowds<'b> {
    bins: &'b [Bin],
    cells: BTreeMap<[i32; 3], Vec<usize>>,
}

impl<'b> Crowds<'b> {
    fn of(bins: &'b [Bin]) -> Self {
        let mut cells: BTreeMap<[i32; 3], Vec<usize>> = BTreeMap::new();
        for (i, bin) in bins.iter().enumerate() {
            cells.entry(cell(bin.at)).or_default().push(i);
        }
        Self { bins, cells }
    }

    /// The share of the picture that has nearly this colour.
    fn at(&self, at: [f64; 3]) -> f64 {
        let [l, a, b] = cell(at);
        let mut sum = 0.0;
        for dl in -1..=1 {
            for da in -1..=1 {
                // Cells that differ in the last alone stand in a row.
                for (_, members) in self.cells.range([l + dl, a + da, b - 1]..=[l + dl, a + da, b + 1]) {
                    for bin in members.iter().map(|i| &self.bins[*i]) {
                        sum += bin.share * (1.0 - distance(bin.at, at) / BESIDE).max(0.0).powi(2);
                    }
                }
            }
        }
        sum
    }

    /// The least that is met on the way from one colour to another.
    fn least_between(&self, one: [f64; 3], other: [f64; 3]) -> f64 {
        let on_the_way = [0.2, 0.35, 0.5, 0.65, 0.8];
        let at = |t: f64| self.at(std::array::from_fn(|k| one[k] + t * (other[k] - one[k])));
        on_the_way.into_iter().map(at).fold(f64::INFINITY, f64::min)
    }
}

fn cell(at: [f64; 3]) -> [i32; 3] {
    at.map(|x| (x / BESIDE).floor() as i32)
}

/// Joins what is nearest until few and plainly different colours are left.
fn join(found: &mut Vec<Cluster>, bins: &[Bin]) {
    let crowded = Crowds::of(bins);
    let mut crowds: Vec<f64> = found.iter().map(|c| crowded.at(c.at)).collect();
    // What counts as the distance of two: less where the colours between them are as
    // common as they are, for then they are shades of one surface.
    let apart = |a: &Cluster, b: &Cluster, least: f64| {
        let gap = 1.0 - (crowded.least_between(a.at, b.at) / least.max(1e-12)).min(1.0);
        distance(a.at, b.at) * (NO_GAP + (1.0 - NO_GAP) * gap)
    };
    let mut table: Vec<Vec<f64>> = (0..found.len())
        .map(|i| (0..i).map(|j| apart(&found[i], &found[j], crowds[i].min(crowds[j]))).collect())
        .collect();
    loop {
        let pairs = (0..found.len()).flat_map(|i| (0..i).map(move |j| (i, j)));
        // Too many: what is lost by joining counts, share and all (J. H. Ward, "Hierarchical
        // grouping to optimize an objective function", JASA 58, 1963). Else plain distance.
        let many = found.len() > COLOURS.1;
        let cost = |(i, j): (usize, usize)| {
            let (a, b): (&Cluster, &Cluster) = (&found[i], &found[j]);
            let weight = if many { a.share * b.share / (a.share + b.share) } else { 1.0 };
            let small = !is_accent(a, found) && a.share < SMALL || !is_accent(b, found) && b.share < SMALL;
            table[i][j].powi(2) * if small && !many { 1e-6 } else { weight }
        };
        let Some(best) = pairs.min_by(|a, b| cost(*a).total_cmp(&cost(*b))) else { break };
        let (i, j) = best;
        let near = table[i][j] < APART && found.len() > COLOURS.0 || distance(found[i].at, found[j].at) < ONE;
        let small = cost(best) < 1e-5 * table[i][j].powi(2);
        if !(many || near || small) {
            break;
        }
        let gone = found.swap_remove(i);
        crowds.swap_remove(i);
        let members: Vec<usize> = found[j].bins.iter().chain(&gone.bins).copied().collect();
        if let Some(joined) = mean(&members, bins) {
            found[j] = joined;
        }
        crowds[j] = crowded.at(found[j].at);
        // The last row has moved to the place of the one that is gone.
        let rows = found.len();
        table.truncate(rows);
        for k in 0..rows {
            for m in (0..k).filter(|m| [k, *m].iter().any(|x| *x == i || *x == j)) {
                table[k][m] = apart(&found[k], &found[m], crowds[k].min(crowds[m]));
            }
        }
    }
}

/// Whether a small cluster is an accent: vivid, and far from every other.
fn is_accent(c: &Cluster, all: &[Cluster]) -> bool {
    let (share, vivid) = ACCENT;
    let alone = all.iter().filter(|o| o.share > c.share).all(|o| stands_out(o.at, c.at));
    c.share >= share && chroma(c.at) >= vivid && alone
}

/// The residual pass: what is vivid and far from every colour found so far becomes a
/// colour of its own, and gives up its place in the one that had it.
fn add_accents(found: &mut Vec<Cluster>, bins: &[Bin]) {
    let (least, vivid) = ACCENT;
    while found.len() < COLOURS.1 {
        let mut left: Vec<usize> = (0..bins.len())
            .filter(|i| chroma(bins[*i].at) >= vivid && found.iter().all(|c| stands_out(c.at, bins[*i].at)))
            .collect();
        left.sort_by(|a, b| bins[*b].share.total_cmp(&bins[*a].share));
        let near = |i: usize| -> Vec<usize> {
            left.iter().copied().filter(|k| distance(bins[*k].at, bins[i].at) < ACCENT_APART).collect()
        };
        let share = |members: &[usize]| members.iter().map(|k| bins[*k].share).sum::<f64>();
        let best = left.iter().take(LOOKED_AT).map(|i| near(*i)).max_by(|a, b| share(a).total_cmp(&share(b)));
        let Some(accent) = best.filter(|m| share(m) >= least).and_then(|m| mean(&m, bins)) else { break };
        for c in found.iter_mut() {
            let rest: Vec<usize> = c.bins.iter().copied().filter(|i| !accent.bins.contains(i)).collect();
            if rest.len() < c.bins.len() {
                *c = mean(&rest, bins).unwrap_or(Cluster { at: c.at, share: 0.0, bins: Vec::new() });
            }
        }
        found.retain(|c| c.share > 0.0);
        found.push(accent);
    }
}

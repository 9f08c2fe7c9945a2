//! Boxes of a size round as many points as they hold.

/// Of so many islands the fullest ones are tried as corners of a box.
const CORNERS: usize = 24;

/// The box round points.
pub(crate) fn rim(points: impl Iterator<Item = [f64; 2]>) -> ([f64; 2], [f64; 2]) {
    points.fold(([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]), |(low, high), at| {
        ([0, 1].map(|k| at[k].min(low[k])), [0, 1].map(|k| at[k].max(high[k])))
    })
}

/// The corner of the box of a size (pixels) that holds the most points, and how many; of several the first from above
/// and from the left.
pub(crate) fn fullest(points: &[[f64; 2]], size: [f64; 2], across: [u32; 2]) -> Option<([f64; 2], usize)> {
    let (low, high) = rim(points.iter().copied());
    if points.is_empty() {
        return None;
    }
    if (0..2).all(|k| high[k] - low[k] <= size[k]) {
        // All of them, in the middle.
        return Some(([0, 1].map(|k| f64::midpoint(low[k], high[k]) - 0.5 * size[k]), points.len()));
    }
    // Sums of all above and to the left of each pixel.
    let [columns, rows] = across.map(|n| n as usize + 1);
    let mut sums = vec![0_u32; (columns + 1) * (rows + 1)];
    for at in points {
        let [x, y] = [0, 1].map(|k| at[k].max(0.0) as usize);
        sums[(y.min(rows - 1) + 1) * (columns + 1) + x.min(columns - 1) + 1] += 1;
    }
    for y in 1..=rows {
        for x in 1..=columns {
            let at = y * (columns + 1) + x;
            sums[at] = sums[at] + sums[at - 1] + sums[at - columns - 1] - sums[at - columns - 2];
        }
    }
    let [wide, high] = size.map(|px| (px.floor() as usize).max(1));
    let (wide, high) = (wide.min(columns), high.min(rows));
    let mut best = ([0.0; 2], 0);
    for y in 0..=rows - high {
        for x in 0..=columns - wide {
            let (a, b) = (y * (columns + 1) + x, (y + high) * (columns + 1) + x);
            let count = (sums[b + wide] + sums[a] - sums[b] - sums[a + wide]) as usize;
            if count > best.1 {
                best = ([x as f64, y as f64], count);
            }
        }
    }
    Some(best)
}

/// The corner of the box of a size that holds the most points of whole islands, and how many; of several the first from
/// above and from the left. `points` are places, each with its island and whether it counts.
pub(crate) fn fullest_of_islands(
    points: impl Iterator<Item = ([f64; 2], usize, bool)>,
    size: [f64; 2],
) -> Option<([f64; 2], usize)> {
    let mut islands = gathered(points);
    islands.retain(|i| i.count > 0 && i.fits(size));
    // Islands of one size stay in the order in which they are seen.
    islands.sort_by_key(|i| std::cmp::Reverse(i.count));
    let mut best: Option<([f64; 2], usize)> = None;
    // A fullest box can be moved until its left and upper side each touch an island.
    let corners = &islands[..islands.len().min(CORNERS)];
    for y in corners.iter().map(|i| i.low[1]) {
        for x in corners.iter().map(|i| i.low[0]) {
            let corner = [x, y];
            let inside =
                |i: &&Island| (0..2).all(|k| i.low[k] >= corner[k] && i.high[k] <= corner[k] + size[k]);
            let held = || islands.iter().filter(inside);
            let count = held().map(|i| i.count).sum();
            if best.is_none_or(|(_, most)| count > most) {
                let (low, high) = rim(held().flat_map(|i| [i.low, i.high]));
                best = Some(([0, 1].map(|k| f64::midpoint(low[k], high[k]) - 0.5 * size[k]), count));
            }
        }
    }
    best
}

/// How many of the points lie on islands that a box of a size holds whole.
pub(crate) fn on_islands_within(points: impl Iterator<Item = ([f64; 2], usize)>, size: [f64; 2]) -> usize {
    let islands = gathered(points.map(|(at, island)| (at, island, true)));
    islands.iter().filter(|i| i.fits(size)).map(|i| i.count).sum()
}

fn gathered(points: impl Iterator<Item = ([f64; 2], usize, bool)>) -> Vec<Island> {
    let mut islands: Vec<Island> = Vec::new();
    for (at, island, counts) in points {
        if islands.len() <= island {
            islands.resize_with(island + 1, Island::default);
        }
        islands[island].add(at, counts);
    }
    islands
}

/// What is seen in one piece: the box round it, and how many points of it count.
struct Island {
    low: [f64; 2],
    high: [f64; 2],
    count: usize,
}

impl Default for Island {
    fn default() -> Self {
        Self { low: [f64::INFINITY; 2], high: [f64::NEG_INFINITY; 2], count: 0 }
    }
}

impl Island {
    fn add(&mut self, at: [f64; 2], counts: bool) {
        self.low = [0, 1].map(|k| self.low[k].min(at[k]));
        self.high = [0, 1].map(|k| self.high[k].max(at[k]));
        self.count += usize::from(counts);
    }

    fn fits(&self, size: [f64; 2]) -> bool {
        (0..2).all(|k| self.high[k] - self.low[k] <= size[k])
    }
}

/// The islands of a raster `columns` wide: for each pixel that is set the number of its piece, joined along sides and
/// corners and counted from 0 in reading order; `usize::MAX` for the others.
pub(crate) fn islands(set: &[bool], columns: usize) -> (Vec<usize>, usize) {
    const NONE: usize = usize::MAX;
    let mut island = vec![NONE; set.len()];
    let mut count = 0;
    let mut open: Vec<usize> = Vec::new();
    for start in 0..set.len() {
        if !set[start] || island[start] != NONE {
            continue;
        }
        island[start] = count;
        open.push(start);
        while let Some(at) = open.pop() {
            let (x, y) = (at % columns, at / columns);
            for row in y.saturating_sub(1)..=y + 1 {
                for column in x.saturating_sub(1)..=(x + 1).min(columns - 1) {
                    let next = row * columns + column;
                    if set.get(next) == Some(&true) && island[next] == NONE {
                        island[next] = count;
                        open.push(next);
                    }
                }
            }
        }
        count += 1;
    }
    (island, count)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_fullest_box_is_found() {
        let mut points: Vec<[f64; 2]> = (0..10).map(|i| [f64::from(i) + 0.5, 3.5]).collect();
        points.extend((0..30).map(|i| [60.5 + f64::from(i % 6), 40.5 + f64::from(i / 6)]));
        let (low, count) = fullest(&points, [8.0, 8.0], [100, 80]).unwrap();
        assert_eq!(count, 30);
        assert!((53.0..=60.0).contains(&low[0]) && (33.0..=40.0).contains(&low[1]), "{low:?}");
        // What fits as a whole stands in the middle.
        assert_eq!(fullest(&points[..10], [20.0, 10.0], [100, 80]), Some(([-5.0, -1.5], 10)));
        assert_eq!(fullest(&[], [8.0, 8.0], [100, 80]), None);
        // By brute force.
        let spread: Vec<[f64; 2]> =
            (0..200_u32).map(|i| [f64::from(i * 37 % 50) + 0.5, f64::from(i * 53 % 40) + 0.5]).collect();
        let (_, count) = fullest(&spread, [9.0, 7.0], [50, 40]).unwrap();
        let within = |x: u32, y: u32| {
            let inside = |p: &&[f64; 2]| {
                (f64::from(x)..f64::from(x + 9)).contains(&p[0])
                    && (f64::from(y)..f64::from(y + 7)).contains(&p[1])
            };
            spread.iter().filter(inside).count()
        };
        let most = (0..44).flat_map(|x| (0..36).map(move |y| (x, y))).map(|(x, y)| within(x, y)).max();
        assert_eq!(Some(count), most);
    }

    #[test]
    fn islands_are_joined_along_sides_and_corners() {
        let drawn = ["#..#.", ".#..#", "...##", "#...."];
        let set: Vec<bool> = drawn.iter().flat_map(|row| row.chars().map(|c| c == '#')).collect();
        let (island, count) = islands(&set, 5);
        const NO: usize = usize::MAX;
        let wanted = [0, NO, NO, 1, NO, NO, 0, NO, NO, 1, NO, NO, NO, 1, 1, 2, NO, NO, NO, NO];
        assert_eq!((island.as_slice(), count), (&wanted[..], 3));
        assert_eq!(islands(&[], 0), (Vec::new(), 0));
    }

    #[test]
    fn a_box_of_islands_holds_none_in_part() {
        // Island 0 is too wide for the box; 1 and 2 fit it together, 3 is larger than either.
        let spread =
            |island: usize, x: f64, n: u32| (0..n).map(move |i| ([x + f64::from(i), 5.0], island, true));
        let all = || {
            spread(0, 0.0, 30).chain(spread(1, 40.0, 4)).chain(spread(2, 46.0, 4)).chain(spread(3, 70.0, 7))
        };
        let (low, count) = fullest_of_islands(all(), [10.0, 4.0]).unwrap();
        assert_eq!((low, count), ([39.5, 3.0], 8));
        // What has been seen already counts no more, but is not cut either.
        let seen = |(at, island, _)| (at, island, island != 1);
        assert_eq!(fullest_of_islands(all().map(seen), [10.0, 4.0]), Some(([68.0, 3.0], 7)));
        assert_eq!(fullest_of_islands(all(), [2.0, 2.0]), None);
        let within = |size| on_islands_within(all().map(|(at, island, _)| (at, island)), size);
        assert_eq!([[40.0, 1.0], [10.0, 1.0], [3.0, 0.0], [2.0, 1.0]].map(within), [45, 15, 8, 0]);
        assert_eq!(fullest_of_islands(std::iter::empty(), [2.0, 2.0]), None);
    }
}

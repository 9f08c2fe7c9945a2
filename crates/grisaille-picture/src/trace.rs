//! Borders of areas as lines: what is seen of each band, zone or region, as outlines that neighbours share.

use crate::Areas;
use crate::drawing::simplified;
use grisaille_base::{Stop, Watch};
use std::collections::BTreeMap;

/// How far in sub-samples a border may leave the steps of the cells that it follows: a little more than a step.
const TOLERANCE: f64 = 1.0;
/// And no more than this share of its length, so that what is as small as a cell does not vanish.
const OF_LENGTH: f64 = 0.05;

/// A border between two labels, as far as it parts no others.
#[derive(Clone, Debug, PartialEq)]
pub struct Border {
    /// The labels to its left and to its right, on the picture, on the way from its first point to its last.
    pub sides: [u16; 2],
    /// Pixels across and down.
    pub points: Vec<[f64; 2]>,
    /// Whether its last point is joined to its first.
    pub closed: bool,
    /// The lattice points where it begins and ends, if it is not closed.
    ends: Option<[usize; 2]>,
}

/// The areas of a picture as lines.
#[derive(Clone, Debug, PartialEq)]
pub struct Traced {
    /// All borders, those toward paper ([`Areas::NONE`]) included.
    pub borders: Vec<Border>,
}

impl Traced {
    /// The same with fewer points: borders leave their line by no more than this, in pixels, and still meet.
    pub(crate) fn loosened(&self, tolerance: f64) -> Self {
        let loose = |b: &Border| Border { points: simplified(&b.points, b.closed, tolerance), ..b.clone() };
        Self { borders: self.borders.iter().map(loose).collect() }
    }
}

impl Areas {
    /// Traces the borders of all areas. Each is followed along the sides of sub-samples, through their middles, and
    /// simplified once, so that neighbours fit without a gap.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub fn traced(&self, watch: &Watch) -> Result<Traced, Stop> {
        let n = self.supersample();
        let lattice = Lattice { labels: self.labels(), columns: self.width() * n, rows: self.height() * n };
        let scale = 1.0 / n as f64;
        let mut used = vec![0_u8; (lattice.columns + 1) * (lattice.rows + 1)];
        let mut borders = Vec::new();
        // Few corners have a border: they are looked for once, row by row.
        let corners = watch.map(lattice.rows + 1, |row| lattice.corners(row))?;
        // First from where three or more labels meet, then what goes round by itself.
        for nodes in [true, false] {
            for (i, at) in corners.iter().flatten().copied().enumerate() {
                if i % (1 << 12) == 0 {
                    watch.check()?;
                }
                let ways = lattice.ways(at);
                if nodes && ways.count_ones() < 3 {
                    continue;
                }
                for way in 0..4 {
                    if ways & !used[at] & 1 << way != 0 {
                        borders.push(lattice.follow(at, way, &mut used, scale));
                    }
                }
            }
        }
        Ok(Traced { borders })
    }
}

impl Traced {
    /// The outlines of a label's areas, holes the other way round: to be filled by either rule.
    #[must_use]
    pub fn rings(&self, label: u16) -> Vec<Vec<[f64; 2]>> {
        let mut rings = Vec::new();
        // From each lattice point the borders that begin there with the label on their left.
        let mut from: BTreeMap<usize, Vec<(usize, bool)>> = BTreeMap::new();
        for (i, border) in self.borders.iter().enumerate() {
            for (side, back) in [(0, false), (1, true)] {
                if border.sides[side] != label {
                    continue;
                }
                match border.ends {
                    Some(ends) => from.entry(ends[usize::from(back)]).or_default().push((i, back)),
                    None => rings.push(directed(border, back)),
                }
            }
        }
        while let Some((&start, _)) = from.first_key_value() {
            let (mut ring, mut at) = (Vec::new(), start);
            while let Some((i, back)) = from.get_mut(&at).and_then(Vec::pop) {
                if from.get(&at).is_some_and(Vec::is_empty) {
                    from.remove(&at);
                }
                let border = &self.borders[i];
                // The last point is the first of the next.
                let points = directed(border, back);
                ring.extend_from_slice(&points[..points.len() - 1]);
                at = border.ends.map_or(at, |ends| ends[usize::from(!back)]);
                if at == start {
                    break;
                }
            }
            from.retain(|_, all| !all.is_empty());
            rings.push(ring);
        }
        rings
    }

    /// The labels that there are, in order, paper left out.
    #[must_use]
    pub fn labels(&self) -> Vec<u16> {
        let mut labels: Vec<u16> = self.borders.iter().flat_map(|b| b.sides).collect();
        labels.sort_unstable();
        labels.dedup();
        labels.retain(|l| *l != Areas::NONE);
        labels
    }
}

fn directed(border: &Border, back: bool) -> Vec<[f64; 2]> {
    let mut points = border.points.clone();
    if back {
        points.reverse();
    }
    points
}

/// The lattice of corners between cells; ways from a corner are 0 right, 1 down, 2 left, 3 up.
struct Lattice<'a> {
    labels: &'a [u16],
    columns: usize,
    rows: usize,
}

impl Lattice<'_> {
    /// The label of the cell with a corner at its upper left; outside of the picture there is paper.
    fn label(&self, x: i64, y: i64) -> u16 {
        let inside = x >= 0 && y >= 0 && (x as usize) < self.columns && (y as usize) < self.rows;
        if inside { self.labels[y as usize * self.columns + x as usize] } else { Areas::NONE }
    }

    /// The corners of a row at which labels meet, from left to right.
    fn corners(&self, row: usize) -> Vec<usize> {
        let cells = |row: Option<usize>| {
            let begin = row.filter(|row| *row < self.rows)? * self.columns;
            self.labels.get(begin..begin + self.columns)
        };
        let (above, below) = (cells(row.checked_sub(1)), cells(Some(row)));
        let label = |cells: Option<&[u16]>, x: usize| {
            cells.and_then(|cells| cells.get(x)).copied().unwrap_or(Areas::NONE)
        };
        let meet = |x: &usize| {
            let left = x.wrapping_sub(1);
            let own = label(above, *x);
            own != label(below, *x) || own != label(above, left) || own != label(below, left)
        };
        (0..=self.columns).filter(meet).map(|x| row * (self.columns + 1) + x).collect()
    }

    fn place(&self, at: usize) -> (i64, i64) {
        ((at % (self.columns + 1)) as i64, (at / (self.columns + 1)) as i64)
    }

    /// The labels to the left and right of a way from a corner.
    fn sides(&self, at: usize, way: usize) -> [u16; 2] {
        let (x, y) = self.place(at);
        let (upper_left, upper_right) = (self.label(x - 1, y - 1), self.label(x, y - 1));
        let (lower_left, lower_right) = (self.label(x - 1, y), self.label(x, y));
        match way {
            0 => [upper_right, lower_right],
            1 => [lower_right, lower_left],
            2 => [lower_left, upper_left],
            _ => [upper_left, upper_right],
        }
    }

    /// The ways from a corner that are borders, one bit each.
    fn ways(&self, at: usize) -> u8 {
        (0..4).map(|way| u8::from(self.is_border(at, way)) << way).sum()
    }

    fn is_border(&self, at: usize, way: usize) -> bool {
        let [left, right] = self.sides(at, way);
        left != right
    }

    fn step(&self, at: usize, way: usize) -> usize {
        match way {
            0 => at + 1,
            1 => at + self.columns + 1,
            2 => at - 1,
            _ => at - self.columns - 1,
        }
    }

    /// Follows a border from a corner until three or more labels meet, or it comes back.
    fn follow(&self, start: usize, first: usize, used: &mut [u8], scale: f64) -> Border {
        let sides = self.sides(start, first);
        let is_node = |at: usize| self.ways(at).count_ones() > 2;
        let mut middles = Vec::new();
        let (mut at, mut way) = (start, first);
        loop {
            let next = self.step(at, way);
            used[at] |= 1 << way;
            used[next] |= 1 << ((way + 2) % 4);
            let ((x, y), (u, v)) = (self.place(at), self.place(next));
            middles.push([(x + u) as f64 * 0.5 * scale, (y + v) as f64 * 0.5 * scale]);
            at = next;
            if at == start || is_node(at) {
                break;
            }
            // A corner that is no node has one way on.
            let on = self.ways(at) & !(1 << ((way + 2) % 4));
            way = on.trailing_zeros() as usize;
        }
        let closed = at == start && !is_node(start);
        let tolerance = TOLERANCE.min(OF_LENGTH * middles.len() as f64) * scale;
        if closed {
            return Border { sides, points: simplified(&middles, true, tolerance), closed, ends: None };
        }
        let corner = |at: usize| {
            let (x, y) = self.place(at);
            [x as f64 * scale, y as f64 * scale]
        };
        let points: Vec<[f64; 2]> =
            std::iter::once(corner(start)).chain(middles).chain(std::iter::once(corner(at))).collect();
        let points = simplified(&points, false, tolerance);
        Border { sides, points, closed, ends: Some([start, at]) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn traced(art: &[&str]) -> (Traced, Areas) {
        let label = |c: char| c.to_digit(10).map_or(Areas::NONE, |d| d as u16);
        let labels = art.iter().flat_map(|row| row.chars().map(label)).collect();
        let areas = Areas::of_labels(art[0].len(), art.len(), labels);
        (areas.traced(&Watch::quiet()).unwrap(), areas)
    }

    /// The signed area of rings, by the trapezoidal rule.
    fn area(rings: &[Vec<[f64; 2]>]) -> f64 {
        let ring = |r: &Vec<[f64; 2]>| -> f64 {
            let pairs = r.iter().zip(r.iter().cycle().skip(1));
            pairs.map(|(a, b)| 0.5 * (a[0] * b[1] - b[0] * a[1])).sum()
        };
        rings.iter().map(ring).sum()
    }

    #[test]
    fn what_is_traced_covers_the_picture_without_gaps() {
        let (traced, _) = traced(&[
            "..........",
            ".11112222.",
            ".11112222.",
            ".11332222.",
            ".11332252.",
            ".11112222.",
            ".........4",
        ]);
        assert_eq!(traced.labels(), [1, 2, 3, 4, 5]);
        let of = |label| area(&traced.rings(label));
        // What one label loses at a border its neighbour wins, so all together is the outline of the whole.
        let whole: f64 = [1, 2, 3, 4, 5].map(of).iter().sum();
        let paper = area(&traced.rings(Areas::NONE));
        assert!((whole + paper).abs() < 1e-9, "{whole} {paper}");
        // Corners are cut, by half a cell at the most each.
        for (label, cells) in [(1, 16.0), (2, 19.0), (3, 4.0), (5, 1.0)] {
            assert!((of(label).abs() - cells).abs() <= 2.0, "{label}: {}", of(label));
            assert_eq!(of(label) < 0.0, of(1) < 0.0);
        }
    }

    #[test]
    fn a_disc_is_round_and_has_its_area() {
        let rows: Vec<String> = (0..80)
            .map(|y| {
                let inside = |x: i32| (f64::from(x) - 39.5).hypot(f64::from(y) - 39.5) < 30.0;
                (0..80).map(|x| if inside(x) { '1' } else { '.' }).collect()
            })
            .collect();
        let rows: Vec<&str> = rows.iter().map(String::as_str).collect();
        let (traced, _) = traced(&rows);
        let rings = traced.rings(1);
        assert_eq!(rings.len(), 1);
        let wanted = std::f64::consts::PI * 900.0;
        assert!((area(&rings).abs() / wanted - 1.0).abs() < 0.01, "{}", area(&rings));
        let off = rings[0].iter().map(|p| ((p[0] - 40.0).hypot(p[1] - 40.0) - 30.0).abs());
        assert!(off.fold(0.0, f64::max) < 1.0 && rings[0].len() < 70, "{}", rings[0].len());
    }

    #[test]
    fn nothing_and_one_cell_are_traced_too() {
        assert!(traced(&["..", ".."]).0.borders.is_empty());
        let (one, _) = traced(&["1"]);
        assert_eq!((one.borders.len(), one.rings(1).len()), (1, 1));
        // Two cells that touch at a corner.
        let (two, _) = traced(&["1.", ".1"]);
        assert!(area(&two.rings(1)).abs() > 0.9, "{:?}", two.rings(1));
    }
}

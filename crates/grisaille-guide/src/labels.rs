//! Boundary labelling: names stand in columns on both sides of a picture, each joined to its spot by a straight leader.
//!
//! Columns are cut into places of one height. Of all ways to give each spot a place of its own, that with the least
//! total length of leaders is taken. In it no two leaders cross: swapping the places of two that do would shorten both
//! together (triangle inequality). Model and argument: M. A. Bekos, M. Kaufmann, A. Symvonis, A. Wolff, "Boundary
//! labeling: Models and efficient algorithms for rectangular maps", Computational Geometry 36 (2007), type-s leaders on
//! two sides; the assignment by H. W. Kuhn and J. Munkres (1955, 1957).

use pathfinding::kuhn_munkres::kuhn_munkres_min;
use pathfinding::matrix::Matrix;

/// Leaders end so far beside the picture, mm.
const BESIDE: f64 = 2.0;
/// Lengths are weighed in thousandths of a millimetre.
const FINE: f64 = 1000.0;

/// For each spot on a picture of `size` where its leader ends: beside the picture, in the middle of its name's height.
/// All in mm from the upper left corner. Each name is `height` high; what finds no place, the last spots, has none.
pub(crate) fn boundary(spots: &[[f64; 2]], size: [f64; 2], height: f64) -> Vec<Option<[f64; 2]>> {
    let fit = |h: f64| (h / height).floor().max(0.0) as usize;
    let in_column = fit(size[1].min(1e4));
    let step = size[1] / in_column.max(1) as f64;
    let places: Vec<[f64; 2]> = [-BESIDE, size[0] + BESIDE]
        .into_iter()
        .flat_map(|x| (0..in_column).map(move |k| [x, (k as f64 + 0.5) * step]))
        .collect();
    let named = &spots[..spots.len().min(places.len())];
    if named.is_empty() {
        return vec![None; spots.len()];
    }
    let length = |[row, column]: [usize; 2]| {
        let (a, b) = (named[row], places[column]);
        let far = (a[0] - b[0]).hypot(a[1] - b[1]);
        if far.is_finite() { (far.min(1e9) * FINE) as i64 } else { (1e9 * FINE) as i64 }
    };
    let lengths = Matrix::from_fn(named.len(), places.len(), |(row, column)| length([row, column]));
    let (_, taken) = kuhn_munkres_min(&lengths);
    let ends = taken.into_iter().map(|place| places.get(place).copied());
    ends.chain(std::iter::repeat(None)).take(spots.len()).collect()
}

#[cfg(test)]
pub(crate) fn cross(a: [[f64; 2]; 2], b: [[f64; 2]; 2]) -> bool {
    let turn =
        |p: [f64; 2], q: [f64; 2], r: [f64; 2]| (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]);
    let parts = |l: [[f64; 2]; 2], m: [[f64; 2]; 2]| turn(l[0], l[1], m[0]) * turn(l[0], l[1], m[1]) < 0.0;
    parts(a, b) && parts(b, a)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn each_spot_is_named_from_its_side() {
        let ends = boundary(&[[10.0, 5.0], [90.0, 35.0], [12.0, 30.0]], [100.0, 40.0], 5.0);
        assert_eq!(
            ends,
            [Some([-2.0, 2.5]), Some([102.0, 32.5]), Some([-2.0, 27.5])].map(|e| {
                // The nearest of two equally near places may be the one or the other.
                e
            })
        );
    }

    #[test]
    fn what_finds_no_place_has_none_and_the_first_come_first() {
        let ends = boundary(&[[5.0, 5.0]; 9], [10.0, 10.0], 5.0);
        assert_eq!(ends.iter().filter(|e| e.is_some()).count(), 4);
        assert!(ends[..4].iter().all(Option::is_some));
        assert_eq!(boundary(&[[1.0, 1.0]], [10.0, 2.0], 5.0), [None]);
        assert_eq!(boundary(&[], [10.0, 20.0], 5.0), []);
    }

    proptest! {
        #[test]
        fn no_two_leaders_cross_and_no_two_names_share_a_place(
            spots in prop::collection::vec((0.0..80.0_f64, 0.0..120.0_f64), 1..45)
        ) {
            let spots: Vec<[f64; 2]> = spots.into_iter().map(|(x, y)| [x, y]).collect();
            let ends: Vec<[f64; 2]> = boundary(&spots, [80.0, 120.0], 5.0).into_iter().flatten().collect();
            prop_assert_eq!(ends.len(), spots.len());
            for i in 0..spots.len() {
                for j in 0..i {
                    prop_assert!(!cross([spots[i], ends[i]], [spots[j], ends[j]]), "{} {}", i, j);
                    let apart = (ends[i][1] - ends[j][1]).abs();
                    prop_assert!(ends[i][0] != ends[j][0] || apart >= 5.0 - 1e-9);
                }
            }
        }
    }
}

//! Swatches: colours for regions that stay apart for eyes that confuse red and
//! green, or blue and yellow, and in grey.

/// The swatches, 8-bit sRGB: any two lie at least 20 apart in CIE L*a*b* for
/// every kind of eye. A region's number stands beside its swatch all the same.
pub const SWATCHES: [[u8; 3]; 12] = [
    [41, 84, 105],
    [245, 180, 51],
    [132, 68, 30],
    [149, 231, 245],
    [235, 126, 83],
    [30, 39, 33],
    [210, 245, 164],
    [132, 117, 209],
    [139, 111, 99],
    [202, 184, 166],
    [93, 154, 173],
    [89, 30, 131],
];

/// A swatch for each of some regions, so that no two neighbours have the same
/// where that can be helped: the first of the list, beginning with the region's
/// own number, that no neighbour has. A region keeps the swatch that it wore
/// before, if it wore one, unless a larger neighbour wears the same: what a
/// painter has in mind is not to change colour for a step done elsewhere.
#[must_use]
pub fn swatches(neighbours: &[Vec<usize>], before: &[Option<[u8; 3]>]) -> Vec<[u8; 3]> {
    let mut chosen: Vec<[u8; 3]> = Vec::with_capacity(neighbours.len());
    for (i, beside) in neighbours.iter().enumerate() {
        let worn = |n: usize| if n < i { Some(chosen[n]) } else { before.get(n).copied().flatten() };
        let taken = |s: [u8; 3], most: usize| beside.iter().any(|n| *n < most && worn(*n) == Some(s));
        let kept = worn(i).filter(|s| !taken(*s, i));
        let first = i % SWATCHES.len();
        let rows = || (0..SWATCHES.len()).map(|k| SWATCHES[(first + k) % SWATCHES.len()]);
        let free = || rows().find(|s| !taken(*s, usize::MAX)).or_else(|| rows().find(|s| !taken(*s, i)));
        chosen.push(kept.or_else(free).unwrap_or(SWATCHES[first]));
    }
    chosen
}

#[cfg(test)]
mod tests {
    use super::*;

    /// CIE L*a*b* (D65) of linear RGB: IEC 61966-2-1 and CIE 15.
    fn lab(rgb: [f64; 3]) -> [f64; 3] {
        let m = [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]];
        let white = [0.9505, 1.0, 1.089];
        let f = [0, 1, 2].map(|i| {
            let t = (0..3).map(|k| m[i][k] * rgb[k].clamp(0.0, 1.0)).sum::<f64>() / white[i];
            if t > 0.008856 { t.cbrt() } else { 7.787 * t + 16.0 / 116.0 }
        });
        [116.0 * f[1] - 16.0, 500.0 * (f[0] - f[1]), 200.0 * (f[1] - f[2])]
    }

    fn linear(rgb: [u8; 3]) -> [f64; 3] {
        rgb.map(|c| {
            let c = f64::from(c) / 255.0;
            if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
        })
    }

    #[test]
    fn swatches_stay_apart_for_every_kind_of_eye() {
        // G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, "A physiologically-based
        // model for simulation of color vision deficiency", IEEE TVCG 15(6), 2009:
        // the matrices of full severity, from memory; the first is the usual eye.
        let eyes = [
            [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]],
            [
                [0.152286, 1.052583, -0.204868],
                [0.114503, 0.786281, 0.099216],
                [-0.003882, -0.048116, 1.051998],
            ],
            [
                [0.367322, 0.860646, -0.227968],
                [0.280085, 0.672501, 0.047413],
                [-0.011820, 0.042940, 0.968881],
            ],
            [
                [1.255528, -0.076749, -0.178779],
                [-0.078411, 0.930809, 0.147602],
                [0.004733, 0.691367, 0.303900],
            ],
        ];
        for eye in eyes {
            let seen = SWATCHES.map(|s| {
                let rgb = linear(s);
                lab(eye.map(|row| (0..3).map(|k| row[k] * rgb[k]).sum()))
            });
            for i in 0..SWATCHES.len() {
                for k in 0..i {
                    let apart: f64 = (0..3).map(|c| (seen[i][c] - seen[k][c]).powi(2)).sum::<f64>().sqrt();
                    assert!(apart > 20.0, "{i} {k}: {apart}");
                }
            }
        }
    }

    #[test]
    fn neighbours_get_different_swatches_where_that_can_be() {
        // Region 12 would begin with the swatch of its neighbour 0.
        let mut beside = vec![Vec::new(); 13];
        beside[12] = vec![0, 1];
        beside[0] = vec![12];
        let given = swatches(&beside, &[]);
        assert_ne!(given[12], given[0]);
        assert_ne!(given[12], given[1]);
        // With everything beside everything there are not enough.
        let all: Vec<Vec<usize>> = (0..20).map(|i| (0..20).filter(|k| *k != i).collect()).collect();
        assert_eq!(swatches(&all, &[]).len(), 20);
    }

    #[test]
    fn a_swatch_is_kept_unless_a_larger_neighbour_wears_it() {
        let worn = SWATCHES[0];
        let given =
            swatches(&[vec![1], vec![0, 2], vec![1], vec![]], &[None, Some(worn), Some(worn), Some(worn)]);
        // The largest would begin with the first of the list, but its neighbour wears that.
        assert_eq!((given[1], given[3]), (worn, worn));
        assert!(given[0] != worn && given[2] != worn);
    }
}

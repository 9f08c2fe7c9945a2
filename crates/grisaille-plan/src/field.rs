//! A number at each sample, read as a smooth field over a face.
//!
//! Buried corners have no value of their own. On a face that dives into
//! another piece they take the mean of the open corners, so that no dark seam
//! creeps onto the side that is seen.

use grisaille_sight::Surface;

/// The three corner values of a face with buried corners filled in; `None`
/// when all three are buried.
#[must_use]
pub fn open_corners(surface: &Surface, face: usize, values: &[f32]) -> Option<[f32; 3]> {
    let corners = surface.faces[face];
    let open = corners.map(|s| !surface.samples.buried.get(s as usize));
    let own = corners.map(|s| values[s as usize]);
    let count = open.iter().filter(|o| **o).count();
    if count == 3 {
        return Some(own);
    }
    if count == 0 {
        return None;
    }
    let sum: f32 = (0..3).filter(|c| open[*c]).map(|c| own[c]).sum();
    let mean = sum / count as f32;
    Some([0, 1, 2].map(|c| if open[c] { own[c] } else { mean }))
}

/// The share of a triangle, 0 to 1, on which the linear field through three
/// corner values lies below `level`.
#[must_use]
pub fn area_below(mut v: [f64; 3], level: f64) -> f64 {
    v.sort_by(f64::total_cmp);
    let [low, middle, high] = v;
    if level <= low {
        // A face that lies level all over belongs above its own level.
        0.0
    } else if level > high {
        1.0
    } else if level <= middle {
        (level - low).powi(2) / ((middle - low) * (high - low))
    } else {
        1.0 - (high - level).powi(2) / ((high - middle) * (high - low))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_share_below_a_level_is_that_of_a_fine_count() {
        let v = [0.2, 0.9, 0.5];
        let n = 400;
        for level in [0.1, 0.3, 0.5, 0.7, 0.95] {
            let (mut below, mut all) = (0, 0);
            for i in 0..n {
                for j in 0..n - i {
                    let (a, b) = (
                        (f64::from(i) + 1.0 / 3.0) / f64::from(n),
                        (f64::from(j) + 1.0 / 3.0) / f64::from(n),
                    );
                    all += 1;
                    below += i32::from(v[0] * a + v[1] * b + v[2] * (1.0 - a - b) < level);
                }
            }
            let share = f64::from(below) / f64::from(all);
            assert!((area_below(v, level) - share).abs() < 0.005, "{level}: {share}");
        }
    }
}

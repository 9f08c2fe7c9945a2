//! Dealing things out to numbered places, on all cores: what sorting by a number comes to
//! where the numbers are small.

use rayon::prelude::*;

/// Deals out what `each` gives for every row, `K` things with the number of their place, which is
/// below `places`. Gives where each place begins, one more at the end, and the things in the
/// order of their places; at each place they stand as they came. `blank` is written over.
///
/// Writing far apart is what takes the time, so each core takes a range of places to itself and
/// looks at all rows. What comes out does not depend on how many there are.
pub(crate) fn dealt<R: Sync, T: Copy + Send + Sync, const K: usize>(
    rows: &[R],
    places: usize,
    blank: T,
    each: impl Fn(usize, &R) -> [(u32, T); K] + Sync,
) -> (Vec<u32>, Vec<T>) {
    let cores = if rows.len() < 1 << 14 { 1 } else { rayon::current_num_threads() };
    let range = places.div_ceil(cores).max(1);
    let mut begin = vec![0_u32; places + 1];
    begin[1..].par_chunks_mut(range).enumerate().for_each(|(n, counts)| {
        let first = (n * range) as u32;
        for (place, _) in rows.iter().enumerate().flat_map(|(r, row)| each(r, row)) {
            if let Some(count) = counts.get_mut(place.wrapping_sub(first) as usize) {
                *count += 1;
            }
        }
    });
    for place in 0..places {
        begin[place + 1] += begin[place];
    }
    let mut out = vec![blank; K * rows.len()];
    let mut shares = Vec::new();
    let mut rest = out.as_mut_slice();
    for first in (0..places).step_by(range) {
        let begins = &begin[first..=(first + range).min(places)];
        let (own, others) = rest.split_at_mut((begins[begins.len() - 1] - begins[0]) as usize);
        shares.push((first as u32, begins, own));
        rest = others;
    }
    shares.into_par_iter().for_each(|(first, begins, own)| {
        let mut filled: Vec<u32> = begins[..begins.len() - 1].iter().map(|b| b - begins[0]).collect();
        for (place, thing) in rows.iter().enumerate().flat_map(|(r, row)| each(r, row)) {
            if let Some(at) = filled.get_mut(place.wrapping_sub(first) as usize) {
                own[*at as usize] = thing;
                *at += 1;
            }
        }
    });
    (begin, out)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against a stable sort by the standard library, on one core and several.
    #[test]
    fn dealing_is_a_stable_sort_on_any_number_of_cores() {
        let rows: Vec<u32> = (0..40_000_u32).map(|i| i.wrapping_mul(2_654_435_761) >> 20).collect();
        let each = |n: usize, row: &u32| [(*row, (*row, 2 * n)), (4095 - *row, (4095 - *row, 2 * n + 1))];
        let mut want: Vec<(u32, usize)> =
            rows.iter().enumerate().flat_map(|(n, r)| each(n, r)).map(|x| x.1).collect();
        want.sort_by_key(|x| x.0);
        for threads in [1, 2, 7] {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
            let (begin, out) = pool.install(|| dealt(&rows, 4096, (0, 0), each));
            assert_eq!(out, want);
            assert!(
                (0..4096)
                    .all(|p| out[begin[p] as usize..begin[p + 1] as usize].iter().all(|x| x.0 == p as u32))
            );
        }
        assert_eq!(dealt(&[] as &[u32], 0, 0, |_, _| [(0, 0)]), (vec![0], vec![]));
    }
}

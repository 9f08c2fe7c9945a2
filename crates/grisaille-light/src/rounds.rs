//! Rounds: a first answer from a few directions, then better ones.

/// Which round of how many an exposure comes from; the last is the full answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Round {
    /// From 1.
    pub number: u32,
    /// How many there are.
    pub of: u32,
}

impl Round {
    /// Whether this is the full answer.
    #[must_use]
    pub fn is_last(self) -> bool {
        self.number >= self.of
    }

    /// From how many directions or points a light is looked at up to here, at
    /// most: 4, 16, 64, 256 and so on.
    pub(crate) fn most(self) -> usize {
        4_usize.saturating_pow(self.number)
    }

    /// The rounds that `count` directions take.
    pub(crate) fn needed(count: usize) -> u32 {
        let mut of = 1;
        while (Self { number: of, of }).most() < count {
            of += 1;
        }
        of
    }
}

/// The things of a list in an order of which the first 4, 16, 64 and so on lie
/// evenly over the whole list, as its neighbours lie evenly over the sky.
///
/// Of `count` things the m = 4ᵏ first are those at ⌊count·(j + ⅔)/m⌋, j below
/// m. Since 4j + 2 + ⅔ = 4·(j + ⅔), each such set holds the one before.
pub(crate) fn evenly<T: Copy>(things: &[T]) -> Vec<T> {
    let count = things.len();
    let mut taken = vec![false; count];
    let mut out = Vec::with_capacity(count);
    let mut m = 4;
    while m < count {
        for j in 0..m {
            let i = count * (3 * j + 2) / (3 * m);
            if !std::mem::replace(&mut taken[i], true) {
                out.push(things[i]);
            }
        }
        m *= 4;
    }
    out.extend(things.iter().zip(taken).filter(|(_, taken)| !taken).map(|(thing, _)| *thing));
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_thing_comes_once_and_each_round_is_even() {
        for count in [0, 1, 3, 4, 5, 16, 17, 48, 64, 100, 256, 1000, 4096] {
            let things: Vec<usize> = (0..count).collect();
            let order = evenly(&things);
            let mut sorted = order.clone();
            sorted.sort_unstable();
            assert_eq!(sorted, things);
            for m in [4, 16, 64, 256].into_iter().filter(|m| *m < count) {
                let mut first = order[..m].to_vec();
                first.sort_unstable();
                // One in each m-th of the list, to the rounding of places.
                let step = count as f64 / m as f64;
                for (j, i) in first.iter().enumerate() {
                    let at = (*i as f64 + 0.5) / step - j as f64;
                    assert!((-0.5 / step..=1.0 + 0.5 / step).contains(&at), "{count}, {m}: {j} at {at}");
                }
            }
        }
    }

    #[test]
    fn rounds_grow_fourfold() {
        for (count, of) in [(0, 1), (1, 1), (4, 1), (5, 2), (16, 2), (64, 3), (65, 4), (256, 4), (65536, 8)] {
            assert_eq!(Round::needed(count), of, "{count}");
        }
        assert!(Round { number: 4, of: 4 }.is_last() && !Round { number: 3, of: 4 }.is_last());
    }
}

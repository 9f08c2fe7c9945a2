//! Colours in the two bytes that end each binary facet.
//!
//! The format itself leaves them 0. Two conventions for colours are published
//! (both told on the encyclopedia page "STL (file format)", from the makers'
//! own documents; five bits a channel):
//!
//! - *header*: the 80 bytes hold `COLOR=` and four bytes red, green, blue,
//!   alpha: the colour of all facets but those whose highest bit is 0, which
//!   have their own, red in bits 0 to 4, green 5 to 9, blue 10 to 14;
//! - *bit 15*: without that, a facet whose highest bit is 1 has its own, blue
//!   in bits 0 to 4, green 5 to 9, red 10 to 14, and others have none.
//!
//! Programs also leave anything at all in these bytes: blanks, counters, parts of
//! other records. So the second convention is believed only where every
//! facet either follows it or says 0, and never where it paints as many colours
//! as noise would.

use crate::soup::Mark;
use std::collections::BTreeMap;

/// The most different colours a file may have to be believed; noise in 15 bits
/// passes it within a few hundred facets, while people paint with few.
const MOST: usize = 256;

/// The colour of each facet as a mark: `(mark of each face, marks)`, or nothing
/// where no convention is followed.
pub(crate) fn colours(header: &[u8], words: &[u16]) -> Option<(Vec<u32>, Vec<Mark>)> {
    let default = header.windows(10).find(|w| w.starts_with(b"COLOR=")).map(|w| [w[6], w[7], w[8]]);
    let red_first = |w: u16| [w, w >> 5, w >> 10].map(five_bits);
    let of = |w: u16| match default {
        Some(default) => Some(if w & 0x8000 == 0 { red_first(w) } else { default }),
        None => (w & 0x8000 != 0).then(|| {
            let [b, g, r] = red_first(w);
            [r, g, b]
        }),
    };
    if default.is_none()
        && (words.iter().all(|w| *w == 0) || words.iter().any(|w| *w != 0 && w & 0x8000 == 0))
    {
        return None;
    }
    let mut numbers: BTreeMap<u16, u32> = BTreeMap::new();
    let mut marks = Vec::new();
    let mut of_face = Vec::with_capacity(words.len());
    for &w in words {
        let next = marks.len() as u32;
        let mark = *numbers.entry(w).or_insert(next);
        if mark == next {
            if marks.len() == MOST {
                return None;
            }
            marks.push(Mark { name: None, colour: of(w) });
        }
        of_face.push(mark);
    }
    Some((of_face, marks))
}

/// Five bits spread over 0 to 255.
fn five_bits(w: u16) -> u8 {
    ((u32::from(w & 31) * 255 + 15) / 31) as u8
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(header: &[u8], words: &[u16]) -> Option<Vec<Option<[u8; 3]>>> {
        let (of, marks) = colours(header, words)?;
        Some(of.into_iter().map(|m| marks[m as usize].colour).collect())
    }

    #[test]
    fn each_convention_has_its_own_order_and_meaning_of_the_highest_bit() {
        // Pure red is 31 in the low bits of one and in the high bits of the other.
        let red = Some([255, 0, 0]);
        assert_eq!(
            said(b"x", &[0x8000 | 31 << 10, 0, 0x8000 | 31]),
            Some(vec![red, None, Some([0, 0, 255])])
        );
        let header = b"made by hand COLOR=\x10\x20\x30\xff";
        assert_eq!(
            said(header, &[31, 0xffff, 31 << 10]),
            Some(vec![red, Some([16, 32, 48]), Some([0, 0, 255])])
        );
    }

    #[test]
    fn what_follows_no_convention_is_no_colour() {
        // Blanks in every word; zeros; counters; noise with the bit set throughout.
        assert_eq!(said(b"x", &[0x2020; 9]), None);
        assert_eq!(said(b"x", &[0; 9]), None);
        assert_eq!(said(b"x", &(0..40_000).step_by(7).collect::<Vec<u16>>()), None);
        let noise: Vec<u16> =
            (0..2000_u32).map(|i| 0x8000 | (i.wrapping_mul(2_654_435_761) >> 17) as u16).collect();
        assert_eq!(said(b"x", &noise), None);
        // A header that only speaks of colour.
        assert_eq!(said(b"COLOR=ab", &[0x1234; 3]), None);
    }
}

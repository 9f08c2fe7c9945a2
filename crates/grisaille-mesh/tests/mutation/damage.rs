//! Ways in which a file is damaged: bits flipped, ends cut off, stretches put
//! elsewhere, numbers replaced.

/// Reproducible chance: splitmix64 (S. Vigna, public domain; constants from memory).
pub(crate) struct Chance(u64);

impl Chance {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0xd134_2543_de82_ef95))
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A whole number below `n`, or 0.
    pub(crate) fn below(&mut self, n: usize) -> usize {
        (self.next() % n.max(1) as u64) as usize
    }
}

/// What numbers of text are replaced by.
const WORDS: [&str; 16] = [
    "0",
    "-0",
    "-1",
    "1",
    "255",
    "65536",
    "2147483647",
    "4294967295",
    "-4294967296",
    "99999999999999999999",
    "1e39",
    "-1e-45",
    "nan",
    "inf",
    "0.1,5",
    "",
];

/// What four bytes are replaced by: extremes of whole numbers and of floats.
const BITS: [u32; 10] = [
    0,
    1,
    0x7fff_ffff,
    0x8000_0000,
    u32::MAX,
    0x7f80_0000,
    0x7fc0_0000,
    0x7f7f_ffff,
    0x0000_ffff,
    0x0040_0000,
];

/// A damaged copy, with stretches of `other` in it at times.
pub(crate) fn damaged(bytes: &[u8], other: &[u8], chance: &mut Chance) -> Vec<u8> {
    let mut out = bytes.to_vec();
    for _ in 0..=chance.below(3) {
        match chance.below(5) {
            0 => {
                for _ in 0..=chance.below(16) {
                    let at = chance.below(out.len());
                    let bit = chance.below(8);
                    if let Some(byte) = out.get_mut(at) {
                        *byte ^= 1 << bit;
                    }
                }
            }
            1 => {
                let length = chance.below(out.len() + 1);
                out.truncate(length);
            }
            2 => {
                let from = chance.below(other.len());
                let length = chance.below((other.len() - from).min(400) + 1);
                let stretch = other[from..from + length].to_vec();
                let at = chance.below(out.len() + 1);
                let over = chance.below(2) * length.min(out.len() - at);
                out.splice(at..at + over, stretch);
            }
            3 => replace_word(&mut out, chance),
            _ => {
                let at = chance.below(out.len() / 2) * 2;
                let bits = BITS[chance.below(BITS.len())];
                let bits = if chance.below(2) == 0 { bits.to_le_bytes() } else { bits.to_be_bytes() };
                for (byte, new) in out.iter_mut().skip(at).zip(bits) {
                    *byte = new;
                }
            }
        }
    }
    out
}

/// Replaces a number of a text.
fn replace_word(out: &mut Vec<u8>, chance: &mut Chance) {
    let is_part = |b: &u8| b.is_ascii_digit() || matches!(b, b'.' | b'-' | b'+' | b'e');
    let from = chance.below(out.len());
    let Some(begin) = (from..out.len()).find(|&i| out[i].is_ascii_digit()) else { return };
    let end = (begin..out.len()).find(|&i| !is_part(&out[i])).unwrap_or(out.len());
    let word = WORDS[chance.below(WORDS.len())];
    out.splice(begin..end, word.bytes());
}

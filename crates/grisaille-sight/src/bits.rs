//! One bit for each sample.

/// A row of bits of fixed length.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Bits {
    words: Vec<u64>,
    len: usize,
}

impl Bits {
    /// `len` bits, all zero.
    #[must_use]
    pub fn new(len: usize) -> Self {
        Self { words: vec![0; len.div_ceil(64)], len }
    }

    /// The number of bits.
    #[must_use]
    pub fn len(&self) -> usize {
        self.len
    }

    /// Whether there are no bits.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.len == 0
    }

    /// Bit `i`; false past the end.
    #[must_use]
    pub fn get(&self, i: usize) -> bool {
        self.words.get(i / 64).is_some_and(|w| w >> (i % 64) & 1 == 1)
    }

    /// Sets bit `i`; nothing past the end.
    pub fn set(&mut self, i: usize, value: bool) {
        if i < self.len {
            let word = &mut self.words[i / 64];
            *word = *word & !(1 << (i % 64)) | u64::from(value) << (i % 64);
        }
    }

    /// How many bits are set.
    #[must_use]
    pub fn count(&self) -> usize {
        self.words.iter().map(|w| w.count_ones() as usize).sum()
    }

    /// The words, 64 bits each, lowest bit first; bits past the end are zero.
    #[must_use]
    pub fn words(&self) -> &[u64] {
        &self.words
    }

    /// The words, to be filled in parallel. Bits past the end must stay zero.
    pub(crate) fn words_mut(&mut self) -> &mut [u64] {
        &mut self.words
    }
}

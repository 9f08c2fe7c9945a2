//! Small numbers side by side.

/// The unit roundoff of `f32`.
pub(crate) const U: f32 = f32::EPSILON / 2.0;

/// The lesser of two numbers, as one instruction; NaN is of no concern here.
#[inline(always)]
pub(crate) fn less(a: f32, b: f32) -> f32 {
    if a < b { a } else { b }
}

/// The greater of two numbers, likewise.
#[inline(always)]
pub(crate) fn more(a: f32, b: f32) -> f32 {
    if a > b { a } else { b }
}

/// Eight truths as bits, the first lowest. The product moves byte k, which is
/// 0 or 1, to bit 56 + k.
#[inline(always)]
pub(crate) fn eight(of: [bool; 8]) -> u8 {
    (u64::from_le_bytes(of.map(u8::from)).wrapping_mul(0x0102_0408_1020_4080) >> 56) as u8
}

/// The cell of a row of cells in which `v` lies, the first and the last taking
/// all beyond. Monotone in `v`, rounding included: what lies between two
/// others is never in a cell outside theirs. The number is rounded, to the
/// nearest, into the lowest bits of a float, since a cast would not be done
/// side by side.
#[inline(always)]
pub(crate) fn cell(v: f32, low: f32, per: f32, last: f32) -> u32 {
    let cell = less(more((v - low) * per, 0.0), last);
    (cell + 8_388_608.0).to_bits() & 0x7f_ffff
}

/// The set bits of a word, lowest first.
#[inline(always)]
pub(crate) fn bits(mut word: u64) -> impl Iterator<Item = usize> {
    std::iter::from_fn(move || {
        let k = word.trailing_zeros();
        word &= word.wrapping_sub(1);
        (k < 64).then_some(k as usize)
    })
}

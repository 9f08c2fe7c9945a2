//! Decimal numbers in text, to the nearest `f32`.

/// Powers of ten that an `f32` holds exactly: 5¹⁰ still fits its 24 bits.
const EXACT: [f32; 11] = [1.0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10];

/// A whole word as a number, or nothing. NaN and infinities are numbers here.
///
/// Where digits and power of ten are both exact in `f32`, one multiplication or
/// division rounds correctly (W. D. Clinger, "How to read floating point
/// numbers accurately", PLDI 1990); that holds for most numbers in model
/// files. The standard library, which rounds correctly too, does the others.
pub(crate) fn number(word: &[u8]) -> Option<f32> {
    quick(word).or_else(|| std::str::from_utf8(word).ok()?.parse().ok())
}

fn quick(word: &[u8]) -> Option<f32> {
    let (negative, mut rest) = match word.split_first()? {
        (b'-', rest) => (true, rest),
        (b'+', rest) => (false, rest),
        _ => (false, word),
    };
    let mut digits = 0_u32;
    let mut any = false;
    let mut scale = 0_i32;
    let mut point = false;
    while let Some((&b, after)) = rest.split_first() {
        match b {
            b'0'..=b'9' => {
                // Above 2²⁴ (16 777 216) not every whole number is an f32.
                if digits > 1_600_000 {
                    return None;
                }
                digits = 10 * digits + u32::from(b - b'0');
                any = true;
                scale -= i32::from(point);
            }
            b'.' if !point => point = true,
            b'e' | b'E' => {
                scale += exponent(after)?;
                break;
            }
            _ => return None,
        }
        rest = after;
    }
    if !any {
        return None;
    }
    let power = *EXACT.get(scale.unsigned_abs() as usize)?;
    let x = if scale < 0 { digits as f32 / power } else { digits as f32 * power };
    Some(if negative { -x } else { x })
}

fn exponent(word: &[u8]) -> Option<i32> {
    let (negative, digits) = match word.split_first()? {
        (b'-', rest) => (true, rest),
        (b'+', rest) => (false, rest),
        _ => (false, word),
    };
    if digits.is_empty() || digits.len() > 3 || !digits.iter().all(u8::is_ascii_digit) {
        return None;
    }
    let e = digits.iter().fold(0, |e, d| 10 * e + i32::from(d - b'0'));
    Some(if negative { -e } else { e })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(20_000))]

        // The standard library's parser is the oracle, bit for bit.
        #[test]
        fn numbers_are_those_of_the_standard_library(word in "[-+]?[0-9]{0,9}[.]?[0-9]{0,9}([eE][-+]?[0-9]{1,3})?") {
            let theirs = word.parse::<f32>().ok();
            prop_assert_eq!(number(word.as_bytes()).map(f32::to_bits), theirs.map(f32::to_bits), "{}", word);
        }

        #[test]
        fn printed_floats_come_back(bits in any::<u32>()) {
            let x = f32::from_bits(bits);
            prop_assume!(x.is_finite());
            for text in [format!("{x}"), format!("{x:e}"), format!("{x:.6e}")] {
                prop_assert_eq!(number(text.as_bytes()).map(f32::to_bits), text.parse().ok().map(f32::to_bits));
            }
        }
    }

    #[test]
    fn words_are_no_numbers_but_nan_is_one() {
        for word in ["", "-", ".", "e5", "1e", "1.2.3", "0x10", "zero", "1,5", "--1"] {
            assert_eq!(number(word.as_bytes()), None, "{word}");
        }
        assert!(number(b"NaN").is_some_and(f32::is_nan));
        assert_eq!(number(b"-inf"), Some(f32::NEG_INFINITY));
    }
}

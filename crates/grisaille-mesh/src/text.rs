//! Text as model files hold it: in bytes that need not be UTF-8, or in two-byte
//! characters; decimal numbers, with commas too.

use crate::number::number;
use std::borrow::Cow;

/// The text of some bytes: two-byte characters made one, without the mark that
/// some editors put before it.
pub(crate) fn text_of(bytes: &[u8]) -> Cow<'_, [u8]> {
    let wide: fn([u8; 2]) -> u16 = match bytes {
        [0xff, 0xfe, ..] => u16::from_le_bytes,
        [0xfe, 0xff, ..] => u16::from_be_bytes,
        _ => return Cow::Borrowed(bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes)),
    };
    let units = bytes[2..].chunks_exact(2).map(|b| wide([b[0], b[1]]));
    let text: String = char::decode_utf16(units).map(|c| c.unwrap_or(char::REPLACEMENT_CHARACTER)).collect();
    Cow::Owned(text.into_bytes())
}

/// A word as a number, and whether it has a comma for its point.
pub(crate) fn number_of(word: &[u8]) -> Option<(f32, bool)> {
    if let Some(x) = number(word) {
        return Some((x, false));
    }
    let at = word.iter().position(|b| *b == b',')?;
    let mut word = word.to_vec();
    word[at] = b'.';
    number(&word).map(|x| (x, true))
}

//! Text and numbers made ready for paper: one line each, only characters that
//! the sheet's fonts have, and a place to break in every long run.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use grisaille_base::{Code, Finding, Lightness};
use typst::text::Font;

/// Words longer than this may be broken anywhere; no word of prose is.
const LONGEST_WORD: usize = 22;

/// How far apart the places to break in such a word are, in characters.
const BREAK_EVERY: usize = 6;

/// A place to break that prints nothing: zero width space.
const BREAK: char = '\u{200B}';

/// How many codes in a row are spelled out; the rest of the row is counted.
const CODES: u64 = 8;

/// Makes text printable and remembers what could not be printed.
pub(crate) struct Printable<'f> {
    faces: &'f [Font],
    missing: BTreeMap<char, u64>,
}

impl<'f> Printable<'f> {
    /// For text that may be set in any of the `faces`.
    pub(crate) fn new(faces: &'f [Font]) -> Self {
        Self { faces, missing: BTreeMap::new() }
    }

    /// The text on one line, with what the fonts lack as `[U+XXXX]`, and in a
    /// row of more than eight such characters the rest as `[+N more]`.
    pub(crate) fn print(&mut self, text: &str) -> String {
        let mut out = String::with_capacity(text.len());
        for word in text.split_whitespace() {
            if !out.is_empty() {
                out.push(' ');
            }
            self.print_word(word, &mut out);
        }
        out
    }

    fn print_word(&mut self, word: &str, out: &mut String) {
        let long = word.chars().count() > LONGEST_WORD;
        let (mut run, mut codes) = (0, 0);
        for c in word.chars().filter(|c| !is_invisible(*c)) {
            if !self.prints(c) {
                *self.missing.entry(c).or_default() += 1;
                codes += 1;
                if codes <= CODES {
                    // Writing to a string cannot fail.
                    let _ = write!(out, "{BREAK}[U+{:04X}]", u32::from(c));
                }
                continue;
            }
            if codes > 0 {
                count_rest(codes, out);
                out.push(BREAK);
                (run, codes) = (0, 0);
            }
            // Breaks only go before a letter or digit, so that no accent is
            // torn from its letter.
            if long && run >= BREAK_EVERY && c.is_alphanumeric() {
                out.push(BREAK);
                run = 0;
            }
            out.push(c);
            run += 1;
        }
        count_rest(codes, out);
    }

    /// What could not be printed, as one finding.
    pub(crate) fn findings(&self) -> Vec<Finding> {
        let count: u64 = self.missing.values().sum();
        if count == 0 {
            return Vec::new();
        }
        let named: Vec<String> =
            self.missing.keys().take(4).map(|c| format!("U+{:04X}", u32::from(*c))).collect();
        let more = if self.missing.len() > named.len() { " and more" } else { "" };
        let hint = format!(
            "The sheet's letters do not include {}{more}, so the guide shows the code in brackets; \
             give the file or the name Latin, Greek or Cyrillic letters to see it spelled out.",
            named.join(", ")
        );
        vec![Finding::new(Code::MissingGlyphs, count, hint)]
    }

    fn prints(&self, c: char) -> bool {
        // Private characters have no agreed meaning, so that PDF/A refuses
        // them even where a font happens to draw something.
        !c.is_control()
            && !is_private(c)
            && self.faces.iter().all(|face| face.info().coverage.contains(u32::from(c)))
    }
}

fn count_rest(codes: u64, out: &mut String) {
    if codes > CODES {
        // Writing to a string cannot fail.
        let _ = write!(out, "{BREAK}[+{} more]", codes - CODES);
    }
}

/// Text for a reader that has its own fonts: one line without control characters.
pub(crate) fn spoken(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for word in text.split_whitespace() {
        if !out.is_empty() {
            out.push(' ');
        }
        out.extend(word.chars().filter(|c| !c.is_control() && !is_private(*c) && !is_invisible(*c)));
    }
    out
}

/// Characters that print nothing and only steer: joiners, direction marks,
/// variation selectors, tags. They are dropped, so that no name can turn the
/// text around it.
fn is_invisible(c: char) -> bool {
    matches!(u32::from(c),
        0x00AD | 0x034F | 0x061C | 0x115F..=0x1160 | 0x17B4..=0x17B5 | 0x180B..=0x180F
        | 0x200B..=0x200F | 0x202A..=0x202E | 0x2060..=0x206F | 0x3164 | 0xFE00..=0xFE0F
        | 0xFEFF | 0xFFA0 | 0xFFF0..=0xFFFB | 0xE0000..=0xE0FFF)
}

fn is_private(c: char) -> bool {
    matches!(u32::from(c), 0xE000..=0xF8FF | 0xF0000..=0x10FFFF | 0xFFFE..=0xFFFF)
}

/// A share of 0 to 1 as a percentage; a dash where it is not a number.
#[must_use]
pub fn percent(share: f64) -> String {
    if !share.is_finite() {
        return "–".into();
    }
    let percent = share * 100.0;
    if percent > 0.0 && percent < 1.0 { "< 1 %".into() } else { format!("{percent:.0} %") }
}

/// An area in mm²; a dash where it is not a number.
pub(crate) fn area(square_millimetres: f64) -> String {
    if !square_millimetres.is_finite() {
        return "–".into();
    }
    if square_millimetres > 0.0 && square_millimetres < 1.0 {
        "< 1 mm²".into()
    } else {
        format!("{square_millimetres:.0} mm²")
    }
}

/// A range of L* as whole numbers.
pub(crate) fn lightness_range(from: Lightness, to: Lightness) -> String {
    if !from.0.is_finite() || !to.0.is_finite() {
        return "–".into();
    }
    format!("{:.0} – {:.0}", from.0, to.0)
}

/// A step of the Munsell value scale with one digit after the point.
pub(crate) fn munsell(value: f64) -> String {
    if value.is_finite() { format!("{value:.1}") } else { "–".into() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::world::faces;

    #[test]
    fn what_the_fonts_lack_is_spelled_and_counted() {
        let faces = faces().unwrap();
        let mut words = Printable::new(&faces);
        assert_eq!(words.print("diver \u{6F5C}\u{6F5C}\n x"), "diver \u{200B}[U+6F5C]\u{200B}[U+6F5C] x");
        assert_eq!(words.print("L* 20 – 48, mm² × ° \u{202E}"), "L* 20 – 48, mm² × ° ");
        let findings = words.findings();
        assert_eq!(findings.len(), 1);
        assert_eq!((findings[0].code, findings[0].count), (Code::MissingGlyphs, 2));
    }

    #[test]
    fn control_and_private_characters_never_reach_the_page() {
        let faces = faces().unwrap();
        let mut words = Printable::new(&faces);
        assert_eq!(words.print("a\u{0}b\u{E000}"), "a\u{200B}[U+0000]\u{200B}b\u{200B}[U+E000]");
        assert_eq!(spoken(" a\u{0}b \u{E000}c\n"), "ab c");
    }

    #[test]
    fn only_very_long_words_get_places_to_break() {
        let faces = faces().unwrap();
        let mut words = Printable::new(&faces);
        assert_eq!(words.print("counterrevolutionaries"), "counterrevolutionaries");
        let printed = words.print(&"w".repeat(60));
        assert!(printed.split(BREAK).all(|run| run.len() <= BREAK_EVERY));
        assert_eq!(printed.replace(BREAK, ""), "w".repeat(60));
        // An accent stays with its letter.
        assert!(!words.print(&"e\u{301}".repeat(30)).contains("\u{200B}\u{301}"));
    }

    #[test]
    fn a_long_row_of_codes_is_counted() {
        let faces = faces().unwrap();
        let mut words = Printable::new(&faces);
        let printed = words.print(&format!("{}.stl", "\u{6F5C}".repeat(60))).replace(BREAK, "");
        assert_eq!(printed, format!("{}[+52 more].stl", "[U+6F5C]".repeat(8)));
        assert_eq!(words.findings()[0].count, 60);
    }

    #[test]
    fn numbers_that_are_none_are_dashes() {
        assert_eq!(
            (percent(f64::NAN).as_str(), percent(0.004).as_str(), percent(0.37).as_str()),
            ("–", "< 1 %", "37 %")
        );
        assert_eq!(
            (area(f64::INFINITY).as_str(), area(0.0).as_str(), area(812.4).as_str()),
            ("–", "0 mm²", "812 mm²")
        );
        assert_eq!(lightness_range(Lightness(20.2), Lightness(47.9)), "20 – 48");
        assert_eq!((munsell(4.06).as_str(), munsell(f64::NAN).as_str()), ("4.1", "–"));
    }
}

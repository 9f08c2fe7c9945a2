//! Lengths and areas in the unit that the painter's ruler has.
//!
//! The program thinks in millimetres, and so are all its sentences written. Where inches are wanted each
//! `12 mm`, `0.3 to 0.5 mm`, `30 × 20 × 52.1 mm`, `20 to 30 cm` or `640 mm²` is told anew, with as many
//! significant digits as before, at least two: here alone, so that no sentence exists twice.

use grisaille_scheme::Lengths;
use std::fmt::Write as _;

/// Millimetres in an inch, exactly (international yard and pound agreement, 1959).
const INCH: f64 = 25.4;

/// Units by their names, the longest first: how many of them make an inch or a square inch.
const UNITS: [(&str, f64, &str); 4] = [
    ("mm²", INCH * INCH, "in²"),
    ("cm²", INCH * INCH / 100.0, "in²"),
    ("mm", INCH, "in"),
    ("cm", INCH / 10.0, "in"),
];

/// What joins numbers that share one unit.
const JOINTS: [&str; 4] = [" to ", " × ", " – ", "–"];

/// The text with its lengths in the wanted unit.
pub(crate) fn told_in(text: &str, lengths: Lengths) -> String {
    if lengths == Lengths::Mm {
        return text.to_owned();
    }
    let mut out = String::with_capacity(text.len());
    // From the first character that was not copied yet.
    let mut rest = text;
    while let Some((at, (name, per_inch, inch))) = first_unit(rest) {
        let (before, after) = (&rest[..at], &rest[at + name.len()..]);
        let whole = !after.starts_with(|c: char| c.is_alphanumeric() || c == '²');
        let numbers = if whole { trailing_numbers(before.trim_end()) } else { None };
        match numbers {
            Some(from) => {
                out += &before[..from];
                convert(&before[from..], per_inch, &mut out);
                out += inch;
            }
            None => {
                out += before;
                out += name;
            }
        }
        rest = after;
    }
    out + rest
}

fn first_unit(text: &str) -> Option<(usize, (&'static str, f64, &'static str))> {
    let found = UNITS.into_iter().filter_map(|unit| text.find(unit.0).map(|at| (at, unit)));
    // At one place the longest name stands first in the list.
    found.reduce(|best, other| if other.0 < best.0 { other } else { best })
}

/// Where the numbers begin that end the text and share its unit.
fn trailing_numbers(text: &str) -> Option<usize> {
    let mut from = number_before(text)?;
    loop {
        let before = &text[..from];
        let joined = JOINTS.iter().find_map(|j| before.strip_suffix(j)).and_then(number_before);
        // A place is three numbers with a point each; in a sentence a comma parts two matters.
        let place =
            before.strip_suffix(", ").and_then(|b| number_before(b).filter(|n| b[*n..].contains('.')));
        match joined.or_else(|| place.filter(|_| text[from..].contains('.'))) {
            Some(earlier) => from = earlier,
            None => return Some(from),
        }
    }
}

/// Where the number begins that ends the text.
fn number_before(text: &str) -> Option<usize> {
    let digits = text.trim_end_matches(|c: char| c.is_ascii_digit() || c == '.');
    let number = &text[digits.len()..];
    number.parse::<f64>().ok()?;
    let from = digits.strip_suffix(['-', '−']).map_or(digits.len(), str::len);
    // No number, but the end of a name such as `B12`.
    (!text[..from].ends_with(|c: char| c.is_alphanumeric())).then_some(from)
}

/// Copies the text with each of its numbers in inches.
fn convert(text: &str, per_inch: f64, out: &mut String) {
    let mut rest = text;
    while let Some(at) = rest.find(|c: char| c.is_ascii_digit()) {
        out.push_str(&rest[..at]);
        let end = rest[at..].find(|c: char| !c.is_ascii_digit() && c != '.').map_or(rest.len(), |n| at + n);
        let number = &rest[at..end];
        match number.parse::<f64>() {
            Ok(mm) => {
                let significant = number.trim_start_matches(['0', '.']).chars().filter(char::is_ascii_digit);
                let digits = significant.count().max(2);
                let inches = mm / per_inch;
                let before_point = if inches > 0.0 { inches.log10().floor() as i64 + 1 } else { 1 };
                let decimals = (digits as i64 - before_point).clamp(0, 6) as usize;
                // Writing to a string cannot fail.
                let _ = write!(out, "{inches:.decimals$}");
            }
            Err(_) => out.push_str(number),
        }
        rest = &rest[end..];
    }
    out.push_str(rest);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn millimetres_are_left_as_they_are() {
        assert_eq!(told_in("12 mm and 3 cm²", Lengths::Mm), "12 mm and 3 cm²");
    }

    // 1 inch is 25.4 mm; each value worked out by hand from that.
    #[test]
    fn lengths_areas_ranges_and_places_are_told_in_inches() {
        for (mm, inch) in [
            ("Draw with the tip, 0.3 mm wide.", "Draw with the tip, 0.012 in wide."),
            ("30.9 × 22.0 × 50.8 mm", "1.22 × 0.866 × 2.00 in"),
            ("Two thin coats from 20 to 30 cm; then", "Two thin coats from 7.9 to 12 in; then"),
            ("full at 20 mm, a quarter at 40 mm", "full at 0.79 in, a quarter at 1.6 in"),
            ("stage 3, 25.4 mm wide", "stage 3, 1.00 in wide"),
            ("first at 25.4, -2.54, 0.0 mm", "first at 1.00, -0.100, 0.0 in"),
            ("640 mm² of 48 cm²", "0.992 in² of 7.4 in²"),
            ("flat, 6 mm", "flat, 0.24 in"),
        ] {
            assert_eq!(told_in(mm, Lengths::Inch), inch);
        }
    }

    #[test]
    fn what_is_no_length_stays() {
        for text in ["mm", "hammer 12", "12 mmol", "B12 mm", "x mm", "12 cm²²", ".. mm", "1.2.3 mm", ""] {
            assert_eq!(told_in(text, Lengths::Inch), text);
        }
    }
}

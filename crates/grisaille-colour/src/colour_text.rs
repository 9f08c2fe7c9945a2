//! Colours as people write them: `#a0522d`, `a0522d`, `#a52`, `rgb(160, 82, 45)`,
//! `lab(44, 31, 33)`.

use crate::{Lab, linear_from_srgb};

/// The colour that a text names, or in words what is wrong with it and what to
/// write instead.
///
/// # Errors
/// When the text is none of the forms above.
pub fn colour_from_text(text: &str) -> Result<Lab, String> {
    let text = text.trim();
    let lower = text.to_ascii_lowercase();
    let inside = |name: &str| {
        let rest = lower.strip_prefix(name)?.trim_start();
        rest.strip_prefix('(')?.strip_suffix(')').map(three)
    };
    if let Some(numbers) = inside("lab") {
        return numbers.and_then(lab_from_numbers).ok_or_else(|| {
            format!("'{text}': write lab(L, a, b), such as lab(44, 31, 33), with L from 0 to 100")
        });
    }
    if let Some(numbers) = inside("rgb") {
        return numbers
            .filter(|n| n.iter().all(|c| (0.0..=255.0).contains(c)))
            .map(|n| Lab::from_linear(n.map(|c| linear_from_srgb(c / 255.0))))
            .ok_or_else(|| format!("'{text}': write rgb(R, G, B) with numbers from 0 to 255"));
    }
    hex(text)
}

/// The colour of L*, a* and b*, where they are such: L* 0 to 100, the others
/// within 200 of grey.
pub(crate) fn lab_from_numbers([l, a, b]: [f64; 3]) -> Option<Lab> {
    let sound = (0.0..=100.0).contains(&l) && a.abs() <= 200.0 && b.abs() <= 200.0;
    sound.then_some(Lab { l, a, b })
}

/// A number as it is written in any country: with a point or a comma.
pub(crate) fn number(text: &str) -> Option<f64> {
    let text = text.trim();
    let number: f64 = match text.contains('.') {
        true => text.parse().ok()?,
        false => text.replacen(',', ".", 1).parse().ok()?,
    };
    number.is_finite().then_some(number)
}

fn three(text: &str) -> Option<[f64; 3]> {
    let parts: Vec<&str> = match text.contains(';') {
        true => text.split(';').collect(),
        false => text.split([',', ' ']).filter(|t| !t.is_empty()).collect(),
    };
    let numbers: Vec<f64> = parts.into_iter().map(number).collect::<Option<_>>()?;
    numbers.try_into().ok()
}

fn hex(text: &str) -> Result<Lab, String> {
    let (marked, digits) = match text.strip_prefix('#') {
        Some(rest) => (true, rest),
        None => (false, text.strip_prefix("0x").unwrap_or(text)),
    };
    let all_hex = !digits.is_empty() && digits.bytes().all(|b| b.is_ascii_hexdigit());
    let pair = |at: usize, wide: usize| {
        let digit = digits.get(at..at + wide)?;
        let value = u8::from_str_radix(digit, 16).ok()?;
        Some(if wide == 1 { value * 17 } else { value })
    };
    let wide = match digits.len() {
        6 if all_hex => 2,
        3 if all_hex && marked => 1,
        n @ 1..=5 if all_hex && digits.bytes().all(|b| b.is_ascii_digit()) => {
            return Err(format!(
                "'{text}' has {n} digits where 6 are wanted: a spreadsheet may have dropped zeros in front; \
                 write #{digits:0>6} if that is the colour"
            ));
        }
        _ => return Err(format!("'{text}' is no colour: write it as #rrggbb, such as #a0522d")),
    };
    match (pair(0, wide), pair(wide, wide), pair(2 * wide, wide)) {
        (Some(r), Some(g), Some(b)) => {
            Ok(Lab::from_linear([r, g, b].map(|c| linear_from_srgb(f64::from(c) / 255.0))))
        }
        _ => Err(format!("'{text}' is no colour: write it as #rrggbb, such as #a0522d")),
    }
}

/// `#rrggbb` of a colour as a screen can show it.
#[must_use]
pub fn hex_of(colour: Lab) -> String {
    let [r, g, b] = colour.shown().to_srgb8();
    format!("#{r:02x}{g:02x}{b:02x}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn colours_are_read_in_every_form() {
        for text in [
            "#a0522d",
            "A0522D",
            " #A0522d ",
            "0xa0522d",
            "rgb(160, 82,45)",
            "rgb(160;82;45)",
            "RGB (160 82 45)",
        ] {
            assert_eq!(colour_from_text(text).map(hex_of).as_deref(), Ok("#a0522d"), "{text}");
        }
        assert_eq!(colour_from_text("#fa0").map(hex_of).as_deref(), Ok("#ffaa00"));
        assert_eq!(colour_from_text("lab(44,5; 31; 33)"), Ok(Lab::new(44.5, 31.0, 33.0)));
        assert_eq!(colour_from_text("Lab(44.5, -31, 33)"), Ok(Lab::new(44.5, -31.0, 33.0)));
    }

    #[test]
    fn what_is_no_colour_is_explained() {
        for (text, words) in [
            ("", "no colour"),
            ("#", "no colour"),
            ("red", "no colour"),
            ("#12345", "zeros in front; write #012345"),
            ("1122", "write #001122"),
            ("112", "write #000112"),
            ("#12", "zeros in front"),
            ("#1234567", "no colour"),
            ("#ää", "no colour"),
            ("ääääää", "no colour"),
            ("rgb(1,2)", "0 to 255"),
            ("rgb(1,2,999)", "0 to 255"),
            ("rgb(1,2,nan)", "0 to 255"),
            ("lab(120,0,0)", "0 to 100"),
            ("lab(50,inf,0)", "0 to 100"),
        ] {
            let said = colour_from_text(text).expect_err(text);
            assert!(said.contains(words), "{text}: {said}");
        }
    }

    #[test]
    fn numbers_may_have_a_comma() {
        assert_eq!(number(" 12,5 "), Some(12.5));
        assert_eq!(number("-0.25"), Some(-0.25));
        for text in ["", "1,2,3", "1.234,5", "nan", "inf", "x"] {
            assert_eq!(number(text), None, "{text}");
        }
    }
}

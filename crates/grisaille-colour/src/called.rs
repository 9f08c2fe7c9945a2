//! What a colour is called, in everyday words.

use crate::Lab;

/// Less chroma (CIELAB C*ab) than this has no hue.
const NO_HUE: f64 = 7.0;

/// A colour in everyday words, such as `dark blue green` or `pale grey`, for who cannot see it: on a print in
/// greys, or with eyes that do not tell it from another.
///
/// The hue words are basic colour terms, divided by CIELAB hue angle; dark orange is called brown, dark yellow
/// olive, pale red pink, as English does. Where one word ends and the next begins is ours.
#[must_use]
pub fn colour_words(colour: Lab) -> String {
    let Called { depth, dull, hue } = colour_called(colour);
    let depth = match depth {
        Depth::Plain => "",
        Depth::Dark => "dark ",
        Depth::Pale => "pale ",
    };
    let dull = if dull { "greyish " } else { "" };
    format!("{depth}{dull}{hue}")
}

/// What a colour is called, word by word.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Called {
    /// Dark or pale, where that is not in the word for its hue.
    pub depth: Depth,
    /// Whether it is greyish.
    pub dull: bool,
    /// The word for its hue, or for the grey that it is.
    pub hue: &'static str,
}

/// How dark a colour is called.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Depth {
    /// Neither.
    Plain,
    /// Dark.
    Dark,
    /// Pale.
    Pale,
}

/// What a colour is called, word by word: see [`colour_words`].
#[must_use]
pub fn colour_called(colour: Lab) -> Called {
    let (l, chroma) = (colour.l, colour.chroma());
    if chroma < NO_HUE {
        let hue = match l {
            l if l < 18.0 => "black",
            l if l < 42.0 => "dark grey",
            l if l < 68.0 => "mid grey",
            l if l < 90.0 => "pale grey",
            _ => "white",
        };
        return Called { depth: Depth::Plain, dull: false, hue };
    }
    let hue = match colour.hue().rem_euclid(360.0) {
        h if !(8.0..345.0).contains(&h) && l >= 60.0 => "pink",
        h if h < 40.0 && l >= 65.0 => "pink",
        h if !(42.0..345.0).contains(&h) && l < 35.0 && chroma < 35.0 => "red brown",
        h if !(42.0..345.0).contains(&h) => "red",
        h if h < 82.0 && l >= 85.0 && chroma < 35.0 => "cream",
        h if h < 72.0 && l >= 68.0 && chroma < 35.0 => "sand",
        h if h < 72.0 && (l < 58.0 || chroma < 45.0) => "brown",
        h if h < 72.0 => "orange",
        h if h < 100.0 && l < 55.0 && chroma < 40.0 => "olive brown",
        h if h < 95.0 && l >= 85.0 && chroma < 35.0 => "cream",
        h if h < 115.0 && l >= 88.0 && chroma < 22.0 => "cream",
        h if h < 95.0 && chroma < 35.0 => "sand",
        h if h < 95.0 && l < 65.0 => "ochre",
        h if h < 98.0 && l >= 62.0 => "yellow",
        h if h < 115.0 && l < 62.0 => "olive",
        h if h < 106.0 => "yellow",
        h if h < 128.0 => "yellow green",
        h if h < 168.0 => "green",
        h if h < 215.0 => "blue green",
        h if h < 305.0 => "blue",
        h if h < 322.0 => "violet",
        _ => "purple",
    };
    let own = matches!(hue, "cream" | "sand" | "pink" | "ochre" | "olive brown" | "red brown");
    let depth = match l {
        l if l < 32.0 => Depth::Dark,
        l if l >= 75.0 && chroma < 50.0 && !own && !matches!(hue, "yellow" | "orange") => Depth::Pale,
        _ => Depth::Plain,
    };
    Called { depth, dull: chroma < 16.0 && !own, hue }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::LinearRgb;

    /// Named colours of CSS Color Module Level 4, 6.1 (values from memory): the last word of what each is called must
    /// be one that its name allows.
    #[test]
    fn named_colours_of_the_web_are_called_by_their_names() {
        for (name, rgb, allowed) in [
            ("black", [0, 0, 0], "black"),
            ("white", [255, 255, 255], "white"),
            ("dimgray", [105, 105, 105], "mid grey"),
            ("lightgray", [211, 211, 211], "pale grey"),
            ("red", [255, 0, 0], "red"),
            ("firebrick", [178, 34, 34], "red"),
            ("pink", [255, 192, 203], "pink"),
            ("hotpink", [255, 105, 180], "pink"),
            ("darkorange", [255, 140, 0], "orange"),
            ("saddlebrown", [139, 69, 19], "brown"),
            ("sienna", [160, 82, 45], "brown"),
            ("gold", [255, 215, 0], "yellow"),
            ("yellow", [255, 255, 0], "yellow"),
            ("olive", [128, 128, 0], "olive"),
            ("yellowgreen", [154, 205, 50], "yellow green"),
            ("green", [0, 128, 0], "green"),
            ("darkgreen", [0, 100, 0], "green"),
            ("teal", [0, 128, 128], "blue green"),
            ("turquoise", [64, 224, 208], "pale blue green|blue green"),
            ("steelblue", [70, 130, 180], "blue"),
            ("blue", [0, 0, 255], "violet|blue"),
            ("navy", [0, 0, 128], "dark violet|dark blue"),
            ("lightblue", [173, 216, 230], "pale greyish blue|pale blue"),
            ("purple", [128, 0, 128], "purple|dark purple"),
            ("beige", [245, 245, 220], "cream|pale grey|yellow"),
            ("tan", [210, 180, 140], "sand"),
        ] {
            let words = colour_words(Lab::from(LinearRgb::from_srgb8(rgb)));
            let ends = |allowed: &str| words == allowed || words == format!("dark {allowed}");
            assert!(allowed.split('|').any(ends), "{name}: {words}");
        }
    }

    #[test]
    fn every_colour_has_words() {
        for l in 0..=20 {
            for h in 0..72 {
                for c in 0..12 {
                    let (c, h) = (f64::from(c) * 10.0, f64::from(h * 5).to_radians());
                    let words = colour_words(Lab::new(f64::from(l) * 5.0, c * h.cos(), c * h.sin()));
                    assert!(!words.is_empty() && !words.ends_with(' ') && !words.contains("  "), "{words}");
                }
            }
        }
        assert!(!colour_words(Lab::new(f64::NAN, f64::NAN, f64::NAN)).is_empty());
    }
}

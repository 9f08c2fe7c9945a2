//! Words that were meant: the nearest of those that there are, and lists of them.

/// The option that a word was most likely meant to be: the same but for capitals
/// and dashes, one that it begins or ends, or one that a third of its letters,
/// at least one, turn it into (Damerau and Levenshtein's count of insertions,
/// deletions, changes and swaps).
pub(crate) fn nearest<'o>(word: &str, options: &[&'o str]) -> Option<&'o str> {
    let plain = |w: &str| w.to_lowercase().replace(['-', ' '], "_");
    let word = plain(word);
    let letters = word.chars().count();
    let distance = |option: &&str| strsim::damerau_levenshtein(&word, &plain(option));
    let near = options.iter().copied().min_by_key(distance)?;
    if distance(&near) <= (letters / 3).max(1) && letters > 1 {
        return Some(near);
    }
    let part = |o: &&&str| letters > 2 && (plain(o).starts_with(&word) || plain(o).ends_with(&word));
    options.iter().find(part).copied()
}

/// Words in a row, the last after `last`.
pub(crate) fn listed(words: &[&str], last: &str) -> String {
    match words {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [all @ .., end] => format!("{} {last} {end}", all.join(", ")),
    }
}

/// A text as it is quoted to the painter: short, and in one line.
pub(crate) fn quoted(text: &str) -> String {
    const MOST: usize = 40;
    let line: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    match line.char_indices().nth(MOST) {
        Some((end, _)) => format!("'{}…'", &line[..end]),
        None => format!("'{line}'"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const KEYS: [&str; 5] = ["tilt", "azimuth", "radius", "smallest_mm2", "thinnest_shadow"];

    #[test]
    fn what_was_meant_is_found_and_nothing_else() {
        for (word, meant) in [
            ("azimut", "azimuth"),
            ("azimtuh", "azimuth"),
            ("Radius", "radius"),
            ("tlit", "tilt"),
            ("thinnest-shadow", "thinnest_shadow"),
            ("smallest", "smallest_mm2"),
            ("shadow", "thinnest_shadow"),
        ] {
            assert_eq!(nearest(word, &KEYS), Some(meant), "{word}");
        }
        for word in ["colour", "x", "", "é", "weight"] {
            assert_eq!(nearest(word, &KEYS), None, "{word}");
        }
        assert_eq!(nearest("tilt", &[]), None);
    }

    #[test]
    fn words_stand_in_a_row() {
        assert_eq!(listed(&["a", "b", "c"], "or"), "a, b or c");
        assert_eq!(listed(&["a"], "or"), "a");
        assert_eq!(listed(&[], "or"), "");
        assert_eq!(quoted("two\nlines"), "'two lines'");
        assert_eq!(quoted(&"é".repeat(60)), format!("'{}…'", "é".repeat(40)));
    }
}

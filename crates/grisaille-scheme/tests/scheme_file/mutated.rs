//! Scheme files that hands, disks and other programs have spoilt: each is read or
//! explained, and what is read is written and read back equal.
//!
//! 20,000 of them; `GRISAILLE_MUTATIONS=200000 cargo test --release -p
//! grisaille-scheme --test scheme_file mutated -- --nocapture` for as many as that.

use crate::explained::reads_well;
use crate::rich::{RICH, diver, rich};
use grisaille_scheme::{read_document, write_document};
use std::panic::catch_unwind;
use std::time::{Duration, Instant};

/// Scheme files as they are: written by hand, by the program, and those of the demo.
pub(crate) fn originals() -> Vec<String> {
    let mut all = vec![
        RICH.to_owned(),
        "version = 1\n[[model]]\nbuilt_in = \"diver\"\n".to_owned(),
        write_document(&diver(), None),
        write_document(&rich(), None),
    ];
    let folders = ["models-demo", "tests/window"];
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let mut files: Vec<_> = folders
        .iter()
        .flat_map(|folder| std::fs::read_dir(root.join(folder)).expect("a folder"))
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|e| e == "grisaille"))
        .collect();
    files.sort();
    all.extend(files.iter().map(|path| std::fs::read_to_string(path).expect("a scheme")));
    all
}

/// A sequence of numbers from a seed (Steele, Lea and Flood's SplitMix64, 2014).
pub(crate) struct Dice(u64);

impl Dice {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number below `n`; 0 for none.
    pub(crate) fn below(&mut self, n: usize) -> usize {
        (self.next() % (n.max(1) as u64)) as usize
    }

    fn of<'a, T>(&mut self, all: &'a [T]) -> &'a T {
        &all[self.below(all.len())]
    }
}

/// What is put in the place of a number.
const NUMBERS: [&str; 20] = [
    "0",
    "-0.0",
    "-1",
    "1",
    "3",
    "7",
    "0.5",
    "1e-9",
    "1e308",
    "1e999",
    "nan",
    "-inf",
    "256",
    "65537",
    "99999999999999999999",
    "4294967296",
    "0x1f",
    "1979-05-27",
    "true",
    "\"two\"",
];

/// A text with one spoilt place.
pub(crate) fn spoilt(text: &str, others: &[String], dice: &mut Dice) -> String {
    let mut bytes = text.as_bytes().to_vec();
    match dice.below(11) {
        0 => {
            let at = dice.below(bytes.len());
            if let Some(byte) = bytes.get_mut(at) {
                *byte ^= 1 << dice.below(8);
            }
        }
        1 => bytes.truncate(dice.below(bytes.len())),
        2 => {
            let other = dice.of(others).as_bytes();
            let from = dice.below(other.len());
            let to = from + dice.below((other.len() - from).min(200));
            let at = dice.below(bytes.len());
            bytes.splice(at..at, other[from..to].iter().copied());
        }
        3 => {
            let from = dice.below(bytes.len());
            let to = from + dice.below((bytes.len() - from).min(60));
            bytes.drain(from..to);
        }
        4 => {
            return token(
                text,
                |c| c.is_ascii_digit() || c == '.' || c == '-',
                dice,
                |_, dice| (*dice.of(&NUMBERS)).to_owned(),
            );
        }
        5 => return token(text, |c| c.is_alphanumeric() || c == '_' || c == '-', dice, misspelt),
        6 => {
            // A word of the same or another file in the place of another.
            let other = dice.of(others).clone();
            let words: Vec<&str> = other.split(|c: char| !c.is_alphanumeric() && c != '_').collect();
            return token(
                text,
                |c| c.is_alphanumeric() || c == '_' || c == '-',
                dice,
                |_, dice| (*dice.of(&words)).to_owned(),
            );
        }
        7 | 8 => return token(text, |c| c.is_ascii_digit(), dice, |_, dice| dice.below(10).to_string()),
        _ => {
            let mut lines: Vec<&str> = text.lines().collect();
            let (a, b) = (dice.below(lines.len()), dice.below(lines.len()));
            match dice.below(3) {
                _ if lines.is_empty() => {}
                0 => lines.swap(a, b),
                1 => lines.insert(a, lines[b]),
                _ => drop(lines.remove(a)),
            }
            return lines.join("\n") + "\n";
        }
    }
    String::from_utf8_lossy(&bytes).into_owned()
}

/// The text with one of its runs of such signs changed.
fn token(
    text: &str,
    is_part: impl Fn(char) -> bool,
    dice: &mut Dice,
    change: impl Fn(&str, &mut Dice) -> String,
) -> String {
    let mut runs = Vec::new();
    let mut start = None;
    for (i, c) in text.char_indices().chain([(text.len(), '\n')]) {
        match (is_part(c), start) {
            (true, None) => start = Some(i),
            (false, Some(from)) => {
                runs.push(from..i);
                start = None;
            }
            _ => {}
        }
    }
    if runs.is_empty() {
        return text.to_owned();
    }
    let run = dice.of(&runs).clone();
    let new = change(&text[run.clone()], dice);
    format!("{}{new}{}", &text[..run.start], &text[run.end..])
}

/// A word with a letter too many or too few, another one, or two that have changed places.
fn misspelt(word: &str, dice: &mut Dice) -> String {
    let mut letters: Vec<char> = word.chars().collect();
    let at = dice.below(letters.len());
    match dice.below(4) {
        0 => drop(letters.remove(at)),
        1 => letters.insert(at, 'e'),
        2 => letters[at] = 'o',
        _ => letters.swap(at, dice.below(word.chars().count())),
    }
    letters.into_iter().collect()
}

/// The `n`th spoilt file: one place of an original, or two or three.
pub(crate) fn mutation(n: u64, originals: &[String]) -> String {
    let mut dice = Dice::new(n);
    let mut text = dice.of(originals).clone();
    for _ in 0..=dice.below(5).saturating_sub(2) {
        text = spoilt(&text, originals, &mut dice);
    }
    text
}

#[test]
fn mutated_files_are_read_or_explained() {
    let count = std::env::var("GRISAILLE_MUTATIONS").map_or(20_000, |n| n.parse().expect("a number"));
    let originals = originals();
    let (mut read, mut changed) = (0, 0);
    let mut slowest = Duration::ZERO;
    for n in 0..count {
        let text = mutation(n, &originals);
        let start = Instant::now();
        let whole = catch_unwind(|| match read_document(&text) {
            Ok(document) => {
                let fresh = write_document(&document, None);
                assert_eq!(read_document(&fresh).as_ref(), Ok(&document), "{fresh}");
                let over = write_document(&document, Some(&text));
                assert_eq!(read_document(&over).as_ref(), Ok(&document), "{over}");
                // Written over another file it says this one's, whatever stood there.
                let other = write_document(&document, Some(RICH));
                assert_eq!(read_document(&other).as_ref(), Ok(&document), "{other}");
                true
            }
            Err(error) => {
                reads_well(&error, &text);
                false
            }
        });
        slowest = slowest.max(start.elapsed());
        match whole {
            Ok(is_read) => read += u64::from(is_read),
            Err(_) => panic!("that was mutation {n}"),
        }
        changed += u64::from(!originals.contains(&text));
    }
    println!("{count} mutations: {read} read, {} explained; the slowest took {slowest:?}", count - read);
    // Both happen often, and hardly any is the file it was.
    assert!(read * 10 > count && read * 10 < 9 * count, "{read} of {count} were read");
    assert!(changed * 100 > 95 * count, "{changed} of {count} were changed");
}

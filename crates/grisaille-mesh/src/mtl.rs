//! MTL: the materials that an OBJ file uses, in text files beside it; of each its diffuse colour.
//!
//! Reference: the "Material Library File (.mtl)" format of the Advanced Visualizer, Wavefront, 1995 (from memory):
//! `newmtl NAME` begins a material, `Kd r g b` is its diffuse colour, 0 to 1, the last two as the first where
//! they are left out. That its numbers are sRGB as they stand is no part of that text, but common practice.
//! Textures, spectral curves (`Kd spectral`) and CIE colours (`Kd xyz`) are not read.

use crate::obj::{Lines, rest_of, words};
use crate::text::{number_of, text_of};
use grisaille_base::{Code, Finding};
use std::collections::HashMap;

/// A file that a model names, and that was looked for beside it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Beside {
    /// As the model names it.
    pub name: String,
    /// What is in it; nothing where it is not there, or where it must not be looked for.
    pub bytes: Option<Vec<u8>>,
}

/// The colours of materials.
#[derive(Debug, Default)]
pub(crate) struct Materials {
    // Looked up only, never walked through, so its order does not show.
    colours: HashMap<String, [u8; 3]>,
    /// Files that are not there.
    missing: Vec<String>,
}

impl Materials {
    /// The materials of some files. Of two with one name the first counts.
    pub(crate) fn of(files: &[Beside]) -> Self {
        let mut all = Self::default();
        for file in files {
            match &file.bytes {
                Some(bytes) => all.add(bytes),
                None => all.missing.push(file.name.clone()),
            }
        }
        all
    }

    fn add(&mut self, bytes: &[u8]) {
        let text = text_of(bytes);
        let mut lines = Lines { bytes: &text, at: 0 };
        let mut name: Option<String> = None;
        while let Some((_, line)) = lines.next() {
            let mut words = words(line);
            match words.next() {
                Some(word) if word.eq_ignore_ascii_case(b"newmtl") => name = rest_of(line, word),
                Some(b"Kd" | b"kd" | b"KD") => {
                    if let (Some(name), Some(colour)) = (&name, colour(words)) {
                        self.colours.entry(name.clone()).or_insert(colour);
                    }
                }
                _ => {}
            }
        }
    }

    /// The colour of a material: sRGB, 0 to 255.
    pub(crate) fn colour(&self, name: &str) -> Option<[u8; 3]> {
        self.colours.get(name).copied()
    }

    /// What is said of files that are not there.
    pub(crate) fn finding(&self) -> Option<Finding> {
        let first = self.missing.first()?;
        // A name from a file may hold anything.
        let plain: String = first.chars().filter(|c| !c.is_control()).take(60).collect();
        let hint = format!(
            "the colours of its materials stand in another file, '{plain}', which is not in the model's folder: the model is \
             read without them; put it beside the model if its colours matter"
        );
        Some(Finding::new(Code::MissingMaterials, self.missing.len() as u64, hint))
    }
}

/// The colour of the numbers after `Kd`.
fn colour<'a>(mut words: impl Iterator<Item = &'a [u8]>) -> Option<[u8; 3]> {
    let share = |word: &[u8]| number_of(word).map(|(x, _)| x).filter(|x| x.is_finite());
    let mut channel =
        || words.next().map(|word| share(word).map(|x| (x.clamp(0.0, 1.0) * 255.0).round() as u8));
    let red = channel()??;
    Some([red, channel().unwrap_or(Some(red))?, channel().unwrap_or(Some(red))?])
}

/// The words that follow `mtllib` in an OBJ file, a line each, in order and each once: the name of a file, or of
/// several with blanks between. None of other kinds of files.
#[must_use]
pub fn material_files(bytes: &[u8]) -> Vec<String> {
    const WORD: &[u8] = b"mtllib";
    let mut names = Vec::new();
    if !crate::what::is_obj(bytes) {
        return names;
    }
    let text = text_of(bytes);
    let mut from = 0;
    // Lines of points and faces have no such letter, and are most of the file.
    while let Some(at) = text[from..].iter().position(|b| *b == b'm').map(|at| from + at) {
        from = at + 1;
        let begins = text[..at].iter().rev().find(|b| !matches!(b, b' ' | b'\t'));
        if !text[at..].starts_with(WORD) || !begins.is_none_or(|b| matches!(b, b'\n' | b'\r')) {
            continue;
        }
        let Some((_, line)) = (Lines { bytes: &text[at..], at: 0 }).next() else { break };
        let told = words(line).next() == Some(WORD);
        if let (true, Some(name)) = (told, rest_of(line, WORD))
            && !names.contains(&name)
            && names.len() < MOST_FILES
        {
            names.push(name);
        }
    }
    names
}

/// More are not looked for.
const MOST_FILES: usize = 64;

#[cfg(test)]
mod tests {
    use super::*;

    fn all(text: &str) -> Materials {
        Materials::of(&[Beside { name: "a.mtl".into(), bytes: Some(text.as_bytes().to_vec()) }])
    }

    #[test]
    fn diffuse_colours_of_named_materials() {
        let known = all(
            "Kd 1 1 1\nnewmtl brass \n Ka 0 0 0\n\tKd 0.5 0.25 0 # worn\nmap_Kd a.png\r\nnewmtl old rope\nKd 0.2\n\
             newmtl brass\nKd 0 0 1\nnewmtl glow\nKd spectral a.rfl 1\nnewmtl hot\nKd 7 -1 nan\nnewmtl red\nKd 1 0 0.0\n",
        );
        assert_eq!(known.colour("brass"), Some([128, 64, 0]));
        assert_eq!(known.colour("old rope"), Some([51; 3]));
        assert_eq!(known.colour("red"), Some([255, 0, 0]));
        assert_eq!(["glow", "hot", "", "worn"].map(|name| known.colour(name)), [None; 4]);
        assert!(known.finding().is_none());
    }

    #[test]
    fn a_file_that_is_not_there_is_told() {
        let missing = Beside { name: "x\n.mtl".into(), bytes: None };
        let finding = Materials::of(&[missing]).finding().unwrap();
        assert_eq!((finding.code, finding.count), (Code::MissingMaterials, 1));
        assert!(finding.hint.contains("'x.mtl'"), "{}", finding.hint);
    }

    #[test]
    fn names_stand_where_a_line_begins() {
        let points = "v 0 0 0\nv 1 0 0\nv 0 1 0\n";
        let text = format!(
            "mtllib a.mtl\n{points}#mtllib no.mtl\ng mtllib no\n \tmtllib b c.mtl\r\nmtllib a.mtl\nf 1 2 3\nmtllib"
        );
        assert_eq!(material_files(text.as_bytes()), ["a.mtl", "b c.mtl"]);
        assert_eq!(material_files(b"solid mtllib\nmtllib a\n"), [""; 0]);
    }

    // A backslash before a line's end, and blanks that are none of ASCII text, stood in names.
    #[test]
    fn names_hold_neither_line_ends_nor_blanks_at_their_ends() {
        let points = "v 0 0 0\nv 1 0 0\nv 0 1 0\n";
        let text = format!(
            "{points}mtllib \\\n a.mtl \\\r\n\tb.mtl\x0b\nmtllib\x01c.mtl\nmtllib \\\n\nmtllib d\\\n"
        );
        assert_eq!(material_files(text.as_bytes()), ["a.mtl    \tb.mtl", "c.mtl", "d"]);
        let known = all("\x01newmtl brass\nKd 1 0 0\nnewmtl \\\nhemp\nKd 0 1 0\nnewmtl a\\b\nKd 0 0 1\n");
        let want = [Some([255, 0, 0]), Some([0, 255, 0]), Some([0, 0, 255])];
        assert_eq!(["brass", "hemp", "a\\b"].map(|name| known.colour(name)), want);
    }
}

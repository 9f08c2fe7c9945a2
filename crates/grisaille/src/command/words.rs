//! `words`: the wording of the sheets, to be translated.

use crate::args::WordsFile;
use crate::failure::Failure;
use crate::files::{Output, print};
use grisaille_words::ENGLISH;
use std::path::Path;

/// The ending of a Fluent file.
const ENDING: &str = "ftl";

pub(crate) fn words(args: &WordsFile) -> Result<(), Failure> {
    match args.output.as_deref() {
        None => print(ENGLISH),
        Some(path) => open(path)?.keep(|out| out.write_all(ENGLISH.as_bytes())),
    }
}

fn open(path: &Path) -> Result<Output, Failure> {
    if path.extension().is_none_or(|e| !e.eq_ignore_ascii_case(ENDING)) {
        return Err(Failure::Usage(format!("'{}': words are written as .{ENDING}", path.display())));
    }
    Output::open(path, &[])
}

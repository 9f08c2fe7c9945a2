//! Why a scheme file could not be read.

use super::SCHEME_VERSION;
use std::ops::Range;

/// Why a scheme file could not be read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum DocumentError {
    /// A later version wrote it.
    #[error(
        "this scheme is of version {found}, and this grisaille reads up to version {SCHEME_VERSION}: \
         use a newer grisaille; the file is left as it is"
    )]
    Newer {
        /// The version that the file names.
        found: i64,
    },
    /// It is not what a scheme file looks like.
    #[error("line {line}: {why}")]
    Form {
        /// The line, from 1.
        line: usize,
        /// What is wrong there.
        why: String,
    },
    /// Its numbers or names make no sense.
    #[error(transparent)]
    Sense(#[from] crate::SchemeError),
}

pub(super) fn form(text: &str, span: Option<Range<usize>>, why: &str) -> DocumentError {
    let at = span.map_or(0, |s| s.start).min(text.len());
    let line = 1 + text.as_bytes()[..at].iter().filter(|b| **b == b'\n').count();
    let words: Vec<&str> = why.split_whitespace().collect();
    DocumentError::Form { line, why: words.join(" ") }
}

pub(super) fn sense(why: String) -> DocumentError {
    DocumentError::Sense(crate::SchemeError(why))
}

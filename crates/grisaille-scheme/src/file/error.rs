//! Why a scheme file could not be read, and where in it.

use std::ops::Range;

/// Why a scheme file could not be read: what is wrong, where, and what to do.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("line {line}, column {column}: {why}")]
pub struct DocumentError {
    /// The line, from 1.
    line: usize,
    /// The character in it, from 1.
    column: usize,
    /// The bytes of the text that are meant, from its first that is no byte order mark.
    span: Range<usize>,
    /// What is wrong and what to do, in one line.
    why: String,
}

impl DocumentError {
    /// An error at these bytes of a text.
    pub(super) fn at(text: &str, span: Range<usize>, why: impl Into<String>) -> Self {
        let start = (0..=span.start.min(text.len())).rev().find(|i| text.is_char_boundary(*i)).unwrap_or(0);
        let end =
            (span.end.max(start)..=text.len()).find(|i| text.is_char_boundary(*i)).unwrap_or(text.len());
        let before = &text[..start];
        let line_start = before.rfind('\n').map_or(0, |i| i + 1);
        Self {
            line: 1 + before.matches('\n').count(),
            column: 1 + before[line_start..].chars().count(),
            span: start..end,
            why: why.into(),
        }
    }

    /// The line, from 1.
    #[must_use]
    pub fn line(&self) -> usize {
        self.line
    }

    /// The character in the line, from 1.
    #[must_use]
    pub fn column(&self) -> usize {
        self.column
    }

    /// What is wrong and what to do, in one line.
    #[must_use]
    pub fn why(&self) -> &str {
        &self.why
    }

    /// The line of the text that was read, and below it a mark where it is meant;
    /// for a terminal, under the error itself.
    #[must_use]
    pub fn excerpt(&self, text: &str) -> String {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let line: Vec<char> = text.split('\n').nth(self.line - 1).unwrap_or_default().chars().collect();
        let meant = text.get(self.span.clone()).unwrap_or_default();
        let before = self.column - 1;
        let marks = meant.split('\n').next().map_or(0, |meant| meant.chars().count()).max(1);
        // A stroke over a region may hold hundreds of numbers: what is near is shown.
        let from = if before + marks <= WIDTH { 0 } else { before.saturating_sub(WIDTH / 3).min(line.len()) };
        let to = (from + WIDTH).min(line.len());
        let cut = |is_cut: bool| if is_cut { "…" } else { "" };
        // One column for each sign, tabs included, so that the mark stands below it.
        let plain = |c: &char| if c.is_control() { ' ' } else { *c };
        let shown: String = line[from..to].iter().map(plain).collect();
        let shown = format!("{}{}{}", cut(from > 0), shown, cut(to < line.len()));
        let number = self.line.to_string();
        let gutter = " ".repeat(number.len());
        let indent = " ".repeat(before - from + usize::from(from > 0));
        let mark = "^".repeat(marks.min(WIDTH.saturating_sub(before - from)).max(1));
        let line = format!("{number} | {shown}");
        format!("{gutter} |\n{}\n{gutter} | {indent}{mark}", line.trim_end())
    }
}

/// The most signs of a line that are shown.
const WIDTH: usize = 96;

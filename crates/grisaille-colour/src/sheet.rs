//! A table as spreadsheets save it: bytes to rows of cells, whatever the
//! encoding, the separator and the quotes.

/// A row of a table: the line of the file it begins in, from 1, and its cells.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Row {
    pub(crate) line: u64,
    pub(crate) cells: Vec<String>,
}

/// The separators that spreadsheets use.
pub(crate) const SEPARATORS: [char; 3] = [';', ',', '\t'];

/// The text of a file: UTF-8 or UTF-16 by its mark, else UTF-8, else Western
/// European (ISO 8859-1). `None` for what is no text at all.
pub(crate) fn text_of(bytes: &[u8]) -> Option<String> {
    let wide = |rest: &[u8], unit: fn([u8; 2]) -> u16| {
        let units: Vec<u16> = rest.chunks_exact(2).map(|c| unit([c[0], c[1]])).collect();
        String::from_utf16_lossy(&units)
    };
    let text = match bytes {
        [0xef, 0xbb, 0xbf, rest @ ..] => String::from_utf8_lossy(rest).into_owned(),
        [0xff, 0xfe, rest @ ..] => wide(rest, u16::from_le_bytes),
        [0xfe, 0xff, rest @ ..] => wide(rest, u16::from_be_bytes),
        _ => match std::str::from_utf8(bytes) {
            Ok(text) => text.to_owned(),
            Err(_) => bytes.iter().map(|b| char::from(*b)).collect(),
        },
    };
    let odd = text.chars().filter(|c| c.is_control() && !"\t\r\n\x0c".contains(*c)).count();
    (odd * 100 <= text.len()).then_some(text)
}

/// The rows of a text, empty ones left out, cells trimmed (RFC 4180, with any
/// separator and any line ends). Quotes group, unless they do not pair up in all
/// of the text: then they are only taken away, so that one that is left open does
/// not swallow what follows.
pub(crate) fn rows(text: &str, separator: char) -> Vec<Row> {
    let paired = quotes_pair(text);
    let mut reading = Reading { line: 1, ..Reading::default() };
    let mut out = Vec::new();
    let mut quoted = false;
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        let ends_line = c == '\n' || (c == '\r' && chars.peek() != Some(&'\n'));
        match c {
            '"' if paired && quoted && chars.peek() == Some(&'"') => {
                chars.next();
                reading.cell.push('"');
            }
            '"' if paired && (quoted || reading.cell.trim().is_empty()) => quoted = !quoted,
            '"' if !paired => {}
            _ if ends_line && !quoted => {
                reading.end_row(&mut out);
                reading.line += 1;
                reading.began = 0;
            }
            _ if c == separator && !quoted => reading.end_cell(),
            _ => {
                reading.line += u64::from(ends_line);
                reading.cell.push(c);
            }
        }
        if reading.began == 0 && !c.is_whitespace() {
            reading.began = reading.line;
        }
    }
    reading.end_row(&mut out);
    // A first line of a spreadsheet program that names the separator is no row.
    if out.first().is_some_and(|row| row.line == 1 && row.cells[0].to_ascii_lowercase().starts_with("sep=")) {
        out.remove(0);
    }
    out
}

/// A row on its way.
#[derive(Default)]
struct Reading {
    /// The line that is read.
    line: u64,
    /// The line the row began in, 0 before anything was seen of it.
    began: u64,
    cell: String,
    cells: Vec<String>,
}

impl Reading {
    fn end_cell(&mut self) {
        self.cells.push(self.cell.split_whitespace().collect::<Vec<_>>().join(" "));
        self.cell.clear();
    }

    fn end_row(&mut self, out: &mut Vec<Row>) {
        self.end_cell();
        let cells = std::mem::take(&mut self.cells);
        if cells.iter().any(|c| !c.is_empty()) {
            out.push(Row { line: self.began, cells });
        }
    }
}

/// Whether every quote that opens also closes.
pub(crate) fn quotes_pair(text: &str) -> bool {
    text.bytes().filter(|b| *b == b'"').count() % 2 == 0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_encoding_gives_the_same_text() {
        let text = "näme;hex\n";
        let with = |mark: &[u8], body: Vec<u8>| [mark, &body].concat();
        let wide = |unit: fn(u16) -> [u8; 2]| text.encode_utf16().flat_map(unit).collect::<Vec<u8>>();
        for bytes in [
            text.as_bytes().to_vec(),
            with(&[0xef, 0xbb, 0xbf], text.as_bytes().to_vec()),
            with(&[0xff, 0xfe], wide(u16::to_le_bytes)),
            with(&[0xfe, 0xff], wide(u16::to_be_bytes)),
            b"n\xe4me;hex\n".to_vec(),
        ] {
            assert_eq!(text_of(&bytes).as_deref(), Some(text));
        }
        assert_eq!(text_of(&[0, 1, 2, 3, 4, 5]), None);
        assert_eq!(text_of(b"").as_deref(), Some(""));
    }

    #[test]
    fn rows_know_their_line() {
        let cells = |row: &Row| row.cells.join("|");
        let found = rows("sep=;\r\na;\"b;\"\"c\"\"\" \r\n;;\r\n\r\n\"d\r\ne\";f\r\ng\r\n", ';');
        let lines: Vec<u64> = found.iter().map(|r| r.line).collect();
        assert_eq!(lines, [2, 5, 7]);
        assert_eq!(cells(&found[0]), "a|b;\"c\"");
        assert_eq!(cells(&found[1]), "d e|f");
        let open = rows("a,\"b\nc,d\n", ',');
        assert_eq!(open.len(), 2, "an open quote swallows nothing");
        assert_eq!(cells(&open[0]), "a|b");
    }
}

//! STL bytes, binary or text, parsed into a triangle soup.
//!
//! The kind is decided by length first: a file of exactly 84 + 50·n bytes,
//! with n in its count field, is binary whatever its header says (many
//! exporters begin a binary header with `solid`). Reference for both layouts:
//! the StereoLithography Interface Specification, 3D Systems, 1988.

use crate::read::ReadError;
use grisaille_base::{Code, Finding, Place};

/// Three corners in file order.
pub(crate) type Triangle = [[f32; 3]; 3];

const HEADER: usize = 84;
const RECORD: usize = 50;

/// Parses either kind.
pub(crate) fn parse(bytes: &[u8]) -> Result<(Vec<Triangle>, Vec<Finding>), ReadError> {
    if bytes.is_empty() {
        return Err(ReadError::Empty);
    }
    let announced =
        bytes.get(80..84).and_then(|b| b.try_into().ok()).map(|b: [u8; 4]| u64::from(u32::from_le_bytes(b)));
    if let Some(n) = announced
        && HEADER as u64 + RECORD as u64 * n == bytes.len() as u64
    {
        return Ok((records(&bytes[HEADER..]), Vec::new()));
    }
    if is_text(bytes) {
        return parse_text(bytes);
    }
    match announced {
        Some(n) => parse_damaged(bytes, n),
        None => Err(not_a_model(bytes)),
    }
}

fn records(bytes: &[u8]) -> Vec<Triangle> {
    bytes.chunks_exact(RECORD).map(record).collect()
}

fn record(bytes: &[u8]) -> Triangle {
    let number = |at: usize| {
        // 12 floats follow each other; the first three are the normal, which
        // is not trusted and not needed.
        let at = 12 + 4 * at;
        f32::from_le_bytes([bytes[at], bytes[at + 1], bytes[at + 2], bytes[at + 3]])
    };
    let corner = |c: usize| [number(3 * c), number(3 * c + 1), number(3 * c + 2)];
    [corner(0), corner(1), corner(2)]
}

/// A binary file whose length and count field disagree. Whole records are
/// kept, but only if they look like triangles at all: a picture or an archive
/// with the wrong name must not turn into a model.
fn parse_damaged(bytes: &[u8], announced: u64) -> Result<(Vec<Triangle>, Vec<Finding>), ReadError> {
    let present = ((bytes.len() - HEADER) / RECORD) as u64;
    let kept = present.min(if announced == 0 { present } else { announced });
    let body = &bytes[HEADER..HEADER + kept as usize * RECORD];
    let plausible = body.chunks_exact(RECORD).filter(|r| plausible(r)).count() as u64;
    if kept == 0 || plausible * 10 < kept * 9 {
        return Err(not_a_model(bytes));
    }
    let mut findings = Vec::new();
    if announced > present {
        findings.push(
            Finding::new(
                Code::TruncatedFile,
                announced - present,
                format!(
                    "the file announces {announced} triangles but ends after {present}; \
                     download or export it again if parts are missing"
                ),
            )
            .at(Place::Byte(bytes.len() as u64)),
        );
    } else {
        findings.push(
            Finding::new(
                Code::TrailingBytes,
                bytes.len() as u64 - (HEADER as u64 + kept * RECORD as u64),
                "bytes after the last announced triangle were not read",
            )
            .at(Place::Byte(HEADER as u64 + kept * RECORD as u64)),
        );
    }
    Ok((records(body), findings))
}

/// Numbers a real model could hold: zero or of a size between a nanometre
/// and ten kilometres, with a normal that is a unit vector or zero.
fn plausible(record_bytes: &[u8]) -> bool {
    let number = |at: usize| {
        f32::from_le_bytes([
            record_bytes[4 * at],
            record_bytes[4 * at + 1],
            record_bytes[4 * at + 2],
            record_bytes[4 * at + 3],
        ])
    };
    let normal: f32 = (0..3).map(|i| number(i) * number(i)).sum();
    normal <= 1.1
        && (3..12).all(|i| {
            let x = number(i).abs();
            x == 0.0 || (1e-6..1e7).contains(&x)
        })
}

fn not_a_model(bytes: &[u8]) -> ReadError {
    let kinds: [(&[u8], &'static str); 9] = [
        (b"\x89PNG", "a PNG picture"),
        (b"\xff\xd8\xff", "a JPEG picture"),
        (b"GIF8", "a GIF picture"),
        (b"RIFF", "a WebP picture or another RIFF file"),
        (b"PK\x03\x04", "a zip archive (a 3MF file, or models still packed)"),
        (b"%PDF", "a PDF document"),
        (b"ply", "a PLY model"),
        (b"glTF", "a GLB model"),
        (b"7z\xbc\xaf", "a 7z archive"),
    ];
    let looks_like = kinds.iter().find(|(magic, _)| bytes.starts_with(magic)).map(|(_, kind)| *kind);
    ReadError::NotAModel { looks_like }
}

fn without_lead(bytes: &[u8]) -> &[u8] {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let start = bytes.iter().position(|b| !b.is_ascii_whitespace()).unwrap_or(bytes.len());
    &bytes[start..]
}

/// Text begins with `solid` and holds a text keyword near its beginning.
fn is_text(bytes: &[u8]) -> bool {
    let lead = without_lead(bytes);
    if !starts_with_word(lead, b"solid") {
        return false;
    }
    let head = &lead[..lead.len().min(4096)];
    head.len() < 80 || contains_word(head, b"facet") || contains_word(head, b"endsolid")
}

fn starts_with_word(bytes: &[u8], word: &[u8]) -> bool {
    bytes.len() >= word.len()
        && bytes[..word.len()].eq_ignore_ascii_case(word)
        && bytes.get(word.len()).is_none_or(u8::is_ascii_whitespace)
}

fn contains_word(bytes: &[u8], word: &[u8]) -> bool {
    bytes.windows(word.len()).any(|w| w.eq_ignore_ascii_case(word))
}

/// Words of a text file with the line each stands on.
struct Words<'a> {
    bytes: &'a [u8],
    at: usize,
    line: u64,
}

impl<'a> Words<'a> {
    fn next(&mut self) -> Option<&'a [u8]> {
        while let Some(b) = self.bytes.get(self.at) {
            if !b.is_ascii_whitespace() {
                break;
            }
            self.line += u64::from(*b == b'\n');
            self.at += 1;
        }
        let start = self.at;
        while self.bytes.get(self.at).is_some_and(|b| !b.is_ascii_whitespace()) {
            self.at += 1;
        }
        (self.at > start).then(|| &self.bytes[start..self.at])
    }

    /// Skips a solid's name: the rest of the line, or up to a `facet` on the
    /// same line in files whose line breaks were taken out.
    fn skip_name(&mut self) {
        let rest = &self.bytes[self.at..];
        let end = rest.iter().position(|b| matches!(b, b'\n' | b'\r')).unwrap_or(rest.len());
        // A name may hold the word itself, but not followed by its own grammar.
        let opens = |text: &[u8]| {
            let mut words = Words { bytes: text, at: 0, line: 0 };
            match words.next() {
                Some(w) if w.eq_ignore_ascii_case(b"endsolid") => true,
                Some(w) if w.eq_ignore_ascii_case(b"facet") => words
                    .next()
                    .is_some_and(|w| w.eq_ignore_ascii_case(b"normal") || w.eq_ignore_ascii_case(b"outer")),
                _ => false,
            }
        };
        let facet = (0..end).find(|&i| {
            (i == 0 || rest[i - 1].is_ascii_whitespace())
                && !rest[i].is_ascii_whitespace()
                && opens(&rest[i..])
        });
        self.at += facet.unwrap_or(end);
    }
}

/// The text kind. Keywords in any case; a loop of more than three corners is
/// cut into a fan, one of fewer is left out.
fn parse_text(bytes: &[u8]) -> Result<(Vec<Triangle>, Vec<Finding>), ReadError> {
    let mut words = Words { bytes: without_lead(bytes), at: 0, line: 1 };
    let mut soup = Vec::new();
    let mut corners: Vec<[f32; 3]> = Vec::with_capacity(4);
    let mut malformed = 0_u64;
    let mut first_malformed = None;
    let mut unreadable = false;
    while let Some(word) = words.next() {
        if word.eq_ignore_ascii_case(b"vertex") {
            let mut corner = [0.0; 3];
            for x in &mut corner {
                match words.next().and_then(number) {
                    Some(value) => *x = value,
                    None => unreadable = true,
                }
            }
            corners.push(corner);
        } else if word.eq_ignore_ascii_case(b"endloop") || word.eq_ignore_ascii_case(b"endfacet") {
            // `endfacet` closes what a missing `endloop` left open.
            if !corners.is_empty() || (unreadable && word.eq_ignore_ascii_case(b"endloop")) {
                if corners.len() != 3 || unreadable {
                    malformed += 1;
                    first_malformed.get_or_insert(words.line);
                }
                if !unreadable {
                    for i in 2..corners.len() {
                        soup.push([corners[0], corners[i - 1], corners[i]]);
                    }
                }
            }
            corners.clear();
            unreadable = false;
        } else if word.eq_ignore_ascii_case(b"solid") || word.eq_ignore_ascii_case(b"endsolid") {
            words.skip_name();
        }
    }
    let mut findings = Vec::new();
    if malformed > 0 {
        let finding = Finding::new(
            Code::MalformedFacets,
            malformed,
            "facets without exactly three readable corners: larger ones were cut into triangles, \
             the others left out",
        );
        findings.push(match first_malformed {
            Some(line) => finding.at(Place::Line(line)),
            None => finding,
        });
    }
    Ok((soup, findings))
}

fn number(word: &[u8]) -> Option<f32> {
    std::str::from_utf8(word).ok()?.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn binary(header: &[u8], count: u32, triangles: &[Triangle]) -> Vec<u8> {
        let mut bytes = header.to_vec();
        bytes.resize(80, 0);
        bytes.extend(count.to_le_bytes());
        for t in triangles {
            bytes.extend([0; 12]);
            bytes.extend(t.iter().flatten().flat_map(|x| x.to_le_bytes()));
            bytes.extend([0; 2]);
        }
        bytes
    }

    const T: Triangle = [[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.5]];

    #[test]
    fn binary_is_told_by_its_length_even_when_the_header_says_solid() {
        let (soup, findings) = parse(&binary(b"solid facet", 2, &[T, T])).unwrap();
        assert_eq!(soup, [T, T]);
        assert!(findings.is_empty());
    }

    #[test]
    fn a_truncated_file_keeps_its_whole_records() {
        let mut bytes = binary(b"x", 3, &[T, T, T]);
        bytes.truncate(bytes.len() - 7);
        let (soup, findings) = parse(&bytes).unwrap();
        assert_eq!(soup.len(), 2);
        assert_eq!((findings[0].code, findings[0].count), (Code::TruncatedFile, 1));
    }

    #[test]
    fn trailing_bytes_are_a_finding() {
        let mut bytes = binary(b"x", 1, &[T]);
        bytes.extend(b"made by hand");
        let (soup, findings) = parse(&bytes).unwrap();
        assert_eq!(soup, [T]);
        assert_eq!((findings[0].code, findings[0].count), (Code::TrailingBytes, 12));
    }

    #[test]
    fn text_of_every_habit() {
        for text in [
            "solid my facet vertex name\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nvertex 0 1 0.5\nendloop\nendfacet\nendsolid\n",
            "SOLID\r\nFACET NORMAL 0 0 1\r\nOUTER LOOP\r\nVERTEX 0 0 0\r\nVERTEX 1.0e0 0 0\r\nVERTEX 0 1 5e-1\r\nENDLOOP\r\nENDFACET",
            "\u{feff}  solid facet normal 0 0 1 outer loop vertex 0 0 0 vertex 1 0 0 vertex 0 1 .5 endloop endfacet endsolid",
        ] {
            let (soup, findings) = parse(text.as_bytes()).unwrap();
            assert_eq!(soup, [T], "{text}");
            assert!(findings.is_empty());
        }
    }

    #[test]
    fn a_facet_with_a_bad_number_is_left_out_and_its_line_named() {
        let text = "solid\nfacet\nouter loop\nvertex 0 0 zero\nvertex 1 0 0\nvertex 0 1 0\nendloop\nendfacet\nendsolid";
        let (soup, findings) = parse(text.as_bytes()).unwrap();
        assert!(soup.is_empty());
        assert_eq!(findings[0].place, Some(Place::Line(7)));
    }

    #[test]
    fn pictures_and_archives_are_named() {
        let mut png = b"\x89PNG\r\n\x1a\n".to_vec();
        png.extend((0..4000_u32).flat_map(|i| i.wrapping_mul(2_654_435_761).to_le_bytes()));
        assert!(matches!(parse(&png), Err(ReadError::NotAModel { looks_like: Some("a PNG picture") })));
        assert!(matches!(parse(b"hello"), Err(ReadError::NotAModel { looks_like: None })));
        assert!(matches!(parse(b""), Err(ReadError::Empty)));
    }
}

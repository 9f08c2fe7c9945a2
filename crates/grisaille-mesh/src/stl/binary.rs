//! The binary kind: 80 bytes of header, a count, records of 50 bytes.

use super::colour::colours;
use crate::read::ReadError;
use crate::soup::{Point, Soup};
use crate::what::looks_like;
use grisaille_base::{Code, Finding, Place};
use rayon::prelude::*;

const HEADER: usize = 84;
const RECORD: usize = 50;

/// The count field, where there is one.
fn announced(bytes: &[u8]) -> Option<u64> {
    let field: [u8; 4] = bytes.get(80..84)?.try_into().ok()?;
    Some(u64::from(u32::from_le_bytes(field)))
}

/// Whether a file's length is exactly what its count field says.
pub(crate) fn is_exact(bytes: &[u8]) -> bool {
    announced(bytes).is_some_and(|n| HEADER as u64 + RECORD as u64 * n == bytes.len() as u64)
}

/// A file whose length is exactly what its count field says.
pub(crate) fn parse_exact(bytes: &[u8]) -> Option<Soup> {
    is_exact(bytes).then(|| records(bytes, bytes.len()))
}

/// The records up to byte `end`, side by side.
fn records(bytes: &[u8], end: usize) -> Soup {
    let body = &bytes[HEADER..end];
    let count = body.len() / RECORD;
    let mut points: Vec<Point> = vec![[0.0; 3]; 3 * count];
    let mut words = vec![0_u16; count];
    points
        .par_chunks_exact_mut(3)
        .zip(&mut words)
        .zip(body.par_chunks_exact(RECORD))
        .with_min_len(4096)
        .for_each(|((triangle, word), record)| {
            // The first three of the 12 floats are the normal, which is not
            // trusted and not needed.
            for (point, bytes) in triangle.iter_mut().zip(record[12..48].chunks_exact(12)) {
                for (x, bytes) in point.iter_mut().zip(bytes.chunks_exact(4)) {
                    *x = f32::from_le_bytes([bytes[0], bytes[1], bytes[2], bytes[3]]);
                }
            }
            *word = u16::from_le_bytes([record[48], record[49]]);
        });
    let mut soup = Soup::of_triangles(points);
    if let Some((mark_of_face, marks)) = colours(&bytes[..80], &words) {
        (soup.mark_of_face, soup.marks) = (mark_of_face, marks);
    }
    soup
}

/// A file whose length and count field disagree. Whole records are kept, but
/// only if they look like triangles at all: a picture or an archive with the
/// wrong name must not turn into a model.
pub(crate) fn parse_damaged(bytes: &[u8]) -> Result<(Soup, Vec<Finding>), ReadError> {
    let refused = || match text_mode(bytes) {
        Some(how) => ReadError::TextMode { how },
        None => ReadError::NotAModel { looks_like: looks_like(bytes) },
    };
    let Some(announced) = announced(bytes) else {
        return Err(refused());
    };
    if announced == 0 && bytes.len() == HEADER {
        return Err(ReadError::NoTriangles);
    }
    let body = &bytes[HEADER..];
    let present = (body.len() / RECORD) as u64;
    let kept = present.min(if announced == 0 { present } else { announced });
    let (first, rest) = body.split_at(kept as usize * RECORD);
    if kept == 0 || !plausible(first) || (announced != present && damaged(bytes)) {
        return Err(refused());
    }
    // More whole triangles than announced, and nothing else: the count is wrong.
    let more = kept < present
        && rest.len().is_multiple_of(RECORD)
        && plausible(rest)
        && rest.iter().any(|b| *b != 0);
    let kept = if more { present } else { kept };
    let end = HEADER + kept as usize * RECORD;
    let byte = |at: usize| Place::Byte(at as u64);
    let finding = if announced != kept && end == bytes.len() {
        let hint = format!(
            "the file announces {announced} triangles and holds {kept} whole ones, which were all read; \
             download or export it again if parts are missing"
        );
        Finding::new(Code::WrongCount, announced.abs_diff(kept), hint).at(byte(80))
    } else if announced > present {
        let hint = format!(
            "the file announces {announced} triangles but ends after {present}; \
             download or export it again if parts are missing"
        );
        Finding::new(Code::TruncatedFile, announced - present, hint).at(byte(bytes.len()))
    } else {
        let hint = "bytes after the last announced triangle were not read";
        Finding::new(Code::TrailingBytes, (bytes.len() - end) as u64, hint).at(byte(end))
    };
    Ok((records(bytes, end), vec![finding]))
}

/// Whether at least nine in ten records hold numbers that a real model could:
/// zero or of a size between a nanometre and ten kilometres. Nine numbers of
/// noise do so about once in ten million times.
fn plausible(body: &[u8]) -> bool {
    let one = |record: &[u8]| {
        record[12..48].chunks_exact(4).all(|b| {
            let x = f32::from_le_bytes([b[0], b[1], b[2], b[3]]).abs();
            x < 1e-30 || (1e-6..1e7).contains(&x)
        })
    };
    let records = body.chunks_exact(RECORD);
    let all = records.len();
    let sound = records.filter(|r| one(r)).count();
    sound * 10 >= all * 9
}

/// Whether bytes that no text may hold were replaced, whatever the records
/// still look like.
fn damaged(bytes: &[u8]) -> bool {
    replaced(bytes) >= 3
}

/// How often U+FFFD stands in the body, in UTF-8: what a program writes for
/// bytes that are no text.
fn replaced(bytes: &[u8]) -> usize {
    bytes[HEADER.min(bytes.len())..].windows(3).filter(|w| *w == b"\xef\xbf\xbd").count()
}

/// How a binary file was damaged by being handled as text, where that shows.
fn text_mode(bytes: &[u8]) -> Option<&'static str> {
    if bytes.len() < HEADER {
        return None;
    }
    if replaced(bytes) >= 3 {
        return Some("bytes that are no letters were replaced");
    }
    let feeds = bytes.iter().filter(|b| **b == b'\n').count();
    let pairs = bytes.windows(2).filter(|w| *w == b"\r\n").count();
    let surplus = announced_with_pairs_undone(bytes, pairs);
    if feeds > 0 && feeds == pairs && surplus {
        return Some("a carriage return was put before every line feed");
    }
    None
}

/// Whether the file would have the length it announces without its carriage returns.
fn announced_with_pairs_undone(bytes: &[u8], pairs: usize) -> bool {
    // Pairs before the count field move it.
    let head: Vec<u8> = bytes
        .iter()
        .enumerate()
        .filter(|&(i, b)| !(*b == b'\r' && bytes.get(i + 1) == Some(&b'\n')))
        .map(|(_, b)| *b)
        .take(HEADER)
        .collect();
    announced(&head).is_some_and(|n| HEADER as u64 + RECORD as u64 * n == (bytes.len() - pairs) as u64)
}

#[cfg(test)]
mod tests {
    use super::super::parse;
    use super::*;

    fn binary(header: &[u8], count: u32, triangles: &[[Point; 3]]) -> Vec<u8> {
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

    const T: [Point; 3] = [[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.5]];

    fn found(bytes: &[u8]) -> (usize, Vec<(Code, u64)>) {
        let (soup, findings) = parse(bytes).unwrap();
        (soup.len(), findings.iter().map(|f| (f.code, f.count)).collect())
    }

    #[test]
    fn binary_is_told_by_its_length_even_when_the_header_says_solid() {
        let (soup, findings) = parse(&binary(b"solid facet", 2, &[T, T])).unwrap();
        assert_eq!(soup.points, [T, T].concat());
        assert!(findings.is_empty());
        // Cut short, such a file still shows by its records.
        let mut cut = binary(b"solid facet\nendsolid", 3, &[T, T, T]);
        cut.truncate(cut.len() - 7);
        assert_eq!(found(&cut), (2, vec![(Code::TruncatedFile, 1)]));
    }

    #[test]
    fn a_truncated_file_keeps_its_whole_records() {
        let mut bytes = binary(b"x", 3, &[T, T, T]);
        bytes.truncate(bytes.len() - 7);
        assert_eq!(found(&bytes), (2, vec![(Code::TruncatedFile, 1)]));
    }

    #[test]
    fn trailing_bytes_and_wrong_counts_are_told_apart() {
        let mut bytes = binary(b"x", 1, &[T]);
        bytes.extend(b"made by hand");
        assert_eq!(found(&bytes), (1, vec![(Code::TrailingBytes, 12)]));
        // Padding to whole records is no triangle; real records are.
        let mut bytes = binary(b"x", 1, &[T]);
        bytes.extend([0; 100]);
        assert_eq!(found(&bytes), (1, vec![(Code::TrailingBytes, 100)]));
        assert_eq!(found(&binary(b"x", 1, &[T, T, T])), (3, vec![(Code::WrongCount, 2)]));
        assert_eq!(found(&binary(b"x", 0, &[T, T])), (2, vec![(Code::WrongCount, 2)]));
        assert_eq!(found(&binary(b"x", 66, &[T, T])), (2, vec![(Code::WrongCount, 64)]));
        assert_eq!(
            found(&binary(b"x", u32::MAX, &[T])),
            (1, vec![(Code::WrongCount, u64::from(u32::MAX) - 1)])
        );
    }

    #[test]
    fn a_file_sent_as_text_is_refused_with_the_reason() {
        let odd = [[0.1_f32, 0.9, 0.3], [-1.7, 2.4, -0.6], [0.7, -1.1, 0.2]];
        let sound = binary(b"x", 40, &[odd; 40]);
        // What decoding as UTF-8 and encoding again leaves.
        let lossy = String::from_utf8_lossy(&sound).into_owned().into_bytes();
        assert!(lossy.len() > sound.len());
        assert!(matches!(parse(&lossy), Err(ReadError::TextMode { .. })));
        // A coordinate that holds a line feed byte: 0x410a0000 is 8.625.
        let feeds = binary(b"x", 40, &[[[8.625, 0.0, 1.0], odd[1], odd[2]]; 40]);
        let mut crlf = Vec::new();
        for b in &feeds {
            if *b == b'\n' {
                crlf.push(b'\r');
            }
            crlf.push(*b);
        }
        assert_eq!(crlf.len(), feeds.len() + 40);
        assert!(matches!(parse(&crlf), Err(ReadError::TextMode { .. })));
    }

    #[test]
    fn pictures_and_archives_are_named() {
        let mut png = b"\x89PNG\r\n\x1a\n".to_vec();
        png.extend((0..4000_u32).flat_map(|i| i.wrapping_mul(2_654_435_761).to_le_bytes()));
        assert!(matches!(parse(&png), Err(ReadError::NotAModel { looks_like: Some("a PNG picture") })));
        assert!(matches!(parse(b"hello"), Err(ReadError::NotAModel { looks_like: None })));
    }
}

//! The text kind, in every habit that is met: any case, any line ends,
//! comments, missing words, several solids, decimal commas.
//!
//! A file is cut at lines that begin with `facet`, and the stretches are read
//! side by side. A facet begins anew wherever that word stands, whatever came
//! before it, so the result does not depend on where the file was cut.

use crate::soup::{Mark, Point, Soup, Tally, line_of_byte};
use crate::text::{number_of, text_of};
use grisaille_base::{Code, Finding, Place};
use rayon::prelude::*;

/// Bytes of one stretch; small enough to share the work out evenly.
const STRETCH: usize = 1 << 20;

/// Text begins with `solid` or `facet`, perhaps after comments, and holds a
/// keyword of text near its beginning.
pub(crate) fn is_text(bytes: &[u8]) -> bool {
    let bytes = text_of(&bytes[..bytes.len().min(4096)]);
    let mut words = Words { bytes: &bytes, at: 0 };
    let Some(word) = words.next() else { return false };
    if word.eq_ignore_ascii_case(b"facet") {
        return words
            .next()
            .is_some_and(|w| w.eq_ignore_ascii_case(b"normal") || w.eq_ignore_ascii_case(b"outer"));
    }
    word.eq_ignore_ascii_case(b"solid")
        && (bytes.len() < 80 || contains_word(&bytes, b"facet") || contains_word(&bytes, b"endsolid"))
}

fn contains_word(bytes: &[u8], word: &[u8]) -> bool {
    bytes.windows(word.len()).any(|w| w.eq_ignore_ascii_case(word))
}

/// Blanks, line ends and the zero bytes that some programs leave between.
fn is_blank(b: u8) -> bool {
    b <= b' '
}

/// The words of some text; comments, from `#` to the end of the line, are passed over.
struct Words<'a> {
    bytes: &'a [u8],
    at: usize,
}

impl<'a> Words<'a> {
    fn next(&mut self) -> Option<&'a [u8]> {
        loop {
            while self.bytes.get(self.at).is_some_and(|b| is_blank(*b)) {
                self.at += 1;
            }
            if self.bytes.get(self.at) != Some(&b'#') {
                break;
            }
            self.at += self.line_left();
        }
        let start = self.at;
        while self.bytes.get(self.at).is_some_and(|b| !is_blank(*b)) {
            self.at += 1;
        }
        (self.at > start).then(|| &self.bytes[start..self.at])
    }

    /// Bytes up to the end of the line.
    fn line_left(&self) -> usize {
        let rest = &self.bytes[self.at..];
        rest.iter().position(|b| matches!(b, b'\n' | b'\r')).unwrap_or(rest.len())
    }

    /// Takes a solid's name: the rest of the line, or up to a `facet` on the
    /// same line in files whose line breaks were taken out.
    fn name(&mut self) -> &'a [u8] {
        let rest = &self.bytes[self.at..];
        let line = self.line_left();
        // A name may hold the word itself, but not followed by its own grammar.
        let opens = |text: &[u8]| {
            let mut words = Words { bytes: text, at: 0 };
            match words.next() {
                Some(w) if w.eq_ignore_ascii_case(b"endsolid") => true,
                Some(w) if w.eq_ignore_ascii_case(b"facet") => words
                    .next()
                    .is_some_and(|w| w.eq_ignore_ascii_case(b"normal") || w.eq_ignore_ascii_case(b"outer")),
                _ => false,
            }
        };
        let facet = (0..line).find(|&i| {
            (i == 0 || is_blank(rest[i - 1]))
                && matches!(rest[i], b'f' | b'F' | b'e' | b'E')
                && opens(&rest[i..])
        });
        let end = facet.unwrap_or(line);
        self.at += end;
        let name = &rest[..end];
        name.split(|b| *b == b'#').next().unwrap_or(name).trim_ascii()
    }
}

/// What one stretch gave.
#[derive(Default)]
struct Stretch {
    points: Vec<Point>,
    /// From which triangle on another solid's name holds.
    names: Vec<(usize, Option<String>)>,
    /// Facets without exactly three readable corners, by their bytes.
    malformed: Tally,
    commas: Tally,
    /// Ends within a facet.
    open: bool,
    /// The last word that was read was `endsolid`.
    ended: bool,
}

/// Reads a text file. A loop of more than three corners is cut into a fan, one of
/// fewer is left out.
pub(crate) fn parse(bytes: &[u8]) -> (Soup, Vec<Finding>) {
    let decoded = text_of(bytes);
    let text: &[u8] = &decoded;
    let cuts = cuts(text);
    let read: Vec<Stretch> = cuts.par_windows(2).map(|ends| stretch(text, ends[0], ends[1])).collect();
    let mut soup =
        Soup { points: Vec::with_capacity(read.iter().map(|s| s.points.len()).sum()), ..Soup::default() };
    let (mut malformed, mut commas) = (Tally::default(), Tally::default());
    let mut names: Vec<(usize, Option<String>)> = Vec::new();
    let (mut open, mut ended) = (false, false);
    for mut part in read {
        let before = soup.points.len() / 3;
        names.extend(part.names.into_iter().map(|(f, name)| (before + f, name)));
        soup.points.append(&mut part.points);
        malformed.append(part.malformed);
        commas.append(part.commas);
        (open, ended) = (part.open, part.ended);
    }
    mark(&mut soup, &names);
    let line = |at| Place::Line(line_of_byte(text, at));
    let mut findings = Vec::new();
    if open {
        let hint = "the text ends within a triangle, which was left out; \
             download or export the file again if parts are missing";
        findings.push(Finding::new(Code::TruncatedFile, 1, hint).at(line(text.len() as u64)));
    } else if !ended {
        let hint = "the text ends without the word 'endsolid'; \
             download or export the file again if parts are missing";
        findings.push(Finding::new(Code::MissingEnd, 1, hint).at(line(text.len() as u64)));
    }
    findings.extend(malformed.finding(
        Code::MalformedFacets,
        "facets without exactly three readable corners: larger ones were cut into triangles, \
             the others left out",
        line,
    ));
    findings.extend(commas.finding(
        Code::DecimalCommas,
        "numbers were written with a decimal comma and were read as if with a point",
        line,
    ));
    (soup, findings)
}

/// Where the text is cut: at its ends and at lines that begin with `facet`.
fn cuts(text: &[u8]) -> Vec<usize> {
    let mut cuts = vec![0];
    let mut at = STRETCH;
    while at < text.len() {
        let from = at;
        let begins = |i: usize| {
            let line_start = text[..i]
                .iter()
                .rposition(|b| !matches!(b, b' ' | b'\t'))
                .is_none_or(|p| matches!(text[p], b'\n' | b'\r'));
            line_start
                && text.get(i + 5).is_some_and(|b| is_blank(*b))
                && text[i..i + 5].eq_ignore_ascii_case(b"facet")
        };
        // A file without such lines is read in one go.
        let Some(next) =
            (from..text.len().saturating_sub(5)).find(|&i| matches!(text[i], b'f' | b'F') && begins(i))
        else {
            break;
        };
        cuts.push(next);
        at = next + STRETCH;
    }
    cuts.push(text.len());
    cuts
}

fn stretch(whole: &[u8], begin: usize, end: usize) -> Stretch {
    let text = &whole[begin..end];
    let mut out = Stretch { points: Vec::with_capacity(text.len() / 80), ..Stretch::default() };
    let mut words = Words { bytes: text, at: 0 };
    let mut loops = Loop::default();
    while let Some(word) = words.next() {
        let here = (begin + words.at - word.len()) as u64;
        let is = |keyword: &[u8]| word.eq_ignore_ascii_case(keyword);
        if is(b"vertex") {
            loops.corner(&mut words, here, &mut out.commas);
        } else if is(b"facet") || is(b"endloop") || is(b"endfacet") {
            loops.close(&mut out, here);
            out.open = is(b"facet");
            out.ended = false;
        } else if is(b"solid") || is(b"endsolid") {
            loops.close(&mut out, here);
            out.ended = is(b"endsolid");
            out.open = false;
            let name = words.name();
            let name = (!out.ended && !name.is_empty()).then(|| String::from_utf8_lossy(name).into_owned());
            out.names.push((out.points.len() / 3, name));
        }
    }
    if end < whole.len() {
        // The word that begins the next stretch closes what is open.
        loops.close(&mut out, end as u64);
    } else if !loops.corners.is_empty() || loops.unreadable {
        out.open = true;
    }
    out
}

/// The corners of one loop so far.
#[derive(Default)]
struct Loop {
    corners: Vec<Point>,
    unreadable: bool,
}

impl Loop {
    fn corner(&mut self, words: &mut Words, here: u64, commas: &mut Tally) {
        let mut corner = [0.0; 3];
        for x in &mut corner {
            let before = words.at;
            let Some(word) = words.next() else {
                self.unreadable = true;
                return;
            };
            if let Some((value, comma)) = number_of(word) {
                *x = value;
                if comma {
                    commas.note(here);
                }
            } else {
                // The word may be the next keyword.
                words.at = before;
                self.unreadable = true;
                return;
            }
        }
        self.corners.push(corner);
    }

    fn close(&mut self, out: &mut Stretch, here: u64) {
        if self.corners.is_empty() && !self.unreadable {
            return;
        }
        if self.corners.len() != 3 || self.unreadable {
            out.malformed.note(here);
        }
        if !self.unreadable {
            for i in 2..self.corners.len() {
                out.points.extend([self.corners[0], self.corners[i - 1], self.corners[i]]);
            }
        }
        self.corners.clear();
        self.unreadable = false;
    }
}

/// Gives each triangle the name of its solid.
fn mark(soup: &mut Soup, names: &[(usize, Option<String>)]) {
    if names.len() < 2 {
        return;
    }
    soup.marks.push(Mark::default());
    for (n, (first, name)) in names.iter().enumerate() {
        soup.mark_of_face.resize(*first, n as u32);
        soup.marks.push(Mark { name: name.clone(), colour: None });
    }
    soup.mark_of_face.resize(soup.len(), names.len() as u32);
}

#[cfg(test)]
mod tests {
    use super::super::parse;
    use super::*;

    const T: [Point; 3] = [[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.5]];
    const FACET: &str =
        "facet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nvertex 0 1 0.5\nendloop\nendfacet\n";

    fn found(text: &str) -> (usize, Vec<(Code, u64)>) {
        let (soup, findings) = parse(text.as_bytes()).unwrap();
        (soup.len(), findings.iter().map(|f| (f.code, f.count)).collect())
    }

    #[test]
    fn text_of_every_habit() {
        let body = format!("solid\n{FACET}endsolid\n");
        let commented = FACET.replace('\n', " # a remark\n # vertex 9 9 9\n");
        let wide = |low: usize| {
            let units = format!("\u{feff}{body}").encode_utf16().map(u16::to_le_bytes).collect::<Vec<_>>();
            units.iter().flat_map(|[a, b]| if low == 0 { [*a, *b] } else { [*b, *a] }).collect::<Vec<u8>>()
        };
        for text in [
            format!("solid my facet vertex name\n{FACET}endsolid\n").into_bytes(),
            body.replace('\n', "\r\n").to_uppercase().into_bytes(),
            body.replace('\n', "\r").into_bytes(),
            body.replace('\n', "\0\0\n").into_bytes(),
            format!("# first\n\r\n# second\nsolid x # named\n{commented}endsolid").into_bytes(),
            "\u{feff}  solid facet normal 0 0 1 outer loop vertex 0 0 0 vertex 1 0 0 vertex 0 1 .5 endloop endfacet endsolid".into(),
            format!("{FACET}endsolid").into_bytes(),
            body.replace(" normal 0 0 1", "").replace("endloop\n", "").into_bytes(),
            body.replace("normal 0 0 1", "normal nan nan nan").into_bytes(),
            [b"solid \xff\xfe\xe9\n", FACET.as_bytes(), b"endsolid \xff\n"].concat(),
            wide(0),
            wide(1),
        ] {
            let (soup, findings) = parse(&text).unwrap();
            assert_eq!(soup.points, T, "{}", String::from_utf8_lossy(&text));
            assert!(findings.is_empty(), "{findings:?} in {}", String::from_utf8_lossy(&text));
        }
    }

    #[test]
    fn a_text_cut_short_tells_so() {
        assert_eq!(found(&format!("solid\n{FACET}")), (1, vec![(Code::MissingEnd, 1)]));
        for end in [
            "facet",
            "facet normal 0 0 1 outer loop",
            "facet normal 0 0 1 outer loop vertex 0 0",
            "facet outer loop vertex 1 2 3",
        ] {
            assert_eq!(found(&format!("solid\n{FACET}{end}")), (1, vec![(Code::TruncatedFile, 1)]), "{end}");
        }
    }

    #[test]
    fn a_facet_with_a_bad_number_is_left_out_and_its_line_named() {
        let text = format!(
            "solid\nfacet\nouter loop\nvertex 0 0 zero\nvertex 1 0 0\nvertex 0 1 0\nendloop\nendfacet\n{FACET}endsolid"
        );
        let (soup, findings) = parse(text.as_bytes()).unwrap();
        assert_eq!(soup.points, T);
        assert_eq!((findings[0].code, findings[0].place), (Code::MalformedFacets, Some(Place::Line(7))));
    }

    #[test]
    fn decimal_commas_are_read_and_told() {
        let text = format!("solid\n{}endsolid", FACET.replace("0.5", "0,5"));
        let (soup, findings) = parse(text.as_bytes()).unwrap();
        assert_eq!(soup.points, T);
        assert_eq!(
            (findings[0].code, findings[0].count, findings[0].place),
            (Code::DecimalCommas, 1, Some(Place::Line(6)))
        );
    }

    #[test]
    fn solids_are_named_parts() {
        let text =
            format!("solid Boot left\n{FACET}{FACET}endsolid Boot left\nsolid suit\n{FACET}endsolid\n");
        let (mut soup, findings) = parse(text.as_bytes()).unwrap();
        assert!(findings.is_empty());
        soup.settle_marks();
        let names: Vec<_> = soup.marks.iter().map(|m| m.name.as_deref().unwrap()).collect();
        assert_eq!((names, soup.mark_of_face), (vec!["Boot left", "suit"], vec![0, 0, 1]));
    }

    #[test]
    fn a_long_file_reads_the_same_in_stretches_as_in_one() {
        // Facets that a stretch's end may fall into, some of them broken.
        let mut text = String::from("solid one\n");
        for i in 0..40_000 {
            let facet = FACET.replace("0.5", &i.to_string());
            text += match i % 1000 {
                7 => facet.replace("endloop\nendfacet\n", ""),
                8 => facet.replace("vertex 1 0 0\n", ""),
                9 => facet.replace("facet normal", "  FACET normal"),
                10 => format!("endsolid one\nsolid {i}\n{facet}"),
                _ => facet,
            }
            .as_str();
        }
        text += "endsolid";
        assert!(cuts(text.as_bytes()).len() > 3);
        let whole = stretch(text.as_bytes(), 0, text.len());
        let (soup, findings) = parse(text.as_bytes()).unwrap();
        assert_eq!(soup.points, whole.points);
        assert_eq!(whole.malformed.count, 40);
        assert_eq!(
            findings.iter().map(|f| (f.code, f.count)).collect::<Vec<_>>(),
            [(Code::MalformedFacets, 40)]
        );
        let mut names = soup.clone();
        names.settle_marks();
        assert_eq!(names.marks.len(), 41);
    }
}

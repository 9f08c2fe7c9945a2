//! PLY: a header that tells what follows, then points and faces as text or in
//! either byte order.
//!
//! Reference: G. Turk, "The PLY Polygon File Format", Stanford, 1994. Header
//! and binary rows are read by ply-rs-bw, row by row, so that what stands
//! before a cut is kept. Rows of text are read here: that library refuses
//! numbers such as `.5`, `1.` and `nan`.

use crate::marker::{Marker, mean};
use crate::polygon::{GUESSED, cut};
use crate::read::ReadError;
use crate::soup::{Mark, Point, Soup, TOO_MANY, Tally, most_triangles};
use crate::text::number_of;
use grisaille_base::{Code, Finding, Place};
use ply_rs_bw::parser::Parser;
use ply_rs_bw::ply::{ElementDef, Encoding, Header, Property, PropertyAccess, PropertyType, ScalarType};

/// Longest header that is looked for.
const HEADER: usize = 1 << 20;

/// Whether a file begins as this format does.
pub(crate) fn is_ply(bytes: &[u8]) -> bool {
    bytes.len() > 3 && bytes.starts_with(b"ply") && bytes[3].is_ascii_whitespace()
}

/// One row of any element; what is of no use here is passed over.
#[derive(Default)]
struct Row {
    point: Point,
    colour: [u8; 3],
    corners: Vec<i64>,
}

impl PropertyAccess for Row {
    fn new() -> Self {
        Self::default()
    }

    fn set_property(&mut self, name: &str, value: Property) {
        if let Some(axis) = axis(name) {
            self.point[axis] = scalar(&value) as f32;
        } else if let Some(channel) = channel(name) {
            let whole = !matches!(value, Property::Float(_) | Property::Double(_));
            self.colour[channel] = level(scalar(&value), whole);
        } else if is_corners(name) {
            self.corners = match value {
                Property::ListChar(list) => list.into_iter().map(i64::from).collect(),
                Property::ListUChar(list) => list.into_iter().map(i64::from).collect(),
                Property::ListShort(list) => list.into_iter().map(i64::from).collect(),
                Property::ListUShort(list) => list.into_iter().map(i64::from).collect(),
                Property::ListInt(list) => list.into_iter().map(i64::from).collect(),
                Property::ListUInt(list) => list.into_iter().map(i64::from).collect(),
                Property::ListFloat(list) => list.into_iter().map(|x| x as i64).collect(),
                Property::ListDouble(list) => list.into_iter().map(|x| x as i64).collect(),
                _ => Vec::new(),
            };
        }
    }
}

fn axis(name: &str) -> Option<usize> {
    ["x", "y", "z"].iter().position(|n| *n == name)
}

fn channel(name: &str) -> Option<usize> {
    let name = name.strip_prefix("diffuse_").unwrap_or(name);
    ["red", "green", "blue"]
        .iter()
        .position(|n| *n == name)
        .or(["r", "g", "b"].iter().position(|n| *n == name))
}

fn is_corners(name: &str) -> bool {
    matches!(name, "vertex_indices" | "vertex_index")
}

/// A channel as 0 to 255: whole numbers are that already, others go from 0 to 1.
fn level(x: f64, whole: bool) -> u8 {
    (if whole { x } else { x * 255.0 }).round().clamp(0.0, 255.0) as u8
}

fn scalar(value: &Property) -> f64 {
    match *value {
        Property::Char(x) => x.into(),
        Property::UChar(x) => x.into(),
        Property::Short(x) => x.into(),
        Property::UShort(x) => x.into(),
        Property::Int(x) => x.into(),
        Property::UInt(x) => x.into(),
        Property::Float(x) => x.into(),
        Property::Double(x) => x,
        _ => 0.0,
    }
}

/// Where rows come from.
enum Rows<'a> {
    Text { lines: std::slice::Split<'a, u8, fn(&u8) -> bool> },
    Binary { bytes: &'a [u8], big: bool },
}

/// Why there is no next row.
enum Missing {
    /// The file ends.
    End,
    /// This one cannot be read, but perhaps the next.
    Unreadable,
}

impl Rows<'_> {
    fn next(&mut self, parser: &Parser<Row>, element: &ElementDef, commas: &mut u64) -> Result<Row, Missing> {
        match self {
            Self::Text { lines } => {
                let line = lines.find(|line| line.iter().any(|b| *b > b' ')).ok_or(Missing::End)?;
                row_of_text(line, element, commas).ok_or(Missing::Unreadable)
            }
            Self::Binary { bytes, big } => {
                if bytes.is_empty() {
                    return Err(Missing::End);
                }
                let row = match big {
                    true => parser.read_big_endian_element(bytes, element),
                    false => parser.read_little_endian_element(bytes, element),
                };
                // What follows an unreadable row cannot be found.
                row.map_err(|_| Missing::End)
            }
        }
    }
}

fn row_of_text(line: &[u8], element: &ElementDef, commas: &mut u64) -> Option<Row> {
    let mut row = Row::default();
    let mut words = line.split(|b| *b <= b' ').filter(|w| !w.is_empty());
    let mut number = |word: Option<&[u8]>| {
        let (x, comma) = number_of(word?)?;
        *commas += u64::from(comma);
        Some(x)
    };
    for (name, property) in &element.properties {
        match &property.data_type {
            PropertyType::Scalar(kind) => {
                let x = number(words.next())?;
                if let Some(axis) = axis(name) {
                    row.point[axis] = x;
                } else if let Some(channel) = channel(name) {
                    let whole = !matches!(kind, ScalarType::Float | ScalarType::Double);
                    row.colour[channel] = level(x.into(), whole);
                }
            }
            PropertyType::List(..) => {
                let count = number(words.next())?;
                if !(0.0..=line.len() as f32).contains(&count) {
                    return None;
                }
                let wanted = is_corners(name);
                for _ in 0..count as usize {
                    // An index above 2²⁴ needs more digits than an f32 has.
                    let word = words.next()?;
                    if wanted {
                        row.corners.push(std::str::from_utf8(word).ok()?.parse().ok()?);
                    }
                }
            }
        }
    }
    Some(row)
}

/// Parses a file.
pub(crate) fn parse(bytes: &[u8]) -> Result<(Soup, Vec<Finding>), ReadError> {
    let broken = |why: &str| ReadError::Broken { kind: "PLY", why: why.to_owned() };
    let parser = Parser::<Row>::new();
    let (header, body) = header(&parser, bytes).map_err(|why| broken(&why))?;
    let mut rows = match header.encoding {
        Encoding::Ascii => Rows::Text { lines: bytes[body..].split(|b| matches!(b, b'\n' | b'\r')) },
        Encoding::BinaryBigEndian => Rows::Binary { bytes: &bytes[body..], big: true },
        Encoding::BinaryLittleEndian => Rows::Binary { bytes: &bytes[body..], big: false },
    };
    let mut reading = Reading::default();
    let most = most_triangles(bytes.len());
    let mut missing = 0_u64;
    for (name, element) in &header.elements {
        // Rows without anything in them take no bytes, however many there are.
        if element.properties.is_empty() {
            continue;
        }
        reading.begin(element);
        for n in 0..element.count as u64 {
            if reading.faces.len() > most {
                return Err(broken(TOO_MANY));
            }
            match rows.next(&parser, element, &mut reading.commas) {
                Ok(row) => reading.take(name, &row, n),
                Err(Missing::Unreadable) => reading.skip(name, n),
                Err(Missing::End) => {
                    missing += element.count as u64 - n;
                    break;
                }
            }
        }
    }
    let Reading { points, colours, faces, face_colours, malformed, guessed, commas, .. } = reading;
    let mut marker = Marker::default();
    for (f, face) in faces.iter().enumerate() {
        let colour = face_colours
            .get(f)
            .copied()
            .or_else(|| (colours.len() == points.len()).then(|| mean(face.map(|v| colours[v as usize]))));
        if let Some(colour) = colour {
            marker.until(f + 1, Mark { name: None, colour: Some(colour) });
        }
    }
    let mut soup = Soup { points, faces: Some(faces), often_y_up: true, ..Soup::default() };
    marker.give(&mut soup);
    let mut findings = Vec::new();
    if missing > 0 {
        let hint = "rows that the file announces are missing at its end; \
             download or export it again if parts are missing";
        findings.push(Finding::new(Code::TruncatedFile, missing, hint).at(Place::Byte(bytes.len() as u64)));
    }
    let untold =
        |tally: Tally, code, hint: &str| (tally.count > 0).then(|| Finding::new(code, tally.count, hint));
    findings.extend(untold(
        malformed,
        Code::MalformedFacets,
        "rows that could not be read or faces that name missing points were left out",
    ));
    findings.extend(untold(guessed, Code::PolygonsGuessed, GUESSED));
    if commas > 0 {
        let hint = "numbers were written with a decimal comma and were read as if with a point";
        findings.push(Finding::new(Code::DecimalCommas, commas, hint));
    }
    Ok((soup, findings))
}

/// The header, and where the rows begin. Line ends may be of any kind.
fn header(parser: &Parser<Row>, bytes: &[u8]) -> Result<(Header, usize), String> {
    const LAST: &[u8] = b"end_header";
    let head = &bytes[..bytes.len().min(HEADER)];
    let at = head
        .windows(LAST.len())
        .enumerate()
        .find(|(i, w)| *w == LAST && *i > 0 && matches!(head[i - 1], b'\n' | b'\r'))
        .map(|(i, _)| i + LAST.len())
        .ok_or("its header has no end")?;
    let mut body = at;
    while matches!(bytes.get(body), Some(b' ' | b'\t')) {
        body += 1;
    }
    body += match bytes.get(body..) {
        Some([b'\r', b'\n', ..]) => 2,
        Some([b'\r' | b'\n', ..]) => 1,
        _ => 0,
    };
    // Comments may be in any encoding and blank lines stand where none should.
    let text = String::from_utf8_lossy(&head[..at]);
    let lines: Vec<&str> = text.split(['\n', '\r']).map(str::trim).filter(|l| !l.is_empty()).collect();
    let text = lines.join("\n") + "\n";
    let header = parser.read_header(&mut text.as_bytes()).map_err(|e| {
        let why = e.to_string();
        format!("its header cannot be understood ({})", why.lines().next().unwrap_or("no reason").trim())
    })?;
    Ok((header, body))
}

/// What is read so far.
#[derive(Default)]
struct Reading {
    points: Vec<Point>,
    colours: Vec<[u8; 3]>,
    faces: Vec<[u32; 3]>,
    face_colours: Vec<[u8; 3]>,
    coloured: bool,
    malformed: Tally,
    guessed: Tally,
    commas: u64,
}

impl Reading {
    fn begin(&mut self, element: &ElementDef) {
        let channels = element.properties.iter().filter(|(name, _)| channel(name).is_some()).count();
        self.coloured = channels == 3;
    }

    fn take(&mut self, name: &str, row: &Row, n: u64) {
        match name {
            "vertex" => {
                self.points.push(row.point);
                if self.coloured {
                    self.colours.push(row.colour);
                }
            }
            "face" => self.face(&row.corners, row.colour, n),
            "tristrips" => {
                for strip in row.corners.split(|v| *v < 0) {
                    for (i, t) in strip.windows(3).enumerate() {
                        // Every other triangle of a strip is wound the other way.
                        let t = if i % 2 == 0 { [t[0], t[1], t[2]] } else { [t[1], t[0], t[2]] };
                        self.face(&t, row.colour, n);
                    }
                }
            }
            _ => {}
        }
    }

    /// A row that could not be read. A point keeps its number all the same.
    fn skip(&mut self, name: &str, n: u64) {
        self.malformed.note(n);
        if name == "vertex" {
            self.points.push([f32::NAN; 3]);
            if self.coloured {
                self.colours.push([255; 3]);
            }
        }
    }

    fn face(&mut self, corners: &[i64], colour: [u8; 3], n: u64) {
        let there = 0..self.points.len() as i64;
        if corners.len() < 3 || !corners.iter().all(|v| there.contains(v)) {
            self.malformed.note(n);
            return;
        }
        let corners: Vec<u32> = corners.iter().map(|v| *v as u32).collect();
        if !cut(&self.points, &corners, &mut self.faces) {
            self.guessed.note(n);
        }
        if self.coloured {
            self.face_colours.resize(self.faces.len(), colour);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TOP: &str = "ply\nformat ascii 1.0\ncomment by hand\nelement vertex 4\nproperty float x\nproperty float y\nproperty double z\n";
    const ROWS: &str = "0 0 0\n1. 0 0\n.5 1 0\n0 0 1\n";

    fn tetrahedron(
        format: &str,
        float: fn(f32) -> Vec<u8>,
        double: fn(f64) -> Vec<u8>,
        int: fn(i32) -> Vec<u8>,
    ) -> Vec<u8> {
        let head = TOP.replace("ascii", format)
            + "element face 4\nproperty uchar quality\nproperty list uchar int vertex_indices\nend_header\n";
        let mut bytes = head.into_bytes();
        for [x, y, z] in [[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.5, 1.0, 0.0], [0.0, 0.0, 1.0_f32]] {
            bytes.extend([float(x), float(y), double(z.into())].concat());
        }
        for corners in [[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]] {
            bytes.extend([9, 3]);
            bytes.extend(corners.map(int).concat());
        }
        bytes
    }

    fn ascii() -> String {
        format!(
            "{TOP}element face 4\nproperty uchar quality\nproperty list uchar int vertex_indices\nend_header\n{ROWS}9 3 0 2 1\n9 3 0 1 3\n9 3 1 2 3\n9 3 2 0 3\n"
        )
    }

    #[test]
    fn text_and_both_byte_orders_are_one_solid() {
        let (want, findings) = parse(ascii().as_bytes()).unwrap();
        assert!(findings.is_empty());
        assert_eq!((want.points.len(), want.len()), (4, 4));
        let little = tetrahedron(
            "binary_little_endian",
            |x| x.to_le_bytes().into(),
            |x| x.to_le_bytes().into(),
            |x| x.to_le_bytes().into(),
        );
        let big = tetrahedron(
            "binary_big_endian",
            |x| x.to_be_bytes().into(),
            |x| x.to_be_bytes().into(),
            |x| x.to_be_bytes().into(),
        );
        let dos = ascii().replace('\n', "\r\n");
        let mac = ascii().replace('\n', "\r");
        let latin = [b"ply\nformat ascii 1.0\ncomment \xe9\n", &ascii().as_bytes()[21..]].concat();
        for bytes in [little, big, dos.into_bytes(), mac.into_bytes(), latin] {
            assert!(is_ply(&bytes));
            assert_eq!(
                parse(&bytes).unwrap(),
                (want.clone(), Vec::new()),
                "{}",
                String::from_utf8_lossy(&bytes)
            );
        }
    }

    #[test]
    fn a_cut_keeps_whole_rows() {
        let whole = tetrahedron(
            "binary_little_endian",
            |x| x.to_le_bytes().into(),
            |x| x.to_le_bytes().into(),
            |x| x.to_le_bytes().into(),
        );
        let (soup, findings) = parse(&whole[..whole.len() - 20]).unwrap();
        assert_eq!((soup.len(), findings[0].code, findings[0].count), (2, Code::TruncatedFile, 2));
        let text = ascii();
        let (soup, findings) = parse(&text.as_bytes()[..text.len() - 12]).unwrap();
        assert_eq!((soup.len(), findings[0].code, findings[0].count), (2, Code::TruncatedFile, 1));
        assert_eq!(findings[1].code, Code::MalformedFacets);
    }

    #[test]
    fn what_a_header_claims_costs_nothing() {
        let huge = "4294967295";
        for text in [
            ascii().replace("vertex 4", &format!("vertex {huge}")),
            ascii().replace("face 4", &format!("face {huge}")),
            ascii().replace("element face", &format!("element nothing {huge}\nelement face")),
            ascii().replace("9 3 0 2 1", &format!("9 {huge} 0 2 1")),
            ascii().replace("ascii", "binary_little_endian").replace("vertex 4", &format!("vertex {huge}")),
            ascii().replace("element vertex", &format!("element nothing {huge}\nelement vertex")),
        ] {
            let _ = parse(text.as_bytes());
        }
        assert!(matches!(parse(b"ply\nformat ascii 1.0\n"), Err(ReadError::Broken { .. })));
        assert!(matches!(parse(b"ply\nfomat ascii 1.0\nend_header\n"), Err(ReadError::Broken { .. })));
    }

    #[test]
    fn colours_and_strips_are_understood() {
        let text = format!(
            "{TOP}property uchar red\nproperty uchar green\nproperty uchar blue\nelement tristrips 1\nproperty list int int vertex_indices\nend_header\n0 0 0 255 0 0\n1 0 0 255 0 0\n0 1 0 255 0 0\n1 1 0 0 0 255\n6 0 1 2 3 -1 0\n"
        );
        let (soup, findings) = parse(text.as_bytes()).unwrap();
        assert!(findings.is_empty(), "{findings:?}");
        assert_eq!(soup.faces.as_deref(), Some(&[[0, 1, 2], [2, 1, 3]][..]));
        let colours: Vec<_> = soup.mark_of_face.iter().map(|m| soup.marks[*m as usize].colour).collect();
        assert_eq!(colours, [Some([255, 0, 0]), Some([170, 0, 85])]);
        let text = ascii()
            .replace(
                "property uchar quality",
                "property float red\nproperty float green\nproperty float blue",
            )
            .replace("9 3", "0 1 0.5 3");
        let (soup, _) = parse(text.as_bytes()).unwrap();
        assert_eq!(soup.marks[0].colour, Some([0, 255, 128]));
    }
}

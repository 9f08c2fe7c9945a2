//! OBJ: text, one statement a line; points, faces of any number of corners, groups
//! and materials.
//!
//! Reference: the "Object Files (.obj)" appendix of the Advanced Visualizer
//! manual, Wavefront, 1993 (from memory). Three numbers after a point's
//! own, from 0 to 1, are its colour: no part of that text, but common practice.
//!
//! Read here and not through a library: tobj 4.0 by its source refuses the whole
//! file for one byte that is no UTF-8 or one face that names a missing point,
//! and knows a material's name only where the material's own file is at hand.

use crate::marker::{Marker, mean};
use crate::mtl::Materials;
use crate::polygon::cut;
use crate::read::ReadError;
use crate::soup::{Mark, Point, Soup, TOO_MANY, Tally, line_of_byte, most_triangles};
use crate::text::{number_of, text_of};
use grisaille_base::{Code, Finding, Place};

/// First words of lines.
const WORDS: [&[u8]; 34] = [
    b"v",
    b"vt",
    b"vn",
    b"vp",
    b"f",
    b"fo",
    b"g",
    b"o",
    b"s",
    b"l",
    b"p",
    b"usemtl",
    b"mtllib",
    b"usemap",
    b"maplib",
    b"cstype",
    b"deg",
    b"bmat",
    b"step",
    b"curv",
    b"curv2",
    b"surf",
    b"parm",
    b"trim",
    b"hole",
    b"end",
    b"mg",
    b"bevel",
    b"c_interp",
    b"d_interp",
    b"lod",
    b"shadow_obj",
    b"trace_obj",
    b"call",
];

/// Whether a file's first lines all begin as those of this format do.
pub(crate) fn is_obj(bytes: &[u8]) -> bool {
    let head = text_of(&bytes[..bytes.len().min(1 << 16)]);
    let mut lines = Lines { bytes: &head, at: 0 };
    let mut seen = 0;
    let mut points = false;
    while seen < 50
        && let Some((_, line)) = lines.next()
    {
        let Some(word) = words(line).next() else { continue };
        // The last line may be cut off here.
        if !WORDS.iter().any(|w| word.eq_ignore_ascii_case(w)) && lines.at < head.len() {
            return false;
        }
        points |= word.eq_ignore_ascii_case(b"v");
        seen += 1;
    }
    points || seen == 50
}

/// Lines with comments taken off and continued lines joined, each with the
/// place where it begins.
pub(crate) struct Lines<'a> {
    pub(crate) bytes: &'a [u8],
    pub(crate) at: usize,
}

impl<'a> Lines<'a> {
    pub(crate) fn next(&mut self) -> Option<(usize, &'a [u8])> {
        if self.at >= self.bytes.len() {
            return None;
        }
        let begin = self.at;
        loop {
            let rest = &self.bytes[self.at..];
            let Some(end) = rest.iter().position(|b| matches!(b, b'\n' | b'\r')) else {
                self.at = self.bytes.len();
                break;
            };
            let continued = end > 0 && rest[end - 1] == b'\\';
            self.at += end + 1;
            if rest[end] == b'\r' && self.bytes.get(self.at) == Some(&b'\n') {
                self.at += 1;
            }
            if !continued {
                break;
            }
        }
        let line = &self.bytes[begin..self.at];
        let end = line.iter().position(|b| *b == b'#').unwrap_or(line.len());
        Some((begin, &line[..end]))
    }
}

/// The words of a line; a backslash before its end is none.
pub(crate) fn words(line: &[u8]) -> impl Iterator<Item = &[u8]> {
    line.split(|b| *b <= b' ').filter(|w| !w.is_empty() && *w != b"\\")
}

/// What is read so far.
struct Reading<'a> {
    materials: &'a Materials,
    points: Vec<Point>,
    /// Of each point, once any has one.
    colours: Vec<[u8; 3]>,
    faces: Vec<[u32; 3]>,
    marker: Marker,
    group: Option<String>,
    material: Option<String>,
    malformed: Tally,
    commas: Tally,
    guessed: Tally,
}

/// Parses a file whose materials have colours of their own.
pub(crate) fn parse(bytes: &[u8], materials: &Materials) -> Result<(Soup, Vec<Finding>), ReadError> {
    let most = most_triangles(bytes.len());
    let text = text_of(bytes);
    let mut reading = Reading::new(materials);
    let mut lines = Lines { bytes: &text, at: 0 };
    let mut corners = Vec::new();
    while let Some((begin, line)) = lines.next() {
        let mut words = words(line);
        let Some(word) = words.next() else { continue };
        match word {
            b"v" | b"V" => reading.point(words, begin as u64),
            b"f" | b"F" | b"fo" => {
                reading.face(words, &mut corners, begin as u64);
                if reading.faces.len() > most {
                    return Err(ReadError::Broken { kind: "OBJ", why: TOO_MANY.into() });
                }
            }
            b"g" | b"o" | b"G" | b"O" => {
                reading.told();
                reading.group = rest_of(line, word);
            }
            b"usemtl" => {
                reading.told();
                reading.material = rest_of(line, word);
            }
            _ => {}
        }
    }
    reading.told();
    let Reading { points, faces, marker, malformed, commas, guessed, .. } = reading;
    let mut soup = Soup { points, faces: Some(faces), often_y_up: true, ..Soup::default() };
    marker.give(&mut soup);
    let line = |at| Place::Line(line_of_byte(&text, at));
    let findings = [
        malformed.finding(
            Code::MalformedFacets,
            "points that are no three numbers (taken as 0, 0, 0) or faces that name missing points (left out)",
            line,
        ),
        commas.finding(
            Code::DecimalCommas,
            "numbers were written with a decimal comma and were read as if with a point",
            line,
        ),
        guessed.finding(Code::PolygonsGuessed, crate::polygon::GUESSED, line),
        materials.finding(),
    ];
    Ok((soup, findings.into_iter().flatten().collect()))
}

/// The rest of a line after its first word, if there is any; blanks for line ends that a backslash takes back.
pub(crate) fn rest_of(line: &[u8], word: &[u8]) -> Option<String> {
    let is_blank = |b: &u8| *b <= b' ';
    // Blanks may stand before the word, and they are more than those of ASCII text.
    let begin = line.windows(word.len()).position(|w| w == word)?;
    let mut rest = line[begin + word.len()..].to_vec();
    for at in 0..rest.len() {
        match rest[at] {
            b'\n' | b'\r' => rest[at] = b' ',
            b'\\' if matches!(rest.get(at + 1), Some(b'\n' | b'\r')) => rest[at] = b' ',
            _ => {}
        }
    }
    let first = rest.iter().position(|b| !is_blank(b))?;
    let last = rest.iter().rposition(|b| !is_blank(b))?;
    Some(String::from_utf8_lossy(&rest[first..=last]).into_owned())
}

impl<'a> Reading<'a> {
    fn new(materials: &'a Materials) -> Self {
        Self {
            materials,
            points: Vec::new(),
            colours: Vec::new(),
            faces: Vec::new(),
            marker: Marker::default(),
            group: None,
            material: None,
            malformed: Tally::default(),
            commas: Tally::default(),
            guessed: Tally::default(),
        }
    }

    fn point<'w>(&mut self, words: impl Iterator<Item = &'w [u8]>, begin: u64) {
        let mut numbers = [0.0_f32; 8];
        let mut count = 0;
        let mut sound = true;
        for word in words.take(8) {
            match number_of(word) {
                Some((x, comma)) => {
                    numbers[count] = x;
                    if comma {
                        self.commas.note(begin);
                    }
                }
                None => sound = false,
            }
            count += 1;
        }
        let [x, y, z, ..] = numbers;
        if count < 3 || !sound {
            // Its number must stay taken, or all later ones shift.
            self.malformed.note(begin);
            self.points.push([0.0; 3]);
        } else {
            self.points.push([x, y, z]);
        }
        // x y z r g b, or x y z w r g b.
        let first = match count {
            6 => 3,
            7 => 4,
            _ => {
                if !self.colours.is_empty() {
                    self.colours.push([255; 3]);
                }
                return;
            }
        };
        if self.colours.is_empty() {
            self.told();
        }
        self.colours.resize(self.points.len() - 1, [255; 3]);
        self.colours.push([0, 1, 2].map(|i| (numbers[first + i].clamp(0.0, 1.0) * 255.0).round() as u8));
    }

    fn face<'w>(&mut self, words: impl Iterator<Item = &'w [u8]>, corners: &mut Vec<u32>, begin: u64) {
        corners.clear();
        for word in words {
            let Some(corner) = self.corner(word) else {
                self.malformed.note(begin);
                return;
            };
            corners.push(corner);
        }
        if corners.len() < 3 {
            self.malformed.note(begin);
            return;
        }
        let before = self.faces.len();
        if !cut(&self.points, corners, &mut self.faces) {
            self.guessed.note(begin);
        }
        if !self.colours.is_empty() {
            for f in before..self.faces.len() {
                let white = [255; 3];
                let colour =
                    mean(self.faces[f].map(|v| self.colours.get(v as usize).copied().unwrap_or(white)));
                self.marker.until(f + 1, Mark { name: self.name(), colour: Some(colour) });
            }
        }
    }

    /// A corner `point/texture/normal`: the point's number, from 1, or from −1 backwards.
    fn corner(&self, word: &[u8]) -> Option<u32> {
        let end = word.iter().position(|b| *b == b'/').unwrap_or(word.len());
        let n: i64 = std::str::from_utf8(&word[..end]).ok()?.parse().ok()?;
        let there = self.points.len() as i64;
        let at = if n > 0 { n - 1 } else { there.checked_add(n)? };
        (n != 0 && (0..there).contains(&at)).then_some(at as u32)
    }

    fn name(&self) -> Option<String> {
        match (&self.group, &self.material) {
            (Some(g), Some(m)) if g != m => Some(format!("{g}: {m}")),
            (g, m) => g.clone().or_else(|| m.clone()),
        }
    }

    /// Gives the faces read so far the names that hold.
    fn told(&mut self) {
        if self.colours.is_empty() {
            let colour = self.material.as_ref().and_then(|m| self.materials.colour(m));
            let mark = Mark { name: self.name(), colour };
            self.marker.until(self.faces.len(), mark);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parse(bytes: &[u8]) -> Result<(Soup, Vec<Finding>), ReadError> {
        super::parse(bytes, &Materials::default())
    }

    const CUBE: &str =
        "# a cube\nv -1 -1 -1\nv 1 -1 -1\nv 1 1 -1\nv -1 1 -1\nv -1 -1 1\nv 1 -1 1\nv 1 1 1\nv -1 1 1\n";
    const SIDES: &str = "f 4 3 2 1\nf 5 6 7 8\nf 1 2 6 5\nf 2 3 7 6\nf 3 4 8 7\nf 4 1 5 8\n";

    #[test]
    fn habits_of_writing_give_one_cube() {
        let whole = format!("{CUBE}{SIDES}");
        let (want, findings) = parse(whole.as_bytes()).unwrap();
        assert!(findings.is_empty());
        assert_eq!((want.points.len(), want.len()), (8, 12));
        let back = SIDES.replace(|c: char| c.is_ascii_digit(), "?");
        let back = SIDES
            .chars()
            .filter(char::is_ascii_digit)
            .fold(back, |t, d| t.replacen('?', &format!("-{}", 9 - d.to_digit(10).unwrap()), 1));
        let slashed = SIDES.replace(' ', "//1 ").replace("f//1", "f").replace('\n', "//1\n");
        for text in [
            whole.replace('\n', "\r\n"),
            whole.replace('\n', "\r"),
            format!("{CUBE}vn 0 0 1\nvt 0 0\ns off\n{slashed}"),
            format!("{CUBE}{back}"),
            whole.replace("f 5 6 7 8", "f 5 6 \\\n 7 8 # the top"),
            format!("\u{feff}mtllib x.mtl\n{whole}"),
        ] {
            assert!(is_obj(text.as_bytes()), "{text}");
            assert_eq!(parse(text.as_bytes()).unwrap(), (want.clone(), Vec::new()), "{text}");
        }
    }

    #[test]
    fn groups_and_materials_are_named_parts() {
        let mut sides = SIDES.lines();
        let mut side = || sides.next().unwrap();
        let text = format!(
            "{CUBE}{}\no helmet\nusemtl brass\n{}\ng window\n{}\nusemtl window\n{}\n{}\ng\nusemtl\n{}\n",
            side(),
            side(),
            side(),
            side(),
            side(),
            side()
        );
        let (mut soup, findings) = parse(text.as_bytes()).unwrap();
        assert!(findings.is_empty());
        soup.settle_marks();
        let names: Vec<_> = soup.marks.iter().map(|m| m.name.as_deref()).collect();
        assert_eq!(names, [None, Some("helmet: brass"), Some("window"), Some("window: brass")]);
        assert_eq!(soup.mark_of_face, [0, 0, 1, 1, 3, 3, 2, 2, 2, 2, 0, 0]);
        // Names in another encoding than UTF-8 harm nothing.
        let (soup, _) = parse(&[CUBE.as_bytes(), b"g \xe9\xff\nf 1 2 3\n"].concat()).unwrap();
        assert_eq!(soup.len(), 1);
    }

    #[test]
    fn colours_of_points_are_colours_of_faces() {
        let text = "v 0 0 0 1 0 0\nv 1 0 0 1 0 0\nv 0 1 0 1 0 0\nv 0 0 1 0 0 1\nf 1 2 3\nf 2 3 4\n";
        let (soup, _) = parse(text.as_bytes()).unwrap();
        let colours: Vec<_> = soup.mark_of_face.iter().map(|m| soup.marks[*m as usize].colour).collect();
        assert_eq!(colours, [Some([255, 0, 0]), Some([170, 0, 85])]);
    }

    #[test]
    fn damage_is_told_and_the_rest_is_kept() {
        let text = format!("{CUBE}v 1 x 2\n{SIDES}f 1 2 99\nf 1 2 0\nf 1 2\nf 1 -10 3\n");
        let (soup, findings) = parse(text.as_bytes()).unwrap();
        assert_eq!(soup.len(), 12);
        assert_eq!((findings[0].code, findings[0].count), (Code::MalformedFacets, 5));
        assert_eq!(findings[0].place, Some(Place::Line(10)));
        for text in ["hello", "very well\nfine\n", "solid x\nfacet", ""] {
            assert!(!is_obj(text.as_bytes()), "{text}");
        }
    }
}

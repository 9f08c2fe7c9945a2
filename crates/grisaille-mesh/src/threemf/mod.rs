//! 3MF: a zip archive of XML parts; objects, components, the build with its
//! transforms, the unit, names and colours.
//!
//! References: 3MF Core Specification 1.3 (objects §4, build §3.4,
//! transforms §3.3), Materials and Properties Extension 1.2.1, Production
//! Extension 1.1 (objects in parts of their own); paragraphs from memory.
//!
//! The archive is opened with zip and its parts are read with quick-xml as a
//! stream. By its source, threemf2 0.4 reads parts whole, whatever they expand
//! to, and what it does not know it skips by calling itself, so that XML
//! nested deeply enough ends the program.

mod model;

use crate::marker::Marker;
use crate::read::ReadError;
use crate::soup::{Mark, Point, Soup};
use grisaille_base::{Code, Finding};
use model::{Component, Object, Part};
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::io::{BufReader, Cursor, Read};
use zip::ZipArchive;

/// How many times its size a file may expand to. XML of a mesh expands about
/// five to twelve times; a bomb a thousand times.
const EXPANDS: u64 = 100;
/// What any file may expand to.
const EXPANDS_AT_LEAST: u64 = 16 << 20;
/// Triangles that a file may be built of however few it holds; beyond that each
/// may be used a few times only.
const FREE_TRIANGLES: u64 = 300_000;
const USES: u64 = 4;
/// Objects within objects.
const DEPTH: usize = 32;
/// Objects that are placed, those without triangles included.
const PLACED: u32 = 1 << 20;

/// A transform as the format writes it: x' = x·m0 + y·m3 + z·m6 + m9, and so on.
type Transform = [f64; 12];

const AS_IT_IS: Transform = [1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0];

/// Whether a file begins as a zip archive does.
pub(crate) fn is_zip(bytes: &[u8]) -> bool {
    bytes.starts_with(b"PK\x03\x04")
}

fn broken(why: impl Into<String>) -> ReadError {
    ReadError::Broken { kind: "3MF", why: why.into() }
}

/// The archive and what it has expanded to so far.
struct Archive<'a> {
    zip: ZipArchive<Cursor<&'a [u8]>>,
    left: u64,
}

impl Archive<'_> {
    /// All names that can be made out.
    fn names(&self) -> impl Iterator<Item = Cow<'_, str>> {
        self.zip.file_names().flatten()
    }

    /// The name of a part as it stands in the archive; case does not matter.
    fn name(&self, part: &str) -> Option<String> {
        let part = part.trim_start_matches('/');
        self.names().find(|n| n.trim_start_matches('/').eq_ignore_ascii_case(part)).map(Cow::into_owned)
    }

    /// Reads a part, never further than what it says it expands to.
    fn read<T>(
        &mut self,
        name: &str,
        with: impl FnOnce(model::Text) -> Result<T, ReadError>,
    ) -> Result<T, ReadError> {
        let part = self.zip.by_name(name).map_err(|e| broken(e.to_string()))?;
        let size = part.size();
        if size > self.left {
            return Err(ReadError::ExpandsTooMuch { megabytes: size >> 20 });
        }
        self.left -= size;
        let mut part = part.take(size);
        with(BufReader::with_capacity(1 << 16, &mut part))
    }
}

/// Parses a file.
pub(crate) fn parse(bytes: &[u8]) -> Result<(Soup, Vec<Finding>), ReadError> {
    let zip =
        ZipArchive::new(Cursor::new(bytes)).map_err(|e| broken(format!("the archive is damaged: {e}")))?;
    let left = EXPANDS_AT_LEAST.max(EXPANDS.saturating_mul(bytes.len() as u64));
    let mut archive = Archive { zip, left };
    let Some(root) = root(&mut archive)? else {
        return Err(ReadError::NotAModel { looks_like: Some("a zip archive without a model for printing") });
    };
    let mut parts = BTreeMap::new();
    let mut wanted = vec![root.clone()];
    while let Some(name) = wanted.pop() {
        if parts.contains_key(&name) {
            continue;
        }
        let mut part = archive.read(&name, model::read)?;
        // Other parts are named as they stand in the archive from here on.
        for component in part.objects.values_mut().flat_map(|o| &mut o.components).chain(&mut part.build) {
            if let Some(path) = &component.part {
                let there =
                    archive.name(path).ok_or_else(|| broken(format!("its part {path} is missing")))?;
                wanted.push(there.clone());
                component.part = Some(there);
            }
        }
        parts.insert(name, part);
    }
    build(&parts, &root)
}

/// The part that holds the build.
fn root(archive: &mut Archive) -> Result<Option<String>, ReadError> {
    let told = match archive.name("_rels/.rels") {
        Some(rels) => archive.read(&rels, model::start_part)?,
        None => None,
    };
    let by_ending = || {
        let models = archive.names().filter(|n| n.to_ascii_lowercase().ends_with(".model"));
        models.min_by_key(|n| (n.len(), n.clone())).map(Cow::into_owned)
    };
    Ok(told.and_then(|t| archive.name(&t)).or_else(by_ending))
}

/// Puts together what the build names.
fn build(parts: &BTreeMap<String, Part>, root: &str) -> Result<(Soup, Vec<Finding>), ReadError> {
    let Some(first) = parts.get(root) else { return Err(ReadError::NoTriangles) };
    let held: u64 = parts.values().flat_map(|p| p.objects.values()).map(|o| o.triangles.len() as u64).sum();
    let mut out = Placing {
        parts,
        points: Vec::new(),
        faces: Vec::new(),
        marker: Marker::default(),
        left: FREE_TRIANGLES.max(USES * held),
        placed: 0,
        missing: 0,
    };
    // Without a build, which slicers forgive, every object stands as it is.
    let every: Vec<Component> =
        first.objects.keys().map(|id| Component { id: *id, part: None, transform: AS_IT_IS }).collect();
    let items = if first.build.is_empty() { &every } else { &first.build };
    for item in items {
        out.place(root, item, &AS_IT_IS, None, 0)?;
    }
    let mut findings = Vec::new();
    if out.missing > 0 {
        let hint = "objects that the file names are not in it";
        findings.push(Finding::new(Code::MissingObjects, out.missing, hint));
    }
    let left_out: u64 = parts.values().flat_map(|p| p.objects.values()).map(|o| o.malformed).sum();
    if left_out > 0 {
        let hint = "points that are no three numbers, or triangles that name missing points, were left out";
        findings.push(Finding::new(Code::MalformedFacets, left_out, hint));
    }
    let unit = first.millimetres;
    let mut points = out.points;
    for x in points.iter_mut().flatten() {
        *x = (f64::from(*x) * unit) as f32;
    }
    let mut soup = Soup { points, faces: Some(out.faces), millimetres: true, ..Soup::default() };
    out.marker.give(&mut soup);
    Ok((soup, findings))
}

struct Placing<'a> {
    parts: &'a BTreeMap<String, Part>,
    points: Vec<Point>,
    faces: Vec<[u32; 3]>,
    marker: Marker,
    left: u64,
    placed: u32,
    missing: u64,
}

impl Placing<'_> {
    /// Places an object and those within it.
    fn place(
        &mut self,
        part: &str,
        item: &Component,
        scene_from_outer: &Transform,
        outer_name: Option<&str>,
        depth: usize,
    ) -> Result<(), ReadError> {
        self.placed += 1;
        if depth > DEPTH || self.placed > PLACED {
            return Err(broken("its objects are nested too deeply or too often"));
        }
        let part = item.part.as_deref().unwrap_or(part);
        let Some((own, object)) = self.parts.get(part).and_then(|p| Some((p, p.objects.get(&item.id)?)))
        else {
            self.missing += 1;
            return Ok(());
        };
        let scene_from_object = then(&item.transform, scene_from_outer);
        let name = object.name.as_deref().or(outer_name);
        self.mesh(own, object, &scene_from_object, name)?;
        for component in &object.components {
            self.place(part, component, &scene_from_object, name, depth + 1)?;
        }
        Ok(())
    }

    fn mesh(
        &mut self,
        part: &Part,
        object: &Object,
        scene_from_object: &Transform,
        name: Option<&str>,
    ) -> Result<(), ReadError> {
        let Some(left) = self.left.checked_sub(object.triangles.len() as u64) else {
            return Err(broken(
                "it uses the same objects so often that it cannot be read: export one figure alone",
            ));
        };
        self.left = left;
        if object.triangles.is_empty() {
            return Ok(());
        }
        let first = self.points.len() as u32;
        self.points.extend(object.points.iter().map(|p| moved(*p, scene_from_object)));
        let mirrored = determinant(scene_from_object) < 0.0;
        for (t, &[a, b, c]) in object.triangles.iter().enumerate() {
            let face = if mirrored { [a, c, b] } else { [a, b, c] };
            self.faces.push(face.map(|v| first + v));
            let colour = part.colour_of(object.property_of(t));
            let material = part.material_of(object.property_of(t));
            let name = match (name, material) {
                (Some(n), Some(m)) if n != m => Some(format!("{n}: {m}")),
                (n, m) => n.or(m).map(str::to_owned),
            };
            self.marker.until(self.faces.len(), Mark { name, colour });
        }
        Ok(())
    }
}

/// The transform that does `first`, then `second`.
fn then(first: &Transform, second: &Transform) -> Transform {
    let mut out = [0.0; 12];
    for row in 0..4 {
        for column in 0..3 {
            let sum: f64 = (0..3).map(|k| first[3 * row + k] * second[3 * k + column]).sum();
            out[3 * row + column] = if row == 3 { sum + second[9 + column] } else { sum };
        }
    }
    out
}

fn moved(p: Point, m: &Transform) -> Point {
    let p = p.map(f64::from);
    [0, 1, 2].map(|i| (p[0] * m[i] + p[1] * m[3 + i] + p[2] * m[6 + i] + m[9 + i]) as f32)
}

fn determinant(m: &Transform) -> f64 {
    m[0] * (m[4] * m[8] - m[5] * m[7]) - m[1] * (m[3] * m[8] - m[5] * m[6])
        + m[2] * (m[3] * m[7] - m[4] * m[6])
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Write;
    use zip::write::SimpleFileOptions;

    fn packed(parts: &[(&str, &str)]) -> Vec<u8> {
        let mut zip = zip::ZipWriter::new(Cursor::new(Vec::new()));
        for (name, text) in parts {
            zip.start_file(*name, SimpleFileOptions::default()).unwrap();
            zip.write_all(text.as_bytes()).unwrap();
        }
        zip.finish().unwrap().into_inner()
    }

    const RELS: &str = r#"<Relationships><Relationship Target="/3D/a.model" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>"#;
    const TETRAHEDRON: &str = r#"<mesh><vertices><vertex x="0" y="0" z="0"/><vertex x="1" y="0" z="0"/><vertex x="0" y="1" z="0"/><vertex x="0" y="0" z="1"/></vertices>
        <triangles><triangle v1="0" v2="2" v3="1"/><triangle v1="0" v2="1" v3="3"/><triangle v1="1" v2="2" v3="3" pid="5" p1="1"/><triangle v1="2" v2="0" v3="3" pid="6" p1="0" p2="0" p3="1"/></triangles></mesh>"#;

    fn model(unit: &str, resources: &str, build: &str) -> String {
        format!(
            "<?xml version=\"1.0\"?><model unit=\"{unit}\"><resources>{resources}</resources><build>{build}</build></model>"
        )
    }

    fn file(unit: &str, resources: &str, build: &str) -> Vec<u8> {
        packed(&[("_rels/.rels", RELS), ("3D/a.model", &model(unit, resources, build))])
    }

    fn object(id: u32, name: &str) -> String {
        format!(r#"<object id="{id}" name="{name}" pid="5" pindex="0">{TETRAHEDRON}</object>"#)
    }

    const MATERIALS: &str = r##"<basematerials id="5"><base name="brass" displaycolor="#B08030"/><base name="glass &amp; lead" displaycolor="#FFFFFFFF"/></basematerials><m:colorgroup id="6"><m:color color="#FF0000"/><m:color color="#0000FF"/></m:colorgroup>"##;

    #[test]
    fn build_transforms_units_names_and_colours_are_heeded() {
        let resources = format!(
            r#"{MATERIALS}{}<object id="9" name="pair"><components><component objectid="1"/><component objectid="1" transform="0 1 0 -1 0 0 0 0 1 10 0 0"/></components></object>"#,
            object(1, "lamp")
        );
        let build = r#"<item objectid="9" transform="1 0 0 0 1 0 0 0 -1 0 0 5"/>"#;
        let (mut soup, findings) = parse(&file("inch", &resources, build)).unwrap();
        assert!(findings.is_empty() && soup.millimetres);
        assert_eq!((soup.points.len(), soup.len()), (8, 8));
        // The second: (1, 0, 0) turned to (0, 1, 0), moved by 10 in x, mirrored in z, moved by 5.
        assert_eq!(soup.points[5], [10.0 * 25.4, 25.4, 5.0 * 25.4]);
        // Mirrored, so that outside stays outside.
        assert_eq!(soup.face(0), [0, 1, 2]);
        let said: Vec<Mark> =
            soup.mark_of_face[..4].iter().map(|m| soup.marks[*m as usize].clone()).collect();
        let mark = |name: &str, colour| Mark { name: Some(name.into()), colour: Some(colour) };
        assert_eq!(said[0], mark("lamp: brass", [0xb0, 0x80, 0x30]));
        assert_eq!(said[2], mark("lamp: glass & lead", [255; 3]));
        assert_eq!(said[3], mark("lamp", [170, 0, 85]));
        soup.settle_marks();
        assert_eq!(soup.marks.len(), 3);
    }

    #[test]
    fn objects_in_parts_of_their_own_are_found() {
        let main = model(
            "millimeter",
            r#"<object id="2"><components><component p:path="/3D/Objects/b.model" objectid="1" transform="1 0 0 0 1 0 0 0 1 3 0 0"/></components></object>"#,
            r#"<item objectid="2"/><item objectid="77"/>"#,
        );
        let other = model("millimeter", &format!("{MATERIALS}{}", object(1, "hose")), "");
        let bytes = packed(&[("_rels/.rels", RELS), ("3D/a.model", &main), ("3d/objects/B.model", &other)]);
        let (soup, findings) = parse(&bytes).unwrap();
        assert_eq!((soup.len(), soup.points[1]), (4, [4.0, 0.0, 0.0]));
        assert_eq!((findings[0].code, findings[0].count), (Code::MissingObjects, 1));
        // The model is found without a word about where it is, and without a build.
        let bytes = packed(&[("x.model", &model("meter", &object(1, "a"), ""))]);
        assert_eq!(parse(&bytes).unwrap().0.points[1], [1000.0, 0.0, 0.0]);
    }

    #[test]
    fn bombs_are_refused_before_they_go_off() {
        // Two gigabytes of blanks pack to two megabytes; 40 MB do for a test.
        let blanks = " ".repeat(40 << 20);
        let bomb = file("millimeter", &format!("{blanks}{}", object(1, "a")), "");
        assert!(bomb.len() < 100_000);
        assert!(matches!(parse(&bomb), Err(ReadError::ExpandsTooMuch { megabytes: 40 })));
        // Ten objects, each of ten of the one before: 4·10⁹ triangles.
        let mut resources = object(1, "a");
        for id in 2..11 {
            let tenfold = format!(r#"<component objectid="{}"/>"#, id - 1).repeat(10);
            resources += &format!(r#"<object id="{id}"><components>{tenfold}</components></object>"#);
        }
        assert!(matches!(
            parse(&file("millimeter", &resources, r#"<item objectid="10"/>"#)),
            Err(ReadError::Broken { .. })
        ));
        let own = r#"<object id="1"><components><component objectid="1"/></components></object>"#;
        assert!(matches!(
            parse(&file("millimeter", own, r#"<item objectid="1"/>"#)),
            Err(ReadError::Broken { .. })
        ));
        // Deep nesting of what nobody knows is walked through, not called through.
        let deep = format!("{}{}{}", "<x>".repeat(300_000), "</x>".repeat(300_000), object(1, "a"));
        assert_eq!(parse(&file("millimeter", &deep, "")).unwrap().0.len(), 4);
    }

    #[test]
    fn other_archives_and_damage_are_told() {
        assert!(matches!(parse(&packed(&[("a.txt", "hello")])), Err(ReadError::NotAModel { .. })));
        let whole = file("millimeter", &object(1, "a"), "");
        assert!(matches!(parse(&whole[..whole.len() - 30]), Err(ReadError::Broken { .. })));
        let bad = object(1, "a").replace("v1=\"1\"", "v1=\"4\"").replace(r#"x="1""#, r#"x="one""#);
        let (soup, findings) = parse(&file("millimeter", &bad, "")).unwrap();
        assert_eq!((soup.len(), findings[0].code, findings[0].count), (3, Code::MalformedFacets, 2));
        assert!(matches!(parse(&file("millimeter", "<a></b>", "")), Err(ReadError::Broken { .. })));
    }
}

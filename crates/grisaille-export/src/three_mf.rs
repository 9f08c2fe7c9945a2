//! 3MF: 3D Manufacturing Format, core specification 1.3 (its triangle sets hold the regions) with colours by the
//! materials and properties extension 1.2.

use crate::objects::{Object, Palette, objects};
use grisaille_base::Watch;
use grisaille_form::Regions;
use grisaille_plan::Plan;
use std::fmt::Write as _;
use std::io::{self, Cursor, Write};
use zip::ZipWriter;
use zip::result::ZipError;
use zip::write::SimpleFileOptions;

/// The models that a surface is of.
#[derive(Clone, Copy, Debug)]
pub struct MapModels<'a> {
    /// What the whole is called.
    pub title: &'a str,
    /// The name of each model.
    pub names: &'a [String],
    /// For each face of the surface its model, counted from 0; empty where there is only one.
    pub of_face: &'a [u32],
}

/// The parts of the package that say where the model stands (Open Packaging Conventions, ECMA-376-2).
const FRAME: [(&str, &str); 2] = [
    (
        "[Content_Types].xml",
        r#"<?xml version="1.0" encoding="UTF-8"?>
<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>
"#,
    ),
    (
        "_rels/.rels",
        r#"<?xml version="1.0" encoding="UTF-8"?>
<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="model" Target="/3D/3dmodel.model" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>
"#,
    ),
];
/// The resource that holds the colours; objects follow it.
const COLOURS: usize = 1;
/// So much text is gathered before it is packed.
const GATHERED: usize = 1 << 16;

/// One object for each model, in mm, its points as they stand in the scene; a triangle has the colour that is painted
/// in its middle, and regions are triangle sets with their names. The same bytes each time.
///
/// # Errors
/// What the writer gives, and an error of the kind `Other` that holds [`Stop`](grisaille_base::Stop) when cancelled.
pub fn write_3mf(
    out: &mut impl Write,
    plan: &Plan,
    regions: &Regions,
    models: MapModels<'_>,
    watch: &Watch,
) -> io::Result<()> {
    let (objects, palette) = objects(plan, &regions.of_face, models.of_face);
    // Packed in memory, as the sizes stand before the data; it is a tenth of the text.
    let mut package = ZipWriter::new(Cursor::new(Vec::new()));
    let options = SimpleFileOptions::default();
    for (name, text) in FRAME {
        package.start_file(name, options).map_err(of_zip)?;
        package.write_all(text.as_bytes())?;
    }
    package.start_file("3D/3dmodel.model", options.large_file(true)).map_err(of_zip)?;
    let mut text = Text { text: String::new(), to: &mut package, watch };
    head(&mut text.text, models.title, &palette);
    for (id, (model, object)) in (COLOURS + 1..).zip(&objects) {
        let name = models.names.get(*model).map_or("model", String::as_str);
        write_object(&mut text, id, name, object, regions)?;
    }
    let low = plan.mesh.bounds().low;
    let _ = write!(text.text, "</resources><build>");
    for id in COLOURS + 1..=COLOURS + objects.len() {
        // The standard wants what is built in the positive octant; all objects move together.
        let [x, y, z] = low.map(|x| 0.0 - x);
        let _ = write!(text.text, r#"<item objectid="{id}" transform="1 0 0 0 1 0 0 0 1 {x} {y} {z}"/>"#);
    }
    let _ = writeln!(text.text, "</build></model>");
    text.pack()?;
    let packed = package.finish().map_err(of_zip)?.into_inner();
    out.write_all(&packed)
}

fn of_zip(e: ZipError) -> io::Error {
    match e {
        ZipError::Io(e) => e,
        e => io::Error::other(e),
    }
}

/// Text on its way into the package.
struct Text<'a> {
    text: String,
    to: &'a mut ZipWriter<Cursor<Vec<u8>>>,
    watch: &'a Watch,
}

impl Text<'_> {
    /// Packs what was gathered, if that is enough.
    fn flow(&mut self) -> io::Result<()> {
        if self.text.len() < GATHERED {
            return Ok(());
        }
        self.watch.check().map_err(io::Error::other)?;
        self.pack()
    }

    fn pack(&mut self) -> io::Result<()> {
        self.to.write_all(self.text.as_bytes())?;
        self.text.clear();
        Ok(())
    }
}

// Writing to a string cannot fail.

fn head(text: &mut String, title: &str, palette: &Palette) {
    let _ = write!(
        text,
        r#"<?xml version="1.0" encoding="UTF-8"?>
<model unit="millimeter" xml:lang="en" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02" xmlns:m="http://schemas.microsoft.com/3dmanufacturing/material/2015/02" xmlns:t="http://schemas.microsoft.com/3dmanufacturing/trianglesets/2021/07"><metadata name="Title">{}</metadata><metadata name="Application">grisaille {}</metadata><resources>
<m:colorgroup id="{COLOURS}">"#,
        escaped(title),
        env!("CARGO_PKG_VERSION")
    );
    for [red, green, blue] in &palette.colours {
        let _ = write!(text, r##"<m:color color="#{red:02X}{green:02X}{blue:02X}"/>"##);
    }
    let _ = writeln!(text, "</m:colorgroup>");
}

fn write_object(
    text: &mut Text<'_>,
    id: usize,
    name: &str,
    object: &Object,
    regions: &Regions,
) -> io::Result<()> {
    // An object that is no body must say so.
    let kind = if object.closed { "model" } else { "surface" };
    let _ = writeln!(
        text.text,
        r#"<object id="{id}" type="{kind}" name="{}" pid="{COLOURS}" pindex="{}"><mesh><vertices>"#,
        escaped(name),
        object.most
    );
    for [x, y, z] in &object.points {
        let _ = writeln!(text.text, r#"<vertex x="{x}" y="{y}" z="{z}"/>"#);
        text.flow()?;
    }
    let _ = writeln!(text.text, "</vertices><triangles>");
    for ([a, b, c], colour) in &object.triangles {
        // Not every reader knows that an object's colour is that of triangles which do not say theirs.
        let _ =
            writeln!(text.text, r#"<triangle v1="{a}" v2="{b}" v3="{c}" pid="{COLOURS}" p1="{colour}"/>"#);
        text.flow()?;
    }
    let _ = writeln!(text.text, "</triangles><t:trianglesets>");
    for (region, [first, last]) in &object.regions {
        let number = region.index() + 1;
        let name = regions.regions.get(region.index()).map_or("", |r| r.name.as_str());
        let name = escaped(name);
        let _ = writeln!(text.text, r#"<t:triangleset name="{name}" identifier="region-{number}">"#);
        // One by one: the consortium's own reader knows no ranges.
        for i in *first..=*last {
            let _ = writeln!(text.text, r#"<t:ref index="{i}"/>"#);
            text.flow()?;
        }
        let _ = writeln!(text.text, "</t:triangleset>");
    }
    let _ = writeln!(text.text, "</t:trianglesets></mesh></object>");
    Ok(())
}

/// Text as XML 1.0 can hold it, in an attribute as well: what it has no place for becomes U+FFFD.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\t' => out.push_str("&#9;"),
            '\n' => out.push_str("&#10;"),
            '\r' => out.push_str("&#13;"),
            '\0'..='\u{1f}' | '\u{fffe}' | '\u{ffff}' => out.push(char::REPLACEMENT_CHARACTER),
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn any_name_is_sound_xml() {
        assert_eq!(
            escaped("a<b>&\"c\"'d'\n\u{1}頭\u{ffff}"),
            "a&lt;b&gt;&amp;&quot;c&quot;'d'&#10;\u{fffd}頭\u{fffd}"
        );
    }
}

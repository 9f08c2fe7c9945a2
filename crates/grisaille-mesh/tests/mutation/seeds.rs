//! Sound files to be damaged: small, and with something of everything that each
//! kind of file can say.

use grisaille_bodies::{Triangle, cuboid, icosphere, inside_out, moved, stl};
use std::fmt::Write as _;
use std::io::{Cursor, Write as _};
use zip::CompressionMethod;
use zip::write::SimpleFileOptions;

/// A sound file.
pub(crate) enum Seed {
    /// Damaged as it is.
    Plain(Vec<u8>),
    /// A model and the file that it names.
    Beside { model: Vec<u8>, materials: Vec<u8> },
    /// A part of an archive, and the archive.
    Archive { text: Vec<u8>, archive: Vec<u8> },
}

impl Seed {
    pub(crate) fn bytes(&self) -> &[u8] {
        match self {
            Self::Plain(bytes) | Self::Beside { model: bytes, .. } => bytes,
            Self::Archive { archive, .. } => archive,
        }
    }
}

/// Seeds of each kind.
pub(crate) fn seeds() -> Vec<(&'static str, Vec<Seed>)> {
    let bodies = bodies();
    let plain = |files: Vec<Vec<u8>>| files.into_iter().map(Seed::Plain).collect();
    vec![
        ("binary STL", plain(bodies.iter().flat_map(|b| [stl(b), coloured(b)]).collect())),
        ("text STL", plain(bodies.iter().map(|b| text_stl(b)).collect())),
        ("OBJ", plain(bodies.iter().map(|b| obj(b)).collect())),
        ("OBJ with materials", bodies.iter().map(|b| with_materials(b)).collect()),
        (
            "PLY",
            plain(
                bodies
                    .iter()
                    .flat_map(|b| {
                        [ply(b, "ascii"), ply(b, "binary_little_endian"), ply(b, "binary_big_endian")]
                    })
                    .collect(),
            ),
        ),
        (
            "3MF",
            bodies
                .iter()
                .map(|b| {
                    let text = threemf(b);
                    Seed::Archive { archive: packed(&text), text }
                })
                .collect(),
        ),
    ]
}

/// A ball; a box with a hollow and an inside-out neighbour; a plate with a flat face in it.
fn bodies() -> Vec<Vec<Triangle>> {
    let mut boxes = cuboid([-2.0; 3], [2.0; 3]);
    boxes.extend(inside_out(cuboid([-1.0; 3], [1.0; 3])));
    boxes.extend(moved(inside_out(cuboid([0.0; 3], [1.0; 3])), [5.0, 0.0, 0.0]));
    let mut plate = cuboid([0.0; 3], [10.0, 10.0, 1.0]);
    plate.push([[0.0, 0.0, 1.0], [5.0, 0.0, 1.0], [10.0, 0.0, 1.0]]);
    vec![icosphere(1), boxes, plate]
}

fn coloured(body: &[Triangle]) -> Vec<u8> {
    let mut bytes = stl(body);
    bytes[..10].copy_from_slice(b"COLOR=\x10\x20\x30\xff");
    for (i, record) in bytes[84..].chunks_exact_mut(50).enumerate() {
        record[48..].copy_from_slice(&(i as u16 % 3 * 0x2108).to_le_bytes());
    }
    bytes
}

fn text_stl(body: &[Triangle]) -> Vec<u8> {
    let mut text = String::from("solid one\n");
    for (i, t) in body.iter().enumerate() {
        if i == body.len() / 2 {
            text += "endsolid one\nsolid two # of two\n";
        }
        text += "facet normal 0 0 1\n outer loop\n";
        for [x, y, z] in t {
            let _ = writeln!(text, "  vertex {x:.6e} {y:.6} {z}");
        }
        text += " endloop\nendfacet\n";
    }
    (text + "endsolid two\n").into_bytes()
}

fn obj(body: &[Triangle]) -> Vec<u8> {
    let mut text = String::from("mtllib a.mtl\no body\n");
    for (i, t) in body.iter().enumerate() {
        for [x, y, z] in t {
            let _ = writeln!(text, "v {x} {y} {z} 0.5 {} 0", i % 2);
        }
        if i % 5 == 0 {
            let _ = writeln!(text, "g part{}\nusemtl brass", i % 3);
        }
        let n = 3 * i + 1;
        // Now and then one of four corners, backwards.
        if i % 4 == 3 {
            let _ = writeln!(text, "f -1//1 -2//1 -3//1 -4//1");
        } else {
            let _ = writeln!(text, "f {n}/1/1 {}/1/1 {}/1/1", n + 1, n + 2);
        }
    }
    text.into_bytes()
}

/// The same without colours of points, which would go before the materials'.
fn with_materials(body: &[Triangle]) -> Seed {
    let text = String::from_utf8(obj(body)).expect("text");
    let mut model = String::new();
    for (i, line) in text.lines().enumerate() {
        let row: Vec<&str> = line.split(' ').take(if line.starts_with("v ") { 4 } else { 9 }).collect();
        model += &row.join(" ");
        model += "\n";
        if i % 7 == 0 {
            let _ = writeln!(model, "usemtl {}", ["brass", "old rope", "nothing"][i % 3]);
        }
    }
    let materials = "# two\nnewmtl brass\nNs 10\nKa 0 0 0\nKd 0.69 0.5 0.19\nmap_Kd brass.png\nnewmtl old rope\nKd 0.8\n\
                     newmtl lamp\nKd spectral lamp.rfl 1.0\nillum 2\n";
    Seed::Beside { model: model.into_bytes(), materials: materials.into() }
}

fn ply(body: &[Triangle], format: &str) -> Vec<u8> {
    let mut bytes = format!(
        "ply\nformat {format} 1.0\ncomment by hand\nelement vertex {}\nproperty float x\nproperty float y\nproperty double z\nproperty uchar red\nproperty uchar green\nproperty uchar blue\nelement face {}\nproperty list uchar int vertex_indices\nend_header\n",
        3 * body.len(),
        body.len()
    )
    .into_bytes();
    let big = format.contains("big");
    let mut push = |bits: u64, size: usize| {
        let little = bits.to_le_bytes();
        let mut number = little[..size].to_vec();
        if big {
            number.reverse();
        }
        bytes.extend(number);
    };
    if format == "ascii" {
        let mut text = String::new();
        for [x, y, z] in body.iter().flatten() {
            let _ = writeln!(text, "{x} {y} {z} 10 20 30");
        }
        for i in 0..body.len() {
            let _ = writeln!(text, "3 {} {} {}", 3 * i, 3 * i + 1, 3 * i + 2);
        }
        bytes.extend(text.bytes());
        return bytes;
    }
    for (i, [x, y, z]) in body.iter().flatten().enumerate() {
        push((*x as f32).to_bits().into(), 4);
        push((*y as f32).to_bits().into(), 4);
        push(z.to_bits(), 8);
        push(i as u64 % 256, 1);
        push(7, 1);
        push(9, 1);
    }
    for i in 0..body.len() as u64 {
        push(3, 1);
        for c in 0..3 {
            push(3 * i + c, 4);
        }
    }
    bytes
}

fn threemf(body: &[Triangle]) -> Vec<u8> {
    let mut text = String::from(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?><model unit=\"millimeter\"><resources><basematerials id=\"5\"><base name=\"brass\" displaycolor=\"#B08030\"/></basematerials><m:colorgroup id=\"6\"><m:color color=\"#FF0000FF\"/><m:color color=\"#0000FF\"/></m:colorgroup><object id=\"1\" name=\"body\" pid=\"5\" pindex=\"0\"><mesh><vertices>",
    );
    for [x, y, z] in body.iter().flatten() {
        let _ = write!(text, "<vertex x=\"{x}\" y=\"{y}\" z=\"{z}\"/>");
    }
    text += "</vertices><triangles>";
    for i in 0..body.len() {
        let colour = if i % 3 == 0 { " pid=\"6\" p1=\"1\"" } else { "" };
        let _ =
            write!(text, "<triangle v1=\"{}\" v2=\"{}\" v3=\"{}\"{colour}/>", 3 * i, 3 * i + 1, 3 * i + 2);
    }
    text += "</triangles></mesh></object><object id=\"2\"><components><component objectid=\"1\" transform=\"1 0 0 0 1 0 0 0 1 20 0 0\"/><component objectid=\"1\"/></components></object></resources><build><item objectid=\"2\" transform=\"1 0 0 0 1 0 0 0 -1 0 0 0\"/></build></model>";
    text.into_bytes()
}

/// An archive with one part.
pub(crate) fn packed(text: &[u8]) -> Vec<u8> {
    archive(text, CompressionMethod::Deflated)
}

/// The same, not packed.
pub(crate) fn stored(text: &[u8]) -> Vec<u8> {
    archive(text, CompressionMethod::Stored)
}

fn archive(text: &[u8], method: CompressionMethod) -> Vec<u8> {
    let mut archive = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let options = SimpleFileOptions::default().compression_method(method);
    archive.start_file("3D/3dmodel.model", options).expect("a part is begun");
    archive.write_all(text).expect("memory takes it");
    archive.finish().expect("memory takes it").into_inner()
}

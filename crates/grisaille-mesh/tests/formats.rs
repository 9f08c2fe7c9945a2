//! One body in every kind of file, and what files say of its parts.

use grisaille_base::{Code, Watch};
use grisaille_bodies::{Triangle, cuboid, icosphere, moved};
use grisaille_mesh::{
    Beside, Mark, Mesh, ReadSettings, Unit, join, material_files, read, read_beside, without,
};
use std::fmt::Write as _;
use std::io::{Cursor, Write as _};

type Soup = Vec<[[f32; 3]; 3]>;

fn narrow(body: &[Triangle]) -> Soup {
    body.iter().map(|t| t.map(|p| p.map(|x| x as f32))).collect()
}

fn binary(soup: &Soup) -> Vec<u8> {
    let mut bytes = vec![b' '; 80];
    bytes.extend((soup.len() as u32).to_le_bytes());
    for t in soup {
        bytes.extend([0; 12]);
        bytes.extend(t.iter().flatten().flat_map(|x| x.to_le_bytes()));
        bytes.extend([0; 2]);
    }
    bytes
}

fn text(soup: &Soup, number: impl Fn(f32) -> String) -> Vec<u8> {
    let mut out = String::from("solid body\n");
    for t in soup {
        out += "facet normal 0 0 0\nouter loop\n";
        for p in t {
            let [x, y, z] = p.map(&number);
            let _ = writeln!(out, "vertex {x} {y} {z}");
        }
        out += "endloop\nendfacet\n";
    }
    (out + "endsolid body\n").into_bytes()
}

/// `part` names the group of each triangle.
fn obj(soup: &Soup, part: impl Fn(usize) -> &'static str) -> Vec<u8> {
    let mut out = String::new();
    for [x, y, z] in soup.iter().flatten() {
        let _ = writeln!(out, "v {x} {y} {z}");
    }
    for i in 0..soup.len() {
        let _ = writeln!(out, "g {}\nf {} {} {}", part(i), 3 * i + 1, 3 * i + 2, 3 * i + 3);
    }
    out.into_bytes()
}

fn ply(soup: &Soup, big: bool) -> Vec<u8> {
    let order = if big { "big" } else { "little" };
    let mut bytes = format!(
        "ply\nformat binary_{order}_endian 1.0\nelement vertex {}\nproperty float x\nproperty float y\nproperty float z\nelement face {}\nproperty list uchar uint vertex_indices\nend_header\n",
        3 * soup.len(),
        soup.len()
    )
    .into_bytes();
    let mut push = |bits: u32| bytes.extend(if big { bits.to_be_bytes() } else { bits.to_le_bytes() });
    soup.iter().flatten().flatten().for_each(|x| push(x.to_bits()));
    for i in 0..soup.len() as u32 {
        bytes.push(3);
        for c in 0..3 {
            let bits = 3 * i + c;
            bytes.extend(if big { bits.to_be_bytes() } else { bits.to_le_bytes() });
        }
    }
    bytes
}

fn threemf(soup: &Soup, unit: &str) -> Vec<u8> {
    let mut xml = format!("<model unit=\"{unit}\"><resources><object id=\"1\"><mesh><vertices>");
    for [x, y, z] in soup.iter().flatten() {
        let _ = write!(xml, "<vertex x=\"{x}\" y=\"{y}\" z=\"{z}\"/>");
    }
    xml += "</vertices><triangles>";
    for i in 0..soup.len() {
        let _ = write!(xml, "<triangle v1=\"{}\" v2=\"{}\" v3=\"{}\"/>", 3 * i, 3 * i + 1, 3 * i + 2);
    }
    xml += "</triangles></mesh></object></resources><build><item objectid=\"1\"/></build></model>";
    let mut zip = zip::ZipWriter::new(Cursor::new(Vec::new()));
    zip.start_file("3D/3dmodel.model", zip::write::SimpleFileOptions::default()).expect("memory takes it");
    zip.write_all(xml.as_bytes()).expect("memory takes it");
    zip.finish().expect("memory takes it").into_inner()
}

fn load(bytes: &[u8]) -> (Mesh, Vec<Code>) {
    load_with(bytes, &ReadSettings::default(), &Watch::quiet())
}

fn load_with(bytes: &[u8], settings: &ReadSettings, watch: &Watch) -> (Mesh, Vec<Code>) {
    let (mesh, findings) = read(bytes, settings, watch).expect("a sound model");
    (mesh, findings.into_iter().map(|f| f.code).filter(|c| *c != Code::ImplausibleSize).collect())
}

/// A ball beside a box, as one figure.
fn figure() -> Soup {
    let mut body = icosphere(3);
    body.extend(moved(cuboid([0.0; 3], [1.5, 0.7, 2.3]), [4.0, 0.1, 0.0]));
    narrow(&body)
}

#[test]
fn every_kind_of_file_gives_the_same_mesh() {
    let soup = figure();
    let (want, findings) = load(&binary(&soup));
    assert!(findings.is_empty());
    assert_eq!((want.pieces().len(), want.marks().len()), (2, 0));
    // The shortest text that gives a float back is exact.
    for bytes in [
        text(&soup, |x| x.to_string()),
        obj(&soup, |_| "body"),
        ply(&soup, false),
        ply(&soup, true),
        threemf(&soup, "millimeter"),
    ] {
        assert_eq!(load(&bytes), (want.clone(), Vec::new()), "{}", String::from_utf8_lossy(&bytes[..20]));
    }
}

#[test]
fn text_and_binary_twins_are_equal_after_rounding_to_the_texts_digits() {
    let soup = figure();
    let rounded: Soup =
        soup.iter().map(|t| t.map(|p| p.map(|x| format!("{x:.4e}").parse().unwrap()))).collect();
    assert_ne!(soup, rounded);
    assert_eq!(load(&text(&soup, |x| format!("{x:.4e}"))).0, load(&binary(&rounded)).0);
}

#[test]
fn a_file_that_tells_its_unit_is_believed() {
    let soup = figure();
    let inches = ReadSettings { unit: Unit::Inch, ..ReadSettings::default() };
    let (want, _) = load_with(&binary(&soup), &inches, &Watch::quiet());
    assert_eq!(load(&threemf(&soup, "inch")).0, want);
    // Whatever unit is given beside it; a height is another matter.
    assert_eq!(load_with(&threemf(&soup, "inch"), &inches, &Watch::quiet()).0, want);
    let high = ReadSettings { height: Some(30.0), ..ReadSettings::default() };
    let (mesh, _) = load_with(&threemf(&soup, "inch"), &high, &Watch::quiet());
    assert!((mesh.bounds().extents()[2] - 30.0).abs() < 1e-4);
}

#[test]
fn any_number_of_threads_reads_the_same() {
    // Enough for many stretches and cells; with parts, flat faces and a far point.
    let mut body = icosphere(6);
    body.extend(moved(icosphere(5), [3.0, 0.0, 0.0]));
    body.push([[0.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, 0.0, 3.0]]);
    let soup = narrow(&body);
    let parts = obj(&soup, |i| ["suit", "boot", "hose"][i % 7 % 3]);
    for bytes in [binary(&soup), text(&soup, |x| x.to_string()), parts] {
        let with = |threads| {
            let watch = Watch::with_threads(threads).expect("threads");
            read(&bytes, &ReadSettings::default(), &watch).expect("a sound model")
        };
        let one = with(1);
        assert!(one.0.faces().len() > 80_000);
        for threads in [2, 5] {
            assert_eq!(with(threads), one, "{threads} threads");
        }
    }
}

#[test]
fn what_the_file_says_of_parts_stays_with_their_faces() {
    // Left half and right half of a box, one of them inside out: turned, sorted, and still told apart.
    let mut soup = narrow(&cuboid([0.0; 3], [2.0, 1.0, 1.0]));
    let left = soup.len();
    soup.extend(narrow(&grisaille_bodies::inside_out(moved(cuboid([0.0; 3], [1.0; 3]), [5.0, 0.0, 0.0]))));
    let bytes = obj(&soup, |i| if i < left { "weight" } else { "lamp" });
    let (mesh, findings) = load(&bytes);
    assert_eq!(findings, [Code::InsideOutPieces]);
    let named = |mesh: &Mesh| {
        for (face, mark) in mesh.faces().iter().zip(mesh.mark_of_face()) {
            let x = mesh.positions()[face[0] as usize].x;
            let want = if x < 3.0 { "weight" } else { "lamp" };
            assert_eq!(mesh.marks()[*mark as usize].name.as_deref(), Some(want));
        }
    };
    assert_eq!(mesh.mark_of_face().len(), 24);
    named(&mesh);
    // Joined with a model of which nothing is told, and with some of it left out.
    let plain = load(&binary(&narrow(&moved(cuboid([0.0; 3], [1.0; 3]), [-9.0, 0.0, 0.0])))).0;
    let (scene, _) = join(&[plain, mesh.clone()], &Watch::quiet()).expect("two models");
    assert_eq!((scene.marks().len(), scene.mark_of_face().len()), (3, 36));
    let away: Vec<bool> = scene.faces().iter().map(|f| scene.positions()[f[0] as usize].x < -5.0).collect();
    let (rest, _) = without(&scene, &away, &Watch::quiet()).expect("the rest");
    assert_eq!(rest, mesh);
    named(&rest);
}

#[test]
fn colours_of_a_binary_stl_are_marks_and_junk_is_none() {
    let soup = narrow(&cuboid([0.0; 3], [9.0; 3]));
    let with = |word: fn(u16) -> u16| {
        let mut bytes = binary(&soup);
        for (i, record) in bytes[84..].chunks_exact_mut(50).enumerate() {
            record[48..].copy_from_slice(&word(i as u16).to_le_bytes());
        }
        load(&bytes).0
    };
    let mesh = with(|i| if i < 6 { 0x8000 | 31 << 10 } else { 0 });
    assert_eq!(mesh.marks(), [Mark::default(), Mark { name: None, colour: Some([255, 0, 0]) }]);
    assert_eq!(mesh.mark_of_face().iter().filter(|m| **m == 1).count(), 6);
    assert!(with(|_| 0x2020).marks().is_empty());
    assert!(with(|i| i * 77).marks().is_empty());
}

#[test]
fn a_figure_on_its_back_is_told_where_files_often_have_y_up() {
    let lying = narrow(&cuboid([0.0; 3], [10.0, 30.0, 8.0]));
    assert_eq!(load(&obj(&lying, |_| "a")).1, [Code::PerhapsYUp]);
    assert_eq!(load(&ply(&lying, false)).1, [Code::PerhapsYUp]);
    assert!(load(&binary(&lying)).1.is_empty());
    let standing = narrow(&cuboid([0.0; 3], [10.0, 8.0, 30.0]));
    assert!(load(&obj(&standing, |_| "a")).1.is_empty());
}

#[test]
fn rows_of_flat_faces_that_lean_on_each_other_are_dissolved() {
    // The bottom edge of a wall, cut at a thousand points above and whole below, with a
    // fan of flat faces between: each waits for the one before it.
    const CUTS: usize = 1000;
    let at = |i: usize| [i as f32, 0.0, 0.0];
    let mut soup: Soup = (0..CUTS).map(|i| [at(i), at(i + 1), [500.0, 0.0, 9.0]]).collect();
    soup.push([at(CUTS), at(0), [500.0, 0.0, -9.0]]);
    soup.extend((1..CUTS).map(|i| [at(0), at(i + 1), at(i)]));
    let (mesh, findings) = load(&binary(&soup));
    assert_eq!(mesh.counts().zero_area_faces, CUTS as u64 - 1);
    assert_eq!(findings, [Code::ZeroAreaFaces, Code::OpenEdges]);
    // Every cut is met by the wall below now, which has kept its area.
    assert_eq!(mesh.faces().len(), 2 * CUTS);
    assert!((mesh.area_mm2() - 9.0 * CUTS as f64).abs() < 1e-3);
    assert_eq!(mesh.pieces().len(), 1);
}

#[test]
fn materials_of_an_obj_have_their_colours_from_the_file_beside_it() {
    let soup = narrow(&cuboid([0.0; 3], [9.0; 3]));
    let text = String::from_utf8(obj(&soup, |i| if i < 6 { "helmet" } else { "rope" })).expect("text");
    let text = text.replace("g helmet", "usemtl brass").replace("g rope", "usemtl hemp");
    let model = format!("mtllib diver.mtl\n{text}").into_bytes();
    assert_eq!(material_files(&model), ["diver.mtl"]);
    let with = |bytes: Option<&str>| {
        let beside = Beside { name: "diver.mtl".into(), bytes: bytes.map(|b| b.as_bytes().to_vec()) };
        read_beside(model.clone(), vec![beside], &ReadSettings::default(), &Watch::quiet()).expect("a model")
    };
    let mark = |name: &str, colour| Mark { name: Some(name.into()), colour };
    let (mesh, findings) = with(Some("newmtl hemp\nKd 0.6 0.5 0.4\n\nnewmtl brass\nKd 1 0.8 0\n"));
    assert_eq!(mesh.marks(), [mark("brass", Some([255, 204, 0])), mark("hemp", Some([153, 128, 102]))]);
    assert!(findings.is_empty(), "{findings:?}");
    // Without it the parts are the same, and it is told; so they are where nobody has looked.
    let (plain, findings) = with(None);
    assert_eq!(plain.marks(), [mark("brass", None), mark("hemp", None)]);
    assert_eq!(findings.iter().map(|f| f.code).collect::<Vec<_>>(), [Code::MissingMaterials]);
    assert_eq!((plain.faces(), plain.mark_of_face()), (mesh.faces(), mesh.mark_of_face()));
    assert_eq!(load(&model), (plain, Vec::new()));
    // Colours of points go before those of materials.
    let coloured = text.replace(" 9\n", " 9 0 0 1\n");
    let coloured = format!("mtllib diver.mtl\n{coloured}").into_bytes();
    let beside = Beside { name: "diver.mtl".into(), bytes: Some(b"newmtl hemp\nKd 1 0 0\n".to_vec()) };
    let (mesh, _) =
        read_beside(coloured, vec![beside], &ReadSettings::default(), &Watch::quiet()).expect("a model");
    assert!(mesh.marks().iter().all(|m| m.colour != Some([255, 0, 0])), "{:?}", mesh.marks());
}

//! The region map read back: PLY by a crate that we did not write, GLB by the
//! standard's rules, JSON by its sums.

use grisaille_base::{Lightness, Millimetres, RegionId, Watch};
use grisaille_bodies::{Triangle, cuboid, icosphere, moved, scaled, stl};
use grisaille_colour::luminance_from_lightness;
use grisaille_export::{
    Columns, MapModels, MapSettings, columns, map_schema, summary, table_schema, write_3mf, write_csv,
    write_glb, write_ply,
};
use grisaille_form::{Region, Regions};
use grisaille_mesh::{ReadSettings, read};
use grisaille_plan::{Plan, Products, lining, look_round, plan};
use grisaille_scheme::{Emphasis, Scheme};
use ply_rs_bw::parser::Parser;
use ply_rs_bw::ply::{DefaultElement, Encoding, Property, PropertyType, ScalarType};
use serde_json::{Value, json};
use std::io::{self, Write};
use std::sync::Arc;

/// A ball that stands 1 mm deep in a base and carries a smaller one at its
/// right and front, so that no axis looks like another.
fn body() -> Vec<Triangle> {
    let mut soup = moved(scaled(icosphere(3), 6.0), [0.0, 0.0, 8.0]);
    soup.extend(moved(scaled(icosphere(2), 2.0), [4.0, -5.0, 11.0]));
    soup.extend(cuboid([-12.0, -9.0, 0.0], [10.0, 11.0, 3.0]));
    soup
}

fn planned() -> Plan {
    let watch = Watch::quiet();
    let (mesh, _) = read(&stl(&body()), &ReadSettings::default(), &watch).expect("a sound model");
    let mut scheme = Scheme::default();
    scheme.surface.spacing = Some(Millimetres(1.0));
    scheme.fineness.ambient_directions = 32;
    for (name, at) in [("hand-lamp", [9.0, -9.0, 9.0]), ("glow_2", [-8.0, -4.0, 12.0])] {
        scheme.add_lamp(name, at, Some(Millimetres(4.0)), Millimetres(0.0)).expect("a lamp");
    }
    let mut plan = plan(&scheme, &mut Products::new(Arc::new(mesh)), &watch).expect("nobody cancels");
    plan.openness = Some(look_round(&plan, Millimetres(4.0), &watch).expect("nobody cancels"));
    plan
}

/// Column names in the order of design.md, `Region map files`.
const FLOATS: [&str; 13] = [
    "x",
    "y",
    "z",
    "nx",
    "ny",
    "nz",
    "zenithal",
    "ring",
    "ambient",
    "openness",
    "light_hand-lamp",
    "light_glow_2",
    "value",
];

/// A row of the map by column name, from the plan itself.
fn expected(plan: &Plan, columns: &Columns, s: usize) -> Vec<f32> {
    let samples = &plan.surface.samples;
    let (p, n) = (samples.position[s], samples.normal[s]);
    let lights = plan.exposure.lights.iter().map(|l| l.values[s]);
    let (rig, lamps) = (lights.clone().take(3), lights.skip(3));
    let open = plan.openness.iter().map(|o| o.values[s]);
    let own = [
        plan.values.lightness[s],
        f32::from(columns.band[s]),
        f32::from(columns.zone[s]),
        f32::from(columns.buried[s]),
        f32::from(columns.region[s]),
    ];
    [p.x, p.y, p.z, n.x, n.y, n.z].into_iter().chain(rig).chain(open).chain(lamps).chain(own).collect()
}

/// A region for each piece.
fn by_piece(plan: &Plan) -> Vec<RegionId> {
    plan.surface.piece.iter().map(|p| RegionId(p.0 as u16)).collect()
}

#[test]
fn ply_holds_all_columns_in_order_and_all_faces() {
    let plan = planned();
    let (columns, findings) = columns(&plan, &by_piece(&plan));
    assert!(findings.is_empty());
    let mut bytes = Vec::new();
    write_ply(&mut bytes, &plan, &columns).expect("memory");

    // Two properties' worth of layout by hand: LF lines, and rows without gaps.
    let header_end = bytes.windows(11).position(|w| w == b"end_header\n").expect("a header") + 11;
    assert!(!bytes[..header_end].contains(&b'\r') && bytes[..header_end].is_ascii());
    let (samples, faces) = (plan.surface.samples.len(), plan.surface.faces.len());
    assert_eq!(bytes.len() - header_end, samples * (13 * 4 + 3 + 2 + 3) + faces * 13);

    let ply = Parser::<DefaultElement>::new().read_ply(&mut bytes.as_slice()).expect("a PLY file");
    assert_eq!(ply.header.encoding, Encoding::BinaryLittleEndian);
    assert_eq!(ply.header.elements.keys().collect::<Vec<_>>(), ["vertex", "face"]);
    let properties: Vec<(&str, &PropertyType)> =
        ply.header.elements["vertex"].properties.iter().map(|(n, p)| (n.as_str(), &p.data_type)).collect();
    let float = PropertyType::Scalar(ScalarType::Float);
    let byte = PropertyType::Scalar(ScalarType::UChar);
    let short = PropertyType::Scalar(ScalarType::UShort);
    let mut want: Vec<(&str, &PropertyType)> = FLOATS.iter().map(|n| (*n, &float)).collect();
    want.extend([("band", &byte), ("zone", &byte), ("buried", &byte), ("region", &short)]);
    want.extend([("red", &byte), ("green", &byte), ("blue", &byte)]);
    assert_eq!(properties, want);
    assert_eq!(ply.header.elements["face"].properties.len(), 1);

    let number = |p: &Property| match p {
        Property::Float(x) => *x,
        Property::UChar(x) => f32::from(*x),
        Property::UShort(x) => f32::from(*x),
        other => panic!("no such column: {other:?}"),
    };
    let rows = &ply.payload["vertex"];
    assert_eq!(rows.len(), samples);
    for (s, row) in rows.iter().enumerate() {
        let numbers: Vec<f32> = row.values().map(number).collect();
        assert_eq!(numbers[..17], expected(&plan, &columns, s)[..17], "sample {s}");
        // A grey whose sRGB is that of the luminance (IEC 61966-2-1), to the step of a byte.
        let y = f64::from(columns.luminance[s]);
        let grey = if y <= 0.003_130_8 { 12.92 * y } else { 1.055 * y.powf(1.0 / 2.4) - 0.055 };
        assert!((f64::from(numbers[17]) - 255.0 * grey).abs() < 0.6, "sample {s}");
        assert!(numbers[17] == numbers[18] && numbers[18] == numbers[19]);
    }
    let lists = &ply.payload["face"];
    assert_eq!(lists.len(), faces);
    for (list, face) in lists.iter().zip(&plan.surface.faces) {
        let Some((_, Property::ListInt(list))) = list.first() else { panic!("no list of 32-bit indices") };
        assert_eq!(list.iter().map(|i| *i as u32).collect::<Vec<_>>(), face);
    }
}

#[test]
fn buried_samples_keep_their_row_and_give_no_dark_seam() {
    let plan = planned();
    let (columns, _) = columns(&plan, &by_piece(&plan));
    let samples = &plan.surface.samples;
    let buried = (0..samples.len()).filter(|s| samples.buried.get(*s)).count();
    assert!(buried > 50 && columns.buried.iter().filter(|b| **b == 1).count() == buried);
    // A buried corner of a face that is seen shows light from the range of its
    // open neighbours, though no light at all falls on it.
    let mut range = vec![(f32::INFINITY, 0.0_f32); samples.len()];
    for face in &plan.surface.faces {
        let open = face.iter().map(|s| *s as usize).filter(|s| !samples.buried.get(*s));
        let (low, high) = open
            .map(|s| plan.values.lightness[s])
            .fold((f32::INFINITY, 0.0_f32), |(low, high), l| (low.min(l), high.max(l)));
        for s in face {
            let range = &mut range[*s as usize];
            *range = (range.0.min(low), range.1.max(high));
        }
    }
    let mut lit = 0;
    for (s, (low, high)) in range.into_iter().enumerate() {
        if samples.buried.get(s) && low <= high {
            let [low, shown, high] = [
                luminance_from_lightness(Lightness(f64::from(low))),
                f64::from(columns.luminance[s]),
                luminance_from_lightness(Lightness(f64::from(high))),
            ];
            assert!(low - 1e-6 <= shown && shown <= high + 1e-6, "{low} {shown} {high}");
            assert_eq!(columns.zone[s], 0);
            lit += usize::from(low > luminance_from_lightness(Lightness(16.0)));
        }
    }
    assert!(lit > 10, "only where neighbours are lit could a seam be dark: {lit}");
}

/// The two chunks of a GLB file (glTF 2.0, 4.4).
fn chunks(bytes: &[u8]) -> (Value, &[u8]) {
    let word = |at: usize| u32::from_le_bytes(bytes[at..at + 4].try_into().expect("four bytes")) as usize;
    assert_eq!((&bytes[..4], word(4), word(8)), (&b"glTF"[..], 2, bytes.len()));
    let text = word(12);
    assert_eq!((&bytes[16..20], text % 4), (&b"JSON"[..], 0));
    let body = word(20 + text);
    assert_eq!((&bytes[24 + text..28 + text], body % 4), (&b"BIN\0"[..], 0));
    assert_eq!(28 + text + body, bytes.len());
    (serde_json::from_slice(&bytes[20..20 + text]).expect("JSON"), &bytes[28 + text..])
}

/// The numbers of an accessor, row by row, as `f64`; checks alignment and bounds.
fn accessor(root: &Value, body: &[u8], index: &Value) -> Vec<Vec<f64>> {
    let size = |v: &Value| v.as_u64().unwrap_or(0) as usize;
    let accessor = &root["accessors"][size(index)];
    let view = &root["bufferViews"][size(&accessor["bufferView"])];
    let width = match accessor["type"].as_str() {
        Some("SCALAR") => 1,
        Some("VEC3") => 3,
        Some("VEC4") => 4,
        other => panic!("{other:?}"),
    };
    let (step, read): (usize, fn(&[u8]) -> f64) = match size(&accessor["componentType"]) {
        5123 => (2, |b| f64::from(u16::from_le_bytes([b[0], b[1]])) / 65535.0),
        5125 => (4, |b| f64::from(u32::from_le_bytes([b[0], b[1], b[2], b[3]]))),
        5126 => (4, |b| f64::from(f32::from_le_bytes([b[0], b[1], b[2], b[3]]))),
        other => panic!("component type {other}"),
    };
    assert_eq!(accessor["normalized"].as_bool().unwrap_or(false), step == 2);
    let stride = view["byteStride"].as_u64().map_or(step * width, |s| s as usize);
    assert_eq!(stride % 4, 0, "rows step by multiples of four bytes");
    let start = size(&view["byteOffset"]) + size(&accessor["byteOffset"]);
    assert_eq!(start % 4, 0);
    let count = size(&accessor["count"]);
    assert!(stride * count <= size(&view["byteLength"]));
    let row = |i: usize| (0..width).map(|c| read(&body[start + i * stride + c * step..][..step])).collect();
    (0..count).map(row).collect()
}

/// Regions by piece with names of their own, one of them hard on a reader.
fn regions(plan: &Plan) -> Regions {
    let of_face = by_piece(plan);
    let count = of_face.iter().map(|r| r.index() + 1).max().unwrap_or(0);
    let names = ["base", "ball \"one\" <&>", "頭"];
    let region = |i: usize| Region {
        name: names[i].into(),
        swatch: [10 * i as u8, 200, 30],
        area_mm2: 12.5,
        place: [0.0; 3],
        neighbours: Vec::new(),
        locked: false,
        named: true,
        recoloured: false,
    };
    Regions { of_face, regions: (0..count).map(region).collect() }
}

#[test]
fn glb_holds_each_region_in_metres_with_y_up_and_linear_colours() {
    let plan = planned();
    let regions = regions(&plan);
    let (columns, _) = columns(&plan, &regions.of_face);
    let mut bytes = Vec::new();
    write_glb(&mut bytes, &plan, &columns, &regions, None).expect("memory");
    let (root, body) = chunks(&bytes);
    assert_eq!(root["asset"]["version"], "2.0");
    assert_eq!(root["nodes"].as_array().map(Vec::len), Some(1), "no lines, no node for them");
    let primitives = root["meshes"][0]["primitives"].as_array().expect("primitives");
    assert_eq!(primitives.len(), 3);
    let samples = &plan.surface.samples;
    let own: Vec<String> = FLOATS[6..].iter().map(|n| format!("_{n}")).collect();
    let mut lowest = f64::INFINITY;
    for (region, primitive) in primitives.iter().enumerate() {
        let named = &regions.regions[region];
        let material = &root["materials"][primitive["material"].as_u64().expect("a material") as usize];
        assert_eq!(material["name"], named.name.as_str());
        for told in [&material["extras"], &primitive["extras"]] {
            assert_eq!((&told["region"], &told["name"]), (&Value::from(region + 1), &material["name"]));
            assert_eq!(told["swatch"], format!("#{:02x}c81e", 10 * region));
            assert_eq!(told["area_mm2"], 12.5);
        }
        // Nothing is laid over the colours of the corners (glTF 2.0, 3.9.2: the factors are multiplied).
        assert!(
            material["pbrMetallicRoughness"]
                .get("baseColorFactor")
                .is_none_or(|c| c == &json!([1.0, 1.0, 1.0, 1.0]))
        );
        let attributes = primitive["attributes"].as_object().expect("attributes");
        let mut names: Vec<&str> = attributes.keys().map(String::as_str).collect();
        names.sort_unstable();
        let mut want: Vec<&str> = own.iter().map(String::as_str).collect();
        want.extend(["_band", "_zone", "_buried", "_region", "POSITION", "NORMAL", "COLOR_0"]);
        want.sort_unstable();
        assert_eq!(names, want);

        // The faces of the region in their order, corner by corner.
        let faces = || plan.surface.faces.iter().zip(&regions.of_face).filter(|(_, r)| r.index() == region);
        let corners: Vec<usize> = faces().flat_map(|(f, _)| f.map(|s| s as usize)).collect();
        let rows: Vec<usize> =
            accessor(&root, body, &primitive["indices"]).iter().map(|row| row[0] as usize).collect();
        assert_eq!(rows.len(), corners.len());
        let column = |name: &str| accessor(&root, body, &attributes[name]);
        let (position, normal, colour) = (column("POSITION"), column("NORMAL"), column("COLOR_0"));
        let scalars = || FLOATS[6..].iter().copied().chain(["band", "zone", "buried"]).enumerate();
        let numbers: Vec<Vec<Vec<f64>>> = scalars().map(|(_, n)| column(&format!("_{n}"))).collect();
        let of_region = column("_region");
        for (row, s) in rows.into_iter().zip(corners) {
            // Scene right, front (−Y) and up become +X, +Z and +Y.
            let (p, n) = (samples.position[s].cast::<f64>(), samples.normal[s].cast::<f64>());
            for (got, want) in position[row].iter().zip([p.x, p.z, -p.y]) {
                assert!((got - want / 1000.0).abs() < 1e-8);
            }
            for (got, want) in normal[row].iter().zip([n.x, n.z, -n.y]) {
                assert!((got - want).abs() < 1e-6);
            }
            let y = luminance_from_lightness(Lightness(f64::from(plan.values.lightness[s])));
            if !samples.buried.get(s) {
                assert!(colour[row][..3].iter().all(|c| (c - y).abs() < 1e-5));
            }
            assert_eq!(colour[row][3], 1.0);
            let want = expected(&plan, &columns, s);
            for (k, name) in scalars() {
                assert_eq!(numbers[k][row][..], [f64::from(want[6 + k])], "{name} of sample {s}");
            }
            assert_eq!(of_region[row], [(region + 1) as f64]);
        }
        // The format wants the box of positions.
        let bounds = &root["accessors"][attributes["POSITION"].as_u64().expect("an index") as usize];
        let least = position.iter().map(|p| p[1]).fold(f64::INFINITY, f64::min);
        assert_eq!(bounds["min"][1].as_f64(), Some(least));
        lowest = lowest.min(least);
    }
    assert_eq!(lowest, 0.0);
}

#[test]
fn glb_holds_lines_in_order_of_rank() {
    let plan = planned();
    let regions = regions(&plan);
    let (columns, _) = columns(&plan, &regions.of_face);
    let found = lining(&plan, Millimetres(0.5), &Watch::quiet()).expect("nobody cancels");
    assert!(!found.edges.is_empty() && found.recesses.iter().any(|l| l.closed), "{}", found.recesses.len());
    let mut bytes = Vec::new();
    write_glb(&mut bytes, &plan, &columns, &regions, Some(&found)).expect("memory");
    let (root, body) = chunks(&bytes);
    assert_eq!(root["extensionsUsed"], json!(["KHR_materials_unlit"]));
    for (node, name, lines) in [(1, "lines: recesses", &found.recesses), (2, "lines: edges", &found.edges)] {
        let node = &root["nodes"][node];
        let mesh = &root["meshes"][node["mesh"].as_u64().expect("a mesh") as usize];
        assert_eq!((&node["name"], &mesh["name"]), (&json!(name), &json!(name)));
        let [primitive] = mesh["primitives"].as_array().expect("primitives").as_slice() else {
            panic!("one primitive")
        };
        // LINES (glTF 2.0, 5.24.4).
        assert_eq!(primitive["mode"], 1);
        let column = |name: &str| accessor(&root, body, &primitive["attributes"][name]);
        let (position, rank) = (column("POSITION"), column("_rank"));
        let (width, depth) = (column("_width"), column("_depth"));
        let ends = accessor(&root, body, &primitive["indices"]);
        // The segments of each rank together are the way from point to point.
        let mut length = vec![0.0; lines.len()];
        let mut last = 1.0;
        for pair in ends.chunks(2) {
            let [a, b] = [pair[0][0] as usize, pair[1][0] as usize];
            assert_eq!(rank[a], rank[b], "no segment from one line to another");
            assert!(rank[a][0] >= last, "in order");
            last = rank[a][0];
            let line = rank[a][0] as usize - 1;
            let far: f64 = (0..3).map(|k| (position[a][k] - position[b][k]).powi(2)).sum();
            length[line] += 1000.0 * far.sqrt();
            assert_eq!(
                [width[a][0], depth[b][0]],
                [lines[line].width, lines[line].depth].map(|x| f64::from(x as f32))
            );
        }
        for (got, line) in length.iter().zip(lines) {
            let after = line.points.iter().skip(1).chain(line.closed.then_some(&line.points[0]));
            let way: f64 = line.points.iter().zip(after).map(|(a, b)| f64::from((a - b).norm())).sum();
            assert!((got - way).abs() < 1e-4 * way, "{got} {way}");
        }
    }
}

#[test]
fn json_areas_and_shares_add_up() {
    let plan = planned();
    let settings = MapSettings {
        model: "ball.stl".into(),
        ambient_directions: 32,
        ring_directions: 48,
        refined: true,
        darkest: 15.0,
        lightest: 95.0,
        bounce: None,
        emphasis: Emphasis::default(),
        keep: Vec::new(),
    };
    let value = summary(&plan, &settings, &plan.findings, None).expect("finite numbers");
    let sum = |rows: &str, key: &str| -> f64 {
        value[rows].as_array().expect(rows).iter().map(|r| r[key].as_f64().expect(key)).sum()
    };
    let painted = value["painted_area_mm2"].as_f64().expect("an area");
    assert!(painted > 1000.0);
    assert!((sum("bands", "area_mm2") / painted - 1.0).abs() < 1e-9);
    assert!(((sum("bands", "figure_mm2") + sum("bands", "base_mm2")) / painted - 1.0).abs() < 1e-9);
    assert!((sum("bands", "share") - 1.0).abs() < 1e-9);
    let unlit = value["unlit_share"].as_f64().expect("a share");
    assert!((sum("zones", "share") + unlit - 1.0).abs() < 1e-9);
    assert!((sum("zones", "area_mm2") + unlit * painted - painted).abs() < 1e-6 * painted);
    assert_eq!(value["samples"], plan.surface.samples.len());
    assert_eq!(value["buried_samples"], plan.surface.samples.buried.count());
    assert_eq!(value["settings"]["model"], "ball.stl");
    let names: Vec<&str> =
        value["lights"].as_array().expect("lights").iter().filter_map(|l| l["name"].as_str()).collect();
    assert_eq!(names, ["zenithal", "ring", "ambient", "hand-lamp", "glow_2"]);
    // What only a lamp has stands at lamps only.
    for row in value["lights"].as_array().expect("lights") {
        let is_lamp = row["kind"] == "lamp";
        for key in ["falloff", "lamp_value", "outshone_share"] {
            assert_eq!(row[key].is_number(), is_lamp, "{key} of {row}");
        }
        assert!(row["reach_mm"].is_null());
    }
    let contests = value["contests"].as_array().expect("contests");
    assert!(!contests.is_empty());
    for row in contests {
        assert!(row["share"].as_f64().is_some_and(|s| s > 0.0 && s <= 1.0));
        assert!(row["lights"].as_array().is_some_and(|l| l.iter().all(|n| names.iter().any(|m| n == m))));
    }
    // Keys stand in a fixed order, so that two files can be compared by eye.
    let keys: Vec<&str> = value.as_object().expect("an object").keys().map(String::as_str).collect();
    assert_eq!(keys[..3], ["grisaille", "settings", "height_mm"]);
    assert_eq!(keys.last(), Some(&"findings"));
}

/// The text of a part of a package.
fn part(package: &[u8], name: &str) -> String {
    let mut archive = zip::ZipArchive::new(io::Cursor::new(package)).expect("a package");
    let mut text = String::new();
    io::Read::read_to_string(&mut archive.by_name(name).expect(name), &mut text).expect("text");
    text
}

/// The numbers in some attributes of each element of a name.
fn numbers<const N: usize>(text: &str, element: &str, keys: [&str; N]) -> Vec<[f64; N]> {
    let of = |tag: &str, key: &str| {
        let value = tag.split(&format!("{key}=\"")).nth(1).and_then(|t| t.split('"').next());
        value.expect(key).parse().expect("a number")
    };
    let start = format!("<{element} ");
    let tags = text.split(&start).skip(1).map(|t| t.split("/>").next().unwrap_or(t));
    tags.map(|tag| keys.map(|key| of(tag, key))).collect()
}

#[test]
fn three_mf_holds_closed_objects_with_flat_colours_and_named_regions() {
    let plan = planned();
    let regions = regions(&plan);
    let names = ["one.stl".to_owned(), "two & more".to_owned()];
    // The first piece is one model, the others are another.
    let of_face: Vec<u32> = regions.of_face.iter().map(|r| u32::from(r.0 > 0)).collect();
    let models = MapModels { title: "<A & B>", names: &names, of_face: &of_face };
    let written = |watch: &Watch| {
        let mut bytes = Vec::new();
        write_3mf(&mut bytes, &plan, &regions, models, watch).map(|()| bytes)
    };
    let bytes = written(&Watch::quiet()).expect("memory");
    assert!(
        bytes == written(&Watch::with_threads(1).expect("a thread")).expect("memory"),
        "the same each time"
    );

    let text = part(&bytes, "3D/3dmodel.model");
    assert!(text.contains("unit=\"millimeter\"") && text.contains(">&lt;A &amp; B&gt;<"));
    assert!(part(&bytes, "_rels/.rels").contains("/3D/3dmodel.model"));
    let colours: Vec<&str> = text.split("color=\"").skip(1).map(|t| &t[..7]).collect();
    let objects: Vec<&str> = text.split("<object ").skip(1).collect();
    assert_eq!(objects.len(), 2);
    for (m, object) in objects.iter().enumerate() {
        assert!(object.contains(&format!("type=\"model\" name=\"{}\"", ["one.stl", "two &amp; more"][m])));
        let points = numbers(object, "vertex", ["x", "y", "z"]);
        let triangles = numbers(object, "triangle", ["v1", "v2", "v3", "pid", "p1"]);
        let mut faces: Vec<usize> = (0..of_face.len()).filter(|f| of_face[*f] as usize == m).collect();
        faces.sort_by_key(|f| regions.of_face[*f]);
        assert_eq!(triangles.len(), faces.len());
        let mut edges = std::collections::HashMap::new();
        for (t, f) in triangles.iter().zip(&faces) {
            let corners = [t[0], t[1], t[2]].map(|v| v as usize);
            for (v, s) in corners.iter().zip(plan.surface.faces[*f]) {
                let p = plan.surface.samples.position[s as usize];
                assert_eq!(points[*v].map(|x| x as f32), [p.x, p.y, p.z]);
            }
            for k in 0..3 {
                *edges.entry([corners[k], corners[(k + 1) % 3]]).or_insert(0) += 1;
            }
            // The grey of the band in the middle (IEC 61966-2-1), to the step of a byte.
            let band = plan.band_at(*f, [1.0 / 3.0; 3]);
            let y = luminance_from_lightness(plan.bands.rows[usize::from(band)].tone);
            let grey = 255.0 * if y <= 0.003_130_8 { 12.92 * y } else { 1.055 * y.powf(1.0 / 2.4) - 0.055 };
            assert_eq!(t[3], 1.0);
            let shown = u8::from_str_radix(&colours[t[4] as usize][1..3], 16).expect("a byte");
            assert!((f64::from(shown) - grey).abs() < 0.6, "{shown} {grey}");
        }
        // Closed (3MF core 1.3, 4.1): each edge once in either direction.
        assert!(edges.iter().all(|([a, b], n)| *n == 1 && edges.get(&[*b, *a]) == Some(&1)));
        // Sets of triangles: each one once, by regions.
        let mut next = 0;
        for set in object.split("<t:triangleset ").skip(1) {
            let number = set.split("identifier=\"region-").nth(1).and_then(|t| t.split('"').next());
            let region = number.and_then(|n| n.parse::<usize>().ok()).expect("a number") - 1;
            let name = ["base", "ball &quot;one&quot; &lt;&amp;&gt;", "頭"][region];
            assert!(set.starts_with(&format!("name=\"{name}\"")), "{}", &set[..60]);
            for [i] in numbers(set, "t:ref", ["index"]) {
                assert_eq!(i as usize, next);
                assert_eq!(regions.of_face[faces[next]].index(), region);
                next += 1;
            }
        }
        assert_eq!(next, faces.len());
    }
    let stopped = written(&Watch::quiet().stopping_after(1)).expect_err("stopped");
    assert!(
        stopped.get_ref().is_some_and(<dyn std::error::Error + Send + Sync>::is::<grisaille_base::Stop>),
        "{stopped}"
    );
}

#[test]
fn the_schema_of_the_json_is_published() {
    let path = std::path::PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../docs/map.schema.json");
    let schema = format!("{:#}\n", map_schema());
    if std::env::var_os("UPDATE_GOLDEN").is_some() {
        std::fs::write(&path, &schema).expect("written");
    }
    let there = std::fs::read_to_string(path).expect("docs/map.schema.json");
    assert!(there == schema, "docs/map.schema.json is old: run this test with UPDATE_GOLDEN=1");
}

#[test]
fn csv_has_a_row_for_each_region_and_its_schema_is_published() {
    let path = std::path::PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../docs/map.table-schema.json");
    let schema = format!("{:#}\n", table_schema());
    if std::env::var_os("UPDATE_GOLDEN").is_some() {
        std::fs::write(&path, &schema).expect("written");
    }
    let there = std::fs::read_to_string(path).expect("docs/map.table-schema.json");
    assert!(there == schema, "docs/map.table-schema.json is old: run this test with UPDATE_GOLDEN=1");

    let plan = planned();
    let regions = regions(&plan);
    let (columns, _) = columns(&plan, &regions.of_face);
    let mut bytes = Vec::new();
    write_csv(&mut bytes, &plan, &columns, &regions).expect("memory");
    let text = String::from_utf8(bytes).expect("text");
    let rows: Vec<&str> = text.split_terminator("\r\n").collect();
    assert_eq!(rows.len(), 4);
    let keys: Vec<&str> = rows[0].split(',').collect();
    let schema = table_schema();
    let told: Vec<&str> =
        schema["fields"].as_array().expect("fields").iter().filter_map(|f| f["name"].as_str()).collect();
    assert_eq!(told, keys);
    assert!(rows[2].starts_with("2,\"ball \"\"one\"\" <&>\",12.50,0.3333,"), "{}", rows[2]);
    for row in [rows[1], rows[3]] {
        let cells: Vec<&str> = row.split(',').collect();
        assert_eq!(cells.len(), keys.len());
        let number = |key: &str| -> f64 {
            let at = keys.iter().position(|k| *k == key).expect(key);
            if cells[at].is_empty() { 0.0 } else { cells[at].parse().expect(key) }
        };
        let bands: f64 = (1..=6).map(|k| number(&format!("band_{k}_share"))).sum();
        assert!((bands - 1.0).abs() < 1e-3, "{bands}");
        assert!(
            number("main_light_share") > 0.0 && number("main_light_share") + number("unlit_share") <= 1.0001
        );
        assert!((15.0..=95.0).contains(&number("mean_value")));
    }
}

/// A disk with room for so many bytes.
struct Full(usize);

impl Write for Full {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        if self.0 == 0 {
            return Err(io::ErrorKind::StorageFull.into());
        }
        let n = bytes.len().min(self.0);
        self.0 -= n;
        Ok(n)
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[test]
fn a_writer_that_fails_is_heard_wherever_it_fails() {
    let plan = planned();
    let regions = regions(&plan);
    let (columns, _) = columns(&plan, &regions.of_face);
    let mut whole = [Vec::new(), Vec::new()];
    write_ply(&mut whole[0], &plan, &columns).expect("memory");
    write_glb(&mut whole[1], &plan, &columns, &regions, None).expect("memory");
    for share in [0, 1, 50, 99] {
        let room = |n: usize| Full(whole[n].len() * share / 100);
        let errors = [
            write_ply(&mut room(0), &plan, &columns),
            write_glb(&mut room(1), &plan, &columns, &regions, None),
        ];
        for error in errors {
            assert_eq!(error.expect_err("no room").kind(), io::ErrorKind::StorageFull);
        }
    }
}

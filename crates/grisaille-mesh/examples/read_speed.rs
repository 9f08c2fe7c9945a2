//! How fast model files are read, beside stl_io in the same run.
//!
//! ```text
//! cargo run --release -p grisaille-mesh --example read_speed [RUNS]
//! ```
//!
//! A knotted ring of 1.6 million triangles as binary (80 MB) and text STL, OBJ, PLY and 3MF,
//! and binary ones of 0.1 to 6.4 million: medians of RUNS (5 unless given), files in memory, all
//! cores. What is compared is run in turn, so that whatever else the machine does meets both.
//! Peak memory counts the file's own bytes. *Torn*: of one triangle in 50 every point is 0.1 µm
//! off, so that its edges are open until what is nearly equal is welded. *Supports*: looking for print
//! supports in what was read. Prints tables; nothing fails on speed.

use grisaille_base::{Finding, Watch};
use grisaille_mesh::{Mesh, ReadError, ReadSettings, read_owned, supports, welded};
use peak_alloc::PeakAlloc;
use std::fmt::Write as _;
use std::hint::black_box;
use std::io::{Cursor, Write as _};
use std::time::Instant;

#[global_allocator]
static MEMORY: PeakAlloc = PeakAlloc;

type Triangle = [[f32; 3]; 3];

/// A ring with bumps of 4·n² triangles, about 80 mm wide.
fn ring(n: usize) -> (Vec<[f32; 3]>, Vec<[u32; 3]>) {
    use std::f64::consts::TAU;
    let (across, along) = (n, 2 * n);
    let point = |i: usize, j: usize| {
        let (u, v) = (TAU * (i % across) as f64 / across as f64, TAU * (j % along) as f64 / along as f64);
        let thick = 10.0 + 2.0 * (7.0 * u + 3.0 * v).sin() + (11.0 * v).cos();
        let wide = 28.0 + thick * u.cos();
        [(wide * v.cos()) as f32, (wide * v.sin()) as f32, (thick * u.sin() + 4.0 * (2.0 * v).sin()) as f32]
    };
    let points =
        (0..along).flat_map(|j| (0..across).map(move |i| (i, j))).map(|(i, j)| point(i, j)).collect();
    let number = |i: usize, j: usize| ((j % along) * across + i % across) as u32;
    let mut faces = Vec::with_capacity(2 * across * along);
    for j in 0..along {
        for i in 0..across {
            let [a, b, c, d] = [number(i, j), number(i, j + 1), number(i + 1, j + 1), number(i + 1, j)];
            faces.extend([[a, b, c], [a, c, d]]);
        }
    }
    (points, faces)
}

fn triangles(points: &[[f32; 3]], faces: &[[u32; 3]]) -> impl Iterator<Item = Triangle> {
    faces.iter().map(|f| f.map(|v| points[v as usize]))
}

fn binary(points: &[[f32; 3]], faces: &[[u32; 3]]) -> Vec<u8> {
    let mut bytes = vec![0; 80];
    bytes.extend((faces.len() as u32).to_le_bytes());
    for t in triangles(points, faces) {
        bytes.extend([0; 12]);
        bytes.extend(t.iter().flatten().flat_map(|x| x.to_le_bytes()));
        bytes.extend([0; 2]);
    }
    bytes
}

/// A binary file in which the points of one triangle in 50 are not quite those of its neighbours.
fn torn(points: &[[f32; 3]], faces: &[[u32; 3]]) -> Vec<u8> {
    let mut bytes = binary(points, faces);
    for record in bytes[84..].chunks_exact_mut(50).step_by(50) {
        for x in record[12..48].chunks_exact_mut(4) {
            let moved = f32::from_le_bytes([x[0], x[1], x[2], x[3]]) + 1e-4;
            x.copy_from_slice(&moved.to_le_bytes());
        }
    }
    bytes
}

fn text(points: &[[f32; 3]], faces: &[[u32; 3]], most: usize) -> Vec<u8> {
    let mut out = String::from("solid ring\n");
    for t in triangles(points, faces) {
        if out.len() > most {
            break;
        }
        out += "  facet normal 0.000000e+00 0.000000e+00 1.000000e+00\n    outer loop\n";
        for [x, y, z] in t {
            let _ = writeln!(out, "      vertex {x:.6e} {y:.6e} {z:.6e}");
        }
        out += "    endloop\n  endfacet\n";
    }
    (out + "endsolid ring\n").into_bytes()
}

fn obj(points: &[[f32; 3]], faces: &[[u32; 3]]) -> Vec<u8> {
    let mut out = String::new();
    for [x, y, z] in points {
        let _ = writeln!(out, "v {x:.6} {y:.6} {z:.6}");
    }
    for [a, b, c] in faces {
        let _ = writeln!(out, "f {} {} {}", a + 1, b + 1, c + 1);
    }
    out.into_bytes()
}

fn ply(points: &[[f32; 3]], faces: &[[u32; 3]]) -> Vec<u8> {
    let mut bytes = format!("ply\nformat binary_little_endian 1.0\nelement vertex {}\nproperty float x\nproperty float y\nproperty float z\nelement face {}\nproperty list uchar int vertex_indices\nend_header\n", points.len(), faces.len()).into_bytes();
    bytes.extend(points.iter().flatten().flat_map(|x| x.to_le_bytes()));
    for face in faces {
        bytes.push(3);
        bytes.extend(face.iter().flat_map(|v| v.to_le_bytes()));
    }
    bytes
}

fn threemf(points: &[[f32; 3]], faces: &[[u32; 3]]) -> Result<Vec<u8>, Box<dyn std::error::Error>> {
    let mut xml = String::from("<model unit=\"millimeter\"><resources><object id=\"1\"><mesh><vertices>\n");
    for [x, y, z] in points {
        let _ = writeln!(xml, "<vertex x=\"{x:.6}\" y=\"{y:.6}\" z=\"{z:.6}\"/>");
    }
    xml += "</vertices><triangles>\n";
    for [a, b, c] in faces {
        let _ = writeln!(xml, "<triangle v1=\"{a}\" v2=\"{b}\" v3=\"{c}\"/>");
    }
    xml += "</triangles></mesh></object></resources><build><item objectid=\"1\"/></build></model>";
    let mut zip = zip::ZipWriter::new(Cursor::new(Vec::new()));
    zip.start_file("3D/3dmodel.model", zip::write::SimpleFileOptions::default())?;
    zip.write_all(xml.as_bytes())?;
    Ok(zip.finish()?.into_inner())
}

/// One run of work on its own copy of the bytes: its seconds, and the most memory that it
/// held, the bytes included.
fn run<T>(bytes: &[u8], work: impl Fn(Vec<u8>) -> T) -> (f64, usize) {
    let before = MEMORY.current_usage();
    let own = bytes.to_vec();
    MEMORY.reset_peak_usage();
    let begun = Instant::now();
    let got = black_box(work(own));
    let seconds = begun.elapsed().as_secs_f64();
    let peak = MEMORY.peak_usage().saturating_sub(before);
    drop(got);
    (seconds, peak)
}

/// Medians of the seconds, and the highest peak, of what was run in turn.
fn medians<const N: usize>(runs: usize, mut once: impl FnMut() -> [(f64, usize); N]) -> [(f64, usize); N] {
    let rows: Vec<[(f64, usize); N]> = (0..runs).map(|_| once()).collect();
    std::array::from_fn(|n| {
        let mut took: Vec<f64> = rows.iter().map(|r| r[n].0).collect();
        took.sort_by(f64::total_cmp);
        (took[runs / 2], rows.iter().map(|r| r[n].1).max().unwrap_or(0))
    })
}

fn whole(bytes: Vec<u8>) -> Result<(Mesh, Vec<Finding>), ReadError> {
    read_owned(bytes, &ReadSettings::default(), &Watch::quiet())
}

fn baseline(bytes: Vec<u8>) -> std::io::Result<usize> {
    stl_io::read_stl(&mut Cursor::new(bytes)).map(|m| m.faces.len())
}

fn row(file: &str, size: usize, what: &str, (seconds, peak): (f64, usize), base: Option<f64>) {
    let base_text = base.map_or("".into(), |b| format!("{b:.3}"));
    let ratio = base.map_or("".into(), |b| format!("{:.1}", b / seconds));
    println!(
        "| {file} | {:.0} | {what} | {seconds:.3} | {base_text} | {ratio} | {:.1} |",
        size as f64 / 1e6,
        peak as f64 / size as f64
    );
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let runs = std::env::args().nth(1).map_or(Ok(5), |n| n.parse())?.max(1);
    let (points, faces) = ring(632);
    println!(
        "{} million triangles, {} threads, medians of {runs}\n",
        faces.len() as f64 / 1e6,
        rayon::current_num_threads()
    );
    println!(
        "| file | MB | what | s | stl_io s | times stl_io's speed | peak memory, times the file |\n| --- | --- | --- | --- | --- | --- | --- |"
    );
    let stl = binary(&points, &faces);
    for (name, bytes, runs) in [
        ("binary STL", stl, runs),
        ("text STL", text(&points, &faces, 200_000_000), runs.min(3)),
        ("binary STL, torn", torn(&points, &faces), runs.min(3)),
    ] {
        let [base, weld, all] =
            medians(runs, || [run(&bytes, baseline), run(&bytes, welded), run(&bytes, whole)]);
        row(name, bytes.len(), "read and weld", weld, Some(base.0));
        row(name, bytes.len(), "all", all, Some(base.0));
    }
    for (kind, bytes) in [
        ("OBJ", obj(&points, &faces)),
        ("binary PLY", ply(&points, &faces)),
        ("3MF", threemf(&points, &faces)?),
    ] {
        let [all] = medians(runs.min(3), || [run(&bytes, whole)]);
        row(kind, bytes.len(), "all", all, None);
    }

    println!(
        "\n| million triangles | all, s | s per million | peak memory, times the file | supports, s |\n| --- | --- | --- | --- | --- |"
    );
    for n in [158, 316, 632, 1265] {
        let (points, faces) = ring(n);
        let bytes = binary(&points, &faces);
        let million = faces.len() as f64 / 1e6;
        drop((points, faces));
        let (mesh, _) = whole(bytes.clone())?;
        let [(seconds, peak), (looked, _)] = medians(runs.min(3), || {
            // Of each mesh they are sought once.
            let mesh = mesh.clone();
            let look = |_| supports(&mesh, &Watch::quiet()).map(|s| s.is_some());
            [run(&bytes, whole), run(&[], look)]
        });
        println!(
            "| {million:.1} | {seconds:.3} | {:.3} | {:.1} | {looked:.3} |",
            seconds / million,
            peak as f64 / bytes.len() as f64
        );
    }
    Ok(())
}

//! Damaged files of every kind: whatever comes in, reading neither panics nor
//! takes memory out of proportion.
//!
//! 20,000 damaged files a kind, or as many as `GRISAILLE_MUTATIONS` says:
//!
//! ```text
//! GRISAILLE_MUTATIONS=200000 cargo test --release -p grisaille-mesh --test mutation -- --nocapture
//! ```
//!
//! Every file follows from its kind and number alone, so a failure names what
//! to look at again. The slowest is printed and not judged.

mod damage;
mod seeds;

use damage::{Chance, damaged};
use grisaille_base::Watch;
use grisaille_mesh::{Beside, Mesh, ReadError, ReadSettings, material_files, read, read_beside};
use peak_alloc::PeakAlloc;
use seeds::{Seed, packed, seeds, stored};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

// Counts what is allocated, on whichever thread.
#[global_allocator]
static MEMORY: PeakAlloc = PeakAlloc;

const SLACK: usize = 64 << 20;

/// Held by each test: peaks of memory would be mixed up side by side.
static ALONE: Mutex<()> = Mutex::new(());

/// How many files of each kind.
fn rounds() -> u64 {
    match std::env::var("GRISAILLE_MUTATIONS") {
        Ok(text) => text.parse().expect("GRISAILLE_MUTATIONS is a whole number"),
        Err(_) => 20_000,
    }
}

/// What memory reading took at its peak, beyond what was held before.
fn peak_of<T>(work: impl FnOnce() -> T) -> (T, usize) {
    MEMORY.reset_peak_usage();
    let before = MEMORY.current_usage();
    let got = work();
    (got, MEMORY.peak_usage().saturating_sub(before))
}

// The fewest bytes that a triangle can take in each kind of file, and many of them.
#[test]
fn large_files_of_the_tersest_kind_keep_to_their_memory() {
    let _alone = ALONE.lock().unwrap_or_else(PoisonError::into_inner);
    const LARGE: usize = 24 << 20;
    let many = |row: &str| row.repeat(LARGE / row.len());
    let plys = |rows: &str| {
        let count = LARGE / rows.len();
        format!(
            "ply\nformat ascii 1.0\nelement vertex 4\nproperty float x\nproperty float y\nproperty float z\nelement face {count}\nproperty list uchar int vertex_indices\nend_header\n0 0 0\n9 0 0\n0 9 0\n0 0 9\n"
        )
    };
    let points = "v 0 0 0\nv 9 0 0\nv 0 9 0\nv 0 0 9\n";
    let fan = format!("f {}\n", "1 2 3 4 ".repeat(1000));
    let xml = format!(
        "<model><resources><object id=\"1\"><mesh><vertices><vertex x=\"0\" y=\"0\" z=\"0\"/><vertex x=\"9\" y=\"0\" z=\"0\"/><vertex x=\"0\" y=\"9\" z=\"0\"/></vertices><triangles>{}</triangles></mesh></object></resources></model>",
        many("<triangle v1=\"0\" v2=\"1\" v3=\"2\"/>")
    );
    let files = [
        (
            "text STL",
            format!("solid{}", many(" facet outer vertex 0 0 0 vertex 9 0 0 vertex 0 9 0")).into_bytes(),
        ),
        ("OBJ", format!("{points}{}", many("f 1 2 3\n")).into_bytes()),
        ("OBJ of large faces", format!("{points}{}", many(&fan)).into_bytes()),
        ("OBJ of names", format!("{points}{}", many("g a\nf 1 2 3\ng b\nf 2 3 4\n")).into_bytes()),
        ("OBJ of points", many("v 1 2 3 \n").into_bytes()),
        ("PLY", format!("{}{}", plys("3 0 1 2\n"), many("3 0 1 2\n")).into_bytes()),
    ];
    let mut files: Vec<_> = files.into_iter().collect();
    // Faces of 255 corners in as many bytes.
    let mut table =
        plys("3 0 1 2\n").replace("ascii", "binary_little_endian").replace("uchar int", "uchar uchar");
    table.truncate(table.find("0 0 0").unwrap_or(table.len()));
    let mut table = table.into_bytes();
    table.extend([0; 48]);
    let face = [&[255_u8][..], &[0, 1, 2, 3, 1].repeat(51)].concat();
    table.extend(face.repeat(LARGE / face.len()));
    files.push(("PLY of large faces", table));
    let mut measured: Vec<(&str, usize, usize)> = files
        .into_iter()
        .map(|(kind, bytes)| {
            let (_, peak) = peak_of(|| read(&bytes, &ReadSettings::default(), &Watch::quiet()));
            (kind, bytes.len(), peak)
        })
        .collect();
    // Stored as it is, since it would be refused as a bomb.
    let archive = stored(xml.as_bytes());
    let (_, peak) = peak_of(|| read(&archive, &ReadSettings::default(), &Watch::quiet()));
    measured.push(("3MF", xml.len(), peak));
    for (kind, size, peak) in measured {
        println!("{kind}: {:.1} times the file's {} MB at the peak", peak as f64 / size as f64, size >> 20);
        assert!(peak <= 8 * size + SLACK, "{kind}: {peak} bytes for {size}");
    }
}

// A few bytes that claim four thousand million triangles.
#[test]
fn claims_of_billions_cost_nothing() {
    let _alone = ALONE.lock().unwrap_or_else(PoisonError::into_inner);
    let mut stl = vec![0; 80];
    stl.extend(u32::MAX.to_le_bytes());
    stl.extend([0; 5000]);
    let ply = b"ply\nformat binary_little_endian 1.0\nelement vertex 4000000000\nproperty float x\nelement face 4000000000\nproperty list uint uint vertex_indices\nend_header\n\xff\xff\xff\xff".to_vec();
    for bytes in [stl, ply, b"v 0 0 0\nf 4000000000 1 1\nf -4000000000 1 1\n".to_vec()] {
        let (got, peak) = peak_of(|| read(&bytes, &ReadSettings::default(), &Watch::quiet()));
        assert!(got.is_err() && peak < 1 << 20, "{peak} bytes: {got:?}");
    }
}

#[test]
fn damaged_files_neither_panic_nor_take_memory_out_of_proportion() {
    let _alone = ALONE.lock().unwrap_or_else(PoisonError::into_inner);
    let rounds = rounds();
    for (kind, seeds) in seeds() {
        let mut slowest = (Duration::ZERO, 0);
        let mut greatest = (0.0_f64, 0);
        let (mut given, mut refused) = (0_u64, 0_u64);
        for n in 0..rounds {
            let (bytes, beside, expanded) = one(&seeds, n);
            let begun = Instant::now();
            let (got, peak) = peak_of(|| {
                let (bytes, beside) = (bytes.clone(), beside.clone());
                let settings = ReadSettings::default();
                let work = || {
                    assert!(material_files(&bytes).len() <= 64, "{kind}: file {n}");
                    read_beside(bytes, beside, &settings, &Watch::quiet())
                };
                catch_unwind(AssertUnwindSafe(work))
                    .unwrap_or_else(|_| panic!("{kind}: file {n} made reading panic"))
            });
            let took = begun.elapsed();
            assert!(peak <= 8 * expanded + SLACK, "{kind}: file {n} took {peak} bytes for {expanded}");
            slowest = slowest.max((took, n));
            let share = peak as f64 / (8 * expanded + SLACK) as f64;
            if share > greatest.0 {
                greatest = (share, n);
            }
            match got {
                Ok((mesh, findings)) => {
                    given += 1;
                    assert_sound(&mesh, kind, n);
                    assert!(
                        findings.iter().all(|f| f.count > 0 && !f.hint.is_empty()),
                        "{kind}: file {n}: {findings:?}"
                    );
                    // Work grows with the triangles, and these with the bytes: a fan has
                    // one for each corner that is named, three characters or a byte.
                    assert!(mesh.counts().triangles <= expanded as u64, "{kind}: file {n}");
                }
                Err(e) => {
                    refused += 1;
                    let said = e.to_string();
                    assert!(!said.is_empty() && said.lines().count() == 1, "{kind}: file {n}: {said}");
                    assert!(!matches!(e, ReadError::Stop(_) | ReadError::Setting(_)));
                }
            }
        }
        println!(
            "{kind}: {rounds} damaged files, {given} read, {refused} refused; slowest {:.1} ms (file {}), most memory {:.1} % of its bound (file {})",
            slowest.0.as_secs_f64() * 1e3,
            slowest.1,
            100.0 * greatest.0,
            greatest.1
        );
        // Damage must not be so great that nothing is tested behind the parser.
        assert!(given * 10 >= rounds && refused > 0, "{kind}: {given} read, {refused} refused");
    }
}

/// The n-th damaged file, what is beside it, and what both expand to in bytes.
fn one(seeds: &[Seed], n: u64) -> (Vec<u8>, Vec<Beside>, usize) {
    let mut chance = Chance::new(n);
    let seed = &seeds[chance.below(seeds.len())];
    let other = &seeds[chance.below(seeds.len())];
    match seed {
        Seed::Plain(bytes) => {
            let bytes = damaged(bytes, other.bytes(), &mut chance);
            let size = bytes.len();
            (bytes, Vec::new(), size)
        }
        // The one, the other, or both.
        Seed::Beside { model, materials } => {
            let which = chance.below(3);
            let mut hit = |bytes: &[u8], other: &[u8], spared: bool| match spared {
                true => bytes.to_vec(),
                false => damaged(bytes, other, &mut chance),
            };
            let bytes = hit(model, other.bytes(), which == 0);
            let materials = hit(materials, model, which == 1);
            let size = bytes.len() + materials.len();
            (bytes, vec![Beside { name: "a.mtl".into(), bytes: Some(materials) }], size)
        }
        // Its text is damaged, or the archive itself.
        Seed::Archive { text, archive } => {
            if chance.below(4) > 0 {
                let text = damaged(text, text, &mut chance);
                let size = text.len();
                (packed(&text), Vec::new(), size)
            } else {
                let bytes = damaged(archive, archive, &mut chance);
                let size = text.len().max(bytes.len());
                (bytes, Vec::new(), size)
            }
        }
    }
}

/// What a mesh guarantees.
fn assert_sound(mesh: &Mesh, kind: &str, n: u64) {
    let count = mesh.positions().len();
    assert!(mesh.positions().iter().all(|p| p.iter().all(|x| x.is_finite())), "{kind}: file {n}");
    let mut used = vec![false; count];
    for face in mesh.faces() {
        let [a, b, c] = *face;
        assert!(a < b && a < c && b != c, "{kind}: file {n}: {face:?}");
        for v in face {
            used[*v as usize] = true;
        }
    }
    assert!(used.into_iter().all(|u| u), "{kind}: file {n}: a point is not used");
    assert!(mesh.faces().is_sorted(), "{kind}: file {n}: faces are out of order");
    assert_eq!(mesh.piece_of_face().len(), mesh.faces().len(), "{kind}: file {n}");
    assert!(mesh.piece_of_face().iter().all(|p| p.index() < mesh.pieces().len()), "{kind}: file {n}");
    assert!(
        mesh.mark_of_face().is_empty() || mesh.mark_of_face().len() == mesh.faces().len(),
        "{kind}: file {n}"
    );
    assert!(mesh.mark_of_face().iter().all(|m| (*m as usize) < mesh.marks().len()), "{kind}: file {n}");
    assert!(mesh.area_mm2().is_finite() && mesh.volume_mm3().is_finite(), "{kind}: file {n}");
}

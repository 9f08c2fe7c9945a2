//! MTL: an OBJ, this program's mark, and the materials beside it; what has no mark is materials
//! only. What the OBJ names is looked for in a folder, beside which there is what must not be found.
#![no_main]

#[path = "../../crates/grisaille/src/beside.rs"]
mod beside;
mod judge;

use grisaille_mesh::{Beside, material_files};
use std::fs::{create_dir_all, write};
use std::path::PathBuf;
use std::sync::LazyLock;

/// Uses what the seeds call their materials.
const MODEL: &[u8] = b"v 0 0 0\nv 9 0 0\nv 0 9 1\nusemtl brass\nf 1 2 3\nusemtl old rope\nf 1 3 2\n";
const INSIDE: &[u8] = b"newmtl brass\nKd 0.5\n";
const OUTSIDE: &[u8] = b"nobody may read this";

/// The model's file in a folder of its own, which nobody makes twice.
static AT: LazyLock<PathBuf> = LazyLock::new(|| {
    let outer = std::env::temp_dir().join(format!("grisaille-fuzz-{}", std::process::id()));
    let folder = outer.join("in");
    create_dir_all(folder.join("b")).expect("a folder");
    for name in ["a.mtl", "old rope.mtl", "b/a.mtl"] {
        write(folder.join(name), INSIDE).expect("a file");
    }
    for name in ["c.mtl", "a"] {
        write(outer.join(name), OUTSIDE).expect("a file");
    }
    folder.join("model.obj")
});

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    let (model, materials) = match bytes.iter().position(|b| *b == judge::MARK) {
        Some(at) => (&bytes[..at], &bytes[at + 1..]),
        None => (MODEL, bytes),
    };
    let names = material_files(model);
    assert!(names.len() <= 64);
    for (i, name) in names.iter().enumerate() {
        assert!(!name.trim().is_empty() && !names[..i].contains(name), "{name:?}");
        assert!(!name.contains(['\n', '\r', '#']), "{name:?}");
    }
    let found = beside::beside(&AT, model);
    assert!(found.len() <= 64);
    assert!(found.iter().all(|file| file.bytes.as_deref().is_none_or(|bytes| bytes == INSIDE)));
    let given = Beside { name: "a.mtl".into(), bytes: Some(materials.to_vec()) };
    judge::judge_beside(model.to_vec(), [vec![given], found].concat());
});

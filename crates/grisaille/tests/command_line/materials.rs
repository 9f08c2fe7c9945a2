//! Colours of an OBJ file's materials, from the file that it names, and from nowhere else.

use crate::bench::Bench;
use serde_json::{Value, json};
use std::fs;
use std::path::Path;

/// A pyramid of brass on hemp, whose materials stand in `library`.
fn pyramid(library: &str) -> String {
    format!(
        "mtllib {library}\nv 0 0 0\nv 9 0 0\nv 9 9 0\nv 0 9 0\nv 4 4 20\nusemtl hemp\nf 4 3 2 1\nusemtl brass\nf 1 2 5\nf 2 3 5\nf 3 4 5\nf 4 1 5\n"
    )
}

/// The colours that `inspect` tells, of brass and of hemp, and the codes of its findings.
fn told(bench: &Bench, model: &str) -> ([Value; 2], Vec<Value>) {
    let value = bench.json(&["inspect", model, "--json"]);
    let marks = value["marks"].as_array().expect("marks");
    let of = |name: &str| marks.iter().find(|m| m["name"] == name).expect("a material")["colour"].clone();
    let findings = value["findings"].as_array().expect("findings");
    ([of("brass"), of("hemp")], findings.iter().map(|f| f["code"].clone()).collect())
}

#[test]
fn materials_beside_the_model_colour_it() {
    let bench = Bench::empty();
    let all = json!(["#b08030", "#808080"]);
    let both = "newmtl brass\nKd 0.69 0.5 0.19\nnewmtl hemp\nKd 0.5\n";
    fs::create_dir_all(bench.path("parts/old")).expect("folders");
    for (library, file) in [
        ("a.mtl", "parts/a.mtl"),
        ("my own.mtl", "parts/my own.mtl"),
        ("old/b.mtl", "parts/old/b.mtl"),
        ("old\\b.mtl", "parts/old/b.mtl"),
        ("./c.mtl", "parts/c.mtl"),
        // Where it stood on another machine, it is looked for beside the model.
        ("C:\\figures\\d.mtl", "parts/d.mtl"),
        ("/figures/d.mtl", "parts/d.mtl"),
    ] {
        fs::write(bench.path(file), both).expect("materials");
        fs::write(bench.path("parts/model.obj"), pyramid(library)).expect("a model");
        let (colours, findings) = told(&bench, "parts/model.obj");
        assert_eq!((json!(colours), findings), (all.clone(), vec![]), "{library}");
    }
    // Several in one line, of which one is missing; and a scheme that names the model.
    fs::write(bench.path("parts/brass.mtl"), "newmtl brass\nKd 0.69 0.5 0.19\n").expect("materials");
    fs::write(bench.path("parts/model.obj"), pyramid("brass.mtl hemp.mtl")).expect("a model");
    let want = (json!(["#b08030", null]), vec![json!("missing-materials")]);
    let seen = |model: &str| {
        let (colours, findings) = told(&bench, model);
        (json!(colours), findings)
    };
    assert_eq!(seen("parts/model.obj"), want);
    fs::write(bench.path("one.grisaille"), "version = 1\n[[model]]\nfile = \"parts/model.obj\"\n")
        .expect("a scheme");
    assert_eq!(seen("one.grisaille"), want);
    // The regions of such a file have its colours.
    fs::write(bench.path("parts/model.obj"), pyramid("a.mtl")).expect("a model");
    let rows = bench.json(&["regions", "parts/model.obj", "--by", "file", "--json"])["regions"].clone();
    let swatches: Vec<&Value> = rows.as_array().expect("regions").iter().map(|r| &r["swatch"]).collect();
    assert!(swatches.contains(&&json!([176, 128, 48])) || swatches.contains(&&json!("#b08030")), "{rows}");
}

#[test]
fn materials_outside_the_models_folder_are_not_read() {
    let bench = Bench::empty();
    fs::create_dir_all(bench.path("parts/folder.mtl")).expect("folders");
    fs::write(bench.path("secret.mtl"), "newmtl brass\nKd 1 0 0\nnewmtl hemp\nKd 1 0 0\n")
        .expect("materials");
    let absolute = bench.path("secret.mtl");
    let absolute = absolute.to_str().expect("a path in UTF-8");
    let mut libraries = vec![
        "../secret.mtl",
        "..\\secret.mtl",
        "old/../../secret.mtl",
        absolute,
        "folder.mtl",
        ".",
        "/",
        "..",
    ];
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink("../secret.mtl", bench.path("parts/link.mtl")).expect("a link");
        std::os::unix::fs::symlink("/dev/zero", bench.path("parts/endless.mtl")).expect("a link");
        libraries.extend(["link.mtl", "endless.mtl"]);
    }
    for library in libraries {
        fs::write(bench.path("parts/model.obj"), pyramid(library)).expect("a model");
        let (colours, findings) = told(&bench, "parts/model.obj");
        assert_eq!(
            (json!(colours), findings),
            (json!([null, null]), vec![json!("missing-materials")]),
            "{library}"
        );
    }
    assert!(Path::new(absolute).exists());
}

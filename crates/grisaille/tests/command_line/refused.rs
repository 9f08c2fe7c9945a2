//! What cannot be read or makes no sense: one line that says what to do, and nothing left behind.

use crate::bench::{Bench, INPUT, OUTPUT, USAGE};
use std::fs;

#[test]
fn models_that_cannot_be_read() {
    let bench = Bench::new();
    fs::write(bench.path("empty.stl"), b"").expect("a file");
    fs::write(bench.path("picture.stl"), b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR and more").expect("a file");
    fs::write(bench.path("hollow.stl"), b"solid nothing\nendsolid nothing\n").expect("a file");
    fs::write(bench.path("noise.stl"), (0..5000_u32).map(|i| (i * i % 251) as u8).collect::<Vec<_>>())
        .expect("a file");
    fs::create_dir(bench.path("folder.stl")).expect("a folder");
    for (model, words) in [
        ("missing.stl", "no such file"),
        ("empty.stl", "empty"),
        ("folder.stl", "folder"),
        ("picture.stl", "PNG"),
        ("hollow.stl", "no triangle"),
        ("noise.stl", "not a model that can be read"),
        ("ball.stl/inside.stl", "file, not a folder"),
    ] {
        bench.fails(INPUT, words, &["inspect", model]);
        bench.fails(INPUT, words, &["map", model, "-o", "map.ply"]);
        bench.fails(INPUT, words, &["guide", model, "-o", "guide.pdf"]);
        bench.fails(INPUT, words, &["view", model, "-o", "view.png"]);
    }
}

#[test]
fn numbers_that_make_no_sense() {
    let bench = Bench::new();
    let map = |more: &[&str]| {
        let args: Vec<&str> =
            ["map", "ball.stl", "-o", "map.ply"].into_iter().chain(more.iter().copied()).collect();
        bench.fails(USAGE, "", &args);
    };
    for bad in ["nan", "inf", "-inf", "-1", "", "1e999", "two", "0x10"] {
        map(&["--spacing", bad]);
        map(&["--ambient-directions", bad]);
        map(&["--threads", bad]);
        map(&["--zenithal", bad]);
        map(&["--zenithal", &format!("10,20,{bad}")]);
        map(&["--shares", &format!("20,{bad},20")]);
        map(&["--levels", &format!("20,{bad}")]);
        map(&["--light", &format!("lamp:0,0,9,{bad}")]);
        map(&["--light", &format!("lamp:0,0,9,4,{bad}")]);
        map(&["--weight", &format!("ring:{bad}")]);
        map(&["--light", "lamp:0,-9,9", "--falloff", &format!("lamp:{bad}")]);
        map(&["--light", "lamp:0,-9,9", "--reach", &format!("lamp:{bad}")]);
        map(&["--light", "lamp:0,-9,9", "--reach", &format!("lamp:20,{bad}")]);
        map(&["--focus", &format!("0,-6,8,{bad}")]);
        map(&["--keep", &format!("0,-6,8,{bad}")]);
        map(&["--plate-gradient", bad]);
        map(&["--gap", bad]);
        map(&["--thinnest-shadow", bad]);
        bench.fails(USAGE, "", &["map", "ball.stl", "-o", "map.ply", "--height", bad]);
        bench.fails(USAGE, "", &["inspect", "ball.stl", "--height", bad]);
        bench.fails(USAGE, "", &["view", "ball.stl", "-o", "view.png", "--pixels", bad]);
        bench.fails(USAGE, "", &["view", "ball.stl", "-o", "view.png", "--scale", bad]);
        bench.fails(USAGE, "", &["view", "ball.stl", "-o", "view.png", "--paper-height", bad]);
        bench.fails(USAGE, "", &["guide", "ball.stl", "-o", "guide.pdf", "--spacing", bad]);
    }
    // A place may be negative, and a direction may be named from either side.
    for bad in ["nan", "inf", "", "x", "1e999"] {
        map(&["--zenithal", &format!("10,{bad}")]);
        for place in [format!("{bad},0,0"), format!("0,{bad},0"), format!("0,0,{bad}")] {
            map(&["--light", &format!("lamp:{place}")]);
            map(&["--focus", &format!("{place},3")]);
            map(&["--keep", &format!("{place},3")]);
        }
    }
    for options in [
        ["--spacing", "0"],
        ["--height", "0"],
        ["--ambient-directions", "0"],
        ["--ambient-directions", "1000000000"],
        ["--threads", "5000"],
        ["--zenithal", "200"],
        ["--zenithal", "1,2,3,4"],
        ["--weight", "ring"],
        ["--weight", "ring:1,2"],
        ["--weight", "moon:1"],
        ["--falloff", "ring:2"],
        ["--reach", "zenithal:20"],
        ["--focus", "0,-6,8"],
        ["--keep", "0,-6,8"],
        ["--keep", "0,-6,8,0"],
        ["--focus", "0,-6,8,3,2"],
        ["--focus", "0,-6,8,3,0.5,inside"],
        ["--lift", "figure"],
        ["--lift", "figure:2"],
        ["--lift", "hat:0.2"],
        ["--plate-gradient", "2"],
        ["--gap", "2"],
        ["--shares", "50,50"],
        ["--shares", "1,1,1,1,1,1,1"],
        ["--shares", "50,0,50"],
        ["--levels", "50"],
        ["--levels", "60,40"],
        ["--levels", "40,400"],
    ] {
        map(&options);
    }
    bench.fails(
        USAGE,
        "--levels",
        &["map", "ball.stl", "-o", "m.ply", "--levels", "30,60", "--shares", "1,1,1"],
    );
    bench.fails(USAGE, "--height", &["inspect", "ball.stl", "--unit", "inch", "--height", "32"]);
}

#[test]
fn options_that_make_no_sense() {
    let bench = Bench::new();
    for light in [
        "lamp",
        "lamp:",
        "lamp:1,2",
        "lamp:1;2;3",
        ":1,2,3",
        "two words:1,2,3",
        "lämp:1,2,3",
        "a:1,2,3,4,5,6,7",
    ] {
        bench.fails(USAGE, "", &["map", "ball.stl", "-o", "map.ply", "--light", light]);
    }
    let twice = ["map", "ball.stl", "-o", "map.ply", "--light", "lamp:0,-9,9", "--light", "lamp:5,-9,9"];
    bench.fails(USAGE, "two lights are called 'lamp'", &twice);
    let taken = ["map", "ball.stl", "-o", "map.ply", "--light", "ring:0,-9,9"];
    bench.fails(USAGE, "two lights are called 'ring'", &taken);
    bench.fails(USAGE, "two results", &["map", "ball.stl", "-o", "map.ply", "-o", "map.ply"]);
    bench.fails(USAGE, "two results", &["map", "ball.stl", "-o", "map.json", "--timings", "map.json"]);
    bench.fails(
        USAGE,
        "the lights are",
        &["view", "ball.stl", "-o", "v.png", "--look", "exposure", "--of", "moon"],
    );
    bench.fails(USAGE, ".ply, .glb, .3mf, .csv or .json", &["map", "ball.stl", "-o", "map.obj"]);
    bench.fails(USAGE, ".pdf", &["guide", "ball.stl", "-o", "guide.doc"]);
    bench.fails(USAGE, ".png", &["view", "ball.stl", "-o", "view"]);
    bench.fails(USAGE, "--output", &["map", "ball.stl"]);
    bench.fails(USAGE, "<MODEL>", &["inspect"]);
    bench.fails(USAGE, "'paint'", &["paint"]);
    bench.fails(USAGE, "'--bright'", &["inspect", "ball.stl", "--bright"]);
    bench.fails(USAGE, "sideways", &["inspect", "ball.stl", "--up", "sideways"]);
}

#[test]
fn schemes_that_cannot_be_read() {
    let bench = Bench::new();
    let text = "version = 1\n[[model]]\nfile = \"ball.stl\"\n";
    for (name, text, shown, words) in [
        (
            "newer.grisaille",
            "version = 9\n".to_owned(),
            "1 | version = 9",
            "line 1, column 11: this scheme is of version 9",
        ),
        ("typing.grisaille", format!("{text}hight = 3\n"), "4 | hight = 3", "did you mean 'height'?"),
        ("empty.grisaille", String::new(), "1 |", "it should begin with version = 1"),
        (
            "number.grisaille",
            format!("{text}[values]\ndarkest = nan\n"),
            "5 | darkest = nan",
            "the darkest value",
        ),
        ("table.grisaille", format!("{text}[values\n"), "4 | [values", "brackets"),
    ] {
        fs::write(bench.path(name), text).expect("a scheme");
        bench.fails_at(shown, words, &["guide", name, "-o", "out.pdf"]);
    }
    fs::write(bench.path("gone.grisaille"), text.replace("ball.stl", "gone.stl")).expect("a scheme");
    bench.fails(INPUT, "no such file", &["guide", "gone.grisaille", "-o", "out.pdf"]);
    fs::write(bench.path("bytes.grisaille"), b"version = 1\n# \xff\n").expect("a scheme");
    bench.fails(INPUT, "bytes that are no text", &["guide", "bytes.grisaille", "-o", "out.pdf"]);
    fs::write(bench.path("good.grisaille"), text).expect("a scheme");
    bench.fails(USAGE, "scheme file", &["guide", "good.grisaille", "--height", "30", "-o", "out.pdf"]);
    bench.fails(USAGE, ".grisaille", &["scheme", "ball.stl", "-o", "out.toml"]);
    bench.fails(OUTPUT, "itself", &["scheme", "good.grisaille", "-o", "good.grisaille"]);
}

//! How a model was printed, told by options or a scheme.

use crate::bench::{Bench, USAGE};
use grisaille_bodies::{Triangle, cuboid, stl};
use serde_json::{Value, json};
use std::fs;

/// A flight of stairs, 0.2 mm high and 0.8 mm deep each: an open sheet of 8 × 10 mm. A post beside it makes a figure of 32 mm.
fn stairs() -> Vec<Triangle> {
    let mut soup = Vec::new();
    let mut quad = |a, b, c, d| soup.extend([[a, b, c], [a, c, d]]);
    for k in 0..10 {
        let (x, z) = (0.8 * f64::from(k), 0.2 * f64::from(k));
        quad([x, 0.0, z], [x + 0.8, 0.0, z], [x + 0.8, 10.0, z], [x, 10.0, z]);
        let (x, up) = (x + 0.8, z + 0.2);
        quad([x, 0.0, z], [x, 0.0, up], [x, 10.0, up], [x, 10.0, z]);
    }
    soup.extend(cuboid([9.0, 4.0, 0.0], [11.0, 6.0, 32.0]));
    soup
}

#[test]
fn steps_of_layers_are_lines_until_the_print_is_told() {
    let bench = Bench::empty();
    fs::write(bench.path("stairs.stl"), stl(&stairs())).expect("a model");
    let lines = |args: &[&str]| bench.json(&[&["lines", "--json", "--width", "0.3"], args].concat());
    let length = |v: &Value| -> f64 {
        let of = |key: &str| {
            v[key].as_array().expect("lines").iter().map(|l| l["length_mm"].as_f64().expect("mm"))
        };
        of("edges").chain(of("recesses")).sum()
    };
    let plain = lines(&["stairs.stl"]);
    let told = lines(&["stairs.stl", "--printed", "filament"]);
    assert_eq!(plain["grain"], json!(0));
    assert!(told["grain"].as_u64() >= Some(9), "{}", told["grain"]);
    assert!(length(&told) < length(&plain) - 80.0, "{} {}", length(&told), length(&plain));
    // Resin's layers are thinner than these steps.
    assert_eq!(lines(&["stairs.stl", "--printed", "resin"])["grain"], json!(0));
    assert_eq!(lines(&["stairs.stl", "--printed", "resin", "--layer-height", "0.2"])["grain"], told["grain"]);
    let words = bench.works(&["lines", "stairs.stl", "--width", "0.3", "--layer-height", "0.2"]);
    assert!(words.contains("Grain ") && words.contains("steps of layers"), "{words}");
    // A scheme keeps it, and says so in its findings.
    bench.works(&[
        "scheme",
        "stairs.stl",
        "-o",
        "stairs.grisaille",
        "--printed",
        "filament",
        "--layer-height",
        "0.2",
    ]);
    let text = fs::read_to_string(bench.path("stairs.grisaille")).expect("a scheme");
    assert!(text.contains("printed = \"filament\"") && text.contains("layer_height = 0.2"), "{text}");
    assert_eq!(lines(&["stairs.grisaille"])["grain"], told["grain"]);
    let seen = bench.works(&["inspect", "stairs.grisaille"]);
    assert!(seen.contains("print-layers: printed in layers of 0.200 mm"), "{seen}");
    assert!(!bench.works(&["inspect", "stairs.stl"]).contains("print-layers"));
    for wrong in ["0", "-1", "NaN", "3"] {
        bench.fails(USAGE, "--layer-height", &["inspect", "stairs.stl", "--layer-height", wrong]);
    }
    bench.fails(USAGE, "--printed", &["inspect", "stairs.grisaille", "--printed", "resin"]);
    let text = text.replace("layer_height = 0.2", "layer_height = 0");
    fs::write(bench.path("stairs.grisaille"), text).expect("a scheme");
    assert!(bench.run(&["inspect", "stairs.grisaille"]).status.code() == Some(3));
}

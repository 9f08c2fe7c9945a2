//! What the shape asks for: `lines`, `strokes`, `regions`, `reach`, openness.

use crate::bench::{Bench, INPUT, USAGE, documented, keys, with};
use grisaille_bodies::{cuboid, stl};
use serde_json::Value;
use std::fs;

#[test]
fn lines_are_listed_drawn_and_told_in_json_as_their_page_says() {
    let bench = Bench::new();
    let value: Value =
        serde_json::from_str(&bench.works(&["lines", "ball.stl", "--width", "0.8", "--json"])).expect("JSON");
    let want = documented("command-line.md", "`lines --json`");
    let edges = value["edges"].as_array().expect("a list");
    assert!(edges.iter().all(|r| keys(r) == want));
    // A slab has twelve edges; the ball on it has none. Ranks count from one.
    let of = |key: &str| edges.iter().map(|r| r[key].as_f64().expect("a number")).collect::<Vec<f64>>();
    assert_eq!(of("rank"), (1..=12).map(f64::from).collect::<Vec<f64>>());
    assert!(of("length_mm").iter().filter(|l| (**l / 20.0 - 1.0).abs() < 0.03).count() == 8, "{value}");
    assert!(of("turn_degrees").iter().all(|t| (t - 90.0).abs() < 3.0), "{value}");
    // The ball is sunk into the slab by 1 mm: a circle of radius √(6² − 5²), between the two regions.
    let recess = &value["recesses"][0];
    assert_eq!(value["recesses"].as_array().map(Vec::len), Some(1));
    let round = 2.0 * std::f64::consts::PI * 11.0_f64.sqrt();
    assert!(recess["length_mm"].as_f64().is_some_and(|l| (l / round - 1.0).abs() < 0.05), "{recess}");
    assert_eq!((&recess["closed"], &recess["parts"]), (&true.into(), &serde_json::json!([1, 2])), "{recess}");
    // About it the ball overhangs the slab: a deep area on either.
    let hollows = value["hollows"].as_array().expect("a list");
    let mut of: Vec<String> = hollows.iter().map(|h| h["regions"].to_string()).collect();
    of.sort_unstable();
    assert_eq!(of, ["[1]", "[2]"]);
    // The upper edges come first, in the light of the sky; a base takes no spots, and a ball has none.
    assert!((0..4).all(|i| edges[i]["points_mm"][0][2].as_f64() > Some(2.9)), "{value}");
    assert_eq!(value["spots"].as_array().map(Vec::len), Some(0));
    let text = bench.works(&["lines", "ball.stl", "--picture", "lines.png", "--pixels", "200"]);
    assert!(text.contains("Edges      12, "), "{text}");
    assert!(fs::read(bench.path("lines.png")).expect("a picture").starts_with(b"\x89PNG"));
    bench.fails(USAGE, "--width", &["lines", "ball.stl", "--width", "0"]);
    bench.fails(USAGE, "--width", &["lines", "ball.stl", "--width", "NaN"]);
}

#[test]
fn strokes_are_told_drawn_and_blend_at_a_distance() {
    let bench = Bench::new();
    let value: Value = serde_json::from_str(&bench.works(&["strokes", "ball.stl", "--json"])).expect("JSON");
    // One minute of arc (ISO 8596) at half a metre.
    assert!((value["blends_mm"].as_f64().expect("a number") - 0.145_444).abs() < 1e-6);
    let strokes = value["strokes"].as_array().expect("a list");
    let want = documented("command-line.md", "`strokes --json`");
    assert!(!strokes.is_empty());
    assert!(strokes.iter().all(|s| keys(s) == want));
    // Each region of the ball and of the slab has its own, and a ball asks for no way but downhill.
    let of = |key: &str| strokes.iter().map(|s| s[key].as_f64().expect("a number")).collect::<Vec<f64>>();
    assert!(of("region").contains(&1.0) && of("region").contains(&2.0), "{value}");
    let ball = || strokes.iter().filter(|s| s["at_mm"][2].as_f64() > Some(4.0));
    assert!(ball().count() > 2 && ball().all(|s| s["along"][2].as_f64() < Some(0.05)), "{value}");
    let words = bench.works(&[
        "strokes",
        "ball.stl",
        "--distance",
        "1000",
        "--most",
        "1",
        "--picture",
        "strokes.png",
        "--pixels",
        "200",
    ]);
    assert!(words.contains("0.29 mm") && words.contains("dry brush"), "{words}");
    assert!(fs::read(bench.path("strokes.png")).expect("a picture").starts_with(b"\x89PNG"));
    bench.fails(USAGE, "--distance", &["strokes", "ball.stl", "--distance", "0"]);
}

#[test]
fn regions_are_listed_drawn_and_told_in_json_as_their_page_says() {
    let bench = Bench::new();
    let value: Value =
        serde_json::from_str(&bench.works(&["regions", "ball.stl", "--by", "pieces", "--json"]))
            .expect("JSON");
    let rows = value["regions"].as_array().expect("a list");
    assert_eq!(value["alike"], serde_json::json!([]), "a ball is no base");
    let want = documented("command-line.md", "`regions --json`");
    assert!(rows.iter().all(|r| keys(r) == want));
    // The base and the ball, by size; of each what is painted.
    let of = |key: &str| rows.iter().map(|r| r[key].as_f64().expect("a number")).collect::<Vec<f64>>();
    assert_eq!((of("id"), of("faces")), (vec![1.0, 2.0], vec![12.0, 320.0]));
    // The ball is sunk into the base by a cap 1 mm high and hides a disc of it.
    let pi = std::f64::consts::PI;
    let (base, ball) = (20.0 * 20.0 + 4.0 * 20.0 * 3.0 - 11.0 * pi, 2.0 * pi * 6.0 * 11.0);
    let areas = of("area_mm2");
    assert!((areas[0] / base - 1.0).abs() < 0.02 && (areas[1] / ball - 1.0).abs() < 0.02, "{areas:?}");
    // One region, and a picture; in words the same.
    let text =
        bench.works(&["regions", "ball.stl", "--count", "1", "--picture", "one.png", "--pixels", "200"]);
    assert!(text.contains("Regions    1, ") && text.contains("region 1"), "{text}");
    assert!(fs::read(bench.path("one.png")).expect("a picture").starts_with(b"\x89PNG"));
    let more: Value =
        serde_json::from_str(&bench.works(&["regions", "ball.stl", "--count", "5", "--json"])).expect("JSON");
    assert_eq!(more["regions"].as_array().map(Vec::len), Some(5));
    // From seeds: the ball is one region, the base another, each by its name.
    let seeded: Value = serde_json::from_str(&bench.works(&[
        "regions",
        "ball.stl",
        "--count",
        "4",
        "--seed",
        "ball,0,0,14",
        "--seed",
        "stand,9,9,3",
        "--json",
    ]))
    .expect("JSON");
    let names: Vec<&Value> =
        seeded["regions"].as_array().expect("a list").iter().map(|r| &r["name"]).collect();
    assert_eq!(names, ["stand", "ball"]);
    // Steps are kept in a scheme, and the scheme gives the same regions.
    let list = |args: &[&str]| -> Value {
        let all: Vec<&str> = ["regions"].iter().chain(args).chain(&["--json"]).copied().collect();
        serde_json::from_str::<Value>(&bench.works(&all)).expect("JSON")["regions"].clone()
    };
    let steps = [
        "ball.stl",
        "--by",
        "pieces",
        "--step",
        "rename=stand, round:9,9,3",
        "--step",
        "recolour=9,8,7:0,0,14",
        "--step",
        "lock:9,9,3",
        "-o",
        "ball.grisaille",
    ];
    let kept = list(&steps);
    assert_eq!((&kept[0]["name"], &kept[0]["locked"]), (&"stand, round".into(), &true.into()));
    assert_eq!(kept[1]["swatch"], "#090807");
    assert_eq!(list(&["ball.grisaille"]), kept);
    let one = list(&["ball.grisaille", "--step", "unlock:9,9,3", "--step", "merge:9,9,3:0,0,14"]);
    assert_eq!((one.as_array().map(Vec::len), &one[0]["name"]), (Some(1), &"stand, round".into()));
    bench.fails(USAGE, "recolour", &["regions", "ball.stl", "--step", "melt:0,0,1"]);
    bench.fails(USAGE, "WHAT:X,Y,Z", &["regions", "ball.stl", "--step", "lock"]);
    bench.fails(USAGE, "0 to 255", &["regions", "ball.stl", "--step", "recolour=9,8,700:0,0,14"]);
    bench.fails(USAGE, "two", &["regions", "ball.stl", "--step", "merge:0,0,14"]);
    bench.fails(USAGE, "needs a name", &["regions", "ball.stl", "--step", "grow:0,0,14"]);
    bench.fails(USAGE, "off the surface", &["regions", "ball.stl", "--seed", "ball,0,0,40"]);
    bench.fails(USAGE, ".grisaille", &["regions", "ball.stl", "-o", "ball.txt"]);
    bench.fails(USAGE, "NAME,X,Y,Z", &["regions", "ball.stl", "--seed", "ball"]);
    bench.fails(USAGE, "3 numbers", &["regions", "ball.stl", "--seed", "ball,1,2"]);
    bench.fails(USAGE, "--by auto", &["regions", "ball.stl", "--by", "pieces", "--count", "3"]);
    bench.fails(USAGE, ".png", &["regions", "ball.stl", "--picture", "one.jpg"]);
    bench.fails(USAGE, "--count", &["regions", "ball.stl", "--count", "0"]);
    bench.fails(USAGE, "auto, pieces", &["regions", "ball.stl", "--by", "colour"]);
    bench.fails(INPUT, "no such file", &["regions", "none.stl"]);
}

#[test]
fn a_picture_of_openness_has_its_reach() {
    let bench = Bench::new();
    let view = ["view", "ball.stl", "--look", "openness", "--view", "front", "--pixels", "200"];
    for within in ["0", "-1", "nan", "inf"] {
        bench.fails(2, "--within", &with(&view, &["-o", "no.png", "--within", within]));
    }
    bench.works(&with(&view, &["-o", "usual.png"]));
    bench.works(&with(&view, &["-o", "sixteenth.png", "--within", "0.875"]));
    bench.works(&with(&view, &["-o", "far.png", "--within", "8"]));
    let read = |name| fs::read(bench.path(name)).expect("the picture");
    // A sixteenth of 14 mm if nothing is said; the seam under the ball is wider seen from afar.
    assert!(read("usual.png") == read("sixteenth.png") && read("usual.png") != read("far.png"));
}

#[test]
fn reach_tells_what_to_paint_before_gluing() {
    let bench = Bench::new();
    fs::write(bench.path("lid.stl"), stl(&cuboid([-9.0, -9.0, 14.05], [9.0, 9.0, 16.0]))).expect("a model");
    let scheme = "version = 1\n[surface]\nspacing = 1.0\n[[model]]\nfile = \"ball.stl\"\n\
                  [[model]]\nfile = \"lid.stl\"\n";
    fs::write(bench.path("parts.grisaille"), scheme).expect("a scheme");
    let one: Value = serde_json::from_str(&bench.works(&["reach", "ball.stl", "--json"])).expect("JSON");
    assert_eq!(one["before_gluing"], serde_json::json!([]));
    assert_eq!(one["parts"][0]["part"], "figure");
    // The ball overhangs the slab: what of it lies in the gap is reached from no side.
    let regions = one["regions"].as_array().expect("a list");
    assert!(regions.len() >= 2 && regions.iter().all(|r| r["area_mm2"].as_f64() > Some(0.0)), "{one}");
    assert!(regions.iter().any(|r| r["out_of_reach_mm2"].as_f64() > Some(0.5)), "{one}");
    let parts = bench.works(&["reach", "parts.grisaille", "--json"]);
    let parts: Value = serde_json::from_str(&parts).expect("JSON");
    let glued = parts["before_gluing"].as_array().expect("a list");
    let files: Vec<&Value> = glued.iter().map(|row| &row["file"]).collect();
    assert_eq!(files, ["ball.stl", "lid.stl"]);
    // Under the lid, on the ball's top, a brush comes no more.
    assert!(glued[0]["closes_mm2"].as_f64() > Some(1.0) && glued[1]["closes_mm2"].as_f64() > Some(1.0));
    let words = bench.works(&["reach", "parts.grisaille"]);
    assert!(
        words.contains("Before gluing  ball.stl: paint") && words.contains("safety data sheet"),
        "{words}"
    );
}

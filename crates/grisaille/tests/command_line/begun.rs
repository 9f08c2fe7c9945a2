//! `new`: a scheme to begin with, which is read, planned, and changed by taking `#` away.

use crate::bench::{Bench, INPUT, OUTPUT, USAGE, with};
use grisaille_bodies::icosphere;
use serde_json::Value;
use std::fmt::Write as _;
use std::fs;

#[test]
fn a_scheme_to_begin_with_is_read_and_planned_without_a_finding() {
    let bench = Bench::new();
    let said = bench.works(&["new", "ball.stl"]);
    assert!(
        said.starts_with("ball.grisaille is written, with ") && said.contains("grisaille plan"),
        "{said}"
    );
    let text = fs::read_to_string(bench.path("ball.grisaille")).expect("a scheme");
    let regions =
        bench.json(&["regions", "ball.stl", "--json"])["regions"].as_array().expect("regions").len();
    assert_eq!(text.matches("[[region]]").count(), regions);
    for words in
        ["file = \"ball.stl\"", "route = \"sketch\"", "#   gloomy", "# [paints]", "kind = \"ambient\""]
    {
        assert!(text.contains(words), "{words}:\n{text}");
    }
    // It says what the model alone says: no more, and no less.
    let plain = bench.json(&with(&["inspect", "ball.stl", "--json"], &["--title", "ball"]));
    let begun = bench.json(&with(&["inspect", "ball.grisaille", "--json"], &[]));
    assert_eq!(begun["light"], plain["light"]);
    let quick = "\n[surface]\nspacing = 1\n\n[fineness]\nambient_directions = 16\n";
    fs::write(bench.path("ball.grisaille"), text + quick).expect("a scheme");
    let plan = bench.json(&["plan", "ball.grisaille", "--json"]);
    assert_eq!(plan["findings"], plain["findings"], "{}", plan["findings"]);
    assert!(!plan["stages"].as_array().expect("stages").is_empty());
}

/// Whoever takes the # away gets what the note beside it says, not an error.
#[test]
fn what_stands_behind_a_mark_can_be_switched_on() {
    let bench = Bench::new();
    fs::write(bench.path("paints.csv"), "name,hex,type\nChalk,#f0f0f0,opaque\nInk,#101018,opaque\n")
        .expect("a list");
    bench.works(&["new", "ball.stl", "-o", "all.grisaille", "--height", "20"]);
    let text = fs::read_to_string(bench.path("all.grisaille")).expect("a scheme");
    assert!(text.contains("\n[paints]\nfile = \"paints.csv\"\n"), "the list beside it is named: {text}");
    assert!(text.contains("\nheight = 20.0 "), "{text}");
    let mut switched = 0;
    let on: Vec<&str> = text
        .lines()
        .map(|line| match line.strip_prefix("# ") {
            Some(rest)
                if rest.starts_with('[')
                    || rest
                        .split_once(" = ")
                        .is_some_and(|(key, _)| key.chars().all(|c| c.is_ascii_lowercase() || c == '_')) =>
            {
                switched += 1;
                rest
            }
            _ => line,
        })
        .collect();
    assert!(switched > 30, "{switched}");
    fs::write(bench.path("on.grisaille"), on.join("\n")).expect("a scheme");
    let seen = bench.json(&["inspect", "on.grisaille", "--json"]);
    assert_eq!(seen["file"], "ball.stl");
}

#[test]
fn what_is_there_is_not_written_over_unless_asked() {
    let bench = Bench::new();
    fs::write(bench.path("ball.grisaille"), "# mine\n").expect("a file");
    bench.fails(OUTPUT, "--replace", &["new", "ball.stl"]);
    bench.works(&["new", "ball.stl", "--replace"]);
    bench.fails(USAGE, "a scheme already", &["new", "ball.grisaille", "-o", "other.grisaille"]);
    bench.fails(USAGE, ".grisaille", &["new", "ball.stl", "-o", "ball.toml"]);
    bench.fails(INPUT, "no such file", &["new", "gone.stl"]);
    bench.fails(INPUT, "no such file", &["new", "ball.stl", "-o", "b.grisaille", "--paints", "gone.csv"]);
}

/// A ball of two materials: a scheme begins with a region for each.
#[test]
fn parts_that_an_obj_names_are_the_regions_of_a_new_scheme() {
    let bench = Bench::new();
    let mut text = String::new();
    for (n, triangle) in icosphere(2).iter().enumerate() {
        for [x, y, z] in triangle {
            let _ = writeln!(text, "v {:.4} {:.4} {:.4}", 12.0 * x, 12.0 * y, 12.0 * z);
        }
        text += if triangle[0][2] > 0.2 { "usemtl brass\n" } else { "usemtl  old canvas\n" };
        let _ = writeln!(text, "f {} {} {}", 3 * n + 1, 3 * n + 2, 3 * n + 3);
    }
    fs::write(bench.path("ball.obj"), text).expect("a model");
    bench.works(&["new", "ball.obj"]);
    let scheme = fs::read_to_string(bench.path("ball.grisaille")).expect("a scheme");
    assert!(scheme.contains("by = \"file\""), "{scheme}");
    let seen = bench.json(&["inspect", "ball.obj", "--json"]);
    let marks = seen["marks"].as_array().expect("a list");
    let regions = bench.json(&["regions", "ball.grisaille", "--json"]);
    let regions = regions["regions"].as_array().expect("a list");
    let names = |all: &[Value]| all.iter().map(|r| r["name"].clone()).collect::<Vec<_>>();
    assert_eq!((names(regions), names(marks)), (vec!["old canvas".into(), "brass".into()], names(regions)));
    for (region, mark) in regions.iter().zip(marks) {
        let name = region["name"].as_str().expect("a name");
        assert!(scheme.contains(&format!("name = \"{name}\"")), "{name}");
        assert_eq!(region["faces"], mark["faces"]);
    }
    // By hand: the same regions without a scheme, and no count beside them.
    let by_hand = bench.json(&["regions", "ball.obj", "--by", "file", "--json"]);
    assert_eq!(by_hand["regions"], serde_json::json!(regions));
    bench.fails(USAGE, "--by auto", &["regions", "ball.obj", "--by", "file", "--count", "3"]);
}

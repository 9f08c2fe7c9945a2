//! `new`: a scheme to begin with, which is read, planned, and changed by taking `#` away.

use crate::bench::{Bench, INPUT, OUTPUT, USAGE, with};
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

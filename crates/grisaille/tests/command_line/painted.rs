//! Schemes with colours: `plan`, `check`, the looks and the map in colour.

use crate::bench::{Bench, INPUT, USAGE, documented, keys};
use grisaille_bodies::{cuboid, stl};
use serde_json::Value;
use std::fs;
use std::path::Path;

/// What `check` ends with when it found something.
const FOUND: i32 = 6;

const SCHEME: &str = "version = 1\ntitle = \"Ball\"\n[surface]\nspacing = 1.0\n[fineness]\nambient_directions = 16\n\
    [paints]\nfile = \"paints.csv\"\n[[model]]\nfile = \"ball.stl\"\n[regions]\nby = \"pieces\"\n\
    [[palette]]\nname = \"rust\"\ncolour = \"#9a4a22\"\nshare = 60\n[[palette]]\nname = \"sea\"\ncolour = \"#1f3a6b\"\nshare = 40\n\
    [[region]]\nname = \"ball\"\nat = [[0, -6, 8]]\ncolour = \"rust\"\nmaterial = \"cloth\"\n\
    [[region]]\nname = \"reef\"\nrest = true\ncolour = \"sea\"\n";

const PAINTS: &str = "name;hex;type\nShell white;#f1ece0;opaque\nReef black;#1b1c20;opaque\nWreck rust;#9a4a22;opaque\n\
    Trench blue;#1f3a6b;opaque\nSponge yellow;#e6bd34;opaque\nSilt stain;#7a5230;transparent\n";

fn bench() -> Bench {
    let bench = Bench::new();
    fs::write(bench.path("paints.csv"), PAINTS).expect("a list");
    fs::write(bench.path("ball.grisaille"), SCHEME).expect("a scheme");
    bench
}

#[test]
fn a_scheme_with_colours_gives_the_order_of_work() {
    let bench = bench();
    let said = bench.works(&["plan", "ball.grisaille"]);
    for words in [
        "[ ] 1 of ",
        "Clean the print",
        "Base coat: ball",
        "Wreck rust",
        "Table-ready",
        "Base: reef",
        "Spray fumes",
    ] {
        assert!(said.contains(words), "{words}: {said}");
    }
    assert!(said.lines().all(|l| l.chars().count() <= 100), "{said}");
    let value = bench.json(&["plan", "ball.grisaille", "--json"]);
    assert_eq!(keys(&value), documented("command-line.md", "`plan --json` prints"));
    assert_eq!(keys(&value["regions"][0]), documented("command-line.md", "each of its `regions` has"));
    assert_eq!(keys(&value["stages"][0]), documented("command-line.md", "each of its `stages` has"));
    let stages = value["stages"].as_array().expect("stages");
    assert_eq!(said.matches("\n[ ] ").count(), stages.len());
    // Mixes are named by the list's own names, and none of another paint.
    let mixes = stages.iter().flat_map(|s| s["recipes"].as_array().expect("recipes"));
    for mix in mixes.filter_map(|r| r["mix"].as_str()) {
        for part in mix.split(" : ") {
            let name = part.trim_start_matches(|c: char| c.is_ascii_digit());
            let name = name.trim_start_matches(" parts ").trim_start_matches(" part ");
            assert!(PAINTS.contains(&format!("{name};")), "{mix}");
        }
    }
    for threads in ["1", "3"] {
        assert_eq!(bench.works(&["plan", "ball.grisaille", "--threads", threads]), said);
    }
}

#[test]
fn a_figure_in_several_files_is_painted_where_it_closes_up_and_glued() {
    let bench = bench();
    fs::write(bench.path("lid.stl"), stl(&cuboid([-9.0, -9.0, 14.05], [9.0, 9.0, 16.0]))).expect("a model");
    let parts = SCHEME.replace("[regions]", "[[model]]\nfile = \"lid.stl\"\n[regions]");
    fs::write(bench.path("parts.grisaille"), parts).expect("a scheme");
    let value = bench.json(&["plan", "parts.grisaille", "--json"]);
    let stages = value["stages"].as_array().expect("stages");
    let before = stages.iter().find(|s| s["kind"] == "before-gluing").expect("what closes up");
    assert!(before["files"].as_array().expect("files").contains(&"ball.stl".into()), "{before}");
    let said = bench.works(&["plan", "parts.grisaille"]);
    for words in ["Put the parts together without glue", "Part       ball.stl", "Glue the parts together"] {
        assert!(said.contains(words), "{words}: {said}");
    }
    // One file alone is not glued.
    assert!(!bench.works(&["plan", "ball.grisaille"]).contains("Glue the parts"));
}

#[test]
fn the_guide_has_a_card_for_each_stage_and_is_the_same_on_any_number_of_threads() {
    let bench = bench();
    let plan = bench.json(&["plan", "ball.grisaille", "--json"]);
    let stages = plan["stages"].as_array().expect("stages");
    for threads in ["1", "3"] {
        bench.works(&["guide", "ball.grisaille", "-o", &format!("{threads}.pdf"), "--threads", threads]);
    }
    let pdf = fs::read(bench.path("1.pdf")).expect("a guide");
    assert!(pdf == fs::read(bench.path("3.pdf")).expect("a guide"), "the guides differ");
    // Bookmarks name every card; outline items are written as they are, in one byte a letter where all are Latin.
    let names = |title: &str| {
        let wide: Vec<u8> = title.encode_utf16().flat_map(u16::to_be_bytes).collect();
        [title.as_bytes(), &wide].iter().any(|t| pdf.windows(t.len()).any(|w| w == *t))
    };
    for stage in stages {
        let title = stage["title"].as_str().expect("a title");
        assert!(names(title), "{title}");
    }
    // Without a list of paints there are cards too.
    let bare = SCHEME.replace("[paints]\nfile = \"paints.csv\"\n", "");
    fs::write(bench.path("bare.grisaille"), bare).expect("a scheme");
    bench.works(&["guide", "bare.grisaille", "-o", "bare.pdf"]);
    fs::remove_file(bench.path("paints.csv")).expect("a list");
    bench.fails(INPUT, "paints.csv", &["guide", "ball.grisaille", "-o", "gone.pdf"]);
}

#[test]
fn the_guide_prints_the_sheets_that_are_asked_for() {
    let bench = bench();
    let size = |args: &[&str]| {
        bench.works(args);
        fs::metadata(bench.path("g.pdf")).expect("a guide").len()
    };
    let whole = size(&["guide", "ball.grisaille", "-o", "g.pdf"]);
    let cards = size(&["guide", "ball.grisaille", "-o", "g.pdf", "--sheets", "summary,stages"]);
    let asked = fs::read(bench.path("g.pdf")).expect("a guide");
    fs::write(bench.path("ball.grisaille"), format!("{SCHEME}[print]\nsheets = [\"summary\", \"stages\"]\n"))
        .expect("a scheme");
    size(&["guide", "ball.grisaille", "-o", "g.pdf"]);
    assert!(fs::read(bench.path("g.pdf")).expect("a guide") == asked);
    // What the command line asks for counts before the scheme.
    let values = size(&["guide", "ball.grisaille", "-o", "g.pdf", "--sheets", "values"]);
    assert!(cards < whole && values < whole && values != cards, "{whole} {cards} {values}");
    bench.fails(USAGE, "sheets", &["guide", "ball.grisaille", "-o", "g.pdf", "--sheets", "covers"]);
}

#[test]
fn another_list_of_paints_takes_the_place_of_the_schemes() {
    let bench = bench();
    fs::create_dir(bench.path("shed")).expect("a folder");
    fs::write(bench.path("shed/two.csv"), "name;hex\nLime;#e8e4da\nTar;#202022\n").expect("a list");
    let value = bench.json(&["plan", "ball.grisaille", "--paints", "shed/two.csv", "--json"]);
    let names: Vec<&str> =
        value["paints"].as_array().expect("paints").iter().filter_map(Value::as_str).collect();
    assert_eq!(names, ["Lime", "Tar"]);
    // Neither makes rust.
    let checks = value["checks"].as_array().expect("checks");
    assert!(checks.iter().any(|c| c["code"] == "mix-far-off"), "{checks:?}");
}

#[test]
fn a_check_tells_what_it_found_by_its_exit_code() {
    let bench = bench();
    // The base shows more of itself than its share of the palette.
    let said = bench.run(&["check", "ball.grisaille"]);
    assert_eq!(said.status.code(), Some(FOUND));
    let (out, err) = (String::from_utf8_lossy(&said.stdout), String::from_utf8_lossy(&said.stderr));
    assert!(out.contains("too much of this colour") && out.contains("% of what is seen"), "{out}");
    assert!(err.contains("to look at before painting"), "{err}");
    let good = SCHEME.replace("share = 60", "share = 30").replace("share = 40", "share = 70");
    fs::write(bench.path("good.grisaille"), &good).expect("a scheme");
    let said = bench.run(&["check", "good.grisaille", "--json"]);
    let value: Value = serde_json::from_slice(&said.stdout).expect("JSON");
    assert_eq!(keys(&value), documented("command-line.md", "`check --json` prints"));
    let codes = value["checks"].as_array().expect("checks");
    assert!(codes.iter().all(|c| c["code"] != "out-of-proportion"), "{codes:?}");
    assert_eq!(said.status.code() == Some(FOUND), !codes.is_empty());
    let seen: f64 =
        value["proportions"].as_array().expect("a list").iter().filter_map(|p| p["seen"].as_f64()).sum();
    assert!((seen - 1.0).abs() < 1e-9, "{value}");
}

#[test]
fn what_cannot_be_coloured_is_told() {
    let bench = bench();
    bench.fails(USAGE, "is no scheme", &["plan", "ball.stl"]);
    bench.fails(INPUT, "grey.grisaille", &["plan", "grey.grisaille"]);
    let grey = SCHEME.split("[[palette]]").next().expect("its head");
    fs::write(bench.path("grey.grisaille"), grey).expect("a scheme");
    bench.fails(USAGE, "no colours in this scheme", &["plan", "grey.grisaille"]);
    bench.fails(
        USAGE,
        "no colours in this scheme",
        &["view", "grey.grisaille", "-o", "a.png", "--look", "colours"],
    );
    fs::write(bench.path("odd.grisaille"), SCHEME.replace("\"rust\"\nmaterial", "\"salmon\"\nmaterial"))
        .expect("a scheme");
    bench.fails(USAGE, "'ball': nothing is called 'salmon'", &["plan", "odd.grisaille"]);
    fs::write(bench.path("bare.grisaille"), SCHEME.replace("paints.csv", "none.csv")).expect("a scheme");
    bench.fails(INPUT, "none.csv", &["plan", "bare.grisaille"]);
}

#[test]
fn pictures_and_maps_carry_the_planned_colours() {
    let bench = bench();
    let draw = |look: &str, file: &str| {
        bench.works(&[
            "view",
            "ball.grisaille",
            "-o",
            file,
            "--look",
            look,
            "--view",
            "front",
            "--pixels",
            "300",
        ]);
        image::open(bench.path(file)).expect("a picture").to_rgb8()
    };
    let (colours, steps) = (draw("colours", "colours.png"), draw("steps", "steps.png"));
    // Rust on the ball: red well above blue; sea on the base: blue above red.
    for picture in [&colours, &steps] {
        let count = |is: fn([u8; 3]) -> bool| picture.pixels().filter(|p| is(p.0)).count();
        assert!(count(|[r, _, b]| i32::from(r) - i32::from(b) > 40) > 3000);
        assert!(count(|[r, _, b]| i32::from(b) - i32::from(r) > 15) > 1000);
    }
    assert_ne!(colours, steps);
    bench.works(&["map", "ball.grisaille", "-o", "ball.ply"]);
    let ply = fs::read(bench.path("ball.ply")).expect("a map");
    let end = ply.windows(10).position(|w| w == b"end_header").expect("a header") + 11;
    let header = String::from_utf8_lossy(&ply[..end]).into_owned();
    let count: usize = header
        .split("element vertex ")
        .nth(1)
        .and_then(|t| t.split_whitespace().next()?.parse().ok())
        .expect("a count");
    let floats = header.matches("property float").count();
    let row = 4 * floats + 3 + 2 + 3;
    let coloured = (0..count).filter(|i| {
        let rgb = &ply[end + i * row + row - 3..end + (i + 1) * row];
        rgb[0] != rgb[2]
    });
    assert!(2 * coloured.count() > count);
}

#[test]
fn the_divers_schemes_are_planned_whole_on_each_route() {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../models-demo");
    let bench = Bench::empty();
    for route in ["sketch", "transparent", "brush-only"] {
        let scheme = demo.join(format!("diver-{route}.grisaille"));
        let value = bench.json(&["plan", scheme.to_str().expect("a path"), "--json"]);
        assert_eq!(value["route"], route);
        assert_eq!(value["findings"].as_array().map(Vec::len), Some(1), "{}", value["findings"]);
        let regions = value["regions"].as_array().expect("regions");
        assert_eq!(regions.len(), 16, "every entry paints something");
        let codes: Vec<&str> =
            value["checks"].as_array().expect("checks").iter().filter_map(|c| c["code"].as_str()).collect();
        for none in [
            "paint-without-region",
            "region-without-paint",
            "value-span-narrow",
            "outshines-lamp",
            "out-of-proportion",
        ] {
            assert!(!codes.contains(&none), "{route}: {none}");
        }
        // The lamp in his hand lights face and suit.
        for name in ["face", "canvas suit"] {
            let row = regions.iter().find(|r| r["name"] == name).expect("a region");
            assert_eq!(row["lit"][0]["light"], "hand-lamp", "{route}: {name}");
        }
    }
}

//! The program as a painter runs it: results, exit codes, and what is left
//! behind when something goes wrong. Each test works in a folder of its own.

use grisaille_bodies::{Triangle, cuboid, icosphere, moved, scaled, stl};
use serde_json::Value;
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

const DONE: i32 = 0;
const USAGE: i32 = 2;
const INPUT: i32 = 3;
const OUTPUT: i32 = 4;

/// A ball of 12 mm that stands in a base of 3 mm.
fn ball_on_base() -> Vec<Triangle> {
    let mut soup = moved(scaled(icosphere(2), 6.0), [0.0, 0.0, 8.0]);
    soup.extend(cuboid([-10.0, -10.0, 0.0], [10.0, 10.0, 3.0]));
    soup
}

/// Options that make a plan in a moment.
const QUICK: [&str; 4] = ["--spacing", "1", "--ambient-directions", "16"];

/// A folder with a model in it, and the program to run there.
struct Bench {
    folder: tempfile::TempDir,
}

impl Bench {
    fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        fs::write(folder.path().join("ball.stl"), stl(&ball_on_base())).expect("a model");
        Self { folder }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn command(&self, args: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_grisaille"));
        command.args(args).current_dir(self.folder.path()).stdin(Stdio::null());
        command
    }

    fn run(&self, args: &[&str]) -> Output {
        self.command(args).output().expect("the program starts")
    }

    /// Every file and folder, with the bytes of files.
    fn contents(&self) -> Vec<(PathBuf, Vec<u8>)> {
        fn list(folder: &Path, out: &mut Vec<(PathBuf, Vec<u8>)>) {
            for entry in fs::read_dir(folder).expect("a folder") {
                let path = entry.expect("an entry").path();
                if path.is_dir() {
                    list(&path, out);
                }
                // What is no file, such as a link to a device, counts by its name.
                let is_file = fs::symlink_metadata(&path).is_ok_and(|m| m.is_file());
                let bytes = if is_file { fs::read(&path).expect("bytes") } else { Vec::new() };
                out.push((path, bytes));
            }
        }
        let mut out = Vec::new();
        list(self.folder.path(), &mut out);
        out.sort();
        out
    }

    /// Runs what must fail: with this exit code, one line on standard error
    /// that holds `words`, nothing on standard output, and no file changed.
    fn fails(&self, code: i32, words: &str, args: &[&str]) {
        let before = self.contents();
        let run = self.run(args);
        let said = String::from_utf8(run.stderr).expect("UTF-8");
        assert_eq!(run.status.code(), Some(code), "{args:?}: {said}");
        assert_eq!(said.lines().count(), 1, "{args:?}: {said}");
        assert!(said.starts_with("grisaille: ") && said.contains(words), "{args:?}: {said}");
        assert!(run.stdout.is_empty(), "{args:?}");
        assert!(self.contents() == before, "{args:?}: files were changed or left behind");
    }

    /// Runs what must succeed; gives standard output.
    fn works(&self, args: &[&str]) -> String {
        let run = self.run(args);
        let said = String::from_utf8_lossy(&run.stderr).into_owned();
        assert_eq!(run.status.code(), Some(DONE), "{args:?}: {said}");
        assert_eq!(said, "", "{args:?}");
        String::from_utf8(run.stdout).expect("UTF-8")
    }
}

fn with<'a>(first: &[&'a str], more: &[&'a str]) -> Vec<&'a str> {
    first.iter().chain(&QUICK).chain(more).copied().collect()
}

fn keys(value: &Value) -> BTreeSet<&str> {
    value.as_object().expect("an object").keys().map(String::as_str).collect()
}

/// The keys that a table of docs/command-line.md or docs/map.md names.
fn documented(page: &str, heading: &str) -> BTreeSet<String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let text = fs::read_to_string(root.join("docs").join(page)).expect("a page");
    let (_, after) = text.split_once(heading).unwrap_or_else(|| panic!("no '{heading}' in {page}"));
    let rows = after.lines().skip_while(|l| !l.starts_with('|')).take_while(|l| l.starts_with('|'));
    rows.skip(2).filter_map(|row| Some(row.split('`').nth(1)?.to_owned())).collect()
}

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
        ("noise.stl", "not an STL model"),
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
    bench.fails(USAGE, ".ply, .glb or .json", &["map", "ball.stl", "-o", "map.obj"]);
    bench.fails(USAGE, ".pdf", &["guide", "ball.stl", "-o", "guide.doc"]);
    bench.fails(USAGE, ".png", &["view", "ball.stl", "-o", "view"]);
    bench.fails(USAGE, "--output", &["map", "ball.stl"]);
    bench.fails(USAGE, "<MODEL>", &["inspect"]);
    bench.fails(USAGE, "'paint'", &["paint"]);
    bench.fails(USAGE, "'--bright'", &["inspect", "ball.stl", "--bright"]);
    bench.fails(USAGE, "sideways", &["inspect", "ball.stl", "--up", "sideways"]);
}

#[test]
fn places_that_cannot_be_written_to() {
    let bench = Bench::new();
    fs::create_dir(bench.path("folder.ply")).expect("a folder");
    for (place, words) in [
        ("no/such/folder/map.ply", "no such file or folder"),
        ("ball.stl/map.ply", "a file, not a folder"),
        ("folder.ply", "a folder"),
    ] {
        bench.fails(OUTPUT, words, &with(&["map", "ball.stl", "-o", place], &[]));
    }
    bench.fails(OUTPUT, "", &with(&["guide", "ball.stl", "-o", "ball.stl/guide.pdf"], &[]));
    bench.fails(OUTPUT, "", &with(&["view", "ball.stl", "-o", "no/view.png"], &[]));
    bench.fails(OUTPUT, "", &["inspect", "ball.stl", "--timings", "no/timings.json"]);
    bench.fails(OUTPUT, "", &["demo", "ball.stl"]);
    bench.fails(OUTPUT, "", &["demo", "ball.stl/demo"]);
    // When the second of two results cannot be written, the first is not either.
    bench.fails(OUTPUT, "", &with(&["map", "ball.stl", "-o", "map.ply", "-o", "no/map.glb"], &[]));
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_told_and_a_place_that_takes_no_files() {
    let bench = Bench::new();
    for name in ["map.ply", "map.glb", "map.json", "guide.pdf", "view.png"] {
        std::os::unix::fs::symlink("/dev/full", bench.path(name)).expect("a link");
    }
    for name in ["map.ply", "map.glb", "map.json"] {
        bench.fails(OUTPUT, "disk is full", &with(&["map", "ball.stl", "-o", name], &[]));
    }
    bench.fails(OUTPUT, "disk is full", &with(&["guide", "ball.stl", "-o", "guide.pdf"], &[]));
    bench.fails(
        OUTPUT,
        "disk is full",
        &with(&["view", "ball.stl", "-o", "view.png", "--pixels", "100"], &[]),
    );
    let run = bench.run(&["inspect", "ball.stl", "--timings", "/dev/full"]);
    let said = String::from_utf8_lossy(&run.stderr);
    assert_eq!((run.status.code(), said.lines().count()), (Some(OUTPUT), 1), "{said}");
    assert!(said.contains("/dev/full") && said.contains("disk is full"), "{said}");
    bench.fails(OUTPUT, "", &with(&["map", "ball.stl", "-o", "/proc/map.ply"], &[]));
    // Standard output may be full too.
    let full = fs::OpenOptions::new().write(true).open("/dev/full").expect("a device");
    let run = bench.command(&["inspect", "ball.stl"]).stdout(full).output().expect("the program starts");
    let said = String::from_utf8_lossy(&run.stderr);
    assert_eq!((run.status.code(), said.lines().count()), (Some(OUTPUT), 1), "{said}");
}

#[test]
fn the_model_itself_is_never_written_to() {
    let bench = Bench::new();
    fs::write(bench.path("map.ply"), stl(&ball_on_base())).expect("a model under another ending");
    bench.fails(OUTPUT, "the model itself", &with(&["map", "map.ply", "-o", "./map.ply"], &[]));
    bench.fails(OUTPUT, "the model itself", &["inspect", "map.ply", "--timings", "map.ply"]);
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink("map.ply", bench.path("link.ply")).expect("a link");
        bench.fails(OUTPUT, "the model itself", &with(&["map", "map.ply", "-o", "link.ply"], &[]));
    }
}

#[test]
fn what_stood_there_before_stays_until_the_new_file_is_whole() {
    let bench = Bench::new();
    fs::write(bench.path("map.ply"), b"of yesterday").expect("a file");
    fs::write(bench.path("cut.stl"), &stl(&ball_on_base())[..70]).expect("a file");
    bench.fails(INPUT, "", &["map", "cut.stl", "-o", "map.ply"]);
    bench.works(&with(&["map", "ball.stl", "-o", "map.ply"], &[]));
    assert!(fs::read(bench.path("map.ply")).expect("a map").starts_with(b"ply\n"));
}

#[test]
fn an_overcast_sky_leaves_what_looks_sideways_darker() {
    let bench = Bench::new();
    let ambient = |file: &str, more: &[&str]| {
        let out = bench.run(&with(&["map", "ball.stl", "-o", file], more));
        assert_eq!(out.status.code(), Some(DONE), "{}", String::from_utf8_lossy(&out.stderr));
        let text = fs::read(bench.path(file)).expect("a map");
        let map: Value = serde_json::from_slice(&text).expect("JSON");
        let row = map["lights"].as_array().expect("lights").iter().find(|l| l["name"] == "ambient");
        let row = row.expect("the ambient light");
        (row["sky"].as_str().expect("a sky").to_owned(), row["mean"].as_f64().expect("a mean"))
    };
    let (plain, mean) = ambient("plain.json", &[]);
    assert_eq!(plain, "uniform");
    assert_eq!(ambient("uniform.json", &["--sky", "uniform"]), (plain, mean));
    let (sky, darker) = ambient("overcast.json", &["--sky", "overcast"]);
    assert_eq!(sky, "overcast");
    // Upright walls get 0.40 instead of 0.50, the level base as much as before.
    assert!(darker < 0.97 * mean && darker > 0.75 * mean, "{darker} {mean}");
    let unknown = ["map", "ball.stl", "-o", "map.ply", "--sky", "stormy"];
    bench.fails(USAGE, "uniform, overcast", &unknown);
}

#[test]
fn inspect_says_in_json_what_its_page_says() {
    let bench = Bench::new();
    let value: Value = serde_json::from_str(&bench.works(&["inspect", "ball.stl", "--json"])).expect("JSON");
    let want = documented("command-line.md", "`inspect --json`");
    assert_eq!(keys(&value), want.iter().map(String::as_str).collect());
    assert_eq!((&value["file"], &value["triangles"]), (&"ball.stl".into(), &(320 + 12).into()));
    assert_eq!((&value["pieces"], &value["closed_pieces"]), (&2.into(), &2.into()));
    assert_eq!(value["base_top_mm"], 3.0);
    // In words the same numbers.
    let text = bench.works(&["inspect", "ball.stl"]);
    for words in ["ball.stl", "20.0 × 20.0 × 14.0 mm", "332 on 170 points", "2, all closed", "3.0 mm high"]
    {
        assert!(text.contains(words), "'{words}' is not in\n{text}");
    }
    // With its light too, when that is asked for or lit by an option.
    let lamp = ["--no-refine", "--light", "lamp:9,-13,12.5,5,0.5"];
    let lit: Value =
        serde_json::from_str(&bench.works(&with(&["inspect", "ball.stl", "--json"], &lamp))).expect("JSON");
    let map: Value = serde_json::from_str(
        &bench.works(&with(&["map", "ball.stl", "-o", "ball.ply", "--json", "--primer", "none"], &lamp)),
    )
    .expect("JSON");
    for key in ["lights", "bands", "zones", "contests", "black_share"] {
        assert_eq!(lit["plan"][key], map[key], "{key}");
    }
    assert_eq!(lit["triangles"], value["triangles"]);
    let text = bench.works(&["inspect", "ball.stl", "--lit", "--no-refine"]);
    for words in ["ring: reaches", "Left black", "332 on 170 points"] {
        assert!(text.contains(words), "'{words}' is not in\n{text}");
    }
    assert!(!text.contains("Outshone"), "there is no lamp\n{text}");
    // Scaled by height, and in other units.
    let tall = |options: &[&str]| -> f64 {
        let args: Vec<&str> =
            ["inspect", "ball.stl", "--json"].into_iter().chain(options.iter().copied()).collect();
        let value: Value = serde_json::from_str(&bench.works(&args)).expect("JSON");
        value["extents_mm"][2].as_f64().expect("a number")
    };
    assert!((tall(&["--height", "32"]) - 32.0).abs() < 1e-4);
    assert!((tall(&["--unit", "inch"]) - 14.0 * 25.4).abs() < 1e-3);
    assert!((tall(&["--up", "y"]) - 20.0).abs() < 1e-4);
}

#[test]
fn lines_are_listed_drawn_and_told_in_json_as_their_page_says() {
    let bench = Bench::new();
    let value: Value =
        serde_json::from_str(&bench.works(&["lines", "ball.stl", "--width", "0.8", "--json"])).expect("JSON");
    let want = documented("command-line.md", "`lines --json`");
    let edges = value["edges"].as_array().expect("a list");
    assert!(edges.iter().all(|r| keys(r) == want.iter().map(String::as_str).collect()));
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
    assert!(strokes.iter().all(|s| keys(s) == want.iter().map(String::as_str).collect()));
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
    assert!(rows.iter().all(|r| keys(r) == want.iter().map(String::as_str).collect()));
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
fn map_writes_all_formats_a_summary_and_timings() {
    let bench = Bench::new();
    let args = ["map", "ball.stl", "-o", "a.ply", "-o", "a.GLB", "-o", "a.json", "--json"];
    let more = ["--light", "hand-lamp:0,-9,9,4", "--timings", "t.json", "--title", "Ball"];
    let text = bench.works(&with(&args, &more));
    let printed: Value = serde_json::from_str(&text).expect("JSON");
    let want = documented("map.md", "JSON");
    assert_eq!(keys(&printed), want.iter().map(String::as_str).collect());
    assert_eq!(text, fs::read_to_string(bench.path("a.json")).expect("a summary"));
    assert!(fs::read(bench.path("a.ply")).expect("a map").starts_with(b"ply\nformat binary_little_endian"));
    assert!(fs::read(bench.path("a.GLB")).expect("a map").starts_with(b"glTF"));

    let timings: Value =
        serde_json::from_slice(&fs::read(bench.path("t.json")).expect("timings")).expect("JSON");
    assert_eq!(keys(&timings), BTreeSet::from(["phases"]));
    let phases = &timings["phases"];
    for phase in ["read", "structure", "surface", "zenithal", "ring", "ambient", "lamps", "plan", "write"] {
        assert!(phases[phase]["seconds"].as_f64().is_some_and(|s| s >= 0.0), "{phase}");
    }
    let ambient = &phases["ambient"];
    assert_eq!(keys(ambient), BTreeSet::from(["seconds", "samples", "directions", "pairs"]));
    assert_eq!((&ambient["directions"], &ambient["samples"]), (&16.into(), &printed["samples"]));
    // A sample faces at most every direction, and far more than none of them.
    let (pairs, samples) = (ambient["pairs"].as_u64(), printed["samples"].as_u64());
    let most = samples.expect("a count") * 16;
    assert!(pairs.is_some_and(|p| p > most / 5 && p < most), "{pairs:?} of {most}");
}

#[test]
fn results_do_not_depend_on_threads_or_on_what_the_locale_says() {
    let bench = Bench::new();
    for (threads, locale, name) in [("1", "C", "one"), ("2", "de_DE.UTF-8", "two")] {
        for (command, ending) in
            [("map", "ply"), ("map", "glb"), ("map", "json"), ("guide", "pdf"), ("view", "png")]
        {
            let file = format!("{name}.{ending}");
            let args = with(&[command, "ball.stl", "-o", &file, "--threads", threads], &["--title", "Ball"]);
            let status = bench.command(&args).env("LC_ALL", locale).status().expect("the program starts");
            assert!(status.success(), "{args:?}");
        }
    }
    for ending in ["ply", "glb", "json", "pdf", "png"] {
        let [one, two] =
            ["one", "two"].map(|n| fs::read(bench.path(&format!("{n}.{ending}"))).expect("a result"));
        assert!(one == two && one.len() > 500, "{ending}");
    }
}

#[test]
fn a_scheme_file_makes_the_same_guide_as_its_options() {
    let bench = Bench::new();
    let options = [
        "--light",
        "lamp:9,-13,12.5,5,0.5",
        "--falloff",
        "lamp:1.5",
        "--title",
        "Ball",
        "--focus",
        "0,0,14,3",
        "--keep",
        "0,-4,10,3",
    ];
    bench.works(&with(&["guide", "ball.stl", "-o", "options.pdf"], &options));
    bench.works(&with(&["scheme", "ball.stl", "-o", "ball.grisaille"], &options));
    bench.works(&["guide", "ball.grisaille", "-o", "scheme.pdf"]);
    let bytes = |name: &str| fs::read(bench.path(name)).expect("a guide");
    assert!(bytes("options.pdf") == bytes("scheme.pdf"), "the guides differ");
    // The model is named from the scheme's own folder, so that both can move.
    let text = fs::read_to_string(bench.path("ball.grisaille")).expect("a scheme");
    assert!(text.contains("file = \"ball.stl\""), "{text}");
    fs::create_dir(bench.path("shelf")).expect("a folder");
    for name in ["ball.stl", "ball.grisaille"] {
        fs::rename(bench.path(name), bench.path("shelf").join(name)).expect("moved");
    }
    bench.works(&["guide", "shelf/ball.grisaille", "-o", "moved.pdf"]);
    assert!(bytes("moved.pdf") == bytes("scheme.pdf"), "the moved guide differs");
}

#[test]
fn several_models_of_a_scheme_are_one_scene() {
    let bench = Bench::new();
    let other = stl(&moved(ball_on_base(), [30.0, 0.0, 0.0]));
    fs::write(bench.path("other.stl"), other).expect("a model");
    let text = "version = 1\n[[model]]\nfile = \"ball.stl\"\n[[model]]\nfile = \"other.stl\"\nheight = 28\n";
    fs::write(bench.path("two.grisaille"), text).expect("a scheme");
    let seen: Value =
        serde_json::from_str(&bench.works(&["inspect", "two.grisaille", "--json"])).expect("JSON");
    assert_eq!(seen["pieces"], 4);
    assert_eq!(seen["file"], "ball.stl, other.stl");
    // The second is read at its own height.
    assert!((seen["extents_mm"][2].as_f64().expect("a height") - 28.0).abs() < 1e-3);
}

#[test]
fn parts_are_left_out_by_name_or_by_a_point_on_them() {
    let bench = Bench::new();
    let json = |without: &[&str]| -> Value {
        let args = with(&["inspect", "ball.stl", "--lit", "--json"], without);
        serde_json::from_str(&bench.works(&args)).expect("JSON")
    };
    assert_eq!(json(&[])["extents_mm"], serde_json::json!([20.0, 20.0, 14.0]));
    let rest = json(&["--without", "base"]);
    assert_eq!(rest["extents_mm"], serde_json::json!([12.0, 12.0, 12.0]));
    assert_eq!(rest["findings"][0]["code"], "left-out");
    let rest = json(&["--without", "0,0,14"]);
    assert_eq!(rest["extents_mm"], serde_json::json!([20.0, 20.0, 3.0]));
    bench.fails(
        2,
        "everything is left out",
        &["inspect", "ball.stl", "--without", "base", "--without", "0,0,14"],
    );
    bench.fails(2, "--without", &["inspect", "ball.stl", "--without", "helmet"]);
    // A scheme remembers it.
    bench.works(&["scheme", "ball.stl", "-o", "rest.grisaille", "--without", "0,0,14"]);
    let said: Value =
        serde_json::from_str(&bench.works(&["inspect", "rest.grisaille", "--json"])).expect("JSON");
    assert_eq!(said["extents_mm"], serde_json::json!([20.0, 20.0, 3.0]));
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

#[test]
fn schemes_that_cannot_be_read() {
    let bench = Bench::new();
    let text = "version = 1\n[[model]]\nfile = \"ball.stl\"\n";
    for (name, text, words) in [
        ("newer.grisaille", "version = 9\n".to_owned(), "newer grisaille"),
        ("typing.grisaille", format!("{text}hight = 3\n"), "line 4"),
        ("empty.grisaille", String::new(), "line 1"),
        ("gone.grisaille", text.replace("ball.stl", "gone.stl"), "no such file"),
        ("number.grisaille", format!("{text}[values]\ndarkest = nan\n"), "darkest"),
    ] {
        fs::write(bench.path(name), text).expect("a scheme");
        bench.fails(INPUT, words, &["guide", name, "-o", "out.pdf"]);
    }
    fs::write(bench.path("good.grisaille"), text).expect("a scheme");
    bench.fails(USAGE, "scheme file", &["guide", "good.grisaille", "--height", "30", "-o", "out.pdf"]);
    bench.fails(USAGE, ".grisaille", &["scheme", "ball.stl", "-o", "out.toml"]);
    bench.fails(OUTPUT, "itself", &["scheme", "good.grisaille", "-o", "good.grisaille"]);
}

#[test]
fn help_is_help_and_no_failure() {
    let bench = Bench::new();
    for command in ["inspect", "regions", "map", "view", "guide", "demo"] {
        let text = bench.works(&[command, "--help"]);
        assert!(text.contains("Example") && text.contains(&format!("grisaille {command}")), "{command}");
    }
    assert!(bench.works(&["--version"]).starts_with("grisaille "));
    // Nothing asked for at all: help, and the exit code of a wrong line.
    let run = bench.run(&[]);
    assert_eq!(run.status.code(), Some(USAGE));
    assert!(String::from_utf8_lossy(&run.stderr).contains("Usage:"));
}

#[test]
fn the_primer_plan_is_told_and_drawn_in_any_tones() {
    let bench = Bench::new();
    let json = |more: &[&str]| -> Value {
        let args = with(&["map", "ball.stl", "-o", "map.ply", "--json"], more);
        serde_json::from_str(&bench.works(&args)).expect("JSON")
    };
    let primer = json(&["--primer", "cold"])["primer"].take();
    let told: BTreeSet<String> = keys(&primer).into_iter().map(str::to_owned).collect();
    assert_eq!(told, documented("map.md", "`primer` holds"));
    assert_eq!(primer["set"], "cold");
    let number = |v: &Value| v.as_f64().expect("a number");
    for (block, count) in [("two_passes", 2), ("three_passes", 3)] {
        let passes = primer[block]["passes"].as_array().expect("passes");
        assert!(passes.len() == count || block == "three_passes" && passes.len() == 2);
        for pass in passes {
            assert!((0.0..=97.5).contains(&number(&pass["tilt_degrees"])), "{pass}");
            assert!((0.0..360.0).contains(&number(&pass["azimuth_degrees"])), "{pass}");
        }
        assert!((0.0..=1.0).contains(&number(&primer[block]["remaining"]["within_one_step_share"])));
    }
    let left = |block: &str| number(&primer[block]["remaining"]["rms_lightness"]);
    assert!(left("three_passes") <= left("two_passes"));
    // Values do not hang on the colours.
    let grey = json(&[])["primer"].take();
    assert_eq!(grey["two_passes"], primer["two_passes"]);
    assert!(json(&["--primer", "none"]).get("primer").is_none());

    for look in ["sprayed", "sprayed-once", "dry-brushed"] {
        let args = ["view", "ball.stl", "-o", "v.png", "--look", look, "--pixels", "80", "--primer", "warm"];
        bench.works(&with(&args, &[]));
        bench.fails(
            USAGE,
            "choose its tones",
            &["view", "ball.stl", "-o", "v.png", "--look", look, "--primer", "none"],
        );
    }
}

/// Ctrl-C, at moments from the start until well into the light.
#[cfg(unix)]
#[test]
fn ctrl_c_ends_the_work_and_leaves_nothing_behind() {
    use std::time::{Duration, Instant};
    let model = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../models-demo/diver.stl");
    let model = model.to_str().expect("a path in UTF-8");
    let results: [&[&str]; 3] = [
        &["map", model, "-o", "map.ply", "-o", "map.glb", "--timings", "t.json"],
        &["guide", model, "-o", "guide.pdf"],
        &["view", model, "-o", "view.png"],
    ];
    for (n, args) in results.into_iter().enumerate() {
        for wait in [100, 700 + 200 * n as u64, 2500] {
            let bench = Bench::new();
            fs::write(bench.path("guide.pdf"), b"of yesterday").expect("a file");
            let before = bench.contents();
            // Enough directions that the work cannot be over by then.
            let args: Vec<&str> = args.iter().copied().chain(["--ambient-directions", "4096"]).collect();
            let mut command = bench.command(&args);
            let child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("it starts");
            std::thread::sleep(Duration::from_millis(wait));
            let asked = Instant::now();
            let pid = child.id().to_string();
            assert!(Command::new("kill").args(["-INT", &pid]).status().expect("kill").success());
            let run = child.wait_with_output().expect("it ends");
            // A guard against going on regardless; the work itself would take minutes.
            assert!(asked.elapsed() < Duration::from_secs(10), "{args:?}");
            let said = String::from_utf8_lossy(&run.stderr);
            assert_eq!(run.status.code(), Some(130), "{args:?} after {wait} ms: {said}");
            assert_eq!(said.lines().count(), 1, "{said}");
            assert!(said.contains("stopped on request") && run.stdout.is_empty(), "{said}");
            assert!(bench.contents() == before, "{args:?} left something behind after {wait} ms");
        }
    }
}

//! Plans and what is made of them: models, schemes, maps, guides, the primer.

use crate::bench::{Bench, DONE, USAGE, ball_on_base, documented, keys, with};
use grisaille_bodies::{ball_on_supports, cuboid, icosphere, inside_out, moved, scaled, stl};
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::fs;

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
    assert_eq!(keys(&value), want);
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
fn map_writes_all_formats_a_summary_and_timings() {
    let bench = Bench::new();
    let args = ["map", "ball.stl", "-o", "a.ply", "-o", "a.GLB", "-o", "a.json", "--json"];
    let more = ["--light", "hand-lamp:0,-9,9,4", "--timings", "t.json", "--title", "Ball"];
    let text = bench.works(&with(&args, &more));
    let printed: Value = serde_json::from_str(&text).expect("JSON");
    let want = documented("map.md", "JSON");
    assert_eq!(keys(&printed), want);
    assert_eq!(text, fs::read_to_string(bench.path("a.json")).expect("a summary"));
    assert!(fs::read(bench.path("a.ply")).expect("a map").starts_with(b"ply\nformat binary_little_endian"));
    assert!(fs::read(bench.path("a.GLB")).expect("a map").starts_with(b"glTF"));

    let timings: Value =
        serde_json::from_slice(&fs::read(bench.path("t.json")).expect("timings")).expect("JSON");
    assert_eq!(keys(&timings), BTreeSet::from(["phases".to_owned()]));
    let phases = &timings["phases"];
    for phase in ["read", "structure", "surface", "zenithal", "ring", "ambient", "lamps", "plan", "write"] {
        assert!(phases[phase]["seconds"].as_f64().is_some_and(|s| s >= 0.0), "{phase}");
    }
    let ambient = &phases["ambient"];
    assert_eq!(
        keys(ambient),
        BTreeSet::from(["seconds", "samples", "directions", "pairs"].map(str::to_owned))
    );
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

/// A bar of 8 by 2 by 6 mm beside the ball: turned on the spot, then moved.
#[test]
fn models_are_placed_side_by_side_where_the_scheme_puts_them() {
    let bench = Bench::new();
    fs::write(bench.path("bar.stl"), stl(&cuboid([0.0, 0.0, 0.0], [8.0, 2.0, 6.0]))).expect("a model");
    let extents = |placement: &str| {
        let text = format!(
            "version = 1\n[[model]]\nfile = \"ball.stl\"\n[[model]]\nfile = \"bar.stl\"\n{placement}"
        );
        fs::write(bench.path("two.grisaille"), text).expect("a scheme");
        bench.json(&["inspect", "two.grisaille", "--json"])["extents_mm"].clone()
    };
    assert_eq!(extents("at = [30, -14, 20]\n"), json!([48.0, 24.0, 26.0]));
    assert_eq!(extents("turn = 90\nat = [30, -14, 20]\n"), json!([45.0, 27.0, 26.0]));
    // Where nobody has placed them they stand in each other at the origin, which is told.
    let told = |placement: &str| {
        extents(placement);
        let seen = bench.json(&["inspect", "two.grisaille", "--json"]);
        let findings = seen["findings"].as_array().expect("a list").clone();
        findings.into_iter().find(|f| f["code"] == "at-origin").map(|f| f["count"].clone())
    };
    assert_eq!((told(""), told("at = [30, -14, 20]\n")), (Some(json!(2)), None));
    let text = "version = 1\n[[model]]\nfile = \"bar.stl\"\nturn = 400\n";
    fs::write(bench.path("two.grisaille"), text).expect("a scheme");
    bench.fails_at("4 | turn = 400", "the turn of a model", &["inspect", "two.grisaille"]);
}

#[test]
fn parts_are_left_out_by_name_or_by_a_point_on_them() {
    let bench = Bench::new();
    let json = |without: &[&str]| -> Value {
        let args = with(&["inspect", "ball.stl", "--lit", "--json"], without);
        serde_json::from_str(&bench.works(&args)).expect("JSON")
    };
    assert_eq!(json(&[])["extents_mm"], json!([20.0, 20.0, 14.0]));
    let rest = json(&["--without", "base"]);
    assert_eq!(rest["extents_mm"], json!([12.0, 12.0, 12.0]));
    assert_eq!(rest["findings"][0]["code"], "left-out");
    let rest = json(&["--without", "0,0,14"]);
    assert_eq!(rest["extents_mm"], json!([20.0, 20.0, 3.0]));
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
    assert_eq!(said["extents_mm"], json!([20.0, 20.0, 3.0]));
}

#[test]
fn print_supports_are_told_and_left_out_only_when_asked() {
    let bench = Bench::new();
    fs::write(bench.path("held.stl"), stl(&ball_on_supports())).expect("a model");
    let inspect = |args: &[&str]| -> Value {
        serde_json::from_str(&bench.works(&[&["inspect", "--json"], args].concat())).expect("JSON")
    };
    let whole = inspect(&["held.stl"]);
    assert_eq!((&whole["supports"]["stands"], &whole["supports"]["sure"]), (&json!(4), &json!(true)));
    assert_eq!((&whole["pieces"], &whole["extents_mm"][2]), (&json!(6), &json!(20.0)));
    assert_eq!(whole["supports"]["raft_top_mm"], json!(1.0));
    assert!(bench.works(&["inspect", "held.stl"]).contains("4 columns, 1.0 mm thick on a raft 1.0 mm high"));
    for without in [&["--without-supports"][..], &["--without", "supports"]] {
        let rest = inspect(&[&["held.stl"], without].concat());
        assert_eq!((&rest["pieces"], &rest["supports"]), (&json!(1), &Value::Null));
        assert_eq!(
            (&rest["extents_mm"][2], &rest["findings"][0]["code"]),
            (&json!(12.0), &json!("left-out"))
        );
    }
    // They are not painted even where they stand.
    let regions: Value =
        serde_json::from_str(&bench.works(&["regions", "held.stl", "--by", "pieces", "--json"]))
            .expect("JSON");
    let areas = regions["regions"].as_array().expect("regions").iter();
    let areas: Vec<f64> = areas.map(|r| r["area_mm2"].as_f64().expect("an area")).collect();
    assert!(areas[0] > 400.0 && areas[1..].iter().all(|a| *a == 0.0), "{areas:?}");
    bench.works(&["scheme", "held.stl", "-o", "ball.grisaille", "--without-supports"]);
    assert!(fs::read_to_string(bench.path("ball.grisaille")).expect("a scheme").contains("supports = true"));
    assert_eq!(inspect(&["ball.grisaille"])["pieces"], json!(1));
    // A ball on its base has none, and that is told.
    let none = inspect(&["ball.stl", "--without-supports"]);
    assert_eq!((&none["pieces"], &none["findings"][0]["code"]), (&json!(2), &json!("part-not-found")));
}

#[test]
fn a_tilted_model_is_told_and_stood_upright_when_asked() {
    let bench = Bench::new();
    let (sin, cos) = 30.0_f64.to_radians().sin_cos();
    let tilted: Vec<_> = ball_on_base()
        .into_iter()
        .map(|t| t.map(|[x, y, z]| [x, cos * y - sin * z, sin * y + cos * z]))
        .collect();
    fs::write(bench.path("tilted.stl"), stl(&tilted)).expect("a model");
    let inspect = |args: &[&str]| -> Value {
        serde_json::from_str(&bench.works(&[&["inspect", "--json"], args].concat())).expect("JSON")
    };
    assert_eq!(inspect(&["ball.stl"])["tilt"], Value::Null);
    let told = inspect(&["tilted.stl"]);
    assert!((told["tilt"]["degrees"].as_f64().expect("degrees") - 30.0).abs() < 0.01);
    // With its light too, and of a hollow print.
    let lit = inspect(&with(&["tilted.stl"], &["--lit"]));
    assert_eq!(lit["tilt"], told["tilt"]);
    let hollow = moved(scaled(icosphere(2), 4.5), [0.0, 0.0, 8.0]);
    let hollow =
        inside_out(hollow).into_iter().map(|t| t.map(|[x, y, z]| [x, cos * y - sin * z, sin * y + cos * z]));
    fs::write(bench.path("hollow.stl"), stl(&tilted.iter().copied().chain(hollow).collect::<Vec<_>>()))
        .expect("a model");
    let lit = inspect(&with(&["hollow.stl"], &["--lit"]));
    let codes: Vec<&Value> =
        lit["findings"].as_array().expect("findings").iter().map(|f| &f["code"]).collect();
    assert!(codes.contains(&&json!("tilted")) && codes.contains(&&json!("hollow-print")), "{codes:?}");
    assert!((lit["tilt"]["degrees"].as_f64().expect("degrees") - 30.0).abs() < 0.01);
    let stood = inspect(&["tilted.stl", "--upright", "--height", "28"]);
    let height = |v: &Value| v["extents_mm"][2].as_f64().expect("a height");
    assert_eq!((&stood["tilt"], &stood["findings"][0]["code"]), (&Value::Null, &json!("tilted")));
    assert!((height(&stood) - 28.0).abs() < 1e-3);
    assert!((stood["base_top_mm"].as_f64().expect("a base") - 6.0).abs() < 0.02);
    // A scheme remembers it, and one that says so takes no option.
    bench.works(&["scheme", "tilted.stl", "-o", "stood.grisaille", "--upright"]);
    assert!((height(&inspect(&["stood.grisaille"])) - 14.0).abs() < 1e-3);
    bench.fails(2, "--upright", &["inspect", "stood.grisaille", "--upright"]);
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
    let told: BTreeSet<String> = keys(&primer);
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

    let args = [
        "view",
        "ball.stl",
        "-o",
        "v.svg",
        "--pixels",
        "80",
        "--view",
        "front,top",
        "--title",
        "<Ball> & reef",
    ];
    bench.works(&with(&args, &[]));
    let drawn = fs::read_to_string(bench.path("v.svg")).expect("the drawing");
    for words in
        ["<svg xmlns", "<title>&lt;Ball&gt; &amp; reef", "id=\"view-from-above\"", "<title>A deep shadow"]
    {
        assert!(drawn.contains(words), "{words}");
    }
    bench.fails(USAGE, ".png or .svg", &["view", "ball.stl", "-o", "v.jpg"]);

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

/// The pHYs chunk (PNG, third edition, 11.3.4.3): pixels on a metre.
fn pixels_per_metre(png: &[u8]) -> u32 {
    let at = png.windows(4).position(|w| w == b"pHYs").expect("a printed size") + 4;
    u32::from_be_bytes(png[at..at + 4].try_into().expect("four bytes"))
}

#[test]
fn a_picture_is_as_large_on_paper_as_asked() {
    let bench = Bench::new();
    let told: Value = serde_json::from_str(&bench.works(&["inspect", "ball.stl", "--json"])).expect("JSON");
    let height_mm = told["extents_mm"][2].as_f64().expect("a height");
    let view = ["view", "ball.stl", "-o", "v.png", "--view", "front"];
    let tall_mm = |size: &[&str]| {
        bench.works(&with(&view, size));
        let png = fs::read(bench.path("v.png")).expect("the picture");
        let picture = image::load_from_memory(&png).expect("a picture").to_rgb8();
        // The ball on its base is the longest that is not paper from above to below.
        let longest = |x: u32| {
            let used: Vec<bool> =
                (0..picture.height()).map(|y| picture.get_pixel(x, y).0 != [255; 3]).collect();
            used.chunk_by(|a, b| a == b).filter(|run| run[0]).map(<[bool]>::len).max().unwrap_or(0)
        };
        let px = (0..picture.width()).map(longest).max().unwrap_or(0);
        1000.0 * px as f64 / f64::from(pixels_per_metre(&png))
    };
    for (size, wanted) in [
        (&["--scale", "3"][..], 3.0 * height_mm),
        (&["--scale", "1.5", "--dpi", "508"], 1.5 * height_mm),
        (&["--paper-height", "50"], 50.0),
        (&["--paper-height", "50", "--dpi", "127"], 50.0),
        (&["--pixels", "400"], height_mm),
    ] {
        let tall = tall_mm(size);
        // A pixel and the pen of the outline.
        assert!((tall - wanted).abs() < 0.6, "{size:?}: {tall} mm, not {wanted}");
    }
    for (why, size) in [
        ("cannot be used with", &["--scale", "3", "--pixels", "400"][..]),
        ("cannot be used with", &["--scale", "3", "--paper-height", "50"]),
        ("--scale", &["--dpi", "300"]),
        ("fewer dots an inch", &["--paper-height", "2000", "--dpi", "300"]),
    ] {
        bench.fails(USAGE, why, &with(&view, size));
    }
}

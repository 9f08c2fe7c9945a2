//! Colours and paints: `palette` and `mix`.

use crate::bench::{Bench, INPUT, USAGE, documented, keys};
use image::{Rgb, RgbImage};
use serde_json::Value;
use std::collections::BTreeSet;
use std::fs;

const PAINTS: &str = "name;hex;type;stock\nShell white;#f1ece0;opaque;1\nReef black;#1b1c20;opaque;1\n\
    Wreck rust;#9a4a22;opaque;1\nTrench blue;#1f3a6b;opaque;1\nSponge yellow;#e6bd34;opaque;1\n\
    Silt stain;#7a5230;transparent;1\nOld red;#b5242c;opaque;0\nHelmet copper;#b06f45;metallic;1\n";

/// A bench with a picture and a list of paints on it.
fn bench() -> Bench {
    let bench = Bench::empty();
    // Five strips and, in the first, a lamp of one in a hundred.
    let picture = RgbImage::from_fn(200, 100, |x, y| match (x, y) {
        (10..=19, 40..=59) => Rgb([250, 190, 30]),
        (0..=71, _) => Rgb([31, 58, 107]),
        (72..=119, _) => Rgb([211, 160, 124]),
        (120..=159, _) => Rgb([120, 122, 121]),
        (160..=181, _) => Rgb([150, 74, 40]),
        _ => Rgb([60, 90, 60]),
    });
    picture.save(bench.path("reef.png")).expect("a picture");
    fs::write(bench.path("paints.csv"), PAINTS).expect("a list");
    bench
}

#[test]
fn a_picture_gives_a_line_for_each_colour() {
    let bench = bench();
    let said = bench.works(&["palette", "reef.png"]);
    assert_eq!(
        said,
        "#1f3a6b   35.0 %  main\n#d3a07c   24.0 %  support, skin-like\n#787a79   20.0 %  neutral\n\
         #964a28   11.0 %  support\n#3c5a3c    9.0 %  support\n#fabe1e    1.0 %  accent\n"
    );
    let value = bench.json(&["palette", "reef.png", "--json"]);
    let colours = value["palette"].as_array().expect("a list");
    assert_eq!(colours.len(), 6);
    for (colour, line) in colours.iter().zip(said.lines()) {
        assert_eq!(keys(colour), documented("command-line.md", "`palette --json` prints"));
        assert!(line.starts_with(colour["colour"].as_str().expect("a colour")), "{line}");
        assert!(line.contains(colour["role"].as_str().expect("a role")), "{line}");
        assert_eq!(line.contains("skin-like"), colour["skin_like"] == true, "{line}");
    }
    let sum: f64 = colours.iter().filter_map(|c| c["share"].as_f64()).sum();
    assert!((sum - 1.0).abs() < 1e-9);
    for threads in ["1", "3"] {
        assert_eq!(bench.works(&["palette", "reef.png", "--threads", threads]), said);
    }
}

#[test]
fn a_palette_can_be_made_from_one_colour() {
    let bench = Bench::empty();
    let value = bench.json(&["palette", "--from", "b06f45", "--harmony", "triad", "--json"]);
    let colours = value["palette"].as_array().expect("a list");
    assert_eq!((colours.len(), colours[0]["colour"].as_str()), (3, Some("#b06f45")));
    let sum: f64 = colours.iter().filter_map(|c| c["share"].as_f64()).sum();
    assert!((sum - 1.0).abs() < 1e-9);
    assert_eq!(colours[0]["role"], "main");
    bench.fails(USAGE, "'salmon'", &["palette", "--from", "salmon"]);
    bench.fails(USAGE, "PICTURE", &["palette"]);
    bench.fails(USAGE, "--from", &["palette", "reef.png", "--from", "b06f45"]);
}

#[test]
fn a_mood_shifts_the_palette() {
    let bench = bench();
    let plain = bench.works(&["palette", "reef.png"]);
    assert_eq!(bench.works(&["palette", "reef.png", "--mood", "cold:0"]), plain);
    let half = bench.works(&["palette", "reef.png", "--mood", "cold:0.5"]);
    let full = bench.works(&["palette", "reef.png", "--mood", "Cold"]);
    assert!(half != plain && full != half);
    assert_eq!(full.lines().count(), plain.lines().count());
    bench.fails(USAGE, "choose calm, cold", &["palette", "reef.png", "--mood", "sideways"]);
    for strength in ["-1", "2", "nan", "", "x"] {
        bench.fails(USAGE, "0 to 1", &["palette", "reef.png", "--mood", &format!("cold:{strength}")]);
    }
}

#[test]
fn pictures_that_cannot_be_read() {
    let bench = bench();
    let whole = fs::read(bench.path("reef.png")).expect("bytes");
    fs::write(bench.path("cut.png"), &whole[..whole.len() / 2]).expect("a file");
    fs::write(bench.path("empty.jpg"), b"").expect("a file");
    fs::write(bench.path("model.png"), b"solid reef\nendsolid reef\n").expect("a file");
    fs::create_dir(bench.path("folder")).expect("a folder");
    for (picture, words) in [
        ("missing.png", "no such file"),
        ("folder", "it is a folder"),
        ("empty.jpg", "no PNG, JPEG or WebP"),
        ("model.png", "no PNG, JPEG or WebP"),
        ("cut.png", "damaged or cut short"),
    ] {
        bench.fails(INPUT, words, &["palette", picture]);
    }
    bench.fails(USAGE, "PICTURE", &["palette"]);
}

#[test]
fn a_colour_gives_a_mix() {
    let bench = bench();
    // A paint's own colour is that paint.
    let said = bench.works(&["mix", "#1f3a6b", "--paints", "paints.csv"]);
    assert!(
        said.starts_with("Wanted     #1f3a6b\nMix        Trench blue\nGives      #1f3a6b, same (0.0)\n"),
        "{said}"
    );
    assert!(said.contains("Left out   1 metallic (no mix tells how they shine), 1 used up\n"), "{said}");
    assert!(said.contains("try a mix on a palette"), "{said}");
    // With and without its mark, and as numbers.
    assert_eq!(bench.works(&["mix", "1F3A6B", "--paints", "paints.csv"]), said);
    assert_eq!(bench.works(&["mix", "rgb(31, 58, 107)", "--paints", "paints.csv"]), said);

    let value = bench.json(&["mix", "808a60", "--paints", "paints.csv", "--json"]);
    assert_eq!(keys(&value), documented("command-line.md", "`mix --json` prints"));
    assert_eq!(keys(&value["mix"]), documented("command-line.md", "A mix has"));
    let by_count = value["by_count"].as_array().expect("a list");
    assert_eq!(by_count.len(), 3);
    for (i, mix) in by_count.iter().enumerate() {
        let parts = mix["parts"].as_array().expect("parts");
        assert_eq!(parts.len(), i + 1);
        let sum: u64 = parts.iter().filter_map(|p| p["parts"].as_u64()).sum();
        assert!(sum <= 4, "{mix}");
        for name in parts.iter().filter_map(|p| p["paint"].as_str()) {
            assert!(PAINTS.contains(name) && name != "Old red" && name != "Helmet copper", "{name}");
        }
    }
    assert_eq!(value["left_out"]["used_up"], 1);
    // What it predicts is found back: the mix of a mix's colour is that mix.
    let colour = by_count[1]["lab"].as_array().expect("L, a, b");
    let lab: Vec<String> = colour.iter().map(ToString::to_string).collect();
    let again = bench.json(&["mix", &format!("lab({})", lab.join("; ")), "--paints", "paints.csv", "--json"]);
    assert_eq!(again["by_count"][1]["parts"], by_count[1]["parts"]);
    assert_eq!(again["by_count"][1]["nearness"], "same");
    // Fewer paints, more parts.
    let single = bench.json(&["mix", "808a60", "--paints", "paints.csv", "--up-to", "1", "--json"]);
    assert_eq!(single["by_count"].as_array().map(Vec::len), Some(1));
    let finer = bench.json(&["mix", "808a60", "--paints", "paints.csv", "--parts", "8", "--json"]);
    let apart = |v: &Value| v["by_count"][2]["difference"].as_f64().expect("a number");
    assert!(apart(&finer) <= apart(&value));
    for threads in ["1", "3"] {
        assert_eq!(bench.works(&["mix", "1f3a6b", "--paints", "paints.csv", "--threads", threads]), said);
    }
}

#[test]
fn what_no_mix_reaches_is_told() {
    let bench = bench();
    let said = bench.works(&["mix", "ff00ff", "--paints", "paints.csv"]);
    assert!(said.contains("out of reach (") && said.contains("the nearest is"), "{said}");
    assert!(said.contains("duller"), "{said}");
}

#[test]
fn a_ramp_shares_its_paints() {
    let bench = bench();
    let ramp =
        ["mix", "9a4a22", "--paints", "paints.csv", "--ramp", "5", "--light", "ffc98a", "--mood", "cold:0.5"];
    let said = bench.works(&ramp);
    for step in 1..=5 {
        assert!(said.contains(&format!("\nStep {step}     ")), "{said}");
    }
    assert!(!said.contains("Step 6"), "{said}");
    let value = bench.json(&[&ramp[..], &["--json"]].concat());
    assert_eq!(keys(&value), documented("command-line.md", "With `--ramp` it prints"));
    let paints: BTreeSet<&str> =
        value["paints"].as_array().expect("names").iter().filter_map(Value::as_str).collect();
    assert!(paints.len() <= 5, "{paints:?}");
    let steps = value["steps"].as_array().expect("steps");
    assert_eq!(steps.len(), 5);
    let mut before = 0.0;
    for step in steps {
        let lightness = step["wanted_lab"][0].as_f64().expect("a number");
        assert!(lightness > before, "darkest first");
        before = lightness;
        for part in step["mix"]["parts"].as_array().expect("parts") {
            assert!(paints.contains(part["paint"].as_str().expect("a name")), "{step}");
        }
    }
    // From single paints, each lighter than the one before.
    let single =
        bench.json(&["mix", "9a4a22", "--paints", "paints.csv", "--ramp", "4", "--up-to", "1", "--json"]);
    let steps = single["steps"].as_array().expect("steps");
    assert!(steps.iter().all(|s| s["mix"]["parts"].as_array().is_some_and(|p| p.len() == 1)), "{single}");
    let light: Vec<f64> = steps.iter().filter_map(|s| s["mix"]["lab"][0].as_f64()).collect();
    assert!(light.len() == 4 && light.windows(2).all(|p| p[0] < p[1]), "{light:?}");
    // As many steps as it asks for; and skin.
    let own = bench.json(&["mix", "5b3826", "--paints", "paints.csv", "--ramp", "--skin", "--json"]);
    assert!((3..=6).contains(&own["steps"].as_array().expect("steps").len()));
}

#[test]
fn trouble_in_a_list_is_told_with_its_line() {
    let bench = bench();
    fs::write(bench.path("odd.csv"), "name,hex\nKelp,#4a5a2a\nMist,1122\n").expect("a list");
    let said = bench.works(&["mix", "4a5a2a", "--paints", "odd.csv"]);
    assert!(said.contains("List       line 3: '1122' has 4 digits"), "{said}");
    let value = bench.json(&["mix", "4a5a2a", "--paints", "odd.csv", "--json"]);
    assert_eq!(value["findings"][0]["code"], "paint-left-out");
    assert_eq!(value["findings"][0]["place"]["line"], 3);

    fs::write(bench.path("prices.csv"), "name,price\nKelp,3\n").expect("a list");
    fs::write(bench.path("green.csv"), "name,hex\nKelp,green\n").expect("a list");
    fs::write(bench.path("copper.csv"), "name,hex,type\nHelmet copper,#b06f45,metallic\n").expect("a list");
    fs::write(bench.path("empty.csv"), "\n").expect("a list");
    for (list, words) in [
        ("missing.csv", "no such file"),
        ("reef.png", "save the table as CSV"),
        ("empty.csv", "it is empty"),
        ("prices.csv", "line 1 names no column with colours"),
        ("green.csv", "line 2: 'green' is no colour"),
        ("copper.csv", "no opaque paint at hand"),
    ] {
        bench.fails(INPUT, words, &["mix", "4a5a2a", "--paints", list]);
    }
    let many: String = (0..400).map(|i| format!("paint {i},#{:06x}\n", i * 41_000)).collect();
    fs::write(bench.path("many.csv"), format!("name,hex\n{many}")).expect("a list");
    bench.fails(USAGE, "3000000 are the most", &["mix", "4a5a2a", "--paints", "many.csv"]);
    bench.works(&["mix", "4a5a2a", "--paints", "many.csv", "--up-to", "2"]);
}

#[test]
fn options_that_make_no_sense() {
    let bench = bench();
    bench.fails(USAGE, "is no colour: write it as #rrggbb", &["mix", "teal", "--paints", "paints.csv"]);
    bench.fails(USAGE, "--paints", &["mix", "4a5a2a"]);
    for options in [
        ["--up-to", "0"],
        ["--up-to", "4"],
        ["--parts", "0"],
        ["--parts", "17"],
        ["--parts", "nan"],
        ["--ramp", "2"],
        ["--ramp", "7"],
        ["--ramp", "x"],
        ["--light", "ffffff"],
        ["--mood", "cold"],
        ["--threads", "5000"],
    ] {
        bench.fails(USAGE, "", &[&["mix", "4a5a2a", "--paints", "paints.csv"], &options[..]].concat());
    }
    let ramp = ["mix", "4a5a2a", "--paints", "paints.csv", "--ramp", "4"];
    bench.fails(USAGE, "is no colour", &[&ramp[..], &["--light", "bright"]].concat());
    bench.fails(USAGE, "choose calm", &[&ramp[..], &["--mood", "sideways"]].concat());
}

#[test]
fn help_shows_examples() {
    let bench = bench();
    for (command, example) in
        [("palette", "grisaille palette reef.jpg"), ("mix", "grisaille mix b06f45 --paints paints.csv")]
    {
        assert!(bench.works(&[command, "--help"]).contains(example));
    }
}

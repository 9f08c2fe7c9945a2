//! What is written, what is never touched, and what a stop or a full disk leaves behind.

use crate::bench::{Bench, DONE, INPUT, OUTPUT, USAGE, ball_on_base, with};
use grisaille_bodies::stl;
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};

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

#[test]
fn a_guide_is_printed_in_a_translation_of_its_words() {
    let bench = Bench::new();
    let english = bench.works(&["words"]);
    bench.works(&["words", "-o", "mine.ftl"]);
    assert_eq!(fs::read_to_string(bench.path("mine.ftl")).expect("words"), english);
    bench.fails(USAGE, ".ftl", &["words", "-o", "mine.txt"]);
    let sheets = ["--sheets", "values,stages", "--primer", "none"];
    let guide = |file: &str, more: &[&str]| {
        let base = [&["guide", "ball.stl", "-o", file][..], &sheets].concat();
        let args = with(&base, more);
        let run = bench.run(&args);
        assert_eq!(run.status.code(), Some(DONE), "{args:?}");
        (fs::read(bench.path(file)).expect("a guide"), String::from_utf8_lossy(&run.stderr).into_owned())
    };
    let (plain, _) = guide("plain.pdf", &[]);
    // Said in its own words English is the same to the byte.
    assert_eq!(guide("same.pdf", &["--words", "mine.ftl"]), (plain.clone(), String::new()));
    fs::write(bench.path("mine.ftl"), "language = de\ncompare-title = Vergleichen und aufhören\n")
        .expect("a file");
    let (own, told) = guide("own.pdf", &["--words", "mine.ftl"]);
    let holds = |pdf: &[u8], text: &[u8]| pdf.windows(text.len()).any(|w| w == text);
    assert!(holds(&own, b"/Lang(de)") && holds(&plain, b"/Lang(en)"));
    assert!(told.contains("stay English") && told.lines().count() == 1, "{told}");
    // A scheme names it from its own folder.
    fs::create_dir(bench.path("deeper")).expect("a folder");
    let german = english.replace("\nlanguage = en", "\nlanguage = de");
    fs::write(bench.path("deeper/own.ftl"), german).expect("a file");
    fs::write(
        bench.path("deeper/ball.grisaille"),
        "version = 1\n[[model]]\nfile = \"../ball.stl\"\n[print]\nsheets = [\"values\", \"stages\"]\nwords = \"own.ftl\"\n",
    )
    .expect("a scheme");
    bench.works(&["guide", "deeper/ball.grisaille", "-o", "named.pdf"]);
    assert!(holds(&fs::read(bench.path("named.pdf")).expect("a guide"), b"/Lang(de)"));
    bench.works(&["guide", "deeper/ball.grisaille", "-o", "told.pdf", "--words", "deeper/own.ftl"]);
    assert!(fs::read(bench.path("told.pdf")).ok() == fs::read(bench.path("named.pdf")).ok());
    for (text, why) in [("compare-titel = Vergleichen", "`compare-titel`"), ("= nothing", "line 1")] {
        fs::write(bench.path("mine.ftl"), text).expect("a file");
        bench.fails(INPUT, why, &["guide", "ball.stl", "-o", "gone.pdf", "--words", "mine.ftl"]);
    }
    assert!(!bench.path("gone.pdf").exists());
}

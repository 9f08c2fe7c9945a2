//! A folder to work in, the program to run there, and what its pages promise.

use grisaille_bodies::{Triangle, cuboid, icosphere, moved, scaled, stl};
use serde_json::Value;
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

pub(crate) const DONE: i32 = 0;
pub(crate) const USAGE: i32 = 2;
pub(crate) const INPUT: i32 = 3;
pub(crate) const OUTPUT: i32 = 4;

/// A ball of 12 mm that stands in a base of 3 mm.
pub(crate) fn ball_on_base() -> Vec<Triangle> {
    let mut soup = moved(scaled(icosphere(2), 6.0), [0.0, 0.0, 8.0]);
    soup.extend(cuboid([-10.0, -10.0, 0.0], [10.0, 10.0, 3.0]));
    soup
}

/// Options that make a plan in a moment.
pub(crate) const QUICK: [&str; 4] = ["--spacing", "1", "--ambient-directions", "16"];

/// A folder, and the program to run there.
pub(crate) struct Bench {
    folder: tempfile::TempDir,
}

impl Bench {
    /// With a model in it.
    pub(crate) fn new() -> Self {
        let bench = Self::empty();
        fs::write(bench.path("ball.stl"), stl(&ball_on_base())).expect("a model");
        bench
    }

    pub(crate) fn empty() -> Self {
        Self { folder: tempfile::tempdir().expect("a folder") }
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub(crate) fn command(&self, args: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_grisaille"));
        command.args(args).current_dir(self.folder.path()).stdin(Stdio::null());
        command
    }

    pub(crate) fn run(&self, args: &[&str]) -> Output {
        self.command(args).output().expect("the program starts")
    }

    /// Every file and folder, with the bytes of files.
    pub(crate) fn contents(&self) -> Vec<(PathBuf, Vec<u8>)> {
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
    pub(crate) fn fails(&self, code: i32, words: &str, args: &[&str]) {
        let said = self.says(code, words, args);
        assert_eq!(said.lines().count(), 1, "{args:?}: {said}");
    }

    /// The same of a scheme: below the line that says what is wrong stands the
    /// scheme's, with a mark where it is meant.
    pub(crate) fn fails_at(&self, shown: &str, words: &str, args: &[&str]) {
        let said = self.says(INPUT, words, args);
        let lines: Vec<&str> = said.lines().collect();
        assert_eq!(lines.len(), 4, "{args:?}: {said}");
        assert!(lines[0].contains(": line ") && lines[0].contains(", column "), "{args:?}: {said}");
        assert!(lines[2].ends_with(shown) && lines[3].ends_with('^'), "{args:?}: {said}");
    }

    fn says(&self, code: i32, words: &str, args: &[&str]) -> String {
        let before = self.contents();
        let run = self.run(args);
        let said = String::from_utf8(run.stderr).expect("UTF-8");
        assert_eq!(run.status.code(), Some(code), "{args:?}: {said}");
        let first = said.lines().next().unwrap_or_default();
        assert!(first.starts_with("grisaille: ") && first.contains(words), "{args:?}: {said}");
        assert!(run.stdout.is_empty(), "{args:?}");
        assert!(self.contents() == before, "{args:?}: files were changed or left behind");
        said
    }

    /// Runs what must succeed; gives standard output.
    pub(crate) fn works(&self, args: &[&str]) -> String {
        let run = self.run(args);
        let said = String::from_utf8_lossy(&run.stderr).into_owned();
        assert_eq!(run.status.code(), Some(DONE), "{args:?}: {said}");
        assert_eq!(said, "", "{args:?}");
        String::from_utf8(run.stdout).expect("UTF-8")
    }

    /// The same, of what prints JSON.
    pub(crate) fn json(&self, args: &[&str]) -> Value {
        serde_json::from_str(&self.works(args)).expect("JSON")
    }
}

pub(crate) fn with<'a>(first: &[&'a str], more: &[&'a str]) -> Vec<&'a str> {
    first.iter().chain(&QUICK).chain(more).copied().collect()
}

pub(crate) fn keys(value: &Value) -> BTreeSet<String> {
    value.as_object().expect("an object").keys().cloned().collect()
}

/// The keys that a table of docs/command-line.md or docs/map.md names.
pub(crate) fn documented(page: &str, heading: &str) -> BTreeSet<String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let text = fs::read_to_string(root.join("docs").join(page)).expect("a page");
    let (_, after) = text.split_once(heading).unwrap_or_else(|| panic!("no '{heading}' in {page}"));
    let rows = after.lines().skip_while(|l| !l.starts_with('|')).take_while(|l| l.starts_with('|'));
    rows.skip(2).filter_map(|row| Some(row.split('`').nth(1)?.to_owned())).collect()
}

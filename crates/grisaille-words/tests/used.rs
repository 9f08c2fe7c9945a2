//! Every sentence that code asks for is in the file with what goes into it, and every sentence of the file is asked for.

use grisaille_words::messages;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// Kinds of words whose keys are made while printing: of enumerations, views, sheets' parts.
const MADE: [&str; 24] = [
    "band-",
    "brush-",
    "colour-",
    "exposure-",
    "face-",
    "finding-",
    "freehand-",
    "gaze-",
    "load-",
    "mood-",
    "place-",
    "primer-set-",
    "primer-tone-",
    "print-",
    "side-",
    "spray-side-",
    "strength-",
    "stroke-",
    "technique-",
    "thin-",
    "tone-",
    "values-title-",
    "view-",
    "what-",
];

fn sources() -> Vec<(PathBuf, String)> {
    let crates = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let mut files = Vec::new();
    let mut folders: Vec<PathBuf> =
        ["grisaille-plan", "grisaille-guide"].iter().map(|c| crates.join(c).join("src")).collect();
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(&folder).expect("a folder") {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == "rs" || e == "typ") {
                let text = std::fs::read_to_string(&path).expect("text");
                files.push((path, text));
            }
        }
    }
    assert!(files.len() > 40, "{}", files.len());
    files
}

/// The calls of `say!` in a source: key, if it is written out, and the names of what goes in.
fn calls(text: &str) -> Vec<(Option<String>, BTreeSet<String>)> {
    let mut found = Vec::new();
    for (at, _) in text.match_indices("say!(") {
        let inner = &text[at + "say!(".len()..];
        // To the bracket that closes it; brackets in sentences stand in the file, not here.
        let mut depth = 1;
        let end = inner
            .char_indices()
            .find(|(_, c)| {
                depth += match c {
                    '(' => 1,
                    ')' => -1,
                    _ => 0,
                };
                depth == 0
            })
            .map_or(inner.len(), |(i, _)| i);
        let parts = split(&inner[..end]);
        let key = parts.get(1).and_then(|k| k.strip_prefix('"')?.strip_suffix('"')).map(str::to_owned);
        let names =
            parts.iter().skip(2).filter_map(|p| p.split_once('=')).map(|(name, _)| name.trim().to_owned());
        found.push((key, names.collect()));
    }
    found
}

/// The arguments of a call, at its commas.
fn split(inner: &str) -> Vec<String> {
    let mut parts = vec![String::new()];
    let (mut depth, mut quoted) = (0, false);
    for c in inner.chars() {
        match c {
            '"' => quoted = !quoted,
            '(' | '[' | '{' if !quoted => depth += 1,
            ')' | ']' | '}' if !quoted => depth -= 1,
            ',' if depth == 0 && !quoted => {
                parts.push(String::new());
                continue;
            }
            _ => {}
        }
        if let Some(last) = parts.last_mut() {
            last.push(c);
        }
    }
    parts.into_iter().map(|p| p.trim().to_owned()).filter(|p| !p.is_empty()).collect()
}

#[test]
fn what_code_asks_for_is_in_the_file_and_gets_what_it_puts_in() {
    let known: BTreeMap<String, BTreeSet<String>> =
        messages().into_iter().map(|m| (m.key, m.takes)).collect();
    let mut asked = 0;
    for (path, text) in sources() {
        for (key, names) in calls(&text) {
            let Some(key) = key else { continue };
            let takes = known.get(&key).unwrap_or_else(|| panic!("{}: no sentence `{key}`", path.display()));
            assert_eq!(takes, &names, "{}: `{key}`", path.display());
            asked += 1;
        }
        for call in ["w(\"", "put(\""] {
            let own = text.match_indices(call).filter(|_| path.extension().is_some_and(|e| e == "typ"));
            for (at, _) in own {
                let key = text[at + call.len()..].split('"').next().unwrap_or_default();
                assert!(known.contains_key(&format!("print-{key}")), "no sentence `print-{key}`");
                asked += 1;
            }
        }
    }
    assert!(asked > 300, "{asked}");
}

#[test]
fn nothing_stands_in_the_file_that_nobody_asks_for() {
    let all: String = sources().into_iter().map(|(_, text)| text).collect();
    for message in messages() {
        let key = &message.key;
        let made = MADE.iter().any(|kind| key.starts_with(kind));
        // A title's text goes by its title's key.
        let stem = key.strip_suffix("-text").unwrap_or(key);
        let own = key.strip_prefix("print-").is_some_and(|key| all.contains(&format!("\"{key}\"")));
        let joins = ["language", "list-more", "list-last"].contains(&key.as_str());
        assert!(joins || own || all.contains(&format!("\"{stem}\"")) || made, "nobody asks for `{key}`");
        if key.starts_with("print-") {
            assert!(own, "the template does not ask for `{key}`");
        }
    }
}

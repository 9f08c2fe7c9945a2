//! Files that a model names: looked for in its own folder, and nowhere else.

use grisaille_mesh::{Beside, material_files};
use std::fs::{self, File};
use std::io::Read;
use std::path::{Component, Path, PathBuf};

/// A list of materials is no longer than this.
const MOST_BYTES: u64 = 16 << 20;
/// More of them are not looked for: one line may name any number.
const MOST_FILES: usize = 64;

/// What the file at `path`, with these bytes, names and what was found of it.
pub(crate) fn beside(path: &Path, bytes: &[u8]) -> Vec<Beside> {
    let folder = path.parent().map_or_else(PathBuf::new, Path::to_owned);
    let mut found: Vec<Beside> = Vec::new();
    for said in material_files(bytes) {
        // A name may hold blanks, or blanks stand between names.
        let whole = within(&folder, &said);
        let mut names = said.split_whitespace();
        if whole.is_some() || names.clone().nth(1).is_none() {
            found.push(Beside { name: said, bytes: whole });
            continue;
        }
        while let Some(name) = names.next().filter(|_| found.len() < MOST_FILES) {
            if found.iter().all(|file| file.name != name) {
                found.push(Beside { name: name.to_owned(), bytes: within(&folder, name) });
            }
        }
    }
    found.truncate(MOST_FILES);
    found
}

/// The bytes of a file of that name within a folder; of a name that leads out of it, what has its last
/// part's name in the folder itself.
fn within(folder: &Path, name: &str) -> Option<Vec<u8>> {
    // Either machine's way of writing paths.
    let name = name.replace('\\', "/");
    let path = Path::new(&name);
    let inside = path.components().all(|c| matches!(c, Component::Normal(_) | Component::CurDir));
    let named = inside.then(|| bytes_of(folder, path)).flatten();
    named.or_else(|| bytes_of(folder, Path::new(path.file_name()?)))
}

/// The bytes of a regular file that stands in a folder or below, links followed.
fn bytes_of(folder: &Path, path: &Path) -> Option<Vec<u8>> {
    let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    let folder = fs::canonicalize(folder).ok()?;
    let file = fs::canonicalize(folder.join(path)).ok()?;
    let is_there =
        file.starts_with(&folder) && fs::metadata(&file).is_ok_and(|m| m.is_file() && m.len() <= MOST_BYTES);
    let mut bytes = Vec::new();
    if is_there && File::open(&file).ok()?.take(MOST_BYTES).read_to_end(&mut bytes).is_ok() {
        return Some(bytes);
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    // One line named a file of 16 MB a thousand times, and each was read.
    #[test]
    fn a_line_of_very_many_names_is_looked_for_within_bounds() {
        let folder = tempfile::tempdir().expect("a folder");
        fs::write(folder.path().join("a.mtl"), "newmtl a\n").expect("a file");
        let told = |names: &str| {
            let text = format!("mtllib {names}\nv 0 0 0\n");
            beside(&folder.path().join("model.obj"), text.as_bytes())
        };
        let found = told(&"a.mtl b.mtl ".repeat(1000));
        let there: Vec<(&str, bool)> = found.iter().map(|f| (f.name.as_str(), f.bytes.is_some())).collect();
        assert_eq!(there, [("a.mtl", true), ("b.mtl", false)]);
        let many: Vec<String> = (0..1000).map(|n| format!("{n}.mtl")).collect();
        assert_eq!(told(&many.join(" ")).len(), MOST_FILES);
    }
}

//! Files that a model names: looked for in its own folder, and nowhere else.

use grisaille_mesh::{Beside, material_files};
use std::fs::{self, File};
use std::io::Read;
use std::path::{Component, Path, PathBuf};

/// A list of materials is no longer than this.
const MOST_BYTES: u64 = 16 << 20;

/// What the file at `path`, with these bytes, names and what was found of it.
pub(crate) fn beside(path: &Path, bytes: &[u8]) -> Vec<Beside> {
    let folder = path.parent().map_or_else(PathBuf::new, Path::to_owned);
    let mut found = Vec::new();
    for said in material_files(bytes) {
        // A name may hold blanks, or blanks stand between names.
        let whole = within(&folder, &said);
        let names: Vec<&str> = said.split_whitespace().collect();
        if whole.is_some() || names.len() < 2 {
            found.push(Beside { name: said, bytes: whole });
            continue;
        }
        found.extend(
            names.iter().map(|name| Beside { name: (*name).to_owned(), bytes: within(&folder, name) }),
        );
    }
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

//! Recent files, newest first, kept as one path on each line.

use crate::bench::Bench;
use std::path::{Path, PathBuf};

/// At most this many are remembered.
const MOST: usize = 12;

/// The recent files.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Recent {
    paths: Vec<PathBuf>,
}

impl Recent {
    /// From the text of its file; lines that are no path are left out.
    #[must_use]
    pub fn of_text(text: &str) -> Self {
        let paths = text.lines().filter(|l| !l.trim().is_empty()).map(PathBuf::from).take(MOST).collect();
        Self { paths }
    }

    /// The text of its file.
    #[must_use]
    pub fn to_text(&self) -> String {
        self.paths.iter().map(|p| format!("{}\n", p.display())).collect()
    }

    /// Newest first.
    #[must_use]
    pub fn paths(&self) -> &[PathBuf] {
        &self.paths
    }

    /// Puts a path on top.
    pub fn add(&mut self, path: &Path) {
        // A path with a line break cannot stand on one line.
        if path.to_string_lossy().contains(['\n', '\r']) {
            return;
        }
        self.paths.retain(|p| p != path);
        self.paths.insert(0, path.to_owned());
        self.paths.truncate(MOST);
    }

    /// Reads the list of a folder; empty if there is none.
    #[must_use]
    pub fn read(folder: &Path) -> Self {
        std::fs::read_to_string(folder.join("recent")).map(|t| Self::of_text(&t)).unwrap_or_default()
    }

    /// Writes the list into a folder. A list that cannot be written is no loss
    /// worth a message.
    pub fn write(&self, folder: &Path, bench: &dyn Bench) {
        let _ = bench.write(&folder.join("recent"), self.to_text().as_bytes(), &[]);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_newest_stands_on_top_once_and_the_list_has_an_end() {
        let mut recent = Recent::default();
        for n in 0..20 {
            recent.add(Path::new(&format!("/shelf/{n}.stl")));
        }
        recent.add(Path::new("/shelf/15.stl"));
        recent.add(Path::new("/shelf/two\nlines.stl"));
        assert_eq!(recent.paths().len(), MOST);
        assert_eq!(recent.paths()[0], Path::new("/shelf/15.stl"));
        assert_eq!(recent.paths().iter().filter(|p| p.ends_with("15.stl")).count(), 1);
        assert_eq!(Recent::of_text(&recent.to_text()), recent);
        assert_eq!(Recent::of_text("\n \n"), Recent::default());
    }
}

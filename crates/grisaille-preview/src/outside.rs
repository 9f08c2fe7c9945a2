//! Noticing that a file was changed by somebody else while it is open.

use std::path::{Path, PathBuf};
use std::time::SystemTime;

/// What tells one state of a file from another without reading it.
type Mark = Option<(u64, Option<SystemTime>)>;

/// Files that are looked after.
#[derive(Clone, Debug, Default)]
pub struct Outside {
    files: Vec<(PathBuf, Mark)>,
}

fn mark(path: &Path) -> Mark {
    let about = std::fs::metadata(path).ok()?;
    Some((about.len(), about.modified().ok()))
}

impl Outside {
    /// Looks after these files from their state now.
    #[must_use]
    pub fn of(paths: impl IntoIterator<Item = PathBuf>) -> Self {
        let files = paths.into_iter().map(|p| (mark(&p), p)).map(|(m, p)| (p, m)).collect();
        Self { files }
    }

    /// The files that are there and have changed since; each is told once. One
    /// that has gone is not told: many programs take a file away for a moment
    /// while they write it anew.
    pub fn changed(&mut self) -> Vec<PathBuf> {
        let mut changed = Vec::new();
        for (path, known) in &mut self.files {
            let now = mark(path);
            if now.is_some() && now != *known {
                *known = now;
                changed.push(path.clone());
            }
        }
        changed
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;

    #[test]
    fn a_change_is_told_once_and_a_gap_not_at_all() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("diver.stl");
        fs::write(&path, "one").unwrap();
        let mut outside = Outside::of([path.clone()]);
        assert_eq!(outside.changed(), Vec::<PathBuf>::new());
        fs::write(&path, "longer").unwrap();
        assert_eq!(outside.changed(), vec![path.clone()]);
        assert_eq!(outside.changed(), Vec::<PathBuf>::new());
        fs::remove_file(&path).unwrap();
        assert_eq!(outside.changed(), Vec::<PathBuf>::new());
        fs::write(&path, "back again").unwrap();
        assert_eq!(outside.changed(), vec![path]);
    }
}

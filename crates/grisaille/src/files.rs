//! The only place that touches files: models are read whole, results are
//! written whole or not at all, and the model is never written to.

use crate::failure::Failure;
use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

/// Reads a model or scheme file whole.
pub(crate) fn read_file(path: &Path) -> Result<Vec<u8>, Failure> {
    let why = |why: String| Failure::Input { path: path.to_owned(), why };
    match fs::metadata(path) {
        Ok(m) if m.is_dir() => Err(why("it is a folder: name a file in it".into())),
        Ok(_) => fs::read(path).map_err(|e| why(in_words(&e))),
        Err(e) => Err(why(in_words(&e))),
    }
}

/// A result as JSON, for standard output.
pub(crate) fn json_text(value: &serde_json::Value) -> Result<String, Failure> {
    serde_json::to_string_pretty(value).map(|t| t + "\n").map_err(|e| Failure::Other(e.to_string()))
}

/// A result on its way to its file. It is written beside its place under
/// another name and moved there by [`Output::keep`]; dropped without that, it
/// leaves nothing behind.
#[derive(Debug)]
pub(crate) struct Output {
    path: PathBuf,
    to: Target,
}

#[derive(Debug)]
enum Target {
    /// A regular file.
    Beside(tempfile::NamedTempFile),
    /// A device or a pipe, which cannot be replaced.
    Straight(File),
}

impl Output {
    /// Opens a result before any work is done, so that a folder that cannot
    /// be written to is known at once. Refuses to replace any of `inputs`.
    pub(crate) fn open(path: &Path, inputs: &[PathBuf]) -> Result<Self, Failure> {
        let fail = |why: String| Failure::Output { path: path.to_owned(), why };
        let there = fs::canonicalize(path).ok();
        if let Some(there) = &there
            && inputs.iter().any(|i| fs::canonicalize(i).is_ok_and(|i| i == *there))
        {
            return Err(fail(
                "this is the model itself or its scheme, which are never changed: give another name".into(),
            ));
        }
        match fs::metadata(path) {
            Ok(m) if m.is_dir() => return Err(fail("it is a folder: give a file name in it".into())),
            Ok(m) if !m.is_file() => {
                let file = File::options().write(true).open(path).map_err(|e| fail(in_words(&e)))?;
                return Ok(Self { path: path.to_owned(), to: Target::Straight(file) });
            }
            _ => {}
        }
        // A link is followed, so that what it points to is replaced, not the link.
        let place = there.unwrap_or_else(|| path.to_owned());
        let folder = match place.parent() {
            Some(folder) if !folder.as_os_str().is_empty() => folder,
            _ => Path::new("."),
        };
        let mut builder = tempfile::Builder::new();
        builder.prefix(".grisaille-").suffix(".part");
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            builder.permissions(fs::Permissions::from_mode(0o666));
        }
        let file = builder.tempfile_in(folder).map_err(|e| fail(in_words(&e)))?;
        Ok(Self { path: place, to: Target::Beside(file) })
    }

    /// Writes with `write`, flushes to disk and moves the file to its place.
    pub(crate) fn keep(self, write: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> Result<(), Failure> {
        let path = self.path;
        let fail = |e: &io::Error| Failure::Output { path: path.clone(), why: in_words(e) };
        match self.to {
            Target::Beside(file) => {
                let mut out = BufWriter::with_capacity(1 << 20, file);
                write(&mut out).and_then(|()| out.flush()).map_err(|e| fail(&e))?;
                let file = out.into_inner().map_err(|e| fail(e.error()))?;
                file.as_file().sync_all().map_err(|e| fail(&e))?;
                file.persist(&path).map_err(|e| fail(&e.error))?;
            }
            Target::Straight(file) => {
                let mut out = BufWriter::with_capacity(1 << 20, file);
                write(&mut out).and_then(|()| out.flush()).map_err(|e| fail(&e))?;
            }
        }
        Ok(())
    }
}

/// Prints a result to standard output. A reader that has gone away, such as
/// `head`, is no failure.
pub(crate) fn print(text: &str) -> Result<(), Failure> {
    match io::stdout().lock().write_all(text.as_bytes()) {
        Err(e) if e.kind() != io::ErrorKind::BrokenPipe => {
            Err(Failure::Output { path: PathBuf::from("standard output"), why: in_words(&e) })
        }
        _ => Ok(()),
    }
}

/// The usual errors in plain words; the system's own for the others.
pub(crate) fn in_words(e: &io::Error) -> String {
    match e.kind() {
        io::ErrorKind::NotFound => "there is no such file or folder".into(),
        io::ErrorKind::PermissionDenied => "permission denied: choose a place of your own".into(),
        io::ErrorKind::StorageFull => "the disk is full: make room or choose another disk".into(),
        io::ErrorKind::ReadOnlyFilesystem => "the disk cannot be written to".into(),
        io::ErrorKind::NotADirectory => "part of the path is a file, not a folder".into(),
        _ => e.to_string(),
    }
}

//! The typesetter's world: one template, the data, the pictures and two faces
//! of one font, all in memory. There is no file system, no network, no clock.

use std::collections::HashMap;

use grisaille_base::Watch;
use typst::diag::{FileError, FileResult};
use typst::foundations::{Bytes, Datetime, Duration};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World};

use crate::typeset::GuideError;

/// What the typesetter sees of one guide.
pub(crate) struct Desk<'w> {
    standard: LazyHash<Library>,
    book: LazyHash<FontBook>,
    faces: Vec<Font>,
    main: Source,
    files: HashMap<FileId, Bytes>,
    watch: &'w Watch,
}

impl<'w> Desk<'w> {
    /// A desk with the template and `files` by name.
    pub(crate) fn new(
        template: &str,
        files: Vec<(String, Bytes)>,
        faces: Vec<Font>,
        watch: &'w Watch,
    ) -> Result<Self, GuideError> {
        let named = files.into_iter().map(|(name, bytes)| Ok((id(&name)?, bytes)));
        Ok(Self {
            standard: LazyHash::new(Library::default()),
            book: LazyHash::new(FontBook::from_fonts(&faces)),
            faces,
            main: Source::new(id("guide.typ")?, template.into()),
            files: named.collect::<Result<_, GuideError>>()?,
            watch,
        })
    }
}

impl World for Desk<'_> {
    fn library(&self) -> &LazyHash<Library> {
        &self.standard
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &self.book
    }

    fn main(&self) -> FileId {
        self.main.id()
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        if id == self.main.id() { Ok(self.main.clone()) } else { Err(FileError::NotSource) }
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        // The typesetter has no way to be stopped but the want of a file.
        if self.watch.stopped() {
            return Err(FileError::AccessDenied);
        }
        self.files.get(&id).cloned().ok_or(FileError::AccessDenied)
    }

    fn font(&self, index: usize) -> Option<Font> {
        self.faces.get(index).cloned()
    }

    fn today(&self, _: Option<Duration>) -> Option<Datetime> {
        None
    }
}

/// The regular face of the sheets' font, a TrueType file (Noto Sans, SIL Open
/// Font License 1.1).
#[must_use]
pub fn sans() -> &'static [u8] {
    notosans::REGULAR_TTF
}

/// The faces that the sheets are set in: regular and bold.
pub(crate) fn faces() -> Result<Vec<Font>, GuideError> {
    [notosans::REGULAR_TTF, notosans::BOLD_TTF]
        .into_iter()
        .map(|face| {
            Font::new(Bytes::new(face), 0)
                .ok_or_else(|| GuideError::Typeset { message: "the sheet's font cannot be read".into() })
        })
        .collect()
}

fn id(name: &str) -> Result<FileId, GuideError> {
    let path = VirtualPath::new(name)
        .map_err(|e| GuideError::Typeset { message: format!("`{name}` is no name for a file: {e:?}") })?;
    Ok(RootedPath::new(VirtualRoot::Project, path).intern())
}

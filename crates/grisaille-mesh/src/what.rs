//! What a file is, by its first bytes and by its words.

use crate::mtl::{Beside, Materials};
use crate::read::ReadError;
use crate::soup::Soup;
use crate::{obj, ply, stl, threemf};
use grisaille_base::Finding;

/// How names of model files end, for lists of what can be opened. Files are told
/// by their contents.
pub const MODEL_ENDINGS: [&str; 4] = ["stl", "obj", "3mf", "ply"];

/// A file of another kind that people take for a model, by its first bytes.
pub(crate) fn looks_like(bytes: &[u8]) -> Option<&'static str> {
    let kinds: [(&[u8], &'static str); 9] = [
        (b"\x89PNG", "a PNG picture"),
        (b"\xff\xd8\xff", "a JPEG picture"),
        (b"GIF8", "a GIF picture"),
        (b"RIFF", "a WebP picture or another RIFF file"),
        (b"PK\x03\x04", "a zip archive (models still packed)"),
        (b"%PDF", "a PDF document"),
        (b"glTF", "a GLB model"),
        (b"7z\xbc\xaf", "a 7z archive"),
        (b"Rar!", "a RAR archive"),
    ];
    kinds.iter().find(|(magic, _)| bytes.starts_with(magic)).map(|(_, kind)| *kind)
}

/// The same error without line ends and other signs that it may have from the file, and no
/// longer than a line or two of a screen.
fn in_a_line(e: ReadError) -> ReadError {
    match e {
        ReadError::Broken { kind, why } => {
            let plain: String = why.chars().map(|c| if c.is_control() { ' ' } else { c }).take(200).collect();
            ReadError::Broken { kind, why: plain.split_whitespace().collect::<Vec<_>>().join(" ") }
        }
        e => e,
    }
}

/// Whether a file is read as OBJ.
pub(crate) fn is_obj(bytes: &[u8]) -> bool {
    !threemf::is_zip(bytes) && !ply::is_ply(bytes) && !stl::is_stl(bytes) && obj::is_obj(bytes)
}

/// Parses a model file of any kind that is read, told by its contents: names
/// and endings are often wrong. Of an OBJ file `beside` are those that it names.
pub(crate) fn parse(bytes: &[u8], beside: &[Beside]) -> Result<(Soup, Vec<Finding>), ReadError> {
    if bytes.is_empty() {
        return Err(ReadError::Empty);
    }
    if threemf::is_zip(bytes) {
        threemf::parse(bytes).map_err(in_a_line)
    } else if ply::is_ply(bytes) {
        ply::parse(bytes).map_err(in_a_line)
    } else if is_obj(bytes) {
        obj::parse(bytes, &Materials::of(beside))
    } else {
        stl::parse(bytes)
    }
}

//! STL bytes, binary or text, parsed into a triangle soup.
//!
//! The kind is decided by length first: a file of exactly 84 + 50·n bytes,
//! with n in its count field, is binary whatever its header says (many
//! exporters begin a binary header with `solid`). Reference for both layouts:
//! the StereoLithography Interface Specification, 3D Systems, 1988.

mod binary;
mod colour;
mod text;

use crate::read::ReadError;
use crate::soup::Soup;
use grisaille_base::Finding;

/// Whether a file is of either kind for sure.
pub(crate) fn is_stl(bytes: &[u8]) -> bool {
    binary::is_exact(bytes) || text::is_text(bytes)
}

/// Parses either kind.
pub(crate) fn parse(bytes: &[u8]) -> Result<(Soup, Vec<Finding>), ReadError> {
    if let Some(whole) = binary::parse_exact(bytes) {
        return Ok((whole, Vec::new()));
    }
    if text::is_text(bytes) {
        let (soup, findings) = text::parse(bytes);
        // A cut-off binary file can begin like text; then its records say so.
        if soup.len() > 0 {
            return Ok((soup, findings));
        }
        return binary::parse_damaged(bytes).or(Ok((soup, findings)));
    }
    binary::parse_damaged(bytes)
}

//! A picture of the user's, read from PNG, JPEG or WebP.

use image::{DynamicImage, ImageError, ImageFormat, ImageReader, Limits};
use std::io::Cursor;

/// The longest side that is read, in pixels.
const LONGEST: u32 = 30_000;
/// The most memory that a picture may take while it is read, in bytes.
const MEMORY: u64 = 1 << 30;

/// Why a picture cannot be read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PictureError {
    /// Not one of the kinds that are read.
    #[error("it is no PNG, JPEG or WebP picture: save it as one of these")]
    Kind,
    /// Larger than is read.
    #[error("the picture is too large: scale it down to 30,000 pixels a side or less, 200 megapixels in all")]
    TooLarge,
    /// Of a known kind, but damaged.
    #[error("the picture is damaged or cut short: open it in another program and save it anew ({0})")]
    Damaged(String),
    /// All of it is transparent, or it has no pixel.
    #[error("there is nothing to see in the picture: all of it is transparent")]
    Nothing,
}

/// Pixels in sRGB, row by row from the top.
#[derive(Clone, Debug, PartialEq)]
pub struct Picture {
    width: usize,
    pixels: Vec<[u8; 3]>,
    /// Whether a pixel is seen; empty where all are.
    seen: Vec<bool>,
}

impl Picture {
    /// A picture from its pixels; `None` where they do not fill rows of this width.
    #[must_use]
    pub fn new(width: usize, pixels: Vec<[u8; 3]>) -> Option<Self> {
        let fits = width > 0 && !pixels.is_empty() && pixels.len().is_multiple_of(width);
        fits.then_some(Self { width, pixels, seen: Vec::new() })
    }

    /// Width in pixels.
    #[must_use]
    pub fn width(&self) -> usize {
        self.width
    }

    /// Height in pixels.
    #[must_use]
    pub fn height(&self) -> usize {
        self.pixels.len() / self.width
    }

    /// The pixels of a row, from 0 at the top; none below the last.
    pub(crate) fn row(&self, y: usize) -> &[[u8; 3]] {
        self.pixels.get(y * self.width..(y + 1) * self.width).unwrap_or(&[])
    }

    /// Whether a pixel is seen, not transparent.
    pub(crate) fn is_seen(&self, x: usize, y: usize) -> bool {
        self.seen.get(y * self.width + x).copied().unwrap_or(true)
    }
}

/// Reads a picture; its kind is told by its bytes. Colours are taken as sRGB: a
/// profile in the file is not heeded. What is more than half transparent is not seen.
///
/// # Errors
/// When it is of another kind, too large, damaged, or has nothing to see.
pub fn read_picture(bytes: &[u8]) -> Result<Picture, PictureError> {
    let mut reader =
        ImageReader::new(Cursor::new(bytes)).with_guessed_format().map_err(|_| PictureError::Kind)?;
    if !matches!(reader.format(), Some(ImageFormat::Png | ImageFormat::Jpeg | ImageFormat::WebP)) {
        return Err(PictureError::Kind);
    }
    let mut limits = Limits::default();
    limits.max_image_width = Some(LONGEST);
    limits.max_image_height = Some(LONGEST);
    limits.max_alloc = Some(MEMORY);
    reader.limits(limits);
    let image = reader.decode().map_err(|e| match e {
        ImageError::Limits(_) => PictureError::TooLarge,
        other => PictureError::Damaged(other.to_string()),
    })?;
    let width = image.width() as usize;
    let has_alpha = image.color().has_alpha();
    let (pixels, seen) = if has_alpha {
        let rgba = image.into_rgba8().into_raw();
        let (pixels, _) = rgba.as_chunks::<4>();
        let seen = pixels.iter().map(|p| p[3] >= 128).collect();
        (pixels.iter().map(|[r, g, b, _]| [*r, *g, *b]).collect(), seen)
    } else {
        (rgb_of(image), Vec::new())
    };
    if width == 0 || pixels.is_empty() || (has_alpha && !seen.contains(&true)) {
        return Err(PictureError::Nothing);
    }
    Ok(Picture { width, pixels, seen })
}

fn rgb_of(image: DynamicImage) -> Vec<[u8; 3]> {
    image.into_rgb8().into_raw().as_chunks::<3>().0.to_vec()
}

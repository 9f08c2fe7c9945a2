//! A picture as a PNG file that knows its printed size.

use crate::Image;
use grisaille_base::{Stop, Watch};
use png::{
    BitDepth, ColorType, Compression, Encoder, EncodingError, PixelDimensions, SrgbRenderingIntent, Unit,
};
use std::io::{self, Write};

/// Pixels that are packed between two questions whether to stop: a
/// millisecond's work or two.
const STRETCH: usize = 1 << 15;

impl Image {
    /// Writes the picture as PNG, the same bytes each time; one without colour
    /// as greys (PNG, 11.2.2, colour type 0).
    ///
    /// `pixels_per_mm` of paper goes into the pHYs chunk (PNG, 11.3.4.3), so
    /// that the picture prints true to scale; a number that is not positive
    /// and finite leaves the chunk out.
    ///
    /// # Errors
    /// What `out` says when it cannot be written to.
    pub fn write_png(&self, out: &mut impl Write, pixels_per_mm: f64) -> io::Result<()> {
        // Nobody can cancel this one.
        self.packed(out, pixels_per_mm, &Watch::quiet()).unwrap_or(Ok(()))
    }

    fn packed(
        &self,
        out: &mut impl Write,
        pixels_per_mm: f64,
        watch: &Watch,
    ) -> Result<io::Result<()>, Stop> {
        // Most pictures are a grisaille: a third of the bytes says the same.
        let grey = self.rgb().chunks_exact(3).all(|p| p[0] == p[1] && p[1] == p[2]);
        let mut encoder = Encoder::new(out, self.width(), self.height());
        encoder.set_color(if grey { ColorType::Grayscale } else { ColorType::Rgb });
        encoder.set_depth(BitDepth::Eight);
        encoder.set_source_srgb(SrgbRenderingIntent::RelativeColorimetric);
        encoder.set_compression(Compression::Balanced);
        let per_metre = (pixels_per_mm * 1000.0).round();
        if per_metre >= 1.0 && per_metre <= f64::from(u32::MAX >> 1) {
            let ppu = per_metre as u32;
            encoder.set_pixel_dims(Some(PixelDimensions { xppu: ppu, yppu: ppu, unit: Unit::Meter }));
        }
        let mut stopped = Ok(());
        let written = encoder.write_header().and_then(|mut writer| {
            let mut rows = writer.stream_writer()?;
            let mut levels = Vec::with_capacity(STRETCH);
            for stretch in self.rgb().chunks(3 * STRETCH) {
                stopped = watch.check();
                if stopped.is_err() {
                    // What is written so far is nobody's picture.
                    return Ok(());
                }
                if grey {
                    levels.clear();
                    levels.extend(stretch.iter().step_by(3));
                    rows.write_all(&levels)?;
                } else {
                    rows.write_all(stretch)?;
                }
            }
            rows.finish()?;
            writer.finish()
        });
        stopped?;
        // The writer's own error, unwrapped, so that a full disk is known as one.
        Ok(written.map_err(|e| match e {
            EncodingError::IoError(e) => e,
            e => io::Error::other(e),
        }))
    }

    /// The picture as the bytes of a PNG file; see [`Image::write_png`].
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub fn png(&self, pixels_per_mm: f64, watch: &Watch) -> Result<Vec<u8>, Stop> {
        let mut bytes = Vec::new();
        // A vector takes every byte, and a picture has sides of at least 1,
        // so there is nothing that could fail here.
        if self.packed(&mut bytes, pixels_per_mm, watch)?.is_err() {
            bytes.clear();
        }
        Ok(bytes)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use grisaille_colour::LinearRgb;

    fn picture() -> Image {
        let mut image = Image::new(7, 5, LinearRgb::WHITE);
        image.set_pixel(2, 3, [10, 200, 77]);
        image
    }

    fn png(scale: f64) -> Vec<u8> {
        picture().png(scale, &Watch::quiet()).unwrap()
    }

    #[test]
    fn pixels_and_scale_come_back() {
        let bytes = png(Image::MAX_SIDE.into());
        assert_eq!(bytes, png(Image::MAX_SIDE.into()));
        let bytes_at_300 = png(300.0 / 25.4);
        let mut reader = png::Decoder::new(io::Cursor::new(bytes_at_300)).read_info().unwrap();
        let dims = reader.info().pixel_dims.unwrap();
        assert_eq!((dims.xppu, dims.yppu, dims.unit), (11811, 11811, Unit::Meter));
        let mut rgb = vec![0; reader.output_buffer_size().unwrap()];
        reader.next_frame(&mut rgb).unwrap();
        assert_eq!(rgb, picture().rgb());
    }

    #[test]
    fn a_picture_without_colour_is_written_as_greys() {
        let mut image = Image::new(300, 200, LinearRgb::WHITE);
        for y in 0..200 {
            for x in 0..300 {
                image.set_pixel(x, y, [((x * y) % 256) as u8; 3]);
            }
        }
        let bytes = image.png(10.0, &Watch::quiet()).unwrap();
        let mut reader = png::Decoder::new(io::Cursor::new(bytes)).read_info().unwrap();
        assert_eq!(reader.info().color_type, ColorType::Grayscale);
        let mut levels = vec![0; reader.output_buffer_size().unwrap()];
        reader.next_frame(&mut levels).unwrap();
        let rgb: Vec<u8> = levels.iter().flat_map(|l| [*l; 3]).collect();
        assert_eq!(rgb, image.rgb());
    }

    #[test]
    fn a_senseless_scale_is_left_out() {
        for scale in [0.0, -2.0, f64::NAN, f64::INFINITY, 1e-9] {
            let reader = png::Decoder::new(io::Cursor::new(png(scale))).read_info().unwrap();
            assert!(reader.info().pixel_dims.is_none());
        }
    }

    #[test]
    fn a_full_disk_is_an_error() {
        struct Full;
        impl Write for Full {
            fn write(&mut self, _: &[u8]) -> io::Result<usize> {
                Err(io::Error::other("full"))
            }
            fn flush(&mut self) -> io::Result<()> {
                Ok(())
            }
        }
        assert!(picture().write_png(&mut Full, 10.0).is_err());
    }
}

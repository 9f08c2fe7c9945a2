//! A smooth picture as a JPEG file that knows its printed size.

use crate::Image;
use grisaille_base::{Stop, Watch};
use image::ExtendedColorType;
use image::codecs::jpeg::{JpegEncoder, PixelDensity};

/// Of 100: steps of smooth shading stay below what a printer shows, and there are no lines in it
/// that would ring.
const QUALITY: u8 = 80;

impl Image {
    /// The picture as JPEG (ITU-T T.81, baseline), the same bytes each time; one without colour as
    /// greys. For smooth shading without lines, which lie over it as outlines.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub fn jpeg(&self, pixels_per_mm: f64, watch: &Watch) -> Result<Vec<u8>, Stop> {
        watch.check()?;
        let mut bytes = Vec::new();
        let mut encoder = JpegEncoder::new_with_quality(&mut bytes, QUALITY);
        encoder
            .set_pixel_density(PixelDensity::dpi((pixels_per_mm * 25.4).round().clamp(1.0, 65535.0) as u16));
        let grey = self.rgb().chunks_exact(3).all(|p| p[0] == p[1] && p[1] == p[2]);
        let (width, height) = (self.width(), self.height());
        let written = if grey {
            let levels: Vec<u8> = self.rgb().iter().step_by(3).copied().collect();
            encoder.encode(&levels, width, height, ExtendedColorType::L8)
        } else {
            encoder.encode(self.rgb(), width, height, ExtendedColorType::Rgb8)
        };
        // What is too large for the format (65,535 pixels a side) has no file.
        if written.is_err() {
            bytes.clear();
        }
        watch.check()?;
        Ok(bytes)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use grisaille_colour::LinearRgb;

    #[test]
    fn a_smooth_picture_comes_back_nearly_as_it_was() {
        let mut picture = Image::new(90, 60, LinearRgb::WHITE);
        for y in 0..60 {
            for x in 0..90 {
                let c = LinearRgb::from_srgb8([(40 + 2 * x) as u8, (200 - y) as u8, (60 + x) as u8]);
                picture.mix_stored(x, y, c, 1.0);
            }
        }
        let bytes = picture.jpeg(10.0, &Watch::quiet()).unwrap();
        assert_eq!(bytes, picture.jpeg(10.0, &Watch::quiet()).unwrap());
        let back = image::load_from_memory(&bytes).unwrap().to_rgb8();
        assert_eq!(back.dimensions(), (90, 60));
        let worst = back.as_raw().iter().zip(picture.rgb()).map(|(a, b)| a.abs_diff(*b)).max().unwrap();
        // Half a step of a printer's 48 levels, and a little for chroma.
        assert!(worst <= 6, "{worst}");
    }
}

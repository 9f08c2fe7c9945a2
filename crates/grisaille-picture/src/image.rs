//! A picture: rows of 8-bit sRGB pixels, top row first.

use grisaille_colour::LinearRgb;

/// A picture of `width` x `height` pixels in 8-bit sRGB.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Image {
    width: u32,
    height: u32,
    rgb: Vec<u8>,
}

impl Image {
    /// The longest side in pixels.
    pub const MAX_SIDE: u32 = 16_384;
    /// The most pixels.
    pub const MAX_PIXELS: u64 = 64_000_000;

    /// A picture filled with one colour. Sides are clamped to 1 and the caps,
    /// the height last.
    #[must_use]
    pub fn new(width: u32, height: u32, fill: LinearRgb) -> Self {
        let width = width.clamp(1, Self::MAX_SIDE);
        let tallest = (Self::MAX_PIXELS / u64::from(width)).min(u64::from(Self::MAX_SIDE)) as u32;
        let height = height.clamp(1, tallest);
        let rgb = fill.to_srgb8().repeat(width as usize * height as usize);
        Self { width, height, rgb }
    }

    /// Width in pixels.
    #[must_use]
    pub fn width(&self) -> u32 {
        self.width
    }

    /// Height in pixels.
    #[must_use]
    pub fn height(&self) -> u32 {
        self.height
    }

    /// The bytes: red, green, blue for each pixel, rows from the top.
    #[must_use]
    pub fn rgb(&self) -> &[u8] {
        &self.rgb
    }

    /// The pixel at `x`, `y` from the upper left; `None` outside.
    #[must_use]
    pub fn pixel(&self, x: u32, y: u32) -> Option<[u8; 3]> {
        let at = self.offset(i64::from(x), i64::from(y))?;
        Some([self.rgb[at], self.rgb[at + 1], self.rgb[at + 2]])
    }

    /// Sets the pixel at `x`, `y`; nothing happens outside.
    pub fn set_pixel(&mut self, x: u32, y: u32, rgb: [u8; 3]) {
        if let Some(at) = self.offset(i64::from(x), i64::from(y)) {
            self.rgb[at..at + 3].copy_from_slice(&rgb);
        }
    }

    /// Lays `share` (0 to 1) of a colour over a pixel, mixed in linear light:
    /// right for areas. Outside the picture nothing happens.
    pub fn mix_light(&mut self, x: i64, y: i64, colour: LinearRgb, share: f32) {
        if let Some(at) = self.offset(x, y) {
            mix(&mut self.rgb[at..at + 3], colour, share);
        }
    }

    /// Lays `share` (0 to 1) of a colour over a pixel, mixed in sRGB as it is
    /// stored. Letters and lines are mixed so: in linear light thin dark strokes
    /// on white come out pale.
    pub fn mix_stored(&mut self, x: i64, y: i64, colour: LinearRgb, share: f32) {
        if let Some(at) = self.offset(x, y) {
            mix_stored(&mut self.rgb[at..at + 3], colour, share);
        }
    }

    /// Lays another picture over this one with its upper left corner at `x`,
    /// `y`; what hangs over the edge is cut off.
    pub fn paste(&mut self, other: &Self, x: i64, y: i64) {
        let (width, height) = (i64::from(self.width), i64::from(self.height));
        let from = x.clamp(0, width);
        let to = x.saturating_add(i64::from(other.width)).clamp(from, width);
        if from == to {
            return;
        }
        for row in 0..i64::from(other.height) {
            let into = y.saturating_add(row);
            if !(0..height).contains(&into) {
                continue;
            }
            let source = ((row * i64::from(other.width) + from - x) * 3) as usize;
            let target = ((into * width + from) * 3) as usize;
            let bytes = ((to - from) * 3) as usize;
            self.rgb[target..target + bytes].copy_from_slice(&other.rgb[source..source + bytes]);
        }
    }

    /// Rounds each channel to one of so many even levels of sRGB (held to 2..=256; black and white stay).
    /// With 48 a step is about 2 L*, which no printer at home shows, and a
    /// smooth picture packs to half its size.
    pub fn to_levels(&mut self, levels: u16) {
        let steps = u32::from(levels.clamp(2, 256)) - 1;
        let mut of = [0_u8; 256];
        for (byte, rounded) in (0_u32..).zip(&mut of) {
            let step = (byte * steps + 127) / 255;
            *rounded = ((step * 255 + steps / 2) / steps) as u8;
        }
        for byte in &mut self.rgb {
            *byte = of[usize::from(*byte)];
        }
    }

    /// Takes the colours out: each pixel keeps its lightness.
    pub fn to_grey(&mut self) {
        for pixel in self.rgb.chunks_exact_mut(3) {
            let luminance = LinearRgb::from_srgb8([pixel[0], pixel[1], pixel[2]]).luminance();
            pixel.copy_from_slice(&LinearRgb::grey(luminance).to_srgb8());
        }
    }

    /// The rows as bytes that may be written, for drawing in parallel.
    pub(crate) fn rgb_mut(&mut self) -> &mut [u8] {
        &mut self.rgb
    }

    fn offset(&self, x: i64, y: i64) -> Option<usize> {
        let inside = (0..i64::from(self.width)).contains(&x) && (0..i64::from(self.height)).contains(&y);
        inside.then(|| (y as usize * self.width as usize + x as usize) * 3)
    }
}

/// Lays `share` of a colour over one stored pixel, in linear light.
pub(crate) fn mix(stored: &mut [u8], colour: LinearRgb, share: f32) {
    if let [r, g, b] = stored {
        let under = LinearRgb::from_srgb8([*r, *g, *b]);
        [*r, *g, *b] = under.lerp(colour, share.clamp(0.0, 1.0)).to_srgb8();
    }
}

/// Lays `share` of a colour over one stored pixel, in sRGB as it is stored.
pub(crate) fn mix_stored(stored: &mut [u8], colour: LinearRgb, share: f32) {
    let share = share.clamp(0.0, 1.0);
    for (stored, ink) in stored.iter_mut().zip(colour.to_srgb8()) {
        let mixed = f32::from(*stored) + (f32::from(ink) - f32::from(*stored)) * share;
        *stored = mixed.round() as u8;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pasting_is_cut_off_at_every_edge() {
        let stamp = Image::new(3, 3, LinearRgb::BLACK);
        for (x, y, dark) in
            [(0, 0, 9), (-1, -2, 2), (4, 4, 1), (5, 0, 0), (-3, 0, 0), (i64::MAX, i64::MIN, 0)]
        {
            let mut page = Image::new(5, 5, LinearRgb::WHITE);
            page.paste(&stamp, x, y);
            assert_eq!(page.rgb().chunks(3).filter(|p| *p == [0, 0, 0]).count(), dark, "{x} {y}");
        }
    }

    #[test]
    fn half_the_light_is_not_half_the_number() {
        let mut page = Image::new(1, 1, LinearRgb::WHITE);
        page.mix_light(0, 0, LinearRgb::BLACK, 0.5);
        assert_eq!(page.pixel(0, 0), Some([188; 3]));
        let mut page = Image::new(1, 1, LinearRgb::WHITE);
        page.mix_stored(0, 0, LinearRgb::BLACK, 0.5);
        assert_eq!(page.pixel(0, 0), Some([128; 3]));
        page.mix_light(-1, 7, LinearRgb::BLACK, 1.0);
        assert_eq!(page.pixel(1, 0), None);
    }

    #[test]
    fn levels_keep_black_and_white_and_move_nothing_by_more_than_half_a_step() {
        for levels in [0, 2, 5, 64, 256, 999] {
            let mut page = Image::new(256, 1, LinearRgb::WHITE);
            (0..256).for_each(|x| page.set_pixel(x, 0, [x as u8; 3]));
            page.to_levels(levels);
            let now: Vec<u8> = page.rgb().iter().step_by(3).copied().collect();
            let steps = f64::from(levels.clamp(2, 256)) - 1.0;
            assert_eq!((now[0], now[255]), (0, 255));
            assert!(now.windows(2).all(|w| w[0] <= w[1]));
            let far = |(x, n): (usize, &u8)| (x as f64 - f64::from(*n)).abs() <= 127.5 / steps + 1.0;
            assert!(now.iter().enumerate().all(far), "{levels}");
            let mut kinds = now.clone();
            kinds.dedup();
            assert_eq!(kinds.len(), usize::from(levels.clamp(2, 256)));
        }
    }

    #[test]
    fn sides_are_held_to_the_caps() {
        let page = Image::new(0, 0, LinearRgb::WHITE);
        assert_eq!((page.width(), page.height()), (1, 1));
        let page = Image::new(u32::MAX, u32::MAX, LinearRgb::WHITE);
        assert!(u64::from(page.width()) * u64::from(page.height()) <= Image::MAX_PIXELS);
    }
}

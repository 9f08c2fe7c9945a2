//! Palettes of made pictures, whose colours and shares are known.

use grisaille_base::Watch;
use grisaille_colour::{
    Curve, Lab, LinearRgb, Paint, PaletteColour, Picture, PictureError, Pigment, Role, colour_from_text,
    colour_of_curve, difference, palette_of, pull_into_line, read_picture, skin_like, with_roles,
};
use image::codecs::jpeg::JpegEncoder;
use image::codecs::webp::WebPEncoder;
use image::imageops::FilterType;
use image::{ExtendedColorType, ImageEncoder, Rgb, RgbImage, RgbaImage};
use proptest::prelude::*;
use std::io::Cursor;

fn colour(hex: &str) -> Lab {
    colour_from_text(hex).expect("a colour")
}

/// Numbers from 0 up to 1 that look random and are the same each time.
struct Draw(u64);

impl Draw {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// About normal, of deviation 1 (the sum of twelve).
    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.next()).sum::<f64>() - 6.0
    }
}

/// What a made picture is made of.
struct Made {
    /// Colours in sRGB and their shares; the last is the accent.
    colours: Vec<([u8; 3], f64)>,
    /// The deviation of noise in levels.
    noise: f64,
    /// Half the range of a gradient across each colour, in levels.
    gradient: f64,
}

impl Made {
    /// The demo's colours, with a lamp of one in a hundred.
    fn demo(noise: f64, gradient: f64) -> Self {
        let colours = vec![
            ([31, 58, 107], 0.34),
            ([201, 184, 146], 0.25),
            ([84, 96, 104], 0.18),
            ([150, 74, 40], 0.12),
            ([60, 90, 60], 0.10),
            ([250, 190, 30], 0.01),
        ];
        Self { colours, noise, gradient }
    }

    /// Each colour fills a strip from left to right, and the accent a square in the
    /// midst of the first.
    fn drawn(&self, width: u32, height: u32) -> RgbImage {
        let mut draw = Draw(11);
        let Some(((accent, of_accent), strips)) = self.colours.split_last() else {
            return RgbImage::new(1, 1);
        };
        let side = (of_accent * f64::from(width * height)).sqrt();
        let (left, top) = (f64::from(width) * 0.05, f64::from(height) * 0.4);
        // The first strip is wider by what the accent takes of it.
        let mut ends = Vec::new();
        for (i, (_, share)) in strips.iter().enumerate() {
            let before = ends.last().copied().unwrap_or(0.0);
            ends.push(before + share + if i == 0 { *of_accent } else { 0.0 });
        }
        RgbImage::from_fn(width, height, |x, y| {
            let at = (f64::from(x) + 0.5) / f64::from(width);
            let strip = ends.iter().position(|e| at < *e).unwrap_or(ends.len() - 1);
            let inside = |v: u32, from: f64| (from..from + side).contains(&(f64::from(v) + 0.5));
            let (base, shade) = match inside(x, left) && inside(y, top) {
                true => (*accent, 0.0),
                false => {
                    (strips[strip].0, self.gradient * (2.0 * (f64::from(y) + 0.5) / f64::from(height) - 1.0))
                }
            };
            let noise = self.noise;
            Rgb(base.map(|c| (f64::from(c) + shade + noise * draw.normal()).round().clamp(0.0, 255.0) as u8))
        })
    }

    /// The palette has these colours, within 3 ΔE00 and 3 points of share.
    fn is_found(&self, palette: &[PaletteColour], what: &str) {
        let told: Vec<String> = palette
            .iter()
            .map(|c| format!("{} {:.3} {}", grisaille_colour::hex_of(c.colour), c.share, c.role.as_str()))
            .collect();
        assert_eq!(palette.len(), self.colours.len(), "{what}: {told:?} for {:?}", self.colours);
        for (rgb, share) in &self.colours {
            let want = Lab::from(LinearRgb::from_srgb8(*rgb));
            let near = palette
                .iter()
                .min_by(|a, b| difference(a.colour, want).total_cmp(&difference(b.colour, want)));
            let near = near.expect("a colour");
            let apart = difference(near.colour, want);
            assert!(apart < 3.0, "{what}: {rgb:?} is {apart} off: {told:?}");
            assert!((near.share - share).abs() < 0.03, "{what}: {rgb:?} {share}: {told:?}");
        }
        let sum: f64 = palette.iter().map(|c| c.share).sum();
        assert!((sum - 1.0).abs() < 1e-9 && (5..=9).contains(&palette.len()));
        assert!(palette.windows(2).all(|p| p[0].share >= p[1].share));
    }
}

fn picture(image: &RgbImage) -> Picture {
    Picture::new(image.width() as usize, image.pixels().map(|p| p.0).collect()).expect("a picture")
}

fn palette(picture: &Picture) -> Vec<PaletteColour> {
    palette_of(picture, &Watch::quiet()).expect("not stopped")
}

fn encoded(image: &RgbImage, quality: Option<u8>) -> Vec<u8> {
    let mut out = Vec::new();
    let (width, height) = image.dimensions();
    match quality {
        Some(quality) => {
            let mut encoder = JpegEncoder::new_with_quality(&mut out, quality);
            encoder.encode_image(image).expect("a JPEG");
        }
        None => WebPEncoder::new_lossless(&mut out)
            .write_image(image.as_raw(), width, height, ExtendedColorType::Rgb8)
            .expect("a WebP"),
    }
    out
}

#[test]
fn known_colours_come_back_from_noise_gradients_and_compression() {
    for (noise, gradient) in [(0.0, 0.0), (4.0, 0.0), (10.0, 0.0), (0.0, 15.0), (0.0, 30.0), (5.0, 25.0)] {
        let made = Made::demo(noise, gradient);
        let image = made.drawn(480, 320);
        let what = format!("noise {noise}, gradient {gradient}");
        made.is_found(&palette(&picture(&image)), &what);
        for quality in [92, 75, 50] {
            let read = read_picture(&encoded(&image, Some(quality))).expect("a picture");
            made.is_found(&palette(&read), &format!("{what}, JPEG {quality}"));
        }
        let read = read_picture(&encoded(&image, None)).expect("a picture");
        assert_eq!(read, picture(&image), "WebP without loss");
    }
}

#[test]
fn random_palettes_come_back() {
    let mut draw = Draw(3);
    for round in 0..60 {
        let count = 5 + round % 4;
        let mut colours: Vec<[u8; 3]> = Vec::new();
        while colours.len() < count {
            let new = [0; 3].map(|_: u8| (20.0 + 215.0 * draw.next()) as u8);
            let lab = |c: [u8; 3]| Lab::from(LinearRgb::from_srgb8(c));
            let far = colours.iter().all(|c| difference(lab(*c), lab(new)) > 16.0);
            // The last is the accent: vivid, and far from all.
            let accent = colours.len() + 1 < count
                || lab(new).chroma() > 45.0 && colours.iter().all(|c| difference(lab(*c), lab(new)) > 25.0);
            if far && accent {
                colours.push(new);
            }
        }
        let weights: Vec<f64> = (1..count).map(|_| 0.15 + draw.next()).collect();
        let all: f64 = weights.iter().sum();
        let shares = weights.iter().map(|w| 0.99 * w / all).chain([0.01]);
        let made = Made { colours: colours.into_iter().zip(shares).collect(), noise: 3.0, gradient: 8.0 };
        let image = made.drawn(400, 300);
        made.is_found(&palette(&picture(&image)), &format!("round {round}"));
        let read = read_picture(&encoded(&image, Some(85))).expect("a picture");
        made.is_found(&palette(&read), &format!("round {round}, JPEG"));
    }
}

#[test]
fn the_palette_is_the_same_at_any_size() {
    let made = Made::demo(4.0, 15.0);
    let image = made.drawn(960, 640);
    for (width, height) in [(700, 467), (480, 320), (240, 160), (120, 80)] {
        for filter in [FilterType::Triangle, FilterType::Lanczos3, FilterType::Nearest] {
            let small = image::imageops::resize(&image, width, height, filter);
            made.is_found(&palette(&picture(&small)), &format!("{width} × {height}, {filter:?}"));
        }
    }
}

#[test]
fn bars_at_the_edges_do_not_count() {
    let made = Made::demo(3.0, 10.0);
    let inner = made.drawn(480, 320);
    for bar in [[0, 0, 0], [255, 255, 255], [12, 12, 14], [128, 128, 128]] {
        for (wide, high) in [(0, 50), (70, 0), (40, 30)] {
            let mut framed = RgbImage::from_pixel(480 + 2 * wide, 320 + 2 * high, Rgb(bar));
            image::imageops::replace(&mut framed, &inner, i64::from(wide), i64::from(high));
            made.is_found(&palette(&picture(&framed)), &format!("bars {bar:?} {wide} {high}"));
            let read = read_picture(&encoded(&framed, Some(80))).expect("a picture");
            made.is_found(&palette(&read), &format!("bars {bar:?} {wide} {high}, JPEG"));
        }
    }
    // A dark floor alone is no bar: it counts.
    let mut floored = RgbImage::from_pixel(480, 400, Rgb([10, 10, 10]));
    image::imageops::replace(&mut floored, &inner, 0, 0);
    let found = palette(&picture(&floored));
    let floor = found.iter().find(|c| c.colour.l < 6.0).expect("the floor");
    assert!((floor.share - 0.2).abs() < 0.02, "{floor:?}");
    // Nothing but a bar is a picture of one colour.
    let plain = palette(&picture(&RgbImage::from_pixel(40, 30, Rgb([0, 0, 0]))));
    assert_eq!(plain.len(), 1);
    assert_eq!((plain[0].share, plain[0].role), (1.0, Role::Main));
}

#[test]
fn few_colours_give_few() {
    let image =
        RgbImage::from_fn(90, 60, |x, _| if x < 30 { Rgb([200, 30, 30]) } else { Rgb([30, 30, 200]) });
    let found = palette(&picture(&image));
    assert_eq!(found.len(), 2);
    assert!((found[0].share - 2.0 / 3.0).abs() < 0.01 && found[0].role == Role::Main);
    assert_eq!(palette(&Picture::new(1, vec![[7, 8, 9]]).expect("a pixel")).len(), 1);
    assert_eq!(Picture::new(0, vec![]), None);
    assert_eq!(Picture::new(2, vec![[0; 3]; 3]), None);
}

#[test]
fn an_accent_of_two_in_a_thousand_is_kept() {
    let mut made = Made::demo(3.0, 10.0);
    made.colours[5].1 = 0.003;
    made.colours[0].1 = 0.347;
    let found = palette(&picture(&made.drawn(600, 400)));
    let lamp = Lab::from(LinearRgb::from_srgb8([250, 190, 30]));
    let near = found.iter().find(|c| difference(c.colour, lamp) < 3.0).expect("the lamp");
    assert!(near.role == Role::Accent && (near.share - 0.003).abs() < 0.001, "{near:?}");
}

#[test]
fn roles_and_skin() {
    let shares =
        [("#d3a07c", 0.05), ("#1f3a6b", 0.6), ("#8a8c8b", 0.25), ("#ffb020", 0.04), ("#55603a", 0.06)];
    let found = with_roles(&shares.map(|(hex, share)| (colour(hex), share)));
    let told: Vec<(Role, bool)> = found.iter().map(|c| (c.role, c.skin_like)).collect();
    assert_eq!(
        told,
        [
            (Role::Main, false),
            (Role::Neutral, false),
            (Role::Support, false),
            (Role::Support, true),
            (Role::Accent, false)
        ]
    );
    assert!(with_roles(&[]).is_empty());
    // The two skins of a colour chart, by their measured spectra, and none of its blues, greens and greys.
    let mut rows = include_str!("data/colorchecker_reflectance.csv").lines().skip(2);
    for row in rows.by_ref() {
        let cells: Vec<&str> = row.split(',').collect();
        let curve = Curve::new(std::array::from_fn(|i| cells[i + 1].parse().expect("a number")));
        let is = skin_like(colour_of_curve(&curve));
        assert!(is || !cells[0].contains("skin"), "{}", cells[0]);
        let cold = [
            "blue", "green", "cyan", "purple", "neutral", "white", "black", "foliage", "red", "yellow",
            "magenta",
        ];
        assert!(!is || !cold.iter().any(|c| cells[0].contains(c)), "{}", cells[0]);
    }
}

#[test]
fn pictures_that_cannot_be_read() {
    let jpeg = encoded(&Made::demo(0.0, 0.0).drawn(60, 40), Some(80));
    let mut png = Vec::new();
    let clear = RgbaImage::from_pixel(4, 4, image::Rgba([9, 9, 9, 20]));
    clear.write_to(&mut Cursor::new(&mut png), image::ImageFormat::Png).expect("a PNG");
    assert_eq!(read_picture(&png), Err(PictureError::Nothing));
    for bytes in [&b""[..], b"GIF89a\x01\0\x01\0", b"BM........", b"solid model", &[0; 64]] {
        assert_eq!(read_picture(bytes), Err(PictureError::Kind));
    }
    assert!(matches!(read_picture(&jpeg[..80]), Err(PictureError::Damaged(_))));
    // A PNG that claims 4 billion pixels a side.
    let mut huge = png.clone();
    huge[16..24].copy_from_slice(&[0x7f, 0xff, 0xff, 0xff, 0x7f, 0xff, 0xff, 0xff]);
    assert!(read_picture(&huge).is_err());
    // Half clear: only the seen half counts.
    let half = RgbaImage::from_fn(60, 40, |x, _| {
        if x < 30 { image::Rgba([200, 30, 30, 255]) } else { image::Rgba([30, 30, 200, 100]) }
    });
    let mut png = Vec::new();
    half.write_to(&mut Cursor::new(&mut png), image::ImageFormat::Png).expect("a PNG");
    let found = palette(&read_picture(&png).expect("a picture"));
    assert_eq!(found.len(), 1);
    assert!(difference(found[0].colour, Lab::from(LinearRgb::from_srgb8([200, 30, 30]))) < 0.5);
}

#[test]
fn one_thread_and_many_give_the_same() {
    let picture = picture(&Made::demo(8.0, 20.0).drawn(300, 500));
    let of = |threads| palette_of(&picture, &Watch::with_threads(threads).expect("threads"));
    assert_eq!(of(1), of(4));
    assert!(palette_of(&picture, &Watch::quiet().stopping_after(2)).is_err());
}

/// The closed form of the range: the hull of the palette and grey in Oklab's a and b.
#[test]
fn an_outside_colour_is_pulled_into_line() {
    let sea = ["#1f3a6b", "#4b5560", "#c9b892", "#2c7a67", "#6b4429"].map(colour);
    for inside in ["#1f3a6b", "#808080", "#40566f"].map(colour) {
        let pulled = pull_into_line(inside, &sea).expect("a palette");
        assert_eq!((pulled.with, pulled.parts, pulled.colour), (None, [1, 0], inside));
    }
    for outside in ["#e02020", "#ff40c0", "#40ff30", "#8020e0", "#ffe000"].map(colour) {
        let pulled = pull_into_line(outside, &sea).expect("a palette");
        let with = pulled.with.expect("mixed");
        // It is in line now, and lies on the way to what was mixed in.
        let again = pull_into_line(pulled.colour, &sea).expect("a palette");
        assert_eq!(again.with, None, "{pulled:?}");
        assert!(difference(pulled.colour, sea[with]) < difference(outside, sea[with]), "{pulled:?}");
        // The least: with no palette colour would the next smaller part do.
        let order = [[8, 1], [6, 1], [4, 1], [3, 1], [2, 1], [3, 2], [1, 1], [2, 3], [1, 2], [1, 3], [1, 4]];
        let place = order.iter().position(|p| *p == pulled.parts).expect("simple parts");
        let pigment = |c: Lab| Pigment::of(&Paint::of_colour("", c));
        for (other, parts) in sea.iter().zip(order[..place].last().into_iter().cycle()) {
            let [own, of_other] = parts.map(f64::from);
            let mix =
                Pigment::mixed(&[(own, &pigment(outside)), (of_other, &pigment(*other))]).expect("a mix");
            let still = pull_into_line(colour_of_curve(&mix.thick()), &sea).expect("a palette");
            assert!(still.with.is_some(), "{pulled:?}: {parts:?} would do");
        }
    }
    assert_eq!(pull_into_line(sea[0], &[]), None);
    let one = pull_into_line(colour("#ff0000"), &[colour("#0000ff")]).expect("a palette");
    assert_eq!(pull_into_line(one.colour, &[colour("#0000ff")]).expect("a palette").with, None);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Whatever is in the file or the picture: no panic.
    #[test]
    fn damaged_pictures_are_read_or_refused(cuts in proptest::collection::vec((0..4000_usize, any::<u8>()), 1..20), keep in 0..4000_usize) {
        let mut bytes = encoded(&Made::demo(4.0, 9.0).drawn(48, 32), if keep % 2 == 0 { Some(80) } else { None });
        for (at, byte) in cuts {
            let at = at % bytes.len();
            bytes[at] = byte;
        }
        bytes.truncate(bytes.len().min(keep + 400));
        if let Ok(picture) = read_picture(&bytes) {
            prop_assert!(!palette(&picture).is_empty());
        }
    }

    #[test]
    fn any_pixels_have_a_palette(pixels in proptest::collection::vec(any::<[u8; 3]>(), 1..300), width in 1..20_usize) {
        let rows = pixels.len().div_ceil(width);
        let filled: Vec<[u8; 3]> = pixels.iter().cycle().take(rows * width).copied().collect();
        let found = palette(&Picture::new(width, filled).expect("a picture"));
        let sum: f64 = found.iter().map(|c| c.share).sum();
        prop_assert!((1..=9).contains(&found.len()) && (sum - 1.0).abs() < 1e-9);
        prop_assert!(found.iter().all(|c| c.colour.is_finite() && c.colour.in_srgb()));
    }
}

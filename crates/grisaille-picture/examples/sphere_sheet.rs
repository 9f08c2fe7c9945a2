//! A sheet with everything on it: a ring buoy and a float, lit from above,
//! with a false-colour scale, bands with letters, and zones with patterns.
//!
//! `cargo run --release --example sphere_sheet -- sheet.png` writes the sheet.

use grisaille_base::{Lightness, Watch};
use grisaille_colour::{
    FalseColour, LinearRgb, lightness_from_luminance, luminance_from_lightness, printed_grey,
    printed_lightness,
};
use grisaille_picture::{
    Areas, Canvas, Frame, Hit, Image, ItemBuffer, Legend, LineStyle, Pattern, SheetStyle, Swatch, Tick, View,
    places,
};
use nalgebra::{Point3, Vector3};
use std::error::Error;
use std::f32::consts::TAU;

const BANDS: usize = 5;
const PAPER_PIXELS_PER_MM: f64 = 300.0 / 25.4;

#[derive(Default)]
struct Model {
    positions: Vec<Point3<f32>>,
    normals: Vec<Vector3<f32>>,
    faces: Vec<[u32; 3]>,
    /// Daylight and lamp light for each vertex, 0 to 1.
    daylight: Vec<f32>,
    lamp: Vec<f32>,
}

impl Model {
    /// Adds a grid of `n` x `m` cells whose rims are joined.
    fn add(&mut self, n: u32, m: u32, place: impl Fn(f32, f32) -> (Point3<f32>, Vector3<f32>)) {
        let first = self.positions.len() as u32;
        for j in 0..=m {
            for i in 0..=n {
                let (p, normal) = place(i as f32 / n as f32, j as f32 / m as f32);
                self.positions.push(p);
                self.normals.push(normal);
            }
        }
        let id = |i: u32, j: u32| first + j * (n + 1) + i;
        for j in 0..m {
            for i in 0..n {
                self.faces.push([id(i, j), id(i + 1, j), id(i + 1, j + 1)]);
                self.faces.push([id(i, j), id(i + 1, j + 1), id(i, j + 1)]);
            }
        }
    }

    fn light(&mut self) {
        let lamp = Point3::new(-17.0, -15.0, 8.0);
        for (p, n) in self.positions.iter().zip(&self.normals) {
            self.daylight.push((0.5 + 0.5 * n.z).powf(1.6) * (0.65 + 0.35 * (p.z / 18.0).clamp(0.0, 1.0)));
            let to = lamp - p;
            self.lamp.push((n.dot(&to.normalize()).max(0.0) * 110.0 / to.norm_squared()).min(1.0));
        }
    }
}

fn model() -> Model {
    let mut model = Model::default();
    model.add(220, 90, |u, v| {
        let ((sin, cos), (up, out)) = ((u * TAU).sin_cos(), (v * TAU).sin_cos());
        let normal = Vector3::new(cos * out, sin * out, up);
        (Point3::new(cos * 13.0, sin * 13.0, 5.0) + normal * 5.0, normal)
    });
    model.add(180, 90, |u, v| {
        let ((sin, cos), (down, level)) = ((u * TAU).sin_cos(), ((v - 0.5) * 0.5 * TAU).sin_cos());
        let normal = Vector3::new(cos * level, sin * level, down);
        (Point3::new(2.0, 0.0, 13.0) + normal * 8.0, normal)
    });
    model.light();
    model
}

/// Both lights together, 0 to 1.
fn light(model: &Model, hit: &Hit) -> f64 {
    f64::from(0.8 * hit.mix(&model.daylight) + 0.6 * hit.mix(&model.lamp)).min(1.0)
}

fn band(model: &Model, hit: &Hit) -> u16 {
    let value = lightness_from_luminance(light(model, hit)).0 / 100.0;
    ((value * BANDS as f64) as u16).min(BANDS as u16 - 1)
}

fn zone(model: &Model, hit: &Hit) -> u16 {
    let (day, lamp) = (hit.mix(&model.daylight), hit.mix(&model.lamp));
    if day.max(lamp) < 0.22 { 2 } else { u16::from(lamp > day) }
}

/// A soft shade that shows the form under flat colours.
fn form(model: &Model, hit: &Hit) -> f32 {
    let n = hit.mix_vectors(&model.normals).normalize();
    0.8 + 0.2 * n.dot(&Vector3::new(-0.3, -0.7, 0.65)).max(0.0)
}

fn letter(of: u16) -> String {
    char::from(b'A' + of as u8).to_string()
}

const ZONES: [(&str, &str, [u8; 3]); 3] = [
    ("Daylight", "from above, dim green", [172, 205, 188]),
    ("Hand lamp", "from your left, warm", [244, 196, 110]),
    ("Neither", "keep dark", [86, 98, 122]),
];

fn main() -> Result<(), Box<dyn Error>> {
    let watch = Watch::quiet();
    let model = model();
    let style = SheetStyle::default();
    let line = LineStyle::on_paper(0.12, PAPER_PIXELS_PER_MM, LinearRgb::BLACK, 0.85);
    let thin = LineStyle { strength: 0.55, ..line };
    let mut canvas = Canvas::new(style).title("Ring buoy and float").note(
        "How much light falls, the bands to paint, and in the other four which light is the strongest.",
    );

    let draw = |view: View| {
        let frame = Frame::fit(&model.positions, view, 17.0, 1.0);
        ItemBuffer::draw(&model.positions, &model.faces, |_| true, &frame, 3, &watch)
    };
    let finish = |items: &ItemBuffer, image: &mut Image| items.outline(image, 0.8, line, &watch);

    let items = draw(View::three_quarter())?;
    let mut image = items.shade(
        style.paper,
        |h| FalseColour::at(lightness_from_luminance(light(&model, h)).0 / 100.0),
        &watch,
    )?;
    finish(&items, &mut image)?;
    canvas = canvas.picture(image, "How light", items.frame().mm_per_pixel());

    let items = draw(View::three_quarter())?;
    let grey = |b: u16| LinearRgb::from_srgb8([printed_grey(b.into(), BANDS); 3]);
    let mut image = items.shade(style.paper, |h| grey(band(&model, h)), &watch)?;
    let bands = Areas::of(&items, |h| Some(band(&model, h)), &watch)?;
    bands.borders(&mut image, thin, &watch)?;
    finish(&items, &mut image)?;
    let spots = places(&bands.per_pixel(&watch)?, bands.width(), 15.0, 2, &watch)?;
    image.letters(&spots, 30.0, |b| (letter(b), grey(b).ink(), None));
    canvas = canvas.picture(image, "Bands to paint", items.frame().mm_per_pixel());

    for view in [View::three_quarter(), View::front(), View::left_side(), View::above()] {
        let items = draw(view)?;
        let colour = |z: u16| LinearRgb::from_srgb8(ZONES[usize::from(z) % 3].2);
        let mut image =
            items.shade(style.paper, |h| colour(zone(&model, h)).scaled(form(&model, h)), &watch)?;
        let zones = Areas::of(&items, |h| Some(zone(&model, h)), &watch)?;
        let marks = |z: u16| Some((Pattern::of_zone(z.into()), Pattern::ink_on(colour(z))));
        zones.patterns(&mut image, style.pitch_px, marks, &watch)?;
        zones.borders(&mut image, thin, &watch)?;
        finish(&items, &mut image)?;
        canvas = canvas.view(image, items.frame());
    }

    let ticks = [
        (1.0, "100", "full light"),
        (0.75, "75", "light"),
        (0.5, "50", "middle"),
        (0.25, "25", "dark"),
        (0.0, "0", "no light"),
    ];
    let canvas = canvas
        .legend(Legend::Scale {
            title: "How light (L*)".into(),
            colour: FalseColour::at,
            ticks: ticks
                .map(|(at, number, words)| Tick { at, number: number.into(), words: words.into() })
                .into(),
        })
        .legend(Legend::Swatches {
            title: "Bands".into(),
            rows: (0..BANDS)
                .rev()
                .map(|b| Swatch {
                    letter: letter(b as u16),
                    colour: grey(b as u16),
                    pattern: Pattern::Plain,
                    name: ["Deep shadow", "Shadow", "Mid tone", "Light", "Highlight"][b].into(),
                    range: format!(
                        "L* {}–{}, printed {:.0}",
                        b * 20,
                        b * 20 + 20,
                        printed_lightness(b, BANDS).0
                    ),
                })
                .collect(),
        })
        .legend(Legend::Swatches {
            title: "Strongest light".into(),
            rows: ZONES
                .iter()
                .enumerate()
                .map(|(z, (name, range, rgb))| Swatch {
                    letter: String::new(),
                    colour: LinearRgb::from_srgb8(*rgb),
                    pattern: Pattern::of_zone(z),
                    name: (*name).into(),
                    range: (*range).into(),
                })
                .collect(),
        })
        .legend(Legend::Scale {
            title: "Value".into(),
            colour: |t| LinearRgb::grey(luminance_from_lightness(Lightness(100.0 * t))),
            ticks: [(1.0, "10"), (0.5, "5"), (0.0, "0")]
                .map(|(at, number)| Tick { at, number: number.into(), words: String::new() })
                .into(),
        });
    let path = std::env::args().nth(1).unwrap_or_else(|| "sphere_sheet.png".into());
    let mut file = std::io::BufWriter::new(std::fs::File::create(&path)?);
    canvas.compose().write_png(&mut file, PAPER_PIXELS_PER_MM)?;
    Ok(())
}

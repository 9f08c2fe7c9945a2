//! How long drawing takes: a knobbly ball of 300,000 triangles on 1500 x 2000
//! pixels with 2 x 2 sub-samples. Prints seconds for each step.

use grisaille_base::{Stop, Watch};
use grisaille_colour::{FalseColour, LinearRgb};
use grisaille_picture::{Areas, Frame, ItemBuffer, LineStyle, View, places};
use nalgebra::{Point3, Vector3};
use std::f32::consts::{PI, TAU};
use std::time::Instant;

fn main() -> Result<(), Stop> {
    let (around, down) = (600_u32, 250_u32);
    let mut points = Vec::new();
    for j in 0..=down {
        for i in 0..=around {
            let (u, v) = (i as f32 / around as f32 * TAU, j as f32 / down as f32 * PI);
            let radius = 10.0 + 0.6 * (u * 23.0).sin() * (v * 17.0).sin() * v.sin();
            let level = Vector3::new(u.cos() * v.sin() * 0.74, u.sin() * v.sin() * 0.74, -v.cos());
            points.push(Point3::from(level * radius));
        }
    }
    let id = |i: u32, j: u32| j * (around + 1) + i;
    let faces: Vec<[u32; 3]> = (0..down)
        .flat_map(|j| (0..around).map(move |i| (i, j)))
        .flat_map(|(i, j)| {
            [[id(i, j), id(i + 1, j), id(i + 1, j + 1)], [id(i, j), id(i + 1, j + 1), id(i, j + 1)]]
        })
        .collect();
    let light: Vec<f32> = points.iter().map(|p| (p.z + 11.0) / 22.0).collect();
    let watch = Watch::with_threads(2).map_err(|_| Stop)?;
    let frame = Frame::fit(&points, View::three_quarter(), 96.0, 0.2);
    println!("{} triangles on {} x {} pixels", faces.len(), frame.width(), frame.height());
    for _ in 0..2 {
        let mut clock = Instant::now();
        let mut lap = |what: &str| {
            println!("{what:12} {:.3} s", clock.elapsed().as_secs_f64());
            clock = Instant::now();
        };
        let items = ItemBuffer::draw(&points, &faces, |_| true, &frame, 2, &watch)?;
        lap("draw");
        let mut image =
            items.shade(LinearRgb::WHITE, |h| FalseColour::at(f64::from(h.mix(&light))), &watch)?;
        lap("shade");
        let line = LineStyle { width_px: 1.4, ink: LinearRgb::BLACK, strength: 0.8 };
        items.outline(&mut image, 0.5, line, &watch)?;
        lap("outline");
        let areas = Areas::of(&items, |h| Some((h.mix(&light) * 5.0) as u16), &watch)?;
        lap("areas");
        areas.borders(&mut image, line, &watch)?;
        lap("borders");
        let spots = places(&areas.per_pixel(&watch)?, areas.width(), 14.0, 2, &watch)?;
        lap("places");
        let bytes = image.png(12.0, &watch)?.len();
        lap("png");
        println!("{} letters, {bytes} bytes", spots.len());
    }
    Ok(())
}

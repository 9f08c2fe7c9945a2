//! Regions drawn: each in its swatch with its number on it.

use crate::{Areas, Frame, Image, ItemBuffer, Legend, LineStyle, Pattern, Swatch};
use grisaille_base::{FaceId, RegionId, Stop, Watch};
use grisaille_colour::LinearRgb;
use grisaille_form::Regions;
use grisaille_sight::Surface;
use nalgebra::Vector3;

/// The number that a region goes by in pictures and lists: one more than its id.
#[must_use]
pub fn region_number(region: RegionId) -> u32 {
    u32::from(region.0) + 1
}

/// Draws a view of the regions of a surface: swatches, darker where the surface
/// turns away, borders, and numbers of `body_px` where there is room for them, at
/// most three for each region. Faces buried on all three corners are left out.
/// `pixels_per_paper_mm` is the fineness of the print, for line widths.
///
/// # Errors
/// [`Stop`] when cancelled.
pub fn region_view(
    surface: &Surface,
    regions: &Regions,
    frame: &Frame,
    body_px: f32,
    pixels_per_paper_mm: f64,
    watch: &Watch,
) -> Result<Image, Stop> {
    let keep = |f: FaceId| surface.open_corners(f.index()) > 0;
    let items = ItemBuffer::draw(&surface.samples.position, &surface.faces, keep, frame, 2, watch)?;
    let of = |face: FaceId| regions.of_face.get(face.index()).copied();
    let swatch = |r: RegionId| {
        regions.regions.get(r.index()).map_or(LinearRgb::grey(0.5), |r| LinearRgb::from_srgb8(r.swatch))
    };
    // Light from over the viewer's left shoulder shows the form.
    let view = frame.view();
    let light: Vector3<f64> = (view.toward() + 0.6 * view.up() - 0.4 * view.right()).normalize();
    let mut image = items.shade(
        LinearRgb::WHITE,
        |hit| {
            let normal = hit.mix_vectors(&surface.samples.normal).cast::<f64>();
            let length = normal.norm().max(f64::MIN_POSITIVE);
            let facing = (normal.dot(&light) / length).abs().min(1.0);
            of(hit.face).map_or(LinearRgb::BLACK, swatch).scaled((0.55 + 0.45 * facing) as f32)
        },
        watch,
    )?;
    let areas = Areas::of(&items, |hit| of(hit.face).map(|r| r.0), watch)?;
    let line = LineStyle::on_paper(0.12, pixels_per_paper_mm, LinearRgb::BLACK, 0.85);
    areas.borders(&mut image, line, watch)?;
    let [low, high] = heights(surface);
    items.outline(&mut image, (0.02 * (high - low)) as f32, line, watch)?;
    let found = crate::places(&areas.per_pixel(watch)?, areas.width(), 0.5 * body_px, 3, watch)?;
    image.letters(&found, body_px, |label| {
        let ground = swatch(RegionId(label));
        (region_number(RegionId(label)).to_string(), ground.ink(), Some(ground))
    });
    Ok(image)
}

/// A line for each region, its number, name and area, in columns of twelve.
#[must_use]
pub fn region_legends(regions: &Regions) -> Vec<Legend> {
    let row = |(i, r): (usize, &grisaille_form::Region)| Swatch {
        letter: (i + 1).to_string(),
        colour: LinearRgb::from_srgb8(r.swatch),
        pattern: Pattern::Plain,
        name: r.name.clone(),
        range: format!("{:.0} mm²", r.area_mm2),
    };
    let rows: Vec<Swatch> = regions.regions.iter().enumerate().map(row).collect();
    let columns = rows.chunks(12).enumerate();
    columns
        .map(|(k, rows)| Legend::Swatches {
            title: if k == 0 { "Regions".into() } else { String::new() },
            rows: rows.to_vec(),
        })
        .collect()
}

/// The lowest and the highest z of a surface.
fn heights(surface: &Surface) -> [f64; 2] {
    surface.samples.position.iter().map(|p| f64::from(p.z)).fold([0.0, 0.0], |[a, b], z| [a.min(z), b.max(z)])
}

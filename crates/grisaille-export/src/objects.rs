//! The surface as bodies: welded, with one flat colour for each triangle, gathered by region.

use crate::parted::parted;
use grisaille_base::RegionId;
use grisaille_colour::{Lab, LinearRgb, luminance_from_lightness};
use grisaille_form::Shape;
use grisaille_mesh::{NO_TWIN, twins};
use grisaille_plan::Plan;
use std::collections::HashMap;

/// A model's surface.
pub(crate) struct Object {
    /// Its points in scene mm.
    pub(crate) points: Vec<[f32; 3]>,
    /// Its triangles as indices of points, region by region, each with its colour in the palette.
    pub(crate) triangles: Vec<([u32; 3], u32)>,
    /// For each region that has some of them the first and the last.
    pub(crate) regions: Vec<(RegionId, [usize; 2])>,
    /// The colour of most of them.
    pub(crate) most: u32,
    /// Whether each edge is shared by two triangles that agree in winding.
    pub(crate) closed: bool,
}

/// The colours of all triangles, sRGB, each once.
#[derive(Default)]
pub(crate) struct Palette {
    pub(crate) colours: Vec<[u8; 3]>,
    place: HashMap<[u8; 3], u32>,
}

impl Palette {
    fn index(&mut self, colour: [u8; 3]) -> u32 {
        *self.place.entry(colour).or_insert_with(|| {
            self.colours.push(colour);
            self.colours.len() as u32 - 1
        })
    }
}

/// The objects of a plan's surface, one for each model. `model_of_face` is empty where there is only one.
pub(crate) fn objects(
    plan: &Plan,
    region_of_face: &[RegionId],
    model_of_face: &[u32],
) -> (Vec<(usize, Object)>, Palette) {
    let shape = Shape::of(&plan.surface);
    let model = |f: u32| model_of_face.get(f as usize).map_or(0, |m| *m as usize);
    let mut faces_of: Vec<Vec<u32>> = Vec::new();
    for f in 0..plan.surface.faces.len() as u32 {
        let m = model(f);
        if faces_of.len() <= m {
            faces_of.resize_with(m + 1, Vec::new);
        }
        faces_of[m].push(f);
    }
    let mut palette = Palette::default();
    let mut out = Vec::new();
    for (m, mut faces) in faces_of.into_iter().enumerate() {
        faces.sort_by_key(|f| region_of_face.get(*f as usize));
        if let Some(object) = object(plan, &shape, region_of_face, &faces, &mut palette) {
            out.push((m, object));
        }
    }
    (out, palette)
}

/// An object of some faces; `None` of none that has an area to show.
fn object(
    plan: &Plan,
    shape: &Shape,
    region_of_face: &[RegionId],
    faces: &[u32],
    palette: &mut Palette,
) -> Option<Object> {
    // What refining has drawn together into a line is left out: its two neighbours then share one edge.
    let whole = |f: &u32| {
        let [a, b, c] = shape.faces()[*f as usize];
        a != b && b != c && c != a
    };
    let faces: Vec<u32> = faces.iter().copied().filter(whole).collect();
    let mut used: Vec<u32> = faces.iter().flat_map(|f| shape.faces()[*f as usize]).collect();
    used.sort_unstable();
    used.dedup();
    let place = |v: u32| used.binary_search(&v).map_or(0, |i| i as u32);
    let net: Vec<[u32; 3]> = faces.iter().map(|f| shape.faces()[*f as usize].map(place)).collect();
    let points = used.iter().map(|v| shape.positions()[*v as usize].into()).collect();
    let (points, net) = parted(points, net);
    let mut regions: Vec<(RegionId, [usize; 2])> = Vec::new();
    let mut often: HashMap<u32, usize> = HashMap::new();
    let mut triangles = Vec::with_capacity(net.len());
    for (i, (f, corners)) in faces.iter().zip(&net).enumerate() {
        let colour = palette.index(flat_colour(plan, *f as usize));
        *often.entry(colour).or_default() += 1;
        triangles.push((*corners, colour));
        let region = region_of_face.get(*f as usize).copied().unwrap_or(RegionId(0));
        match regions.last_mut() {
            Some((last, span)) if *last == region => span[1] = i,
            _ => regions.push((region, [i, i])),
        }
    }
    let most = often.iter().max_by_key(|(colour, n)| (**n, std::cmp::Reverse(**colour)))?;
    Some(Object {
        points,
        regions,
        most: *most.0,
        closed: net.len() >= 4 && twins(&net).iter().all(|t| *t != NO_TWIN),
        triangles,
    })
}

/// What stands in the middle of a face, as it is painted: its step, or the tone of its band where the scheme paints
/// nothing.
fn flat_colour(plan: &Plan, face: usize) -> [u8; 3] {
    let middle = [1.0 / 3.0; 3];
    let painted = plan.colouring.as_ref().and_then(|c| c.flat_at(plan, face, middle));
    let shown = painted.map(Lab::shown).or_else(|| {
        let band = plan.bands.rows.get(usize::from(plan.band_at(face, middle)))?;
        Some(LinearRgb::grey(luminance_from_lightness(band.tone)))
    });
    shown.unwrap_or(LinearRgb::grey(0.0)).to_srgb8()
}

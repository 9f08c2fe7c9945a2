//! Zones: which light is the strongest where.

use grisaille_base::LightId;
use grisaille_mesh::Part;
use grisaille_sight::Surface;

/// The zone number where no light reaches.
pub const NO_ZONE: u8 = 0;

/// The area where one light is the strongest.
#[derive(Clone, Debug, PartialEq)]
pub struct Zone {
    /// Its number in files, from 1 in the order of the lights.
    pub number: u8,
    /// The light that rules it.
    pub light: LightId,
    /// The light's name.
    pub name: String,
    /// Painted area in mm².
    pub area_mm2: f64,
    /// Its share of the painted area, 0 to 1.
    pub share: f64,
}

/// All zones.
#[derive(Clone, Debug, PartialEq)]
pub struct Zones {
    /// One for each light.
    pub rows: Vec<Zone>,
    /// The painted share that no light reaches.
    pub unlit_share: f64,
    /// The zone number of each sample; [`NO_ZONE`] where no light reaches and
    /// at buried samples.
    pub of_sample: Vec<u8>,
}

/// The strongest of some shares of light: its place counted from 1, or
/// [`NO_ZONE`]. The first wins a draw.
#[must_use]
pub(crate) fn strongest(shares: impl Iterator<Item = f32>) -> u8 {
    let mut best = (0.0, NO_ZONE);
    for (i, share) in shares.enumerate() {
        if share > best.0 {
            best = (share, (i + 1).min(255) as u8);
        }
    }
    best.1
}

pub(crate) fn zones(
    surface: &Surface,
    part_of_face: &[Part],
    lights: &[(LightId, String)],
    shares: &[Vec<f32>],
) -> Zones {
    let of_sample: Vec<u8> =
        (0..surface.samples.len()).map(|i| strongest(shares.iter().map(|s| s[i]))).collect();
    let mut areas = vec![0.0; lights.len() + 1];
    for (f, face) in surface.faces.iter().enumerate() {
        if part_of_face[f] == Part::Underside {
            continue;
        }
        let third = surface.face_area(f) / 3.0;
        for s in face.iter().map(|s| *s as usize).filter(|s| !surface.samples.buried.get(*s)) {
            areas[of_sample[s] as usize] += third;
        }
    }
    let all: f64 = areas.iter().sum();
    let share = |area: f64| if all > 0.0 { area / all } else { 0.0 };
    let rows = lights
        .iter()
        .enumerate()
        .map(|(i, (id, name))| Zone {
            number: (i + 1).min(255) as u8,
            light: *id,
            name: name.clone(),
            area_mm2: areas[i + 1],
            share: share(areas[i + 1]),
        })
        .collect();
    Zones { rows, unlit_share: share(areas[0]), of_sample }
}

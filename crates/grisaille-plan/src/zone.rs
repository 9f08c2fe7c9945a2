//! Zones: which light is the strongest where.

use crate::brush::Evener;
use crate::field::open_corners;
use grisaille_base::{LightId, Stop, Watch};
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
    /// What each light adds at each sample, evened out over the brush tip, as
    /// far as zones go by it.
    shares: Vec<Vec<f32>>,
    /// How unlit each sample is, 0 to 1, evened out likewise.
    unlit: Vec<f32>,
}

impl Zones {
    /// What each light adds at a sample, in the order of the lights, as far as zones go by it.
    pub(crate) fn shares_of(&self, sample: usize) -> impl Iterator<Item = f32> {
        self.shares.iter().map(move |s| s[sample])
    }

    /// The share of all light, 0 to 1, that one adds at a spot of a face given by the weights of its
    /// corners.
    #[must_use]
    pub(crate) fn share_at(&self, surface: &Surface, face: usize, weights: [f32; 3], light: usize) -> f64 {
        let mix = |field: &[f32]| -> f64 {
            open_corners(surface, face, field)
                .map_or(0.0, |c| (0..3).map(|i| f64::from(c[i]) * f64::from(weights[i])).sum())
        };
        let all: f64 = self.shares.iter().map(|s| mix(s)).sum();
        let own = self.shares.get(light).map_or(0.0, |s| mix(s));
        if all > 0.0 { own / all } else { 0.0 }
    }

    /// The zone number at a spot of a face given by the weights of its
    /// corners. Borders run where two lights add the same.
    #[must_use]
    pub(crate) fn at(&self, surface: &Surface, face: usize, weights: [f32; 3]) -> u8 {
        let mix = |field: &[f32]| {
            open_corners(surface, face, field).map_or(0.0, |c| (0..3).map(|i| c[i] * weights[i]).sum())
        };
        label(self.shares.iter().map(|s| mix(s)), mix(&self.unlit))
    }
}

/// The zone of a spot that is so lit and so unlit.
fn label(shares: impl Iterator<Item = f32>, unlit: f32) -> u8 {
    if unlit > 0.5 { NO_ZONE } else { strongest(shares) }
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
    evener: &Evener,
    watch: &Watch,
) -> Result<Zones, Stop> {
    let count = surface.samples.len();
    let unlit: Vec<f32> =
        (0..count).map(|i| if shares.iter().all(|s| s[i] <= 0.0) { 1.0 } else { 0.0 }).collect();
    let mut unlit = evener.even(&unlit, watch)?;
    let mut shares = shares.iter().map(|s| evener.even(s, watch)).collect::<Result<Vec<_>, Stop>>()?;
    let mut of_sample: Vec<u8> = (0..count).map(|i| label(shares.iter().map(|s| s[i]), unlit[i])).collect();
    let before = of_sample.clone();
    evener.tidy(&mut of_sample, watch)?;
    for i in (0..count).filter(|i| before[*i] != of_sample[*i]) {
        hand_over(&mut shares, &mut unlit, i, of_sample[i]);
    }
    let mut areas = vec![0.0; lights.len() + 1];
    for (f, face) in surface.faces.iter().enumerate() {
        if !part_of_face[f].is_painted() {
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
    Ok(Zones { rows, unlit_share: share(areas[0]), of_sample, shares, unlit })
}

/// Makes a zone number hold at a sample, by as little as that takes.
fn hand_over(shares: &mut [Vec<f32>], unlit: &mut [f32], sample: usize, to: u8) {
    let Some(place) = usize::from(to).checked_sub(1) else {
        unlit[sample] = unlit[sample].max(0.51);
        return;
    };
    unlit[sample] = unlit[sample].min(0.49);
    let most = shares.iter().map(|s| s[sample]).fold(0.0, f32::max);
    if let Some(own) = shares.get_mut(place) {
        own[sample] = 1.001 * most + 1e-6;
    }
}

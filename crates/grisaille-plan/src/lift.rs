//! How far the painter lifts or drops the values of single regions.

use crate::colouring::entries_of_regions;
use crate::division::regions_of;
use crate::products::Products;
use grisaille_base::{Stop, Watch};
use grisaille_form::{Ground, Regions};
use grisaille_mesh::Mesh;
use grisaille_scheme::{RegionChoice, Scheme};
use grisaille_sight::Surface;
use std::sync::Arc;

/// Regions that were found for a surface.
pub(crate) struct Found {
    surface: u64,
    choice: RegionChoice,
    ground: Ground,
    regions: Regions,
}

/// The lift of each sample by its region, −1 to 1; `None` where no region is lifted. Where regions meet
/// it is the later one's.
///
/// # Errors
/// [`Stop`] when cancelled.
pub(crate) fn region_lifts(
    scheme: &Scheme,
    surface: &Arc<Surface>,
    products: &mut Products,
    watch: &Watch,
) -> Result<Option<Vec<f32>>, Stop> {
    if !scheme.colours.lifts() {
        return Ok(None);
    }
    let mesh = Arc::clone(&products.mesh);
    let found = match products.regions.take() {
        Some(known) if known.surface == surface.fingerprint && known.choice == scheme.regions => known,
        _ => find(&scheme.regions, surface, &mesh, watch)?,
    };
    let found = products.regions.insert(found);
    let (row_of_region, _) = entries_of_regions(&scheme.colours.regions, &found.ground, &found.regions);
    let lift_of = |region: grisaille_base::RegionId| {
        let entry = row_of_region.get(region.index()).copied().flatten();
        entry.and_then(|k| scheme.colours.regions.get(k)).map_or(0.0, |e| e.lift as f32)
    };
    let mut lifts = vec![0.0; surface.samples.len()];
    for (face, region) in surface.faces.iter().zip(&found.regions.of_face) {
        let lift = lift_of(*region);
        for s in face.iter().filter(|_| lift != 0.0) {
            lifts[*s as usize] = lift;
        }
    }
    Ok(Some(lifts))
}

fn find(choice: &RegionChoice, surface: &Arc<Surface>, mesh: &Mesh, watch: &Watch) -> Result<Found, Stop> {
    let (ground, regions) = regions_of(choice, surface, mesh, watch)?;
    Ok(Found { surface: surface.fingerprint, choice: choice.clone(), ground, regions })
}

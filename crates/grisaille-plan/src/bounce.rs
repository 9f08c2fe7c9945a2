//! Light that is thrown from one part onto another, as part of the values.

use crate::products::Products;
use grisaille_base::{Stop, Watch};
use grisaille_light::{BounceSettings, bounce};
use grisaille_scheme::BounceChoice;
use grisaille_sight::{Surface, SurfaceTree};
use std::sync::Arc;

/// What bounced light adds to each sample's sum, light by light.
pub(crate) type Thrown = Arc<Vec<Vec<f32>>>;

/// A bounce with what it was made from.
pub(crate) struct Kept {
    surface: u64,
    choice: BounceChoice,
    shares: Vec<Vec<f32>>,
    thrown: Thrown,
}

/// What each light adds once it has bounced; `None` when that is off.
///
/// What is thrown is the light as it is planned on a spot, weights and the
/// lamps' shoulder included, and all paint throws back the same share of it,
/// without a tint: regions have none yet.
pub(crate) fn thrown(
    choice: &BounceChoice,
    surface: &Surface,
    shares: &[Vec<f32>],
    products: &mut Products,
    watch: &Watch,
) -> Result<Option<Thrown>, Stop> {
    if !choice.is_on() {
        return Ok(None);
    }
    if let Some(kept) = &products.bounced
        && (kept.surface, kept.choice) == (surface.fingerprint, *choice)
        && kept.shares == shares
    {
        return Ok(Some(Arc::clone(&kept.thrown)));
    }
    let tree = match &products.surface_tree {
        Some((of, tree)) if *of == surface.fingerprint => Arc::clone(tree),
        _ => {
            let made = Arc::new(SurfaceTree::new(surface, &products.occluders, watch)?);
            products.surface_tree = Some((surface.fingerprint, Arc::clone(&made)));
            made
        }
    };
    let lights: Vec<&[f32]> = shares.iter().map(Vec::as_slice).collect();
    let albedo = vec![[choice.albedo as f32; 3]; surface.samples.len()];
    let how = BounceSettings { directions: choice.directions, ..BounceSettings::default() };
    let got = bounce(surface, &tree, &lights, &albedo, &how, watch)?;
    // The paint has no tint here, so the three colours are one.
    let thrown: Thrown =
        Arc::new(got.lights.into_iter().map(|light| light.into_iter().map(|e| e[0]).collect()).collect());
    products.bounced = Some(Arc::new(Kept {
        surface: surface.fingerprint,
        choice: *choice,
        shares: shares.to_vec(),
        thrown: Arc::clone(&thrown),
    }));
    Ok(Some(thrown))
}

/// Adds what bounced to what falls directly.
pub(crate) fn add(direct: &mut [f32], thrown: &[f32]) {
    direct.iter_mut().zip(thrown).for_each(|(e, more)| *e += more);
}

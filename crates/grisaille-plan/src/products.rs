//! What the phases have made so far, kept between two plans of one model.

use crate::bounce::Kept;
use crate::draft::{Ground, Known};
use crate::lift::Found;
use grisaille_light::{Cache, SprayCache};
use grisaille_mesh::{Mesh, Parts};
use grisaille_sight::{Occluders, Surface, SurfaceSettings, SurfaceTree, SweepSight, TreeSight};
use std::sync::Arc;

/// The products of earlier phases. A second plan for the same model computes
/// only what the scheme's changes touch.
pub struct Products {
    pub(crate) mesh: Arc<Mesh>,
    pub(crate) occluders: Arc<Occluders>,
    pub(crate) tree: Option<Arc<TreeSight>>,
    pub(crate) sweep: Option<Arc<SweepSight>>,
    pub(crate) surface: Option<Refined>,
    pub(crate) parts: Option<Arc<Parts>>,
    pub(crate) kept: Cache,
    /// For rays between parts, by the surface's fingerprint.
    pub(crate) surface_tree: Option<(u64, Arc<SurfaceTree>)>,
    pub(crate) bounced: Option<Arc<Kept>>,
    /// For drafts.
    pub(crate) ground: Option<Ground>,
    pub(crate) known: Vec<Known>,
    pub(crate) strength: Option<Vec<f32>>,
    /// Spray from many directions on a few samples.
    pub(crate) spray: SprayCache,
    /// For lifts by region.
    pub(crate) regions: Option<Found>,
}

/// A surface with the settings it was made by.
#[derive(Clone)]
pub(crate) struct Refined {
    pub(crate) settings: SurfaceSettings,
    pub(crate) surface: Arc<Surface>,
    pub(crate) findings: Vec<grisaille_base::Finding>,
}

impl Products {
    /// The mesh that all is computed from.
    #[must_use]
    pub fn mesh(&self) -> &Arc<Mesh> {
        &self.mesh
    }

    /// Begins with a mesh and nothing computed.
    #[must_use]
    pub fn new(mesh: Arc<Mesh>) -> Self {
        let occluders = Arc::new(Occluders::of(&mesh));
        Self {
            mesh,
            occluders,
            tree: None,
            sweep: None,
            surface: None,
            parts: None,
            kept: Cache::default(),
            surface_tree: None,
            bounced: None,
            ground: None,
            known: Vec::new(),
            strength: None,
            spray: SprayCache::default(),
            regions: None,
        }
    }

    /// Products of the same model for a second plan beside this one, on another
    /// thread: what is finished is shared, not copied.
    #[must_use]
    pub fn fork(&self) -> Self {
        Self {
            mesh: Arc::clone(&self.mesh),
            occluders: Arc::clone(&self.occluders),
            tree: self.tree.clone(),
            sweep: self.sweep.clone(),
            surface: self.surface.clone(),
            parts: self.parts.clone(),
            kept: self.kept.fork(),
            surface_tree: self.surface_tree.clone(),
            bounced: self.bounced.clone(),
            ground: None,
            known: Vec::new(),
            strength: None,
            spray: SprayCache::default(),
            regions: None,
        }
    }
}

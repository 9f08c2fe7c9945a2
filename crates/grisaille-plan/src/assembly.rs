//! A figure that comes in several files: which file each face is from, and what closes up once they are glued.

use crate::plan::Plan;
use grisaille_base::{Stop, Watch};
use grisaille_form::{Assembled, BrushShape, FLOWS_IN, Reach, before_gluing, reach};
use grisaille_mesh::{Mesh, model_of_face};
use grisaille_sight::{Bits, Occluders, Surface, TreeSight};
use std::sync::Arc;

/// Less joint than this in mm² between a file and the others holds no glue: they stand apart.
const HOLDS: f64 = 0.5;
/// Less of a file than this in mm² that closes up is not told.
pub(crate) const TOLD: f64 = 1.0;

/// The files of a figure, put together.
#[derive(Clone, Debug, PartialEq)]
pub struct Assembly {
    /// The files, in the order of the scheme.
    pub files: Vec<AssembledFile>,
    /// For each face of the surface its file, counted from 0.
    pub file_of_face: Vec<u32>,
    /// The samples of the surface that a brush reaches in the single files and not once they are together.
    pub closes: Bits,
}

/// One file of several.
#[derive(Clone, Debug, PartialEq)]
pub struct AssembledFile {
    /// Its name, without its folder.
    pub name: String,
    /// What becomes of it when all are together.
    pub assembled: Assembled,
}

impl AssembledFile {
    /// Whether it is glued to another.
    #[must_use]
    pub fn is_glued(&self) -> bool {
        self.assembled.joint_mm2 >= HOLDS
    }

    /// Whether so much of it closes up that it is told.
    #[must_use]
    pub fn closes_up(&self) -> bool {
        self.assembled.closes_mm2 >= TOLD
    }
}

impl Assembly {
    /// Whether any two files touch, so that they are glued.
    #[must_use]
    pub fn is_glued(&self) -> bool {
        self.files.iter().any(AssembledFile::is_glued)
    }

    /// The files that something closes up of, the most first.
    #[must_use]
    pub fn closing(&self) -> Vec<&AssembledFile> {
        let mut files: Vec<&AssembledFile> = self.files.iter().filter(|f| f.closes_up()).collect();
        files.sort_by(|a, b| b.assembled.closes_mm2.total_cmp(&a.assembled.closes_mm2));
        files
    }

    /// The files that are glued to others, with how much of each in mm² is joint.
    #[must_use]
    pub fn joints(&self) -> Vec<(&str, f64)> {
        let glued = self.files.iter().filter(|f| f.is_glued());
        glued.map(|f| (f.name.as_str(), f.assembled.joint_mm2)).collect()
    }
}

/// Puts the named models of a scene together; `models` are each for itself, `together` is the reach of `brush` on the
/// whole.
///
/// # Errors
/// [`Stop`] on request.
pub fn assembly(
    (mesh, surface, tree): (&Mesh, &Surface, &TreeSight),
    together: &Reach,
    (names, models): (&[String], &[Mesh]),
    brush: &BrushShape,
    watch: &Watch,
) -> Result<Assembly, Stop> {
    let of = model_of_face(mesh, models);
    let found = before_gluing((surface, tree), together, (models, &of), brush, watch)?;
    let files = names.iter().cloned().zip(found.models);
    Ok(Assembly {
        files: files.map(|(name, assembled)| AssembledFile { name, assembled }).collect(),
        file_of_face: surface.source_face.iter().map(|f| of[f.index()]).collect(),
        closes: found.closes,
    })
}

/// The same for a plan, with the brush for details; kept in the plan, for its stages. Nothing for a model alone.
///
/// # Errors
/// [`Stop`] on request.
pub fn assemble(plan: &mut Plan, names: &[String], models: &[Mesh], watch: &Watch) -> Result<(), Stop> {
    if models.len() < 2 {
        return Ok(());
    }
    let brush = BrushShape::detail();
    let together = reach(&plan.mesh, &plan.surface, &brush, FLOWS_IN, watch)?;
    let tree = TreeSight::new(Arc::new(Occluders::of(&plan.mesh)), watch);
    let whole = (&*plan.mesh, &*plan.surface, &tree);
    plan.assembly = Some(Arc::new(assembly(whole, &together, (names, models), &brush, watch)?));
    Ok(())
}

//! What closes up once parts that come as files of their own are assembled: it
//! is painted before gluing.

use crate::patches::Patches;
use crate::reach::{BrushShape, FLOWS_IN, Reach, reach_of};
use grisaille_base::{Millimetres, Stop, Watch};
use grisaille_light::{OpennessSettings, openness};
use grisaille_mesh::Mesh;
use grisaille_sight::{Bits, Surface, TreeSight};

/// Surfaces nearer to each other than this are glued, not painted (common practice).
const JOINT: Millimetres = Millimetres(0.15);
/// Less of its neighbourhood open than this is a joint.
const SHUT: f32 = 0.5;

/// What becomes of one model when all are assembled. Areas are in mm².
#[derive(Clone, Debug, PartialEq)]
pub struct Assembled {
    /// All of its surface that is neither buried in another nor a joint.
    pub open_mm2: f64,
    /// What a brush reaches now and not when all are together: to be painted
    /// before gluing.
    pub closes_mm2: f64,
    /// The middle of the largest patch of that, if there is any.
    pub place: Option<[f32; 3]>,
    /// What no brush reaches even now.
    pub never_mm2: f64,
    /// What touches another part and is glued: kept bare.
    pub joint_mm2: f64,
}

/// What gluing several models together closes up.
#[derive(Clone, Debug, PartialEq)]
pub struct BeforeGluing {
    /// What becomes of each model.
    pub models: Vec<Assembled>,
    /// The samples of the scene's surface that a brush reaches now and not when all are together.
    pub closes: Bits,
}

/// Each model's part in a scene. `model_of_face` names the model of each face
/// of the scene's mesh, `together` is the reach on its whole surface.
///
/// # Errors
/// [`Stop`] when cancelled.
pub fn before_gluing(
    (surface, tree): (&Surface, &TreeSight),
    together: &Reach,
    (models, model_of_face): (&[Mesh], &[u32]),
    brush: &BrushShape,
    watch: &Watch,
) -> Result<BeforeGluing, Stop> {
    let near = openness(surface, tree, &OpennessSettings { reach: JOINT, directions: 16 }, watch)?;
    let joint = |s: u32| near[s as usize] < SHUT;
    let mut found =
        BeforeGluing { models: Vec::with_capacity(models.len()), closes: Bits::new(surface.samples.len()) };
    for (m, model) in models.iter().enumerate() {
        let mine = |f: usize| model_of_face[surface.source_face[f].index()] as usize == m;
        let mut only = Bits::new(surface.samples.len());
        for (_, face) in surface.faces.iter().enumerate().filter(|(f, _)| mine(*f)) {
            face.iter().for_each(|s| only.set(*s as usize, true));
        }
        let alone = reach_of(model, (surface, Some(&only)), brush, FLOWS_IN, watch)?;
        let closes = |s: u32| !joint(s) && alone.reaches(s as usize) && !together.reaches(s as usize);
        let mut row =
            Assembled { open_mm2: 0.0, closes_mm2: 0.0, place: None, never_mm2: 0.0, joint_mm2: 0.0 };
        let mut patches = Patches::new(surface.samples.len());
        for (f, face) in surface.faces.iter().enumerate().filter(|(f, _)| mine(*f)) {
            let third = surface.face_area(f) / 3.0;
            for &s in face.iter().filter(|s| !surface.samples.buried.get(**s as usize)) {
                match () {
                    () if joint(s) => row.joint_mm2 += third,
                    () if closes(s) => {
                        row.closes_mm2 += third;
                        found.closes.set(s as usize, true);
                    }
                    () if !alone.reaches(s as usize) => row.never_mm2 += third,
                    () => {}
                }
                row.open_mm2 += if joint(s) { 0.0 } else { third };
            }
            patches.add(face.map(|s| (s, closes(s))), third);
        }
        row.place = patches.largest(surface);
        found.models.push(row);
        watch.check()?;
    }
    Ok(found)
}

//! What closes up once parts that come as files of their own are assembled: it
//! is painted before gluing.

use crate::reach::{BrushShape, FLOWS_IN, Reach, reach_of};
use grisaille_base::{Millimetres, Stop, Watch};
use grisaille_light::{OpennessSettings, openness};
use grisaille_mesh::{Mesh, find, unite};
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
) -> Result<Vec<Assembled>, Stop> {
    let near = openness(surface, tree, &OpennessSettings { reach: JOINT, directions: 16 }, watch)?;
    let joint = |s: u32| near[s as usize] < SHUT;
    let mut out = Vec::with_capacity(models.len());
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
                    () if closes(s) => row.closes_mm2 += third,
                    () if !alone.reaches(s as usize) => row.never_mm2 += third,
                    () => {}
                }
                row.open_mm2 += if joint(s) { 0.0 } else { third };
            }
            patches.add(face.map(|s| (s, closes(s))), third);
        }
        row.place = patches.largest(surface);
        out.push(row);
        watch.check()?;
    }
    Ok(out)
}

/// Patches of samples that hang together.
struct Patches {
    parent: Vec<u32>,
    area: Vec<f64>,
}

impl Patches {
    fn new(samples: usize) -> Self {
        Self { parent: (0..samples as u32).collect(), area: vec![0.0; samples] }
    }

    /// Takes a face's corners that belong to a patch, each for a third of its area.
    fn add(&mut self, corners: [(u32, bool); 3], third: f64) {
        for k in 0..3 {
            let ((a, in_a), (b, in_b)) = (corners[k], corners[(k + 1) % 3]);
            if in_a && in_b {
                unite(&mut self.parent, a, b);
            }
            if in_a {
                self.area[a as usize] += third;
            }
        }
    }

    /// The sample of the largest patch that is nearest to its middle.
    fn largest(mut self, surface: &Surface) -> Option<[f32; 3]> {
        let mut sum = vec![0.0; self.area.len()];
        for s in 0..self.area.len() {
            let root = find(&mut self.parent, s as u32) as usize;
            sum[root] += self.area[s];
        }
        // The first of equals.
        let best =
            (0..sum.len()).rev().max_by(|a, b| sum[*a].total_cmp(&sum[*b])).filter(|r| sum[*r] > 0.0)?;
        let members: Vec<usize> = (0..self.area.len())
            .filter(|s| self.area[*s] > 0.0 && find(&mut self.parent, *s as u32) as usize == best)
            .collect();
        let at = |s: usize| surface.samples.position[s].coords.cast::<f64>();
        let middle =
            members.iter().map(|s| at(*s) * self.area[*s]).sum::<nalgebra::Vector3<f64>>() / sum[best];
        let near = |s: &usize| (at(*s) - middle).norm_squared();
        let place = members.into_iter().min_by(|a, b| near(a).total_cmp(&near(b)))?;
        Some(surface.samples.position[place].coords.into())
    }
}

//! Print supports, told by shape and place: thin columns that stand on a plate or on
//! feet of their own and end in tips that touch the figure.

mod basins;
mod evidence;
mod levels;
mod touch;

use crate::edge::edges;
use crate::mesh::{Mesh, face_cross};
use basins::{Basin, Contact, Limits, basins};
use evidence::{Evidence, judged};
use grisaille_base::{Code, Finding, PieceId, Place, Stop, Watch};
use levels::{Levels, levels};
use touch::touching;

/// Print supports and what stands under them.
#[derive(Clone, Debug, PartialEq)]
pub struct Supports {
    /// Of each face whether it is theirs.
    pub of_face: Vec<bool>,
    /// Columns, and what they make up together: a tree, or columns with braces, counts once.
    pub stands: u32,
    /// Tips that touch the figure.
    pub tips: u32,
    /// How wide a column usually is in mm.
    pub column_mm: f64,
    /// How far a raft's top lies above the lowest point in mm, where they stand on one.
    pub raft_mm: Option<f64>,
    /// Their surface in mm².
    pub area_mm2: f64,
    /// A place on one of them.
    pub at: [f32; 3],
    /// How sure it is that these are supports: 0 to 1.
    pub confidence: f64,
    /// Columns that may be supports too, but are not counted above: too thick, much thicker than the
    /// others with one tip, or with a free end.
    pub left: u32,
}

impl Supports {
    /// Below this nothing is taken away.
    pub const SURE: f64 = 0.75;

    /// Whether it is sure enough that these are supports to take them away.
    #[must_use]
    pub fn is_sure(&self) -> bool {
        self.confidence >= Self::SURE
    }

    /// What a painter is told of them.
    #[must_use]
    pub fn finding(&self) -> Finding {
        let columns = match self.stands {
            1 => "a column".into(),
            n => format!("{n} columns"),
        };
        let on = match self.raft_mm {
            Some(top) => format!(" on a raft {top:.1} mm high"),
            None => String::new(),
        };
        let what = match self.is_sure() {
            true => {
                "these are print supports: they are not painted, but stop light as long as they are not left out"
            }
            false => {
                "these may be print supports: they are painted as the rest, unless you leave them out part by part"
            }
        };
        let hint = format!("{columns}{on}, with {} tips that touch the figure: {what}", self.tips);
        Finding::new(Code::PrintSupports, self.stands.into(), hint).at(Place::Point(self.at))
    }
}

/// A section wider than this share of the box's diagonal is no column's: 3 mm for a figure
/// of 50 mm with its supports.
const WIDEST: f64 = 0.04;
/// Rafts and feet end below this share of the height.
const PLATE: f64 = 0.12;
/// What begins below this share of the height stands on the ground.
const GROUND: f64 = 0.01;

/// Looks for print supports; nothing where none are seen.
///
/// The mesh is cut into level slabs. What hangs on to the ground by wider sections than
/// to the figure is looked at as a support: it must end in several necks, thinner than its columns,
/// that touch the figure, and be as wide over most of its height. A spear, a rope, a leg or a tree
/// lacks the one or the other. The work is in proportion to the faces, and done once for a mesh.
///
/// # Errors
/// [`Stop`] when cancelled.
pub fn supports(mesh: &Mesh, watch: &Watch) -> Result<Option<Supports>, Stop> {
    if let Some(known) = mesh.known.0.get() {
        return Ok(known.clone());
    }
    let found = sought(mesh, watch)?;
    Ok(mesh.known.0.get_or_init(|| found).clone())
}

fn sought(mesh: &Mesh, watch: &Watch) -> Result<Option<Supports>, Stop> {
    let edges = watch.run(|| edges(&mesh.faces));
    watch.check()?;
    let Some(levels) = levels(mesh, &edges, watch)? else { return Ok(None) };
    drop(edges);
    let height = mesh.bounds().extents()[2];
    let limits = Limits {
        widest: WIDEST * mesh.bounds().diagonal(),
        plate_slab: (PLATE * height / levels.step) as u32,
    };
    let (basin, contacts) = grown(mesh, &levels, &limits, watch)?;
    watch.check()?;
    let Some(evidence) = judged(mesh, &levels, &limits, (&basin, &contacts), watch)? else {
        return Ok(None);
    };
    Ok(told(mesh, &levels, &evidence))
}

/// Where each node belongs, with what stands on the ground in several pieces: a foot, a
/// shaft, a tip.
fn grown(
    mesh: &Mesh,
    levels: &Levels,
    limits: &Limits,
    watch: &Watch,
) -> Result<(Vec<Basin>, Vec<Contact>), Stop> {
    /// Pieces of one column, one on the other.
    const ROUNDS: usize = 8;
    let lowest = lowest(levels);
    let ground_slab = (GROUND * mesh.bounds().extents()[2] / levels.step) as u32;
    let mut grounded: Vec<bool> =
        levels.nodes.iter().zip(&lowest).map(|(n, low)| *low && n.slab <= ground_slab).collect();
    let mut answer = basins(levels, limits, &grounded);
    let mut wide = vec![false; mesh.pieces().len()];
    for link in &levels.links {
        let above = levels.nodes[link.above as usize];
        wide[above.piece.index()] |= link.width() > limits.widest && above.slab > limits.plate_slab;
    }
    for _ in 0..ROUNDS {
        watch.check()?;
        let (mut stands, mut whole) = (vec![false; mesh.pieces().len()], vec![true; mesh.pieces().len()]);
        for (node, basin) in levels.nodes.iter().zip(&answer.0) {
            stands[node.piece.index()] |= *basin == Basin::Ground;
            whole[node.piece.index()] &= *basin == Basin::Ground;
        }
        let asked: Vec<usize> = (0..levels.nodes.len())
            .filter(|n| lowest[*n])
            .filter(|n| [&wide, &stands].iter().all(|of| !of[levels.nodes[*n].piece.index()]))
            .collect();
        if asked.is_empty() {
            break;
        }
        let points: Vec<_> = asked
            .iter()
            .map(|n| {
                let node = levels.nodes[*n];
                (mesh.positions[node.lowest as usize].cast(), node.piece)
            })
            .collect();
        // Where supports are one piece with the figure, what stands on the figure stands on no support.
        let low = |n: usize| levels.nodes[asked[n]].slab <= limits.plate_slab;
        let inside = |n: usize, p: PieceId| whole[p.index()] || stands[p.index()] && low(n);
        let found = touching(mesh, &points, levels.step, inside, |f| levels.is_ground(f, &answer.0));
        if !found.contains(&true) {
            break;
        }
        for (n, _) in asked.iter().zip(found).filter(|(_, found)| *found) {
            grounded[*n] = true;
        }
        answer = basins(levels, limits, &grounded);
    }
    Ok(answer)
}

/// Of each node whether nothing of its piece goes on below it.
fn lowest(levels: &Levels) -> Vec<bool> {
    let mut lowest = vec![true; levels.nodes.len()];
    for link in &levels.links {
        lowest[link.above as usize] = false;
    }
    lowest
}

/// The answer for faces: a face is where most of its slabs are.
fn told(mesh: &Mesh, levels: &Levels, evidence: &Evidence) -> Option<Supports> {
    let floor = f64::from(mesh.bounds().low[2]);
    let mut of_face = vec![false; mesh.faces.len()];
    let (mut area_mm2, mut raft_mm, mut at) = (0.0, None, None);
    for (f, face) in mesh.faces.iter().enumerate() {
        let nodes = levels.of_face(f);
        let held = nodes.iter().filter(|n| evidence.holds[**n as usize]).count();
        if 2 * held <= nodes.len() {
            continue;
        }
        of_face[f] = true;
        let cross = face_cross(&mesh.positions, *face);
        area_mm2 += 0.5 * cross.norm();
        let top = face.map(|v| f64::from(mesh.positions[v as usize].z)).into_iter().fold(floor, f64::max);
        if nodes.iter().all(|n| evidence.raft[*n as usize]) {
            // The level top, not a foot that rises from it.
            if cross.z > 0.9 * cross.norm() {
                raft_mm = Some(raft_mm.unwrap_or(0.0_f64).max(top - floor));
            }
        } else if at.is_none() {
            at = Some(mesh.positions[face[0] as usize].into());
        }
    }
    Some(Supports {
        of_face,
        stands: evidence.stands,
        tips: evidence.tips,
        column_mm: evidence.column,
        raft_mm,
        area_mm2,
        at: at?,
        confidence: evidence.confidence,
        left: evidence.left,
    })
}

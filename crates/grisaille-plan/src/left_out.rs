//! Parts that the painter leaves out: they are taken away before anything is
//! planned, so they are not painted, stop no light and stand in no picture.

use crate::through::part_at;
use grisaille_base::{Code, Finding, PieceId, Place, Stop, Watch};
use grisaille_mesh::{Mesh, Part, ReadError, Supports, parts, supports, without};
use grisaille_scheme::PartChoice;
use nalgebra::Point3;
use std::collections::BTreeSet;

/// A scene that was read.
#[derive(Clone, Debug)]
pub struct Loaded {
    /// What is planned.
    pub mesh: Mesh,
    /// What was noticed in reading.
    pub findings: Vec<Finding>,
    /// How tall the models are in mm with what is left out.
    pub whole_height: f64,
}

/// Why nothing can be planned without the parts that are left out.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum LeaveError {
    /// Nothing would be left.
    #[error("everything is left out: take at least one part back in")]
    Everything,
    /// Cancelled.
    #[error(transparent)]
    Stop(#[from] Stop),
}

/// A mesh that was read with `findings`, without the parts that are left out. The base of a model that is one piece with it is cut away along
/// the edges of faces; the figure is open there.
///
/// # Errors
/// [`LeaveError`] when nothing is left, or the work was cancelled.
pub fn leave_out(
    mesh: Mesh,
    mut findings: Vec<Finding>,
    choice: &PartChoice,
    watch: &Watch,
) -> Result<Loaded, LeaveError> {
    let whole_height = mesh.bounds().extents()[2];
    if choice.is_empty() {
        return Ok(Loaded { mesh, findings, whole_height });
    }
    let mut pieces = BTreeSet::new();
    for at in &choice.parts {
        match part_at(Point3::from(*at), &mesh) {
            Some(piece) => _ = pieces.insert(piece),
            None => findings.push(lost(*at)),
        }
    }
    let mut away: Vec<bool> = mesh.piece_of_face().iter().map(|p| pieces.contains(p)).collect();
    let found = if choice.base || choice.supports { supports(&mesh, watch)? } else { None };
    let cut_off = choice.supports && take_supports(found.as_ref(), &mut away, &mut findings);
    let based = choice.base && watch.run(|| take_base(&mesh, found, &mut away));
    if choice.base && !based {
        findings.push(Finding::new(
            Code::PartNotFound,
            1,
            "the base is to be left out, but none was recognised: point at its piece instead",
        ));
    }
    if !away.contains(&true) {
        return Ok(Loaded { mesh, findings, whole_height });
    }
    let (rest, found) = without(&mesh, &away, watch).map_err(|e| match e {
        ReadError::Stop(stop) => LeaveError::Stop(stop),
        _ => LeaveError::Everything,
    })?;
    findings.push(said(&pieces, (based, cut_off), [whole_height, rest.bounds().extents()[2]]));
    // What was open or odd before has been said of the whole; new is the cut.
    let cut = (based || cut_off) && rest.counts().boundary_edges > mesh.counts().boundary_edges;
    findings
        .extend(found.into_iter().filter(|f| matches!(f.code, Code::OpenEdges | Code::SmallHoles) && cut));
    Ok(Loaded { mesh: rest, findings, whole_height })
}

/// Marks the faces of print supports; whether they are sure enough.
fn take_supports(found: Option<&Supports>, away: &mut [bool], findings: &mut Vec<Finding>) -> bool {
    let Some(sure) = found.filter(|s| s.is_sure()) else {
        let hint = match found {
            Some(_) => {
                "print supports are to be left out, but what looks like some is not sure enough: point at their \
                 pieces instead"
            }
            None => {
                "print supports are to be left out, but none were recognised: point at their pieces instead"
            }
        };
        let finding = Finding::new(Code::PartNotFound, 1, hint);
        findings.push(match found {
            Some(found) => finding.at(Place::Point(found.at)),
            None => finding,
        });
        return false;
    };
    for (away, support) in away.iter_mut().zip(&sure.of_face) {
        *away |= support;
    }
    if sure.left > 0 {
        findings.push(Finding::new(
            Code::PartNotFound,
            sure.left.into(),
            "columns beside the print supports were left standing, since they have a free end or are as thick where \
             they meet the figure: point at them if they are supports, too",
        ));
    }
    true
}

/// Marks the faces of base and underside; whether there is a base.
fn take_base(mesh: &Mesh, found: Option<Supports>, away: &mut [bool]) -> bool {
    let parts = parts(mesh, found);
    if parts.base_top_mm.is_none() {
        return false;
    }
    for (away, part) in away.iter_mut().zip(&parts.of_face) {
        *away |= matches!(part, Part::Base | Part::Underside);
    }
    true
}

fn said(pieces: &BTreeSet<PieceId>, (base, supports): (bool, bool), [before, after]: [f64; 2]) -> Finding {
    let count = pieces.len() + usize::from(base) + usize::from(supports);
    let mut parts: Vec<String> = Vec::new();
    if supports {
        parts.push("the print supports".into());
    }
    if base {
        parts.push("the base".into());
    }
    match pieces.len() {
        0 => {}
        1 => parts.push("one part".into()),
        n => parts.push(format!("{n} parts")),
    }
    let one = count == 1 && !supports;
    let what = format!("{} {}", parts.join(" and "), if one { "is" } else { "are" });
    let hint = format!(
        "{what} left out, as the scheme says: planned is what is left, {after:.1} of {before:.1} mm tall"
    );
    Finding::new(Code::LeftOut, count as u64, hint)
}

fn lost(at: [f64; 3]) -> Finding {
    Finding {
        place: Some(Place::Point(at.map(|x| x as f32))),
        ..Finding::new(
            Code::PartNotFound,
            1,
            "a part is to be left out here, but there is none: point at it again, or delete the line from the scheme",
        )
    }
}

//! The edges of a mesh that a drawing shows: where the surface turns away from the eye, where it ends, where it is
//! creased.

use crate::Screen;
use grisaille_base::{Stop, Watch};
use nalgebra::Vector3;
use rayon::prelude::*;

/// What a drawn line is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum LineKind {
    /// The surface turns away from the eye, or ends.
    Contour,
    /// The surface is creased.
    Crease,
    /// A line that was given.
    Course,
}

/// An edge of the mesh to be drawn.
#[derive(Clone, Copy, Debug)]
pub(crate) struct DrawnEdge {
    pub(crate) ends: [u32; 2],
    pub(crate) kind: LineKind,
}

/// The edges to draw, in the order of their ends. An edge is a contour where all its faces lie on one side of it on the
/// picture, whichever way they are wound, and a crease where its two faces turn by more than `crease` degrees.
pub(crate) fn drawn_edges(
    screen: &Screen,
    normals: &[Vector3<f64>],
    crease: f64,
    watch: &Watch,
) -> Result<Vec<DrawnEdge>, Stop> {
    let faces = screen.faces();
    let mut sides: Vec<(u64, u32)> = watch.leave({
        let faces = faces.to_vec();
        move |_| {
            let each = faces.par_iter().enumerate().flat_map_iter(|(f, [a, b, c])| {
                [(*a, *b), (*b, *c), (*c, *a)]
                    .map(|(p, q)| (u64::from(p.min(q)) << 32 | u64::from(p.max(q)), f as u32))
            });
            each.collect::<Vec<_>>()
        }
    })?;
    sides = watch.leave(move |_| {
        sides.par_sort_unstable();
        sides
    })?;
    let level = crease.to_radians().cos();
    let mut edges = Vec::new();
    for (n, edge) in sides.chunk_by(|a, b| a.0 == b.0).enumerate() {
        if n % 65536 == 0 {
            watch.check()?;
        }
        let ends = [(edge[0].0 >> 32) as u32, edge[0].0 as u32];
        if let Some(kind) = kind_of(screen, normals, (ends, edge), level) {
            edges.push(DrawnEdge { ends, kind });
        }
    }
    Ok(edges)
}

fn kind_of(
    screen: &Screen,
    normals: &[Vector3<f64>],
    (ends, edge): ([u32; 2], &[(u64, u32)]),
    level: f64,
) -> Option<LineKind> {
    let (p, q) = (screen.corner(ends[0])?, screen.corner(ends[1])?);
    let mut sides = [false; 2];
    for (_, f) in edge {
        let third = screen.faces()[*f as usize].into_iter().find(|v| !ends.contains(v))?;
        let r = screen.corner(third)?;
        let side = (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]);
        sides[0] |= side > 0.0;
        sides[1] |= side < 0.0;
    }
    if sides == [true, true] {
        let [(_, one), (_, other)] = edge else { return Some(LineKind::Crease) };
        let turn = normals[*one as usize].dot(&normals[*other as usize]);
        return (turn < level).then_some(LineKind::Crease);
    }
    // A face seen edge-on has no side, and two of them no contour; where a surface ends there is one all the same.
    (sides != [false, false] || edge.len() == 1).then_some(LineKind::Contour)
}

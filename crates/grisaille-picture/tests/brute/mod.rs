//! Hidden lines by brute force: points along the lines of a mesh, and every triangle asked whether it stands before
//! them, one after the other, in space.

use grisaille_base::Watch;
use grisaille_mesh::{Mesh, face_cross};
use grisaille_picture::{Frame, LineKind, SeenEdge, seen_edges};
use nalgebra::{Point3, Vector3};
use std::collections::BTreeMap;

/// What lies before a point by no more than this share of the mesh's size touches it and does not hide it.
const TOUCH: f64 = 4e-5;

/// How much was compared, in mm on the picture, and how much of that is wrong.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Compared {
    pub(crate) length: f64,
    pub(crate) seen: f64,
    pub(crate) wrong: f64,
}

/// Compares about so many points on contours and creases of a mesh, spread evenly over their length.
pub(crate) fn compared(mesh: &Mesh, frame: &Frame, points: usize) -> Compared {
    let (_, seen) = seen_edges(mesh, |_| true, frame, 40.0, &Watch::quiet()).expect("nobody cancels");
    let mut parts: BTreeMap<[u32; 2], Vec<[f64; 2]>> = BTreeMap::new();
    for SeenEdge { ends, part, .. } in seen {
        parts.entry(ends).or_default().push(part);
    }
    let toward = frame.view().toward();
    let flat = |v: Vector3<f64>| v - toward * v.dot(&toward);
    let at = |v: u32| mesh.positions()[v as usize].cast::<f64>();
    let lines = lines(mesh, &toward);
    let length_of = |ends: &[u32; 2]| flat(at(ends[1]) - at(ends[0])).norm();
    let whole: f64 = lines.iter().map(length_of).sum();
    let (spacing, size) = (whole / points as f64, mesh.bounds().diagonal());
    let mut sums = Compared { length: whole, ..Compared::default() };
    // Points half a spacing apart from the start, along all lines as if they were one.
    let mut ahead = 0.5 * spacing;
    for ends in &lines {
        let length = length_of(ends);
        while ahead < length {
            let t = ahead / length;
            let here = parts.get(ends).is_some_and(|p| p.iter().any(|[from, to]| *from <= t && t <= *to));
            let point = at(ends[0]) + (at(ends[1]) - at(ends[0])) * t;
            let free = !stands_before(mesh, point, &toward, TOUCH * size);
            sums.seen += if free { spacing } else { 0.0 };
            sums.wrong += if here == free { 0.0 } else { spacing };
            ahead += spacing;
        }
        ahead -= length;
    }
    sums
}

/// Contours, told by the faces' normals, and creases of more than 40 degrees, each by its lower vertex first.
fn lines(mesh: &Mesh, toward: &Vector3<f64>) -> Vec<[u32; 2]> {
    let mut faces_of: BTreeMap<[u32; 2], Vec<usize>> = BTreeMap::new();
    for (f, [a, b, c]) in mesh.faces().iter().enumerate() {
        for [p, q] in [[*a, *b], [*b, *c], [*c, *a]] {
            faces_of.entry([p.min(q), p.max(q)]).or_default().push(f);
        }
    }
    let normal = |f: usize| face_cross(mesh.positions(), mesh.faces()[f]).normalize();
    let drawn = |faces: &[usize]| match faces {
        [one, other] => {
            let (n, m) = (normal(*one), normal(*other));
            (n.dot(toward) > 0.0) != (m.dot(toward) > 0.0) || n.dot(&m) < 40_f64.to_radians().cos()
        }
        _ => true,
    };
    faces_of.iter().filter(|(_, faces)| drawn(faces)).map(|(ends, _)| *ends).collect()
}

/// Whether a triangle stands between a point and the eye, farther from it than `touch` (T. Möller, B. Trumbore, 1997,
/// from memory).
fn stands_before(mesh: &Mesh, point: Point3<f64>, toward: &Vector3<f64>, touch: f64) -> bool {
    mesh.faces().iter().any(|face| {
        let [a, b, c] = face.map(|v| mesh.positions()[v as usize].cast::<f64>());
        let (ab, ac) = (b - a, c - a);
        let p = toward.cross(&ac);
        let determinant = ab.dot(&p);
        if determinant == 0.0 {
            return false;
        }
        let from = point - a;
        let u = from.dot(&p) / determinant;
        let q = from.cross(&ab);
        let v = toward.dot(&q) / determinant;
        u >= 0.0 && v >= 0.0 && u + v <= 1.0 && ac.dot(&q) / determinant > touch
    })
}

/// How long the seen parts of one kind are on the picture, in mm.
#[allow(dead_code, reason = "one of the two programs that share this uses it")]
pub(crate) fn seen_length(mesh: &Mesh, frame: &Frame, kind: LineKind) -> f64 {
    let (screen, seen) = seen_edges(mesh, |_| true, frame, 40.0, &Watch::quiet()).expect("nobody cancels");
    let each = seen.iter().filter(|s| s.kind == kind).map(|s| {
        let [a, b] = s.ends.map(|v| screen.corner(v).expect("finite"));
        (s.part[1] - s.part[0]) * (a[0] - b[0]).hypot(a[1] - b[1]) * frame.mm_per_pixel()
    });
    each.sum()
}

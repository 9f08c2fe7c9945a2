//! What a file holds before it is welded: points, triangles on them, and what
//! the file says of each triangle. Every reader gives one.

use crate::weld::drop_unused;
use grisaille_base::{Code, Finding, Place};
use serde::Serialize;
use std::collections::BTreeMap;

/// A point as the file has it.
pub(crate) type Point = [f32; 3];

/// What a file says of some of its faces: a part's name, a colour, or both.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub struct Mark {
    /// The name of the part or material, as the file has it.
    pub name: Option<String>,
    /// Its colour: sRGB, 0 to 255.
    pub colour: Option<[u8; 3]>,
}

/// Triangles as read.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Soup {
    pub(crate) points: Vec<Point>,
    /// Indices into `points`; `None` where each triangle has three points of its own, in order.
    pub(crate) faces: Option<Vec<[u32; 3]>>,
    /// Which of `marks` each face has; empty where the file says nothing.
    pub(crate) mark_of_face: Vec<u32>,
    /// What the file says, in any order; equal ones may stand here more than once.
    pub(crate) marks: Vec<Mark>,
    /// The file told its unit, and the points are in millimetres.
    pub(crate) millimetres: bool,
    /// Files of this kind often have +Y up.
    pub(crate) often_y_up: bool,
}

impl Soup {
    /// Triangles of three points each.
    pub(crate) fn of_triangles(points: Vec<Point>) -> Self {
        debug_assert!(points.len().is_multiple_of(3));
        Self { points, ..Self::default() }
    }

    /// Number of triangles.
    pub(crate) fn len(&self) -> usize {
        self.faces.as_ref().map_or(self.points.len() / 3, Vec::len)
    }

    /// The points of a triangle.
    pub(crate) fn face(&self, f: usize) -> [u32; 3] {
        match &self.faces {
            Some(faces) => faces[f],
            None => [0, 1, 2].map(|c| (3 * f + c) as u32),
        }
    }

    /// Keeps the triangles that `keep` says yes to.
    pub(crate) fn retain(&mut self, keep: impl Fn(&[Point; 3]) -> bool) {
        let keep: Vec<bool> =
            (0..self.len()).map(|f| keep(&self.face(f).map(|v| self.points[v as usize]))).collect();
        if !self.mark_of_face.is_empty() {
            let mut at = keep.iter();
            self.mark_of_face.retain(|_| at.next().copied().unwrap_or(false));
        }
        match &mut self.faces {
            Some(faces) => {
                let mut at = keep.iter();
                faces.retain(|_| at.next().copied().unwrap_or(false));
            }
            None => {
                let mut at = 0;
                self.points.retain(|_| {
                    at += 1;
                    keep[(at - 1) / 3]
                });
            }
        }
    }

    /// Removes points that no triangle uses.
    pub(crate) fn drop_unused_points(&mut self) {
        if let Some(faces) = &mut self.faces {
            drop_unused(&mut self.points, faces);
        }
    }

    /// Marks in their canonical order, each once, none unused. One mark for all
    /// faces tells nothing apart and goes.
    pub(crate) fn settle_marks(&mut self) {
        let mut order: BTreeMap<&Mark, u32> = BTreeMap::new();
        let mut used = vec![false; self.marks.len()];
        for &m in &self.mark_of_face {
            used[m as usize] = true;
        }
        for (mark, _) in self.marks.iter().zip(&used).filter(|(_, used)| **used) {
            order.insert(mark, 0);
        }
        if order.len() < 2 {
            self.marks.clear();
            self.mark_of_face.clear();
            return;
        }
        for (n, place) in order.values_mut().enumerate() {
            *place = n as u32;
        }
        let new: Vec<u32> = self.marks.iter().map(|m| order.get(m).copied().unwrap_or(0)).collect();
        for m in &mut self.mark_of_face {
            *m = new[*m as usize];
        }
        self.marks = order.into_keys().cloned().collect();
    }
}

/// The most triangles that a text or table of `bytes` bytes is believed to hold.
/// Real ones take at least twenty bytes for each, its share of the points included;
/// many more are the same few points named over and over.
pub(crate) fn most_triangles(bytes: usize) -> usize {
    1_000_000 + bytes / 8
}

/// What is said where there are more.
pub(crate) const TOO_MANY: &str = "its faces name the same points over and over";

/// Notes down what is met more than once: how often, and where first.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Tally {
    pub(crate) count: u64,
    pub(crate) first: Option<u64>,
}

impl Tally {
    /// Counts one, met at `place` (a byte or a line).
    pub(crate) fn note(&mut self, place: u64) {
        self.count += 1;
        self.first.get_or_insert(place);
    }

    /// Adds what was met later.
    pub(crate) fn append(&mut self, later: Self) {
        self.count += later.count;
        self.first = self.first.or(later.first);
    }

    /// The finding, if there is any; `place` makes a place of what was noted.
    pub(crate) fn finding(self, code: Code, hint: &str, place: impl Fn(u64) -> Place) -> Option<Finding> {
        (self.count > 0).then(|| {
            let finding = Finding::new(code, self.count, hint);
            match self.first {
                Some(first) => finding.at(place(first)),
                None => finding,
            }
        })
    }
}

/// The line, counted from 1, on which a byte stands; lines end with LF, CR LF or CR.
pub(crate) fn line_of_byte(bytes: &[u8], at: u64) -> u64 {
    let before = &bytes[..bytes.len().min(at as usize)];
    let ends = before
        .iter()
        .enumerate()
        .filter(|&(i, b)| *b == b'\n' || (*b == b'\r' && bytes.get(i + 1) != Some(&b'\n')));
    1 + ends.count() as u64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_counted_for_every_habit_of_ending_them() {
        for text in ["a\nb\nc", "a\r\nb\r\nc", "a\rb\rc"] {
            let at = text.find('c').unwrap() as u64;
            assert_eq!(line_of_byte(text.as_bytes(), at), 3, "{text:?}");
        }
    }

    #[test]
    fn marks_are_sorted_and_one_alone_goes() {
        let name = |n: &str| Mark { name: Some(n.into()), colour: None };
        let mut soup = Soup::of_triangles(vec![[0.0; 3]; 9]);
        soup.marks = vec![name("suit"), name("unused"), name("boot"), name("suit")];
        soup.mark_of_face = vec![0, 2, 3];
        soup.settle_marks();
        assert_eq!(soup.marks, [name("boot"), name("suit")]);
        assert_eq!(soup.mark_of_face, [1, 0, 1]);
        soup.mark_of_face = vec![1, 1, 1];
        soup.settle_marks();
        assert!(soup.marks.is_empty() && soup.mark_of_face.is_empty());
    }
}

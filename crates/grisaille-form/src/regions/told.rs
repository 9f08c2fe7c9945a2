//! What files say of their parts, as regions: groups and materials, objects, colours.

use super::result::Labelled;
use grisaille_mesh::{Mark, Mesh};
use grisaille_sight::Surface;

/// The most characters of a name.
const LONG: usize = 40;

/// What the file says of each face of a surface.
#[derive(Clone, Debug)]
pub(crate) struct Told {
    of_face: Vec<u32>,
    marks: Vec<Mark>,
}

impl Told {
    /// Nothing where no parts are told apart.
    pub(crate) fn of(surface: &Surface, mesh: &Mesh) -> Option<Self> {
        if mesh.marks().len() < 2 {
            return None;
        }
        let of_face = surface.source_face.iter().map(|f| mesh.mark_of_face()[f.index()]).collect();
        Some(Self { of_face, marks: mesh.marks().to_vec() })
    }

    /// A label for each part, with its name and colour; beyond `most`, the smallest share one.
    pub(crate) fn labelled(&self, areas: &[f32], most: usize) -> Labelled {
        let mut area = vec![0.0_f64; self.marks.len()];
        for (m, own) in self.of_face.iter().zip(areas) {
            area[*m as usize] += f64::from(*own);
        }
        let mut order: Vec<usize> = (0..self.marks.len()).collect();
        order.sort_by(|a, b| area[*b].total_cmp(&area[*a]).then(a.cmp(b)));
        let mut label = vec![0_u32; self.marks.len()];
        for (n, m) in order.iter().enumerate() {
            label[*m] = n.min(most) as u32;
        }
        let mut labelled = Labelled::new(Vec::new());
        for mark in order.iter().take(most).map(|m| &self.marks[*m]) {
            let own = labelled.add(mark.name.as_deref().and_then(plain)) as usize;
            labelled.part_names(own);
            labelled.swatches[own] = mark.colour;
        }
        if order.len() > most {
            labelled.add(Some("other parts".into()));
            labelled.part_names(most);
        }
        labelled.of_face = self.of_face.iter().map(|m| label[*m as usize]).collect();
        labelled
    }
}

/// A name as it can stand on a sheet and in a scheme: one line without control characters and
/// doubled spaces, of a bounded length. Nothing where nothing is left.
fn plain(name: &str) -> Option<String> {
    let spaced: String = name.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    let words: Vec<&str> = spaced.split_whitespace().collect();
    let short: String = words.join(" ").chars().take(LONG).collect();
    let short = short.trim_end();
    (!short.is_empty()).then(|| short.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mark(name: Option<&str>, colour: Option<[u8; 3]>) -> Mark {
        Mark { name: name.map(str::to_owned), colour }
    }

    #[test]
    fn names_are_plain_and_each_their_own() {
        let marks = vec![
            mark(Some("  suit\u{7}\tof \n canvas "), None),
            mark(Some("suit of canvas"), Some([1, 2, 3])),
            mark(Some(" \n "), None),
            mark(None, Some([9, 8, 7])),
            mark(Some(&"long".repeat(30)), None),
        ];
        let told = Told { of_face: vec![0, 1, 2, 3, 4], marks };
        let labelled = told.labelled(&[5.0, 4.0, 3.0, 2.0, 1.0], 60);
        let long = "long".repeat(10);
        let want = [Some("suit of canvas"), Some("suit of canvas 2"), None, None, Some(long.as_str())];
        assert_eq!(labelled.names.iter().map(Option::as_deref).collect::<Vec<_>>(), want);
        assert_eq!(labelled.swatches, [None, Some([1, 2, 3]), None, Some([9, 8, 7]), None]);
        assert_eq!(labelled.of_face, [0, 1, 2, 3, 4]);
    }

    #[test]
    fn the_smallest_of_very_many_share_a_region() {
        let marks = (0..100).map(|n| mark(None, Some([n, 0, 0]))).collect();
        let areas: Vec<f32> = (0..100_u16).map(|n| f32::from(100 - n)).collect();
        let labelled = Told { of_face: (0..100).collect(), marks }.labelled(&areas, 60);
        assert_eq!((labelled.names.len(), labelled.of_face[59], labelled.of_face[60]), (61, 59, 60));
        assert_eq!((labelled.of_face[99], labelled.names[60].as_deref()), (60, Some("other parts")));
    }
}

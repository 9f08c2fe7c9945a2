//! Marks while a file is read: each different one is kept once.

use crate::soup::{Mark, Soup};
use std::collections::HashMap;

/// Most different colours that are kept exactly.
const EXACT: usize = 256;

/// Collects what a file says of its faces.
#[derive(Debug, Default)]
pub(crate) struct Marker {
    // Looked up only, never walked through, so its order does not show.
    numbers: HashMap<Mark, u32>,
    marks: Vec<Mark>,
    of_face: Vec<u32>,
}

impl Marker {
    /// Says `mark` of all faces from the last told one up to `faces`.
    pub(crate) fn until(&mut self, faces: usize, mark: Mark) {
        let number = *self.numbers.entry(mark).or_insert_with_key(|mark| {
            self.marks.push(mark.clone());
            self.marks.len() as u32 - 1
        });
        self.of_face.resize(faces, number);
    }

    /// Gives the soup its marks. Where colours are as many as in a photograph,
    /// each channel is taken to the nearest of sixteen, so that parts show.
    pub(crate) fn give(self, soup: &mut Soup) {
        let Self { mut marks, of_face, .. } = self;
        let colours: std::collections::BTreeSet<_> = marks.iter().filter_map(|m| m.colour).collect();
        if colours.len() > EXACT {
            for mark in &mut marks {
                mark.colour = mark.colour.map(|c| c.map(|x| ((u32::from(x) + 8) / 17 * 17) as u8));
            }
        }
        soup.marks = marks;
        soup.mark_of_face = of_face;
    }
}

/// The mean of three colours.
pub(crate) fn mean(colours: [[u8; 3]; 3]) -> [u8; 3] {
    [0, 1, 2].map(|i| (colours.iter().map(|c| u32::from(c[i])).sum::<u32>() / 3) as u8)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_photograph_becomes_few_colours_and_a_drawing_stays() {
        let mut marker = Marker::default();
        for i in 0..1000_u32 {
            let colour = [(i % 250) as u8, (i / 4) as u8, 7];
            marker.until(i as usize + 1, Mark { name: None, colour: Some(colour) });
        }
        let mut soup = Soup::of_triangles(vec![[0.0; 3]; 3000]);
        marker.give(&mut soup);
        soup.settle_marks();
        assert!(soup.marks.len() <= 256 && soup.mark_of_face.len() == 1000);
        assert!(soup.marks.iter().filter_map(|m| m.colour).flatten().all(|x| x % 17 == 0));
        let mut marker = Marker::default();
        marker.until(2, Mark { name: Some("suit".into()), colour: Some([1, 2, 3]) });
        marker.until(3, Mark::default());
        let mut soup = Soup::of_triangles(vec![[0.0; 3]; 9]);
        marker.give(&mut soup);
        assert_eq!((soup.mark_of_face, soup.marks[0].colour), (vec![0, 0, 1], Some([1, 2, 3])));
    }
}

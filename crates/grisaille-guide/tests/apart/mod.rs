//! Whether letters on a picture stand apart.

use grisaille_guide::Picture;

/// A box of one letter and what each further one adds, mm (9 pt, bold, with its frame).
const BOX: [f64; 2] = [3.2, 1.9];
const HIGH: f64 = 3.4;
/// Checks all letters of a picture; how many there were.
pub(crate) fn letters_apart(picture: &Picture, name: &str) -> usize {
    let boxes: Vec<[f64; 4]> = picture
        .labels
        .iter()
        .map(|l| {
            let wide = BOX[0] + BOX[1] * (l.text.chars().count().max(1) - 1) as f64;
            // As the sheets do: a letter that would hang over an edge is moved inside.
            let inside = |at: f64, long: f64, all: f64| (at - 0.5 * long).min(all - long).max(0.0);
            let (x, y) = (inside(l.x.0, wide, picture.width.0), inside(l.y.0, HIGH, picture.height.0));
            [x, y, x + wide, y + HIGH]
        })
        .collect();
    for (i, a) in boxes.iter().enumerate() {
        for b in &boxes[..i] {
            let apart = a[0] >= b[2] || b[0] >= a[2] || a[1] >= b[3] || b[1] >= a[3];
            assert!(apart, "{name}: letters overlap: {a:?} {b:?}: {}", picture.alt);
        }
    }
    boxes.len()
}

//! Letters on pictures: in their area where there is room, else beside it with a leader.

use crate::compose::LETTER;
use crate::mark::BESIDE;
use crate::sheets::Label;
use grisaille_base::{Millimetres, Stop, Watch};
use grisaille_picture::{Areas, places};

/// A letter stands in an area only where this much fits round its middle, mm, so that its box touches no other
/// letter's.
const ROOM: f64 = 0.75 * LETTER;
/// A tag of one character with its white edge, and what each further one adds, mm.
const TAG: [f64; 2] = [4.6, 4.2];
const MORE: f64 = 1.9;
/// A letter that finds no room on its area stands so far from it, mm.
const AWAY: [f64; 5] = [6.0, 9.0, 12.0, 16.0, 21.0];
/// Areas with less room than this, mm, are left to the colour of the swatch.
pub(crate) const DOT: f64 = 0.4;
/// The same of washes, which gather in specks.
pub(crate) const SPECK: f64 = 0.2;

/// A picture to be lettered.
pub(crate) struct Ground<'a> {
    /// The label of each pixel, row by row; empty where there are no areas.
    pub(crate) pixels: &'a [u16],
    pub(crate) size_px: [u32; 2],
    /// Pixels on a mm of paper.
    pub(crate) fineness: f64,
    /// The least room of an area that is pointed at, mm: half its width.
    pub(crate) least: f64,
}

/// The letters of all labels that have a text, each up to `most` times; `spots` (mm) name what has no area, each text
/// once: the middle of a line, a touch.
///
/// # Errors
/// [`Stop`] when cancelled.
pub(crate) fn lettered(
    ground: &Ground<'_>,
    most: usize,
    text: impl Fn(u16) -> String,
    spots: Vec<(String, [f64; 2])>,
    watch: &Watch,
) -> Result<Vec<Label>, Stop> {
    let Ground { pixels, size_px, fineness, least } = *ground;
    let across = size_px[0] as usize;
    let on_paper = |px: [f32; 2]| px.map(|px| f64::from(px) / fineness);
    let room = |mm: f64| (mm * fineness) as f32;
    let mut labels: Vec<Label> = Vec::new();
    let mut found: Vec<u16> = Vec::new();
    for place in places(pixels, across, room(ROOM), most, watch)? {
        let text = text(place.label);
        if !text.is_empty() {
            found.push(place.label);
            labels.push(label(on_paper([place.x_px, place.y_px]), &text, None));
        }
    }
    // What has no room for its letter is named from beside it, and so are lines and spots.
    let small = places(pixels, across, room(least), 1, watch)?;
    let small = small.into_iter().filter(|p| !found.contains(&p.label));
    let small = small.map(|p| (text(p.label), on_paper([p.x_px, p.y_px])));
    let mut anchors: Vec<(String, [f64; 2])> = Vec::new();
    for (text, at) in small.chain(spots) {
        if !text.is_empty() && anchors.iter().all(|(known, _)| *known != text) {
            anchors.push((text, at));
        }
    }
    named_from_beside(ground, anchors, &mut labels);
    Ok(labels)
}

/// Adds letters that stand beside what they name, mm, as far as there is room between those that are there.
pub(crate) fn named_from_beside(
    ground: &Ground<'_>,
    anchors: Vec<(String, [f64; 2])>,
    labels: &mut Vec<Label>,
) {
    let Ground { pixels, size_px, fineness, .. } = *ground;
    let across = size_px[0] as usize;
    let size = size_px.map(|px| f64::from(px) / fineness);
    let ends: Vec<[f64; 2]> = anchors.iter().map(|(_, at)| *at).collect();
    for (text, at) in anchors {
        let spot = beside((at, &text), (labels, &ends), size, |x, y| {
            let (column, row) = ((x * fineness) as usize, (y * fineness) as usize);
            pixels.get(row * across + column).copied().unwrap_or(Areas::NONE)
        });
        if let Some(spot) = spot {
            labels.push(label(spot, &text, Some(at)));
        }
    }
}

fn label([x, y]: [f64; 2], text: &str, names: Option<[f64; 2]>) -> Label {
    Label {
        x: Millimetres(x),
        y: Millimetres(y),
        text: text.into(),
        names: names.map(|at| at.map(Millimetres)),
    }
}

/// The size of a tag, mm.
fn tag(text: &str) -> [f64; 2] {
    [TAG[0] + MORE * (text.chars().count().max(1) - 1) as f64, TAG[1]]
}

/// A place for a tag beside `at`, all in mm on the picture of a size: where it covers least of what is
/// marked, and no other tag.
fn beside(
    (at, text): ([f64; 2], &str),
    (labels, ends): (&[Label], &[[f64; 2]]),
    size: [f64; 2],
    seen: impl Fn(f64, f64) -> u16,
) -> Option<[f64; 2]> {
    let own = tag(text);
    let mut best: Option<(f64, [f64; 2])> = None;
    for (ring, away) in AWAY.into_iter().enumerate() {
        for turn in 0..16 {
            let angle = f64::from(turn) * std::f64::consts::TAU / 16.0;
            let spot = [at[0] + away * angle.cos(), at[1] + away * angle.sin()];
            let inside = (0..2).all(|k| spot[k] >= 0.5 * own[k] && spot[k] <= size[k] - 0.5 * own[k]);
            let apart = |l: &Label| {
                let wide = f64::midpoint(own[0], tag(&l.text)[0]);
                (l.x.0 - spot[0]).abs() > wide || (l.y.0 - spot[1]).abs() > TAG[1]
            };
            let free = labels.iter().all(apart);
            if !inside || !free {
                continue;
            }
            let mut covered = 0.5 * ring as f64 + hidden(at, (spot, own), (labels, ends));
            for (u, v) in [(-0.5, -0.5), (0.5, -0.5), (-0.5, 0.5), (0.5, 0.5), (0.0, 0.0)] {
                covered += match seen(spot[0] + u * own[0], spot[1] + v * own[1]) {
                    Areas::NONE => 0.0,
                    label if label >= BESIDE => 0.3,
                    _ => 1.0,
                };
            }
            if best.is_none_or(|(least, _)| covered < least) {
                best = Some((covered, spot));
            }
        }
    }
    best.map(|(_, spot)| spot)
}

/// A pointer that is covered, or an own one that crosses another's or runs below a tag, costs so much.
const COVERED: f64 = 6.0;
const CROSSED: f64 = 2.0;
/// A pointer's end is seen with so much free round it, mm.
const END: f64 = 0.6;

/// The middle and the size of a tag, mm.
type Tag = ([f64; 2], [f64; 2]);

/// What a tag at a spot, with a pointer to `at`, costs those that are there, all mm: a pointer's end that it
/// covers, pointers that cross, tags that its own pointer runs below.
fn hidden(at: [f64; 2], (spot, size): Tag, (labels, ends): (&[Label], &[[f64; 2]])) -> f64 {
    let covers = |end: &[f64; 2]| (0..2).all(|k| (end[k] - spot[k]).abs() < 0.5 * size[k] + END);
    let known = labels.iter().filter_map(|l| l.names.map(|end| end.map(|mm| mm.0)));
    // Those too that have no tag yet.
    let covered = known.chain(ends.iter().copied()).filter(|end| *end != at && covers(end)).count();
    let mut cost = COVERED * covered as f64;
    for label in labels {
        let middle = [label.x.0, label.y.0];
        let half = tag(&label.text).map(|mm| 0.5 * mm);
        cost += if cuts((at, spot), middle, half) { CROSSED } else { 0.0 };
        if let Some(end) = label.names.map(|end| end.map(|mm| mm.0)) {
            cost += if cuts((end, middle), spot, size.map(|mm| 0.5 * mm)) { CROSSED } else { 0.0 };
            cost += if crosses((at, spot), (end, middle)) { CROSSED } else { 0.0 };
        }
    }
    cost
}

/// Whether a straight line runs through a box round a middle.
fn cuts((from, to): ([f64; 2], [f64; 2]), middle: [f64; 2], half: [f64; 2]) -> bool {
    let (mut low, mut high) = (0.0_f64, 1.0_f64);
    for k in 0..2 {
        let way = to[k] - from[k];
        let sides = [middle[k] - half[k] - from[k], middle[k] + half[k] - from[k]];
        if way.abs() < 1e-9 {
            if sides[0] > 0.0 || sides[1] < 0.0 {
                return false;
            }
            continue;
        }
        let [a, b] = sides.map(|side| side / way);
        (low, high) = (low.max(a.min(b)), high.min(a.max(b)));
    }
    low < high
}

/// Whether two straight lines cross.
fn crosses((a, b): ([f64; 2], [f64; 2]), (c, d): ([f64; 2], [f64; 2])) -> bool {
    let turn =
        |p: [f64; 2], q: [f64; 2], r: [f64; 2]| (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]);
    turn(a, b, c) * turn(a, b, d) < 0.0 && turn(c, d, a) * turn(c, d, b) < 0.0
}

/// The size of a letter on pictures is that of the sheets' tags.
const _: () = assert!(TAG[1] > LETTER);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tag_leaves_the_ends_of_other_pointers_free() {
        let size = [60.0, 60.0];
        // All around lies paper; the end of another's pointer is where the tag would stand.
        let other = label([45.0, 30.0], "1", Some([36.0, 30.0]));
        for at in [[30.0, 30.0], [42.0, 30.0], [36.0, 24.0]] {
            let spot =
                beside((at, "2"), (std::slice::from_ref(&other), &[at]), size, |_, _| Areas::NONE).unwrap();
            assert_eq!(
                hidden(at, (spot, tag("2")), (std::slice::from_ref(&other), &[at])),
                0.0,
                "{at:?} {spot:?}"
            );
        }
    }

    #[test]
    fn lines_and_boxes_meet_where_they_do() {
        let (middle, half) = ([10.0, 10.0], [2.0, 1.0]);
        assert!(cuts(([0.0, 10.0], [20.0, 10.0]), middle, half));
        assert!(cuts(([10.0, 0.0], [10.0, 20.0]), middle, half));
        assert!(!cuts(([0.0, 12.0], [20.0, 12.0]), middle, half));
        assert!(!cuts(([0.0, 10.0], [7.0, 10.0]), middle, half));
        assert!(!cuts(([0.0, 0.0], [20.0, 9.0]), middle, half));
        assert!(crosses(([0.0, 0.0], [2.0, 2.0]), ([0.0, 2.0], [2.0, 0.0])));
        assert!(!crosses(([0.0, 0.0], [2.0, 2.0]), ([3.0, 0.0], [3.0, 9.0])));
    }
}

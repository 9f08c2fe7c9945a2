//! Islands: areas too small for the brush go to the neighbour they touch most.

use crate::neighbours::Neighbours;
use grisaille_base::{Stop, Watch};

/// The most rounds of giving islands away; real figures need two to four.
const ROUNDS: usize = 32;

/// Gives every connected area of equal labels that is smaller than
/// `smallest_mm2` to the neighbouring label that it touches at the most
/// places, the lower one in a draw. Of small areas that touch each other the
/// smallest goes first. Areas reach over creases; an area that touches no
/// other label, such as a small piece of one label, stays, and so does one
/// with a sample in it for which `kept` holds.
///
/// Each round takes time in proportion to the samples.
pub(crate) fn without_islands(
    neighbours: &Neighbours,
    labels: &mut [u8],
    smallest_mm2: f64,
    kept: impl Fn(usize) -> bool,
    watch: &Watch,
) -> Result<(), Stop> {
    if smallest_mm2.is_nan() || smallest_mm2 <= 0.0 {
        return Ok(());
    }
    for _ in 0..ROUNDS {
        watch.check()?;
        if !round(neighbours, labels, smallest_mm2, &kept) {
            break;
        }
    }
    Ok(())
}

/// One round; whether anything was given away.
fn round(
    neighbours: &Neighbours,
    labels: &mut [u8],
    smallest_mm2: f64,
    kept: &impl Fn(usize) -> bool,
) -> bool {
    let (area_of, mut areas) = areas(neighbours, labels);
    for i in (0..labels.len()).filter(|i| area_of[*i] != NONE && kept(*i)) {
        areas[area_of[i] as usize] = f64::INFINITY;
    }
    let small = |a: u32| areas[a as usize] < smallest_mm2;
    // The samples of small areas, area by area.
    let mut members: Vec<(u32, u32)> = (0..labels.len())
        .filter(|i| area_of[*i] != NONE && small(area_of[*i]))
        .map(|i| (area_of[i], i as u32))
        .collect();
    members.sort_unstable();
    let mut given = Vec::new();
    for area in members.chunk_by(|a, b| a.0 == b.0) {
        let own = area[0].0;
        let mut touched = [0_u32; 256];
        let mut first = true;
        for (_, sample) in area {
            each_beside(neighbours, *sample as usize, |other| {
                let there = area_of[other];
                if there != own && there != NONE {
                    touched[labels[other] as usize] += 1;
                    let order = |a: u32| (areas[a as usize], a);
                    first &= !small(there) || order(own) < order(there);
                }
            });
        }
        let most = (0..256).max_by_key(|l| (touched[*l], std::cmp::Reverse(*l))).unwrap_or(0);
        if first && touched[most] > 0 {
            given.push((area, most as u8));
        }
    }
    for (area, label) in &given {
        for (_, sample) in *area {
            labels[*sample as usize] = *label;
        }
    }
    !given.is_empty()
}

/// No area: a buried sample.
const NONE: u32 = u32::MAX;

/// The connected area of each sample, numbered by first samples, and the size
/// of each in mm².
pub(crate) fn areas(neighbours: &Neighbours, labels: &[u8]) -> (Vec<u32>, Vec<f64>) {
    let mut area_of = vec![NONE; labels.len()];
    let mut sizes = Vec::new();
    let mut open = Vec::new();
    for start in 0..labels.len() {
        if area_of[start] != NONE || neighbours.area(start) <= 0.0 {
            continue;
        }
        let number = sizes.len() as u32;
        let mut size = 0.0;
        area_of[start] = number;
        open.push(start);
        while let Some(at) = open.pop() {
            size += neighbours.area(at);
            each_beside(neighbours, at, |other| {
                if area_of[other] == NONE && labels[other] == labels[at] && neighbours.area(other) > 0.0 {
                    area_of[other] = number;
                    open.push(other);
                }
            });
        }
        sizes.push(size);
    }
    (area_of, sizes)
}

/// Calls `visit` for each neighbour, over creases too.
pub(crate) fn each_beside(neighbours: &Neighbours, sample: usize, mut visit: impl FnMut(usize)) {
    for other in neighbours.beside(sample) {
        visit(*other as usize);
    }
    for other in neighbours.twins(sample) {
        visit(other);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::neighbours::tests::{fine_cube, surface_of};

    #[test]
    fn a_small_area_goes_and_a_large_one_stays() {
        let watch = Watch::quiet();
        // Squares of 0.5 mm: a dot is a sample, about 0.25 mm².
        let surface = surface_of(&fine_cube(20), &watch);
        let neighbours = Neighbours::of(&surface);
        let label = |i: usize| {
            let (p, up) = (surface.samples.position[i], surface.samples.normal[i].z > 0.9);
            let near = |x: f32, y: f32, r: f32| up && (p.x - x).hypot(p.y - y) < r;
            match i {
                _ if near(2.0, 2.0, 0.3) => 7,
                _ if near(7.0, 7.0, 2.0) => 3,
                _ if !up => 2,
                _ => 1,
            }
        };
        let before: Vec<u8> = (0..neighbours.len()).map(label).collect();
        let mut after = before.clone();
        without_islands(&neighbours, &mut after, 1.0, |_| false, &watch).unwrap();
        for i in 0..before.len() {
            assert_eq!(after[i], if before[i] == 7 { 1 } else { before[i] });
        }
        assert_eq!(before.iter().filter(|l| **l == 7).count(), 1);
        // A sharp edge stays where it is, and 0 changes nothing.
        let mut same = before.clone();
        without_islands(&neighbours, &mut same, 0.0, |_| false, &watch).unwrap();
        assert_eq!(same, before);
    }

    /// The narrow side of a plate has neighbours over its creases only.
    #[test]
    fn an_area_that_ends_at_creases_has_neighbours() {
        let watch = Watch::quiet();
        let surface = surface_of(&grisaille_bodies::cuboid([0.0; 3], [10.0, 10.0, 0.05]), &watch);
        let neighbours = Neighbours::of(&surface);
        let narrow = |i: usize| surface.samples.normal[i].x < -0.9;
        let mut labels: Vec<u8> = (0..neighbours.len()).map(|i| if narrow(i) { 5 } else { 1 }).collect();
        assert_eq!(labels.iter().filter(|l| **l == 5).count(), 4);
        without_islands(&neighbours, &mut labels, 1.0, |_| false, &watch).unwrap();
        assert!(labels.iter().all(|l| *l == 1));
    }

    #[test]
    fn a_chessboard_of_small_squares_becomes_one_area() {
        let watch = Watch::quiet();
        let surface = surface_of(&fine_cube(12), &watch);
        let neighbours = Neighbours::of(&surface);
        let mut labels: Vec<u8> = surface
            .samples
            .position
            .iter()
            .map(|p| ((p.x + 0.1) as u8 / 2 + (p.y + 0.1) as u8 / 2 + (p.z + 0.1) as u8 / 2) % 2)
            .collect();
        assert!(labels.contains(&0) && labels.contains(&1));
        without_islands(&neighbours, &mut labels, 20.0, |_| false, &watch).unwrap();
        let (_, sizes) = areas(&neighbours, &labels);
        assert!(sizes.iter().all(|s| *s >= 20.0) || sizes.len() == 1, "{sizes:?}");
    }
}

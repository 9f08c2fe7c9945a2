//! Cast shadows too narrow for the brush, left out of what is painted.

use crate::neighbours::Neighbours;
use grisaille_base::{Stop, Watch};
use grisaille_sight::Surface;
use nalgebra::Point3;
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// How much of a light must be held back for a spot to count as in its shadow,
/// lightest first: soft shadows are taken level by level.
const LEVELS: [f32; 5] = [0.9, 0.7, 0.5, 0.3, 0.1];

/// The exposure with cast shadows narrower than `width_mm` lit.
///
/// `open` is what the samples would get if nothing stood in between; what part
/// of it arrives is closed along the surface by a disc of that width: a shadow
/// stays where such a disc fits into it, and is lit as its nearest rim where
/// none does (the closing of J. Serra, Image Analysis and Mathematical
/// Morphology, 1982, along the surface and in five levels). Light is never
/// taken away, and nothing reaches over a crease. A width is met to about the
/// distance between samples. A width of 0 gives the exposure itself.
pub(crate) fn without_thin_shadows(
    surface: &Surface,
    neighbours: &Neighbours,
    exposure: &[f32],
    open: &[f32],
    width_mm: f64,
    watch: &Watch,
) -> Result<Vec<f32>, Stop> {
    let mut out = exposure.to_vec();
    let radius = 0.5 * width_mm;
    if radius.is_nan() || radius <= 0.0 {
        return Ok(out);
    }
    // What a light's back is turned to counts as dark, so that a narrow cast
    // shadow beside it is part of a wide one; there is nothing to light there.
    let arrives: Vec<f32> =
        exposure.iter().zip(open).map(|(e, o)| if *o > 0.0 { (e / o).min(1.0) } else { 0.0 }).collect();
    let mut lit: Vec<bool> = vec![false; out.len()];
    let mut last = usize::MAX;
    for (k, level) in LEVELS.into_iter().enumerate() {
        let dark: Vec<bool> =
            (0..out.len()).map(|i| neighbours.area(i) > 0.0 && arrives[i] < level).collect();
        let count = dark.iter().filter(|d| **d).count();
        // The same spots are dark as at the level before: a sharp shadow.
        if std::mem::replace(&mut last, count) == count {
            continue;
        }
        let (rim, step) = from_rim(surface, neighbours, &dark, radius, watch)?;
        let kept = from_core(surface, neighbours, &dark, &rim, (radius, step), watch)?;
        for i in (0..out.len()).filter(|i| dark[*i] && !kept[*i]) {
            let (Some(source), false) = (rim[i], lit[i]) else { continue };
            // Lit at this level, but not at the one above it: just this light.
            let part = if k == 0 { arrives[source as usize] } else { level };
            lit[i] = true;
            out[i] = out[i].max(open[i] * part);
        }
    }
    Ok(out)
}

/// For each dark sample nearer than `radius` to the rim of the dark: the lit
/// sample on the other side of the rim. The rim runs half way between them;
/// how far they are apart on the mean, in mm, is given too.
fn from_rim(
    surface: &Surface,
    neighbours: &Neighbours,
    dark: &[bool],
    radius: f64,
    watch: &Watch,
) -> Result<(Vec<Option<u32>>, f64), Stop> {
    let place = |i: usize| surface.samples.position[i].cast::<f64>();
    let mut sources = Vec::new();
    let mut begin = Vec::new();
    let mut apart = 0.0;
    for i in (0..dark.len()).filter(|i| dark[*i]) {
        for j in neighbours.beside(i).iter().filter(|j| !dark[**j as usize]) {
            begin.push((sources.len() as u32, i as u32));
            apart += (place(*j as usize) - place(i)).norm();
            sources.push((nalgebra::center(&place(i), &place(*j as usize)), *j));
        }
    }
    let points: Vec<Point3<f64>> = sources.iter().map(|(p, _)| *p).collect();
    let reached = spread(surface, neighbours, dark, &points, &begin, radius, watch)?;
    let mean = if sources.is_empty() { 0.0 } else { apart / sources.len() as f64 };
    Ok((reached.into_iter().map(|s| s.map(|s| sources[s as usize].1)).collect(), mean))
}

/// Which dark samples a disc covers that fits into the dark: those within
/// `radius` of a sample that is that far from the rim, give or take `step`, the
/// distance between samples.
fn from_core(
    surface: &Surface,
    neighbours: &Neighbours,
    dark: &[bool],
    rim: &[Option<u32>],
    (radius, step): (f64, f64),
    watch: &Watch,
) -> Result<Vec<bool>, Stop> {
    let core: Vec<u32> =
        (0..dark.len()).filter(|i| dark[*i] && rim[*i].is_none()).map(|i| i as u32).collect();
    let points: Vec<Point3<f64>> =
        core.iter().map(|i| surface.samples.position[*i as usize].cast()).collect();
    let begin: Vec<(u32, u32)> = core.iter().enumerate().map(|(s, i)| (s as u32, *i)).collect();
    // The deepest spot of a shadow seldom is a sample: a wide shadow must not
    // lose its rim to that.
    let reach = radius + 0.75 * step;
    let reached = spread(surface, neighbours, dark, &points, &begin, reach, watch)?;
    Ok(reached.into_iter().map(|s| s.is_some()).collect())
}

/// Spreads from points along the surface through the dark: for each sample
/// nearer than `reach` the point that came first. The way is measured
/// straight, as far as a brush tip reaches the surface is flat.
fn spread(
    surface: &Surface,
    neighbours: &Neighbours,
    dark: &[bool],
    points: &[Point3<f64>],
    begin: &[(u32, u32)],
    reach: f64,
    watch: &Watch,
) -> Result<Vec<Option<u32>>, Stop> {
    let mut reached = vec![None; dark.len()];
    let mut open = BinaryHeap::new();
    let key = |source: u32, sample: u32| {
        let p = surface.samples.position[sample as usize].cast::<f64>();
        let far = (p - points[source as usize]).norm();
        // Bits of numbers that are not negative order as the numbers do, and
        // draws are decided by the numbers of source and sample.
        (far < reach).then_some(Reverse((far.to_bits(), source, sample)))
    };
    open.extend(begin.iter().filter_map(|(source, sample)| key(*source, *sample)));
    let mut steps = 0_u32;
    while let Some(Reverse((_, source, sample))) = open.pop() {
        steps = steps.wrapping_add(1);
        if steps.is_multiple_of(4096) {
            watch.check()?;
        }
        if reached[sample as usize].is_some() {
            continue;
        }
        reached[sample as usize] = Some(source);
        for next in neighbours.beside(sample as usize) {
            if dark[*next as usize] && reached[*next as usize].is_none() {
                open.extend(key(source, *next));
            }
        }
    }
    Ok(reached)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::neighbours::tests::{fine_cube, surface_of};

    /// Samples of a cube of 10 mm with 0.2 mm between them, and the exposure on
    /// its top where a shadow of some width lies along the middle.
    fn striped(width: f64, soft: f64) -> (Surface, Vec<f32>, Vec<f32>) {
        let surface = surface_of(&fine_cube(50), &Watch::quiet());
        let samples = &surface.samples;
        let open: Vec<f32> = samples.normal.iter().map(|n| 0.6 * n.z.max(0.0)).collect();
        let exposure = (0..samples.len())
            .map(|i| {
                let off = f64::from(samples.position[i].x - 5.0).abs();
                open[i] * (((off - 0.5 * width) / soft.max(1e-9) + 0.5).clamp(0.0, 1.0)) as f32
            })
            .collect();
        (surface, open, exposure)
    }

    fn closed(width: f64, soft: f64, thinnest: f64) -> (Surface, Vec<f32>, Vec<f32>, Vec<f32>) {
        let (surface, open, exposure) = striped(width, soft);
        let neighbours = Neighbours::of(&surface);
        let out =
            without_thin_shadows(&surface, &neighbours, &exposure, &open, thinnest, &Watch::quiet()).unwrap();
        (surface, open, exposure, out)
    }

    #[test]
    fn a_shadow_narrower_than_the_width_goes_and_a_wider_one_stays() {
        // Stated: the width is met to about the distance between samples, 0.2 mm.
        for (width, stays) in [(0.3, false), (0.7, false), (0.95, false), (1.45, true), (2.5, true)] {
            let (surface, open, exposure, out) = closed(width, 0.0, 1.2);
            let dark = exposure.iter().zip(&open).filter(|(e, o)| **o > 0.1 && **e == 0.0).count();
            let after = out.iter().zip(&open).filter(|(e, o)| **o > 0.1 && **e == 0.0).count();
            assert!(dark > 50, "{width}");
            assert_eq!(after, if stays { dark } else { 0 }, "{width}");
            for i in 0..out.len() {
                assert!(out[i] >= exposure[i] && out[i] <= open[i]);
                if surface.samples.normal[i].z < 0.5 {
                    assert_eq!(out[i], exposure[i]);
                }
            }
        }
    }

    #[test]
    fn soft_shadows_go_by_level_and_light_is_never_taken() {
        let thin = closed(0.5, 0.4, 2.0);
        assert!(thin.3.iter().zip(&thin.1).all(|(e, o)| (e - o).abs() < 1e-6));
        let wide = closed(4.0, 0.6, 1.2);
        let most = wide.3.iter().zip(&wide.2).map(|(a, b)| a - b).fold(0.0, f32::max);
        assert!(most < 0.05, "{most}");
    }

    #[test]
    fn a_width_of_nothing_leaves_the_light_alone() {
        let (_, _, exposure, out) = closed(0.3, 0.0, 0.0);
        assert_eq!(exposure, out);
    }
}

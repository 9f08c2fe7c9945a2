//! Equal parts are found whatever their place and turn, and only those.

use grisaille_base::{Millimetres, RegionId, Watch};
use grisaille_bodies::{Triangle, cuboid, icosphere, moved, notched_block, scaled, stl, tower, turned};
use grisaille_form::{Shape, repeats};
use grisaille_mesh::{ReadSettings, read};
use grisaille_sight::{Occluders, SurfaceSettings, TreeSight, surface};
use std::collections::BTreeSet;
use std::sync::Arc;

/// Each part is a piece; groups come as sets of parts, by a point on each.
fn groups(parts: &[Vec<Triangle>], spacing: f64) -> Vec<BTreeSet<usize>> {
    let watch = Watch::quiet();
    let (mesh, _) = read(&stl(&parts.concat()), &ReadSettings::default(), &watch).expect("parts");
    let sight = TreeSight::new(Arc::new(Occluders::of(&mesh)), &watch);
    let how = SurfaceSettings { spacing: Millimetres(spacing), ..SurfaceSettings::for_mesh(&mesh) };
    let (surface, _) = surface(&mesh, &how, &sight, &watch).expect("nobody cancels");
    let regions: Vec<Option<RegionId>> = surface.piece.iter().map(|p| Some(RegionId(p.0 as u16))).collect();
    let found = repeats(&Shape::of(&surface), &regions, &watch).expect("nobody cancels");
    // Which part a piece is: the one whose box has the same middle.
    let middle = |points: &mut dyn Iterator<Item = [f64; 3]>| {
        let (mut low, mut high) = ([f64::MAX; 3], [f64::MIN; 3]);
        for p in points {
            for k in 0..3 {
                (low[k], high[k]) = (low[k].min(p[k]), high[k].max(p[k]));
            }
        }
        [0, 1, 2].map(|k| 0.5 * (low[k] + high[k]))
    };
    let part_of = |region: &RegionId| {
        let centre = mesh.pieces()[usize::from(region.0)].bounds.centre();
        let off = |part: &Vec<Triangle>| {
            let m = middle(&mut part.iter().flatten().copied());
            (0..3).map(|k| (m[k] - centre[k]).powi(2)).sum::<f64>()
        };
        (0..parts.len()).min_by(|a, b| off(&parts[*a]).total_cmp(&off(&parts[*b]))).expect("a part")
    };
    found.iter().map(|group| group.iter().map(part_of).collect()).collect()
}

/// A bolt: a head on a shank.
fn bolt() -> Vec<Triangle> {
    tower(&[[0.6, 0.0], [0.6, 0.5], [1.0, 0.8], [0.8, 1.4]])
}

/// A notched block pushed askew, which is not its own mirror image.
fn hook(mirrored: bool) -> Vec<Triangle> {
    let askew = |p: [f64; 3]| [p[0] + 0.5 * p[1], p[1], p[2]];
    let soup = scaled(notched_block(20.0), 0.4).into_iter().map(|t| t.map(askew));
    let mirror = |[a, b, c]: Triangle| [c, b, a].map(|p| [-p[0], p[1], p[2]]);
    if mirrored { soup.map(mirror).collect() } else { soup.collect() }
}

#[test]
fn twelve_bolts_round_a_rim_are_one_group_and_a_thirteenth_that_is_larger_is_not() {
    let mut parts: Vec<Vec<Triangle>> = (0..12)
        .map(|i| {
            turned(
                moved(turned(bolt(), [0.6, 0.8, 0.0], 17.0), [9.0, 0.0, 0.0]),
                [0.0, 0.0, 1.0],
                30.0 * f64::from(i),
            )
        })
        .collect();
    parts.push(moved(scaled(bolt(), 1.08), [0.0, 0.0, 9.0]));
    parts.push(moved(scaled(icosphere(3), 0.95), [0.0, 0.0, -9.0]));
    let found = groups(&parts, 0.15);
    assert_eq!(found, [(0..12).collect::<BTreeSet<usize>>()]);
}

#[test]
fn left_and_right_are_a_pair_and_a_ball_is_no_cube() {
    let cube = cuboid([-1.0; 3], [1.0; 3]);
    let ball = scaled(icosphere(4), (24.0 / (4.0 * std::f64::consts::PI)).sqrt());
    let parts = [
        moved(hook(false), [6.0, 0.0, 0.0]),
        moved(turned(hook(true), [0.0, 0.6, 0.8], 75.0), [-9.0, 0.0, 0.0]),
        moved(cube, [0.0, 20.0, 0.0]),
        // As much surface as the cube.
        moved(ball, [0.0, -20.0, 0.0]),
    ];
    let found = groups(&parts, 0.2);
    assert_eq!(found, [BTreeSet::from([0, 1])]);
}

//! Recesses and edges of bodies whose lines are known.

mod forms;

use forms::{forms, roughen};
use grisaille_base::{Millimetres, RegionId, Watch};
use grisaille_bodies::{Triangle, cuboid, stl};
use grisaille_form::{
    Line, LineSettings, Shape, SpotSettings, curvature, edges, hollows, parted, rank_by_light, recesses,
    spots,
};
use grisaille_mesh::{ReadSettings, read};
use grisaille_sight::{Occluders, SurfaceSettings, TreeSight, surface};
use nalgebra::Point3;
use std::sync::Arc;

/// A soup divided to a spacing in mm.
fn divided(soup: &[Triangle], spacing: f64) -> Shape {
    let watch = Watch::quiet();
    let (mesh, _) = read(&stl(soup), &ReadSettings::default(), &watch).expect("a body reads");
    let sight = TreeSight::new(Arc::new(Occluders::of(&mesh)), &watch);
    let settings = SurfaceSettings { spacing: Millimetres(spacing), ..SurfaceSettings::for_mesh(&mesh) };
    Shape::of(&surface(&mesh, &settings, &sight, &watch).expect("nobody cancels").0)
}

fn rough(shape: &Shape, deviation: f64) -> Shape {
    let mut positions: Vec<Point3<f64>> = shape.positions().iter().map(|p| p.cast()).collect();
    roughen(&mut positions, deviation, 11);
    Shape::new(positions.iter().map(|p| p.cast::<f32>()).collect(), shape.faces().to_vec())
}

fn cube() -> Vec<Triangle> {
    cuboid([-5.0; 3], [5.0; 3])
}

/// A profile drawn out along y over 10 mm: an open sheet.
fn strip(profile: &[[f64; 2]]) -> Vec<Triangle> {
    let quads = profile.windows(2).map(|ends| {
        let at = |i: usize, y: f64| [ends[i][0], y, ends[i][1]];
        let (a, b, c, d) = (at(0, 0.0), at(1, 0.0), at(1, 10.0), at(0, 10.0));
        [[a, b, c], [a, c, d]]
    });
    quads.flatten().collect()
}

fn groove(width: f64, depth: f64) -> Vec<Triangle> {
    strip(&[[-5.0, 0.0], [-0.5 * width, 0.0], [0.0, -depth], [0.5 * width, 0.0], [5.0, 0.0]])
}

fn trench(width: f64, depth: f64) -> Vec<Triangle> {
    let w = 0.5 * width;
    strip(&[[-5.0, 0.0], [-w, 0.0], [-w, -depth], [w, -depth], [w, 0.0], [5.0, 0.0]])
}

/// Recesses and edges as seen at a radius in mm, which is for a brush of four fifths of it.
fn of(shape: &Shape, radius: f64) -> [Vec<Line>; 2] {
    let watch = Watch::quiet();
    let settings = LineSettings::for_brush(Millimetres(0.8 * radius));
    assert!((settings.radius().0 - radius).abs() < 1e-12);
    let curved = curvature(shape, settings.radius(), &watch).expect("nobody cancels");
    [recesses, edges].map(|find| find(shape, &curved, &settings, &watch).expect("nobody cancels"))
}

/// The farthest that a point of one set of lines lies from the other, in mm.
fn apart(one: &[Line], other: &[Line]) -> f64 {
    let reach = |from: &[Line], to: &[Line]| {
        let points = from.iter().flat_map(|l| &l.points).map(|p| p.cast::<f64>());
        points.map(|p| to.iter().map(|l| distance(&p, l)).fold(f64::INFINITY, f64::min)).fold(0.0, f64::max)
    };
    reach(one, other).max(reach(other, one))
}

fn distance(p: &Point3<f64>, line: &Line) -> f64 {
    let mut points: Vec<Point3<f64>> = line.points.iter().map(|p| p.cast::<f64>()).collect();
    if line.closed {
        points.push(points[0]);
    }
    let segment = |w: &[Point3<f64>]| {
        let way = w[1] - w[0];
        let share = ((p - w[0]).dot(&way) / way.norm_squared().max(1e-12)).clamp(0.0, 1.0);
        (p - (w[0] + way * share)).norm()
    };
    points.windows(2).map(segment).fold(f64::INFINITY, f64::min)
}

/// The farthest that a point of a line lies from the straight line through `at` along y.
fn off_straight(line: &Line, at: [f64; 2]) -> f64 {
    let far = |p: &Point3<f32>| (f64::from(p.x) - at[0]).hypot(f64::from(p.z) - at[1]);
    line.points.iter().map(far).fold(0.0, f64::max)
}

fn within(have: f64, want: f64, share: f64) -> bool {
    (have / want - 1.0).abs() <= share
}

#[test]
fn a_cube_has_its_twelve_edges_and_nothing_else() {
    let smooth = divided(&cube(), 0.25);
    for shape in [rough(&smooth, 0.02), smooth] {
        let [recesses, edges] = of(&shape, 1.0);
        assert!(recesses.is_empty(), "{recesses:?}");
        assert_eq!(edges.len(), 12);
        for edge in &edges {
            assert!(within(edge.length, 10.0, 0.02), "{}", edge.length);
            assert!((edge.turn - 90.0).abs() < 2.0, "{}", edge.turn);
            assert_eq!(edge.radius, 0.0);
            // Each runs along one axis at ±5 in the two others.
            for p in &edge.points {
                let off: Vec<f32> = p.iter().map(|x| (x.abs() - 5.0).abs()).collect();
                let near = off.iter().filter(|o| **o < 0.15).count();
                assert!(near >= 2, "{p:?}");
            }
        }
    }
}

#[test]
fn round_bodies_have_no_lines() {
    for form in forms() {
        let name = form.name;
        for shape in [form.shape(), form.roughened(0.02, 4).shape()] {
            for lines in of(&shape, 1.0) {
                assert!(lines.is_empty(), "{name}: {lines:?}");
            }
        }
    }
}

#[test]
fn grooves_and_trenches_narrower_than_the_brush_are_one_line_along_the_bottom() {
    // A brush of 0.8 mm; a groove has one bottom, however wide it is.
    for (name, soup, width, depth) in [
        ("groove 0.6", groove(0.6, 0.4), 0.6, 0.4),
        ("groove 2", groove(2.0, 2.0), 2.0, 2.0),
        ("trench 0.6", trench(0.6, 0.6), 0.6, 0.6),
        ("deep trench 0.6", trench(0.6, 1.5), 0.6, 1.5),
        ("trench 0.8", trench(0.8, 0.8), 0.8, 0.8),
    ] {
        let smooth = divided(&soup, 0.2);
        let [recesses, _] = of(&smooth, 1.0);
        assert_eq!(recesses.len(), 1, "{name}");
        let line = &recesses[0];
        assert!(off_straight(line, [0.0, -depth]) < 0.1, "{name}: {}", off_straight(line, [0.0, -depth]));
        assert!(within(line.width, width, 0.03) && within(line.depth, depth, 0.03), "{name}: {line:?}");
        assert!(line.bounded && within(line.length, 10.0, 0.02), "{name}");
        // With noise of 0.02 mm rims are found a little outside.
        let [again, _] = of(&rough(&smooth, 0.02), 1.0);
        assert_eq!(again.len(), 1, "rough {name}");
        let line = &again[0];
        println!("{name}: moved {}, {} wide, {} deep", apart(&recesses, &again), line.width, line.depth);
        assert!(apart(&recesses, &again) < 0.15, "rough {name}: {}", apart(&recesses, &again));
        assert!(within(line.width, width, 0.3) && within(line.depth, depth, 0.15), "rough {name}: {line:?}");
    }
}

#[test]
fn a_trench_wider_than_the_brush_is_two_lines() {
    // A brush of 0.8 mm. Curvature is spread as wide, and takes the two feet of a trench hardly wider
    // for one bend; under high walls a foot looks like a corner.
    for depth in [0.4, 0.8, 1.5] {
        for width in [1.0, 1.1, 1.2, 1.3, 1.4, 1.5, 1.6, 1.9, 2.2, 3.0] {
            let name = format!("{width} wide, {depth} deep");
            let smooth = divided(&trench(width, depth), 0.2);
            for (shape, most) in [(smooth.clone(), 0.1), (rough(&smooth, 0.02), 0.15)] {
                let [recesses, edges] = of(&shape, 1.0);
                assert_eq!([recesses.len(), edges.len()], [2, 2], "{name}");
                let mut farthest = 0.0_f64;
                for (lines, z) in [(recesses, -depth), (edges, 0.0)] {
                    let mut sides = [0, 0];
                    for mut line in lines {
                        assert!(line.length > 9.0 && line.length < 10.5, "{name}: {}", line.length);
                        // At the open ends of the sheet half of what bends is missing.
                        line.points.retain(|p| (p.y - 5.0).abs() < 4.0);
                        let right = usize::from(line.points[0].x > 0.0);
                        let x = if right == 1 { 0.5 * width } else { -0.5 * width };
                        farthest = farthest.max(off_straight(&line, [x, z]));
                        sides[right] += 1;
                    }
                    assert_eq!(sides, [1, 1], "{name}");
                }
                println!("{name}: off {farthest:.3}");
                assert!(farthest < most, "{name}: {farthest}");
            }
        }
    }
}

#[test]
fn a_rounded_edge_has_its_radius() {
    // A quarter circle between two level stretches, turned by 90°.
    for radius in [0.8, 1.5] {
        let mut profile = vec![[-5.0, 0.0]];
        for k in 0..=24 {
            let (sin, cos) = (f64::from(k) / 24.0 * std::f64::consts::FRAC_PI_2).sin_cos();
            profile.push([radius * sin, radius * (cos - 1.0)]);
        }
        profile.push([radius, -radius - 5.0]);
        let [recesses, edges] = of(&divided(&strip(&profile), 0.2), 0.8);
        assert_eq!([recesses.len(), edges.len()], [0, 1], "{radius}");
        println!("{radius}: found {}, turn {}", edges[0].radius, edges[0].turn);
        assert!(within(edges[0].radius, radius, 0.15), "{radius}: {}", edges[0].radius);
    }
}

#[test]
fn grain_layers_and_scars_are_no_lines() {
    let watch = Watch::quiet();
    let none = |name: &str, shape: &Shape| {
        let settings = LineSettings::for_brush(Millimetres(0.5));
        let curved = curvature(shape, settings.radius(), &watch).expect("nobody cancels");
        for find in [recesses, edges] {
            let found = find(shape, &curved, &settings, &watch).expect("nobody cancels");
            assert!(found.is_empty(), "{name}: {found:?}");
        }
    };
    // Layers of 0.05 mm (common practice) on slopes of 10° and 45°.
    for run in [0.28, 0.05] {
        let mut profile = vec![[-3.0, 0.0]];
        for k in 0..(6.0 / run) as u32 {
            let (x, z) = (-3.0 + f64::from(k + 1) * run, -0.05 * f64::from(k));
            profile.extend([[x, z], [x, z - 0.05]]);
        }
        none("layers", &divided(&strip(&profile), 0.2));
    }
    // Grain: a level sheet whose points rise and fall by up to 0.05 mm.
    let sheet = divided(&strip(&[[-5.0, 0.0], [5.0, 0.0]]), 0.2);
    let mut state = 5;
    let grain =
        |p: &Point3<f32>, state: &mut u64| Point3::new(p.x, p.y, (0.1 * (forms::even(state) - 0.5)) as f32);
    let positions = sheet.positions().iter().map(|p| grain(p, &mut state)).collect();
    none("grain", &Shape::new(positions, sheet.faces().to_vec()));
    // Scars of supports: dots 0.4 mm across and 0.08 mm high.
    let sheet = divided(&strip(&[[-5.0, 0.0], [5.0, 0.0]]), 0.1);
    let scar = |p: &Point3<f32>| {
        let beside = |x: f32| x - 2.0 * (x / 2.0).round();
        let high = if beside(p.x).hypot(beside(p.y)) < 0.2 { 0.08 } else { 0.0 };
        Point3::new(p.x, p.y, high)
    };
    none("scars", &Shape::new(sheet.positions().iter().map(scar).collect(), sheet.faces().to_vec()));
}

/// A sheet with a soft groove that winds, and a soft ridge beside it.
fn winding() -> Shape {
    let sheet = divided(&strip(&[[-5.0, 0.0], [5.0, 0.0]]), 0.2);
    let high = |p: &Point3<f32>| {
        let middle = (0.6 * p.y).sin() * 0.8 - 2.0;
        let bell = |x: f32| (-x * x / (2.0 * 0.3 * 0.3)).exp();
        0.6 * bell(p.x - middle - 3.5) - 0.6 * bell(p.x - middle)
    };
    let positions = sheet.positions().iter().map(|p| Point3::new(p.x, p.y, high(p))).collect();
    Shape::new(positions, sheet.faces().to_vec())
}

#[test]
fn lines_stay_when_the_net_is_turned_divided_or_thinned() {
    let cube = divided(&cube(), 0.25);
    let groove = divided(&groove(2.0, 2.0), 0.2);
    for (name, shape, spacing) in [("cube", cube, 0.25), ("groove", groove, 0.2), ("winding", winding(), 0.2)]
    {
        let before = of(&shape, 0.8);
        // The groove and the two feet of the ridge; the ridge and the two rims of the groove.
        assert!(
            name != "winding" || before.iter().all(|l| l.len() == 3),
            "{:?}",
            before.each_ref().map(Vec::len)
        );
        let same = |what: &str, after: &[Vec<Line>; 2]| {
            for (before, after) in before.iter().zip(after) {
                println!("{name} {what}: {} lines, {:.3} mm", after.len(), apart(before, after));
                assert_eq!(before.len(), after.len(), "{name} {what}");
                assert!(apart(before, after) < spacing, "{name} {what}: {}", apart(before, after));
            }
        };
        same("divided", &of(&split(&shape), 0.8));
        let axis = nalgebra::Unit::new_normalize(nalgebra::Vector3::new(1.0_f32, -2.0, 0.7));
        let turn = nalgebra::Rotation3::from_axis_angle(&axis, 0.9);
        let turned = shape.positions().iter().map(|p| turn * p).collect();
        let mut after = of(&Shape::new(turned, shape.faces().to_vec()), 0.8);
        for p in after.iter_mut().flatten().flat_map(|l| &mut l.points) {
            *p = turn.inverse() * *p;
        }
        same("turned", &after);
        if name == "winding" {
            same("thinned", &of(&thinned(&shape), 0.8));
        }
    }
}

/// Every face cut in four at the middles of its sides.
fn split(shape: &Shape) -> Shape {
    let mut positions = shape.positions().to_vec();
    let mut middles = std::collections::HashMap::new();
    let mut faces = Vec::new();
    for &[a, b, c] in shape.faces() {
        let mut middle = |a: u32, b: u32| {
            *middles.entry((a.min(b), a.max(b))).or_insert_with(|| {
                positions.push(nalgebra::center(&positions[a as usize], &positions[b as usize]));
                positions.len() as u32 - 1
            })
        };
        let [ab, bc, ca] = [middle(a, b), middle(b, c), middle(c, a)];
        faces.extend([[a, ab, ca], [ab, b, bc], [ca, bc, c], [ab, bc, ca]]);
    }
    Shape::new(positions, faces)
}

/// One face in five taken away by drawing edges together, seen from above
/// without turning a face over.
fn thinned(shape: &Shape) -> Shape {
    let mut faces = shape.faces().to_vec();
    let target = faces.len() * 4 / 5;
    let p = shape.positions();
    let mut state = 9;
    while faces.len() > target {
        let mut of: Vec<Vec<usize>> = vec![Vec::new(); p.len()];
        for (f, face) in faces.iter().enumerate() {
            face.iter().for_each(|v| of[*v as usize].push(f));
        }
        let mut touched = vec![false; p.len()];
        let mut gone = vec![false; faces.len()];
        let mut left = faces.len();
        for _ in 0..p.len() {
            let v = (forms::even(&mut state) * p.len() as f64) as usize;
            let inside = p[v].x.abs() < 4.9 && (p[v].y - 5.0).abs() < 4.9;
            if of[v].is_empty() || touched[v] || !inside || left <= target {
                continue;
            }
            let face = faces[of[v][0]];
            let to = face.into_iter().find(|w| *w as usize != v).expect("three corners");
            let kept: Vec<usize> = of[v].iter().copied().filter(|f| !faces[*f].contains(&to)).collect();
            let ring: Vec<u32> = of[v].iter().flat_map(|f| faces[*f]).collect();
            let moved = |f: &usize| faces[*f].map(|w| if w as usize == v { to } else { w });
            let upright = |f: &usize| {
                let [a, b, c] = moved(f).map(|w| p[w as usize]);
                (b - a).cross(&(c - a)).z > 1e-3
            };
            if of[v].len() != kept.len() + 2
                || ring.iter().any(|w| touched[*w as usize])
                || !kept.iter().all(upright)
            {
                continue;
            }
            ring.iter().for_each(|w| touched[*w as usize] = true);
            let after: Vec<(usize, [u32; 3])> = kept.iter().map(|f| (*f, moved(f))).collect();
            for f in of[v].iter().filter(|f| !kept.contains(f)) {
                gone[*f] = true;
                left -= 1;
            }
            for (f, face) in after {
                faces[f] = face;
            }
        }
        let mut gone = gone.iter();
        faces.retain(|_| gone.next() == Some(&false));
    }
    Shape::new(p.to_vec(), faces)
}

#[test]
fn the_same_lines_with_one_thread_and_three_and_none_when_cancelled() {
    let shape = rough(&divided(&trench(2.2, 1.0), 0.25), 0.02);
    let settings = LineSettings::for_brush(Millimetres(0.64));
    let with = |watch: &Watch| {
        let curved = curvature(&shape, Millimetres(0.8), &Watch::quiet()).expect("nobody cancels");
        [recesses, edges].map(|find| find(&shape, &curved, &settings, watch))
    };
    let [one, three] = [1, 3].map(|t| with(&Watch::with_threads(t).expect("threads")));
    assert!(one[0].as_ref().is_ok_and(|l| l.len() == 2));
    assert_eq!(one, three);
    for asks in [0, 1, 100, 5000] {
        assert!(with(&Watch::quiet().stopping_after(asks)).iter().any(Result::is_err), "{asks}");
    }
}

/// The side of a cube that a face lies on: 0 to 5.
fn side(shape: &Shape, face: usize) -> u16 {
    let n = shape.normals()[face];
    let axis = n.iamax();
    2 * axis as u16 + u16::from(n[axis] > 0.0)
}

#[test]
fn edges_part_regions_and_are_ranked_by_light() {
    let shape = divided(&cube(), 0.25);
    let [_, mut edges] = of(&shape, 1.0);
    let count = shape.faces().len();
    let region: Vec<RegionId> = (0..count).map(|f| RegionId(side(&shape, f))).collect();
    let mut pairs: Vec<_> = edges.iter().map(|e| parted(e, &region).expect("two sides")).collect();
    pairs.sort_unstable();
    // All pairs of sides but the three that do not touch.
    let want: Vec<[RegionId; 2]> = (0..6)
        .flat_map(|a| (a + 1..6).map(move |b| [a, b]))
        .filter(|[a, b]| a / 2 != b / 2)
        .map(|pair| pair.map(RegionId))
        .collect();
    assert_eq!(pairs, want);
    assert!(edges.iter().all(|e| parted(e, &vec![RegionId(3); count]).is_none()));
    assert!(edges.iter().all(|e| parted(e, &[]).is_none()));
    // Light on the top alone: its four edges come first.
    let light: Vec<f32> = (0..count).map(|f| f32::from(u8::from(side(&shape, f) == 5))).collect();
    rank_by_light(&mut edges, &light);
    let up = |e: &Line| e.points.iter().all(|p| p.z > 4.8);
    assert!(edges[..4].iter().all(up) && !edges[4..].iter().any(up));
}

#[test]
fn spots_sit_on_corners_well_apart_and_not_on_balls() {
    let watch = Watch::quiet();
    let settings = LineSettings::for_brush(Millimetres(0.8));
    let find = |shape: &Shape, most: usize, apart_mm: f64, light: Option<&[f32]>| {
        let curved = curvature(shape, settings.radius(), &watch).expect("nobody cancels");
        let wanted = SpotSettings { most, apart_mm };
        spots(shape, &curved, (&settings, &wanted), light, &watch).expect("nobody cancels")
    };
    let smooth = divided(&cube(), 0.25);
    for shape in [&rough(&smooth, 0.02), &smooth] {
        let all = find(shape, 100, 3.0, None);
        assert_eq!(all.len(), 8);
        for spot in &all {
            let off = spot.point.iter().map(|x| (x.abs() - 5.0).powi(2)).sum::<f32>().sqrt();
            assert!(off < 0.5, "{spot:?}");
        }
        assert_eq!(find(shape, 3, 3.0, None).len(), 3);
        // Of two corners 10 mm apart one is taken: no two of an edge.
        let few = find(shape, 100, 11.0, None);
        assert!(few.len() >= 2 && few.len() <= 4, "{few:?}");
    }
    let light: Vec<f32> = (0..smooth.faces().len())
        .map(|f| {
            if smooth.faces()[f].iter().any(|v| smooth.positions()[*v as usize].z > 4.0) { 1.0 } else { 0.1 }
        })
        .collect();
    let lit = find(&smooth, 4, 3.0, Some(&light));
    assert!(lit.len() == 4 && lit.iter().all(|s| s.point.z > 4.0), "{lit:?}");
    for form in forms() {
        for shape in [form.shape(), form.roughened(0.02, 4).shape()] {
            assert!(find(&shape, 100, 1.0, None).is_empty());
        }
    }
}

#[test]
fn hollows_are_what_lies_deep_with_its_area() {
    // A trench 2 wide and 1 deep over 10 mm: floor and walls 40 mm². A second, narrow one: 13 mm².
    let profile = [
        [-5.0, 0.0],
        [-4.0, 0.0],
        [-4.0, -1.0],
        [-2.0, -1.0],
        [-2.0, 0.0],
        [2.0, 0.0],
        [2.0, -0.5],
        [2.3, -0.5],
    ];
    let shape = divided(&strip(&[&profile[..], &[[2.3, 0.0], [5.0, 0.0]]].concat()), 0.25);
    let open: Vec<f32> = shape
        .faces()
        .iter()
        .map(|f| {
            let z = f.iter().map(|v| shape.positions()[*v as usize].z).sum::<f32>() / 3.0;
            if z < -1e-3 { 0.4 + 0.1 * z } else { 1.0 }
        })
        .collect();
    let watch = Watch::quiet();
    let find =
        |level: f32, smallest: f64| hollows(&shape, &open, level, smallest, &watch).expect("nobody cancels");
    let found = find(0.5, 1.0);
    assert_eq!(found.len(), 2);
    assert!((found[0].area_mm2 - 40.0).abs() < 1e-3 && (found[1].area_mm2 - 13.0).abs() < 1e-3, "{found:?}");
    assert!(found[0].place.x < 0.0 && (f64::from(found[0].place.z) + 1.0).abs() < 1e-5);
    // In the mean over half the area on the floor and half on the walls: 0.4 − 0.1 · (1/2 · 1 + 1/2 · 1/2).
    assert!((found[0].openness - 0.325).abs() < 1e-3, "{}", found[0].openness);
    assert_eq!(find(0.5, 20.0).len(), 1);
    assert!(find(0.1, 0.0).is_empty());
    assert!(hollows(&shape, &[], 0.5, 0.0, &watch).is_ok_and(|h| h.is_empty()));
    assert!(hollows(&shape, &open, 0.5, 0.0, &Watch::quiet().stopping_after(0)).is_err());
}

/// A fifth of the faces taken away by meshoptimizer, which draws edges together where that moves the
/// surface least.
fn decimated(shape: &Shape) -> Shape {
    let positions: Vec<[f32; 3]> = shape.positions().iter().map(|p| p.coords.into()).collect();
    let corners: Vec<u32> = shape.faces().iter().flatten().copied().collect();
    let target = corners.len() / 15 * 12;
    let left =
        meshopt::simplify_decoder(&corners, &positions, target, 1.0, meshopt::SimplifyOptions::None, None);
    assert!(
        left.len() <= target + 6 && left.len() * 10 > 7 * corners.len(),
        "{} of {}",
        left.len(),
        corners.len()
    );
    // Vertices that no face uses any more are left out.
    let mut number = vec![u32::MAX; positions.len()];
    let mut kept = Vec::new();
    let mut faces = Vec::new();
    for face in left.chunks_exact(3) {
        faces.push([face[0], face[1], face[2]].map(|v| {
            if number[v as usize] == u32::MAX {
                number[v as usize] = kept.len() as u32;
                kept.push(shape.positions()[v as usize]);
            }
            number[v as usize]
        }));
    }
    Shape::new(kept, faces)
}

#[test]
fn lines_stay_when_a_decimator_takes_away_a_fifth_of_the_faces() {
    let noisy = [
        ("rough cube", divided(&cube(), 0.25), 0.25),
        ("rough groove", divided(&groove(2.0, 2.0), 0.2), 0.2),
    ];
    let noisy = noisy.map(|(name, shape, spacing)| (name, rough(&shape, 0.02), spacing));
    let smooth = [
        ("cube", divided(&cube(), 0.25), 0.25),
        ("groove 0.6", divided(&groove(0.6, 0.4), 0.2), 0.2),
        ("groove 2", divided(&groove(2.0, 2.0), 0.2), 0.2),
        ("trench 0.6", divided(&trench(0.6, 0.6), 0.2), 0.2),
        ("trench 2.2", divided(&trench(2.2, 1.5), 0.2), 0.2),
        ("winding", winding(), 0.2),
    ];
    for (name, shape, spacing) in smooth.into_iter().chain(noisy) {
        let thin = decimated(&shape);
        let [before, after] = [of(&shape, 0.8), of(&thin, 0.8)];
        for (before, after) in before.iter().zip(&after) {
            println!("{name}: {} and {} lines, {:.3} mm", before.len(), after.len(), apart(before, after));
            assert_eq!(before.len(), after.len(), "{name}");
            assert!(apart(before, after) < spacing, "{name}: {}", apart(before, after));
        }
    }
}

#[test]
fn a_thin_plate_has_the_edges_of_its_rim() {
    // A shield's rim: what lies behind it is the plate's other face, not a foot of the edge. For a brush of 0.36 mm.
    for spacing in [0.12, 0.24] {
        for thickness in [0.3, 0.5, 0.7, 0.87, 1.0] {
            let t = 0.5 * thickness;
            let shape = divided(&cuboid([-5.0, -t, -5.0], [5.0, t, 5.0]), spacing);
            let [recesses, edges] = of(&shape, 0.45);
            assert!(recesses.is_empty(), "{thickness}");
            // Thinner than the brush sees apart it is one ridge, else an edge on either side, 10 mm each on four sides.
            let (count, turn) = if thickness < 0.4 { (4, 180.0) } else { (8, 90.0) };
            assert_eq!(edges.len(), count, "{thickness} at {spacing}");
            for edge in &edges {
                assert!(within(edge.length, 10.0, 0.05), "{thickness} at {spacing}: {}", edge.length);
                // Two bends within what curvature is spread over turn by more than one of them.
                let loose = if thickness < 0.6 { 0.25 } else { 0.02 };
                assert!(within(edge.turn, turn, loose), "{thickness} at {spacing}: {}", edge.turn);
                assert!(edge.depth > 0.25, "{thickness} at {spacing}: {}", edge.depth);
            }
        }
    }
}

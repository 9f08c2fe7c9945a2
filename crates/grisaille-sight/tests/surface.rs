//! The refined surface and the two engines.

use grisaille_base::{Code, Finding, Millimetres, PieceId, Stop, Watch};
use grisaille_bodies::{
    Triangle, cube, cuboid, icosphere, inside_out, moved, notched_block, scaled, sheet, stl, turned,
};
use grisaille_mesh::{Mesh, ReadSettings, read};
use grisaille_sight::{
    Bits, BruteForce, FaceMask, Occluders, Sight, Source, Surface, SurfaceSettings, SurfaceTree, TreeSight,
    surface,
};
use nalgebra::{Point3, Unit, Vector3};
use std::sync::Arc;

struct Scene {
    mesh: Mesh,
    sight: TreeSight,
    occluders: Arc<Occluders>,
}

fn scene(soup: &[Triangle]) -> Scene {
    let (mesh, _) = read(&stl(soup), &ReadSettings::default(), &Watch::quiet()).expect("a sound model");
    let occluders = Arc::new(Occluders::of(&mesh));
    Scene { sight: TreeSight::new(Arc::clone(&occluders), &Watch::quiet()), mesh, occluders }
}

fn refined(scene: &Scene, spacing: f64) -> (Surface, Vec<Finding>) {
    let settings =
        SurfaceSettings { spacing: Millimetres(spacing), ..SurfaceSettings::for_mesh(&scene.mesh) };
    surface(&scene.mesh, &settings, &scene.sight, &Watch::quiet()).expect("nobody cancels")
}

fn area(s: &Surface) -> f64 {
    (0..s.faces.len()).map(|f| s.face_area(f)).sum()
}

#[test]
fn refining_reaches_the_spacing_and_keeps_the_shape() {
    let scene = scene(&turned(cuboid([0.0; 3], [1.0, 30.0, 0.5]), [0.6, 0.0, 0.8], 33.0));
    for spacing in [3.0, 1.0, 0.3] {
        let (s, findings) = refined(&scene, spacing);
        assert!(findings.is_empty());
        assert!(s.longest_edge <= spacing);
        // 2·(1·30 + 1·0.5 + 30·0.5)
        assert!((area(&s) - 91.0).abs() < 1e-4, "{}", area(&s));
        // Every piece of surface stays in the plane of its source face.
        for (f, source) in s.faces.iter().zip(&s.source_face) {
            let [a, b, c] =
                scene.mesh.faces()[source.index()].map(|v| scene.mesh.positions()[v as usize].cast::<f64>());
            let normal = (b - a).cross(&(c - a)).normalize();
            for corner in f {
                let p = s.samples.position[*corner as usize].cast::<f64>();
                assert!((p - a).dot(&normal).abs() < s.samples.offset / 2.0);
            }
        }
        // Thin plates are cut into well-shaped triangles, not slivers.
        let worst = s
            .faces
            .iter()
            .map(|f| f.map(|i| s.samples.position[i as usize].cast::<f64>()))
            .map(|[a, b, c]| {
                let longest = (b - a).norm().max((c - b).norm()).max((a - c).norm());
                (b - a).cross(&(c - a)).norm() / (longest * longest)
            })
            .fold(f64::INFINITY, f64::min);
        // (Above the plate's thickness of 0.5 no triangulation can.)
        assert!(worst > 0.05 || spacing > 0.5, "{worst}");
    }
}

#[test]
fn a_two_triangle_plate_gets_evenly_spaced_samples() {
    let scene = scene(&sheet([0.0, 0.0], [20.0, 10.0], 0.0));
    let (s, _) = refined(&scene, 0.5);
    // No point of the plate is farther from a sample than one spacing.
    for ix in 0..=80 {
        for iy in 0..=40 {
            let p = Point3::new(ix as f32 * 0.25, iy as f32 * 0.25, 0.0);
            let near = s.samples.position.iter().map(|q| (q - p).norm()).fold(f32::INFINITY, f32::min);
            assert!(near <= 0.5, "{p}: {near}");
        }
    }
}

#[test]
fn the_cap_is_a_finding_and_leaves_an_even_surface() {
    let scene = scene(&sheet([0.0, 0.0], [20.0, 10.0], 0.0));
    let settings =
        SurfaceSettings { spacing: Millimetres(0.01), cap: 1000, ..SurfaceSettings::for_mesh(&scene.mesh) };
    let (s, findings) = surface(&scene.mesh, &settings, &scene.sight, &Watch::quiet()).unwrap();
    assert_eq!(findings[0].code, Code::SampleCap);
    assert!(s.samples.len() <= 1000 && s.samples.len() > 200);
    assert!(s.longest_edge < 2.0);
}

#[test]
fn both_engines_give_the_same_bits() {
    let mut soup = icosphere(2);
    soup.extend(moved(scaled(icosphere(2), 0.4), [0.9, 0.1, 0.5]));
    soup.extend(sheet([-3.0, -3.0], [3.0, 3.0], -1.2));
    soup.extend(turned(cuboid([-0.1, -2.0, 1.5], [0.1, 2.0, 1.6]), [0.0, 0.6, 0.8], 20.0));
    let scene = scene(&soup);
    let (s, _) = refined(&scene, 0.25);
    let mut sources: Vec<Source> = [[0.0, 0.0, 1.0], [1.0, 0.0, 0.0], [0.3, -0.5, 0.7], [0.0, 1.0, 1.0]]
        .into_iter()
        .map(|d| Source::Direction(Unit::new_normalize(Vector3::from(d))))
        .collect();
    sources.push(Source::point(Point3::new(0.3, -1.6, 0.9)));
    let within = Point3::new(0.9, 0.1, 0.5);
    sources.push(Source::Point { at: within, centre: within, clear: 0.45 });
    let mut through = Bits::new(scene.mesh.faces().len());
    through.set(3, true);
    through.set(40, true);
    let (mut brute, mut tree) = (Bits::new(s.samples.len()), Bits::new(s.samples.len()));
    for source in sources {
        for mask in [FaceMask::All, FaceMask::Except(through.clone())] {
            let watch = Watch::quiet();
            BruteForce(&scene.occluders).visible(&s.samples, source, &mask, &mut brute, &watch).unwrap();
            scene.sight.visible(&s.samples, source, &mask, &mut tree, &watch).unwrap();
            assert!(brute.count() > 100 && brute.count() < s.samples.len());
            assert_eq!(brute, tree, "{source:?}");
        }
    }
}

#[test]
fn a_convex_closed_solid_never_shadows_itself_at_any_scale_or_turn() {
    for (body, name) in [(icosphere(3), "sphere"), (cube(), "cube")] {
        for scale in [1e-3, 1.0, 1e3] {
            for degrees in [0.0, 10.0, 123.4] {
                let scene = scene(&scaled(turned(body.clone(), [0.48, 0.6, 0.64], degrees), scale));
                let (s, _) = refined(&scene, 0.2 * scale);
                assert_eq!(s.samples.buried.count(), 0);
                let mut bits = Bits::new(s.samples.len());
                for d in [[0.0, 0.0, 1.0], [0.1, 0.9, 0.3], [-1.0, 0.2, 0.01]] {
                    let source = Source::Direction(Unit::new_normalize(Vector3::from(d)));
                    scene
                        .sight
                        .visible(&s.samples, source, &FaceMask::All, &mut bits, &Watch::quiet())
                        .unwrap();
                    let turned_to = (0..s.samples.len()).filter(|i| source.faces(&s.samples, *i)).count();
                    assert_eq!(bits.count(), turned_to, "{name} scale {scale} turn {degrees}");
                }
            }
        }
    }
}

#[test]
fn samples_inside_another_closed_piece_are_buried() {
    // Two unit spheres, centres 1 apart: the buried cap of each is where the
    // other's centre is nearer than 1, a cap of height 1/2, area π of 4π.
    let mut soup = icosphere(4);
    soup.extend(moved(icosphere(4), [1.0, 0.0, 0.0]));
    let scene = scene(&soup);
    let (s, findings) = refined(&scene, 0.1);
    assert_eq!(findings[0].code, Code::BuriedSamples);
    let mut wrong = 0;
    for i in 0..s.samples.len() {
        let p = s.samples.position[i].cast::<f64>();
        let radii = [p.coords.norm(), (p - Point3::new(1.0, 0.0, 0.0)).norm()];
        // The mesh lies inside the sphere by up to 1 − cos(half an edge).
        if radii.iter().all(|r| (r - 1.0).abs() > 0.003) || radii.iter().any(|r| *r < 0.99) {
            wrong += usize::from(s.samples.buried.get(i) != radii.iter().any(|r| *r < 0.99));
        }
    }
    assert_eq!(wrong, 0);
    let share = s.samples.buried.count() as f64 / s.samples.len() as f64;
    assert!((share - 0.25).abs() < 0.02, "{share}");
}

#[test]
fn no_light_leaks_through_the_walls_of_a_sharp_recess() {
    // At the bottom of a notch only what lies between its walls is seen, and
    // nothing of a single sound piece is buried.
    for lean in [5.5_f64, 20.5, 43.0] {
        for turn in [0.0, 33.0, 211.0] {
            let axis = [0.48, 0.6, 0.64];
            let scene = scene(&turned(notched_block(lean), axis, turn));
            assert!(scene.mesh.pieces().len() == 1 && scene.mesh.pieces()[0].closed);
            let (s, findings) = refined(&scene, 0.5);
            assert!(findings.is_empty() && s.samples.buried.count() == 0, "{lean}: {findings:?}");
            // Where samples and directions come to lie with the block unturned.
            let back = |v: Vector3<f64>| Vector3::from(turned(vec![[v.into(); 3]], axis, -turn)[0][0]);
            let bottom: Vec<usize> = (0..s.samples.len())
                .filter(|i| {
                    let p = back(s.samples.position[*i].coords.cast());
                    p.x.abs() < 1e-5 && (p.z + 4.0).abs() < 1e-5 && p.y.abs() < 4.9
                })
                .collect();
            assert!(bottom.len() > 30);
            let mut bits = Bits::new(s.samples.len());
            for tilt in (-85_i32..=85).step_by(5).map(|t| f64::from(t) + 1.0) {
                let (sine, cosine) = tilt.to_radians().sin_cos();
                let to = turned(vec![[[sine, 0.0, cosine]; 3]], axis, turn)[0][0];
                let source = Source::Direction(Unit::new_normalize(Vector3::from(to)));
                scene.sight.visible(&s.samples, source, &FaceMask::All, &mut bits, &Watch::quiet()).unwrap();
                for i in &bottom {
                    let sees = tilt.abs() < lean && source.faces(&s.samples, *i);
                    assert_eq!(bits.get(*i), sees, "lean {lean}, turned {turn}, light at {tilt}");
                }
            }
        }
    }
}

#[test]
fn a_hollow_prints_inner_wall_is_buried_and_a_turned_piece_is_not() {
    let mut soup = icosphere(3);
    soup.extend(inside_out(scaled(icosphere(3), 0.8)));
    let scene = scene(&soup);
    let (s, _) = refined(&scene, 0.2);
    for i in 0..s.samples.len() {
        assert_eq!(s.samples.buried.get(i), s.samples.position[i].coords.norm() < 0.9);
    }
}

#[test]
fn a_cancel_ends_the_work() {
    let scene = scene(&icosphere(4));
    let (s, _) = refined(&scene, 0.05);
    let watch = Watch::quiet();
    watch.cancel_handle().store(true, std::sync::atomic::Ordering::Relaxed);
    let settings = SurfaceSettings::for_mesh(&scene.mesh);
    assert_eq!(surface(&scene.mesh, &settings, &scene.sight, &watch).map(|_| ()), Err(Stop));
    let up = Source::Direction(Vector3::z_axis());
    let mut bits = Bits::new(s.samples.len());
    assert_eq!(scene.sight.visible(&s.samples, up, &FaceMask::All, &mut bits, &watch), Err(Stop));
}

/// The tree for many rays against the exact test through parry3d's tree.
#[test]
fn the_wide_tree_meets_what_the_exact_test_meets() {
    let watch = Watch::quiet();
    let mut soup = icosphere(3);
    soup.extend(moved(icosphere(3), [0.8, 0.3, 0.4]));
    soup.extend(cuboid([-2.0, -0.7, -1.0], [-1.4, -0.1, 1.5]));
    // Below the post's foot: of two faces at one place either may be told.
    soup.extend(sheet([-4.0, -4.0], [4.0, 4.0], -1.3));
    let (mesh, _) = read(&stl(&soup), &ReadSettings::default(), &watch).expect("a sound model");
    let occluders = Arc::new(Occluders::of(&mesh));
    let exact = TreeSight::new(Arc::clone(&occluders), &watch);
    for refine in [false, true] {
        let how = SurfaceSettings { refine, spacing: Millimetres(0.2), ..SurfaceSettings::for_mesh(&mesh) };
        let (surface, _) = surface(&mesh, &how, &exact, &watch).expect("nobody cancels");
        let tree = SurfaceTree::new(&surface, &occluders, &watch).expect("nobody cancels");
        // A fixed sequence: steps by the golden section and its kin fill the cube evenly.
        let spot =
            |k: u32, by: [f64; 3]| Vector3::from(by).map(|b| 2.0 * (0.5 + b * f64::from(k)).fract() - 1.0);
        let (mut met, mut differ, mut inner) = (0, 0, 0);
        for k in 0..40_000 {
            let origin = Point3::from(5.0 * spot(k, [0.819_172_5, 0.671_043_6, 0.549_700_5])).cast::<f32>();
            let direction = spot(k, [0.618_034, 0.324_718, 0.245_122]).normalize().cast::<f32>();
            let mut out = Vec::new();
            tree.nearest(origin, &[direction], &mut out);
            let there = exact.nearest(origin.cast(), direction.cast(), &FaceMask::All, true);
            let same = match (out[0], there) {
                (None, None) => true,
                (Some(a), Some(b)) => {
                    met += 1;
                    inner += usize::from(!a.front);
                    let corners =
                        surface.faces[a.face as usize].map(|s| surface.samples.position[s as usize]);
                    let at: Vector3<f32> = (0..3).map(|c| corners[c].coords * a.weights[c]).sum();
                    let to = origin.coords + direction * a.distance;
                    assert!((at - to).norm() < 2e-5, "{at} {to}");
                    a.front == b.front && (f64::from(a.distance) - b.distance).abs() < 1e-4
                }
                _ => false,
            };
            differ += usize::from(!same);
        }
        println!("{differ} of {met} differ, {inner} on the inner side");
        assert!(met > 5000 && inner > 1000, "{met} {inner}");
        // Rays that graze an edge may go either way.
        assert!(differ * 2000 < met, "{differ} of {met}");
    }
}

#[test]
fn a_body_with_small_holes_hides_what_is_pushed_into_it_as_the_whole_one_does() {
    let ball = moved(scaled(icosphere(4), 10.0), [0.3, 0.2, 0.1]);
    let arm = turned(cuboid([-1.0, -1.0, 2.0], [1.0, 1.0, 20.0]), [1.0, 0.4, 0.2], 25.0);
    let few = [0, 333, 1024, 1025, 3000, 5000];
    let rest: Vec<Triangle> = (0..ball.len()).filter(|f| !few.contains(f)).map(|f| ball[f]).collect();
    let of = |skin: &[Triangle]| {
        let scene = scene(&[skin, &arm].concat());
        let (surface, _) = refined(&scene, 0.4);
        // The arm's samples and whether they are buried; the ball's that are.
        let mut arm = Vec::new();
        let mut skin = 0;
        let small = (0..2).map(PieceId).find(|p| scene.mesh.pieces()[p.index()].bounds.extents()[0] < 15.0);
        let mut seen = vec![false; surface.samples.len()];
        for (face, piece) in surface.faces.iter().zip(&surface.piece) {
            for s in face.map(|s| s as usize).into_iter().filter(|s| !std::mem::replace(&mut seen[*s], true))
            {
                let buried = surface.samples.buried.get(s);
                if Some(*piece) == small {
                    arm.push((<[f32; 3]>::from(surface.samples.position[s]).map(f32::to_bits), buried));
                } else {
                    skin += usize::from(buried);
                }
            }
        }
        arm.sort_unstable();
        (arm, skin)
    };
    let (whole, holed) = (of(&ball), of(&rest));
    let hidden = whole.0.iter().filter(|s| s.1).count();
    assert!(hidden > 500 && hidden + 500 < whole.0.len(), "{hidden} of {}", whole.0.len());
    let other = whole.0.iter().zip(&holed.0).filter(|(a, b)| a != b).count();
    assert_eq!((whole.0.len(), other), (holed.0.len(), 0));
    // The skin lies within the arm where that comes out.
    assert!(holed.1.abs_diff(whole.1) <= 2 && whole.1 > 0, "{} {}", whole.1, holed.1);
}

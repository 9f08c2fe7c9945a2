//! What must not change the light: turning the scene, its size, more
//! triangles for the same shape, threads, the order in a file.

use crate::{EVEN, Place, bound, lit, occluders, size};
use grisaille_base::{LightId, Millimetres, Watch};
use grisaille_bodies::{Triangle, cuboid, halved, icosphere, moved, scaled, sheet, stl, turned};
use grisaille_light::{Cache, ExposureSettings, Falloff, Kind, Light, exposure, toward, upper_hemisphere};
use grisaille_mesh::{ReadSettings, read};
use grisaille_sight::{
    Bits, FaceMask, Occluders, Samples, Sight, Source, Surface, SurfaceSettings, SweepSight, TreeSight,
    surface,
};
use nalgebra::{Point3, Rotation3, Unit, Vector3};
use std::sync::Arc;

/// Balls that overlap, a post beside them, a ground below.
pub(crate) fn scene() -> Vec<Triangle> {
    let mut soup = icosphere(3);
    soup.extend(moved(icosphere(3), [0.8, 0.3, 0.4]));
    soup.extend(cuboid([-2.0, -0.7, -1.0], [-1.4, -0.1, 1.5]));
    soup.extend(sheet([-4.0, -4.0], [4.0, 4.0], -1.0));
    soup
}

pub(crate) fn whole_surface(soup: &[Triangle], spacing: f64, watch: &Watch) -> (Surface, SweepSight) {
    let (mesh, _) = read(&stl(soup), &ReadSettings::default(), watch).expect("a sound model");
    let occluders = Arc::new(Occluders::of(&mesh));
    let tree = TreeSight::new(Arc::clone(&occluders), watch);
    let how = SurfaceSettings { spacing: Millimetres(spacing), ..SurfaceSettings::for_mesh(&mesh) };
    let (surface, _) = surface(&mesh, &how, &tree, watch).expect("nobody cancels");
    (surface, SweepSight::new(occluders, watch))
}

fn few(count: usize) -> ExposureSettings {
    ExposureSettings { ambient_directions: count, ring_directions: count, soft_directions: count }
}

fn values(surface: &Surface, sight: &SweepSight, kind: Kind, count: usize, watch: &Watch) -> Vec<f32> {
    let lights = [Light { id: LightId(1), name: "test".into(), kind, mask: FaceMask::All }];
    let result = exposure(surface, sight, &lights, &few(count), &mut Cache::default(), watch);
    result.expect("nobody cancels").lights[0].values.to_vec()
}

pub(crate) fn lamp(at: Point3<f64>, radius: f64, scale: f64) -> Kind {
    Kind::Point {
        at: at * scale,
        reference: Millimetres(2.0 * scale),
        radius: Millimetres(radius * scale),
        clear: Millimetres(0.0),
        falloff: Falloff::PHYSICAL,
    }
}

/// The same samples somewhere else.
fn carried(surface: &Surface, turn: &Rotation3<f64>, scale: f64) -> Surface {
    let s = &surface.samples;
    let point = |p: &Point3<f32>| (turn * p.cast::<f64>() * scale).cast();
    let normal = s.normal.iter().map(|n| (turn * n.cast::<f64>()).cast()).collect();
    let mut samples = Samples::new(
        s.position.iter().map(point).collect(),
        normal,
        s.origin.iter().map(point).collect(),
        s.offset * scale,
    );
    samples.buried = s.buried.clone();
    Surface { samples, ..surface.clone() }
}

/// How many values differ by more than rounding, and by how much the worst.
fn compare(one: &[f32], two: &[f32]) -> (usize, f64) {
    let apart = one.iter().zip(two).map(|(a, b)| f64::from((a - b).abs()));
    apart.fold((0, 0.0), |(n, worst), d| (n + usize::from(d > 1e-4), f64::max(worst, d)))
}

#[test]
fn model_and_light_turned_together_give_the_same() {
    let watch = Watch::quiet();
    let soup = scene();
    let (surface, sight) = whole_surface(&soup, 0.5, &watch);
    let at = Point3::new(0.2, -2.0, 1.3);
    for (axis, degrees) in [([0.6, 0.0, 0.8], 50.0_f64), ([0.48, 0.6, 0.64], 163.0), ([1.0, 0.0, 0.0], 90.0)]
    {
        let turn =
            Rotation3::from_axis_angle(&Unit::new_normalize(Vector3::from(axis)), degrees.to_radians());
        let other = SweepSight::new(occluders(&turned(soup.clone(), axis, degrees)), &watch);
        let there = carried(&surface, &turn, 1.0);
        let to = turn * toward(25.0, 40.0).into_inner();
        let (tilt, azimuth) = (to.z.clamp(-1.0, 1.0).acos().to_degrees(), to.x.atan2(-to.y).to_degrees());
        for (one, two) in [
            (
                Kind::Zenithal { tilt: 25.0, azimuth: 40.0, radius: 0.0 },
                Kind::Zenithal { tilt, azimuth, radius: 0.0 },
            ),
            (lamp(at, 0.0, 1.0), lamp(turn * at, 0.0, 1.0)),
        ] {
            let first = values(&surface, &sight, one, 1, &watch);
            let dark = first.iter().filter(|v| **v == 0.0).count();
            assert!((first.len() / 5..first.len() * 4 / 5).contains(&dark), "{dark} of {} dark", first.len());
            let second = values(&there, &other, two, 1, &watch);
            let (differ, _) = compare(&first, &second);
            println!("{degrees}°, {one:?}: {differ} of {} differ", first.len());
            // One in a thousand may stand on the very edge of a shadow.
            assert!(differ * 1000 <= first.len(), "{degrees}°, {one:?}: {differ} of {}", first.len());
        }
        // The points on a lamp's glass do not turn with it.
        let one = values(&surface, &sight, lamp(at, 0.3, 1.0), 256, &watch);
        let two = values(&there, &other, lamp(turn * at, 0.3, 1.0), 256, &watch);
        let sharp = values(&surface, &sight, lamp(at, 0.0, 1.0), 1, &watch);
        let brightest = f64::from(sharp.iter().fold(0.0_f32, |m, x| m.max(*x)));
        let (_, worst) = compare(&one, &two);
        assert!(worst <= 2.0 * bound(256) * brightest, "{degrees}°: {worst}");
    }
}

#[test]
fn turned_about_the_upright_axis_sky_and_ring_give_the_same() {
    let watch = Watch::quiet();
    let soup = scene();
    let (surface, sight) = whole_surface(&soup, 0.4, &watch);
    for (degrees, ring_repeats) in [(75.0_f64, true), (37.0, false)] {
        let turn = Rotation3::from_axis_angle(&Vector3::z_axis(), degrees.to_radians());
        let other = SweepSight::new(occluders(&turned(soup.clone(), [0.0, 0.0, 1.0], degrees)), &watch);
        let there = carried(&surface, &turn, 1.0);
        let [ambient, ring] = [(EVEN, 256), (Kind::Ring, 48)].map(|(kind, count)| {
            compare(
                &values(&surface, &sight, kind, count, &watch),
                &values(&there, &other, kind, count, &watch),
            )
        });
        assert!(ambient.1 <= 2.0 * bound(256), "{degrees}°: {ambient:?}");
        if ring_repeats {
            // 75° is ten steps of 48: the same directions again.
            assert!(ring.0 * 1000 <= surface.samples.len(), "{ring:?}");
        }
        // On a line of directions one part more or less is in view.
        assert!(ring.1 <= 8.0 / 48.0, "{degrees}°: {ring:?}");
    }
}

#[test]
fn size_does_not_matter() {
    let watch = Watch::quiet();
    let soup = scene();
    let (surface, sight) = whole_surface(&soup, 0.3, &watch);
    let at = Point3::new(0.2, -2.0, 1.3);
    let kinds = |scale| {
        [
            (EVEN, 32),
            (Kind::Ring, 16),
            (lamp(at, 0.3, scale), 32),
            (Kind::Zenithal { tilt: 25.0, azimuth: 40.0, radius: 0.0 }, 1),
        ]
    };
    let first: Vec<Vec<f32>> =
        kinds(1.0).iter().map(|(kind, n)| values(&surface, &sight, *kind, *n, &watch)).collect();
    for scale in [1e-3, 1e-2, 0.1, 10.0, 100.0, 1e3] {
        let other = SweepSight::new(occluders(&scaled(soup.clone(), scale)), &watch);
        let there = carried(&surface, &Rotation3::identity(), scale);
        for ((kind, n), first) in kinds(scale).iter().zip(&first) {
            let (differ, worst) = compare(first, &values(&there, &other, *kind, *n, &watch));
            println!("× {scale}, {kind:?}: {differ} of {} differ, by {worst:.4}", first.len());
            // A sample on a shadow's edge may change sides for one direction.
            assert!(differ * 500 <= first.len(), "× {scale}, {kind:?}: {differ} of {}", first.len());
        }
        // And the whole way from the file again: a ball never shades itself.
        let ball = scaled(icosphere(3), scale);
        let (ball, sight) = whole_surface(&ball, 0.2 * scale, &watch);
        for (n, e) in ball.samples.normal.iter().zip(values(&ball, &sight, EVEN, 32, &watch)) {
            assert!((e - 0.5 * (1.0 + n.z)).abs() < 1e-6, "× {scale}: {n} {e}");
        }
    }
}

#[test]
fn more_triangles_for_the_same_shape_flip_at_most_one_pair_in_a_million() {
    let watch = Watch::quiet();
    // To the rounding of the file, whose numbers are f32, the shape is the same.
    let soup: Vec<Triangle> = scene().iter().map(|t| t.map(|p| p.map(|x| f64::from(x as f32)))).collect();
    let (surface, one) = whole_surface(&soup, 0.3, &watch);
    let two = SweepSight::new(occluders(&halved(&soup)), &watch);
    let samples = &surface.samples;
    let (mut before, mut after) = (Bits::new(samples.len()), Bits::new(samples.len()));
    let (mut pairs, mut flips) = (0_u64, 0_u64);
    for direction in upper_hemisphere(640) {
        let source = Source::Direction(direction);
        one.visible(samples, source, &FaceMask::All, &mut before, &watch).expect("nobody cancels");
        two.visible(samples, source, &FaceMask::All, &mut after, &watch).expect("nobody cancels");
        pairs += (0..samples.len()).filter(|i| source.faces(samples, *i)).count() as u64;
        flips += before
            .words()
            .iter()
            .zip(after.words())
            .map(|(a, b)| u64::from((a ^ b).count_ones()))
            .sum::<u64>();
    }
    println!("{flips} of {pairs} pairs flipped");
    assert!(pairs > 1_200_000, "{pairs} pairs are too few to tell");
    assert!(flips * 1_000_000 <= pairs, "{flips} of {pairs} pairs flipped");
}

#[test]
fn any_number_of_threads_and_one_run_after_another_give_the_same_bits() {
    // Fine enough that the work falls into many tiles.
    let kinds = [
        (EVEN, 8),
        (Kind::Ring, 4),
        (lamp(Point3::new(0.2, -2.0, 1.3), 0.3, 1.0), 4),
        (Kind::Zenithal { tilt: 25.0, azimuth: 40.0, radius: 10.0 }, 4),
    ];
    let runs = [1, 2, 2, 5].map(|threads| {
        let watch = Watch::with_threads(threads).expect("threads");
        let (surface, sight) = whole_surface(&scene(), 0.07, &watch);
        let bits: Vec<Vec<u32>> = kinds
            .iter()
            .map(|(kind, n)| {
                values(&surface, &sight, *kind, *n, &watch).iter().map(|v| v.to_bits()).collect()
            })
            .collect();
        (surface, bits)
    });
    let [first, others @ ..] = &runs;
    assert!(first.0.samples.len() > 40_000, "{}", first.0.samples.len());
    for other in others {
        assert!(first.0 == other.0, "another surface");
        assert!(first.1 == other.1, "other light");
    }
}

#[test]
fn a_shuffled_file_gives_the_same_bits() {
    let watch = Watch::quiet();
    let soup = scene();
    let n = soup.len();
    // 7919 is a prime that does not divide the count, so each comes once.
    assert_ne!(n % 7919, 0);
    let mut shuffled: Vec<Triangle> = (0..n).map(|i| soup[(i * 7919 + 13) % n]).collect();
    for (i, t) in shuffled.iter_mut().enumerate() {
        t.rotate_left(i % 3);
    }
    assert_ne!(soup, shuffled);
    let [one, two] = [&soup, &shuffled].map(|soup| {
        let (surface, sight) = whole_surface(soup, 0.3, &watch);
        let bits = [EVEN, lamp(Point3::new(0.2, -2.0, 1.3), 0.3, 1.0)].map(|kind| {
            values(&surface, &sight, kind, 32, &watch).iter().map(|v| v.to_bits()).collect::<Vec<_>>()
        });
        (surface, bits)
    });
    assert_eq!(one.0, two.0);
    assert_eq!(one.1, two.1);
}

#[test]
fn a_receiver_s_value_does_not_depend_on_its_neighbours() {
    // The engine works in batches; a batch of one must answer the same.
    let soup = moved(icosphere(3), [0.0, 0.0, 1.0]);
    let places: Vec<Place> = (0..200)
        .map(|i| {
            let a = f64::from(i) * 2.4;
            let r = 0.3 + 0.02 * f64::from(i);
            (Point3::new(r * a.cos(), r * a.sin(), 0.0), Vector3::z())
        })
        .collect();
    assert!(size(&soup) >= 2.0);
    let all = lit(&soup, &places, EVEN, 64);
    for i in (0..200).step_by(17) {
        assert_eq!(lit(&soup, &places[i..=i], EVEN, 64)[0], all[i], "{i}");
    }
}

//! Exposure against closed forms. Sources are named beside each check:
//! "Howell" is J. R. Howell, A Catalog of Radiation Heat Transfer
//! Configuration Factors; "Lambert" his cosine law and the inverse square law
//! (Photometria, 1760).

use grisaille_base::{LightId, Millimetres, Watch};
use grisaille_bodies::{Triangle, cube, cuboid, icosphere, moved, sheet, stl};
use grisaille_light::{Cache, ExposureSettings, Falloff, Kind, Light, Sky, exposure, ring_open};
use grisaille_mesh::{ReadSettings, read};
use grisaille_sight::{FaceMask, Occluders, Surface, SurfaceSettings, SweepSight, TreeSight, surface};
use nalgebra::Point3;
use std::sync::Arc;

struct Lit {
    surface: Surface,
    values: Vec<f32>,
}

fn lit(soup: &[Triangle], spacing: f64, kind: Kind, settings: ExposureSettings, watch: &Watch) -> Lit {
    let (mesh, _) = read(&stl(soup), &ReadSettings::default(), watch).expect("a sound model");
    let occluders = Arc::new(Occluders::of(&mesh));
    let tree = TreeSight::new(Arc::clone(&occluders), watch);
    let sight = SweepSight::new(occluders, watch);
    let how = SurfaceSettings { spacing: Millimetres(spacing), ..SurfaceSettings::for_mesh(&mesh) };
    let (surface, _) = surface(&mesh, &how, &tree, watch).expect("nobody cancels");
    let lights = [Light { id: LightId(1), name: "test".into(), kind, mask: FaceMask::All }];
    let result = exposure(&surface, &sight, &lights, &settings, &mut Cache::default(), watch);
    let values = result.expect("nobody cancels").lights[0].values.to_vec();
    Lit { surface, values }
}

fn simply(soup: &[Triangle], spacing: f64, kind: Kind) -> Lit {
    lit(soup, spacing, kind, ExposureSettings::default(), &Watch::quiet())
}

impl Lit {
    /// Every sample's position, normal and value.
    fn each(&self) -> impl Iterator<Item = (Point3<f64>, nalgebra::Vector3<f64>, f64)> + '_ {
        let s = &self.surface.samples;
        (0..s.len()).map(|i| (s.position[i].cast(), s.normal[i].cast(), f64::from(self.values[i])))
    }

    /// The value of the sample nearest to a point.
    fn at(&self, p: [f64; 3]) -> f64 {
        let p = Point3::from(p);
        self.each().min_by(|a, b| (a.0 - p).norm().total_cmp(&(b.0 - p).norm())).expect("samples").2
    }

    fn area_mean(&self) -> f64 {
        let (mut sum, mut area) = (0.0, 0.0);
        for (f, face) in self.surface.faces.iter().enumerate() {
            let a = self.surface.face_area(f);
            area += a;
            sum += a * face.iter().map(|s| f64::from(self.values[*s as usize])).sum::<f64>() / 3.0;
        }
        sum / area
    }
}

/// Ambient light from a uniform sky.
const EVEN: Kind = Kind::Ambient { sky: Sky::Uniform };

const STRAIGHT_DOWN: Kind = Kind::Zenithal { tilt: 0.0, azimuth: 0.0, radius: 0.0 };

#[test]
fn sphere_under_zenithal_light_follows_the_cosine() {
    // Lambert: max(0, cos θ); a sphere's mean of it is 1/4 (Howell's projected area).
    let ball = simply(&icosphere(5), 1.0, STRAIGHT_DOWN);
    for (p, n, e) in ball.each() {
        assert!((e - p.z.max(0.0)).abs() < 0.01, "{p}: {e}");
        if n.z < 0.0 {
            assert_eq!(e, 0.0);
        }
    }
    assert!((ball.area_mean() - 0.25).abs() < 0.002, "{}", ball.area_mean());
}

#[test]
fn sphere_under_ambient_light_gets_half_of_one_plus_cosine() {
    // Howell: tilted element to the sky above black ground, (1 + cos θ)/2.
    let ball = simply(&icosphere(4), 1.0, EVEN);
    for (p, _, e) in ball.each() {
        assert!((e - 0.5 * (1.0 + p.z)).abs() < 0.01, "{p}: {e}");
    }
    assert!((ball.area_mean() - 0.5).abs() < 0.005);
}

#[test]
fn sphere_under_the_ring_follows_its_closed_form() {
    // The closed form itself against a fine sum over the ring.
    for degrees in [0.0_f64, 20.0, 45.0, 60.0, 90.0, 120.0, 134.0, 150.0] {
        let (s, c) = degrees.to_radians().sin_cos();
        let n = 100_000;
        let sum: f64 = (0..n)
            .map(|i| ((std::f64::consts::TAU * f64::from(i) / f64::from(n)).cos() * s + c).max(0.0))
            .sum();
        assert!((ring_open(c) - sum / f64::from(n)).abs() < 1e-6, "{degrees}");
    }
    let ball = simply(&icosphere(4), 1.0, Kind::Ring);
    for (p, n, e) in ball.each() {
        assert!((e - ring_open(n.z)).abs() < 0.01, "{p}: {e}");
    }
}

#[test]
fn cube_is_lit_by_faces_and_nothing_smears() {
    // Lambert on six planes: 1 on top, 0 on sides and bottom.
    let straight = simply(&cube(), 0.2, STRAIGHT_DOWN);
    for (_, n, e) in straight.each() {
        assert_eq!(e, if n.z > 0.5 { 1.0 } else { 0.0 });
    }
    // Tilted 45° to the front: cos 45° on top and front, 0 elsewhere.
    let tilted = simply(&cube(), 0.2, Kind::Zenithal { tilt: 45.0, azimuth: 0.0, radius: 0.0 });
    for (_, n, e) in tilted.each() {
        let expected = if n.z > 0.5 || n.y < -0.5 { std::f64::consts::FRAC_1_SQRT_2 } else { 0.0 };
        assert!((e - expected).abs() < 1e-6, "{n}: {e}");
    }
    // Azimuth 90° is +X, the viewer's right.
    let right = simply(&cube(), 0.2, Kind::Zenithal { tilt: 90.0, azimuth: 90.0, radius: 0.0 });
    for (_, n, e) in right.each() {
        assert!((e - n.x.max(0.0)).abs() < 1e-6);
    }
}

#[test]
fn a_soft_zenithal_light_gives_an_open_surface_facing_it_one() {
    let kind = Kind::Zenithal { tilt: 30.0, azimuth: 200.0, radius: 20.0 };
    let ball = simply(&icosphere(5), 1.0, kind);
    let best = ball.each().map(|(.., e)| e).fold(0.0, f64::max);
    assert!((best - 1.0).abs() < 0.003, "{best}");
}

#[test]
fn a_tall_box_on_a_two_triangle_plate_casts_its_shadow_where_it_should() {
    // Light 45° from the front: the shadow of a box 4 high falls 4 behind it.
    let mut soup = cuboid([-1.0, -1.0, 0.0], [1.0, 1.0, 4.0]);
    soup.extend(sheet([-10.0, -10.0], [10.0, 10.0], 0.0));
    let spacing = 0.25;
    let kind = Kind::Zenithal { tilt: 45.0, azimuth: 0.0, radius: 0.0 };
    let plate = simply(&soup, spacing, kind);
    for (p, n, e) in plate.each() {
        // Under the box itself it is dark anyway; the sheet is open, not buried.
        if n.z < 0.5 || p.z > 0.1 || (p.x.abs() < 1.001 && p.y.abs() < 1.001) {
            continue;
        }
        let outside = |x: f64| (p.x.abs() - 1.0).max(-1.0 - p.y).max(p.y - 5.0) > x;
        if outside(1e-4) {
            assert!(e > 0.7, "{p}: {e}");
        } else if !outside(-1e-4) {
            assert_eq!(e, 0.0, "{p}");
        }
    }
    // And samples stand within one spacing on both sides of the edge at y = 5.
    let lit = |low: f64, high: f64, want: bool| {
        plate
            .each()
            .any(|(p, _, e)| p.z < 0.1 && p.x.abs() < 0.5 && p.y > low && p.y < high && (e > 0.5) == want)
    };
    assert!(lit(5.0 - spacing, 5.0, false) && lit(5.0, 5.0 + spacing, true));
}

#[test]
fn ground_beside_a_resting_sphere_is_hidden_by_its_view_factor() {
    // Howell, element to sphere: a unit sphere resting on the ground at
    // distance x from the element hides (1 + x²)^(−3/2) of its sky.
    // Here on a whole surface; tests/forms has more forms at more counts.
    let mut soup = moved(icosphere(4), [0.0, 0.0, 1.0]);
    soup.extend(sheet([-4.0, -4.0], [4.0, 4.0], 0.0));
    for directions in [64, 256, 1024] {
        let settings = ExposureSettings { ambient_directions: directions, ..Default::default() };
        let ground = lit(&soup, 0.5, EVEN, settings, &Watch::quiet());
        let (mut worst, mut seen) = (0.0_f64, 0);
        for (p, n, e) in ground.each().filter(|(p, ..)| p.z < 1e-6) {
            let x = p.x.hypot(p.y);
            if n.z > 0.9 && (0.5..3.0).contains(&x) {
                seen += 1;
                worst = worst.max((1.0 - e - (1.0 + x * x).powf(-1.5)).abs());
            }
        }
        assert!(seen > 150, "{seen}");
        assert!(worst <= 2.0 * (directions as f64).powf(-0.75), "{directions}: {worst}");
    }
}

fn lamp(at: [f64; 3], radius: f64) -> Kind {
    Kind::Point {
        at: Point3::from(at),
        reference: Millimetres(2.0),
        radius: Millimetres(radius),
        clear: Millimetres(0.0),
        falloff: Falloff::PHYSICAL,
    }
}

#[test]
fn a_point_light_follows_the_inverse_square_and_cosine_laws() {
    // Lambert: E = cos θ (r₀/r)².
    let plate = simply(&sheet([-5.0, -5.0], [5.0, 5.0], 0.0), 0.5, lamp([0.5, 0.25, 3.0], 0.0));
    for (p, _, e) in plate.each() {
        let r = (p - Point3::new(0.5, 0.25, 3.0)).norm();
        let expected = 3.0 / r * (2.0 / r).powi(2);
        assert!((e - expected).abs() < 1e-5 * expected.max(1.0), "{p}: {e} {expected}");
    }
    // Below its horizon a surface gets nothing, and the far side of a ball neither.
    let ball = simply(&icosphere(4), 1.0, lamp([0.0, 0.0, 3.0], 0.0));
    for (p, _, e) in ball.each() {
        if p.z < 1.0 / 3.0 - 0.01 {
            assert_eq!(e, 0.0, "{p}");
        }
    }
    assert!((ball.at([0.0, 0.0, 1.0]) - 1.0).abs() < 1e-3);
}

#[test]
fn a_painters_falloff_bends_the_lamp_and_nothing_else() {
    // Stated at `Kind::Point`: cos θ · (r₀/r)ᵖ · f(r), f as at `Falloff::fade`.
    let (soup, place) = (sheet([-5.0, -5.0], [5.0, 5.0], 0.0), Point3::new(0.5, 0.25, 3.0));
    for (exponent, reach, softness, glass) in
        [(1.0, f64::INFINITY, 1.0, 0.0), (3.0, 5.0, 1.0, 0.0), (1.5, 4.5, 0.4, 0.5), (2.0, 6.0, 0.2, 0.5)]
    {
        let mut kind = lamp(place.into(), glass);
        if let Kind::Point { falloff, .. } = &mut kind {
            *falloff = Falloff { exponent, reach: Millimetres(reach), softness };
        }
        let mut ended = 0;
        for (p, _, e) in simply(&soup, 0.5, kind).each() {
            let r = (p - place).norm();
            let t = ((reach - r) / (softness * reach)).clamp(0.0, 1.0);
            let fade = if reach.is_finite() { t * t * (3.0 - 2.0 * t) } else { 1.0 };
            let expected = 3.0 / r * (2.0 / r).powf(exponent) * fade;
            assert!((e - expected).abs() < 1e-5 * expected.max(1.0), "{p}: {e} {expected}");
            if r >= reach {
                ended += 1;
                assert_eq!(e, 0.0, "{p}");
            }
        }
        assert_eq!(ended > 0, reach.is_finite(), "a reach beyond the plate tests no end");
    }
}

#[test]
fn a_steep_falloff_close_to_a_sample_stays_a_number() {
    let mut kind = lamp([0.0, 0.0, 1e-12], 0.0);
    if let Kind::Point { falloff, .. } = &mut kind {
        falloff.exponent = 6.0;
    }
    for (p, _, e) in simply(&sheet([-5.0, -5.0], [5.0, 5.0], 0.0), 1.0, kind).each() {
        assert!(e.is_finite() && e >= 0.0, "{p}: {e}");
    }
}

#[test]
fn a_lamp_with_a_radius_is_the_same_wherever_all_of_it_is_in_view() {
    let soup = sheet([-5.0, -5.0], [5.0, 5.0], 0.0);
    let sharp = simply(&soup, 0.5, lamp([0.0, 0.0, 3.0], 0.0));
    let soft = simply(&soup, 0.5, lamp([0.0, 0.0, 3.0], 0.5));
    for ((p, _, a), (.., b)) in sharp.each().zip(soft.each()) {
        // All of it stands above the plate's horizon, everywhere.
        assert!((a - b).abs() < 1e-5, "{p}: {a} {b}");
    }
}

#[test]
fn no_dark_seam_stands_where_two_spheres_overlap() {
    let mut soup = icosphere(4);
    soup.extend(moved(icosphere(4), [0.0, 1.0, 0.0]));
    let pair = simply(&soup, 0.1, STRAIGHT_DOWN);
    let s = &pair.surface;
    let mut seen = 0;
    for i in 0..s.samples.len() {
        if s.samples.buried.get(i) {
            assert_eq!(pair.values[i], 0.0);
        } else if s.samples.position[i].z > 0.3 {
            // The upper open side is lit by the plain cosine, up to the seam.
            seen += 1;
            let n = s.samples.normal[i].z;
            assert!((pair.values[i] - n).abs() < 1e-4, "{}", s.samples.position[i]);
        }
    }
    assert!(seen > 500);
}

#[test]
fn unchanged_lights_come_from_the_cache() {
    let watch = Watch::quiet();
    let (mesh, _) = read(&stl(&icosphere(3)), &ReadSettings::default(), &watch).unwrap();
    let occluders = Arc::new(Occluders::of(&mesh));
    let tree = TreeSight::new(Arc::clone(&occluders), &watch);
    let sight = SweepSight::new(occluders, &watch);
    let how = SurfaceSettings { spacing: Millimetres(0.2), ..SurfaceSettings::for_mesh(&mesh) };
    let (surface, _) = surface(&mesh, &how, &tree, &watch).unwrap();
    let light = |id, kind| Light { id: LightId(id), name: format!("l{id}"), kind, mask: FaceMask::All };
    let mut kept = Cache::default();
    let mut run = |lights: &[Light]| {
        let before =
            watch.records().iter().map(|(_, r)| r.counts.get("pairs").copied().unwrap_or(0)).sum::<u64>();
        let e = exposure(&surface, &sight, lights, &ExposureSettings::default(), &mut kept, &watch).unwrap();
        let after =
            watch.records().iter().map(|(_, r)| r.counts.get("pairs").copied().unwrap_or(0)).sum::<u64>();
        (e, after - before)
    };
    let (first, worked) = run(&[light(1, EVEN), light(2, STRAIGHT_DOWN)]);
    assert!(worked > 0);
    let (again, none) = run(&[light(1, EVEN), light(2, STRAIGHT_DOWN)]);
    assert_eq!((none, &again), (0, &first));
    let (_, some) = run(&[light(1, EVEN), light(2, lamp([0.0, 0.0, 4.0], 0.0))]);
    assert!(some > 0 && some < worked / 20);
}

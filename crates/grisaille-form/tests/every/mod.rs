//! Every public function over one mesh, and what must hold of its answers whatever the mesh:
//! numbers are finite and within their bounds, and places lie on the model.

use grisaille_base::{Millimetres, RegionId, Watch};
use grisaille_form::{
    Anchor, BrushShape, Curvature, Division, Edit, FLOWS_IN, Ground, GroundSettings, HeightMap, Line,
    LineSettings, NOTHING, Regions, Seed, Shape, Source, SpotSettings, StrokeCount, angle_defects,
    before_gluing, closed, curvature, edges, hollows, parted, rank_by_light, reach, reach_by_region,
    recesses, repeats, seams, spots, strokes,
};
use grisaille_light::{OpennessSettings, openness};
use grisaille_mesh::Mesh;
use grisaille_sight::{Occluders, Surface, SurfaceSettings, TreeSight, default_spacing, surface};
use nalgebra::{Point3, Vector3};
use std::f64::consts::{PI, TAU};
use std::sync::Arc;

const STAYS: &str = "nobody cancels";

/// Calls all of it on a surface so many times as coarse as usual, and panics with `name` where an
/// answer cannot be.
pub(crate) fn every(name: &str, mesh: &Mesh, coarser: f64, watch: &Watch) {
    let sight = TreeSight::new(Arc::new(Occluders::of(mesh)), watch);
    let spacing = coarser * default_spacing(mesh).0;
    let settings = SurfaceSettings { spacing: Millimetres(spacing), ..SurfaceSettings::for_mesh(mesh) };
    let (surface, _) = surface(mesh, &settings, &sight, watch).expect(STAYS);
    let settings = GroundSettings { patch: Millimetres(coarser * GroundSettings::for_mesh(mesh).patch.0) };
    let ground = Ground::of(&surface, mesh, &settings, watch).expect(STAYS);
    let shape = ground.shape();
    shape_is_sound(name, shape, watch);
    let regions = regions_are_sound(name, mesh, &surface, &ground, watch);
    let lines = LineSettings::for_brush(Millimetres(1.5 * spacing));
    let curved = curved(name, shape, lines.radius(), watch);
    let open = openness(&surface, &sight, &OpennessSettings { reach: lines.reach, directions: 8 }, watch);
    let open = open.expect(STAYS);
    let of_face: Vec<f32> =
        surface.faces.iter().map(|f| f.iter().map(|s| open[*s as usize] / 3.0).sum()).collect();
    for find in [recesses, edges] {
        let mut found = find(shape, &curved, &lines, watch).expect(STAYS);
        lines_are_sound(name, shape, &found, &lines, &regions);
        rank_by_light(&mut found, &of_face);
        lines_are_sound(name, shape, &found, &lines, &regions);
    }
    let found = seams(&surface, shape, &curved, &lines, watch).expect(STAYS);
    lines_are_sound(name, shape, &found, &lines, &regions);
    let apart_mm = 10.0 * spacing;
    for light in [None, Some(&of_face[..]), Some(&[][..])] {
        let settings = SpotSettings { most: 12, apart_mm };
        let found = spots(shape, &curved, (&lines, &settings), light, watch).expect(STAYS);
        assert!(found.len() <= 12, "{name}: {} spots", found.len());
        for spot in found {
            assert!(spot.strength.is_finite() && spot.strength >= 0.0, "{name}: {spot:?}");
            near(name, shape, spot.face, spot.point, 1e-3 * apart_mm);
        }
    }
    let found = hollows(shape, &of_face, 0.5, 0.0, watch).expect(STAYS);
    for hollow in &found {
        assert!(hollow.area_mm2.is_finite() && hollow.area_mm2 > 0.0, "{name}: {hollow:?}");
        assert!((0.0..=0.5001).contains(&hollow.openness), "{name}: {}", hollow.openness);
        on_any(name, shape, hollow.faces.iter().map(|f| *f as usize), hollow.place, 1e-3 * apart_mm);
    }
    let painted: Vec<Option<RegionId>> = regions
        .of_face
        .iter()
        .enumerate()
        .map(|(f, r)| (surface.open_corners(f) > 0).then_some(*r))
        .collect();
    strokes_are_sound(name, mesh, shape, (&painted, &regions), watch);
    for group in repeats(shape, &painted, watch).expect(STAYS) {
        assert!(group.len() > 1 && group.windows(2).all(|w| w[0] < w[1]), "{name}: {group:?}");
    }
    reach_is_sound(name, mesh, (&surface, &sight), &regions, watch);
}

fn shape_is_sound(name: &str, shape: &Shape, watch: &Watch) {
    assert!(shape.positions().iter().all(|p| p.coords.iter().all(|x| x.is_finite())), "{name}");
    for (normal, area) in shape.normals().iter().zip(shape.areas()) {
        unit_or_none(name, *normal);
        assert!(area.is_finite() && *area >= 0.0, "{name}: {area}");
    }
    for half in 0..3 * shape.faces().len() as u32 {
        let turn = shape.turn(half);
        assert!(turn.is_finite() && turn.abs() <= PI + 1e-9, "{name}: {turn}");
        match shape.across(half) {
            Some(twin) => {
                assert_eq!(shape.across(twin), Some(half), "{name}");
                assert_eq!(shape.ends(twin), [shape.ends(half)[1], shape.ends(half)[0]], "{name}");
                assert!((turn - shape.turn(twin)).abs() < 1e-6, "{name}: {turn} {}", shape.turn(twin));
            }
            None => assert_eq!(turn, 0.0, "{name}"),
        }
    }
    let defects = angle_defects(shape, watch).expect(STAYS);
    assert_eq!(defects.len(), shape.positions().len(), "{name}");
    assert!(defects.iter().all(|d| d.is_finite()), "{name}");
    // Descartes: with the fans of each vertex as vertices the sum is 2π times a whole number, if the
    // angles of every face sum to π, which those of one without area do not.
    if shape.areas().contains(&0.0) {
        return;
    }
    let sum = defects.iter().sum::<f64>() / TAU;
    assert!((sum - sum.round()).abs() < 1e-5 * (defects.len() as f64).sqrt().max(10.0), "{name}: {sum} · 2π");
}

pub(crate) fn curved(name: &str, shape: &Shape, radius: Millimetres, watch: &Watch) -> Curvature {
    let curved = curvature(shape, radius, watch).expect(STAYS);
    assert_eq!(curved.most.len(), shape.positions().len(), "{name}");
    for v in 0..curved.most.len() {
        let (most, least) = (curved.most[v], curved.least[v]);
        assert!(most.is_finite() && least.is_finite() && most >= least, "{name}: {most} {least}");
        unit_or_none(name, curved.along_most[v]);
        unit_or_none(name, curved.normal[v]);
        assert!(curved.normal[v].dot(&curved.along_most[v]).abs() < 1e-3, "{name}");
    }
    curved
}

fn lines_are_sound(name: &str, shape: &Shape, found: &[Line], settings: &LineSettings, regions: &Regions) {
    assert!(found.windows(2).all(|w| w[0].importance >= w[1].importance), "{name}");
    for line in found {
        let numbers = [line.length, line.width, line.depth, line.turn, line.radius, line.importance];
        assert!(numbers.iter().all(|x| x.is_finite() && *x >= 0.0), "{name}: {numbers:?}");
        assert!(
            line.length >= settings.shortest.0 && line.depth >= settings.shallowest.0,
            "{name}: {numbers:?}"
        );
        assert!(line.points.len() >= 2 && line.turn <= 360.0, "{name}: {numbers:?}");
        assert!(line.faces.len() == line.points.len() && line.beside.len() == line.points.len(), "{name}");
        assert!(line.beside.iter().flatten().all(|f| (*f as usize) < shape.faces().len()), "{name}");
        for (face, point) in line.faces.iter().zip(&line.points) {
            // Ends are drawn out to where lines meet, and places evened out along the line.
            near(name, shape, *face, *point, 2.0 * settings.radius().0);
        }
        if let Some([a, b]) = parted(line, &regions.of_face) {
            assert!(a < b && b.index() < regions.regions.len(), "{name}");
        }
    }
}

fn strokes_are_sound(
    name: &str,
    mesh: &Mesh,
    shape: &Shape,
    (painted, regions): (&[Option<RegionId>], &Regions),
    watch: &Watch,
) {
    let tall = mesh.bounds().diagonal();
    let curved = curved(name, shape, Millimetres(tall / 30.0), watch);
    let count = StrokeCount { apart: Millimetres(tall / 10.0), most: 16 };
    for stroke in strokes(shape, &curved, painted, count, watch).expect(STAYS) {
        assert!(stroke.region.index() < regions.regions.len(), "{name}");
        assert!((0.0..=1.0).contains(&stroke.sure), "{name}: {stroke:?}");
        assert!((stroke.along.norm() - 1.0).abs() < 1e-3, "{name}: {stroke:?}");
        assert!((stroke.across.norm() - 1.0).abs() < 1e-3, "{name}: {stroke:?}");
        assert!(stroke.along.dot(&stroke.across).abs() < 1e-3, "{name}: {stroke:?}");
        on_any(name, shape, 0..shape.faces().len(), stroke.at, 1e-3 * tall);
    }
}

fn regions_are_sound(name: &str, mesh: &Mesh, surface: &Surface, ground: &Ground, watch: &Watch) -> Regions {
    let count = surface.faces.len();
    let at = |share: usize| {
        let face = ground.shape().faces()[(count - 1) * share / 7];
        let [a, b, c] = face.map(|v| ground.shape().positions()[v as usize].coords);
        Anchor { point: Point3::from((a + b + c) / 3.0), normal: None }
    };
    let odd = Anchor { point: [f32::NAN, f32::INFINITY, 1e30].into(), normal: Some(Vector3::zeros()) };
    let far = Anchor { point: [1e30, -1e30, 1e30].into(), normal: Some([f32::NAN; 3].into()) };
    let seeds = [at(1), at(3), at(6), odd, far].into_iter().enumerate();
    let seeds: Vec<Seed> = seeds.map(|(i, anchor)| Seed { region: RegionId(i as u16 / 2), anchor }).collect();
    let natural = ground.natural_count();
    assert!(natural >= 1 && natural <= ground.patches().max(1), "{name}: {natural}");
    let level = ground.level(natural, watch).expect(STAYS);
    let edits = vec![
        Edit::Grow("grown".into(), vec![at(2), odd]),
        Edit::Merge(vec![at(0), at(7), far]),
        Edit::Rename(at(0), "grown".into()),
        Edit::Lock(at(5)),
        Edit::Split(vec![at(0), at(7), at(1)]),
        Edit::Recolour(odd, [1, 2, 3]),
        Edit::Unlock(at(5)),
    ];
    let all = [
        ground.by_piece(),
        ground.level(1, watch).expect(STAYS),
        ground.level(usize::MAX, watch).expect(STAYS),
        ground.grow(&seeds, &["a".into()], None, watch).expect(STAYS),
        ground.grow(&seeds, &[], Some(&level), watch).expect(STAYS),
        ground.divide(&Division { source: Source::Shape, edits: edits.clone() }, watch).expect(STAYS),
        ground.divide(&Division { source: Source::Pieces, edits }, watch).expect(STAYS),
        level.clone(),
    ];
    assert_eq!(all[0].regions.len(), mesh.pieces().len().min(usize::from(u16::MAX) + 1), "{name}");
    for regions in all {
        assert_eq!(regions.of_face.len(), count, "{name}");
        assert!(regions.of_face.iter().all(|r| r.index() < regions.regions.len()), "{name}");
        for region in &regions.regions {
            assert!(region.area_mm2.is_finite() && region.area_mm2 >= 0.0, "{name}: {region:?}");
            let borders = region.neighbours.iter().map(|n| n.border_mm);
            assert!(borders.into_iter().all(|b| b.is_finite() && b >= 0.0), "{name}: {region:?}");
        }
        for (id, region) in regions.regions.iter().enumerate().take(8) {
            let own = (0..count).filter(|f| regions.of_face[*f] == RegionId(id as u16));
            on_any(name, ground.shape(), own, region.place.into(), 1e-3 * mesh.bounds().diagonal());
        }
    }
    level
}

fn reach_is_sound(
    name: &str,
    mesh: &Mesh,
    (surface, sight): (&Surface, &TreeSight),
    regions: &Regions,
    watch: &Watch,
) {
    let brush = BrushShape::detail();
    let reached = reach(mesh, surface, &brush, FLOWS_IN, watch).expect(STAYS);
    for s in 0..surface.samples.len() {
        assert_eq!(reached.reaches(s), reached.from(s).is_some(), "{name}");
    }
    for row in reach_by_region(surface, &regions.of_face, &reached) {
        assert!(row.region.index() < regions.regions.len(), "{name}: {row:?}");
        assert!(row.area_mm2.is_finite() && row.out_of_reach_mm2 >= 0.0, "{name}: {row:?}");
        assert!(row.out_of_reach_mm2 <= row.area_mm2 * 1.001, "{name}: {row:?}");
        if let Some(place) = row.place {
            within(name, mesh, place);
        }
    }
    let of_face = vec![0; mesh.faces().len()];
    let models = std::slice::from_ref(mesh);
    let found = before_gluing((surface, sight), &reached, (models, &of_face), &brush, watch).expect(STAYS);
    for row in found.models {
        let areas = [row.open_mm2, row.closes_mm2, row.never_mm2, row.joint_mm2];
        assert!(areas.iter().all(|a| a.is_finite() && *a >= 0.0), "{name}: {row:?}");
        if let Some(place) = row.place {
            within(name, mesh, place.into());
        }
    }
    let size = mesh.bounds().diagonal();
    for [tilt, azimuth] in [[0.0, 0.0], [45.0, 130.0], [90.0, 270.0]] {
        let map = HeightMap::of(mesh, [tilt, azimuth], size / 60.0, size / 30.0, watch).expect(STAYS);
        assert_eq!(map.height.len(), map.columns * map.rows, "{name}");
        assert!(map.height.iter().all(|h| h.is_finite() || *h == NOTHING), "{name}");
        let filled = closed(&map, 2);
        let standing = map.height.iter().zip(&filled);
        assert!(standing.into_iter().all(|(h, filled)| filled >= h && !filled.is_nan()), "{name}");
        assert!(mesh.positions().iter().all(|p| map.place(*p).iter().all(|x| x.is_finite())), "{name}");
    }
}

fn unit_or_none(name: &str, v: Vector3<f32>) {
    assert!((v.norm() - 1.0).abs() < 1e-3 || v == Vector3::zeros(), "{name}: {v:?}");
}

fn within(name: &str, mesh: &Mesh, p: Point3<f32>) {
    let (bounds, slack) = (mesh.bounds(), 1e-3 * mesh.bounds().diagonal() as f32);
    assert!((0..3).all(|k| bounds.low[k] - slack <= p[k] && p[k] <= bounds.high[k] + slack), "{name}: {p}");
}

fn near(name: &str, shape: &Shape, face: u32, point: Point3<f32>, most: f64) {
    let off = off(shape, face, point);
    assert!(off <= most, "{name}: {point} is {off} mm off, {most} are allowed");
}

fn on_any(name: &str, shape: &Shape, faces: impl Iterator<Item = usize>, point: Point3<f32>, most: f64) {
    let least = faces.map(|f| off(shape, f as u32, point)).fold(f64::INFINITY, f64::min);
    assert!(least <= most, "{name}: {point} is {least} mm off, {most} are allowed");
}

/// How far a point lies from a face, by its plane or its sides.
fn off(shape: &Shape, face: u32, point: Point3<f32>) -> f64 {
    let corners = shape.faces()[face as usize].map(|v| shape.positions()[v as usize].cast::<f64>());
    let point: Point3<f64> = point.cast();
    let normal = (corners[1] - corners[0]).cross(&(corners[2] - corners[0]));
    let sides = [0, 1, 2].map(|k| [corners[k], corners[(k + 1) % 3]]);
    let inside = sides.iter().all(|[a, b]| (b - a).cross(&(point - a)).dot(&normal) >= 0.0);
    if inside && normal.norm() > 0.0 {
        return (point - corners[0]).dot(&normal).abs() / normal.norm();
    }
    let to_side = |[a, b]: [Point3<f64>; 2]| {
        let t = ((point - a).dot(&(b - a)) / (b - a).norm_squared().max(f64::MIN_POSITIVE)).clamp(0.0, 1.0);
        (point - (a + (b - a) * t)).norm()
    };
    sides.into_iter().map(to_side).fold(f64::INFINITY, f64::min)
}

//! The item buffer and what is drawn from it, on shapes with known answers.

use grisaille_base::{FaceId, Stop, Watch};
use grisaille_colour::LinearRgb;
use grisaille_picture::{Areas, Frame, Hit, Image, ItemBuffer, LineStyle, View, places};
use nalgebra::{Point3, Rotation3, Vector3};
use std::collections::BTreeMap;
use std::sync::atomic::{AtomicUsize, Ordering};

type Mesh = (Vec<Point3<f32>>, Vec<[u32; 3]>);

/// An octahedron split `levels` times, on the sphere of this radius.
fn sphere(radius: f32, levels: u32) -> Mesh {
    let mut points: Vec<Vector3<f64>> =
        vec![Vector3::x(), -Vector3::x(), Vector3::y(), -Vector3::y(), Vector3::z(), -Vector3::z()];
    let mut faces: Vec<[u32; 3]> =
        vec![[0, 2, 4], [2, 1, 4], [1, 3, 4], [3, 0, 4], [2, 0, 5], [1, 2, 5], [3, 1, 5], [0, 3, 5]];
    for _ in 0..levels {
        let mut middles = BTreeMap::new();
        let mut finer = Vec::with_capacity(faces.len() * 4);
        for [a, b, c] in faces {
            let mut middle = |p: u32, q: u32| {
                *middles.entry((p.min(q), p.max(q))).or_insert_with(|| {
                    points.push((points[p as usize] + points[q as usize]).normalize());
                    points.len() as u32 - 1
                })
            };
            let (ab, bc, ca) = (middle(a, b), middle(b, c), middle(c, a));
            finer.extend([[a, ab, ca], [ab, b, bc], [ca, bc, c], [ab, bc, ca]]);
        }
        faces = finer;
    }
    (points.iter().map(|p| Point3::from((p * f64::from(radius)).cast::<f32>())).collect(), faces)
}

/// A square of side 2 around the origin, facing the viewer, in `n` x `n` cells.
fn sheet(n: u32) -> Mesh {
    let at = |i: u32| 2.0 * i as f32 / n as f32 - 1.0;
    let points = (0..=n).flat_map(|j| (0..=n).map(move |i| Point3::new(at(i), 0.0, at(j)))).collect();
    let id = |i: u32, j: u32| j * (n + 1) + i;
    let faces = (0..n * n)
        .flat_map(|k| {
            let (i, j) = (k % n, k / n);
            [[id(i, j), id(i + 1, j), id(i + 1, j + 1)], [id(i, j), id(i + 1, j + 1), id(i, j + 1)]]
        })
        .collect();
    (points, faces)
}

fn draw(mesh: &Mesh, frame: &Frame, supersample: u32) -> ItemBuffer {
    ItemBuffer::draw(&mesh.0, &mesh.1, |_| true, frame, supersample, &Watch::quiet()).expect("nobody cancels")
}

fn covered(items: &ItemBuffer) -> usize {
    items.face_ids().iter().filter(|f| **f != ItemBuffer::NOTHING).count()
}

/// The item buffer as art: the face's number for each sub-sample.
fn art(items: &ItemBuffer) -> Vec<String> {
    let letter = |f: &u32| char::from_digit(*f, 36).unwrap_or('.');
    items.face_ids().chunks(items.columns()).map(|row| row.iter().map(letter).collect()).collect()
}

#[test]
fn a_tiny_picture_is_as_drawn_by_hand() {
    // Face 1 hangs before face 0 and covers its lower left half.
    let points = vec![
        Point3::new(-4.0, 0.0, -3.0),
        Point3::new(4.0, 0.0, -3.0),
        Point3::new(4.0, 0.0, 3.0),
        Point3::new(-4.0, -1.0, -3.0),
        Point3::new(-4.0, -1.0, 3.0),
        Point3::new(1.0, -1.0, -3.0),
        Point3::new(-4.0, 0.0, 3.0),
    ];
    let faces = vec![[0, 1, 2], [3, 5, 4], [0, 2, 6]];
    let frame = Frame::new(View::front(), 1.0, 10, 8, Point3::origin());
    let items = draw(&(points, faces), &frame, 1);
    assert_eq!(
        art(&items),
        [
            "..........",
            ".22222220.",
            ".12222200.",
            ".11222000.",
            ".11100000.",
            ".11110000.",
            ".11111000.",
            "..........",
        ]
        .map(str::to_owned)
        .to_vec()
        .as_slice()
    );
}

#[test]
fn a_sphere_covers_its_circle_ever_more_exactly() {
    let mesh = sphere(10.0, 7);
    let exact = std::f64::consts::PI * 100.0;
    for view in View::all() {
        let mut bound = 0.003;
        for pixels_per_mm in [8.0, 16.0, 32.0] {
            let frame = Frame::fit(&mesh.0, view.clone(), pixels_per_mm, 1.0);
            let items = draw(&mesh, &frame, 2);
            let area = covered(&items) as f64 * (frame.mm_per_pixel() / 2.0).powi(2);
            let error = (area / exact - 1.0).abs();
            assert!(error < bound, "{}: {error} at {pixels_per_mm}", view.words());
            bound /= 2.5;
        }
    }
}

#[test]
fn depth_is_the_surface_and_the_nearer_face_is_seen() {
    let mesh = sphere(10.0, 6);
    let frame = Frame::fit(&mesh.0, View::three_quarter(), 10.0, 1.0);
    let items = draw(&mesh, &frame, 2);
    let middle = (items.rows() / 2) * items.columns() + items.columns() / 2;
    assert!((items.depths()[middle] - 10.0).abs() < 0.01);
    // Two triangles, one before the other, in either order of the list.
    let back = [Point3::new(-3.0, 5.0, -3.0), Point3::new(3.0, 5.0, -3.0), Point3::new(0.0, 5.0, 3.0)];
    let fore = back.map(|p| Point3::new(p.x, -5.0, p.z));
    for (first, second, nearest) in [(back, fore, 1), (fore, back, 0)] {
        let points: Vec<_> = first.into_iter().chain(second).collect();
        let frame = Frame::fit(&points, View::front(), 10.0, 1.0);
        let items = draw(&(points, vec![[0, 1, 2], [3, 4, 5]]), &frame, 2);
        assert!(covered(&items) > 1000);
        assert!(items.face_ids().iter().all(|f| *f == nearest || *f == ItemBuffer::NOTHING));
    }
}

#[test]
fn equal_depths_go_to_the_lower_face() {
    let (points, mut faces) = sheet(1);
    faces.extend(faces.clone());
    let frame = Frame::fit(&points, View::front(), 20.0, 1.0);
    let items = draw(&(points, faces), &frame, 3);
    assert!(items.face_ids().iter().all(|f| *f <= 1 || *f == ItemBuffer::NOTHING));
}

#[test]
fn a_sheet_at_odd_angles_has_no_pinhole_and_no_double_sample() {
    for (n, azimuth, elevation) in [(37, 11.3, 7.9), (64, -33.0, 41.0), (150, 3.0, -61.7), (101, 0.0, 0.0)] {
        let mesh = sheet(n);
        let frame = Frame::fit(&mesh.0, View::from_angles(azimuth, elevation), 137.0, 0.05);
        let items = draw(&mesh, &frame, 2);
        let [a, b, c, d] = [[0, 0], [n, 0], [n, n], [0, n]].map(|[i, j]| {
            let [x, y, _] = frame.project(mesh.0[(j * (n + 1) + i) as usize]);
            [x * 2.0, y * 2.0]
        });
        // How far inside the sheet's outline (in sub-samples) a point lies.
        let inside = |x: f64, y: f64| {
            [(a, b), (b, c), (c, d), (d, a)]
                .map(|(p, q)| {
                    let (dx, dy) = (q[0] - p[0], q[1] - p[1]);
                    ((y - p[1]) * dx - (x - p[0]) * dy) / -dx.hypot(dy)
                })
                .into_iter()
                .fold(f64::INFINITY, f64::min)
        };
        let mut checked = 0;
        for row in 0..items.rows() {
            for column in 0..items.columns() {
                let deep = inside(column as f64 + 0.5, row as f64 + 0.5);
                let seen = items.hit(column, row).is_some();
                if deep.abs() > 0.01 {
                    assert_eq!(seen, deep > 0.0, "{n}: {column} {row}");
                    checked += usize::from(seen);
                }
            }
        }
        assert!(checked > 30_000);
        // Drawn one face at a time, no sample belongs to two faces.
        if n == 37 {
            let quiet = Watch::quiet();
            let single: usize = (0..mesh.1.len() as u32)
                .map(|f| {
                    let only = |id: FaceId| id.0 == f;
                    covered(&ItemBuffer::draw(&mesh.0, &mesh.1, only, &frame, 2, &quiet).unwrap())
                })
                .sum();
            assert_eq!(single, covered(&items));
        }
    }
}

#[test]
fn triangles_far_smaller_than_a_pixel_still_cover_the_sphere() {
    let mesh = sphere(10.0, 7);
    let frame = Frame::fit(&mesh.0, View::front(), 2.0, 1.0);
    let items = draw(&mesh, &frame, 3);
    let exact = std::f64::consts::PI * 100.0;
    let area = covered(&items) as f64 * (frame.mm_per_pixel() / 3.0).powi(2);
    assert!((area / exact - 1.0).abs() < 0.01);
    for row in 0..items.rows() {
        for column in 0..items.columns() {
            let (x, y) = (
                column as f64 + 0.5 - items.columns() as f64 * 0.5,
                row as f64 + 0.5 - items.rows() as f64 * 0.5,
            );
            if x.hypot(y) < 9.9 * 6.0 {
                let hit = items.hit(column, row).unwrap();
                assert!(!hit.backside);
            }
        }
    }
}

#[test]
fn barycentrics_find_the_place_on_the_surface() {
    let mesh = sphere(10.0, 4);
    let frame = Frame::fit(&mesh.0, View::three_quarter(), 12.0, 1.0);
    let items = draw(&mesh, &frame, 2);
    let heights: Vec<f32> = mesh.0.iter().map(|p| p.z).collect();
    let vectors: Vec<Vector3<f32>> = mesh.0.iter().map(|p| p.coords).collect();
    let mut hits = 0;
    for row in (0..items.rows()).step_by(3) {
        for column in 0..items.columns() {
            let Some(hit) = items.hit(column, row) else { continue };
            assert!((hit.barycentric.iter().sum::<f32>() - 1.0).abs() < 1e-5);
            let there = hit.mix_vectors(&vectors);
            assert!((there.z - hit.mix(&heights)).abs() < 1e-4);
            let [x, y, depth] = frame.project(Point3::from(there));
            assert!(
                (x * 2.0 - column as f64 - 0.5).abs() < 0.01 && (y * 2.0 - row as f64 - 0.5).abs() < 0.01
            );
            let stored = f64::from(items.depths()[row * items.columns() + column]);
            assert!((depth - stored).abs() < 0.01, "{depth} {stored}");
            hits += 1;
        }
    }
    assert!(hits > 10_000);
}

#[test]
fn backsides_are_drawn_and_flagged() {
    let mesh = sheet(3);
    for (view, backside) in [(View::front(), false), (View::back(), true)] {
        let items = draw(&mesh, &Frame::fit(&mesh.0, view, 30.0, 0.1), 2);
        let hits: Vec<Hit> = (0..items.rows())
            .flat_map(|r| (0..items.columns()).map(move |c| (c, r)))
            .filter_map(|(c, r)| items.hit(c, r))
            .collect();
        assert!(hits.len() > 10_000 && hits.iter().all(|h| h.backside == backside));
    }
    // Seen exactly edge-on there is nothing.
    for view in [View::left_side(), View::above()] {
        assert_eq!(covered(&draw(&mesh, &Frame::fit(&mesh.0, view, 30.0, 0.1), 2)), 0);
    }
}

fn shaded(mesh: &Mesh, frame: &Frame, supersample: u32, watch: &Watch) -> Result<Image, Stop> {
    let items = ItemBuffer::draw(&mesh.0, &mesh.1, |f| f.0 % 7 != 3, frame, supersample, watch)?;
    let colour = |h: &Hit| {
        let back = if h.backside { 0.2 } else { 0.0 };
        LinearRgb::new(h.barycentric[0], h.barycentric[1], back + (h.face.0 % 64) as f32 / 128.0)
    };
    let mut image = items.shade(LinearRgb::WHITE, colour, watch)?;
    let areas = Areas::of(&items, |h| Some((h.face.0 / 300) as u16), watch)?;
    let line = LineStyle::on_paper(0.12, 12.0, LinearRgb::BLACK, 0.8);
    areas.borders(&mut image, line, watch)?;
    items.outline(&mut image, 0.5, line, watch)?;
    Ok(image)
}

#[test]
fn one_thread_and_more_draw_the_same_bits() {
    let mesh = sphere(10.0, 5);
    let frame = Frame::fit(&mesh.0, View::three_quarter(), 20.0, 1.0);
    let of = |threads: usize| shaded(&mesh, &frame, 3, &Watch::with_threads(threads).unwrap()).unwrap();
    let one = of(1);
    assert_eq!(one, of(2));
    assert_eq!(one, of(5));
}

#[test]
fn a_shuffled_list_of_faces_is_the_same_picture() {
    let mesh = sphere(10.0, 4);
    let frame = Frame::fit(&mesh.0, View::three_quarter(), 20.0, 1.0);
    let forward = draw(&mesh, &frame, 2);
    let n = mesh.1.len() as u32;
    let shuffled: Vec<[u32; 3]> = (0..n).map(|i| mesh.1[(i * 1001 % n) as usize]).collect();
    let other = draw(&(mesh.0.clone(), shuffled), &frame, 2);
    assert_eq!(forward.depths(), other.depths());
    for (a, b) in forward.face_ids().iter().zip(other.face_ids()) {
        assert_eq!(*a, if *b == ItemBuffer::NOTHING { *b } else { b * 1001 % n });
    }
}

#[test]
fn turning_figure_and_view_together_changes_nothing_that_can_be_seen() {
    let mesh = sphere(10.0, 3);
    let turn = Rotation3::from_axis_angle(&Vector3::z_axis(), 30_f32.to_radians());
    let turned: Vec<_> = mesh.0.iter().map(|p| turn * p).collect();
    let frame = |azimuth: f64| Frame::new(View::from_angles(azimuth, 12.0), 0.1, 230, 230, Point3::origin());
    let (a, b) = (draw(&mesh, &frame(0.0), 2), draw(&(turned, mesh.1.clone()), &frame(30.0), 2));
    let differ = a.face_ids().iter().zip(b.face_ids()).filter(|(p, q)| p != q).count();
    assert!(differ < a.face_ids().len() / 1000, "{differ}");
}

#[test]
fn nothing_to_draw_is_plain_paper() {
    let frame = Frame::fit(&[], View::front(), 10.0, 5.0);
    let items = draw(&(vec![], vec![]), &frame, 2);
    let image = items.shade(LinearRgb::WHITE, |_| LinearRgb::BLACK, &Watch::quiet()).unwrap();
    assert_eq!((image.width(), image.height()), (100, 100));
    assert!(image.rgb().iter().all(|b| *b == 255));
    assert_eq!(items.hit(9999, 0), None);
}

#[test]
fn degenerate_and_broken_triangles_are_left_out() {
    let p = |x: f32, z: f32| Point3::new(x, 0.0, z);
    let points = vec![
        p(0.0, 0.0),
        p(8.0, 0.0),
        p(0.0, 8.0),
        p(4.0, 0.0),
        p(f32::NAN, 1.0),
        p(f32::INFINITY, 1.0),
        p(3.0, 3.0),
        p(3.0, 3.0),
    ];
    let faces =
        vec![[0, 0, 0], [0, 3, 1], [0, 1, 4], [5, 1, 2], [0, 1, 99], [6, 7, 0], [u32::MAX, 0, 1], [0, 1, 2]];
    let frame = Frame::fit(&points[..4], View::front(), 10.0, 1.0);
    let items = draw(&(points, faces), &frame, 3);
    assert!(covered(&items) > 1000);
    assert!(items.face_ids().iter().all(|f| *f == 7 || *f == ItemBuffer::NOTHING));
    for row in 0..items.rows() {
        for column in 0..items.columns() {
            if let Some(hit) = items.hit(column, row) {
                assert!(hit.barycentric.iter().all(|b| (0.0..=1.0).contains(b)));
            }
        }
    }
}

#[test]
fn huge_and_tiny_models_are_drawn_like_any_other() {
    for scale in [1e-30_f32, 1e-3, 1.0, 1e6, 1e30, 2e37] {
        let (points, faces) = sphere(1.0, 5);
        let mesh = (points.iter().map(|p| Point3::from(p.coords * scale)).collect::<Vec<_>>(), faces);
        let frame = Frame::fit(&mesh.0, View::three_quarter(), f64::from(100.0 / scale), 0.0);
        let items = draw(&mesh, &frame, 2);
        let share = covered(&items) as f64 / items.face_ids().len() as f64;
        assert!((share - std::f64::consts::FRAC_PI_4).abs() < 0.01, "{scale}: {share}");
        assert!(shaded(&mesh, &frame, 2, &Watch::quiet()).is_ok());
    }
}

#[test]
fn a_close_up_of_a_huge_face_is_covered_whole() {
    for size in [1e3_f32, 1e7, 1e15, 1e30] {
        let points = vec![
            Point3::new(-size, 0.0, -size),
            Point3::new(size, 0.0, -size),
            Point3::new(size, 0.0, size),
            Point3::new(-size, 0.0, size),
        ];
        let frame = Frame::new(View::front(), 0.01, 64, 48, Point3::new(0.013, 0.0, 0.007));
        let items = draw(&(points, vec![[0, 1, 2], [0, 2, 3]]), &frame, 2);
        assert_eq!(covered(&items), items.face_ids().len(), "{size}");
        let hit = items.hit(5, 5).unwrap();
        assert!(!hit.backside && hit.barycentric.iter().all(|b| b.is_finite()));
    }
}

#[test]
fn shading_asks_once_for_each_covered_sample_and_averages_light() {
    let mesh = sheet(4);
    let frame = Frame::fit(&mesh.0, View::front(), 10.0, 0.25);
    let items = draw(&mesh, &frame, 2);
    let asked = AtomicUsize::new(0);
    let black = |_: &Hit| {
        asked.fetch_add(1, Ordering::Relaxed);
        LinearRgb::new(f32::NAN, 0.0, -3.0)
    };
    let image = items.shade(LinearRgb::WHITE, black, &Watch::quiet()).unwrap();
    assert_eq!(asked.load(Ordering::Relaxed), covered(&items));
    // The rim falls on the middle of a pixel: half paper, half black.
    assert_eq!(image.pixel(12, 2), Some([188; 3]));
    assert_eq!(image.pixel(12, 12), Some([0; 3]));
    assert_eq!(image.pixel(0, 0), Some([255; 3]));
}

#[test]
fn lines_are_drawn_where_something_begins_and_nowhere_else() {
    let watch = Watch::quiet();
    let mesh = sphere(10.0, 6);
    let frame = Frame::fit(&mesh.0, View::front(), 10.0, 1.0);
    let items = draw(&mesh, &frame, 2);
    let mut image = Image::new(frame.width(), frame.height(), LinearRgb::WHITE);
    let line = LineStyle { width_px: 2.0, ink: LinearRgb::BLACK, strength: 1.0 };
    items.outline(&mut image, 0.3, line, &watch).unwrap();
    let mut ink = 0.0;
    for y in 0..image.height() {
        for x in 0..image.width() {
            let dark = 1.0 - f32::from(image.pixel(x, y).unwrap()[0]) / 255.0;
            ink += dark;
            let r = (x as f32 + 0.5 - 110.0).hypot(y as f32 + 0.5 - 110.0);
            assert!(if (r - 100.0).abs() < 0.5 { dark > 0.9 } else { true }, "{x} {y}: {dark} at {r}");
            assert!(if (r - 100.0).abs() > 2.1 { dark == 0.0 } else { true }, "{x} {y}: {dark} at {r}");
        }
    }
    // As much ink as a line of that length and width, a little more for its soft rim.
    let expected = 2.0 * std::f32::consts::TAU * 100.0;
    assert!((1.0..1.35).contains(&(ink / expected)), "{ink} {expected}");
    // A step from one sheet to another is an edge, the slope of a tilted sheet is not.
    let tilted = sheet(2);
    let view = View::from_angles(80.0, 0.0);
    let frame = Frame::fit(&tilted.0, view, 40.0, 0.2);
    let mut image = Image::new(frame.width(), frame.height(), LinearRgb::WHITE);
    draw(&tilted, &frame, 2).outline(&mut image, 0.01, line, &watch).unwrap();
    assert_eq!(image.pixel(image.width() / 2, image.height() / 2), Some([255; 3]));
    assert_ne!(image.pixel(image.width() / 2, 8), Some([255; 3]));
}

#[test]
fn borders_follow_labels_and_letters_find_their_areas() {
    let watch = Watch::quiet();
    let mesh = sheet(8);
    let frame = Frame::fit(&mesh.0, View::front(), 40.0, 0.25);
    let items = draw(&mesh, &frame, 2);
    let left_of = |h: &Hit| u16::from(h.mix(&mesh.0.iter().map(|p| p.x).collect::<Vec<_>>()) > 0.0);
    let areas = Areas::of(&items, |h| Some(left_of(h)), &watch).unwrap();
    let mut image = Image::new(frame.width(), frame.height(), LinearRgb::WHITE);
    let line = LineStyle { width_px: 1.0, ink: LinearRgb::BLACK, strength: 1.0 };
    areas.borders(&mut image, line, &watch).unwrap();
    let dark: Vec<u32> = (0..100).filter(|x| image.pixel(*x, 50).unwrap()[0] < 200).collect();
    assert_eq!(dark, [49, 50]);
    assert!((0..100).all(|x| image.pixel(x, 3).unwrap() == [255; 3]));
    let found = places(&areas.per_pixel(&watch).unwrap(), areas.width(), 6.0, 2, &watch).unwrap();
    assert_eq!(found.iter().map(|p| p.label).collect::<Vec<_>>(), [0, 1]);
    for (spot, x) in found.iter().zip([30.0, 70.0]) {
        assert!((spot.x_px - x).abs() <= 1.0 && spot.radius_px >= 19.0, "{spot:?}");
    }
}

#[test]
fn a_cancel_stops_every_step() {
    let mesh = sphere(10.0, 5);
    let frame = Frame::fit(&mesh.0, View::front(), 10.0, 1.0);
    let watch = Watch::with_threads(2).unwrap();
    let items = ItemBuffer::draw(&mesh.0, &mesh.1, |_| true, &frame, 2, &watch).unwrap();
    let areas = Areas::of(&items, |_| Some(1), &watch).unwrap();
    let mut image = Image::new(frame.width(), frame.height(), LinearRgb::WHITE);
    let line = LineStyle { width_px: 1.0, ink: LinearRgb::BLACK, strength: 1.0 };
    watch.cancel_handle().store(true, Ordering::Relaxed);
    assert!(ItemBuffer::draw(&mesh.0, &mesh.1, |_| true, &frame, 2, &watch).is_err());
    assert!(items.shade(LinearRgb::WHITE, |_| LinearRgb::BLACK, &watch).is_err());
    assert!(Areas::of(&items, |_| None, &watch).is_err());
    assert_eq!(items.outline(&mut image, 1.0, line, &watch), Err(Stop));
    assert_eq!(areas.borders(&mut image, line, &watch), Err(Stop));
    assert_eq!(areas.per_pixel(&watch), Err(Stop));
    assert_eq!(places(&[1; 4000], 50, 1.0, 1, &watch), Err(Stop));
    assert_eq!(areas.patterns(&mut image, 9.0, |_| None, &watch), Err(Stop));
}

#[test]
fn a_cancel_in_the_middle_is_heeded() {
    let mesh = sphere(10.0, 5);
    let frame = Frame::fit(&mesh.0, View::front(), 10.0, 1.0);
    let watch = Watch::with_threads(1).unwrap();
    let items = draw(&mesh, &frame, 2);
    let asked = AtomicUsize::new(0);
    let cancel = watch.cancel_handle();
    let stopping = |_: &Hit| {
        if asked.fetch_add(1, Ordering::Relaxed) == 1000 {
            cancel.store(true, Ordering::Relaxed);
        }
        LinearRgb::BLACK
    };
    assert!(items.shade(LinearRgb::WHITE, stopping, &watch).is_err());
    assert!(asked.load(Ordering::Relaxed) < covered(&items) / 10);
}

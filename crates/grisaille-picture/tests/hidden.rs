//! Hidden lines on bodies whose answers are known, and against brute force.

mod brute;

use brute::{compared, seen_length};
use grisaille_base::{Millimetres, Stop, Watch};
use grisaille_bodies::{Triangle, cuboid, forms, icosphere, moved, scaled, stl};
use grisaille_diver::{DiverSettings, diver};
use grisaille_mesh::{Mesh, ReadSettings, read};
use grisaille_picture::{DrawingSettings, Frame, LineKind, Stroke, View, drawing, seen_edges};
use nalgebra::Point3;

fn mesh(soup: &[Triangle]) -> Mesh {
    read(&stl(soup), &ReadSettings::default(), &Watch::quiet()).expect("sound").0
}

fn frame(mesh: &Mesh, view: View) -> Frame {
    Frame::fit(mesh.positions(), view, 20.0, 1.0)
}

fn near(is: f64, wanted: f64, share: f64) {
    assert!((is - wanted).abs() <= share * wanted, "{is} of {wanted}");
}

#[test]
fn a_cube_shows_nine_edges_from_a_corner_and_four_from_the_front() {
    let cube = mesh(&cuboid([0.0; 3], [10.0; 3]));
    // Seen along its diagonal a cube is a regular hexagon of sides √(2/3) a, with three edges of the same length in it.
    let corner = frame(&cube, View::from_angles(45.0, (0.5_f64.sqrt()).atan().to_degrees()));
    let side = 10.0 * (2.0_f64 / 3.0).sqrt();
    // The far edges end on the contour; what is within a hair of a face counts as on it.
    near(seen_length(&cube, &corner, LineKind::Contour), 6.0 * side, 1e-4);
    near(seen_length(&cube, &corner, LineKind::Crease), 3.0 * side, 1e-4);
    let (_, strokes) = drawn(&cube, &corner);
    let contours: Vec<&Stroke> = strokes.iter().filter(|s| s.kind == LineKind::Contour).collect();
    assert!(matches!(contours[..], [one] if one.closed && one.points.len() == 6), "{contours:?}");
    assert_eq!(strokes.iter().filter(|s| s.kind == LineKind::Crease).count(), 3);
    // From the front its four edges; those behind them lie on the same lines and are hidden by the front.
    near(seen_length(&cube, &frame(&cube, View::front()), LineKind::Contour), 40.0, 1e-6);
}

#[test]
fn a_ball_hides_its_chord_of_a_bar() {
    // A bar behind a ball: its upper edge passes 3 mm above the ball's centre, its lower one 1 mm below it.
    for (high, low) in [(3.0, -1.0), (0.5, -3.9)] {
        let bar = cuboid([-20.0, 8.0, low], [20.0, 12.0, high]);
        let ball = scaled(icosphere(5), 4.0);
        let both = mesh(&[bar.clone(), ball.clone()].concat());
        let view = frame(&both, View::front());
        let alone = |soup: &[Triangle]| seen_length(&mesh(soup), &view, LineKind::Contour);
        let chord = |h: f64| 2.0 * (16.0 - h * h).sqrt();
        let wanted = alone(&bar) + alone(&ball) - chord(high) - chord(low);
        near(seen_length(&both, &view, LineKind::Contour), wanted, 5e-4);
    }
}

#[test]
fn a_balls_contour_is_its_circle() {
    let ball = mesh(&scaled(icosphere(5), 4.0));
    let view = frame(&ball, View::from_angles(20.0, 10.0));
    // The contour winds from edge to edge and is a little longer than the circle; the stroke is not.
    let (_, strokes) = drawn(&ball, &view);
    let [circle] = strokes.as_slice() else { panic!("one stroke: {strokes:?}") };
    assert!(circle.closed);
    near(circle.length() * view.mm_per_pixel(), 8.0 * std::f64::consts::PI, 0.01);
}

#[test]
fn a_line_in_space_is_parted_where_it_is_hidden() {
    let block = mesh(&cuboid([-2.0, -2.0, 0.0], [2.0, 2.0, 10.0]));
    let view = frame(&block, View::front());
    let (screen, _) = drawn(&block, &view);
    let line = |y: f32| [Point3::new(-5.0, y, 5.0), Point3::new(-1.0, y, 5.0), Point3::new(5.0, y, 5.0)];
    let lengths = |y: f32, behind: f64| -> Vec<f64> {
        let strokes = screen.course(&line(y), false, behind);
        strokes.iter().map(|s| (s.length() * view.mm_per_pixel() * 1e6).round() / 1e6).collect()
    };
    assert_eq!(lengths(5.0, 0.0), [3.0, 3.0]);
    assert_eq!(lengths(-3.0, 0.0), [10.0]);
    // A line that was evened out may dip under the surface a little.
    assert_eq!(lengths(-1.9, 0.0), [3.0, 3.0]);
    assert_eq!(lengths(-1.9, 0.2), [10.0]);
    let nowhere = [Point3::new(f32::NAN, 0.0, 0.0), Point3::new(1.0, 0.0, 0.0)];
    assert!(screen.course(&nowhere, true, 0.0).is_empty() && screen.course(&[], true, 0.0).is_empty());
}

#[test]
fn brute_force_agrees_on_forms_with_known_shape_and_on_the_diver() {
    let mut bodies: Vec<(String, Mesh)> =
        forms().into_iter().map(|form| (form.name.to_owned(), mesh(&form.soup))).collect();
    let pushed =
        [scaled(icosphere(4), 5.0), moved(cuboid([-2.0; 3], [2.0, 2.0, 9.0]), [3.0, 0.0, 0.0])].concat();
    bodies.push(("a block pushed into a ball".into(), mesh(&pushed)));
    let settings = DiverSettings { cell: Millimetres(0.8) };
    let diver = diver(&settings, &Watch::quiet()).expect("nobody cancels").stl();
    let diver = read(&diver, &ReadSettings::default(), &Watch::quiet()).expect("sound").0;
    bodies.push(("diver".into(), diver));
    for (name, mesh) in &bodies {
        for view in [View::front(), View::three_quarter(), View::from_angles(200.0, -25.0)] {
            let sums = compared(mesh, &frame(mesh, view.clone()), 1000);
            assert!(sums.wrong <= 0.005 * sums.length, "{name}, {}: {sums:?}", view.words());
            println!("{name}, {}: {sums:?}", view.words());
        }
    }
}

#[test]
fn threads_change_nothing_and_a_stop_is_heeded() {
    let ball = mesh(&scaled(icosphere(4), 4.0));
    let view = frame(&ball, View::three_quarter());
    let on = |threads| {
        let watch = Watch::with_threads(threads).expect("threads");
        drawing(&ball, |_| true, &view, &DrawingSettings::on_paper(20.0), &watch).expect("nobody cancels").1
    };
    assert_eq!(on(1), on(3));
    let stopped = Watch::quiet();
    stopped.cancel_handle().store(true, std::sync::atomic::Ordering::Relaxed);
    assert!(matches!(seen_edges(&ball, |_| true, &view, 40.0, &stopped), Err(Stop)));
}

fn drawn(mesh: &Mesh, frame: &Frame) -> (grisaille_picture::Screen, Vec<Stroke>) {
    let settings = DrawingSettings::on_paper(20.0);
    drawing(mesh, |_| true, frame, &settings, &Watch::quiet()).expect("nobody cancels")
}

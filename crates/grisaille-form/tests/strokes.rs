//! Strokes run along the form, few and well apart.

#[allow(dead_code, reason = "other tests use the rest")]
mod forms;

use forms::{Form, ball, forms};
use grisaille_base::{Millimetres, RegionId, Stop, Watch};
use grisaille_form::{Stroke, StrokeCount, blends_at, curvature, strokes};

fn on(form: &Form, regions: &[Option<RegionId>], most: usize) -> Vec<Stroke> {
    let (shape, watch) = (form.shape(), Watch::quiet());
    let curvature = curvature(&shape, Millimetres(1.5), &watch).expect("nobody cancels");
    strokes(&shape, &curvature, regions, few(most), &watch).expect("nobody cancels")
}

/// As many as are allowed.
fn few(most: usize) -> StrokeCount {
    StrokeCount { apart: Millimetres(0.5), most }
}

fn one_region(form: &Form) -> Vec<Option<RegionId>> {
    vec![Some(RegionId(0)); form.faces.len()]
}

#[test]
fn strokes_run_where_the_form_bends_least_and_dry_brushing_across_it() {
    // Smooth and with the noise of a scan. Known directions stand beside each body.
    for (rough, off_degrees) in [(0.0, 3.0), (0.02, 15.0)] {
        for form in forms().into_iter().filter(|f| ["cylinder", "cone", "torus"].contains(&f.name)) {
            let form = if rough > 0.0 { form.roughened(rough, 5) } else { form };
            let found = on(&form, &one_region(&form), 12);
            let sure: Vec<&Stroke> = found.iter().filter(|s| s.sure > 0.3).collect();
            assert!(sure.len() >= 4, "{}: {}", form.name, sure.len());
            for stroke in sure {
                let v = form.positions.iter().position(|p| (p.cast::<f32>() - stroke.at).norm() < 1e-6);
                let v = v.expect("a stroke lies on a vertex");
                if form.inside[v] < 2.0 {
                    // By an open border half of what would bend is missing.
                    continue;
                }
                let most = form.along[v];
                let sine = stroke.along.cast::<f64>().dot(&most).abs();
                assert!(sine < f64::sin(f64::to_radians(off_degrees)), "{} {rough}: {sine}", form.name);
                assert!(
                    (stroke.along.norm() - 1.0).abs() < 1e-4 && stroke.along.dot(&stroke.across).abs() < 1e-4
                );
            }
        }
    }
}

#[test]
fn where_the_form_does_not_ask_strokes_run_downhill() {
    let form = ball(5);
    for stroke in on(&form, &one_region(&form), 8) {
        assert_eq!(stroke.sure, 0.0);
        let normal = (stroke.at.coords).normalize();
        // At right angles to the surface's level lines, and down.
        let level = nalgebra::Vector3::z().cross(&normal);
        assert!(stroke.along.dot(&level).abs() < 0.05 || level.norm() < 0.1, "{stroke:?}");
        assert!(stroke.along.z < 0.0 || normal.z.abs() > 0.99, "{stroke:?}");
    }
}

#[test]
fn each_region_has_its_own_few_and_they_lie_apart() {
    let form = ball(5);
    // Upper and lower half, and a cap that is not painted.
    let region = |face: &[u32; 3]| {
        let z = face.iter().map(|v| form.positions[*v as usize].z).sum::<f64>() / 3.0;
        (z < 4.0).then_some(RegionId(u16::from(z < 0.0)))
    };
    let regions: Vec<Option<RegionId>> = form.faces.iter().map(region).collect();
    let found = on(&form, &regions, 5);
    for id in [0, 1] {
        let own: Vec<&Stroke> = found.iter().filter(|s| s.region == RegionId(id)).collect();
        assert!((3..=5).contains(&own.len()), "{}", own.len());
        for (i, a) in own.iter().enumerate() {
            assert!((a.at.z < 0.0) == (id == 1) && a.at.z < 4.0);
            assert!(own[..i].iter().all(|b| (a.at - b.at).norm() > 3.0));
        }
    }
    assert_eq!(on(&form, &vec![None; form.faces.len()], 5), []);
}

#[test]
fn an_eye_blends_what_lies_within_a_minute_of_arc() {
    // 0.145 mm at half a metre.
    assert!((blends_at(Millimetres(500.0)).0 - 0.145_444).abs() < 1e-6);
}

#[test]
fn threads_do_not_count_and_a_stop_is_heeded() {
    let form = ball(4);
    let shape = form.shape();
    let with = |threads| {
        let watch = Watch::with_threads(threads).expect("threads");
        let curvature = curvature(&shape, Millimetres(1.5), &watch).expect("nobody cancels");
        strokes(&shape, &curvature, &one_region(&form), few(6), &watch)
    };
    assert_eq!(with(1), with(3));
    let watch = Watch::quiet();
    let curvature = curvature(&shape, Millimetres(1.5), &watch).expect("nobody cancels");
    watch.cancel_handle().store(true, std::sync::atomic::Ordering::Relaxed);
    assert_eq!(strokes(&shape, &curvature, &one_region(&form), few(6), &watch), Err(Stop));
}

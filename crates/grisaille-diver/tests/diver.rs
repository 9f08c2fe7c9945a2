//! What every picture and every other phase may count on in the demo model.

use grisaille_base::{Listener, Millimetres, Stop, Watch};
use grisaille_diver::{Diver, DiverPiece, DiverSettings, FACE, HEIGHT, LAMP, diver};
use std::collections::HashMap;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, LazyLock};

static DIVER: LazyLock<Diver> = LazyLock::new(|| {
    diver(&DiverSettings::default(), &Watch::quiet()).expect("nobody cancels a quiet watch")
});

fn coarse() -> DiverSettings {
    DiverSettings { cell: Millimetres(0.9) }
}

type Point = [f32; 3];

fn sub(a: Point, b: Point) -> [f64; 3] {
    [0, 1, 2].map(|i| f64::from(a[i]) - f64::from(b[i]))
}

fn cross(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn triangles(diver: &Diver) -> usize {
    diver.pieces.iter().map(|p| p.triangles.len()).sum()
}

fn corners(diver: &Diver) -> impl Iterator<Item = Point> {
    diver.pieces.iter().flat_map(|p| &p.triangles).flatten().copied()
}

/// Every edge is used once in either direction, and by nobody else.
fn assert_closed(piece: &DiverPiece) {
    let key = |p: Point| p.map(f32::to_bits);
    let mut edges: HashMap<_, u32> = HashMap::new();
    for t in &piece.triangles {
        for k in 0..3 {
            *edges.entry((key(t[k]), key(t[(k + 1) % 3]))).or_default() += 1;
        }
    }
    let stray = edges.iter().filter(|((a, b), n)| **n != 1 || edges.get(&(*b, *a)) != Some(&1)).count();
    assert_eq!(stray, 0, "{} has {stray} edges that are not shared by exactly two triangles", piece.name);
}

fn volume(piece: &DiverPiece) -> f64 {
    let zero = [0.0; 3];
    piece.triangles.iter().map(|t| dot(sub(t[0], zero), cross(sub(t[1], zero), sub(t[2], zero))) / 6.0).sum()
}

/// How many connected shells the triangles make.
fn shells(piece: &DiverPiece) -> usize {
    let mut ids: HashMap<[u32; 3], usize> = HashMap::new();
    let mut parent: Vec<usize> = Vec::new();
    fn root(parent: &mut [usize], mut v: usize) -> usize {
        while parent[v] != v {
            parent[v] = parent[parent[v]];
            v = parent[v];
        }
        v
    }
    for t in &piece.triangles {
        let [a, b, c] = t.map(|p| {
            *ids.entry(p.map(f32::to_bits)).or_insert_with(|| {
                parent.push(parent.len());
                parent.len() - 1
            })
        });
        for v in [b, c] {
            let (r, s) = (root(&mut parent, a), root(&mut parent, v));
            parent[s] = r;
        }
    }
    (0..parent.len()).filter(|&v| parent[v] == v).count()
}

/// Winding number of the piece about `p`: 1 inside, 0 outside; van Oosterom
/// and Strackee, "The solid angle of a plane triangle", 1983, eq. 8.
fn winding(piece: &DiverPiece, p: Point) -> f64 {
    let mut sum = 0.0;
    for t in &piece.triangles {
        let [a, b, c] = t.map(|q| sub(q, p));
        let [la, lb, lc] = [a, b, c].map(|v| dot(v, v).sqrt());
        let below = la * lb * lc + dot(a, b) * lc + dot(b, c) * la + dot(c, a) * lb;
        sum += 2.0 * dot(a, cross(b, c)).atan2(below);
    }
    sum / (4.0 * std::f64::consts::PI)
}

#[test]
fn pieces_are_closed_and_turned_outward_at_every_fineness() {
    for cell in [0.9, 0.62, 0.47] {
        let settings = DiverSettings { cell: Millimetres(cell) };
        for piece in &diver(&settings, &Watch::quiet()).unwrap().pieces {
            assert_closed(piece);
            assert!(volume(piece) > 1.0, "{} at {cell}: {} mm³", piece.name, volume(piece));
        }
    }
    for piece in &DIVER.pieces {
        assert_closed(piece);
        assert!(volume(piece) > 1.0, "{}: {} mm³", piece.name, volume(piece));
    }
}

#[test]
fn there_are_many_pieces_each_of_one_shell() {
    assert!(DIVER.pieces.len() >= 8);
    for piece in &DIVER.pieces {
        assert_eq!(shells(piece), 1, "{}", piece.name);
    }
}

#[test]
fn no_face_is_without_area() {
    for piece in &DIVER.pieces {
        for t in &piece.triangles {
            let n = cross(sub(t[1], t[0]), sub(t[2], t[0]));
            assert!(dot(n, n).sqrt() > 1e-9, "{}: {t:?}", piece.name);
        }
    }
}

#[test]
fn the_size_of_the_default_is_fit_for_a_demo() {
    let count = triangles(&DIVER);
    assert!((100_000..=300_000).contains(&count), "{count} triangles");
}

#[test]
fn a_finer_grid_gives_more_triangles_and_the_same_volume() {
    let rough = diver(&coarse(), &Watch::quiet()).unwrap();
    assert!(2 * triangles(&rough) < triangles(&DIVER));
    for (a, b) in rough.pieces.iter().zip(&DIVER.pieces) {
        let ratio = volume(a) / volume(b);
        assert!((0.85..1.15).contains(&ratio), "{}: {ratio}", a.name);
    }
}

#[test]
fn it_stands_flat_on_zero_and_is_as_tall_as_it_says() {
    let low = corners(&DIVER).map(|p| p[2]).fold(f32::MAX, f32::min);
    let high = corners(&DIVER).map(|p| p[2]).fold(f32::MIN, f32::max);
    assert!(low.abs() < 0.01, "lowest corner at {low}");
    assert!((f64::from(high) - HEIGHT.0).abs() < 0.05, "highest corner at {high}");
    // The underside is a disc: its flat faces make up nearly its whole area.
    let base = &DIVER.pieces[0];
    let flat: f64 = base
        .triangles
        .iter()
        .filter(|t| t.iter().all(|p| p[2].abs() < 0.01))
        .map(|t| 0.5 * cross(sub(t[1], t[0]), sub(t[2], t[0]))[2].abs())
        .sum();
    let disc = std::f64::consts::PI * 15.0 * 15.0;
    assert!(flat > 0.97 * disc && flat < 1.01 * disc, "{flat} mm² of {disc} mm²");
}

#[test]
fn the_light_is_outside_every_piece() {
    for piece in &DIVER.pieces {
        assert!(winding(piece, LAMP).abs() < 0.01, "{}", piece.name);
    }
}

#[test]
fn the_nose_is_the_head_s_foremost_place_near_the_face_point() {
    let head = DIVER.pieces.iter().find(|p| p.name == "head").unwrap();
    let inward = [FACE[0] + 0.12, FACE[1] + 0.45, FACE[2]];
    let outward = [FACE[0] - 0.06, FACE[1] - 0.25, FACE[2]];
    assert!((winding(head, inward) - 1.0).abs() < 0.01);
    assert!(winding(head, outward).abs() < 0.01);
}

#[test]
fn one_thread_and_two_give_the_same_bits() {
    let one = diver(&coarse(), &Watch::with_threads(1).unwrap()).unwrap();
    let two = diver(&coarse(), &Watch::with_threads(2).unwrap()).unwrap();
    assert_eq!(one.stl(), two.stl());
}

#[test]
fn fewer_triangles_leave_the_shells_closed_and_the_size_alone() {
    let watch = Watch::quiet();
    for (target, slack) in [(50_000, 0.03), (25_000, 0.07)] {
        let small = DIVER.decimated(target, &watch).unwrap();
        let count = triangles(&small);
        assert!(count <= target && count + 2 >= target, "{count} triangles for {target}");
        for (piece, whole) in small.pieces.iter().zip(&DIVER.pieces) {
            assert_closed(piece);
            assert_eq!(shells(piece), 1, "{}", piece.name);
            let ratio = volume(piece) / volume(whole);
            assert!((ratio - 1.0).abs() < slack, "{}: {ratio}", piece.name);
            assert!(winding(piece, LAMP).abs() < 0.01, "{}", piece.name);
        }
        let high = corners(&small).map(|p| p[2]).fold(f32::MIN, f32::max);
        assert!((f64::from(high) - HEIGHT.0).abs() < 0.1, "{high}");
        assert_eq!(small, DIVER.decimated(target, &watch).unwrap());
    }
    assert_eq!(DIVER.decimated(usize::MAX, &watch).unwrap(), *DIVER);
    watch.cancel_handle().store(true, Ordering::Relaxed);
    assert_eq!(DIVER.decimated(50_000, &watch), Err(Stop));
}

/// Fewer than eight faces about an edge are left alone, so even an absurd
/// target ends with every shell still there.
#[test]
fn no_piece_vanishes_however_few_triangles_are_asked_for() {
    let rough = diver(&DiverSettings { cell: Millimetres(1.5) }, &Watch::quiet()).unwrap();
    let least = rough.decimated(0, &Watch::quiet()).unwrap();
    for piece in &least.pieces {
        assert!(piece.triangles.len() >= 4, "{}", piece.name);
        assert_closed(piece);
    }
}

#[test]
fn the_file_in_the_repository_is_the_diver() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../models-demo/diver.stl");
    let stl = std::fs::read(path).unwrap();
    assert!(stl.len() < 3_000_000);
    let count = u32::from_le_bytes(stl[80..84].try_into().unwrap()) as usize;
    assert!((40_000..=60_000).contains(&count), "{count} triangles");
    assert_eq!(stl.len(), 84 + 50 * count);
    let all: Vec<[[f32; 3]; 3]> = stl[84..]
        .chunks_exact(50)
        .map(|r| {
            let n = |i: usize| f32::from_le_bytes(r[4 * i..4 * i + 4].try_into().unwrap());
            [[n(3), n(4), n(5)], [n(6), n(7), n(8)], [n(9), n(10), n(11)]]
        })
        .collect();
    let shipped = DiverPiece { name: "the file", triangles: all };
    let sculpted: f64 = DIVER.pieces.iter().map(volume).sum();
    assert!((volume(&shipped) / sculpted - 1.0).abs() < 0.02);
    assert_eq!(shells(&shipped), DIVER.pieces.len());
}

/// Cancels as soon as it hears of progress.
struct Impatient {
    cancel: Arc<std::sync::atomic::AtomicBool>,
    heard: AtomicU64,
}

impl Listener for Impatient {
    fn begin(&self, phase: &'static str, total: u64) {
        assert_eq!(phase, "model");
        self.heard.store(total, Ordering::Relaxed);
    }
    fn advance(&self, _: &'static str, _: u64) {
        self.cancel.store(true, Ordering::Relaxed);
    }
    fn end(&self, _: &'static str) {}
}

#[test]
fn a_cancel_stops_it_before_and_in_the_middle() {
    let watch = Watch::quiet();
    watch.cancel_handle().store(true, Ordering::Relaxed);
    assert_eq!(diver(&coarse(), &watch), Err(Stop));

    let watch = Watch::with_threads(1).unwrap();
    let ear = Arc::new(Impatient { cancel: watch.cancel_handle(), heard: AtomicU64::new(0) });
    let watch = watch.heard_by(ear.clone());
    assert_eq!(diver(&coarse(), &watch), Err(Stop));
    assert_eq!(ear.heard.load(Ordering::Relaxed), DIVER.pieces.len() as u64);
}

#[test]
fn settings_out_of_range_are_taken_as_the_nearest() {
    let watch = Watch::quiet();
    let at = |cell: f64| diver(&DiverSettings { cell: Millimetres(cell) }, &watch).unwrap();
    assert_eq!(at(f64::INFINITY), at(1.5));
    assert_eq!(triangles(&at(f64::NAN)), triangles(&DIVER));
}

#[test]
fn the_stl_is_binary_and_its_normals_are_the_triangles_own() {
    let stl = DIVER.stl();
    assert!(!stl.starts_with(b"solid"));
    assert!(stl[..80].iter().all(|b| b.is_ascii_graphic() || *b == b' '));
    let count = u32::from_le_bytes(stl[80..84].try_into().unwrap()) as usize;
    assert_eq!(count, triangles(&DIVER));
    assert_eq!(stl.len(), 84 + 50 * count);
    for (record, t) in stl[84..].chunks_exact(50).zip(DIVER.pieces.iter().flat_map(|p| &p.triangles)) {
        let number = |i: usize| f32::from_le_bytes(record[4 * i..4 * i + 4].try_into().unwrap());
        let stored: Vec<f32> = (3..12).map(number).collect();
        assert_eq!(stored, t.concat());
        let n = cross(sub(t[1], t[0]), sub(t[2], t[0]));
        let normal = [0, 1, 2].map(|i| f64::from(number(i)));
        assert!((dot(normal, normal) - 1.0).abs() < 1e-5);
        assert!(dot(normal, n) > 0.999 * dot(n, n).sqrt());
    }
}

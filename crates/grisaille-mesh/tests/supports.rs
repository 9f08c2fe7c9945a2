//! Print supports are found on figures that have some, and none on figures without,
//! however much of them is thin.

use grisaille_base::Watch;
use grisaille_bodies::distance::{self, Distance, Style, USUAL, all, based, figure, inner, posed, supports};
use grisaille_bodies::{Triangle, ball_on_supports, icosphere, inside_out, moved, scaled, stl, tower};
use grisaille_mesh::{Mesh, ReadSettings, Supports, face_cross, read, upright};
use nalgebra::{Point3, Rotation3, Vector3};
use std::collections::HashSet;

const BOX: [[f64; 3]; 2] = [[-17.0, -17.0, -0.8], [17.0, 17.0, 42.0]];
const CELL: f64 = 0.2;

fn mesh(soup: &[Triangle]) -> Mesh {
    read(&stl(soup), &ReadSettings::default(), &Watch::quiet()).expect("a sound model").0
}

fn look(mesh: &Mesh) -> Option<Supports> {
    grisaille_mesh::supports(mesh, &Watch::quiet()).expect("nobody cancels")
}

/// Shares of the supports' area found and of the figure's taken.
fn shares(mesh: &Mesh, found: &Supports, truth: &Truth) -> [f64; 2] {
    let (mut all, mut right) = ([0.0; 2], [0.0; 2]);
    for (face, held) in mesh.faces().iter().zip(&found.of_face) {
        let area = 0.5 * face_cross(mesh.positions(), *face).norm();
        let which = usize::from(!truth.is_support(face.map(|v| mesh.positions()[v as usize])));
        all[which] += area;
        right[which] += if *held { area } else { 0.0 };
    }
    [right[0] / all[0], right[1] / all[1]]
}

/// What is a support's.
enum Truth {
    /// Faces with these corners, by their bits.
    Corners(HashSet<[u32; 3]>),
    /// What is nearer to the first than to the second.
    Nearer(Distance, Distance),
}

impl Truth {
    fn of(soup: &[Triangle]) -> Self {
        Self::Corners(soup.iter().flatten().map(|p| p.map(|x| (x as f32 + 0.0).to_bits())).collect())
    }

    fn is_support(&self, face: [Point3<f32>; 3]) -> bool {
        match self {
            Self::Corners(known) => known.contains(&<[f32; 3]>::from(face[0]).map(f32::to_bits)),
            Self::Nearer(held, body) => {
                let sum: Vector3<f64> = face.iter().map(|p| p.cast::<f64>().coords).sum();
                let middle = Point3::from(sum / 3.0);
                held(middle).abs() < body(middle).abs()
            }
        }
    }
}

fn holds(name: &str, mesh: &Mesh, truth: &Truth) {
    let Some(found) = look(mesh) else { panic!("{name}: nothing found") };
    let [right, wrong] = shares(mesh, &found, truth);
    println!(
        "{name}: {} faces, {} stands, {} tips, column {:.2} mm, raft {:?}, confidence {:.2}, left {}: {:.2} % found, {:.3} % of the figure taken",
        mesh.faces().len(),
        found.stands,
        found.tips,
        found.column_mm,
        found.raft_mm,
        found.confidence,
        found.left,
        100.0 * right,
        100.0 * wrong
    );
    assert!(found.is_sure() && right >= 0.95 && wrong < 0.005, "{name}");
}

const STYLES: [(&str, Style); 5] = [
    ("usual", USUAL),
    ("feet", Style { raft: false, ..USUAL }),
    ("braced", Style { braces: true, column: 0.5, ..USUAL }),
    ("leaning", Style { lean: 0.5, ..USUAL }),
    ("stout", Style { column: 0.8, tip: 0.35, apart: 2.6, ..USUAL }),
];

/// Upright, tilted, and tilted with its base.
fn poses() -> [Distance; 3] {
    [
        posed(&figure(), [0.0, 0.0], 6.0),
        posed(&figure(), [-25.0, 10.0], 8.0),
        posed(&based(), [-30.0, 0.0], 12.0),
    ]
}

/// How supports and figure come in the file.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Joined {
    /// Every column a piece, the figure another.
    Apart,
    /// Supports one piece, the figure another.
    Two,
    /// One piece.
    Fused,
}

fn judge(pose: &str, body: &Distance, style: (&str, Style), joined: Joined) {
    let parts = supports(body, style.1);
    let held = all(parts.clone());
    let (stands, truth) = match joined {
        Joined::Apart => {
            let stands: Vec<Triangle> = parts.iter().flat_map(surface).collect();
            let truth = Truth::of(&stands);
            (stands, truth)
        }
        Joined::Two => {
            let stands = surface(&held);
            let truth = Truth::of(&stands);
            (stands, truth)
        }
        Joined::Fused => (Vec::new(), Truth::Nearer(held.clone(), body.clone())),
    };
    let soup = match joined {
        Joined::Fused => surface(&all(vec![body.clone(), held])),
        _ => [surface(body), stands].concat(),
    };
    holds(&format!("{pose}, {}, {joined:?}", style.0), &mesh(&soup), &truth);
}

fn surface(of: &Distance) -> Vec<Triangle> {
    distance::surface(of, BOX, CELL)
}

#[test]
fn supports_are_found_and_the_figure_is_left_alone() {
    let [upright, tilted, based] = poses();
    for style in STYLES {
        for joined in [Joined::Two, Joined::Fused] {
            judge("tilted", &tilted, style, joined);
        }
    }
    for joined in [Joined::Apart, Joined::Two, Joined::Fused] {
        judge("upright", &upright, STYLES[1], joined);
        judge("with its base", &based, STYLES[0], joined);
    }
}

#[test]
fn hollow_nested_and_inside_out_figures_keep_theirs() {
    let body = posed(&figure(), [-25.0, 10.0], 8.0);
    let held = all(supports(&body, USUAL));
    let outer = surface(&body);
    let hollow = surface(&inner(&body, 1.2));
    let stands = surface(&held);
    let truth = Truth::of(&stands);
    let cases = [
        ("hollow", [outer.clone(), inside_out(hollow.clone()), stands.clone()].concat()),
        ("nested", [outer.clone(), hollow.clone(), stands.clone()].concat()),
        ("inside out", inside_out([outer.clone(), stands.clone()].concat())),
        ("hollow, inside out", [inside_out(outer), hollow, stands].concat()),
    ];
    for (name, soup) in cases {
        holds(name, &mesh(&soup), &truth);
    }
}

#[test]
fn figures_without_supports_have_none() {
    for (name, body) in
        [("figure", figure()), ("based", based()), ("lying", posed(&based(), [-30.0, 0.0], 12.0))]
    {
        let found = look(&mesh(&surface(&body)));
        assert!(
            found.is_none(),
            "{name}: {found:?}",
            found = found.map(|f| (f.stands, f.tips, f.confidence))
        );
    }
    // The spear, the tree and the base as pieces of their own.
    let apart = [surface(&figure()), surface(&distance::disc([0.0, 0.0], 12.5, [-0.5, 0.5]))].concat();
    assert!(look(&mesh(&apart)).is_none());
}

// Few triangles, as a sketch program makes them: faces that reach over a hundred levels.
#[test]
fn columns_of_a_few_faces_are_found_too() {
    let soup = ball_on_supports();
    // The ball comes first, in 1280 triangles.
    let truth = Truth::of(&soup[1280..]);
    holds("few faces", &mesh(&soup), &truth);
}

/// A soup turned about x, then about y, in degrees.
fn turned(soup: &[Triangle], [x, y]: [f64; 2]) -> Vec<Triangle> {
    let turn = Rotation3::from_axis_angle(&Vector3::y_axis(), y.to_radians())
        * Rotation3::from_axis_angle(&Vector3::x_axis(), x.to_radians());
    soup.iter().map(|t| t.map(|p| (turn * Point3::from(p)).into())).collect()
}

#[test]
fn a_tilted_base_tells_which_way_was_up() {
    let body = based();
    let hollow = distance::but(&body, &distance::disc([0.0, 0.0], 10.5, [-1.0, 2.0]));
    let coarse = |of: &Distance| distance::surface(of, BOX, 0.4);
    for (name, soup) in [("base", coarse(&body)), ("hollow base", coarse(&hollow))] {
        assert_eq!(upright(&mesh(&soup), None), None, "{name}");
        for tilt in [[10.0, 0.0], [-30.0, 0.0], [-45.0, 20.0], [60.0, -10.0], [3.0, 1.0]] {
            let tilted = turned(&soup, tilt);
            let found = upright(&mesh(&tilted), None).unwrap_or_else(|| panic!("{name} {tilt:?}"));
            // What was down, turned along.
            let want = turned(&[[[0.0, 0.0, -1.0]; 3]], tilt)[0][0];
            let off = Vector3::from(found.down).angle(&Vector3::from(want)).to_degrees();
            println!(
                "{name} {tilt:?}: {:.2}° tilted, {off:.3}° off, confidence {:.2}",
                found.degrees, found.confidence
            );
            assert!(off < 2.0 && found.confidence > 0.5, "{name} {tilt:?}");
            let settings = ReadSettings { down: found.down, ..ReadSettings::default() };
            let (stood, _) = read(&stl(&tilted), &settings, &Watch::quiet()).expect("a sound model");
            assert_eq!(upright(&stood, None), None, "{name} {tilt:?}");
            assert!((stood.bounds().extents()[2] - mesh(&soup).bounds().extents()[2]).abs() < 1.0);
        }
    }
}

#[test]
fn tilted_and_held_by_supports_it_is_told_too() {
    for tilt in [[-30.0, 0.0], [-40.0, 15.0]] {
        let body = posed(&based(), tilt, 12.0);
        let held = all(supports(&body, USUAL));
        for soup in [[surface(&body), surface(&held)].concat(), surface(&all(vec![body, held]))] {
            let mesh = mesh(&soup);
            let found = upright(&mesh, look(&mesh).as_ref()).expect("a base");
            let want = turned(&[[[0.0, 0.0, -1.0]; 3]], tilt)[0][0];
            let off = Vector3::from(found.down).angle(&Vector3::from(want)).to_degrees();
            println!(
                "held {tilt:?}: {:.2}° tilted, {off:.3}° off, confidence {:.2}",
                found.degrees, found.confidence
            );
            assert!(off < 2.0, "{tilt:?}");
        }
    }
}

/// Whether any face of a body among the faces of a mesh is taken for a support's.
fn takes(mesh: &Mesh, found: &Supports, body: &[Triangle]) -> bool {
    let truth = Truth::of(body);
    let corners = |f: &[u32; 3]| f.map(|v| mesh.positions()[v as usize]);
    mesh.faces().iter().zip(&found.of_face).any(|(f, held)| *held && truth.is_support(corners(f)))
}

// A staff that narrows to the hand is no support, whatever stands beside it, and one pillar is never sure.
#[test]
fn lone_thick_pillars_are_not_told_as_sure() {
    let body = || moved(scaled(icosphere(3), 12.0), [0.0, 0.0, 22.0]);
    // Onto the ball, which is 12 mm wide and begins at 10 mm.
    let column = |[x, y]: [f64; 2], thick: f64| {
        let touch = 22.0 - (144.0 - x * x - y * y).sqrt();
        moved(tower(&[[thick, 0.0], [thick, touch - 1.5], [0.4 * thick, touch + 0.1]]), [x, y, 0.0])
    };
    let pillar = column([6.0, 0.0], 0.9);
    for pillars in [vec![pillar.clone()], vec![pillar.clone(), column([-6.0, 2.0], 0.9)]] {
        let alone = mesh(&[body(), pillars.concat()].concat());
        let found = look(&alone);
        println!("{} pillars: {:?}", pillars.len(), found.as_ref().map(|f| (f.tips, f.confidence)));
        assert!(found.is_none_or(|f| !f.is_sure()), "{} pillars", pillars.len());
    }
    let thin: Vec<Triangle> = [[-4.0, -4.0], [0.0, -6.0], [-6.0, 0.0], [0.0, 5.0], [-3.0, 3.0], [0.0, 0.0]]
        .into_iter()
        .flat_map(|at| column(at, 0.5))
        .collect();
    let without = mesh(&[body(), thin.clone()].concat());
    let before = look(&without).expect("columns");
    assert!(before.is_sure() && before.stands >= 5, "{} {}", before.stands, before.left);
    let with = mesh(&[body(), thin.clone(), pillar.clone()].concat());
    let found = look(&with).expect("columns");
    let told = (found.stands, found.tips, found.left);
    assert!(found.is_sure() && told == (before.stands, before.tips, before.left + 1), "{told:?}");
    assert!(takes(&with, &found, &thin) && !takes(&with, &found, &pillar));
}

// From one part of the figure to another: an antenna's stay, a strap, or a support that nobody can tell from them.
#[test]
fn struts_between_parts_of_the_figure_are_not_told_as_supports() {
    let body = all(vec![
        distance::ball([0.0, 0.0, 16.0], 6.0),
        distance::block([-2.0, -2.0, 20.0], [2.0, 2.0, 26.0]),
        distance::block([-2.0, -14.0, 24.0], [2.0, 2.0, 28.0]),
    ]);
    // It stands on the ball, and its tip touches the arm above.
    let strut = moved(tower(&[[0.5, 20.5], [0.5, 23.0], [0.15, 24.1]]), [0.0, -3.5, 0.0]);
    let held = all(supports(&body, USUAL));
    for (name, soup) in [
        ("apart", [surface(&body), surface(&held)].concat()),
        ("fused", surface(&all(vec![body.clone(), held.clone()]))),
    ] {
        let mesh = mesh(&[soup, strut.clone()].concat());
        let found = look(&mesh).expect("supports");
        println!("{name}: {} stands, {} tips, confidence {:.2}", found.stands, found.tips, found.confidence);
        assert!(found.is_sure() && !takes(&mesh, &found, &strut), "{name}");
    }
    // Without others there is nothing to tell.
    let alone = mesh(&[surface(&body), strut].concat());
    assert!(look(&alone).is_none_or(|f| !f.is_sure()));
}

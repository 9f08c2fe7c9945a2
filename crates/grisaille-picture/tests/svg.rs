//! Views as SVG, drawn by a renderer of others (resvg) and compared with the picture of the same view.

use grisaille_base::{LightId, Millimetres, Watch};
use grisaille_bodies::{cuboid, icosphere, moved, scaled, stl};
use grisaille_mesh::{ReadSettings, read};
use grisaille_picture::{
    BorderPen, Contours, Frame, Image, Look, Scene, SvgView, Swatch, View, line_svg, svg,
};
use grisaille_plan::{Plan, Products, plan};
use grisaille_scheme::Scheme;
use resvg::{tiny_skia, usvg};
use std::sync::Arc;

/// Pixels on a millimetre of paper and of the figure alike.
const FINE: f64 = 10.0;

fn planned() -> Plan {
    let mut soup = cuboid([-7.0, -7.0, 0.0], [7.0, 7.0, 2.0]);
    soup.extend(moved(scaled(icosphere(4), 5.0), [0.0, 0.0, 6.5]));
    soup.extend(cuboid([2.0, -8.0, 3.0], [4.0, -6.0, 11.0]));
    let watch = Watch::quiet();
    let mesh = read(&stl(&soup), &ReadSettings::default(), &watch).expect("sound").0;
    let mut scheme = Scheme::default();
    scheme.surface.spacing = Some(Millimetres(0.3));
    scheme.fineness.ambient_directions = 32;
    plan(&scheme, &mut Products::new(Arc::new(mesh)), &watch).expect("nobody cancels")
}

/// The view's own rectangle of an SVG, drawn by resvg at the fineness of the picture.
fn drawn(text: &str, view: &SvgView) -> Vec<[u8; 3]> {
    let tree = usvg::Tree::from_str(text, &usvg::Options::default()).expect("an SVG");
    // Lengths are mm; the library counts 96 units an inch.
    let scale = (FINE * 25.4 / 96.0) as f32;
    let size = tree.size();
    let sides = [size.width(), size.height()].map(|s| (s * scale).ceil() as u32);
    let mut paper = tiny_skia::Pixmap::new(sides[0], sides[1]).expect("paper");
    resvg::render(&tree, tiny_skia::Transform::from_scale(scale, scale), &mut paper.as_mut());
    // A margin of 4 mm, a head of 4 letters of 2.4 mm, as the file's first group says.
    let [left, top] = [(4.0 * FINE) as u32, (4.0 * 2.4 * FINE) as u32];
    let [width, height] = view.size_px;
    let at = |x, y| paper.pixel(left + x, top + y).map_or([0; 3], |p| [p.red(), p.green(), p.blue()]);
    (0..height).flat_map(|y| (0..width).map(move |x| (x, y))).map(|(x, y)| at(x, y)).collect()
}

fn view(plan: &Plan, look: Look) -> (SvgView, Image) {
    let watch = Watch::quiet();
    let frame = Frame::fit(plan.mesh.positions(), View::three_quarter(), FINE, 1.0);
    let scene = Scene::new(plan, &frame, FINE, &watch).expect("nobody cancels");
    let lines = scene.in_lines(look, &watch).expect("nobody cancels");
    assert_eq!(lines.shading.is_some(), lines.outlines.is_none());
    let view = SvgView {
        words: "Three-quarter <view>".into(),
        size_px: [frame.width(), frame.height()],
        shading: lines.shading,
        areas: lines.outlines,
        strokes: lines.strokes,
        letters: Vec::new(),
    };
    (view, scene.shade(look, &watch).expect("nobody cancels").image)
}

#[test]
fn an_svg_looks_like_the_picture() {
    let plan = planned();
    for look in [Look::Values, Look::Tones, Look::Exposure(LightId(0))] {
        let (view, image) = view(&plan, look);
        let row = Swatch {
            pattern: grisaille_picture::Pattern::Plain,
            letter: "A".into(),
            colour: grisaille_colour::LinearRgb::WHITE,
            name: "a & b".into(),
            range: String::new(),
        };
        let views = std::slice::from_ref(&view);
        let text =
            svg("Reef & ball", "\"<note>\"", views, &[row], FINE, &Watch::quiet()).expect("nobody cancels");
        let pixels = drawn(&text, &view);
        let whole = pixels.len();
        let far = |(i, p): &(usize, &[u8; 3])| {
            let (x, y) = ((i % view.size_px[0] as usize) as u32, (i / view.size_px[0] as usize) as u32);
            let q = image.pixel(x, y).expect("within");
            (0..3).any(|k| p[k].abs_diff(q[k]) > 48)
        };
        let off = pixels.iter().enumerate().filter(far).count();
        // Lines differ: outlines there follow steps in depth, here the form.
        assert!(off * 100 < 4 * whole, "{look:?}: {off} of {whole}");
        let dark = pixels.iter().filter(|p| p.iter().all(|c| *c < 250)).count();
        assert!(dark * 4 > whole, "{look:?}: {dark} of {whole} pixels are drawn on");
    }
}

#[test]
fn lines_alone_lie_over_the_bare_picture() {
    let plan = planned();
    let watch = Watch::quiet();
    let frame = Frame::fit(plan.mesh.positions(), View::front(), FINE, 1.0);
    let scene = Scene::new(&plan, &frame, FINE, &watch).expect("nobody cancels");
    let bare = scene.shade_bare(Look::Values, &watch).expect("nobody cancels");
    let traced = bare.areas.as_ref().map(|a| a.traced(&watch).expect("nobody cancels"));
    let size = [frame.width(), frame.height()];
    let lines = scene.lines(&watch).expect("nobody cancels");
    let text = line_svg(size, (lines, Contours::Plain), traced.as_ref().map(|t| (t, BorderPen::FINE)), FINE);
    let tree = usvg::Tree::from_str(&text, &usvg::Options::default()).expect("an SVG");
    let scale = (FINE * 25.4 / 96.0) as f32;
    let mut paper = tiny_skia::Pixmap::new(size[0], size[1]).expect("paper");
    resvg::render(&tree, tiny_skia::Transform::from_scale(scale, scale), &mut paper.as_mut());
    let drawn = scene.shade(Look::Values, &watch).expect("nobody cancels").image;
    let (mut off, mut inked) = (0, 0);
    for (x, y) in (0..size[1]).flat_map(|y| (0..size[0]).map(move |x| (x, y))) {
        let line = paper.pixel(x, y).expect("within");
        let [ground, whole] = [&bare.image, &drawn].map(|i| f64::from(i.pixel(x, y).expect("within")[0]));
        let over = ground * (1.0 - f64::from(line.alpha()) / 255.0);
        off += usize::from((over - whole).abs() > 48.0);
        inked += usize::from(line.alpha() > 100);
    }
    let pixels = (size[0] * size[1]) as usize;
    assert!(inked > 500 && off * 100 < 4 * pixels, "{inked} {off} of {pixels}");
}

#[test]
fn the_same_file_whatever_the_threads() {
    let plan = planned();
    let text = |threads| {
        let watch = Watch::with_threads(threads).expect("threads");
        let (view, _) = view(&plan, Look::Values);
        svg("x", "", &[view], &[], FINE, &watch).expect("nobody cancels")
    };
    assert!(text(1) == text(3));
}
